//! The nouns of Holdtrace: what a logger recorded, and nothing about what it means.
//!
//! An [`Instant`] is an integer millisecond in UTC, a reading is a [`Decimal`] exactly as the
//! logger printed it, a [`Channel`] is a column of readings in one unit where each reading is
//! either valid or [`Invalid`] for a stated reason, and a [`RunRecord`] is an immutable set of
//! channels over strictly increasing instants.
//!
//! This crate knows no other crate of the workspace, reads no file and no clock. It never
//! interpolates: a hole in the record stays a hole.

mod channel;
mod decimal;
mod error;
mod hexadecimal;
mod instant;
pub mod median;
mod observation;
mod operator_entry;
mod record;
mod role;
mod run_sheet;
mod source_file;
mod text;
mod units;
mod valve;
mod visible;

pub use channel::{Channel, ChannelView, Invalid, Reading};
pub use decimal::{Decimal, DecimalMark, NotADecimal, Ratio, Toward, power_of_ten};
pub use error::Error;
pub use hexadecimal::{from_hexadecimal, hexadecimal};
pub use instant::{Duration, Instant, Interval};
pub use observation::{
    Definition, Figure, FigureKind, MORE, Observation, ObservationKind, Rank, SourcePosition, Value,
};
pub use operator_entry::{EntryKind, OperatorEntries, OperatorEntry};
pub use record::{Differential, RunRecord, RunRecordParts, Unplaced, UnplacedRow};
pub use role::{Quantity, Role};
pub use run_sheet::{RunSheet, SheetRun};
pub use source_file::{SourceFile, file_name};
pub use text::{BOTH, TextChannel};
pub use units::{FlowUnit, PressureUnit, TemperatureUnit, Unit, VolumeUnit};
pub use valve::ValveState;
pub use visible::{Lines, is_hidden, visible, visible_json};
