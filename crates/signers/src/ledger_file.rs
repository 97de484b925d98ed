//! The ledger on disk, and its writing side.

use crate::error::Error;
use crate::key::UnlockedKey;
use crate::ledger::{Entries, Ledger, Posting, Stood};
use crate::register::Register;
use journal::{Digest, Entry, Journal, Stamp};
use std::path::{Path, PathBuf};

/// How often an entry is tried again when somebody else was faster: they sign other records.
const TRIES: usize = 20;

/// The name of the ledger, beside the register.
const NAME: &str = "ledger.jsonl";

/// `ledger.jsonl`, opened for writing.
#[derive(Debug)]
pub struct LedgerFile {
    path: PathBuf,
    journal: Journal,
    ledger: Ledger,
}

impl LedgerFile {
    /// The ledger that lies beside a register.
    pub fn beside(register: &Path) -> PathBuf {
        register.with_file_name(NAME)
    }

    /// Opens the ledger at `path`; a file that is not there is an empty ledger and is made when stock
    /// is taken.
    ///
    /// # Errors
    /// When the file can't be read, or a line breaks the chain or a rule of the ledger.
    pub fn open(path: &Path, register: &Register) -> Result<Self, Error> {
        let (journal, _torn) = Journal::open(path)?;
        let ledger = Ledger::replay(journal.lines(), register)
            .map_err(|violation| Error::LedgerViolated { path: path.to_owned(), violation })?;
        Ok(Self { path: path.to_owned(), journal, ledger })
    }

    /// What it says.
    pub const fn ledger(&self) -> &Ledger {
        &self.ledger
    }

    /// Whether an entry could be made at `at`.
    ///
    /// # Errors
    /// When the clock is behind the last entry, or nobody has taken stock yet.
    pub fn is_ready(&self, at: Stamp) -> Result<(), Error> {
        if self.ledger.is_empty() {
            return Err(Error::NoLedger { path: self.path.clone() });
        }
        Ok(self.journal.check_clock(at)?)
    }

    /// Takes stock: a supervisor accepts the journals as they stand. The first line of a ledger.
    ///
    /// # Errors
    /// When `by` is no supervisor, the reason is blank, or the ledger can't be written.
    pub fn take_stock(
        &mut self,
        (reason, journals): (&str, Vec<Stood>),
        register: &Register,
        by: &UnlockedKey,
        at: Stamp,
    ) -> Result<(), Error> {
        let reason = given(reason, "taking stock")?;
        self.post(register, by, at, |register, register_lines| Posting::StockTaken {
            reason: reason.clone(),
            journals: journals.clone(),
            register,
            register_lines,
        })
    }

    /// Enters how far a journal went when it was signed in.
    ///
    /// # Errors
    /// When nobody has taken stock yet, or the ledger can't be written.
    pub fn enter(
        &mut self,
        journal: &Stood,
        register: &Register,
        by: &UnlockedKey,
        at: Stamp,
    ) -> Result<(), Error> {
        self.is_ready(at)?;
        self.post(register, by, at, |register, register_lines| Posting::Entered {
            journal: journal.clone(),
            register,
            register_lines,
        })
    }

    /// Enters that operators' entries are signed.
    ///
    /// # Errors
    /// As [`LedgerFile::enter`].
    pub fn sign_entries(
        &mut self,
        entries: &Entries,
        register: &Register,
        by: &UnlockedKey,
        at: Stamp,
    ) -> Result<(), Error> {
        self.is_ready(at)?;
        let digest = entries.sha256.parse::<Digest>();
        digest.map_err(|cause| Error::Refused { why: cause.to_string() })?;
        self.post(register, by, at, |register, register_lines| Posting::EntriesSigned {
            entries: entries.clone(),
            register,
            register_lines,
        })
    }

    /// Enters that the register was changed.
    ///
    /// # Errors
    /// As [`LedgerFile::enter`].
    pub(crate) fn registered(
        &mut self,
        register: &Register,
        by: &UnlockedKey,
        at: Stamp,
    ) -> Result<(), Error> {
        self.post(register, by, at, |register, register_lines| Posting::Registered {
            register,
            register_lines,
        })
    }

    /// Lets a supervisor say that a clock ran ahead: this one line may be dated before those above it.
    ///
    /// # Errors
    /// As [`LedgerFile::enter`].
    pub fn correct_clock(
        &mut self,
        reason: &str,
        register: &Register,
        by: &UnlockedKey,
        at: Stamp,
    ) -> Result<(), Error> {
        let reason = given(reason, "a correction of the clock")?;
        self.post(register, by, at, |register, register_lines| Posting::ClockCorrected {
            reason: reason.clone(),
            register,
            register_lines,
        })
    }

    fn post(
        &mut self,
        register: &Register,
        by: &UnlockedKey,
        at: Stamp,
        posting: impl Fn(String, u64) -> Posting,
    ) -> Result<(), Error> {
        let posting = posting(register.head().to_string(), register.len());
        let verdict = register.may_sign(by, posting.act(), at);
        let is_author = matches!(posting, Posting::Registered { .. }) && {
            let signed = (&b"the line before"[..], &by.sign(b"the line before"));
            register.is_author(by.signer(), register.len(), signed)
        };
        if !is_author && !verdict.holds() {
            return Err(Error::Refused { why: format!("{}: {verdict}", by.signer()) });
        }
        for _ in 0..TRIES {
            let entry = Entry { at, by: by.signer().to_string(), body: posting.to_body() };
            match self.journal.append(entry, Some(&|bytes| by.sign(bytes))) {
                Ok(line) => {
                    return self.ledger.append(line, register).map_err(|violation| {
                        Error::LedgerViolated { path: self.path.clone(), violation }
                    });
                }
                Err(journal::Error::MovedOn { .. }) => *self = Self::open(&self.path, register)?,
                Err(cause) => return Err(cause.into()),
            }
        }
        Err(Error::Journal(journal::Error::MovedOn { path: self.path.clone() }))
    }
}

/// The reason, if one was given.
fn given(reason: &str, what: &str) -> Result<String, Error> {
    if reason.trim().is_empty() {
        return Err(Error::Refused { why: format!("{what} needs a reason") });
    }
    Ok(reason.to_owned())
}
