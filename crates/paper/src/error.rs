//! The one error of this crate.

use std::fmt;

/// Why a summary could not be put on paper.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Error {
    /// The data for the template could not be written as JSON.
    Data(String),
    /// The template has a fault.
    Template {
        /// Counted from 1; 0 where the typesetter names no line.
        line: usize,
        /// In characters, counted from 1; 0 where the typesetter names no line.
        column: usize,
        /// What the typesetter says.
        message: String,
        /// What it suggests.
        hints: Vec<String>,
        /// Whether the template is the plant's own.
        own: bool,
    },
    /// The pages were set, but PDF/A does not allow what is on them.
    Pdf {
        /// What the exporter says.
        messages: Vec<String>,
        /// Whether the template is the plant's own.
        own: bool,
    },
}

impl fmt::Display for Error {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Data(cause) => {
                write!(formatter, "the figures for the summary can't be put together: {cause}")
            }
            Self::Template { line, column, message, hints, own } => {
                let whose = if *own { "the plant's own template" } else { "the built-in template" };
                write!(formatter, "{whose} can't be typeset")?;
                if *line > 0 {
                    write!(formatter, ": line {line}, column {column}")?;
                }
                write!(formatter, ": {message}")?;
                for hint in hints {
                    write!(formatter, " ({hint})")?;
                }
                write!(formatter, "; {}", what_to_do(*own))
            }
            Self::Pdf { messages, own } => write!(
                formatter,
                "the summary can't be written as PDF/A: {}; {}",
                messages.join("; "),
                what_to_do(*own)
            ),
        }
    }
}

const fn what_to_do(own: bool) -> &'static str {
    if own {
        "correct the template, or leave it out to use the built-in one"
    } else {
        "this is a fault of the program; the text report holds the same figures"
    }
}

impl std::error::Error for Error {}
