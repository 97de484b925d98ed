//! A register on disk.

use signers::{Error, RegisterFile};
use std::path::Path;

pub fn open(path: &Path) -> RegisterFile {
    match RegisterFile::open(path) {
        Ok((file, None)) => file,
        other => panic!("{other:?}"),
    }
}

pub fn said<T>(result: Result<T, Error>) -> T {
    result.unwrap_or_else(|error| panic!("{error}"))
}

/// The reason for which something was refused.
pub fn refused(result: Result<(), Error>) -> String {
    match result {
        Err(Error::Refused { why }) => why,
        other => panic!("{other:?}"),
    }
}
