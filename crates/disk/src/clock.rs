//! The clock of the file system that a folder lies on: on a share it is another machine's.

use std::io;
use std::path::Path;
use std::time::SystemTime;

/// The time by the file system of `folder`, as it dates a file that is made there and taken away again.
///
/// # Errors
/// When no file can be made there, or the file system does not date files.
pub fn folder_clock(folder: &Path) -> io::Result<SystemTime> {
    let file = tempfile::Builder::new().prefix(crate::sweep::PREFIX).tempfile_in(folder)?;
    file.as_file().metadata()?.modified()
}
