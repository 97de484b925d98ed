//! The one error of this crate.

/// Why a report could not be written.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// JSON could not be put together.
    #[error("the report can't be written as JSON: {0}")]
    Json(#[from] serde_json::Error),
    /// CSV could not be put together.
    #[error("the report can't be written as CSV: {0}")]
    Csv(String),
}
