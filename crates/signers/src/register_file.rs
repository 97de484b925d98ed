//! The register on disk, and its writing side: who enrols, changes roles, revokes and approves plant
//! files. Each change is entered in the ledger beside it as well.

use crate::change::{Change, Enrolment, Qualification, RULES};
use crate::equipment::{SealBroken, Sealed, Tested};
use crate::error::Error;
use crate::key::UnlockedKey;
use crate::ledger_file::LedgerFile;
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

    /// The register's file.
    pub fn path(&self) -> &Path {
        self.journal.path()
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
        let first = Change::Begun {
            rules: RULES,
            signer: key.signer().clone(),
            name: name.to_owned(),
            public_key: key.public_key(),
        };
        self.write(&first, key, at)?;
        // Nothing was signed by this register yet.
        let mut ledger = self.ledger()?;
        let stock = ("the register begins", Vec::new());
        let begun = if ledger.ledger().is_empty() {
            ledger.take_stock(stock, &self.register, key, at)
        } else {
            ledger.registered(&self.register, key, at)
        };
        begun.map_err(|cause| Error::NotInLedger { cause: Box::new(cause) })
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

    /// Approves a plant file by the SHA-256 of its bytes, hexadecimal: records audited with it count
    /// from now on. Where there are two supervisors, another one agrees with
    /// [`RegisterFile::second`].
    ///
    /// # Errors
    /// When `by` is no supervisor, it is approved already, or the register can't be written.
    pub fn approve_plant_file(
        &mut self,
        name: &str,
        sha256: &str,
        by: &UnlockedKey,
        at: Stamp,
    ) -> Result<(), Error> {
        let (name, sha256) = (name.to_owned(), sha256.to_owned());
        self.enter(&Change::PlantFileApproved { name, sha256 }, by, at)
    }

    /// Withdraws the approval of a plant file: records audited with it from now on don't count.
    ///
    /// # Errors
    /// When `by` is no supervisor, it is not approved, no reason is given, or the register can't be
    /// written.
    pub fn withdraw_plant_file(
        &mut self,
        sha256: &str,
        reason: &str,
        by: &UnlockedKey,
        at: Stamp,
    ) -> Result<(), Error> {
        let (sha256, reason) = (sha256.to_owned(), reason.to_owned());
        self.enter(&Change::PlantFileWithdrawn { sha256, reason }, by, at)
    }

    /// Enters a test of the equipment that was made.
    ///
    /// # Errors
    /// When `by` is no supervisor, something is blank, a holding time test does not say its flow, or the register
    /// can't be written.
    pub fn tested(&mut self, tested: Tested, by: &UnlockedKey, at: Stamp) -> Result<(), Error> {
        // Those that an older program entered count as they are.
        tested.check().map_err(|why| Error::Refused { why })?;
        self.enter(&Change::Tested(tested), by, at)
    }

    /// Enters a seal that was applied.
    ///
    /// # Errors
    /// As [`RegisterFile::tested`], and when a seal of that number was entered before.
    pub fn sealed(&mut self, sealed: Sealed, by: &UnlockedKey, at: Stamp) -> Result<(), Error> {
        self.enter(&Change::Sealed(sealed), by, at)
    }

    /// Enters a seal that was broken.
    ///
    /// # Errors
    /// As [`RegisterFile::tested`], and when there is no such seal, or it is broken already.
    pub fn seal_broken(
        &mut self,
        broken: SealBroken,
        by: &UnlockedKey,
        at: Stamp,
    ) -> Result<(), Error> {
        self.enter(&Change::SealBroken(broken), by, at)
    }

    /// Enters what a signer is qualified for.
    ///
    /// # Errors
    /// As [`RegisterFile::tested`], and when nobody of that identifier is enrolled.
    pub fn qualified(
        &mut self,
        qualification: Qualification,
        by: &UnlockedKey,
        at: Stamp,
    ) -> Result<(), Error> {
        self.enter(&Change::Qualified(qualification), by, at)
    }

    /// Agrees to what another supervisor entered in a line; it takes effect now.
    ///
    /// # Errors
    /// When `by` is no other supervisor, the line does not wait for one, or the register can't be
    /// written.
    pub fn second(&mut self, line: u64, by: &UnlockedKey, at: Stamp) -> Result<(), Error> {
        self.enter(&Change::Seconded { line }, by, at)
    }

    /// Lets a supervisor say that a clock ran ahead: this one line may be dated before those above it.
    ///
    /// # Errors
    /// When `by` is no supervisor, no reason is given, or the register can't be written.
    pub fn correct_clock(
        &mut self,
        reason: &str,
        by: &UnlockedKey,
        at: Stamp,
    ) -> Result<(), Error> {
        self.write(&Change::ClockCorrected { reason: reason.to_owned() }, by, at)?;
        // The same clock may have dated the ledger.
        self.in_ledger(|ledger, register| match ledger.is_ready(at) {
            Err(Error::Journal(_)) => ledger.correct_clock(reason, register, by, at),
            _ => ledger.registered(register, by, at),
        })
    }

    /// Whether the last change waits for another supervisor.
    pub fn waits(&self) -> bool {
        self.register.pending().last().is_some_and(|last| last.line == self.register.len())
    }

    fn ledger(&self) -> Result<LedgerFile, Error> {
        let path = self.journal.path();
        let opened = LedgerFile::open(&LedgerFile::beside(path), &self.register);
        // A ledger that knows a longer register tells that somebody was faster.
        if let Err(Error::LedgerViolated { .. }) = &opened
            && Journal::open(path)?.0.head() != self.journal.head()
        {
            return Err(Error::Journal(journal::Error::MovedOn { path: path.to_owned() }));
        }
        opened
    }

    /// Enters a change, and that it was made.
    fn enter(&mut self, change: &Change, by: &UnlockedKey, at: Stamp) -> Result<(), Error> {
        // What can't be entered in the ledger afterwards is better not begun.
        let ledger = self.ledger()?;
        if !ledger.ledger().is_empty() {
            ledger.is_ready(at)?;
        }
        // A register of older rules follows these from the first line on that this program adds.
        if self.register.rules() < RULES && !self.register.is_empty() {
            self.register.admit(by.signer(), change).map_err(|why| Error::Refused { why })?;
            self.write(&Change::RulesChanged { rules: RULES }, by, at)?;
        }
        self.write(change, by, at)?;
        self.in_ledger(|ledger, register| ledger.registered(register, by, at))
    }

    /// An old register without a ledger is changed without: stock is taken later.
    fn in_ledger(
        &self,
        enter: impl FnOnce(&mut LedgerFile, &Register) -> Result<(), Error>,
    ) -> Result<(), Error> {
        let enter = || {
            let mut ledger = self.ledger()?;
            if ledger.ledger().is_empty() {
                return Ok(());
            }
            enter(&mut ledger, &self.register)
        };
        enter().map_err(|cause| Error::NotInLedger { cause: Box::new(cause) })
    }

    fn write(&mut self, change: &Change, by: &UnlockedKey, at: Stamp) -> Result<(), Error> {
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
