//! Where a review stands: what replaying its journal's lines gives. A pure function of the lines and of
//! the register of signers; it knows no file and no clock. Every signature is checked as it is
//! replayed, and one that does not hold covers nothing.

use crate::decision::{Bundle, Decision, ItemKind, Scope, Settlement, Together};
use crate::ending::Outcome;
use crate::hole::HoleBefore;
use crate::mark::Mark;
use crate::product_hold::{Ended, ProductHold, allows_tag, name_of};
use crate::refusal::{Refusal, refuse};
use crate::subject::{ClosingItem, DivertItem, ExceptionItem, Subject};
use analysis::METHOD;
use journal::{Digest, Line, Stamp};
use signers::{Act, Meaning, Register, Role, SignerId, Verdict};
use std::collections::{BTreeMap, BTreeSet};
use trace::Instant;

fn places(subject: &Subject) -> BTreeMap<String, usize> {
    let items = subject.exceptions.iter().enumerate();
    // Of two of one name, which no audit gives, the first counts.
    items.rev().map(|(place, item)| (item.id.clone(), place)).collect()
}

/// Whether the signature of a line holds; without a register none does.
fn proven(
    line: &Line,
    (decision, act): (&Decision, Act),
    head: &str,
    register: Option<&Register>,
) -> Verdict {
    let Some(register) = register else { return Verdict::NoRegister };
    let signer = line.by().parse::<SignerId>().ok();
    let Some(signer) = signer else { return Verdict::UnknownSigner };
    let Ok(head) = head.parse::<Digest>() else { return Verdict::UnknownRegisterHead };
    let Some(signature) = line.signature() else { return Verdict::KeyDoesNotFit };
    let verdict = register.check(&signer, act, line.at(), head, &line.signed_bytes(), &signature);
    match decision {
        Decision::Signed { name, role, .. } if verdict.holds() => {
            let known = register.signer(&signer);
            let is_named = known.is_some_and(|known| known.name() == name)
                && register.role_at(&signer, head) == Some(*role);
            if is_named { verdict } else { Verdict::NamedOtherwise }
        }
        _ => verdict,
    }
}

/// Where an exception stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Standing {
    /// Nobody has resolved it.
    Open,
    /// A supervisor wants it looked at again.
    SentBack {
        /// What is wrong.
        remark: String,
        /// Who says so.
        mark: Mark,
        /// How it had been resolved.
        before: Option<Settlement>,
    },
    /// It is resolved.
    Settled {
        /// How.
        settlement: Settlement,
        /// By whom.
        mark: Mark,
    },
}

impl Standing {
    /// Key and name.
    const fn words(&self) -> (&'static str, &'static str) {
        match self {
            Self::Open => ("open", "open"),
            Self::SentBack { .. } => ("sent_back", "returned"),
            Self::Settled { .. } => ("settled", "resolved"),
        }
    }

    /// The key in tables.
    pub const fn key(&self) -> &'static str {
        self.words().0
    }

    /// The word for a person.
    pub const fn name(&self) -> &'static str {
        self.words().1
    }

    /// How it is resolved, or had been before it was sent back.
    pub const fn settlement(&self) -> Option<&Settlement> {
        match self {
            Self::Open => None,
            Self::SentBack { before, .. } => before.as_ref(),
            Self::Settled { settlement, .. } => Some(settlement),
        }
    }

    /// Who brought it there; `None` while it is open.
    pub const fn mark(&self) -> Option<&Mark> {
        match self {
            Self::Open => None,
            Self::SentBack { mark, .. } | Self::Settled { mark, .. } => Some(mark),
        }
    }
}

/// A closing, an acknowledgement or an entry.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Made {
    /// What was entered, or the reason of a closing; blank for an acknowledgement.
    pub value: String,
    /// What there is to say.
    pub note: String,
    /// By whom.
    pub mark: Mark,
}

/// A signature in the journal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Signed {
    /// Who signed, and in which line.
    pub mark: Mark,
    /// What it means.
    pub meaning: Meaning,
    /// What it covers.
    pub scope: Scope,
    /// The printed name.
    pub name: String,
    /// The role.
    pub role: Role,
    /// The digest of the register's last line when it was given, hexadecimal.
    pub register: String,
    /// The version of the method of the audit that was signed.
    pub method: u64,
    /// Whether it holds, and if not, why.
    pub verdict: Verdict,
    /// The line that superseded it; `None` while it stands.
    pub superseded_by: Option<u64>,
}

impl Signed {
    /// Whether nothing has superseded it, whatever it is worth.
    pub const fn is_current(&self) -> bool {
        self.superseded_by.is_none()
    }

    /// Whether it holds and nothing has superseded it: only then it covers anything.
    pub fn stands(&self) -> bool {
        self.is_current() && self.verdict.holds()
    }

    /// What it says where it holds, and else why it does not, in a sentence.
    pub fn found(&self) -> String {
        let Self { mark, meaning, scope, name, role, method, verdict, superseded_by, .. } = self;
        let of_method = match *method {
            METHOD => String::new(),
            method => format!("; on an audit by version {method} of the method"),
        };
        let standing =
            superseded_by.map_or_else(String::new, |line| format!("; superseded by line {line}"));
        match verdict {
            Verdict::Holds => {
                format!("{meaning}, {scope}, by {name} ({role}), {}{of_method}{standing}", mark.at)
            }
            Verdict::NamedOtherwise => {
                format!("the printed name or role is not the register's: {name}, {role}")
            }
            verdict => format!("{meaning}, {scope}, by {name}: {verdict}"),
        }
    }
}

