//! What can go wrong; little, as rows come in and rows go out.

/// Why a summary could not be made.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Error {
    /// The range ends before it begins.
    #[error("the range ends on {to}, before it begins on {from}; swap them")]
    Backwards {
        /// The first day that was asked for.
        from: chrono::NaiveDate,
        /// The last.
        to: chrono::NaiveDate,
    },
    /// What is to be reviewed can't be told.
    #[error("what is to be reviewed can't be determined: {0}")]
    Review(String),
}
