//! Where words and files go. A file is written whole or not at all: to a temporary file beside
//! it, synced, then renamed.

use std::io::Write as _;
use std::path::Path;

/// Why something could not be written.
#[derive(Debug)]
pub struct Error(String);

impl std::fmt::Display for Error {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        formatter.write_str(&self.0)
    }
}

impl std::error::Error for Error {}

/// Writes `bytes` to `path`, or to standard output.
///
/// # Errors
/// When the file can't be written; then nothing of it is there.
pub fn write(bytes: &[u8], path: Option<&Path>) -> Result<(), Error> {
    match path {
        Some(path) => file(bytes, path).map_err(|cause| {
            Error(format!(
                "{}: can't be written ({cause}); check that the folder exists, is writable and has \
                 room",
                path.display()
            ))
        }),
        None => say_bytes(bytes),
    }
}

fn file(bytes: &[u8], path: &Path) -> std::io::Result<()> {
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

/// Writes to standard output; a reader that has gone away is no error.
///
/// # Errors
/// When standard output can't be written for another reason.
pub fn say(text: &str) -> Result<(), Error> {
    say_bytes(text.as_bytes())
}

fn say_bytes(bytes: &[u8]) -> Result<(), Error> {
    let mut output = std::io::stdout().lock();
    match output.write_all(bytes).and_then(|()| output.flush()) {
        Err(cause) if cause.kind() != std::io::ErrorKind::BrokenPipe => {
            Err(Error(format!("standard output can't be written: {cause}")))
        }
        _ => Ok(()),
    }
}

/// Writes a message to standard error.
#[expect(clippy::print_stderr, reason = "this is the place where messages go")]
pub fn complain(message: &str) {
    eprintln!("holdtrace: {message}");
}
