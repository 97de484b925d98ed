//! The one error of this crate. Each message says what was wrong, where, and what to do.

use std::sync::Arc;

/// Why a plant file could not be used.
#[derive(Debug, Clone, thiserror::Error)]
pub enum Error {
    /// The file could not be read.
    #[error("{file}: the plant file can't be read ({cause}); check its path and permissions")]
    Read {
        /// Its name as given.
        file: String,
        /// What the system said.
        #[source]
        cause: Arc<std::io::Error>,
    },
    /// The file is not UTF-8 text.
    #[error("{file}: the plant file is not UTF-8 text; save it as UTF-8")]
    NotText {
        /// Its name as given.
        file: String,
    },
    /// The file is not TOML, has an unknown key, or a value of the wrong kind.
    #[error("{file}:{line}:{column}: {message}")]
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
    #[error("{file}:{line}:{column}: {key}: {message}")]
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
