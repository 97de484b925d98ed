//! The plant's books, read for checking: the register of signers and the ledger beside it. Nothing is
//! written.

use crate::ledger::Ledger;
use crate::ledger_file::LedgerFile;
use crate::person::Role;
use crate::register::Register;
use journal::{Digest, Fault, Line};
use serde::Serialize;
use std::ffi::OsStr;
use std::path::{Path, PathBuf};

/// The register and the ledger of a plant.
#[derive(Debug, Clone, PartialEq)]
pub struct Books {
    /// The register's file.
    pub path: PathBuf,
    /// Who may sign; a sentence where there is no register that can be relied on.
    pub register: Result<Register, String>,
    /// What was signed; `None` where nobody has taken stock yet, a sentence where the ledger can't be
    /// relied on.
    pub ledger: Result<Option<Ledger>, String>,
    /// Why the books are not those that this user has seen before, in sentences.
    pub alarms: Vec<String>,
    /// Last lines that were cut short, in sentences: everything above them is there.
    pub torn: Vec<String>,
}

impl Books {
    /// Reads the register at `path` and the ledger beside it.
    pub fn read(path: &Path) -> Self {
        let mut torn = Vec::new();
        let register = read_register(path, &mut torn);
        let ledger = match &register {
            Ok(register) => read_ledger(&LedgerFile::beside(path), register, &mut torn),
            Err(_) => Err("without the register of signers the ledger can't be checked".to_owned()),
        };
        Self { path: path.to_owned(), register, ledger, alarms: Vec::new(), torn }
    }

    /// The books of a plant that has no register, or none that can be told.
    pub fn none(why: &str) -> Self {
        Self {
            path: PathBuf::new(),
            register: Err(why.to_owned()),
            ledger: Err(why.to_owned()),
            alarms: Vec::new(),
            torn: Vec::new(),
        }
    }

    /// The register; none where it can't be relied on.
    pub fn signers(&self) -> Option<&Register> {
        self.register.as_ref().ok()
    }

    /// The ledger; none where there is none, or it can't be relied on.
    pub fn known_ledger(&self) -> Option<&Ledger> {
        self.ledger.as_ref().ok().and_then(Option::as_ref)
    }

    /// By what the books are named in a journal's entry in the ledger: the journal's file, from the
    /// folder of the books on.
    pub fn name_of(&self, journal: &Path) -> String {
        name_of(&self.path, journal)
    }
}

/// By what the books are told from others: what paper and screen print of them.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Imprint {
    /// The register's file, without its folder.
    pub register: String,
    /// How many lines the register has.
    pub register_lines: u64,
    /// The digest of its last line, hexadecimal.
    pub register_head: String,
    /// How many lines the ledger has; 0 where there is none.
    pub ledger_lines: u64,
    /// The digest of its last line, hexadecimal; zeros where there is none.
    pub ledger_head: String,
    /// Everybody in the register, the first supervisor first.
    pub signers: Vec<Known>,
}

/// Somebody in the register.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Known {
    /// The identifier.
    pub signer: String,
    /// The printed name.
    pub name: String,
    /// The role now.
    pub role: Role,
    /// The key's fingerprint.
    pub fingerprint: String,
    /// Whether they may sign no longer.
    pub is_revoked: bool,
    /// What they are qualified for, with the date; left out of JSON where nobody said.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub qualifications: Vec<String>,
}

impl Books {
    /// By what the books are told from others; `None` where no register can be relied on.
    pub fn imprint(&self) -> Option<Imprint> {
        let register = self.signers()?;
        let ledger = self.known_ledger();
        let file = self.path.file_name().map(|name| name.to_string_lossy().into_owned());
        let signers = register.signers().iter().map(|signer| Known {
            signer: signer.id().to_string(),
            name: signer.name().to_owned(),
            role: signer.role(),
            fingerprint: signer.public_key().fingerprint(),
            is_revoked: signer.revoked().is_some(),
            qualifications: signer
                .qualifications()
                .iter()
                .map(|one| format!("{}, {}", one.qualification, one.on))
                .collect(),
        });
        Some(Imprint {
            register: file.unwrap_or_default(),
            register_lines: register.len(),
            register_head: register.head().to_string(),
            ledger_lines: ledger.map_or(0, Ledger::len),
            ledger_head: ledger.map_or(Digest::NONE, Ledger::head).to_string(),
            signers: signers.collect(),
        })
    }
}

/// A journal's file from the folder of a register on, with `/` between folders.
pub(crate) fn name_of(register: &Path, journal: &Path) -> String {
    let whole = |path: &Path| path.canonicalize().or_else(|_| std::path::absolute(path)).ok();
    let folder = register.parent().filter(|folder| !folder.as_os_str().is_empty());
    let folder = whole(folder.unwrap_or_else(|| Path::new(".")));
    // The journal itself may not be there yet, its folder is.
    let of = journal.parent().filter(|folder| !folder.as_os_str().is_empty());
    let of = whole(of.unwrap_or_else(|| Path::new(".")));
    let within = match (folder, of) {
        (Some(folder), Some(of)) => from_to(&folder, &of),
        _ => PathBuf::new(),
    };
    let parts = within.iter().chain(journal.file_name());
    parts.map(|part| part.to_string_lossy()).collect::<Vec<_>>().join("/")
}

/// The way from one folder to another, up with `..` where it must be.
fn from_to(from: &Path, to: &Path) -> PathBuf {
    let common = from.iter().zip(to.iter()).take_while(|(one, other)| one == other).count();
    let up = from.iter().skip(common).map(|_| OsStr::new(".."));
    up.chain(to.iter().skip(common)).collect()
}

/// The lines of a file of the books. A last line that was cut short is told: it never counted.
fn lines(path: &Path, torn: &mut Vec<String>) -> Result<Vec<Line>, String> {
    let reading = journal::read(path).map_err(|error| error.to_string())?;
    let named = |fault: &Fault| format!("{}: {fault}", path.display());
    match &reading.fault {
        Some(fault @ Fault::Torn { .. }) => torn.push(named(fault)),
        Some(fault) => return Err(named(fault)),
        None => {}
    }
    Ok(reading.lines)
}

fn read_register(path: &Path, torn: &mut Vec<String>) -> Result<Register, String> {
    let lines = lines(path, torn)?;
    if lines.is_empty() {
        return Err(format!("{}: there is no register of signers", path.display()));
    }
    Register::replay(&lines).map_err(|violation| format!("{}: {violation}", path.display()))
}

fn read_ledger(
    path: &Path,
    register: &Register,
    torn: &mut Vec<String>,
) -> Result<Option<Ledger>, String> {
    let ledger = Ledger::replay(&lines(path, torn)?, register)
        .map_err(|violation| format!("{}: {}", path.display(), violation.of("ledger")))?;
    Ok((!ledger.is_empty()).then_some(ledger))
}
