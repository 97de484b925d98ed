//! Where words and files go.

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

/// Writes `bytes` to `path`, or to standard output; a reader that has gone away is no error.
///
/// # Errors
/// When the file can't be written; then nothing of it is there.
pub fn write(bytes: &[u8], path: Option<&Path>) -> Result<(), Error> {
    match path {
        Some(path) => match disk::write_output(path, bytes) {
            Err(cause) if cause.kind() != std::io::ErrorKind::BrokenPipe => {
                Err(Error(disk::not_written(path, &cause)))
            }
            _ => Ok(()),
        },
        None => say_bytes(bytes),
    }
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
