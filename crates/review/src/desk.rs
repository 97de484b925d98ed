//! A review opened for work. Every decision is checked against the rules and the register, then
//! appended and synced; only then the state changes. What is signed is entered in the plant's ledger as
//! well. Nothing is added to a journal that can't be relied on.

use crate::at_work::{AtWork, Holder};
use crate::decision::{Decision, Scope, tag_wanted};
use crate::ending::EvidenceFile;
use crate::entries_signed::EntriesSigned;
use crate::error::Error;
use crate::hole::HoleBefore;
use crate::mark::Mark;
use crate::paths::Paths;
use crate::refusal::Refusal;
use crate::seals::broken_seals;
use crate::stage::Stage;
use crate::state::State;
use crate::subject::Subject;
use crate::verify::{Evidence, Verification, differences, limits_approved, verify_state};
use journal::{Digest, Entry, Journal, Line, Sign, Stamp, Torn};
use signers::{
    Act, Books, LedgerFile, Meaning, Register, Role, Seal, Signer, SignerId, Stood, UnlockedKey,
    Verdict,
};
use std::fmt;
use std::path::Path;
use std::sync::LazyLock;
use trace::Instant;

/// Reads the plant's books, and compares them with what its user has seen before.
struct BookReader(Box<dyn Fn() -> Books + Send>);

impl fmt::Debug for BookReader {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str("BookReader")
    }
}

/// The review of one record, with its journal open.
#[derive(Debug)]
pub struct Desk {
    paths: Paths,
    journal: Journal,
    state: State,
    reader: BookReader,
    books: Books,
    /// Whether all this can be relied on, link by link. It is worked out when something changes.
    verification: Verification,
    /// The time when that was worked out.
    now: Instant,
    /// What the files say now.
    fresh: Subject,
    /// What differs between the record that was reviewed and the files now. The window asks for it
    /// several times a frame, so it is worked out when the state changes.
    changes: Vec<String>,
    /// The hole before the record that is to be closed.
    before: Option<HoleBefore>,
    holder: Holder,
    hold: Option<AtWork>,
}

impl Desk {
    /// Opens the review of a record that was read and audited as `fresh`. Nothing is written until
    /// the first decision; a torn last line is told. `books` reads the plant's: now, before what is
    /// signed, and after it. `holder` tells others who is at work, `now` is the time.
    ///
    /// # Errors
    /// When the journal can't be read, is damaged or breaks a rule.
    pub fn open(
        paths: Paths,
        books: impl Fn() -> Books + Send + 'static,
        fresh: Subject,
        holder: Holder,
        now: Instant,
    ) -> Result<(Self, Option<Torn>), Error> {
        let reader = BookReader(Box::new(books));
        let books = (reader.0)();
        let (journal, torn) = Journal::open(&paths.journal)?;
        let state = replayed(&journal, &books)?.unwrap_or_else(|| State::of(fresh.clone()));
        let changes = differences(state.subject(), &fresh);
        let before = None;
        let verification =
            verified(&journal, &state, (&books, &paths), (&fresh, before.as_ref()), now);
        let desk = Self {
            paths,
            journal,
            state,
            reader,
            books,
            verification,
            now,
            fresh,
            changes,
            before,
            holder,
            hold: None,
        };
        Ok((desk, torn))
    }

    /// Tells the desk of the hole before the record that whoever went through the folder found; a
    /// record alone does not know it. Until it is closed nothing can be signed.
    pub fn comes_after(&mut self, hole: Option<HoleBefore>, now: Instant) {
        self.before = hole;
        self.verify(now);
    }

    /// The hole before the record that is to be closed, closed or not.
    pub const fn hole(&self) -> Option<&HoleBefore> {
        self.before.as_ref()
    }

    /// The hole before the record that nobody has closed yet.
    pub fn open_hole(&self) -> Option<&HoleBefore> {
        self.hole().filter(|hole| self.state.hole_closed(hole).is_none())
    }

