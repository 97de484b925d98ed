//! The one error of this crate.

use crate::hold::Holder;
use crate::state;
use disk::Refusal;
use signers::{Act, SignerId};
use std::fmt;
use std::io;
use std::path::PathBuf;

/// Why a review can't be opened or a decision not be made. After an error nothing was decided.
#[derive(Debug)]
pub enum Error {
    /// The journal can't be read or written.
    Journal(journal::Error),
    /// The register can't be read, or a key not be used.
    Signers(signers::Error),
    /// The audit's result can't be written down.
    Report(report::Error),
    /// A line of the journal breaks a rule.
    Broken {
        /// The journal.
        path: PathBuf,
        /// The line, from 1.
        line: u64,
        /// The rule.
        why: state::Refusal,
    },
    /// The decision breaks a rule.
    Refused(state::Refusal),
    /// Somebody else made an entry; it is read now.
    MovedOn,
    /// Somebody else is at work on the record.
    Held {
        /// Who.
        by: Holder,
    },
    /// The file that says who is at work can't be written.
    Hold {
        /// The file.
        path: PathBuf,
        /// The system's answer.
        cause: io::Error,
    },
    /// The person may not do this.
    NotEntitled {
        /// Who.
        by: SignerId,
        /// Why not, in a sentence.
        why: String,
    },
    /// The record is not what the journal speaks of.
    Changed {
        /// What differs, in sentences.
        what: Vec<String>,
    },
    /// The decision must be proved with the person's key.
    NeedsKey {
        /// What is done, in a few words.
        what: String,
        /// What the person must be allowed to do.
        act: Act,
    },
    /// What stands in the journal can't be relied on, so nothing is added to it.
    NotReliedOn {
        /// Why, in sentences.
        why: Vec<String>,
    },
    /// What was signed stands in the journal, but could not be entered in the ledger.
    NotInLedger {
        /// Why.
        cause: Box<signers::Error>,
    },
    /// A draft can't be kept.
    Draft {
        /// The file.
        path: PathBuf,
        /// The system's answer.
        cause: io::Error,
    },
}

impl fmt::Display for Error {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Journal(cause) => cause.fmt(formatter),
            Self::Signers(cause) => cause.fmt(formatter),
            Self::Report(cause) => cause.fmt(formatter),
            Self::Broken { path, line, why } => write!(
                formatter,
                "{}: line {line} breaks a rule: {why}; nothing is written to it: keep the file as \
                 it is and fetch it from the backup",
                path.display()
            ),
            Self::Refused(why) => write!(formatter, "not done: {why}"),
            Self::MovedOn => formatter.write_str(
                "somebody else made an entry in the meantime; nothing of yours was written: look \
                 at it, then make yours again",
            ),
            Self::Held { by } => write!(
                formatter,
                "the record is being reviewed by {}; try again when they have closed it",
                by.0
            ),
            Self::Hold { path, cause } | Self::Draft { path, cause }
                if Refusal::of(cause).is_some() =>
            {
                write!(formatter, "{}: can't be written: {cause}", path.display())
            }
            Self::Hold { path, cause } => write!(
                formatter,
                "{}: can't be written ({cause}); check that the folder is there, writable and has \
                 room",
                path.display()
            ),
            Self::NotEntitled { by, why } => write!(formatter, "{by}: {why}"),
            Self::Changed { what } => write!(
                formatter,
                "what was reviewed is not what is there now: {}; nothing else can be decided before \
                 the new audit is entered (re-audit)",
                what.join("; ")
            ),
            Self::NeedsKey { what, act: Act::Supervise } => write!(
                formatter,
                "not done: to {what}, a supervisor signs with their key and passphrase"
            ),
            Self::NeedsKey { what, act: _ } => {
                write!(formatter, "not done: to {what}, sign with your key and passphrase")
            }
            Self::NotReliedOn { why } => write!(
                formatter,
                "nothing is added to this review, for it can't be relied on: {}; keep the files as \
                 they are and fetch the right ones from the backup",
                why.join("; ")
            ),
            Self::NotInLedger { cause } => write!(
                formatter,
                "it is signed in the journal, but could not be entered in the ledger ({cause}); the \
                 next signature under the record will enter it"
            ),
            Self::Draft { path, cause } => write!(
                formatter,
                "{}: the draft can't be kept ({cause}); resolve now, or copy your text",
                path.display()
            ),
        }
    }
}

impl std::error::Error for Error {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Journal(cause) => Some(cause),
            Self::Signers(cause) => Some(cause),
            Self::Report(cause) => Some(cause),
            Self::Hold { cause, .. } | Self::Draft { cause, .. } => Some(cause),
            Self::Broken { why, .. } | Self::Refused(why) => Some(why),
            Self::NotInLedger { cause } => Some(cause),
            Self::MovedOn
            | Self::Held { .. }
            | Self::NotEntitled { .. }
            | Self::Changed { .. }
            | Self::NeedsKey { .. }
            | Self::NotReliedOn { .. } => None,
        }
    }
}
