//! Ticks and scales, the same on the screen as on paper.

pub use report::{Scale, Tick, time_ticks};
