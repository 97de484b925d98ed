//! The one error of this crate.

use std::fmt;

/// Why a report could not be written.
#[derive(Debug)]
pub enum Error {
    /// JSON could not be put together.
    Json(serde_json::Error),
    /// CSV could not be put together.
    Csv(String),
}

impl fmt::Display for Error {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Json(cause) => write!(formatter, "the report can't be written as JSON: {cause}"),
            Self::Csv(cause) => write!(formatter, "the report can't be written as CSV: {cause}"),
        }
    }
}

impl std::error::Error for Error {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Json(cause) => Some(cause),
            Self::Csv(_) => None,
        }
    }
}
