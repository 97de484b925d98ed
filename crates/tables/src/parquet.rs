//! Data frames as Parquet files. A file is written whole or not at all.

use crate::error::{Error, in_file};
use polars::error::{PolarsError, PolarsResult};
use polars::prelude::{DataFrame, ParquetReader, ParquetWriter, SerReader as _};
use std::io::Cursor;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;

/// Writes a data frame to a file, in place of one that may be there, or to a pipe.
///
/// # Errors
/// When the file can't be written; then what was there before still is.
pub fn write_parquet(frame: &mut DataFrame, path: &Path) -> Result<(), Error> {
    let mut bytes = Vec::new();
    ParquetWriter::new(&mut bytes)
        .finish(frame)
        .map_err(|cause| Error::Parquet { path: path.to_owned(), cause })?;
    disk::write_output(path, &bytes).map_err(in_file(path))
}

/// Reads a Parquet file whole.
///
/// The format has no checksum of its cells here: whether a file is the one that was written, its
/// SHA-256 must say, as for every source of a record.
///
/// # Errors
/// When the file can't be read or is not Parquet.
pub fn read_parquet(path: &Path) -> Result<DataFrame, Error> {
    let bytes = std::fs::read(path).map_err(in_file(path))?;
    guarded(|| ParquetReader::new(Cursor::new(bytes)).finish())
        .map_err(|cause| Error::Parquet { path: path.to_owned(), cause })
}

/// Some damaged files make the library panic where it should fail; that must not take the
/// program down.
fn guarded(read: impl FnOnce() -> PolarsResult<DataFrame>) -> PolarsResult<DataFrame> {
    catch_unwind(AssertUnwindSafe(read)).unwrap_or_else(|_panic| {
        Err(PolarsError::ComputeError("its contents make no sense".into()))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_panic_of_the_library_is_an_error() {
        let outcome = guarded(|| panic!("range end index 18446744073709551615 out of range"));
        assert!(matches!(outcome, Err(PolarsError::ComputeError(_))));
    }
}
