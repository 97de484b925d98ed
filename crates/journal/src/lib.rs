//! Chained journals: files that only grow, whose every line holds the digest of the line before,
//! so that no line can be changed, dropped, doubled or moved unseen.
//!
//! The format is in `docs/review.md`. This crate knows lines, not what they say: bodies are JSON
//! objects, signatures are made and checked by others. Reading never fails on content: it gives
//! the lines up to the first fault, and the fault. An entry counts once it is synced.

mod damage;
mod digest;
mod error;
mod file;
mod line;
mod reading;
mod stamp;

pub use damage::{Damage, Fault};
pub use digest::{Digest, Sign, Signature};
pub use error::Error;
pub use file::{Journal, Torn};
pub use line::{Body, CLOCK_CORRECTED, Entry, Line};
pub use reading::{CLOCK_TOLERANCE, LIMIT, Reading, read, replay};
pub use stamp::{NotAStamp, Stamp};
