//! What may be wrong with a line or a value in it.

use crate::stamp::Stamp;

/// Why a line, or a text in it, is not what was written.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Damage {
    /// Neither a digest nor a signature: the text, and how many digits it should have.
    #[error("{0:?} is not {1} lower-case hexadecimal digits")]
    NotHexadecimal(String, usize),
    /// Not the one spelling of a date and time.
    #[error("{0:?} is not a date and time like \"2026-03-14T06:12:33.123-05:00\"")]
    NotAStamp(String),
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
    #[error("{0:?} has no place in it")]
    Unknown(String),
    /// The sum is another.
    #[error("its sum does not fit")]
    Sum,
    /// Both a signature and a sum, or neither.
    #[error("it needs either a signature or a sum")]
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