    /// Whether `by` can sign a scope: the rules of the journal, and the hole before the record.
    ///
    /// # Errors
    /// What is left to do first, or why it must be somebody else.
    pub fn can_be_signed(
        &self,
        meaning: Meaning,
        scope: &Scope,
        by: &SignerId,
    ) -> Result<(), Refusal> {
        match meaning {
            Meaning::Reviewed => self.state.can_be_reviewed(scope)?,
            Meaning::Approved => {
                self.state.can_be_approved(scope, by.as_str())?;
                self.equipment_allows_approval()?;
            }
        }
        self.no_open_hole()?;
        self.limits_are_approved(self.now)
    }

    /// The limits of a plant file count when a supervisor has approved them.
    fn limits_are_approved(&self, now: Instant) -> Result<(), Refusal> {
        // Without a register nobody signs.
        let Some(register) = self.books.signers() else { return Ok(()) };
        // Without a line the audit is entered with the signature.
        let at = self.state.audited().map_or(now, |audited| audited.at.instant());
        match limits_approved(register, self.state.subject(), at) {
            Some((false, found)) => Err(Refusal(format!(
                "the limits: {found}; a supervisor approves the plant file in the register of signers \
                 (holdtrace signer approve), then the audit is entered again (re-audit)"
            ))),
            _ => Ok(()),
        }
    }

    /// The seals that were broken while the record ran and of which nobody has said what that means.
    pub fn open_seals(&self) -> Vec<&Seal> {
        let broken = self.books.signers().map(|register| broken_seals(register, &self.fresh));
        let is_open = |seal: &&Seal| self.state.seal_noted(&seal.sealed.seal).is_none();
        broken.unwrap_or_default().into_iter().filter(is_open).collect()
    }

    fn no_open_seal(&self) -> Result<(), Refusal> {
        match self.open_seals().first() {
            Some(seal) => Err(Refusal(format!(
                "a seal was broken, and what it means for this record has not been entered: {} (holdtrace \
                 review note-seal, or the pane of the record)",
                seal.in_words()
            ))),
            None => Ok(()),
        }
    }

    /// What the register says of the pasteurizer keeps nobody from approving.
    fn equipment_allows_approval(&self) -> Result<(), Refusal> {
        self.no_open_seal()?;
        self.no_less_strict_tube()
    }

    /// The audit did not go by a tube that was shown to hold for less on the record's day.
    fn no_less_strict_tube(&self) -> Result<(), Refusal> {
        let on_day = self.books.signers().and_then(|register| self.fresh.tube_on_day(register));
        match on_day.and_then(|on_day| on_day.before_approval()) {
            Some(why) => Err(Refusal(why)),
            None => Ok(()),
        }
    }

    fn no_open_hole(&self) -> Result<(), Refusal> {
        self.open_hole().map_or(Ok(()), |hole| {
            Err(Refusal(format!("the hole before the record is not closed: {}", hole.in_words())))
        })
    }

    /// Where the review stands.
    pub const fn state(&self) -> &State {
        &self.state
    }

    /// Who may sign; an empty register where there is none that can be relied on.
    pub fn register(&self) -> &Register {
        self.books.signers().unwrap_or(&NO_REGISTER)
    }

    /// The register of signers and the ledger.
    pub const fn books(&self) -> &Books {
        &self.books
    }

    /// Whether the review can be relied on, link by link.
    pub const fn verification(&self) -> &Verification {
        &self.verification
    }

    /// A tag for what is put on hold next: the record's name and a number that is free.
    pub fn next_hold_tag(&self) -> String {
        let name = Paths::record_of(&self.paths.journal);
        let name = name.file_stem().unwrap_or_default().to_string_lossy().into_owned();
        let is_free = |tag: &String| self.state.hold(tag).is_none();
        let mut tags = (1..).map(|number: u64| format!("{name}-H{number}"));
        tags.find(is_free).unwrap_or_default()
    }

