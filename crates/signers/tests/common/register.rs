//! A register on disk and whom it enrols.

use signers::{Enrolment, Error, RegisterFile, Role, UnlockedKey};
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

/// The enrolment of the holder of `key`.
pub fn enrolment(key: &UnlockedKey, name: &str, role: Role) -> Enrolment {
    Enrolment {
        signer: key.signer().clone(),
        name: name.to_owned(),
        role,
        public_key: key.public_key(),
    }
}

/// The reason for which something was refused.
pub fn refused(result: Result<(), Error>) -> String {
    match result {
        Err(Error::Refused { why }) => why,
        other => panic!("{other:?}"),
    }
}
