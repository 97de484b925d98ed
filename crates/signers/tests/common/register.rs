//! A register on disk.

use signers::{Error, RegisterFile};
use std::path::Path;

pub fn open(path: &Path) -> RegisterFile {
    match RegisterFile::open(path) {
        Ok((file, None)) => file,
        other => panic!("{other:?}"),
    }
}

/// The reason for which something was refused.
pub fn refused(result: Result<(), Error>) -> String {
    match result {
        Err(Error::Refused { why }) => why,
        other => panic!("{other:?}"),
    }
}
