//! The files that a record was read from.

use crate::hexadecimal::hexadecimal;
use std::sync::Arc;

/// A file that a record was read from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SourceFile {
    /// The name as it was given.
    pub name: Arc<str>,
    /// Its length in bytes.
    pub bytes: u64,
    /// How many rows became samples or parts of one.
    pub rows: u64,
    /// The SHA-256 of its bytes (FIPS 180-4).
    pub sha256: [u8; 32],
}

/// The last part of a path, whichever way its system writes paths.
pub fn file_name(path: &str) -> &str {
    path.rsplit(['/', '\\']).next().unwrap_or(path)
}

impl SourceFile {
    /// The digest in lower-case hexadecimal, as `sha256sum` prints it.
    pub fn sha256_hex(&self) -> String {
        hexadecimal(&self.sha256)
    }
}
