//! What is entered in the journal is entered off the thread that draws: a lock on a share may be
//! waited for. The desk goes with the work and comes back with it; meanwhile the review is shown as it
//! was, and what is asked for waits.

use super::seen::Seen;
use super::state::{HOLE, Review};
use crate::action::{Action, Then, Work};
use crate::clock::{DiskClock, minute};
use crate::job::{Job, Progress};
use crate::problem::Problem;
use ::review::{Decision, Desk, Error, ItemKind, Settlement};
use egui::{Context, Id};
use journal::Stamp;
use std::path::Path;
use std::time::{Duration, Instant};

/// How long a frame waits for what is nearly always done at once (ours: a third of a frame at 60 Hz).
const AT_ONCE: Duration = Duration::from_millis(5);
/// After how long the screen says that something is being entered (ours: what is shorter flickers).
const SLOW: Duration = Duration::from_millis(150);
/// For how long what is typed waits for an entry to be written (ours: nobody types on for longer without
/// looking).
const LONGEST_HELD: Duration = Duration::from_secs(5);
/// For how long the clock of the disk is not asked again (ours).
const CLOCK_HOLDS: Duration = Duration::from_mins(1);
/// How long the window waits for an entry when it is closed (ours: longer than any lock is waited for).
const AT_CLOSING: Duration = Duration::from_secs(30);

/// What came of the work.
enum Outcome {
    /// It is entered.
    Entered,
    /// It is not, and why.
    Refused(Problem),
    /// This machine's clock differs from that of the disk: somebody is asked first.
    Clock(String, Work),
}

/// What the work needs beside the desk.
pub struct Around {
    /// The time of the entry.
    pub at: Stamp,
    /// The clock of the disk.
    pub disk: DiskClock,
}

/// Work on its way.
pub(super) struct Running {
    job: Job<Ended>,
    then: Then,
    since: Instant,
    /// The field that had the keyboard when it began.
    from: Option<Id>,
}

/// What comes back.
struct Ended {
    desk: Desk,
    seen: Seen,
    /// What was decided, with the resolution that it took back.
    made: Vec<(Decision, Option<Settlement>)>,
    outcome: Outcome,
    signed: bool,
    asked_clock: bool,
}

impl Review {
    /// Whether something is being entered.
    pub const fn is_busy(&self) -> bool {
        self.running.is_some()
    }

    /// Whether what is entered leads to the next field, so that what is typed meanwhile belongs there.
    pub fn leads_on(&self) -> bool {
        let leads = |one: &Running| one.then.is_some() && one.since.elapsed() < LONGEST_HELD;
        self.running.as_ref().is_some_and(leads)
    }

    /// Whether it takes so long that the screen says so.
    pub fn is_slow(&self) -> bool {
        self.running.as_ref().is_some_and(|running| running.since.elapsed() > SLOW)
    }

    /// Begins to enter something.
    ///
    /// # Errors
    /// When the review is not open, or something else is being entered.
    pub fn begin(
        &mut self,
        context: &Context,
        (work, then): (Work, Then),
        around: Around,
    ) -> Result<(), Problem> {
        if let Work::Sign(..) = &work
            && let Some(why) = self.before.holds_up()
        {
            return Err(Problem::new("The signature was not given", &why));
        }
        let Some(mut desk) = self.desk.take() else {
            let busy = "something else is being entered; try again in a moment";
            return Err(Problem::new("Nothing was entered", self.closed().unwrap_or(busy)));
        };
        let asks_clock = !matches!(work, Work::Reload)
            && !self.clock_is_right
            && self.clock_asked.is_none_or(|asked| asked.elapsed() > CLOCK_HOLDS);
        let job = Job::begin(context, move || {
            let now = around.at.instant();
            let told = asks_clock.then(|| differs(&around, &desk)).flatten();
            let (made, outcome, signed) = match told {
                Some(told) => (Vec::new(), Outcome::Clock(told, work), false),
                None => enter(&mut desk, work, &around),
            };
            let seen = Seen::of(&desk, now);
            Ended { desk, seen, made, outcome, signed, asked_clock: asks_clock }
        });
        let from = context.memory(egui::Memory::focused);
        self.running = Some(Running { job, then, since: Instant::now(), from });
        Ok(())
    }

    /// Takes in what came of the work, which may wait for a moment for it; gives what is done then.
    pub fn take_in(&mut self, context: &Context, waits: bool) -> Then {
        let running = self.running.as_ref()?;
        let progress = if waits { running.job.wait(AT_ONCE) } else { running.job.poll(context) };
        let ended = match progress {
            Progress::Running => {
                // Where it takes long the screen says so.
                context.request_repaint_after(SLOW.saturating_sub(running.since.elapsed()));
                return None;
            }
            Progress::Done(ended) => ended,
            Progress::Lost => {
                self.running = None;
                context.request_repaint();
                let why = "the background task ended unexpectedly; open the record again and check whether the last entry is there. Please report this";
                self.seen = Err(why.into());
                return Some(Box::new(
                    Problem::new("It is not known what was entered", why).into(),
                ));
            }
        };
        let ended_work = self.running.take();
        let from = ended_work.as_ref().and_then(|running| running.from);
        let then = ended_work.and_then(|running| running.then);
        context.request_repaint();
        let Ended { desk, seen, made, outcome, signed, asked_clock } = ended;
        (self.desk, self.seen) = (Some(desk), Ok(Box::new(seen)));
        if asked_clock {
            let agrees = !matches!(outcome, Outcome::Clock(..));
            self.clock_asked = agrees.then(Instant::now);
        }
        self.note(made);
        self.just_signed = signed;
        if signed {
            // What is signed is reopened, not taken back.
            self.made.clear();
        }
        match outcome {
            Outcome::Entered => {
                // The field may be gone; it must not have the keys that are meant for what comes.
                if let Some(field) = from.filter(|_| then.is_some()) {
                    context.memory_mut(|memory| memory.surrender_focus(field));
                }
                then
            }
            Outcome::Refused(problem) => Some(Box::new(problem.into())),
            Outcome::Clock(told, work) => Some(Box::new(Action::AskClock(told, work, then))),
        }
    }