/// A line that somebody must prove to be theirs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Proof {
    /// Who made it, and in which line.
    pub mark: Mark,
    /// What the person must be allowed to do.
    pub act: Act,
    /// Whether its signature holds; `None` where there is none: older programs asked for none.
    pub verdict: Option<Verdict>,
}

/// How far the work is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Progress {
    /// How many exceptions are resolved, and how many there are.
    pub exceptions: (usize, usize),
    /// How many of the observations to close are closed, and how many there are.
    pub closed: (usize, usize),
    /// How many kinds of observations are acknowledged, and how many there are.
    pub observations: (usize, usize),
    /// How many entries are made, and how many there are.
    pub entries: (usize, usize),
}

impl Progress {
    /// Whether nothing is left to do.
    pub fn is_complete(&self) -> bool {
        [self.exceptions, self.closed, self.observations, self.entries]
            .iter()
            .all(|(done, all)| done == all)
    }
}

/// Where the review of one record stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct State {
    subject: Subject,
    /// By identifier, the place of an exception in the subject: each decision looks for its own, and a
    /// record may have thousands.
    places: BTreeMap<String, usize>,
    standings: BTreeMap<String, Standing>,
    closed: BTreeMap<String, Made>,
    hole: Option<(HoleBefore, Made)>,
    /// The reasons of diverts.
    explained: BTreeMap<String, Made>,
    acknowledged: BTreeMap<String, Made>,
    entered: BTreeMap<String, Made>,
    /// What is or was on hold, in the order in which it was put on hold.
    holds: Vec<ProductHold>,
    /// What was said of broken seals, by their numbers.
    seals: BTreeMap<String, Made>,
    signatures: Vec<Signed>,
    proofs: Vec<Proof>,
    /// The lines that are dated before the record that they speak of ends.
    early: Vec<u64>,
    /// The line that entered the audit.
    audited: Option<Mark>,
    corrections: Vec<(Mark, String)>,
}

impl State {
    /// The state that the first line begins.
    ///
    /// # Errors
    /// When it does not open a review.
    fn begin(line: &Line) -> Result<Self, Refusal> {
        match Decision::of(line.body()).map_err(Refusal)? {
            (Decision::Opened { subject }, None) if line.signature().is_none() => {
                let mut state = Self::of(subject);
                let mark = Mark::of(line);
                state.note_date(&mark);
                state.audited = Some(mark);
                Ok(state)
            }
            _ => refuse("a review begins by opening it"),
        }
    }

    /// The state of a review that has just been opened.
    pub fn of(subject: Subject) -> Self {
        let standings =
            subject.exceptions.iter().map(|item| (item.id.clone(), Standing::Open)).collect();
        Self {
            places: places(&subject),
            subject,
            standings,
            closed: BTreeMap::new(),
            hole: None,
            explained: BTreeMap::new(),
            acknowledged: BTreeMap::new(),
            entered: BTreeMap::new(),
            holds: Vec::new(),
            seals: BTreeMap::new(),
            signatures: Vec::new(),
            proofs: Vec::new(),
            early: Vec::new(),
            audited: None,
            corrections: Vec::new(),
        }
    }

    /// The state after all lines; `None` when there are none. Without a register no signature holds.
    ///
    /// # Errors
    /// The first line that breaks a rule, from 1, and how.
    pub fn replay(
        lines: &[Line],
        register: Option<&Register>,
    ) -> Result<Option<Self>, (u64, Refusal)> {
        match Self::replay_as_far(lines, register) {
            (state, None) => Ok(state),
            (_, Some(broken)) => Err(broken),
        }
    }

    /// The state before the first line that breaks a rule, and that line with its rule.
    pub fn replay_as_far(
        lines: &[Line],
        register: Option<&Register>,
    ) -> (Option<Self>, Option<(u64, Refusal)>) {
        let mut state = None;
        for line in lines {
            let next = match &mut state {
                None => Self::begin(line).map(|begun| state = Some(begun)),
                Some(state) => state.apply(line, register),
            };
            if let Err(refusal) = next {
                return (state, Some((line.sequence(), refusal)));
            }
        }
        (state, None)
    }

    /// Goes on by a line that was just written; the first one begins the review.
    ///
    /// # Errors
    /// When the line breaks a rule; then the state is as before.
    pub(crate) fn go_on(
        &mut self,
        line: &Line,
        register: Option<&Register>,
    ) -> Result<(), Refusal> {
        match line.sequence() {
            1 => Self::begin(line).map(|begun| *self = begun),
            _ => self.apply(line, register),
        }
    }

    /// Goes on by one line.
    ///
    /// # Errors
    /// When the line breaks a rule; then the state is as before.
    fn apply(&mut self, line: &Line, register: Option<&Register>) -> Result<(), Refusal> {
        let (decision, head) = Decision::of(line.body()).map_err(Refusal)?;
        let is_signature = matches!(decision, Decision::Signed { .. });
        if line.signature().is_some() != head.is_some() || is_signature && head.is_none() {
            return refuse("a signed line, and no other, names the register of signers");
        }
        // A signature that nobody asked for must hold like any other.
        let act = self.act(&decision).or(head.as_ref().map(|_| Act::Enter));
        let verdict =
            head.zip(act).map(|(head, act)| proven(line, (&decision, act), &head, register));
        self.take_in(decision, Mark::of(line), act, verdict)
    }

