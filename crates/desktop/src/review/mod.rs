//! The review of the open record in the window: what was decided, what is typed and not decided
//! yet, and what the user asks for. What may be decided is said by the crate `review`; here is how
//! it looks and which key leads to it.

mod accept;
mod banners;
mod before;
mod books;
mod clock;
mod closing;
mod form;
mod open;
pub mod people;
mod proof;
pub mod prove;
mod secret;
mod seen;
pub mod sign;
mod signatures;
mod standing;
mod strip;
mod typed;
mod words;
mod work;

pub use accept::{Accept, Told as Accepted};
pub use banners::show as show_banners;
pub use before::{Before, show as show_before};
pub use clock::{AskClock, Clock};
pub use closing::{decision as closing_decision, show as show_closing};
pub use form::{decisions, show as show_form};
pub use open::{Opened, open};
pub use people::{Page as PeoplePage, People};
pub use prove::Prove;
pub use seen::Seen;
pub use sign::Sign;
pub use signatures::show as show_signatures;
pub use standing::{Mark, draw as draw_mark};
pub use strip::show as show_strip;
pub use words::bare as text_field_only;
pub use work::{Around, DiskClock, Outcome, Then, Work};

use crate::commands::Command;
use crate::problems::Problem;
use ::review::{
    Decision, Desk, Drafts, ItemKind, Meaning, Role, Scope, SignerId, Stage, Standing, State,
};
use journal::Stamp;
use signers::Signer;
use typed::Typed;
use work::Running;

/// What was asked for in a card or a list, to be done when all is drawn.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Ask {
    /// A decision is to be made.
    Decide(Box<Decision>),
    /// A command is to be carried out.
    Do(Command),
}

/// What is to get the keyboard when it is drawn next.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Focus {
    /// The first control of the settlement.
    Settlement,
    /// The remark with which a supervisor sends back.
    Remark,
    /// The reason with which an observation is closed.
    Reason,
    /// The reason with which the hole before the record is closed.
    Hole,
    /// The field of an entry.
    Entry(String),
}

/// The review of the open record.
pub struct Review {
    /// The journal at work; away while something is entered, and where it could not be opened.
    desk: Option<Desk>,
    /// What is shown of it, or why it could not be opened.
    seen: Result<Box<Seen>, String>,
    /// How far a review is that could not be opened.
    closed_at: Stage,
    running: Option<Running>,
    /// When the clock of the disk was asked last.
    clock_asked: Option<std::time::Instant>,
    /// Whether somebody said that this machine's clock is right.
    pub clock_is_right: bool,
    /// What is typed and not decided yet.
    pub typed: Typed,
    /// What was asked for while drawing.
    pub asked: Vec<Ask>,
    /// What is to get the keyboard.
    pub focus: Option<Focus>,
    /// The shift, or the whole day, that the signing is about.
    pub scope: Scope,
    /// What this session decided, the latest last, to take it back.
    made: Vec<Vec<(ItemKind, String)>>,
    /// Who is at work, as far as the screen needs to know.
    pub role: Option<Role>,
    /// The search for the record before this one.
    before: Before,
    /// Torn last lines of journal, register and ledger, in sentences.
    torn: Vec<String>,
    failed_drafts: Option<String>,
}

impl Review {
    /// The review as it was opened with the record.
    pub fn new(opened: Opened) -> Self {
        let Opened { desk, torn, config, journal } = opened;
        let drafts = config.map(|config| Drafts::open(&config, &journal));
        let (drafts, failed_drafts) = match drafts.transpose() {
            Ok(drafts) => (drafts, None),
            Err(cause) => (None, Some(cause.to_string())),
        };
        let (desk, seen, closed_at) = match desk {
            Ok((desk, seen)) => (Some(desk), Ok(seen), Stage::Unread),
            Err((why, stage)) => (None, Err(why), stage),
        };
        Self {
            desk,
            seen,
            closed_at,
            running: None,
            clock_asked: None,
            clock_is_right: false,
            typed: Typed::new(drafts),
            asked: Vec::new(),
            focus: None,
            scope: Scope::DAY,
            made: Vec::new(),
            role: None,
            before: Before::default(),
            torn,
            failed_drafts,
        }
    }

