//! What the screen shows of a review: all that is drawn from, copied off the thread that draws
//! whenever something was entered. So a frame never waits for the journal, and while an entry is being
//! written the review is shown as it was.

use ::review::{
    Books, Desk, EntriesSigned, HoleBefore, Kind, PlantSource, Stage, State, Verification,
    limits_approved,
};
use journal::Digest;
use signers::{LedgerFile, Register};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use trace::Instant;

/// A review as it was when something was entered last.
pub struct Seen {
    /// Where it stands.
    pub state: State,
    /// The register of signers and the ledger.
    pub books: Books,
    /// Whether it can be relied on, link by link.
    pub verification: Verification,
    /// Why nothing may be added to it, in sentences.
    pub forbids: Vec<String>,
    /// How far it is.
    pub stage: Stage,
    /// What differs between the record that was reviewed and the files now, in sentences.
    pub changes: Vec<String>,
    /// The hole before the record that is to be closed, closed or not.
    pub hole: Option<HoleBefore>,
    /// Whether the limits count that the record is audited with.
    pub limits: Limits,
    /// The plant file in use, where no supervisor has approved it.
    pub unapproved_file: Option<PlantSource>,
    /// Who signed the operators' entries.
    pub entries_signed: EntriesSigned,
    /// The lines that must be signed and whose signature does not hold.
    pub failing: BTreeSet<u64>,
    /// How many lines the journal has.
    pub lines: usize,
    /// The digest of the last of them.
    pub head: Digest,
    /// Where the register of signers lies, or should.
    pub register_path: PathBuf,
    /// Whether there is a file of that name.
    pub has_register: bool,
    /// Whether there is a ledger beside it.
    pub has_ledger: bool,
}

/// Whether the limits count that a record is audited with.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Limits {
    /// They do, or the plant was assumed.
    Approved,
    /// There is no register of signers to say so.
    NoSigners,
    /// They don't.
    NotApproved {
        /// Why, in a sentence.
        found: String,
        /// What is to be done about it.
        next: Next,
    },
}

/// What makes limits count.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Next {
    /// A supervisor approves them.
    Approve,
    /// Another supervisor agrees.
    Agree,
    /// They are approved since: the audit is entered again.
    ReAudit,
    /// The approved plant file is used: the record was read without any.
    PlantFile,
}

impl Seen {
    /// What there is to show of a desk at a time.
    pub fn of(desk: &Desk, now: Instant) -> Self {
        let limits = limits(desk, now);
        let register_path = desk.register_path().to_owned();
        Self {
            state: desk.state().clone(),
            books: desk.books().clone(),
            verification: desk.verification().clone(),
            forbids: desk.verification().forbids(),
            stage: desk.stage(),
            changes: desk.changes().to_vec(),
            hole: desk.hole().cloned(),
            unapproved_file: match &limits {
                Limits::NotApproved { next: Next::Approve, .. } => desk.fresh().plant_file.clone(),
                _ => None,
            },
            limits,
            entries_signed: desk.entries_signed(),
            failing: desk.state().failing().map(|proof| proof.mark.line).collect(),
            lines: desk.lines().len(),
            head: desk.head(),
            has_register: is_there(&register_path),
            has_ledger: is_there(&LedgerFile::beside(&register_path)),
            register_path,
        }
    }

    /// Who may sign; none where the register is not there or can't be relied on.
    pub fn register(&self) -> Option<&Register> {
        self.books.signers()
    }

    /// Whether the register of signers was taken away from what needs it.
    pub const fn register_is_gone(&self) -> bool {
        !self.has_register && (self.lines > 0 || self.has_ledger)
    }

    /// Whether a supervisor is to take stock: there is a register, and no ledger beside it.
    pub const fn lacks_ledger(&self) -> bool {
        self.books.register.is_ok() && matches!(&self.books.ledger, Ok(None))
    }
}

/// Whether something of that name is there, be it only a link.
fn is_there(path: &Path) -> bool {
    path.symlink_metadata().is_ok()
}

/// What the review says of the limits, and what makes them count.
fn limits(desk: &Desk, now: Instant) -> Limits {
    let file = desk.fresh().plant_file.as_ref();
    let Some(register) = desk.books().signers() else {
        return if file.is_some() { Limits::NoSigners } else { Limits::Approved };
    };
    if let Some((false, found)) = limits_approved(register, desk.fresh(), now) {
        let waits = |file: &PlantSource| {
            register.pending().iter().any(|one| one.plant_file() == Some(&file.sha256))
        };
        let next = match file {
            None => Next::PlantFile,
            Some(file) if waits(file) => Next::Agree,
            Some(_) => Next::Approve,
        };
        return Limits::NotApproved { found, next };
    }
    let mut links = desk.verification().links.iter();
    match links.find(|link| link.kind == Kind::Approval && !link.holds) {
        Some(link) => Limits::NotApproved { found: link.found.clone(), next: Next::ReAudit },
        None => Limits::Approved,
    }
}
