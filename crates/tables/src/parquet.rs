//! Data frames as Parquet files. A file is written whole or not at all: to a temporary file beside
//! it, synced, then renamed.

use crate::error::Error;
use polars::error::{PolarsError, PolarsResult};
use polars::prelude::{DataFrame, ParquetReader, ParquetWriter, SerReader as _};
use std::fs::File;
use std::io::{self, BufWriter, Cursor, Write as _};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use tempfile::NamedTempFile;

/// Writes a data frame to a file, in place of one that may be there.
///
/// # Errors
/// When the file can't be written; then what was there before still is.
pub fn write_parquet(frame: &mut DataFrame, path: &Path) -> Result<(), Error> {
    let at_file = |cause| Error::File { path: path.to_owned(), cause };
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    let temporary = beside(folder).map_err(at_file)?;
    let mut buffer = BufWriter::new(temporary);
    ParquetWriter::new(&mut buffer)
        .finish(frame)
        .map_err(|cause| Error::Parquet { path: path.to_owned(), cause })?;
    keep(buffer, path, folder).map_err(at_file)
}

fn beside(folder: &Path) -> io::Result<NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".holdtrace-");
    // A temporary file is for its owner only unless told otherwise; this one is here to stay.
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    builder.tempfile_in(folder)
}

fn keep(mut buffer: BufWriter<NamedTempFile>, path: &Path, folder: &Path) -> io::Result<()> {
    buffer.flush()?;
    let temporary = buffer.into_inner().map_err(io::IntoInnerError::into_error)?;
    temporary.as_file().sync_all()?;
    temporary.persist(path).map_err(|error| error.error)?;
    // The rename itself lasts once the folder is synced; not every system lets one do that.
    if cfg!(unix) {
        File::open(folder)?.sync_all()?;
    }
    Ok(())
}

/// Reads a Parquet file whole.
///
/// The format has no checksum of its cells here: whether a file is the one that was written, its
/// SHA-256 must say, as for every source of a record.
///
/// # Errors
/// When the file can't be read or is not Parquet.
pub fn read_parquet(path: &Path) -> Result<DataFrame, Error> {
    let bytes =
        std::fs::read(path).map_err(|cause| Error::File { path: path.to_owned(), cause })?;
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
