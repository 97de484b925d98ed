//! What the checks across crates share: an interpreter of the method that is as plain as can be,
//! a maker of adversarial traces, and the comparison of the two audits.
//!
//! The checks themselves are in `tests/*.rs`.

pub mod compare;
pub mod exact;
pub mod interpreter;
pub mod maker;
pub mod place;
pub mod program;
pub mod random;
pub mod simple;
pub mod specimen;
pub mod table;
