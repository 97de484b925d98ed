//! The model's step: everything moves on by it.

/// In milliseconds.
pub(crate) const STEP_MILLISECONDS: i64 = 100;
/// In seconds.
pub(crate) const STEP_S: f64 = STEP_MILLISECONDS as f64 / 1000.0;