    /// What was typed for a decision is no draft any more.
    fn note(&mut self, decisions: Vec<(Decision, Option<Settlement>)>) {
        let (mut made, is_one) = (Vec::new(), decisions.len() == 1);
        for (decision, settlement) in decisions {
            match decision {
                Decision::Settled(settled) => {
                    self.typed.forget_form(&settled.exception);
                    if !is_one {
                        self.typed.forget_many();
                    }
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
                    self.typed.forget_reason(HOLE);
                }
                Decision::Closed { observation, .. } => {
                    self.typed.forget_reason(&observation);
                    made.push((ItemKind::ClosedObservation, observation));
                }
                Decision::DivertExplained { divert, .. } => {
                    self.typed.forget_reason(&divert);
                    made.push((ItemKind::Divert, divert));
                }
                Decision::Acknowledged { observation, .. } => {
                    self.typed.forget_note(&observation);
                    made.push((ItemKind::Observation, observation));
                }
                Decision::Entered { entry, .. } => {
                    self.typed.forget_entry(&entry);
                    made.push((ItemKind::Entry, entry));
                }
                Decision::SealNoted { seal, .. } => {
                    self.typed.forget_seal(&seal);
                    made.push((ItemKind::Seal, seal));
                }
                Decision::HoldEnded(ending) => {
                    self.typed.forget_hold(&ending.hold);
                    made.push((ItemKind::HoldEnd, ending.hold));
                }
                Decision::SentBack { exception, .. } => self.typed.forget_remark(&exception),
                Decision::Withdrawn { .. } => {
                    // What is taken back can be put right rather than typed again.
                    if let Some(settlement) = settlement {
                        if is_one {
                            self.typed.put_form(settlement);
                        } else {
                            self.typed.put_many(settlement);
                        }
                    }
                }
                _ => {}
            }
        }
        if !made.is_empty() {
            self.made.push(made);
        }
    }
}

impl Drop for Review {
    /// An entry that is being written is finished before the record is closed.
    fn drop(&mut self) {
        if let Some(running) = self.running.take() {
            let _ended = running.job.wait(AT_CLOSING);
        }
    }
}

/// How far the clocks lie apart, with the time that would be entered.
fn differs(around: &Around, desk: &Desk) -> Option<String> {
    let folder = desk.path().parent().filter(|folder| !folder.as_os_str().is_empty());
    let told = (around.disk.0)(folder.unwrap_or_else(|| Path::new(".")))?;
    Some(format!("{told}. It would be entered as of {}", minute(around.at)))
}

type Entered = (Vec<(Decision, Option<Settlement>)>, Outcome, bool);

fn enter(desk: &mut Desk, work: Work, around: &Around) -> Entered {
    let at = around.at;
    let refused = |title: &str, why: &Error| {
        let title = match why {
            Error::NotInLedger { .. } => "It is signed, but not in the ledger",
            Error::Partly { .. } => "Only some of it was entered",
            _ => title,
        };
        Outcome::Refused(Problem::new(title, why.to_string()))
    };
    let only = |title: &str, result: Result<(), Error>| match result {
        Ok(()) => Outcome::Entered,
        Err(why) => refused(title, &why),
    };
    let mut signed = false;
    let (made, outcome) = match work {
        Work::Decide(by, decisions) => {
            let (made, result) = all(desk, decisions, |desk, all| desk.decide_all(&by, at, all));
            (made, only("Nothing was entered", result))
        }
        Work::Prove(key, decisions) => {
            let (made, result) =
                all(desk, decisions, |desk, all| desk.decide_all_signed(&key, at, all));
            (made, only("Nothing was entered", result))
        }
        Work::Sign(key, meaning, scope) => {
            let result = desk.sign(&key, at, meaning, &scope);
            signed = matches!(result, Ok(()) | Err(Error::NotInLedger { .. }));
            (Vec::new(), only("The signature was not given", result))
        }
        Work::ReAudit(by) => {
            let result = desk.re_audit(&by, at);
            (Vec::new(), only("The new audit was not entered", result))
        }
        Work::Reload => {
            let result = desk.reload(at.instant());
            (Vec::new(), only("The review could not be read again", result))
        }
    };
    (made, outcome, signed)
}

type Made = (Vec<(Decision, Option<Settlement>)>, Result<(), Error>);

/// Makes decisions in one go; gives those that stand in the journal, whatever came of the rest.
fn all(
    desk: &mut Desk,
    decisions: Vec<Decision>,
    decide: impl FnOnce(&mut Desk, &[Decision]) -> Result<(), Error>,
) -> Made {
    let taken_back: Vec<_> = decisions.iter().map(|one| taken_back(desk, one)).collect();
    let result = decide(desk, &decisions);
    let made = match &result {
        Ok(()) | Err(Error::NotInLedger { .. }) => decisions.len(),
        Err(Error::Partly { made, .. }) => *made,
        Err(_) => 0,
    };
    (decisions.into_iter().zip(taken_back).take(made).collect(), result)
}

/// The settlement that a decision takes back.
fn taken_back(desk: &Desk, decision: &Decision) -> Option<Settlement> {
    match decision {
        Decision::Withdrawn { of: ItemKind::Exception, item } => {
            desk.state().resolution(item).map(|(settlement, _)| settlement.clone())
        }
        _ => None,
    }
}
