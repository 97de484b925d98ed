//! Run records and audits as data frames, and as Parquet files, for those who work on with other
//! tools.
//!
//! Contract: nothing is decided here and nothing is lost. A reading stands as the binary number
//! nearest to its decimal; a decimal that such a number can't hold is there as text as well. An
//! invalid reading is null, its reason in a column of its own. Instants are milliseconds in UTC.
//! A record that was written by [`record_frame`] is read back by [`record_from_frame`] with the
//! same readings, digit for digit (zeros at the end of all readings of a channel aside). Rows without
//! a place in time and spans that two passes of a clock claim are no samples and stand in no frame:
//! what is to be audited are the logger files.

mod decimals;
mod error;
mod frames;
mod names;
mod parquet;
mod partitions;
mod reading;
mod record;

pub use error::Error;
pub use frames::table_frame;
pub use parquet::{read_parquet, write_parquet};
pub use partitions::write_partitions;
pub use polars::frame::DataFrame;
pub use reading::{Range, record_from_frame};
pub use record::record_frame;
