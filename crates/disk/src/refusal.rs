//! Why a path was refused before anything was read from it or written to it. It travels inside an
//! [`io::Error`], since whoever opens files has errors of the system to tell as well.

use crate::kind::Kind;
use std::io;

/// Why a path was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum Refusal {
    /// It is not a file but this.
    #[error("it is {kind}, {}", match .0 {
        Kind::Link => "and no link is followed here: put the file itself in its place",
        _ => "not a file",
    }, kind = .0)]
    NotAFile(Kind),
    /// It is larger than what is read of its kind.
    #[error("it has {size} bytes; at most {limit} are read")]
    TooLarge {
        /// Its bytes; as many as were seen when it grows while it is read.
        size: u64,
        /// The most that is read.
        limit: u64,
    },
}

impl Refusal {
    /// The refusal inside an error of this crate; `None` for one of the system.
    pub fn of(error: &io::Error) -> Option<Self> {
        error.get_ref()?.downcast_ref().copied()
    }
}

/// What failed with an error, as the end of a sentence: a refusal says itself what to do, and an
/// error of the system stands in brackets before `advice`.
pub fn told(cause: &io::Error, advice: &str) -> String {
    match Refusal::of(cause) {
        Some(refusal) => format!(": {refusal}"),
        None => format!(" ({cause}); {advice}"),
    }
}

impl From<Refusal> for io::Error {
    fn from(refusal: Refusal) -> Self {
        let kind = match refusal {
            Refusal::NotAFile(_) => io::ErrorKind::InvalidInput,
            Refusal::TooLarge { .. } => io::ErrorKind::FileTooLarge,
        };
        Self::new(kind, refusal)
    }
}
