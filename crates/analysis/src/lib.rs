//! The audit: from a run record and a plant's limits to the intervals in which the record does not
//! show that forward flow was safe.
//!
//! An audit does not look for faults, it looks for proof: what the record shows to be short is an
//! exception, and what it does not show is one too. The method is written down in `docs/method.md`;
//! each module here names its section. The crate is pure: no file, no clock, no screen, no thread,
//! no randomness. The same record and the same plant give the same audit, bit for bit.

mod accounting;
mod amounts;
mod audit;
mod between_cleanings;
mod cleaning;
mod cleaning_cycles;
mod completeness;
mod context;
mod crossing;
mod diverts;
mod doubts;
mod entries;
mod episodes;
mod exception;
mod forward;
mod hold;
mod holes;
mod instruments;
mod lethality;
mod limits;
pub mod observations;
mod product_account;
mod product_changes;
mod reason;
mod residence;
mod rule;
mod rules;
#[cfg(test)]
mod specimen;
mod transitions;
mod trend;
mod verdicts;
mod volume;
mod zero_check;

pub use accounting::{Accounting, Class, Stretch};
pub use amounts::{Amounts, NotMetered, RunAmount, SumAmount};
pub use audit::{Audit, Margin, Margins, audit};
pub use between_cleanings::BetweenCleanings;
pub use cleaning::Cleaning;
pub use cleaning_cycles::{Border, Circulation, CleaningCycle, FollowedBy, cleaning_thermometer};
pub use completeness::{CompletenessItem, Presence};
pub use diverts::Divert;
pub use entries::{Check, CheckedEntry};
pub use episodes::Episode;
pub use exception::{Basis, Cause, Exception, Shortfall, Volume, Worst};
pub use forward::forward_volume;
pub use hold::Hold;
pub use holes::{Hole, UnplacedCount};
pub use instruments::{Cut, CutVerdict, Instruments, RecorderOffset, Response};
pub use lethality::{LETHALITY_CAUTION, Lethality, ORGANISMS, Organism, pasteurization_units};
pub use limits::LimitSpan;
pub use product_account::{LotAccount, ProductRun};
pub use product_changes::{AtChange, ProductChange};
pub use reason::DivertReason;
pub use residence::Residence;
pub use rules::{Rule, RuleDefinition};
pub use transitions::{PassageReason, Side, Transition};
pub use trend::{Followed, Line, Minute, Trend, regeneration};
pub use zero_check::ZeroCheck;

/// The version of the method (`docs/method.md`) that this crate follows. It changes when the same
/// bytes and the same plant file can give another answer.
pub const METHOD: u64 = 3;
