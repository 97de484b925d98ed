//! Why a folder, a record or its review could not be read, or a file not be written.

use std::path::PathBuf;

/// What went wrong.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// The plant file can't be used.
    #[error(transparent)]
    Plant(#[from] plant::Error),
    /// A logger file, a run sheet or the folder can't be used.
    #[error(transparent)]
    Ingest(#[from] ingest::Error),
    /// A journal can't be read.
    #[error(transparent)]
    Journal(#[from] journal::Error),
    /// The row of a day can't be made.
    #[error(transparent)]
    Day(#[from] daybook::Error),
    /// A file that was found, not named by the user, is none.
    #[error("{path}: {cause} (it was found in the folder; what you name yourself may be a link)")]
    Found {
        /// Which.
        path: PathBuf,
        /// Why.
        #[source]
        cause: std::io::Error,
    },
    /// A register of signers is not taken for the plant's.
    #[error("{path}: the register of signers is not accepted: {why}")]
    NotTrusted {
        /// The register.
        path: PathBuf,
        /// Why.
        why: String,
    },
    /// The plant's books are not what this user has seen before.
    #[error("nothing is entered: {why}")]
    Alarm {
        /// The alarm, in a sentence.
        why: String,
    },
    /// The plant file is not what it was when it was read.
    #[error(
        "{path}: somebody else has changed the plant file since it was opened here; open it again, and \
         enter your changes in what it is now"
    )]
    PlantFileChanged {
        /// Which.
        path: PathBuf,
    },
    /// The plant's books can't be written.
    #[error(transparent)]
    Signers(#[from] signers::Error),
    /// A file can't be written.
    #[error("{why}")]
    NotWritten {
        /// Which, why, and what to do.
        why: String,
    },
    /// It was asked to stop.
    #[error("stopped, as asked")]
    Cancelled,
}
