//! The one error of this crate.

use crate::passphrase::Passphrase;
use crate::person::SignerId;
use crate::register::Violation;
use disk::LockError;
use std::fmt;
use std::io;
use std::path::PathBuf;
use trace::Duration;

/// Why a key can't be made or unlocked, or the register not be read or written.
#[derive(Debug)]
pub enum Error {
    /// A text is not the identifier of a signer.
    NotAnIdentifier {
        /// The text.
        text: String,
    },
    /// A passphrase for a new key is too short.
    ShortPassphrase {
        /// How many characters it has.
        characters: usize,
    },
    /// A passphrase that is tried among the first is not taken for a new key.
    CommonPassphrase {
        /// What it does: the end of a sentence.
        why: &'static str,
    },
    /// A key, or the folder of the keys, is open to others than its owner.
    Loose {
        /// The file or folder.
        path: PathBuf,
        /// Its permissions.
        mode: u32,
        /// What they should be.
        right: u32,
    },
    /// There is no key for the signer on this machine.
    NoKey {
        /// The signer.
        signer: SignerId,
        /// Where it should be.
        path: PathBuf,
    },
    /// The signer has a key already.
    KeyExists {
        /// Where it is.
        path: PathBuf,
    },
    /// The file is not a key as this crate writes it.
    KeyDamaged {
        /// The file.
        path: PathBuf,
        /// What is wrong with it.
        what: String,
    },
    /// The count of wrong passphrases can't be understood.
    TriesDamaged {
        /// The file that holds it.
        path: PathBuf,
    },
    /// After a wrong passphrase the next try comes too soon; the passphrase was not tried.
    TooSoon {
        /// How long to wait.
        wait: Duration,
    },
    /// Another program is trying a passphrase for the same key.
    Locked {
        /// The file that is locked.
        path: PathBuf,
        /// Who has it, or why it can't be locked.
        cause: LockError,
    },
    /// The passphrase does not unlock the key.
    WrongPassphrase {
        /// How long to wait before the next try.
        wait: Duration,
    },
    /// The system gives no random numbers for a key.
    NoRandomness(getrandom::Error),
    /// A file or folder can't be read or written.
    File {
        /// Which.
        path: PathBuf,
        /// The system's answer.
        cause: io::Error,
    },
    /// A text is not a public key.
    PublicKey {
        /// What is wrong with it.
        what: String,
    },
    /// A register holds a line that breaks its rules.
    Violated {
        /// The register.
        path: PathBuf,
        /// Where and how.
        violation: Violation,
    },
    /// A ledger holds a line that breaks its rules, or contradicts the register.
    LedgerViolated {
        /// The ledger.
        path: PathBuf,
        /// Where and how.
        violation: Violation,
    },
    /// There is no ledger yet.
    NoLedger {
        /// Where it should be.
        path: PathBuf,
    },
    /// The register was changed, but the ledger does not say so.
    NotInLedger {
        /// Why not.
        cause: Box<Error>,
    },
    /// The register's rules don't allow an entry; nothing was written.
    Refused {
        /// A sentence without its full stop.
        why: String,
    },
    /// The register's journal can't be read or written.
    Journal(journal::Error),
}

