//! The audit: from a run record and a plant's limits to every interval in which forward flow was
//! not safe or cannot be vouched for.
//!
//! The method is written down in `docs/method.md`; each module here names its section. The crate
//! is pure: no file, no clock, no screen, no thread, no randomness. The same record and the same
//! plant give the same audit, bit for bit.

mod accounting;
mod audit;
mod completeness;
mod crossing;
mod episodes;
mod exception;
mod exceptions;
mod instruments;
mod lethality;
mod limits;
mod observations;
mod product_account;
mod residence;
mod runs;
mod transitions;
mod trend;
mod unverifiable;
mod volume;

pub use accounting::{Accounting, Class, Stretch};
pub use audit::{Audit, Margin, Margins, audit};
pub use completeness::{CompletenessItem, Presence};
pub use episodes::Episode;
pub use exception::{Basis, Cause, Exception, Rule, Shortfall, Volume, Worst};
pub use instruments::{Cut, CutVerdict, Instruments, RecorderOffset};
pub use lethality::{LETHALITY_CAUTION, Lethality, ORGANISMS, Organism, pasteurization_units};
pub use limits::LimitSpan;
pub use product_account::{LotAccount, ProductRun};
pub use residence::Residence;
pub use transitions::{Side, Transition};
pub use trend::{Followed, Line, Minute, Trend, regeneration};
