//! A review opened for work. Every decision is checked against the rules and the register, then
//! appended and synced; only then the state changes.

use crate::decision::{Decision, Scope};
use crate::error::Error;
use crate::hold::{Hold, Holder};
use crate::hole::HoleBefore;
use crate::paths::Paths;
use crate::state::{Mark, Refusal, State};
use crate::subject::Subject;
use crate::verify::differences;
use journal::{Digest, Entry, Journal, Line, Sign, Stamp, Torn};
use signers::{Meaning, Register, RegisterFile, Role, Signer, SignerId, UnlockedKey};
use std::path::Path;

/// The review of one record, with its journal open.
#[derive(Debug)]
pub struct Desk {
    paths: Paths,
    journal: Journal,
    state: State,
    register: Register,
    /// What the files say now.
    fresh: Subject,
    /// What differs between the record that was reviewed and the files now. The window asks for it
    /// several times a frame, so it is worked out when the state changes.
    changes: Vec<String>,
    /// The hole before the record that is to be closed.
    before: Option<HoleBefore>,
    holder: Holder,
    hold: Option<Hold>,
}

impl Desk {
    /// Opens the review of a record that was read and audited as `fresh`. Nothing is written until
    /// the first decision; torn last lines of journal and register are told. `holder` tells others
    /// who is at work.
    ///
    /// # Errors
    /// When journal or register can't be read, are damaged or break a rule.
    pub fn open(paths: Paths, fresh: Subject, holder: Holder) -> Result<(Self, Vec<Torn>), Error> {
        let (journal, torn) = Journal::open(&paths.journal).map_err(Error::Journal)?;
        let (register, of_register) =
            RegisterFile::open(&paths.register).map_err(Error::Signers)?;
        let register = register.register().clone();
        let state = replayed(&journal)?.unwrap_or_else(|| State::of(fresh.clone()));
        let changes = differences(state.subject(), &fresh);
        let before = None;
        let desk =
            Self { paths, journal, state, register, fresh, changes, before, holder, hold: None };
        Ok((desk, torn.into_iter().chain(of_register).collect()))
    }

    /// Tells the desk of the hole before the record that whoever went through the folder found; a
    /// record alone does not know it. Until it is closed nothing can be signed.
    pub fn comes_after(&mut self, hole: Option<HoleBefore>) {
        self.before = hole;
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
            Meaning::Approved => self.state.can_be_approved(scope, by.as_str())?,
        }
        self.no_open_hole()
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