    /// What a person must prove to be theirs with a signature to make a decision; `None` where a name
    /// is enough.
    pub fn act(&self, decision: &Decision) -> Option<Act> {
        let approved = |scope: &Scope| {
            let approved = self.standing(Meaning::Approved);
            approved.iter().any(|signed| signed.scope.overlaps(scope))
        };
        let ends_hold =
            if self.subject.technician_ends_holds { Act::Enter } else { Act::Supervise };
        let act = decision.act(approved, ends_hold);
        // What was on hold under a signature is not taken off it by resolving the exception anew.
        if self.changes_firm_hold(decision) { Some(ends_hold) } else { act }
    }

    /// Whether a decision takes something off a hold that stood under a signature.
    fn changes_firm_hold(&self, decision: &Decision) -> bool {
        let firm = |id: &str| self.holds.iter().find(|hold| hold.is_firm() && hold.is_of(id));
        let is_changed = |settlement: &Settlement| {
            let stays = |hold: &ProductHold| hold.stays_with(settlement);
            firm(&settlement.exception).is_some_and(|hold| !stays(hold))
        };
        match decision {
            Decision::Settled(settlement) => is_changed(settlement),
            Decision::SettledTogether(together) => {
                let items = together.exceptions.iter().filter_map(|id| self.item(id));
                items.map(|item| together.settlement(item)).any(|one| is_changed(&one))
            }
            Decision::Withdrawn { of: ItemKind::Exception, item } => firm(item).is_some(),
            _ => false,
        }
    }

    /// Remembers a line that is dated before the record ends: nobody can have seen it whole.
    fn note_date(&mut self, mark: &Mark) {
        let ends = self.subject.end.parse::<Stamp>();
        if ends.is_ok_and(|ends| mark.at.instant() < ends.instant()) {
            self.early.push(mark.line);
        }
    }

    /// Takes a decision in without a line; one that must be signed as if its signature held.
    #[cfg(test)]
    pub(crate) fn decide(&mut self, decision: Decision, mark: Mark) -> Result<(), Refusal> {
        let act = self.act(&decision);
        self.take_in(decision, mark, act, act.map(|_| Verdict::Holds))
    }

    /// Takes a decision in whose signature was checked already.
    pub(crate) fn take_in(
        &mut self,
        decision: Decision,
        mark: Mark,
        act: Option<Act>,
        verdict: Option<Verdict>,
    ) -> Result<(), Refusal> {
        self.take(decision, &mark, verdict.unwrap_or(Verdict::KeyDoesNotFit))?;
        self.note_date(&mark);
        if let Some(act) = act {
            self.proofs.push(Proof { mark, act, verdict });
        }
        Ok(())
    }

    fn take(&mut self, decision: Decision, mark: &Mark, verdict: Verdict) -> Result<(), Refusal> {
        self.allows(&decision, &mark.by)?;
        let mark = mark.clone();
        match decision {
            Decision::Opened { .. } => {}
            Decision::ReAudited { subject } => {
                self.re_audited(subject, mark.line);
                self.audited = Some(mark);
            }
            Decision::ClockCorrected { reason } => self.corrections.push((mark, reason)),
            Decision::Settled(settlement) => self.settled_as(vec![settlement], &mark),
            Decision::SettledTogether(together) => {
                let items = together.exceptions.iter().filter_map(|id| self.item(id));
                let settlements = items.map(|item| together.settlement(item)).collect();
                self.settled_as(settlements, &mark);
            }
            Decision::SealNoted { seal, reason } => {
                self.seals.insert(seal, Made { value: reason, note: String::new(), mark });
            }
            Decision::HoldEnded(ending) => {
                if let Some(hold) = self.holds.iter_mut().find(|hold| hold.name == ending.hold) {
                    hold.ended = Some(Ended { ending, mark, verdict });
                }
            }
            Decision::Closed { observation, reason, note } => {
                self.closed.insert(observation, Made { value: reason, note, mark });
            }
            Decision::HoleClosed { hole, reason, note } => {
                self.hole = Some((hole, Made { value: reason, note, mark }));
            }
            Decision::DivertExplained { divert, reason, note } => {
                self.explained.insert(divert, Made { value: reason, note, mark });
            }
            Decision::Withdrawn { of, item } => match of {
                ItemKind::Exception => {
                    self.off_hold(&item);
                    self.holds.retain(|hold| !hold.parts.is_empty());
                    self.standings.insert(item, Standing::Open);
                }
                // On hold is the safe side, whatever the signature is worth.
                ItemKind::HoldEnd => {
                    let hold = self.holds.iter_mut().find(|hold| hold.name == item);
                    if let Some(hold) = hold {
                        hold.ended = None;
                    }
                }
                ItemKind::ClosedObservation => {
                    self.closed.remove(&item);
                }
                ItemKind::Hole => self.hole = None,
                ItemKind::Divert => {
                    self.explained.remove(&item);
                }
                ItemKind::Observation => {
                    self.acknowledged.remove(&item);
                }
                ItemKind::Entry => {
                    self.entered.remove(&item);
                }
                ItemKind::Seal => {
                    self.seals.remove(&item);
                }
            },
            Decision::SentBack { exception, remark } => {
                let shifts = self.item(&exception).map(|item| item.shifts.clone());
                let shifts = shifts.unwrap_or_default();
                self.supersede(mark.line, |signed| signed.scope.holds(&shifts));
                let before = match self.standings.remove(&exception) {
                    Some(Standing::Settled { settlement, .. }) => Some(settlement),
                    _ => None,
                };
                self.standings.insert(exception, Standing::SentBack { remark, mark, before });
            }
            Decision::Acknowledged { observation, note } => {
                self.acknowledged.insert(observation, Made { value: String::new(), note, mark });
            }
            Decision::Entered { entry, value, note } => {
                self.entered.insert(entry, Made { value, note, mark });
            }
            Decision::Signed { meaning, scope, name, role, register } => {
                if verdict.holds() {
                    self.sign_holds(&scope);
                }
                let (method, superseded_by) = (self.subject.method, None);
                self.signatures.push(Signed {
                    mark,
                    meaning,
                    scope,
                    name,
                    role,
                    register,
                    method,
                    verdict,
                    superseded_by,
                });
            }
            Decision::Reopened { scope, .. } => {
                self.supersede(mark.line, |signed| signed.scope.overlaps(&scope));
            }
        }
        Ok(())
    }

