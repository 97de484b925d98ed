//! The page on which a logger's files are set up by looking: what each column is taken for, what
//! is still to be said, and the day as it is read with what was said so far.
//!
//! Nothing is kept until the plant file is saved; what it means is decided by the reading and the
//! audit alone.

mod asked;
mod columns;
mod joined;
mod page;
mod seen;
mod state;
mod unknown;
mod written;

pub use state::Setup;
pub use unknown::Unknown;