    /// A file beside the record as evidence that ends a hold.
    ///
    /// # Errors
    /// When it lies elsewhere or can't be read.
    pub fn evidence(&self, file: &Path) -> Result<EvidenceFile, Error> {
        EvidenceFile::read(self.paths.journal.parent().unwrap_or(Path::new("")), file)
    }

    /// Who signed the operators' entries that are there now.
    pub fn entries_signed(&self) -> EntriesSigned {
        let name = self.books.name_of(&self.paths.journal);
        let source = self.fresh.operator_entries.as_ref();
        source.map_or(EntriesSigned::Nobody, |source| EntriesSigned::of(&self.books, &name, source))
    }

    /// How far the review is.
    pub fn stage(&self) -> Stage {
        let is_there = !self.journal.lines().is_empty();
        Stage::of(is_there, is_there.then_some(&self.state), &self.verification)
    }

    /// The journal's lines, in order.
    pub fn lines(&self) -> &[Line] {
        self.journal.lines()
    }

    /// The digest of the journal's last line.
    pub fn head(&self) -> Digest {
        self.journal.head()
    }

    /// The journal's file.
    pub fn path(&self) -> &Path {
        self.journal.path()
    }

    /// The register's file.
    pub fn register_path(&self) -> &Path {
        &self.paths.register
    }

    /// What the files say now.
    pub const fn fresh(&self) -> &Subject {
        &self.fresh
    }

    /// What differs between the record that was reviewed and the files now, in sentences; empty
    /// when nothing does. While something differs only a new audit can be entered.
    pub fn changes(&self) -> &[String] {
        &self.changes
    }

    /// Reads journal, register and ledger again, to see what others did.
    ///
    /// # Errors
    /// As when opening.
    pub fn reload(&mut self, now: Instant) -> Result<(), Error> {
        let (journal, _torn) = Journal::open(&self.paths.journal)?;
        self.read_books();
        let state = replayed(&journal, &self.books)?;
        self.journal = journal;
        self.state = state.unwrap_or_else(|| State::of(self.fresh.clone()));
        self.changes = differences(self.state.subject(), &self.fresh);
        self.verify(now);
        Ok(())
    }

    fn read_books(&mut self) {
        self.books = (self.reader.0)();
    }

    fn verify(&mut self, now: Instant) {
        self.now = now;
        self.verification = verified(
            &self.journal,
            &self.state,
            (&self.books, &self.paths),
            (&self.fresh, self.before.as_ref()),
            now,
        );
    }

    /// Makes a decision for which a name is enough. When this returns, it is on the disk.
    ///
    /// # Errors
    /// When it breaks a rule, must be signed, the person may not make it, the record has changed,
    /// somebody else is at work or was faster, or the disk refuses.
    pub fn decide(&mut self, by: &SignerId, at: Stamp, decision: &Decision) -> Result<(), Error> {
        self.decide_all(by, at, std::slice::from_ref(decision))
    }

    /// Makes decisions for which a name is enough, each in a line of its own, in one go: all of them, or
    /// none. When this returns, they are on the disk.
    ///
    /// # Errors
    /// As [`Desk::decide`], of the first that can't be made; and [`Error::Partly`] where the disk broke off.
    pub fn decide_all(
        &mut self,
        by: &SignerId,
        at: Stamp,
        decisions: &[Decision],
    ) -> Result<(), Error> {
        self.signer(by)?;
        for decision in decisions {
            if let Some(act) = self.state.act(decision) {
                return Err(Error::NeedsKey { what: decision.in_words(), act });
            }
        }
        self.append(by, at, decisions, None)?;
        self.verify(at.instant());
        Ok(())
    }

    /// Enters the new audit of a record or plant file that has changed.
    ///
    /// # Errors
    /// As [`Desk::decide`].
    pub fn re_audit(&mut self, by: &SignerId, at: Stamp) -> Result<(), Error> {
        let decision = Decision::ReAudited { subject: self.fresh.clone() };
        self.decide(by, at, &decision)
    }

