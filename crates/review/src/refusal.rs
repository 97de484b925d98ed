//! Why the rules of a review don't allow something.

/// Why a scope can't be signed yet, or a decision not be made.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct Refusal(pub(crate) String);

/// Refuses, for a reason in a sentence without its full stop.
pub(crate) fn refuse<T>(why: impl Into<String>) -> Result<T, Refusal> {
    Err(Refusal(why.into()))
}
