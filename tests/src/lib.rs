//! What the checks across crates share: an interpreter of the method that is as plain as can be,
//! a maker of adversarial traces, and the comparison of the two audits; and invented people who sign.
//!
//! The checks themselves are in `tests/*.rs`.

use std::fmt::Display;

pub mod compare;
pub mod containers;
#[cfg(target_os = "linux")]
pub mod display;
pub mod exact;
pub mod figures;
pub mod interpreter;
pub mod maker;
pub mod modules;
pub mod people;
pub mod place;
pub mod program;
pub mod random;
pub mod simple;
pub mod site;
pub mod specimen;
pub mod table;

/// What a step gave that must succeed.
///
/// # Panics
/// When it did not.
#[track_caller]
pub fn good<T, E: Display>(result: Result<T, E>) -> T {
    result.unwrap_or_else(|error| panic!("{error}"))
}
