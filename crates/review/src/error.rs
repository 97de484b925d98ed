//! The one error of this crate.

use crate::at_work::Holder;
use crate::refusal::Refusal;
use signers::{Act, SignerId};
use std::io;
use std::path::PathBuf;

/// Why a review can't be opened or a decision not be made. After an error nothing was decided.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// The journal can't be read or written.
    #[error(transparent)]
    Journal(#[from] journal::Error),
    /// The register can't be read, or a key not be used.
    #[error(transparent)]
    Signers(#[from] signers::Error),
    /// The audit's result can't be written down.
    #[error(transparent)]
    Report(#[from] case::Error),
    /// A line of the journal breaks a rule.
    #[error(
        "{path}: line {line} breaks a rule: {why}; nothing is written to it: keep the file as it is \
         and fetch it from the backup"
    )]
    Broken {
        /// The journal.
        path: PathBuf,
        /// The line, from 1.
        line: u64,
        /// The rule.
        #[source]
        why: Refusal,
    },
    /// The decision breaks a rule.
    #[error("not done: {0}")]
    Refused(#[from] Refusal),
    /// Of several decisions the disk took only the first, and would not give them back.
    #[error(
        "{made} of {of} decisions are entered, the others are NOT: {cause}. Look which are open, then make \
         them again"
    )]
    Partly {
        /// How many are entered.
        made: usize,
        /// How many there were.
        of: usize,
        /// Why the others are not.
        #[source]
        cause: Box<journal::Error>,
    },
    /// Somebody else made an entry; it is read now.
    #[error(
        "somebody else made an entry in the meantime; nothing of yours was written: check it, then make your entry again"
    )]
    MovedOn,
    /// Somebody else is at work on the record.
    #[error("the record is being reviewed by {}; try again when they have closed it", by.0)]
    Held {
        /// Who.
        by: Holder,
    },
    /// A file that is evidence can't be read.
    #[error(
        "{path}: can't be read{}",
        disk::told(cause, "check the name and that you may read it")
    )]
    Evidence {
        /// The file.
        path: PathBuf,
        /// The system's answer.
        #[source]
        cause: io::Error,
    },
    /// The file that says who is at work can't be written.
    #[error(
        "{path}: can't be written{}",
        disk::told(cause, "check that the folder is there, writable and has room")
    )]
    Hold {
        /// The file.
        path: PathBuf,
        /// The system's answer.
        #[source]
        cause: io::Error,
    },
    /// The person may not do this.
    #[error("{by}: {why}")]
    NotEntitled {
        /// Who.
        by: SignerId,
        /// Why not, in a sentence.
        why: String,
    },
    /// The record is not what the journal speaks of.
    #[error(
        "what was reviewed is not what is there now: {}; nothing else can be decided before the new \
         audit is entered (re-audit)",
        what.join("; ")
    )]
    Changed {
        /// What differs, in sentences.
        what: Vec<String>,
    },
    /// The decision must be proved with the person's key.
    #[error("not done: to {what}, {}", signs(*act))]
    NeedsKey {
        /// What is done, in a few words.
        what: String,
        /// What the person must be allowed to do.
        act: Act,
    },
    /// What stands in the journal can't be relied on, so nothing is added to it.
    #[error(
        "nothing is added to this review, for it can't be relied on: {}; keep the files as they are \
         and fetch the right ones from the backup",
        why.join("; ")
    )]
    NotReliedOn {
        /// Why, in sentences.
        why: Vec<String>,
    },
    /// What was signed stands in the journal, but could not be entered in the ledger.
    #[error(
        "it is signed in the journal, but could not be entered in the ledger ({cause}); the next \
         signature under the record will enter it"
    )]
    NotInLedger {
        /// Why.
        #[source]
        cause: Box<signers::Error>,
    },
    /// A draft can't be kept.
    #[error("{path}: {}", no_draft(cause))]
    Draft {
        /// The file.
        path: PathBuf,
        /// The system's answer.
        #[source]
        cause: io::Error,
    },
}

const fn signs(act: Act) -> &'static str {
    match act {
        Act::Supervise => "a supervisor signs with their key and passphrase",
        _ => "sign with your key and passphrase",
    }
}

fn no_draft(cause: &io::Error) -> String {
    match disk::Refusal::of(cause) {
        Some(refusal) => format!("can't be written: {refusal}"),
        None => {
            format!("the draft can't be kept ({cause}); resolve now, or copy your text")
        }
    }
}
