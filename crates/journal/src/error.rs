//! The one error of this crate.

use crate::reading::Fault;
use crate::stamp::Stamp;
use disk::{LockError, Refusal};
use std::fmt;
use std::io;
use std::path::PathBuf;

/// Why a journal can't be read or an entry not be made. After an error no entry counts as made.
#[derive(Debug)]
pub enum Error {
    /// The file can't be read.
    Unreadable {
        /// The journal.
        path: PathBuf,
        /// The system's answer.
        cause: io::Error,
    },
    /// The chain is broken; nothing is written to it.
    Faulty {
        /// The journal.
        path: PathBuf,
        /// Where and how.
        fault: Fault,
    },
    /// Somebody else made an entry since the journal was read.
    MovedOn {
        /// The journal.
        path: PathBuf,
    },
    /// The clock of this machine is behind the last entry.
    ClockBehind {
        /// The journal.
        path: PathBuf,
        /// When the last entry was made.
        last: Stamp,
        /// What the clock says now.
        now: Stamp,
    },
    /// The entry can't be written.
    NotWritten {
        /// The journal.
        path: PathBuf,
        /// The system's answer.
        cause: io::Error,
    },
    /// The entry was written without a lock and is not there.
    NotThere {
        /// The journal.
        path: PathBuf,
    },
    /// Somebody else has the lock.
    Locked {
        /// The journal.
        path: PathBuf,
        /// Who, or why there is none.
        cause: LockError,
    },
    /// A torn line can't be set aside.
    NotSetAside {
        /// The journal.
        path: PathBuf,
        /// The system's answer.
        cause: io::Error,
    },
}

impl fmt::Display for Error {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unreadable { path, cause } if Refusal::of(cause).is_some() => {
                write!(formatter, "{}: can't be read: {cause}", path.display())
            }
            Self::Unreadable { path, cause } => write!(
                formatter,
                "{}: can't be read ({cause}); check that the folder is there and open to you",
                path.display()
            ),
            Self::Faulty { path, fault } => write!(
                formatter,
                "{}: {fault}; nothing is written to it: keep the file as it is and fetch it from \
                 the backup",
                path.display()
            ),
            Self::MovedOn { path } => write!(
                formatter,
                "{}: somebody else made an entry in the meantime; nothing was written: look at it, \
                 then make yours again",
                path.display()
            ),
            Self::ClockBehind { path, last, now } => write!(
                formatter,
                "{}: an entry is dated {last}, but this machine's clock says {now}; nothing was \
                 written: set the clock right, or, if another clock ran ahead, let a supervisor sign \
                 a correction of the clock",
                path.display()
            ),
            Self::NotWritten { path, cause } => write!(
                formatter,
                "{}: the entry was NOT made ({cause}); check that the folder is there, writable and \
                 has room, then make it again",
                path.display()
            ),
            Self::NotThere { path } => write!(
                formatter,
                "{}: the entry was written and is NOT there: this folder has no locks, and somebody \
                 else wrote at the same moment; look at the journal, then make it again",
                path.display()
            ),
            Self::Locked { path, cause } => {
                write!(formatter, "{}: {cause}; nothing was written", path.display())?;
                match cause {
                    LockError::Held { .. } => formatter.write_str("; try again in a moment"),
                    LockError::Stale { .. } | LockError::Impossible { .. } => Ok(()),
                }
            }
            Self::NotSetAside { path, cause } => write!(
                formatter,
                "{}: its last line is torn and can't be set aside ({cause}); check that the folder \
                 is writable and has room",
                path.display()
            ),
        }
    }
}

impl std::error::Error for Error {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Unreadable { cause, .. }
            | Self::NotWritten { cause, .. }
            | Self::NotSetAside { cause, .. } => Some(cause),
            Self::Locked { cause, .. } => Some(cause),
            Self::Faulty { .. }
            | Self::MovedOn { .. }
            | Self::ClockBehind { .. }
            | Self::NotThere { .. } => None,
        }
    }
}
