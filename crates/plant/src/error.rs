//! The one error of this crate. Each message says what was wrong, where, and what to do.

use std::fmt;
use std::sync::Arc;

/// Why a plant file could not be used.
#[derive(Debug, Clone)]
pub enum Error {
    /// The file could not be read.
    Read {
        /// Its name as given.
        file: String,
        /// What the system said.
        cause: Arc<std::io::Error>,
    },
    /// The file is not UTF-8 text.
    NotText {
        /// Its name as given.
        file: String,
    },
    /// The file is not TOML, has an unknown key, or a value of the wrong kind.
    Syntax {
        /// Its name as given.
        file: String,
        /// The line, counted from 1.
        line: usize,
        /// The column, counted from 1.
        column: usize,
        /// What is wrong there.
        message: String,
    },
    /// A value can't be used.
    Value {
        /// Its name as given.
        file: String,
        /// The line, counted from 1.
        line: usize,
        /// The column, counted from 1.
        column: usize,
        /// The key whose value it is.
        key: String,
        /// What is wrong, and what would be right.
        message: String,
    },
}

impl fmt::Display for Error {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Read { file, cause } => write!(
                formatter,
                "{file}: the plant file can't be read ({cause}); check its path and permissions"
            ),
            Self::NotText { file } => {
                write!(formatter, "{file}: the plant file is not UTF-8 text; save it as UTF-8")
            }
            Self::Syntax { file, line, column, message } => {
                write!(formatter, "{file}:{line}:{column}: {message}")
            }
            Self::Value { file, line, column, key, message } => {
                write!(formatter, "{file}:{line}:{column}: {key}: {message}")
            }
        }
    }
}

impl std::error::Error for Error {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Read { cause, .. } => Some(cause.as_ref()),
            Self::NotText { .. } | Self::Syntax { .. } | Self::Value { .. } => None,
        }
    }
}