    /// Takes in what one line says of its exceptions. What bears the same tag is one hold.
    fn settled_as(&mut self, settlements: Vec<Settlement>, mark: &Mark) {
        for settlement in settlements {
            self.off_hold(&settlement.exception);
            if settlement.holds_product() {
                let name = name_of(&settlement, mark.line);
                match self.holds.iter_mut().find(|hold| hold.name == name) {
                    Some(hold) => hold.add(&settlement),
                    None => self.holds.push(ProductHold::begun(&settlement, mark)),
                }
            }
            let (id, mark) = (settlement.exception.clone(), mark.clone());
            self.standings.insert(id, Standing::Settled { settlement, mark });
        }
        self.holds.retain(|hold| !hold.parts.is_empty());
    }

    /// Takes an exception off the hold that it is on, unless that has ended.
    fn off_hold(&mut self, id: &str) {
        for hold in self.holds.iter_mut().filter(|hold| hold.ended.is_none()) {
            hold.parts.retain(|part| part.exception != id);
        }
    }

    /// What is on hold stands under a signature from now on.
    fn sign_holds(&mut self, scope: &Scope) {
        let subject = &self.subject;
        let is_covered = |id: &str| {
            let item = subject.exceptions.iter().find(|item| item.id == id);
            item.is_none_or(|item| scope.holds(&item.shifts))
        };
        for hold in &mut self.holds {
            hold.is_signed |= hold.parts.iter().any(|part| is_covered(&part.exception));
        }
    }

    fn supersede(&mut self, line: u64, which: impl Fn(&Signed) -> bool) {
        let standing = self.signatures.iter_mut().filter(|signed| signed.is_current());
        for signed in standing.filter(|signed| which(signed)) {
            signed.superseded_by = Some(line);
        }
    }

    fn re_audited(&mut self, subject: Subject, line: u64) {
        if !subject.is_same_but_for_the_program(&self.subject) {
            self.supersede(line, |_| true);
            let before = self.subject.by_id();
            let standings = subject.exceptions.iter().map(|item| {
                let same = before.get(item.id.as_str()).is_some_and(|before| *before == item);
                let standing = same.then(|| self.standings.get(&item.id).cloned()).flatten();
                (item.id.clone(), standing.unwrap_or(Standing::Open))
            });
            self.standings = standings.collect();
            let before = std::mem::take(&mut self.closed);
            let same = subject.to_close.iter().filter(|item| self.subject.to_close.contains(item));
            let same: BTreeSet<&str> = same.map(|item| item.id.as_str()).collect();
            self.closed = before.into_iter().filter(|(id, _)| same.contains(id.as_str())).collect();
            self.explained.retain(|id, _| subject.diverts.iter().any(|item| item.id == *id));
            let counts: BTreeMap<&str, u64> = self
                .subject
                .observations
                .iter()
                .map(|one| (one.kind.as_str(), one.count))
                .collect();
            let same_kind = |kind: &str| {
                let count = subject.observations.iter().find(|one| one.kind == kind);
                count.is_some_and(|one| counts.get(kind) == Some(&one.count))
            };
            // A kind may mean something else in another version of the method.
            let same_method = subject.method == self.subject.method;
            self.acknowledged.retain(|kind, _| same_method && same_kind(kind));
            self.entered.retain(|entry, _| subject.entries.contains(entry));
            self.hole = self.hole.take().filter(|(hole, _)| hole.to == subject.start);
        }
        self.places = places(&subject);
        self.subject = subject;
    }

