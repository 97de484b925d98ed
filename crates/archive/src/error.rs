//! Why a folder, a record or its review could not be read, or a file not be written.

use std::fmt;
use std::path::PathBuf;

/// What went wrong.
#[derive(Debug)]
pub enum Error {
    /// The plant file can't be used.
    Plant(plant::Error),
    /// A logger file, a run sheet or the folder can't be used.
    Ingest(ingest::Error),
    /// A journal can't be read.
    Journal(journal::Error),
    /// The row of a day can't be made.
    Day(daybook::Error),
    /// A file that was found, not named by the user, is none.
    Found {
        /// Which.
        path: PathBuf,
        /// Why.
        cause: std::io::Error,
    },
    /// A register of signers is not taken for the plant's.
    NotTrusted {
        /// The register.
        path: PathBuf,
        /// Why.
        why: String,
    },
    /// The plant's books are not what this user has seen before.
    Alarm {
        /// The alarm, in a sentence.
        why: String,
    },
    /// It was asked to stop.
    Cancelled,
}

impl fmt::Display for Error {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Plant(cause) => cause.fmt(formatter),
            Self::Ingest(cause) => cause.fmt(formatter),
            Self::Journal(cause) => cause.fmt(formatter),
            Self::Day(cause) => cause.fmt(formatter),
            Self::Found { path, cause } => write!(
                formatter,
                "{}: {cause} (it was found in the folder; what you name yourself may be a link)",
                path.display()
            ),
            Self::NotTrusted { path, why } => write!(
                formatter,
                "{}: the register of signers is not accepted: {why}",
                path.display()
            ),
            Self::Alarm { why } => write!(formatter, "nothing is entered: {why}"),
            Self::Cancelled => formatter.write_str("stopped, as asked"),
        }
    }
}

impl std::error::Error for Error {}
