//! Ticks and scales, the same on the screen as on paper.

pub use case::{Scale, Tick, time_ticks};
