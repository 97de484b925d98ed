//! The register on disk, and its writing side: who enrols, changes roles and revokes.

use crate::change::{Change, Enrolment};
use crate::error::Error;
use crate::key::UnlockedKey;
use crate::person::{Role, SignerId};
use crate::register::Register;
use journal::{Entry, Journal, Stamp, Torn};
use std::path::Path;

/// `signers.jsonl`, opened for writing.
#[derive(Debug)]
pub struct RegisterFile {
    journal: Journal,
    register: Register,
}

impl RegisterFile {
    /// Opens the register at `path` and writes nothing; a file that is not there is an empty register
    /// and is made with the first line. A torn last line is told; the next entry moves it to a file of
    /// its own.
    ///
    /// # Errors
    /// When the file can't be read, or a line breaks the chain or a rule of the register.
    pub fn open(path: &Path) -> Result<(Self, Option<Torn>), Error> {
        let (journal, torn) = Journal::open(path)?;
        let register = Register::replay(journal.lines())
            .map_err(|violation| Error::Violated { path: path.to_owned(), violation })?;
        Ok((Self { journal, register }, torn))
    }

    /// Where an entry has put a torn line that was there when the register was opened.
    pub fn aside(&self) -> Option<&Path> {
        self.journal.aside()
    }

    /// What the register says.
    pub const fn register(&self) -> &Register {
        &self.register
    }

    /// Begins the register with its first supervisor, who enrols themselves.
    ///
    /// # Errors
    /// When the register has begun already, or can't be written; then nothing was entered.
    pub fn found(&mut self, name: &str, key: &UnlockedKey, at: Stamp) -> Result<(), Error> {
        if !self.register.signers().is_empty() {
            let why =
                "the register has its first supervisor already; ask a supervisor to enrol you";
            return Err(Error::Refused { why: why.to_owned() });
        }
        let first = Enrolment {
            signer: key.signer().clone(),
            name: name.to_owned(),
            role: Role::Supervisor,
            public_key: key.public_key(),
        };
        self.enter(&Change::Enrolled(first), key, at)
    }

    /// Enrols a signer.
    ///
    /// # Errors
    /// When `by` is no supervisor, the identifier or the key was enrolled before, or the register
    /// can't be written; then nothing was entered.
    pub fn enrol(
        &mut self,
        enrolment: Enrolment,
        by: &UnlockedKey,
        at: Stamp,
    ) -> Result<(), Error> {
        self.enter(&Change::Enrolled(enrolment), by, at)
    }

    /// Gives a signer another role.
    ///
    /// # Errors
    /// When `by` is no supervisor, the signer is not enrolled or the last supervisor, or the
    /// register can't be written; then nothing was entered.
    pub fn change_role(
        &mut self,
        signer: &SignerId,
        role: Role,
        by: &UnlockedKey,
        at: Stamp,
    ) -> Result<(), Error> {
        self.enter(&Change::RoleChanged { signer: signer.clone(), role }, by, at)
    }

    /// Revokes a signer: later signatures fail, earlier ones hold.
    ///
    /// # Errors
    /// When `by` is no supervisor, the signer is not enrolled or the last supervisor, no reason is
    /// given, or the register can't be written; then nothing was entered.
    pub fn revoke(
        &mut self,
        signer: &SignerId,
        reason: &str,
        by: &UnlockedKey,
        at: Stamp,
    ) -> Result<(), Error> {
        let change = Change::Revoked { signer: signer.clone(), reason: reason.to_owned() };
        self.enter(&change, by, at)
    }

    fn enter(&mut self, change: &Change, by: &UnlockedKey, at: Stamp) -> Result<(), Error> {
        let key = self.register.admit(by.signer(), change).map_err(|why| Error::Refused { why })?;
        if key != by.public_key() {
            let why = format!(
                "the key of {} on this machine is not the one in the register",
                by.signer()
            );
            return Err(Error::Refused { why });
        }
        let entry = Entry { at, by: by.signer().to_string(), body: change.to_body() };
        let line = self.journal.append(entry, Some(&|bytes| by.sign(bytes)))?;
        self.register.enter(line).map_err(|violation| Error::Violated {
            path: self.journal.path().to_owned(),
            violation,
        })
    }
}
