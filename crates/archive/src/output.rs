//! Files are written whole or not at all: to a temporary file beside, synced, then renamed.

use crate::error::Error;
use std::io::Write as _;
use std::path::Path;

/// Writes `bytes` to `path`.
///
/// # Errors
/// When the file can't be written; then nothing of it is there, and what was there before still is.
pub fn write_whole(bytes: &[u8], path: &Path) -> Result<(), Error> {
    write(bytes, path).map_err(|cause| Error::Write { path: path.to_owned(), cause })
}

fn write(bytes: &[u8], path: &Path) -> std::io::Result<()> {
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    if path.is_dir() {
        return Err(std::io::Error::other("it is a folder"));
    }
    let mut builder = tempfile::Builder::new();
    builder.prefix(".holdtrace-");
    // As any new file: what the user's mask allows, not for the owner alone.
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    let mut temporary = builder.tempfile_in(folder)?;
    temporary.write_all(bytes)?;
    temporary.as_file().sync_all()?;
    temporary.persist(path).map_err(|error| error.error)?;
    // The rename itself lasts once the folder is synced; not every system lets one do that.
    #[cfg(unix)]
    std::fs::File::open(folder)?.sync_all()?;
    Ok(())
}
