//! What can go wrong; little, as rows come in and rows go out.

use std::fmt;

/// Why a summary could not be made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Error {
    /// A table can't be written as CSV.
    Csv(String),
    /// The range ends before it begins.
    Backwards {
        /// The first day that was asked for.
        from: chrono::NaiveDate,
        /// The last.
        to: chrono::NaiveDate,
    },
    /// What is to be reviewed can't be told.
    Review(String),
}

impl fmt::Display for Error {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Csv(cause) => {
                write!(formatter, "the table can't be written as CSV: {cause}; please report it")
            }
            Self::Backwards { from, to } => {
                write!(formatter, "the range ends on {to}, before it begins on {from}; swap them")
            }
            Self::Review(cause) => {
                write!(formatter, "what is to be reviewed can't be told: {cause}")
            }
        }
    }
}

impl std::error::Error for Error {}
