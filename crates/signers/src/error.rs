//! The one error of this crate.

use crate::violation::Violation;
use disk::LockError;
use std::io;
use std::path::PathBuf;
use trace::Duration;

/// Why a key can't be made or unlocked, or the register not be read or written.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// A text is not the identifier of a signer.
    #[error(
        "{text:?} is not an identifier of a signer: use 1 to 64 of a-z, 0-9, \".\", \"-\", \"_\", for \
         example \"m.ortega\""
    )]
    NotAnIdentifier {
        /// The text.
        text: String,
    },
    /// A passphrase for a new key is too short.
    #[error(
        "the passphrase has {characters} characters and needs at least {least}: whoever gets hold of the key file can try millions, and only length stops that; use four or five words"
    )]
    ShortPassphrase {
        /// How many characters it has.
        characters: usize,
        /// How many it needs.
        least: usize,
    },
    /// A passphrase that is tried among the first is not taken for a new key.
    #[error(
        "the passphrase {why}: such passphrases are tried first; use four or five unrelated words"
    )]
    CommonPassphrase {
        /// What it does: the end of a sentence.
        why: &'static str,
    },
    /// A key, or the folder of the keys, is open to others than its owner.
    #[error(
        "{path}: users other than its owner have access (mode {mode:04o}), so the key in it may have been \
         copied; close it with: chmod {right:o} {}",
        quoted(&path.display().to_string())
    )]
    Loose {
        /// The file or folder.
        path: PathBuf,
        /// Its permissions.
        mode: u32,
        /// What they should be.
        right: u32,
    },
    /// There is no key for the signer on this machine.
    #[error(
        "{signer} has no key on this machine ({path} is not there); bring the key file from the \
         machine where it was made, or have a supervisor enrol a new identifier"
    )]
    NoKey {
        /// The signer's identifier.
        signer: String,
        /// Where it should be.
        path: PathBuf,
    },
    /// The signer has a key already.
    #[error(
        "{path}: there is a key already, and a key is never overwritten; choose another identifier"
    )]
    KeyExists {
        /// Where it is.
        path: PathBuf,
    },
    /// The file is not a key as this crate writes it.
    #[error("{path}: not a key that was made here ({what}); fetch the file from a backup")]
    KeyDamaged {
        /// The file.
        path: PathBuf,
        /// What is wrong with it.
        what: String,
    },
    /// The count of wrong passphrases can't be understood.
    #[error("{path}: the count of wrong passphrases is damaged; delete the file if you know why")]
    TriesDamaged {
        /// The file that holds it.
        path: PathBuf,
    },
    /// After a wrong passphrase the next try comes too soon; the passphrase was not tried.
    #[error("the last passphrase was wrong; wait {wait}, then try again (this one was not tried)")]
    TooSoon {
        /// How long to wait.
        wait: Duration,
    },
    /// Another program is trying a passphrase for the same key.
    #[error("{path}: {cause}; the passphrase was not tried")]
    Locked {
        /// The file that is locked.
        path: PathBuf,
        /// Who has it, or why it can't be locked.
        #[source]
        cause: LockError,
    },
    /// The passphrase does not unlock the key.
    #[error("the passphrase does not unlock the key; wait {wait}, then try again")]
    WrongPassphrase {
        /// How long to wait before the next try.
        wait: Duration,
    },
    /// The system gives no random numbers for a key.
    #[error("the system gives no random numbers ({0}), so no key was made; try again later")]
    NoRandomness(#[from] getrandom::Error),
    /// A file or folder can't be read or written.
    #[error("{path}: {cause}; check the path, the permissions and the room on the disk")]
    File {
        /// Which.
        path: PathBuf,
        /// The system's answer.
        #[source]
        cause: io::Error,
    },
    /// A text is not a public key.
    #[error(
        "not the PEM of an Ed25519 public key ({what}); paste the whole text, from -----BEGIN PUBLIC \
         KEY----- to -----END PUBLIC KEY-----"
    )]
    PublicKey {
        /// What is wrong with it.
        what: String,
    },
    /// A register holds a line that breaks its rules.
    #[error(
        "{path}: {violation}; nothing is written to it: keep the file as it is and fetch it from the \
         backup"
    )]
    Violated {
        /// The register.
        path: PathBuf,
        /// Where and how.
        violation: Violation,
    },
    /// A ledger holds a line that breaks its rules, or contradicts the register.
    #[error(
        "{path}: {}; nothing is written to it: keep register and ledger as they are, and fetch both \
         from the backup",
        violation.of("ledger")
    )]
    LedgerViolated {
        /// The ledger.
        path: PathBuf,
        /// Where and how.
        violation: Violation,
    },
    /// There is no ledger yet.
    #[error(
        "{path}: there is no ledger beside the register of signers yet; a supervisor takes stock \
         first: holdtrace ledger stock"
    )]
    NoLedger {
        /// Where it should be.
        path: PathBuf,
    },
    /// The register was changed, but the ledger does not say so.
    #[error(
        "the register was changed, but the ledger does not say so yet ({cause}); the next entry in \
         the ledger will"
    )]
    NotInLedger {
        /// Why not.
        #[source]
        cause: Box<Error>,
    },
    /// The register's rules don't allow an entry; nothing was written.
    #[error("{why}; nothing was written")]
    Refused {
        /// A sentence without its full stop.
        why: String,
    },
    /// The register's journal can't be read or written.
    #[error(transparent)]
    Journal(#[from] journal::Error),
}

/// `text` as one word of a shell.
fn quoted(text: &str) -> String {
    format!("'{}'", text.replace('\'', r"'\''"))
}