    /// Signs the record. When this returns, the signature is on the disk, and in the ledger.
    ///
    /// # Errors
    /// As [`Desk::decide_signed`].
    pub fn sign(
        &mut self,
        key: &UnlockedKey,
        at: Stamp,
        meaning: Meaning,
        scope: &Scope,
    ) -> Result<(), Error> {
        self.read_books();
        let signer = self.signer(key.signer())?;
        let (name, role) = (signer.name().to_owned(), signer.role());
        let register = self.register().head().to_string();
        let decision = Decision::Signed { meaning, scope: scope.clone(), name, role, register };
        self.prove(key, at, &[decision])
    }

    /// Makes a decision that the person proves to be theirs. When this returns, it is on the disk, and
    /// in the ledger.
    ///
    /// # Errors
    /// As [`Desk::decide`], and when the key is not the signer's, its signature could not hold, or
    /// there is no ledger; and when it could not be entered in the ledger, in which case it stands in
    /// the journal ([`Error::NotInLedger`]).
    pub fn decide_signed(
        &mut self,
        key: &UnlockedKey,
        at: Stamp,
        decision: &Decision,
    ) -> Result<(), Error> {
        self.decide_all_signed(key, at, std::slice::from_ref(decision))
    }

    /// Makes decisions that the person proves to be theirs, as far as that is asked for, each in a line of
    /// its own, in one go: all of them, or none. When this returns, they are on the disk, and in the ledger.
    ///
    /// # Errors
    /// As [`Desk::decide_signed`] and [`Desk::decide_all`].
    pub fn decide_all_signed(
        &mut self,
        key: &UnlockedKey,
        at: Stamp,
        decisions: &[Decision],
    ) -> Result<(), Error> {
        self.read_books();
        self.prove(key, at, decisions)
    }

    /// See [`Desk::decide_signed`]. The books were just read: a signer may have been revoked since the
    /// record was opened, and what is alarming now keeps everything from being written.
    fn prove(&mut self, key: &UnlockedKey, at: Stamp, decisions: &[Decision]) -> Result<(), Error> {
        self.verify(at.instant());
        let by = key.signer();
        self.signer(by)?;
        let acts: Vec<Act> = decisions.iter().filter_map(|one| self.state.act(one)).collect();
        if acts.is_empty() {
            return self.decide_all(by, at, decisions);
        }
        for act in acts {
            let verdict = self.register().may_sign(key, act, at);
            if !verdict.holds() {
                return Err(Error::NotEntitled { by: by.clone(), why: verdict.to_string() });
            }
        }
        for decision in decisions.iter().filter(|_| self.changes.is_empty()) {
            let Decision::Signed { meaning, .. } = decision else { continue };
            if *meaning == Meaning::Approved {
                self.equipment_allows_approval()?;
            }
            self.no_open_hole()?;
            self.limits_are_approved(at.instant())?;
        }
        let path = LedgerFile::beside(&self.paths.register);
        let mut ledger = LedgerFile::open(&path, self.register())?;
        ledger.is_ready(at)?;
        let outcome = self.append(by, at, decisions, Some(&|bytes| key.sign(bytes)));
        if let Err(error) = outcome {
            self.verify(at.instant());
            return Err(error);
        }
        let entered = ledger.enter(&self.stood(), self.register(), key, at);
        self.read_books();
        self.verify(at.instant());
        entered.map_err(|cause| Error::NotInLedger { cause: Box::new(cause) })
    }

    /// How far the journal goes.
    fn stood(&self) -> Stood {
        let plant_file = self.state.subject().plant_file.as_ref();
        Stood {
            journal: self.books.name_of(&self.paths.journal),
            lines: self.journal.lines().len() as u64,
            head: self.journal.head().to_string(),
            plant_file: plant_file.map(|file| file.sha256.clone()),
        }
    }

