//! The review of the open record in the window: what was decided, what is typed and not decided yet.
//! What may be decided is said by the crate `review`.

use super::before::{Around, Before};
use super::open::Opened;
use super::seen::Seen;
use super::standing::Mark;
use super::typed::Typed;
use super::work::Running;
use crate::problem::Problem;
use crate::surroundings::Surroundings;
use crate::task::Task;

use crate::job::{Job, Progress};
use crate::why::Why;
use ::review::{
    Decision, Desk, Drafts, EvidenceFile, ExceptionItem, ItemKind, Meaning, Role, Scope, SignerId,
    Stage, Standing, State,
};
use archive::{Files, Neighbours};
use daybook::TankSheet;
use egui::Context;
use signers::Signer;
use std::path::Path;

/// What the reason for closing the hole before the record is typed under.
pub const HOLE: &str = "hole before the record";

/// What is to get the keyboard when it is drawn next.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Focus {
    /// The first control of the settlement.
    Settlement,
    /// The remark with which a supervisor sends back.
    Remark,
    /// The reason with which an observation is closed.
    Reason,
    /// The note with which a kind of observations is acknowledged.
    Note,
    /// The reason with which the hole before the record is closed.
    Hole,
    /// The field of an entry.
    Entry(String),
}

/// The review of the open record.
pub struct Review {
    /// The journal at work; away while something is entered, and where it could not be opened.
    pub(super) desk: Option<Desk>,
    /// What is shown of it, or why it could not be opened.
    pub(super) seen: Result<Box<Seen>, Why>,
    /// How far a review is that could not be opened.
    closed_at: Stage,
    pub(super) running: Option<Running>,
    /// When the clock of the disk was asked last.
    pub(super) clock_asked: Option<std::time::Instant>,
    /// Whether somebody said that this machine's clock is right.
    pub clock_is_right: bool,
    /// What is typed and not decided yet.
    pub typed: Typed,
    /// What is to get the keyboard.
    pub focus: Option<Focus>,
    /// The shift, or the whole record, that the signing is about.
    pub scope: Scope,
    /// What this session decided, the latest last, to take it back.
    pub(super) made: Vec<Vec<(ItemKind, String)>>,
    /// Whether the last thing that was entered is a signature under the record.
    pub(super) just_signed: bool,
    /// Who is at work, as far as the screen needs to know.
    pub role: Option<Role>,
    /// The search for the record before this one.
    pub(super) before: Before,
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
            Err((why, stage)) => (None, Err(why.into()), stage),
        };
        Self {
            desk,
            seen,
            closed_at,
            running: None,
            clock_asked: None,
            clock_is_right: false,
            typed: Typed::new(drafts),
            focus: None,
            scope: Scope::DAY,
            made: Vec::new(),
            just_signed: false,
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
            let text =
                format!("{torn}. Check whether the last decision is missing, and enter it again.");
            problems.push(Problem::new("Incomplete journal line", text));
        }
        if let Some(why) = &self.failed_drafts {
            problems.push(Problem::new("What is typed can't be kept", why));
        }
        problems
    }

    /// What is shown of the journal; `None` where it could not be opened.
    pub fn seen(&self) -> Option<&Seen> {
        self.seen.as_deref().ok()
    }

    /// Why the journal could not be opened.
    pub fn closed(&self) -> Option<&str> {
        self.seen.as_ref().err().map(|why| &**why)
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
        let made = self.seen().zip(standing.mark());
        let fails = made.is_some_and(|(seen, mark)| seen.failing.contains(&mark.line));
        if fails { Mark::Fails } else { Mark::of(standing) }
    }

    /// The word beside the mark of an exception.
    pub fn word_of(&self, id: &str) -> &'static str {
        if self.mark(id) == Mark::Fails { "fails" } else { self.standing(id).name() }
    }

    /// Whether nothing is left to do for an exception.
    pub fn is_settled(&self, id: &str) -> bool {
        self.state().is_some_and(|state| state.is_settled(id))
    }

    /// Whether an exception lies under a signature that nothing has superseded.
    pub fn is_signed(&self, id: &str) -> bool {
        self.state().is_some_and(|state| {
            let shifts = state.item(id).map(|item| item.shifts.as_slice()).unwrap_or_default();
            state.signatures().iter().any(|one| one.is_current() && one.scope.holds(shifts))
        })
    }

    /// Whether an observation to close lies under a signature that nothing has superseded.
    pub fn is_closing_signed(&self, id: &str) -> bool {
        self.state().is_some_and(|state| {
            let shifts = state.to_close(id).map(|item| item.shifts.as_slice()).unwrap_or_default();
            state.signatures().iter().any(|one| one.is_current() && one.scope.holds(shifts))
        })
    }

    /// Whether the whole record bears a signature that nothing has superseded.
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

    /// Whether the last thing that was entered is a signature under the record.
    pub const fn was_just_signed(&self) -> bool {
        self.just_signed
    }

    /// A person of the register who may still work.
    pub fn signer(&self, id: &str) -> Option<&Signer> {
        let signers = self.seen()?.register()?.signers().iter();
        signers.filter(|one| one.revoked().is_none()).find(|one| one.id().as_str() == id)
    }

    /// Whether the corrective action of an exception is entered in its parts.
    pub fn asks_for_parts(&self, item: &ExceptionItem) -> bool {
        self.state().is_some_and(|state| state.subject().asks_for_parts(item))
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
    pub fn can_be_signed(&self, meaning: Meaning, scope: &Scope, by: &SignerId) -> Result<(), Why> {
        let Some(desk) = &self.desk else {
            return Err(self.closed().unwrap_or("something else is being entered").into());
        };
        self.is_relied_on()?;
        desk.can_be_signed(meaning, scope, by)?;
        self.before.holds_up().map_or(Ok(()), |why| Err(why.into()))
    }

    /// A tag for what is put on hold next; blank while something is being entered.
    pub fn next_hold_tag(&self) -> String {
        self.desk.as_ref().map(Desk::next_hold_tag).unwrap_or_default()
    }

    /// A file beside the record as evidence that ends a hold.
    ///
    /// # Errors
    /// Why it can't be.
    pub fn evidence(&self, file: &Path) -> Result<EvidenceFile, Why> {
        match &self.desk {
            Some(desk) => Ok(desk.evidence(file)?),
            None => Err(self.closed().unwrap_or("something else is being entered").into()),
        }
    }

    /// The scopes of the record: each shift, then the whole record.
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
    fn is_relied_on(&self) -> Result<(), Why> {
        let Some(seen) = self.seen() else { return Ok(()) };
        let alarms = &seen.books.alarms;
        if !alarms.is_empty() {
            let alarms = alarms.join("; ");
            let why = format!(
                "the register of signers or the ledger is not what was seen before: {alarms}"
            );
            return Err(why.into());
        }
        let forbids = &seen.forbids;
        if forbids.is_empty() {
            return Ok(());
        }
        Err(format!("this review can\u{2019}t be relied on: {}", forbids.join("; ")).into())
    }

    /// Whether a decision by `by` breaks no rule, before it is proved with a passphrase.
    ///
    /// # Errors
    /// Why it can't be made, in a sentence.
    pub fn allows(&self, decision: &Decision, by: &SignerId) -> Result<(), Why> {
        self.is_relied_on()?;
        let Some(seen) = self.seen() else {
            return Err(self.closed().unwrap_or_default().into());
        };
        if !seen.changes.is_empty() {
            return Err("the record has changed; enter the new audit first".into());
        }
        Ok(seen.state.allows(decision, by.as_str())?)
    }

    /// Whether one of the decisions must be signed.
    pub fn needs_key(&self, decisions: &[Decision]) -> bool {
        self.state().is_some_and(|state| decisions.iter().any(|one| state.act(one).is_some()))
    }

    /// Whether a decision of this session still stands.
    fn stands(&self, (of, item): &(ItemKind, String)) -> bool {
        self.state().is_some_and(|state| match of {
            ItemKind::Exception => state.is_settled(item),
            ItemKind::ClosedObservation => state.closed(item).is_some(),
            ItemKind::Observation => state.acknowledged(item).is_some(),
            ItemKind::Hole => state.hole().is_some_and(|(hole, _)| hole.to == *item),
            ItemKind::Divert => state.explained(item).is_some(),
            ItemKind::Entry => state.entered(item).is_some(),
            ItemKind::Seal => state.seal_noted(item).is_some(),
            ItemKind::HoldEnd => state.hold(item).is_some_and(|hold| !hold.is_open()),
        })
    }

    /// What was entered last in this session and still stands, in a few words.
    pub fn entered_last(&self) -> Option<String> {
        self.made.iter().rev().find_map(|made| {
            let mut standing = made.iter().filter(|one| self.stands(one));
            let (of, item) = standing.next()?;
            Some(match (of, standing.count()) {
                (ItemKind::Exception, 0) => "1 exception resolved".to_owned(),
                (ItemKind::Exception, more) => format!("{} exceptions resolved", more + 1),
                (ItemKind::ClosedObservation, _) => "1 observation closed".to_owned(),
                (ItemKind::Observation, _) => "1 type acknowledged".to_owned(),
                (ItemKind::Hole, _) => "Hole closed".to_owned(),
                (ItemKind::Divert, _) => "Reason of a divert entered".to_owned(),
                (ItemKind::Entry, _) => format!("Entered: {item}"),
                (ItemKind::Seal, _) => format!("Noted: seal {item}"),
                (ItemKind::HoldEnd, _) => format!("Hold ended: {item}"),
            })
        })
    }

    /// What takes the last decision of this session back that still stands.
    pub fn undo(&mut self) -> Vec<Decision> {
        while let Some(made) = self.made.pop() {
            let back: Vec<Decision> = made
                .into_iter()
                .filter(|one| self.stands(one))
                .map(|(of, item)| Decision::Withdrawn { of, item })
                .collect();
            if !back.is_empty() {
                return back;
            }
        }
        Vec::new()
    }

    /// Whether the search for what lies around the record is not over yet.
    pub const fn is_looking_around(&self) -> bool {
        match self.before {
            Before::NotBegun => self.desk.is_some(),
            Before::Searching(_) => true,
            Before::Known | Before::Failed(_) => false,
        }
    }

    /// Begins the search, and takes its result in; gives what the run sheets of the other records say of tanks, once.
    /// These are the records of the folder that is open, or else of the record's own.
    pub fn look_around(
        &mut self,
        context: &Context,
        (task, folder): (&Task, Option<&Path>),
        around: &Surroundings,
    ) -> Option<Vec<TankSheet>> {
        let desk = self.desk.as_mut()?;
        match &self.before {
            Before::NotBegun => {
                // Only here: this is asked in every frame.
                let Task { files: logger, plant, .. } = task.clone();
                let files = Files { logger, plant, run_sheet: None, operator_entries: None };
                let (cache, trust) = (around.cache.clone(), around.trust());
                let folder = folder.map(Path::to_owned);
                self.before = Before::Searching(Job::begin(context, move || {
                    let mut neighbours = Neighbours::new(cache, trust);
                    let hole = neighbours.hole_before(&files, None)?;
                    let sheets = neighbours.tank_sheets(&files, folder.as_deref())?;
                    Ok(Around { hole, sheets })
                }));
            }
            Before::Searching(job) => match job.poll(context) {
                Progress::Running => {}
                Progress::Done(Ok(Around { hole, sheets })) => {
                    let now = around.clock.now();
                    desk.comes_after(hole, now);
                    self.seen = Ok(Box::new(Seen::of(desk, now)));
                    self.before = Before::Known;
                    return Some(sheets);
                }
                Progress::Done(Err(why)) => self.before = Before::Failed(why),
                Progress::Lost => {
                    self.before = Before::Failed(
                        "the background task ended unexpectedly. Please report this".into(),
                    );
                }
            },
            Before::Known | Before::Failed(_) => {}
        }
        None
    }
}
