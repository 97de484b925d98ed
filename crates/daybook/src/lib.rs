//! Many records together: the row that stands for a day, where its review stands, when that is due,
//! how records of one pasteurizer follow one another, the calendar of a month, the summary of a range
//! for an auditor, what changes over days, everything that touches one lot, and what waits for whom.
//!
//! The crate is pure: rows come in, rows go out. Which files there are, and which of them were
//! audited before, is the concern of `archive`.

mod before;
mod comparable;
mod day;
mod deadline;
mod drift;
mod entry;
mod error;
mod figure;
mod followed;
mod held;
mod join;
#[cfg(test)]
mod join_tests;
mod json;
mod lot;
mod lots;
mod month;
mod range;
mod record_tanks;
mod summary;
#[cfg(test)]
mod summary_tests;
mod tanks;
mod text;
mod totals;
mod work;
#[cfg(test)]
mod work_tests;

pub use before::{Before, Follows};
pub use comparable::{Comparable, comparable};
pub use day::{Amount, Day, ExceptionRow, RunRow, SheetRow};
pub use deadline::{review_due, working_days_between};
pub use drift::{Drift, FEWEST_DAYS, MOST_DAYS, UsedUp};
pub use entry::Entry;
pub use error::Error;
pub use figure::{Figure, Kind, ShownIn};
pub use followed::{Followed, Series};
pub use held::{Held, HeldRow};
pub use join::{ProductionDay, join, production_days};
pub use lot::{LotEvent, LotEventKind, LotTrace, lot, minute};
pub use lots::{LotRow, lots, lots_json, lots_text};
pub use month::{Cell, Month, month};
pub use range::{HoleRow, Range};
pub use record_tanks::{LookedAt, RecordTank, RecordTanks};
pub use summary::Summary;
pub use tanks::{TankAccount, TankRun, TankSheet};
pub use text::Fact;
pub use totals::{Count, Passed, Signatures, Totals, Waited};
pub use work::{Did, WaitsFor, WorkList, WorkRow};