    /// Whether a decision by `by` breaks no rule.
    ///
    /// # Errors
    /// The rule that it breaks, in a sentence.
    pub fn allows(&self, decision: &Decision, by: &str) -> Result<(), Refusal> {
        match decision {
            Decision::Opened { .. } => refuse("the review is open already"),
            Decision::ReAudited { subject } if subject.method < self.subject.method => {
                refuse(format!(
                    "the record was audited by version {} of the method; an audit by version {} \
                     does not replace it: use the newer program",
                    self.subject.method, subject.method
                ))
            }
            Decision::ClockCorrected { reason } if reason.trim().is_empty() => {
                refuse("a correction of the clock needs a reason")
            }
            Decision::ReAudited { .. } | Decision::ClockCorrected { .. } => Ok(()),
            Decision::Settled(settlement) => {
                let item = self.find(&settlement.exception)?;
                if let Some(missing) = self.missing(settlement, item) {
                    return refuse(format!("required: {missing}"));
                }
                self.tag_is_free(&settlement.hold_tag)?;
                self.not_signed(&item.shifts)
            }
            Decision::SealNoted { seal, reason } => {
                if seal.trim().is_empty() || reason.trim().is_empty() {
                    return refuse("required: the seal, and what its being broken means");
                }
                self.day_not_approved()
            }
            Decision::HoldEnded(ending) => {
                match self.hold(&ending.hold) {
                    Some(hold) if hold.is_open() => {}
                    Some(_) => return refuse(format!("the hold {} has ended", ending.hold)),
                    None => return refuse(format!("nothing is on hold as {:?}", ending.hold)),
                }
                let is_early = ending.outcome == Outcome::Released
                    && self.subject.release_after_approval
                    && self.covered_at(Meaning::Approved).is_none();
                if is_early {
                    return refuse("the plant releases product only once its record is approved");
                }
                ending.allows()
            }
            Decision::SettledTogether(together) => self.allows_together(together),
            Decision::Closed { observation, reason, .. } => {
                let item = self.find_to_close(observation)?;
                if reason.trim().is_empty() {
                    return refuse("required: the reason why the observation is closed");
                }
                self.not_signed(&item.shifts)
            }
            Decision::HoleClosed { hole, reason, .. } => {
                if hole.to != self.subject.start {
                    return refuse("the hole does not end where the record begins");
                }
                if reason.trim().is_empty() {
                    return refuse("required: the reason why the hole before the record is closed");
                }
                self.day_not_signed()
            }
            Decision::DivertExplained { divert, reason, .. } => {
                let item = self.find_divert(divert)?;
                if reason.trim().is_empty() {
                    return refuse("required: the reason of the divert");
                }
                self.not_signed(&item.shifts)
            }
            Decision::Withdrawn { of, item } => {
                let is_made = match of {
                    ItemKind::Exception => self.is_settled(item),
                    ItemKind::ClosedObservation => self.closed.contains_key(item),
                    ItemKind::Hole => self.hole.as_ref().is_some_and(|(hole, _)| hole.to == *item),
                    ItemKind::Divert => self.explained.contains_key(item),
                    ItemKind::Observation => self.acknowledged.contains_key(item),
                    ItemKind::Entry => self.entered.contains_key(item),
                    ItemKind::Seal => self.seals.contains_key(item),
                    ItemKind::HoldEnd => self.hold(item).is_some_and(|hold| hold.ended.is_some()),
                };
                if !is_made {
                    return refuse("there is nothing to withdraw");
                }
                match of {
                    // What is on hold again was signed for all the while.
                    ItemKind::HoldEnd => Ok(()),
                    ItemKind::Seal => self.day_not_approved(),
                    ItemKind::Exception => self.not_signed(&self.find(item)?.shifts),
                    ItemKind::ClosedObservation => {
                        self.not_signed(&self.find_to_close(item)?.shifts)
                    }
                    ItemKind::Divert => self.not_signed(&self.find_divert(item)?.shifts),
                    ItemKind::Hole | ItemKind::Observation | ItemKind::Entry => {
                        self.day_not_signed()
                    }
                }
            }
            Decision::SentBack { exception, remark } => {
                let item = self.find(exception)?;
                if remark.trim().is_empty() {
                    return refuse("required: a comment that says what to check again");
                }
                if !self.is_settled(exception) {
                    return refuse("only a resolved exception can be returned with a comment");
                }
                let approved = self.standing(Meaning::Approved);
                match approved.into_iter().find(|signed| signed.scope.holds(&item.shifts)) {
                    Some(signed) => {
                        refuse(format!("{} is approved; reopen it first", signed.scope))
                    }
                    None => Ok(()),
                }
            }
            Decision::Acknowledged { observation, .. } => {
                if self.subject.to_close.iter().any(|one| one.kind == *observation) {
                    return refuse(format!(
                        "observations {observation:?} are closed one by one, each with a reason; \
                         they are not acknowledged"
                    ));
                }
                if !self.subject.observations.iter().any(|one| one.kind == *observation) {
                    return refuse(format!("the record has no observation {observation:?}"));
                }
                self.day_not_signed()
            }
            Decision::Entered { entry, value, .. } => {
                if !self.subject.entries.contains(entry) {
                    return refuse(format!("the plant's list asks for no entry {entry:?}"));
                }
                if value.trim().is_empty() {
                    return refuse(
                        "the entry is blank; write \u{201c}none\u{201d} where there is none",
                    );
                }
                self.day_not_signed()
            }
            Decision::Signed { meaning, scope, role, .. } => match meaning {
                Meaning::Reviewed => self.can_be_reviewed(scope),
                Meaning::Approved if *role != Role::Supervisor => refuse("a supervisor approves"),
                Meaning::Approved => self.can_be_approved(scope, by),
            },
            Decision::Reopened { scope, reason } => {
                self.known(scope)?;
                if reason.trim().is_empty() {
                    return refuse("reopening needs a reason");
                }
                let signed = self.signatures.iter();
                if signed.filter(|one| one.is_current()).any(|one| one.scope.overlaps(scope)) {
                    Ok(())
                } else {
                    refuse(format!("{scope} bears no signature"))
                }
            }
        }
    }