    /// Who may sign.
    pub const fn register(&self) -> &Register {
        &self.register
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

    /// Reads journal and register again, to see what others did.
    ///
    /// # Errors
    /// As when opening.
    pub fn reload(&mut self) -> Result<(), Error> {
        let (journal, _torn) = Journal::open(&self.paths.journal).map_err(Error::Journal)?;
        let state = replayed(&journal)?.unwrap_or_else(|| State::of(self.fresh.clone()));
        let (register, _torn) = RegisterFile::open(&self.paths.register).map_err(Error::Signers)?;
        self.register = register.register().clone();
        self.journal = journal;
        self.changes = differences(state.subject(), &self.fresh);
        self.state = state;
        Ok(())
    }

    /// Makes a decision. When this returns, it is on the disk.
    ///
    /// # Errors
    /// When it breaks a rule, the person may not make it, the record has changed, somebody else is
    /// at work or was faster, or the disk refuses.
    pub fn decide(&mut self, by: &SignerId, at: Stamp, decision: &Decision) -> Result<(), Error> {
        let role = self.signer(by)?.role();
        match decision {
            Decision::Signed { .. } => {
                return Err(Error::Refused(Refusal("a signature needs a key".to_owned())));
            }
            Decision::SentBack { .. } if role != Role::Supervisor => {
                let why = "only a supervisor returns an exception with a comment".to_owned();
                return Err(Error::NotEntitled { by: by.clone(), why });
            }
            _ => {}
        }
        self.append(by, at, decision, None)
    }

    /// Enters the new audit of a record or plant file that has changed.
    ///
    /// # Errors
    /// As [`Desk::decide`].
    pub fn re_audit(&mut self, by: &SignerId, at: Stamp) -> Result<(), Error> {
        let decision = Decision::ReAudited { subject: self.fresh.clone() };
        self.decide(by, at, &decision)
    }

    /// Signs. When this returns, the signature is on the disk.
    ///
    /// # Errors
    /// As [`Desk::decide`], and when the key is not the signer's or its signature could not hold.
    pub fn sign(
        &mut self,
        key: &UnlockedKey,
        at: Stamp,
        meaning: Meaning,
        scope: &Scope,
    ) -> Result<(), Error> {
        // A signer may have been revoked since the record was opened.
        let (register, _torn) = RegisterFile::open(&self.paths.register).map_err(Error::Signers)?;
        self.register = register.register().clone();
        let signer = self.signer(key.signer())?;
        let (name, role) = (signer.name().to_owned(), signer.role());
        let verdict = self.register.may_sign(key, meaning, at);
        if !verdict.holds() {
            return Err(Error::NotEntitled { by: key.signer().clone(), why: verdict.to_string() });
        }
        if self.changes.is_empty() {
            self.no_open_hole().map_err(Error::Refused)?;
        }
        let decision = Decision::Signed {
            meaning,
            scope: scope.clone(),
            name,
            role,
            register: self.register.head().to_string(),
        };
        self.append(key.signer(), at, &decision, Some(&|bytes| key.sign(bytes)))
    }

    /// The person, if enrolled and not revoked.
    fn signer(&self, by: &SignerId) -> Result<&Signer, Error> {
        let refuse = |why: &str| Err(Error::NotEntitled { by: by.clone(), why: why.to_owned() });
        match self.register.signer(by) {
            None if self.register.signers().is_empty() => {
                refuse("nobody is enrolled yet; set up the register of signers first")
            }
            None => {
                refuse("not enrolled in the plant's register of signers; a supervisor can do it")
            }
            Some(signer) if signer.revoked().is_some() => {
                refuse("revoked in the plant's register of signers")
            }
            Some(signer) => Ok(signer),
        }
    }

    fn append(
        &mut self,
        by: &SignerId,
        at: Stamp,
        decision: &Decision,
        sign: Option<Sign<'_>>,
    ) -> Result<(), Error> {
        let is_re_audit = matches!(decision, Decision::ReAudited { .. });
        if !is_re_audit && !self.changes.is_empty() {
            return Err(Error::Changed { what: self.changes.clone() });
        }
        self.state.allows(decision, by.as_str()).map_err(Error::Refused)?;
        self.take_hold()?;
        if self.journal.lines().is_empty() {
            let opened = Decision::Opened { subject: self.fresh.clone() };
            self.write(by, at, &opened, None)?;
        }
        let line = self.write(by, at, decision, sign)?;
        let mark = Mark { by: by.to_string(), at, line };
        self.state.decide(decision.clone(), mark).map_err(Error::Refused)?;
        if is_re_audit {
            self.changes = differences(self.state.subject(), &self.fresh);
        }
        Ok(())
    }

    fn write(
        &mut self,
        by: &SignerId,
        at: Stamp,
        decision: &Decision,
        sign: Option<Sign<'_>>,
    ) -> Result<u64, Error> {
        let entry = Entry { at, by: by.to_string(), body: decision.body() };
        match self.journal.append(entry, sign) {
            Ok(line) => Ok(line.sequence()),
            Err(journal::Error::MovedOn { .. }) => {
                self.reload()?;
                Err(Error::MovedOn)
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
            let hold = Hold::take(path, &self.holder)
                .map_err(|cause| Error::Hold { path: path.clone(), cause })?;
            self.hold = Some(hold.map_err(|by| Error::Held { by })?);
        }
        Ok(())
    }
}

fn replayed(journal: &Journal) -> Result<Option<State>, Error> {
    State::replay(journal.lines()).map_err(|(line, why)| Error::Broken {
        path: journal.path().to_owned(),
        line,
        why,
    })
}