    /// What there is to tell about the opening.
    pub fn problems(&self) -> Vec<Problem> {
        let mut problems = Vec::new();
        for torn in &self.torn {
            let text = format!(
                "{torn}. Look whether the last thing that was decided is missing, and decide it \
                 again."
            );
            problems.push(problem("A line was torn", &text));
        }
        if let Some(why) = &self.failed_drafts {
            problems.push(problem("What is typed can't be kept", why));
        }
        problems
    }

    /// What is shown of the journal; `None` where it could not be opened.
    pub fn seen(&self) -> Option<&Seen> {
        self.seen.as_deref().ok()
    }

    /// Why the journal could not be opened.
    pub fn closed(&self) -> Option<&str> {
        self.seen.as_ref().err().map(String::as_str)
    }

    /// Where the review stands.
    pub fn state(&self) -> Option<&State> {
        self.seen().map(|seen| &seen.state)
    }

    /// Where an exception stands; open while there is no journal.
    pub fn standing(&self, id: &str) -> &Standing {
        self.state().map_or(&Standing::Open, |state| state.exception(id))
    }

    /// The mark of an exception: where it stands, and whether what must be signed of it holds.
    pub fn mark(&self, id: &str) -> Mark {
        let standing = self.standing(id);
        let line = match standing {
            Standing::Settled { mark, .. } | Standing::SentBack { mark, .. } => Some(mark.line),
            Standing::Open => None,
        };
        let fails = self.seen().zip(line).is_some_and(|(seen, line)| seen.failing.contains(&line));
        if fails { Mark::Fails } else { Mark::of(standing) }
    }

    /// Whether nothing is left to do for an exception.
    pub fn is_settled(&self, id: &str) -> bool {
        matches!(self.standing(id), Standing::Settled { .. })
    }

    /// Whether an exception lies under a signature that nothing has superseded.
    fn is_signed(&self, id: &str) -> bool {
        self.state().is_some_and(|state| {
            let shifts = state.item(id).map(|item| item.shifts.as_slice()).unwrap_or_default();
            state.signatures().iter().any(|one| one.is_current() && one.scope.holds(shifts))
        })
    }

    /// Whether an observation to close lies under a signature that nothing has superseded.
    fn is_closing_signed(&self, id: &str) -> bool {
        self.state().is_some_and(|state| {
            let shifts = state.to_close(id).map(|item| item.shifts.as_slice()).unwrap_or_default();
            state.signatures().iter().any(|one| one.is_current() && one.scope.holds(shifts))
        })
    }

    /// Whether the whole day bears a signature that nothing has superseded.
    pub fn is_day_signed(&self) -> bool {
        self.state().is_some_and(|state| {
            state.signatures().iter().any(|one| one.is_current() && one.scope == Scope::DAY)
        })
    }

    /// How far the review is.
    pub fn stage(&self) -> Stage {
        self.seen().map_or(self.closed_at, |seen| seen.stage)
    }

    /// How far the review is, in the words of the register of days, and which shifts are signed by
    /// themselves.
    pub fn word(&self) -> String {
        let stage = self.stage();
        let signed = |meaning: Meaning| -> Option<String> {
            let state = self.state()?;
            if state.is_signed(meaning, &Scope::DAY) {
                return None;
            }
            let shifts = state.subject().shifts.iter();
            let shifts: Vec<&str> = shifts
                .filter(|name| state.is_signed(meaning, &Scope::shift(name)))
                .map(String::as_str)
                .collect();
            (!shifts.is_empty()).then(|| format!("; {meaning}: {}", shifts.join(", ")))
        };
        let shifts = match stage {
            Stage::BeingReviewed => signed(Meaning::Approved).or_else(|| signed(Meaning::Reviewed)),
            Stage::Reviewed => signed(Meaning::Approved),
            _ => None,
        };
        format!("{}{}", stage.name(), shifts.unwrap_or_default())
    }

    /// A person of the register who may still work.
    pub fn signer(&self, id: &str) -> Option<&Signer> {
        let signers = self.seen()?.register()?.signers().iter();
        signers.filter(|one| one.revoked().is_none()).find(|one| one.id().as_str() == id)
    }

    /// The printed name behind an identifier.
    pub fn name_of(&self, id: &str) -> String {
        let register = self.seen().and_then(Seen::register);
        let signers = register.map(signers::Register::signers).unwrap_or_default();
        let found = signers.iter().find(|one| one.id().as_str() == id);
        found.map_or_else(|| id.to_owned(), |one| one.name().to_owned())
    }

