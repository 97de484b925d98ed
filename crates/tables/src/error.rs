//! The one error of this crate.

use polars::error::PolarsError;
use std::io;
use std::path::{Path, PathBuf};

/// Why a data frame could not be made, written, or read back as a run record.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// The columns do not make a data frame.
    #[error("the columns make no data frame: {0}")]
    Frame(#[from] PolarsError),
    /// A file could not be read or written.
    #[error("{path}: {cause}; check the path, the permissions and the room on the disk")]
    File {
        /// Which file.
        path: PathBuf,
        /// What the system said.
        #[source]
        cause: io::Error,
    },
    /// A file is not Parquet, is damaged, or could not be encoded.
    #[error("{path}: not a whole Parquet file ({cause}); write it again from the source")]
    Parquet {
        /// Which file.
        path: PathBuf,
        /// What is wrong with it.
        #[source]
        cause: PolarsError,
    },
    /// A run record needs a column that is not there.
    #[error(
        "there is no column {column}; only a table that was written from a run record can be read back \
         as one"
    )]
    NoColumn {
        /// Its name, with `…` for the unit.
        column: String,
    },
    /// A column holds another kind of data than its name says.
    #[error("column {column}: holds {found}, but should hold {expected}")]
    Kind {
        /// Its name.
        column: String,
        /// What it should hold.
        expected: &'static str,
        /// What it holds.
        found: String,
    },
    /// Two columns stand for one channel, or two pressures that belong together differ in unit.
    #[error(
        "columns {} and {} don't go together; keep one unit for both, and one column for each channel",
        columns[0],
        columns[1]
    )]
    Units {
        /// The two columns.
        columns: [String; 2],
    },
    /// A cell holds what no run record holds.
    #[error("column {column}, row {row}: should hold {expected}")]
    Cell {
        /// The name of the column.
        column: String,
        /// The row, counted from 1.
        row: usize,
        /// What it should hold.
        expected: &'static str,
    },
    /// The rows do not make a run record.
    #[error("the rows make no run record: {0}")]
    Record(#[from] trace::Error),
}

/// Names the file that could not be read or written.
pub(crate) fn in_file(path: &Path) -> impl FnOnce(io::Error) -> Error {
    move |cause| Error::File { path: path.to_owned(), cause }
}