    /// The person, if enrolled and not revoked.
    fn signer(&self, by: &SignerId) -> Result<&Signer, Error> {
        let refuse = |why: &str| Err(Error::NotEntitled { by: by.clone(), why: why.to_owned() });
        let register = match &self.books.register {
            Ok(register) => register,
            Err(_) if !self.paths.register.exists() => {
                return refuse("nobody is enrolled yet; set up the register of signers first");
            }
            Err(why) => return refuse(why),
        };
        match register.signer(by) {
            None => {
                refuse("not enrolled in the plant's register of signers; a supervisor can do it")
            }
            Some(signer) if signer.revoked().is_some() => {
                refuse("revoked in the plant's register of signers")
            }
            Some(signer) if signer.role() == Role::Operator => {
                refuse("an operator, who signs operators\u{2019} entries and reviews nothing")
            }
            Some(signer) => Ok(signer),
        }
    }

    fn append(
        &mut self,
        by: &SignerId,
        at: Stamp,
        decisions: &[Decision],
        sign: Option<Sign<'_>>,
    ) -> Result<(), Error> {
        let is_re_audit = |decision: &Decision| matches!(decision, Decision::ReAudited { .. });
        let why = self.verification.forbids();
        if !why.is_empty() {
            return Err(Error::NotReliedOn { why });
        }
        if !self.changes.is_empty() && !decisions.iter().all(is_re_audit) {
            return Err(Error::Changed { what: self.changes.clone() });
        }
        self.is_over(at)?;
        let are_signed = self.check(by, at, decisions, sign.is_some())?;
        self.take_hold()?;
        let entry = |body| Entry { at, by: by.to_string(), body };
        let mut entries = Vec::with_capacity(decisions.len() + 1);
        if self.journal.lines().is_empty() {
            let opened = Decision::Opened { subject: self.fresh.clone() };
            entries.push((entry(opened.body(None)), None));
        }
        let register = self.register().head().to_string();
        for (decision, is_signed) in decisions.iter().zip(are_signed) {
            let body = decision.body(Some(register.as_str()).filter(|_| is_signed));
            entries.push((entry(body), sign.filter(|_| is_signed)));
        }
        self.write(at, entries, decisions.len())?;
        if decisions.iter().any(is_re_audit) {
            self.changes = differences(self.state.subject(), &self.fresh);
        }
        Ok(())
    }

    /// Whether decisions break no rule one after the other; gives which of them must be signed.
    fn check(
        &self,
        by: &SignerId,
        at: Stamp,
        decisions: &[Decision],
        is_proved: bool,
    ) -> Result<Vec<bool>, Error> {
        let mut are_signed = Vec::with_capacity(decisions.len());
        // Each is made on what those before it have left.
        let mut ahead: Option<State> = None;
        for (place, decision) in decisions.iter().enumerate() {
            let state = ahead.as_ref().unwrap_or(&self.state);
            let allowed = wanted(decision).and_then(|()| state.allows(decision, by.as_str()));
            allowed.map_err(|why| among(state, decision, decisions.len(), why))?;
            let act = state.act(decision);
            if let Some(act) = act.filter(|_| !is_proved) {
                return Err(Error::NeedsKey { what: decision.in_words(), act });
            }
            are_signed.push(act.is_some());
            if place + 1 < decisions.len() {
                let mut next = ahead.take().unwrap_or_else(|| self.state.clone());
                let line = (self.journal.lines().len() + place) as u64 + 1;
                let (decision, mark) = (decision.clone(), Mark { by: by.to_string(), at, line });
                next.take_in(decision, mark, act, act.map(|_| Verdict::Holds))?;
                ahead = Some(next);
            }
        }
        Ok(are_signed)
    }