    /// Whether `by` can sign a scope.
    ///
    /// # Errors
    /// What is left to do first, in a sentence.
    pub fn can_be_signed(
        &self,
        meaning: Meaning,
        scope: &Scope,
        by: &SignerId,
    ) -> Result<(), String> {
        let Some(desk) = &self.desk else {
            return Err(self.closed().unwrap_or("something else is being entered").to_owned());
        };
        self.is_relied_on()?;
        desk.can_be_signed(meaning, scope, by).map_err(|why| why.to_string())?;
        self.before.holds_up().map_or(Ok(()), Err)
    }

    /// The scopes of the record: each shift, then the whole day.
    pub fn scopes(&self) -> Vec<Scope> {
        let shifts = self.state().map(|state| state.subject().shifts.as_slice());
        let shifts = shifts.unwrap_or_default().iter().map(|name| Scope::shift(name));
        shifts.chain([Scope::DAY]).collect()
    }

    /// Goes on to the next scope, going round.
    pub fn next_scope(&mut self) {
        let scopes = self.scopes();
        let place = scopes.iter().position(|scope| *scope == self.scope).unwrap_or_default();
        self.scope = scopes.get((place + 1) % scopes.len()).cloned().unwrap_or(Scope::DAY);
    }

    /// Whether anything may be signed: by books that this user knows, on a review that holds.
    fn is_relied_on(&self) -> Result<(), String> {
        let Some(seen) = self.seen() else { return Ok(()) };
        let alarms = &seen.books.alarms;
        if !alarms.is_empty() {
            return Err(format!(
                "the register of signers or the ledger is not what was seen before: {}",
                alarms.join("; ")
            ));
        }
        let forbids = &seen.forbids;
        if forbids.is_empty() {
            return Ok(());
        }
        Err(format!("this review can\u{2019}t be relied on: {}", forbids.join("; ")))
    }

    /// Whether a decision by `by` breaks no rule, before it is proved with a passphrase.
    ///
    /// # Errors
    /// Why it can't be made, in a sentence.
    pub fn allows(&self, decision: &Decision, by: &SignerId) -> Result<(), String> {
        self.is_relied_on()?;
        let Some(seen) = self.seen() else {
            return Err(self.closed().unwrap_or_default().to_owned());
        };
        if !seen.changes.is_empty() {
            return Err("the record has changed; enter the new audit first".to_owned());
        }
        seen.state.allows(decision, by.as_str()).map_err(|why| why.to_string())
    }

    /// Whether one of the decisions must be signed.
    pub fn needs_key(&self, decisions: &[Decision]) -> bool {
        self.state().is_some_and(|state| decisions.iter().any(|one| state.act(one).is_some()))
    }

    /// What takes the last decision of this session back that still stands.
    pub fn undo(&mut self) -> Vec<Decision> {
        while let Some(made) = self.made.pop() {
            let Some(state) = self.state() else { break };
            let stands = |(of, item): &(ItemKind, String)| match of {
                ItemKind::Exception => matches!(state.exception(item), Standing::Settled { .. }),
                ItemKind::ClosedObservation => state.closed(item).is_some(),
                ItemKind::Observation => state.acknowledged(item).is_some(),
                ItemKind::Hole => state.hole().is_some_and(|(hole, _)| hole.to == *item),
                ItemKind::Entry => state.entered(item).is_some(),
            };
            let back: Vec<Decision> = made
                .into_iter()
                .filter(stands)
                .map(|(of, item)| Decision::Withdrawn { of, item })
                .collect();
            if !back.is_empty() {
                return back;
            }
        }
        Vec::new()
    }
}

impl Ask {
    /// A decision is to be made.
    pub fn decide(decision: Decision) -> Self {
        Self::Decide(Box::new(decision))
    }
}

/// A message.
pub fn problem(title: &str, text: &str) -> Problem {
    Problem { title: title.to_owned(), text: text.to_owned() }
}

/// Date and time of an entry for a person: to the minute, on the clock of the plant.
pub fn minute(at: Stamp) -> String {
    at.to_string().get(..16).map_or_else(|| at.to_string(), |text| text.replacen('T', " ", 1))
}