impl fmt::Display for Error {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotAnIdentifier { text } => write!(
                formatter,
                "{text:?} is not an identifier of a signer: use 1 to 64 of a-z, 0-9, \".\", \"-\", \
                 \"_\", for example \"m.ortega\""
            ),
            Self::ShortPassphrase { characters } => write!(
                formatter,
                "the passphrase has {characters} characters and needs at least {}: who gets hold \
                 of the key file can try millions, and only length stops that; take four or five \
                 words",
                Passphrase::LEAST
            ),
            Self::CommonPassphrase { why } => write!(
                formatter,
                "the passphrase {why}: such passphrases are tried first; take four or five words \
                 that nobody would say together"
            ),
            Self::Loose { path, mode, right } => write!(
                formatter,
                "{}: others than its owner have access (mode {mode:04o}), so the key in it may \
                 have been copied; close it with: chmod {right:o} {}",
                path.display(),
                quoted(&path.display().to_string())
            ),
            Self::NoKey { signer, path } => write!(
                formatter,
                "{signer} has no key on this machine ({} is not there); bring the key file from \
                 the machine where it was made, or have a supervisor enrol a new identifier",
                path.display()
            ),
            Self::KeyExists { path } => write!(
                formatter,
                "{}: there is a key already, and a key is never overwritten; choose another \
                 identifier",
                path.display()
            ),
            Self::KeyDamaged { path, what } => write!(
                formatter,
                "{}: not a key that was made here ({what}); fetch the file from a backup",
                path.display()
            ),
            Self::TriesDamaged { path } => write!(
                formatter,
                "{}: the count of wrong passphrases is damaged; delete the file if you know why",
                path.display()
            ),
            Self::TooSoon { wait } => write!(
                formatter,
                "the last passphrase was wrong; wait {wait}, then try again (this one was not tried)"
            ),
            Self::Locked { path, cause } => {
                write!(formatter, "{}: {cause}; the passphrase was not tried", path.display())
            }
            Self::WrongPassphrase { wait } => write!(
                formatter,
                "the passphrase does not unlock the key; wait {wait}, then try again"
            ),
            Self::NoRandomness(cause) => write!(
                formatter,
                "the system gives no random numbers ({cause}), so no key was made; try again later"
            ),
            Self::File { path, cause } => write!(
                formatter,
                "{}: {cause}; check the path, the permissions and the room on the disk",
                path.display()
            ),
            Self::PublicKey { what } => write!(
                formatter,
                "not the PEM of an Ed25519 public key ({what}); paste the whole text, from \
                 -----BEGIN PUBLIC KEY----- to -----END PUBLIC KEY-----"
            ),
            Self::Violated { path, violation } => write!(
                formatter,
                "{}: {violation}; nothing is written to it: keep the file as it is and fetch it \
                 from the backup",
                path.display()
            ),
            Self::LedgerViolated { path, violation } => write!(
                formatter,
                "{}: {}; nothing is written to it: keep register and ledger as they are, and fetch \
                 both from the backup",
                path.display(),
                violation.of("ledger")
            ),
            Self::NoLedger { path } => write!(
                formatter,
                "{}: there is no ledger beside the register of signers yet; a supervisor takes stock \
                 first: holdtrace ledger stock",
                path.display()
            ),
            Self::NotInLedger { cause } => write!(
                formatter,
                "the register was changed, but the ledger does not say so yet ({cause}); the next \
                 entry in the ledger will"
            ),
            Self::Refused { why } => write!(formatter, "{why}; nothing was written"),
            Self::Journal(cause) => cause.fmt(formatter),
        }
    }
}

/// `text` as one word of a shell.
fn quoted(text: &str) -> String {
    format!("'{}'", text.replace('\'', r"'\''"))
}

impl std::error::Error for Error {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::NoRandomness(cause) => Some(cause),
            Self::File { cause, .. } => Some(cause),
            Self::Journal(cause) => Some(cause),
            Self::NotInLedger { cause } => Some(cause),
            Self::Locked { cause, .. } => Some(cause),
            Self::NotAnIdentifier { .. }
            | Self::ShortPassphrase { .. }
            | Self::CommonPassphrase { .. }
            | Self::Loose { .. }
            | Self::NoKey { .. }
            | Self::KeyExists { .. }
            | Self::KeyDamaged { .. }
            | Self::TriesDamaged { .. }
            | Self::TooSoon { .. }
            | Self::WrongPassphrase { .. }
            | Self::PublicKey { .. }
            | Self::Violated { .. }
            | Self::LedgerViolated { .. }
            | Self::NoLedger { .. }
            | Self::Refused { .. } => None,
        }
    }
}

impl From<journal::Error> for Error {
    fn from(cause: journal::Error) -> Self {
        Self::Journal(cause)
    }
}