    /// Nobody can have looked through a record that is not over.
    fn is_over(&self, at: Stamp) -> Result<(), Error> {
        match self.fresh.end.parse::<Stamp>() {
            Ok(ends) if at.instant() < ends.instant() => Err(Error::Refused(Refusal(format!(
                "the record ends at {ends}, and this machine's clock says {at}; review it when it is \
                 over, or set the clock right"
            )))),
            _ => Ok(()),
        }
    }

    /// Writes lines, the last so many of which are decisions, and takes them in like anybody who reads them.
    fn write(
        &mut self,
        at: Stamp,
        entries: Vec<(Entry, Option<Sign<'_>>)>,
        decisions: usize,
    ) -> Result<(), Error> {
        let (before, opening) = (self.journal.lines().len(), entries.len() - decisions);
        match self.journal.append_all(entries) {
            Ok(()) => {
                for line in self.journal.lines().iter().skip(before) {
                    self.state.go_on(line, self.books.signers())?;
                }
                Ok(())
            }
            Err(journal::Error::MovedOn { .. }) => {
                self.reload(at.instant())?;
                Err(Error::MovedOn)
            }
            // What is there all the same is read, so that nobody makes it twice.
            Err(cause @ journal::Error::NotWritten { .. }) if self.reload(at.instant()).is_ok() => {
                let made = self.journal.lines().len().saturating_sub(before + opening);
                match made {
                    0 => Err(Error::Journal(cause)),
                    _ => Err(Error::Partly { made, of: decisions, cause: Box::new(cause) }),
                }
            }
            Err(error) => Err(Error::Journal(error)),
        }
    }

    /// Tells others that the record is being worked on, until the desk is dropped.
    ///
    /// # Errors
    /// When somebody else is at work, or the folder can't be written.
    pub fn take_hold(&mut self) -> Result<(), Error> {
        if self.hold.is_none() {
            let path = &self.paths.hold;
            let hold = AtWork::take(path, &self.holder)
                .map_err(|cause| Error::Hold { path: path.clone(), cause })?;
            self.hold = Some(hold.map_err(|by| Error::Held { by })?);
        }
        Ok(())
    }
}

/// Why one of several decisions can't be made, and so none of them.
fn among(state: &State, decision: &Decision, of: usize, why: Refusal) -> Refusal {
    let of_one = match decision {
        Decision::Settled(settlement) => state.item(&settlement.exception),
        _ => None,
    };
    match of_one.filter(|_| of > 1) {
        Some(item) => {
            let Refusal(why) = why;
            Refusal(format!("the exception at {}: {why}; none of the {of} was entered", item.start))
        }
        None => why,
    }
}

/// What this program asks for beside what every journal must hold.
fn wanted(decision: &Decision) -> Result<(), Refusal> {
    let (disposition, hold_tag) = match decision {
        Decision::Settled(one) => (&one.disposition, &one.hold_tag),
        Decision::SettledTogether(one) => (&one.disposition, &one.hold_tag),
        _ => return Ok(()),
    };
    match tag_wanted(disposition, hold_tag) {
        Some(wanted) => Err(Refusal(format!("required: {wanted}"))),
        None => Ok(()),
    }
}

/// What a desk has where there is no register.
static NO_REGISTER: LazyLock<Register> = LazyLock::new(Register::default);

fn replayed(journal: &Journal, books: &Books) -> Result<Option<State>, Error> {
    State::replay(journal.lines(), books.signers()).map_err(|(line, why)| Error::Broken {
        path: journal.path().to_owned(),
        line,
        why,
    })
}

fn verified(
    journal: &Journal,
    state: &State,
    (books, paths): (&Books, &Paths),
    (fresh, hole): (&Subject, Option<&HoleBefore>),
    now: Instant,
) -> Verification {
    let evidence = Evidence {
        lines: journal.lines(),
        fault: None,
        name: books.name_of(&paths.journal),
        books,
        fresh: Ok(fresh),
        hole,
        folder: paths.journal.parent(),
        now,
    };
    let state = (!journal.lines().is_empty()).then_some(state);
    verify_state(&evidence, state, None)
}
