//! The review of the open record in the window: what was decided, what is typed and not decided
//! yet, and what the user asks for. What may be decided is said by the crate `review`; here is how
//! it looks and which key leads to it.

mod before;
mod changed;
mod clock;
mod closing;
mod form;
mod open;
pub mod people;
mod reopen;
mod secret;
pub mod sign;
mod signatures;
mod standing;
mod strip;
mod typed;
mod words;

pub use before::{Before, show as show_before};
pub use changed::banner;
pub use clock::Clock;
pub use closing::{decision as closing_decision, show as show_closing};
pub use form::{decisions, show as show_form};
pub use open::{Opened, open};
pub use people::People;
pub use reopen::Reopen;
pub use sign::Sign;
pub use signatures::show as show_signatures;
pub use standing::{Mark, draw as draw_mark};
pub use strip::show as show_strip;
pub use words::bare as text_field_only;

use crate::commands::Command;
use crate::problems::Problem;
use ::review::{Decision, Desk, Drafts, ItemKind, Meaning, Role, Scope, SignerId, Standing, State};
use journal::{Stamp, Torn};
use signers::{Signer, UnlockedKey};
use typed::Typed;

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
    desk: Result<Desk, String>,
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
    /// Torn last lines of journal and register.
    torn: Vec<Torn>,
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
        Self {
            desk,
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
        if let Err(why) = &self.desk {
            problems.push(problem("The review could not be opened", why));
        }
        for torn in &self.torn {
            let text = format!(
                "{torn}. Look whether the last thing that was decided is missing, and decide it \
                 again."
            );
            problems.push(problem("The last line is torn", &text));
        }
        if let Some(why) = &self.failed_drafts {
            problems.push(problem("What is typed can't be kept", why));
        }
        problems
    }

    /// The journal at work; `None` where it could not be opened.
    pub const fn desk(&self) -> Option<&Desk> {
        match &self.desk {
            Ok(desk) => Some(desk),
            Err(_) => None,
        }
    }

    /// Why the journal could not be opened.
    pub const fn closed(&self) -> Option<&str> {
        match &self.desk {
            Ok(_) => None,
            Err(why) => Some(why.as_str()),
        }
    }

    /// Where the review stands.
    pub fn state(&self) -> Option<&State> {
        self.desk().map(Desk::state)
    }

    /// Where an exception stands; open while there is no journal.
    pub fn standing(&self, id: &str) -> &Standing {
        self.state().map_or(&Standing::Open, |state| state.exception(id))
    }

    /// Whether nothing is left to do for an exception.
    pub fn is_settled(&self, id: &str) -> bool {
        matches!(self.standing(id), Standing::Settled { .. })
    }

    /// Whether an exception lies under a standing signature.
    fn is_signed(&self, id: &str) -> bool {
        self.state().is_some_and(|state| {
            let shifts = state.item(id).map(|item| item.shifts.as_slice()).unwrap_or_default();
            state.signatures().iter().any(|one| one.stands() && one.scope.holds(shifts))
        })
    }

    /// Whether an observation to close lies under a standing signature.
    fn is_closing_signed(&self, id: &str) -> bool {
        self.state().is_some_and(|state| {
            let shifts = state.to_close(id).map(|item| item.shifts.as_slice()).unwrap_or_default();
            state.signatures().iter().any(|one| one.stands() && one.scope.holds(shifts))
        })
    }

    /// Whether the whole day bears a standing signature.
    pub fn is_day_signed(&self) -> bool {
        self.state().is_some_and(|state| {
            state.signatures().iter().any(|one| one.stands() && one.scope == Scope::DAY)
        })
    }

    /// Where the review stands as a whole, in a word or two.
    pub fn word(&self) -> String {
        let Some(desk) = self.desk() else { return "review not open".to_owned() };
        let state = desk.state();
        if !desk.changes().is_empty() {
            let since = if state.signatures().is_empty() { "the review" } else { "signing" };
            return format!("CHANGED since {since}");
        }
        let signed = |meaning: Meaning| {
            if state.is_signed(meaning, &Scope::DAY) {
                return Some(String::new());
            }
            let shifts = state.subject().shifts.iter();
            let shifts: Vec<&str> = shifts
                .filter(|name| state.is_signed(meaning, &Scope::shift(name)))
                .map(String::as_str)
                .collect();
            (!shifts.is_empty()).then(|| format!(": {}", shifts.join(", ")))
        };
        if let Some(which) = signed(Meaning::Approved) {
            format!("signed{which}")
        } else if let Some(which) = signed(Meaning::Reviewed) {
            format!("reviewed{which}")
        } else if state.signatures().iter().any(|one| !one.stands()) {
            "reopened".to_owned()
        } else if desk.lines().is_empty() {
            "not begun".to_owned()
        } else {
            "in review".to_owned()
        }
    }

    /// A person of the register who may still work.
    pub fn signer(&self, id: &str) -> Option<&Signer> {
        let signers = self.desk()?.register().signers().iter();
        signers.filter(|one| one.revoked().is_none()).find(|one| one.id().as_str() == id)
    }

    /// The printed name behind an identifier.
    pub fn name_of(&self, id: &str) -> String {
        let signers = self.desk().map(|desk| desk.register().signers()).unwrap_or_default();
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
        let Some(desk) = self.desk() else {
            return Err(self.closed().unwrap_or_default().to_owned());
        };
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

    /// Makes decisions one after the other, until one is refused. Each stands on the disk before
    /// the screen shows it.
    ///
    /// # Errors
    /// The first that was refused.
    pub fn decide(
        &mut self,
        by: &SignerId,
        at: Stamp,
        decisions: Vec<Decision>,
    ) -> Result<(), Problem> {
        let Ok(desk) = &mut self.desk else {
            return Err(problem("Nothing was entered", self.closed().unwrap_or_default()));
        };
        let mut made = Vec::new();
        let mut outcome = Ok(());
        for decision in decisions {
            let settlement = taken_back(desk.state(), &decision);
            if let Err(why) = desk.decide(by, at, &decision) {
                outcome = Err(problem("Nothing was entered", &why.to_string()));
                break;
            }
            match decision {
                Decision::Settled(settled) => {
                    self.typed.forget_form(&settled.exception);
                    made.push((ItemKind::Exception, settled.exception));
                }
                Decision::SettledTogether(together) => {
                    for id in together.exceptions {
                        self.typed.forget_form(&id);
                        made.push((ItemKind::Exception, id));
                    }
                }
                Decision::HoleClosed { hole, .. } => {
                    made.push((ItemKind::Hole, hole.to));
                    self.typed.forget_reason(before::TYPED);
                }
                Decision::Closed { observation, .. } => {
                    self.typed.forget_reason(&observation);
                    made.push((ItemKind::ClosedObservation, observation));
                }
                Decision::Acknowledged { observation, .. } => {
                    made.push((ItemKind::Observation, observation));
                }
                Decision::Entered { entry, .. } => {
                    self.typed.forget_entry(&entry);
                    made.push((ItemKind::Entry, entry));
                }
                Decision::SentBack { exception, .. } => self.typed.forget_remark(&exception),
                Decision::Withdrawn { .. } => {
                    // What is taken back can be put right rather than typed again.
                    if let Some(settlement) = settlement {
                        self.typed.put_form(settlement);
                    }
                }
                _ => {}
            }
        }
        if !made.is_empty() {
            self.made.push(made);
        }
        outcome
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

    /// Signs with an unlocked key.
    ///
    /// # Errors
    /// When the rules or the disk refuse.
    pub fn sign(
        &mut self,
        key: &UnlockedKey,
        at: Stamp,
        meaning: Meaning,
        scope: &Scope,
    ) -> Result<(), Problem> {
        if let Some(why) = self.before.holds_up() {
            return Err(problem("The signature was not given", &why));
        }
        let Ok(desk) = &mut self.desk else { return Ok(()) };
        desk.sign(key, at, meaning, scope)
            .map_err(|why| problem("The signature was not given", &why.to_string()))?;
        // What is signed is reopened, not taken back.
        self.made.clear();
        Ok(())
    }

    /// Enters the new audit of a record that has changed.
    ///
    /// # Errors
    /// When the rules or the disk refuse.
    pub fn re_audit(&mut self, by: &SignerId, at: Stamp) -> Result<(), Problem> {
        let Ok(desk) = &mut self.desk else { return Ok(()) };
        desk.re_audit(by, at)
            .map_err(|why| problem("The new audit was not entered", &why.to_string()))
    }

    /// Reads journal and register again.
    ///
    /// # Errors
    /// When they can't be read.
    pub fn reload(&mut self) -> Result<(), Problem> {
        let Ok(desk) = &mut self.desk else { return Ok(()) };
        desk.reload().map_err(|why| problem("The review could not be read again", &why.to_string()))
    }
}

/// The settlement that a decision takes back.
fn taken_back(state: &State, decision: &Decision) -> Option<::review::Settlement> {
    match decision {
        Decision::Withdrawn { of: ItemKind::Exception, item } => match state.exception(item) {
            Standing::Settled { settlement, .. } => Some(settlement.clone()),
            _ => None,
        },
        _ => None,
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