    fn allows_together(&self, together: &Together) -> Result<(), Refusal> {
        let Together { of, exceptions, hold_tag, .. } = together;
        self.tag_is_free(hold_tag)?;
        if exceptions.is_empty() {
            return refuse(format!("no exception of {of} is named"));
        }
        let mut named = BTreeSet::new();
        for id in exceptions {
            let item = self.find(id)?;
            if !of.holds(item) {
                return refuse(format!("the exception {id:?} is not of {of}"));
            }
            if !named.insert(id) {
                return refuse(format!("the exception {id:?} is named twice"));
            }
            if let Some(missing) = self.missing(&together.settlement(item), item) {
                return refuse(format!("required: {missing}"));
            }
            self.not_signed(&item.shifts)?;
        }
        Ok(())
    }

    /// The first of what is required of a resolution and blank, in words.
    pub fn missing(&self, settlement: &Settlement, item: &ExceptionItem) -> Option<&'static str> {
        let part = || settlement.missing_part().filter(|_| self.subject.asks_for_parts(item));
        settlement.missing().or_else(part)
    }

    /// A hold that has ended takes nothing in any more.
    fn tag_is_free(&self, tag: &str) -> Result<(), Refusal> {
        allows_tag(tag)?;
        match self.hold(tag.trim()).filter(|hold| hold.ended.is_some()) {
            Some(hold) => refuse(format!("the hold {} has ended; use another tag", hold.name)),
            None => Ok(()),
        }
    }

    /// What is or was on hold, in the order in which it was put on hold.
    pub fn holds(&self) -> &[ProductHold] {
        &self.holds
    }

    /// A hold by its name.
    pub fn hold(&self, name: &str) -> Option<&ProductHold> {
        self.holds.iter().find(|hold| hold.name == name)
    }

    /// The hold that the product of an exception is on, or was; the last one of several.
    pub fn hold_of(&self, exception: &str) -> Option<&ProductHold> {
        self.holds.iter().rfind(|hold| hold.is_of(exception))
    }

    /// How many holds are open.
    pub fn open_holds(&self) -> usize {
        self.holds.iter().filter(|hold| hold.is_open()).count()
    }

    /// Whether a scope can be signed as reviewed.
    ///
    /// # Errors
    /// What is left to do first.
    pub fn can_be_reviewed(&self, scope: &Scope) -> Result<(), Refusal> {
        self.known(scope)?;
        if self.standing(Meaning::Reviewed).iter().any(|one| one.scope == *scope) {
            return refuse(format!("{scope} is signed as reviewed already"));
        }
        self.all_done(scope)
    }

    /// Whether `by` can sign a scope as approved.
    ///
    /// # Errors
    /// What is left to do first, or why it must be somebody else.
    pub fn can_be_approved(&self, scope: &Scope, by: &str) -> Result<(), Refusal> {
        self.known(scope)?;
        if self.standing(Meaning::Approved).iter().any(|one| one.scope == *scope) {
            return refuse(format!("{scope} is approved already"));
        }
        self.all_done(scope)?;
        let reviewed = self.standing(Meaning::Reviewed);
        let covering: Vec<_> = reviewed
            .into_iter()
            .filter(|one| one.scope == *scope || one.scope == Scope::DAY)
            .collect();
        if covering.is_empty() {
            return refuse(format!("{scope} is not signed as reviewed yet"));
        }
        if !self.subject.same_person_may_approve && covering.iter().any(|one| one.mark.by == by) {
            return refuse(
                "somebody other than the reviewer approves (the plant file can allow the reviewer to)",
            );
        }
        Ok(())
    }

    fn all_done(&self, scope: &Scope) -> Result<(), Refusal> {
        let left = self
            .subject
            .exceptions
            .iter()
            .filter(|item| scope.holds(&item.shifts))
            .filter(|item| !self.is_settled(&item.id))
            .count();
        match left {
            0 => {}
            1 => return refuse("1 exception is not resolved"),
            left => return refuse(format!("{left} exceptions are not resolved")),
        }
        let (closed, to_close) = self.closed_of(scope);
        match to_close - closed {
            0 => {}
            1 => return refuse("1 observation is not closed"),
            left => return refuse(format!("{left} observations are not closed")),
        }
        if scope.shift_name().is_none() {
            let Progress { observations, entries, .. } = self.progress();
            if observations.0 < observations.1 {
                let left = observations.1 - observations.0;
                return refuse(match left {
                    1 => "1 type of observation is not acknowledged".to_owned(),
                    left => format!("{left} types of observations are not acknowledged"),
                });
            }
            if entries.0 < entries.1 {
                return refuse(match entries.1 - entries.0 {
                    1 => "1 required entry is not made".to_owned(),
                    left => format!("{left} required entries are not made"),
                });
            }
        }
        Ok(())
    }

    /// Whether an exception is resolved.
    pub fn is_settled(&self, id: &str) -> bool {
        self.resolution(id).is_some()
    }

    /// The exceptions that are resolved, in the order of their identifiers.
    pub fn resolutions(&self) -> impl Iterator<Item = (&str, &Settlement, &Mark)> {
        self.standings.iter().filter_map(|(id, standing)| match standing {
            Standing::Settled { settlement, mark } => Some((id.as_str(), settlement, mark)),
            Standing::Open | Standing::SentBack { .. } => None,
        })
    }

    /// How an exception was resolved, and by whom; `None` while it is not.
    pub fn resolution(&self, id: &str) -> Option<(&Settlement, &Mark)> {
        match self.exception(id) {
            Standing::Settled { settlement, mark } => Some((settlement, mark)),
            Standing::Open | Standing::SentBack { .. } => None,
        }
    }

    fn known(&self, scope: &Scope) -> Result<(), Refusal> {
        match scope.shift_name() {
            Some(name) if !self.subject.shifts.iter().any(|shift| shift == name) => {
                refuse(format!("the record touches no shift \u{201c}{name}\u{201d}"))
            }
            _ => Ok(()),
        }
    }

    fn find(&self, id: &str) -> Result<&ExceptionItem, Refusal> {
        match self.item(id) {
            Some(item) => Ok(item),
            None => refuse(format!("the record has no exception {id:?}")),
        }
    }

    fn find_to_close(&self, id: &str) -> Result<&ClosingItem, Refusal> {
        match self.to_close(id) {
            Some(item) => Ok(item),
            None => refuse(format!("the record has no observation {id:?} to close")),
        }
    }

    fn find_divert(&self, id: &str) -> Result<&DivertItem, Refusal> {
        match self.subject.diverts.iter().find(|item| item.id == id) {
            Some(item) => Ok(item),
            None => refuse(format!(
                "the record has no divert {id:?} of which a reason could be entered"
            )),
        }
    }

    /// What the rules go by: what was signed and is not superseded. Whether it holds decides what it
    /// covers, see [`State::holding`].
    fn standing(&self, meaning: Meaning) -> Vec<&Signed> {
        let signed = self.signatures.iter();
        signed.filter(|one| one.is_current() && one.meaning == meaning).collect()
    }

    fn holding(&self, meaning: Meaning) -> Vec<&Signed> {
        let mut standing = self.standing(meaning);
        standing.retain(|one| one.stands());
        standing
    }

    fn not_signed(&self, shifts: &[String]) -> Result<(), Refusal> {
        let mut signed = self.signatures.iter().filter(|one| one.is_current());
        match signed.find(|one| one.scope.holds(shifts)) {
            Some(one) => refuse(format!("{} is signed; reopen it first", one.scope)),
            None => Ok(()),
        }
    }

    /// A seal is known to be broken only after the review, perhaps: it is noted until the approval.
    fn day_not_approved(&self) -> Result<(), Refusal> {
        match self.standing(Meaning::Approved).first() {
            Some(signed) => refuse(format!("{} is approved; reopen it first", signed.scope)),
            None => Ok(()),
        }
    }

    fn day_not_signed(&self) -> Result<(), Refusal> {
        let mut signed = self.signatures.iter().filter(|one| one.is_current());
        if signed.any(|one| one.scope == Scope::DAY) {
            return refuse("the whole record is signed; reopen it first");
        }
        Ok(())
    }

    /// What is reviewed.
    pub const fn subject(&self) -> &Subject {
        &self.subject
    }

    /// An exception by its id.
    pub fn item(&self, id: &str) -> Option<&ExceptionItem> {
        self.places.get(id).and_then(|place| self.subject.exceptions.get(*place))
    }

    /// Where an exception stands; open for one that is not known.
    pub fn exception(&self, id: &str) -> &Standing {
        self.standings.get(id).unwrap_or(&Standing::Open)
    }

    /// The exceptions of a bundle that are to be resolved together: those that are not resolved, or
    /// all of them when each is.
    pub fn bundle(&self, of: Bundle) -> Vec<&ExceptionItem> {
        let all = || self.subject.exceptions.iter().filter(|item| of.holds(item));
        let open: Vec<_> = all().filter(|item| !self.is_settled(&item.id)).collect();
        if open.is_empty() { all().collect() } else { open }
    }

    /// An observation to close by its id.
    pub fn to_close(&self, id: &str) -> Option<&ClosingItem> {
        self.subject.to_close.iter().find(|item| item.id == id)
    }

    /// The closing of an observation by its id.
    pub fn closed(&self, id: &str) -> Option<&Made> {
        self.closed.get(id)
    }

    /// The observations that are closed, in the order of their identifiers.
    pub fn closings(&self) -> impl Iterator<Item = (&String, &Made)> {
        self.closed.iter()
    }

    /// The hole before the record that was closed, and how; `None` where none was. The record before
    /// may be another by now: see [`State::hole_closed`].
    pub fn hole(&self) -> Option<(&HoleBefore, &Made)> {
        self.hole.as_ref().map(|(hole, made)| (hole, made))
    }

    /// How a hole before the record was closed; `None` while it is open.
    pub fn hole_closed(&self, hole: &HoleBefore) -> Option<&Made> {
        self.hole().filter(|(closed, _)| closed.is_same(hole)).map(|(_, made)| made)
    }

    /// The reason that somebody entered of a divert.
    pub fn explained(&self, id: &str) -> Option<&Made> {
        self.explained.get(id)
    }

    /// What was said of broken seals, in the order of their numbers.
    pub fn seals(&self) -> impl Iterator<Item = (&String, &Made)> {
        self.seals.iter()
    }

    /// What was said of a broken seal, by its number.
    pub fn seal_noted(&self, seal: &str) -> Option<&Made> {
        self.seals.get(seal)
    }

    /// The acknowledgement of a kind of observations.
    pub fn acknowledged(&self, kind: &str) -> Option<&Made> {
        self.acknowledged.get(kind)
    }

    /// What was entered for an item of the plant's list.
    pub fn entered(&self, item: &str) -> Option<&Made> {
        self.entered.get(item)
    }

    /// All signatures, in order, superseded ones too.
    pub fn signatures(&self) -> &[Signed] {
        &self.signatures
    }

    /// The lines that somebody must prove to be theirs, in order.
    pub fn proofs(&self) -> &[Proof] {
        &self.proofs
    }

    /// The lines whose signature does not hold.
    pub fn failing(&self) -> impl Iterator<Item = &Proof> {
        self.proofs.iter().filter(|proof| proof.verdict.is_some_and(|verdict| !verdict.holds()))
    }

    /// The lines that are dated before the record that they speak of ends.
    pub fn early(&self) -> &[u64] {
        &self.early
    }

    /// Who entered the audit, and when; `None` before anything is entered.
    pub const fn audited(&self) -> Option<&Mark> {
        self.audited.as_ref()
    }

    /// The clocks that ran ahead: who said so, and what happened.
    pub fn corrections(&self) -> &[(Mark, String)] {
        &self.corrections
    }

    /// Whether a standing signature of this meaning covers the scope: its own, or the day's.
    pub fn is_signed(&self, meaning: Meaning, scope: &Scope) -> bool {
        self.holding(meaning).iter().any(|one| one.scope == *scope || one.scope == Scope::DAY)
    }

    /// When standing signatures of a meaning first covered the whole record: the day's own, or those
    /// of all shifts. The shifts do not hold everything: with an exception or an observation to close
    /// that touches none of them, or anything acknowledged or entered after the last of their signatures, or still to be, only
    /// the day's own signature covers the record.
    pub fn covered_at(&self, meaning: Meaning) -> Option<Instant> {
        let standing = self.holding(meaning);
        let first = |scope: &Scope| {
            let of = standing.iter().filter(|one| one.scope == *scope);
            of.map(|one| &one.mark).min_by_key(|mark| mark.at.instant())
        };
        let day = first(&Scope::DAY).map(|mark| mark.at.instant());
        let shifts = self.subject.shifts.iter().map(|shift| first(&Scope::shift(shift)));
        let shifts: Option<Vec<&Mark>> = shifts.collect();
        let by_shift = shifts.filter(|marks| {
            let last = marks.iter().map(|mark| mark.line).max().unwrap_or(0);
            let hole = self.hole().map(|(_, made)| made);
            let made = self.acknowledged.values().chain(self.entered.values()).chain(hole);
            let unshifted = self.subject.diverts.iter().filter(|item| item.shifts.is_empty());
            let made = made.chain(unshifted.filter_map(|item| self.explained(&item.id)));
            self.progress().is_complete()
                && self.subject.exceptions.iter().all(|item| !item.shifts.is_empty())
                && self.subject.to_close.iter().all(|item| !item.shifts.is_empty())
                && made.map(|made| made.mark.line).all(|line| line < last)
        });
        let by_shift = by_shift.and_then(|marks| marks.iter().map(|mark| mark.at.instant()).max());
        [day, by_shift].into_iter().flatten().min()
    }

    /// How far the work is over the whole record.
    pub fn progress(&self) -> Progress {
        let settled = self.standings.values();
        let settled = settled.filter(|one| matches!(one, Standing::Settled { .. })).count();
        Progress {
            exceptions: (settled, self.subject.exceptions.len()),
            closed: (self.closed.len(), self.subject.to_close.len()),
            observations: (self.acknowledged.len(), self.subject.observations.len()),
            entries: (self.entered.len(), self.subject.entries.len()),
        }
    }

    /// How many of the observations to close of a scope are closed, and how many there are.
    pub fn closed_of(&self, scope: &Scope) -> (usize, usize) {
        let items = self.subject.to_close.iter().filter(|item| scope.holds(&item.shifts));
        items.fold((0, 0), |(done, all), item| {
            (done + usize::from(self.closed.contains_key(&item.id)), all + 1)
        })
    }

    /// How many exceptions of a scope are resolved, and how many there are.
    pub fn settled(&self, scope: &Scope) -> (usize, usize) {
        let items = self.subject.exceptions.iter().filter(|item| scope.holds(&item.shifts));
        items.fold((0, 0), |(done, all), item| {
            (done + usize::from(self.is_settled(&item.id)), all + 1)
        })
    }
}
