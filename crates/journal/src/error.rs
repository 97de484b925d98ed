//! The one error of this crate.

use crate::damage::Fault;
use crate::stamp::Stamp;
use disk::LockError;
use std::io;
use std::path::PathBuf;

/// Why a journal can't be read or an entry not be made. After an error no entry counts as made.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// The file can't be read.
    #[error(
        "{path}: can't be read{}",
        disk::told(cause, "check that the folder is there and open to you")
    )]
    Unreadable {
        /// The journal.
        path: PathBuf,
        /// The system's answer.
        #[source]
        cause: io::Error,
    },
    /// The chain is broken; nothing is written to it.
    #[error(
        "{path}: {fault}; nothing is written to it: keep the file as it is and fetch it from the \
         backup"
    )]
    Faulty {
        /// The journal.
        path: PathBuf,
        /// Where and how.
        fault: Fault,
    },
    /// Somebody else made an entry since the journal was read.
    #[error(
        "{path}: somebody else made an entry in the meantime; nothing was written: check it, then make your entry again"
    )]
    MovedOn {
        /// The journal.
        path: PathBuf,
    },
    /// The clock of this machine is behind the last entry.
    #[error(
        "{path}: an entry is dated {last}, but this machine's clock says {now}; nothing was written: \
         set the clock right, or, if another clock ran ahead, let a supervisor sign a correction of \
         the clock"
    )]
    ClockBehind {
        /// The journal.
        path: PathBuf,
        /// When the last entry was made.
        last: Stamp,
        /// What the clock says now.
        now: Stamp,
    },
    /// The entry can't be written.
    #[error(
        "{path}: the entry was NOT made ({cause}); check that the folder is there, writable and has \
         room, then make it again"
    )]
    NotWritten {
        /// The journal.
        path: PathBuf,
        /// The system's answer.
        #[source]
        cause: io::Error,
    },
    /// The entry was written without a lock and is not there.
    #[error(
        "{path}: the entry was written and is NOT there: this folder has no locks, and somebody else \
         wrote at the same moment; look at the journal, then make it again"
    )]
    NotThere {
        /// The journal.
        path: PathBuf,
    },
    /// Somebody else has the lock.
    #[error("{path}: {cause}; nothing was written{}", try_again(cause))]
    Locked {
        /// The journal.
        path: PathBuf,
        /// Who, or why there is none.
        #[source]
        cause: LockError,
    },
    /// A torn line can't be set aside.
    #[error(
        "{path}: its last line is incomplete and can't be moved aside ({cause}); check that the folder is \
         writable and has room"
    )]
    NotSetAside {
        /// The journal.
        path: PathBuf,
        /// The system's answer.
        #[source]
        cause: io::Error,
    },
}

const fn try_again(cause: &LockError) -> &'static str {
    match cause {
        LockError::Held { .. } => "; try again in a moment",
        LockError::Stale { .. } | LockError::Impossible { .. } => "",
    }
}
