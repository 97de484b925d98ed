//! The one error of this crate.

use polars::error::PolarsError;
use std::fmt;
use std::io;
use std::path::PathBuf;

/// Why a data frame could not be made, written, or read back as a run record.
#[derive(Debug)]
pub enum Error {
    /// The columns do not make a data frame.
    Frame(PolarsError),
    /// A file could not be read or written.
    File {
        /// Which file.
        path: PathBuf,
        /// What the system said.
        cause: io::Error,
    },
    /// A file is not Parquet, is damaged, or could not be encoded.
    Parquet {
        /// Which file.
        path: PathBuf,
        /// What is wrong with it.
        cause: PolarsError,
    },
    /// A run record needs a column that is not there.
    NoColumn {
        /// Its name, with `…` for the unit.
        column: String,
    },
    /// A column holds another kind of data than its name says.
    Kind {
        /// Its name.
        column: String,
        /// What it should hold.
        expected: &'static str,
        /// What it holds.
        found: String,
    },
    /// Two columns stand for one channel, or two pressures that belong together differ in unit.
    Units {
        /// The two columns.
        columns: [String; 2],
    },
    /// A cell holds what no run record holds.
    Cell {
        /// The name of the column.
        column: String,
        /// The row, counted from 1.
        row: usize,
        /// What it should hold.
        expected: &'static str,
    },
    /// The rows do not make a run record.
    Record(trace::Error),
}

impl fmt::Display for Error {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Frame(cause) => write!(formatter, "the columns make no data frame: {cause}"),
            Self::File { path, cause } => write!(
                formatter,
                "{}: {cause}; check the path, the permissions and the room on the disk",
                path.display()
            ),
            Self::Parquet { path, cause } => write!(
                formatter,
                "{}: not a whole Parquet file ({cause}); write it again from the source",
                path.display()
            ),
            Self::NoColumn { column } => write!(
                formatter,
                "there is no column {column}; only a table that was written from a run record can \
                 be read back as one"
            ),
            Self::Kind { column, expected, found } => {
                write!(formatter, "column {column}: holds {found}, but should hold {expected}")
            }
            Self::Units { columns: [one, other] } => write!(
                formatter,
                "columns {one} and {other} don't go together; keep one unit for both, and one \
                 column for each channel"
            ),
            Self::Cell { column, row, expected } => {
                write!(formatter, "column {column}, row {row}: should hold {expected}")
            }
            Self::Record(cause) => write!(formatter, "the rows make no run record: {cause}"),
        }
    }
}

impl std::error::Error for Error {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Frame(cause) | Self::Parquet { cause, .. } => Some(cause),
            Self::File { cause, .. } => Some(cause),
            Self::Record(cause) => Some(cause),
            Self::NoColumn { .. } | Self::Kind { .. } | Self::Units { .. } | Self::Cell { .. } => {
                None
            }
        }
    }
}
