//! Where a result goes that the user sends to a path: a file is replaced as a whole; a device or a
//! pipe is written to and stays what it is; a link is refused, since replacing it and writing
//! through it are both what somebody may not have meant.

use crate::kind::{Kind, kind};
use crate::refusal::{Refusal, told};
use crate::whole::{Access, write_whole};
use std::fs::OpenOptions;
use std::io::{self, Write as _};
use std::path::Path;

/// Says of a file that it was not written, why, and what to do.
pub fn not_written(path: &Path, cause: &io::Error) -> String {
    let told = told(cause, "check that the folder exists, is writable and has room");
    format!("{}: can't be written{told}", path.display())
}

/// Writes a result to `path`; `-` and `/dev/stdout` are standard output.
///
/// # Errors
/// When a link, a folder or a disk is there ([`Refusal`]), or it can't be written.
pub fn write_output(path: &Path, bytes: &[u8]) -> io::Result<()> {
    if path == Path::new("-") || (cfg!(unix) && path == Path::new("/dev/stdout")) {
        let mut output = io::stdout().lock();
        output.write_all(bytes)?;
        return output.flush();
    }
    // What the shell puts for `>(program)`, and `/dev/stderr`: the system's own links to what the
    // program has open already.
    let is_opened = cfg!(unix)
        && (path == Path::new("/dev/stderr")
            || path.starts_with("/dev/fd")
            || path.starts_with("/proc/self/fd"));
    if is_opened {
        return OpenOptions::new().append(true).open(path)?.write_all(bytes);
    }
    match kind(path) {
        Ok(Kind::Device | Kind::Pipe) => {
            OpenOptions::new().write(true).open(path)?.write_all(bytes)
        }
        Ok(Kind::File) => write_whole(path, bytes, Access::Everybody),
        Ok(kind) => Err(Refusal::NotAFile(kind).into()),
        Err(cause) if cause.kind() == io::ErrorKind::NotFound => {
            write_whole(path, bytes, Access::Everybody)
        }
        Err(cause) => Err(cause),
    }
}
