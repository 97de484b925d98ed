//! The audit: from a run record and a plant's limits to every interval in which forward flow was
//! not safe or cannot be vouched for.
//!
//! The method is written down in `docs/method.md`; each module here names its section. The crate
//! is pure: no file, no clock, no screen, no thread, no randomness. The same record and the same
//! plant give the same audit, bit for bit.

mod accounting;
mod audit;
mod crossing;
mod episodes;
mod exception;
mod exceptions;
mod limits;
mod observations;
mod residence;
mod runs;
mod transitions;
mod unverifiable;
mod volume;

pub use accounting::{Accounting, Class, Stretch};
pub use audit::{Audit, Margin, Margins, audit};
pub use episodes::Episode;
pub use exception::{Basis, Cause, Exception, Rule, Shortfall, Volume, Worst};
pub use limits::LimitSpan;
pub use residence::Residence;
pub use transitions::{Side, Transition};
