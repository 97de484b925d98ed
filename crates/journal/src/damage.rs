//! What may be wrong with a line or a value in it, and where a chain breaks.

use crate::stamp::{NotAStamp, Stamp};

/// Why a line, or a text in it, is not what was written.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Damage {
    /// Neither a digest nor a signature: the text, and how many digits it should have.
    #[error("{0:?} is not {1} lower-case hexadecimal digits")]
    NotHexadecimal(String, usize),
    /// Not the one spelling of a date and time.
    #[error(transparent)]
    NotAStamp(#[from] NotAStamp),
    /// Not JSON, with what the parser says.
    #[error("it is not JSON ({0})")]
    NotJson(String),
    /// JSON, but no object.
    #[error("it is not a JSON object")]
    NotAnObject,
    /// Another spelling of the same object.
    #[error("it is not in the canonical form of RFC 8785")]
    NotCanonical,
    /// A member that every line has.
    #[error("{0:?} is missing or of another type")]
    Missing(&'static str),
    /// A member that no line has.
    #[error("{0:?} is not allowed in it")]
    Unknown(String),
    /// The sum is another.
    #[error("its checksum does not match")]
    Sum,
    /// Both a signature and a sum, or neither.
    #[error("it needs either a signature or a checksum")]
    SignatureOrSum,
    /// It names another place than the one where it stands.
    #[error("it says it is line {0}")]
    Sequence(u64),
    /// It names another digest than that of the line above.
    #[error("it does not follow the line above: one of the two was changed, or lines are missing")]
    Previous,
    /// It is dated before a line above it.
    #[error("it is dated {at}, before a line above it ({latest}): a clock was set back")]
    SetBack {
        /// The date of the line.
        at: Stamp,
        /// The latest above it.
        latest: Stamp,
    },
}

/// Where a chain breaks.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Fault {
    /// Bytes after the last line feed: a write that was cut short.
    #[error(
        "line {line} is incomplete: {bytes} bytes without a line feed, a write that was interrupted"
    )]
    Torn {
        /// The line it would have been, from 1.
        line: u64,
        /// How many bytes there are.
        bytes: u64,
    },
    /// A line that is not what was written.
    #[error("line {line} is damaged: {what}")]
    Damaged {
        /// The line, from 1.
        line: u64,
        /// What is wrong with it.
        what: Damage,
    },
}
