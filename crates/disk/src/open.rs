//! Opening and reading. A path is looked at before it is opened, since the mere opening of a pipe
//! waits for its other end, and the open file is looked at again, since the name may have been
//! given to something else in between.

use crate::kind::Kind;
use crate::refusal::Refusal;
use std::fs::{File, Metadata, OpenOptions};
use std::io::{self, Read as _, Seek as _};
use std::path::Path;

/// Whether the last name of a path may be a link.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Links {
    /// For what the user named themselves.
    Follow,
    /// For what the program finds in a folder or expects there.
    Refuse,
}

/// Opens a file for reading. Neither a pipe nor a device is opened, so this never waits.
///
/// # Errors
/// When it is not a file ([`Refusal`]), or a link and links are refused, or can't be opened.
pub fn open(path: &Path, links: Links) -> io::Result<File> {
    opened(path, links, OpenOptions::new().read(true))
}

/// Opens a file that is there for reading and writing; no link is followed.
///
/// # Errors
/// As [`open`].
pub fn read_write(path: &Path) -> io::Result<File> {
    opened(path, Links::Refuse, OpenOptions::new().read(true).write(true))
}

/// Opens a file that is there for reading and for writing at its end; no link is followed.
///
/// # Errors
/// As [`open`].
pub fn append(path: &Path) -> io::Result<File> {
    opened(path, Links::Refuse, at_end(OpenOptions::new().read(true)))
}

/// Makes a file and opens it for reading and for writing at its end.
///
/// # Errors
/// When there is anything under that name, be it a link that leads nowhere, or it can't be made.
pub fn create_new(path: &Path) -> io::Result<File> {
    at_end(OpenOptions::new().read(true)).create_new(true).open(path)
}

/// On Windows a file that can only be appended to can't be cut to what it was, so whoever writes
/// goes to its end first.
fn at_end(options: &mut OpenOptions) -> &mut OpenOptions {
    if cfg!(windows) { options.write(true) } else { options.append(true) }
}

/// Reads a whole file of at most `limit` bytes. Its size is looked at before anything is read, and
/// no more than the limit is read of one that grows meanwhile.
///
/// # Errors
/// As [`open`], and when it is larger than the limit ([`Refusal::TooLarge`]).
pub fn read(path: &Path, limit: u64, links: Links) -> io::Result<Vec<u8>> {
    read_open(&open(path, links)?, limit)
}

/// Reads a whole file that is open already, from its beginning, as [`read`] does.
///
/// # Errors
/// When it is larger than the limit ([`Refusal::TooLarge`]), or can't be read.
pub fn read_open(mut file: &File, limit: u64) -> io::Result<Vec<u8>> {
    file.rewind()?;
    let size = file.metadata()?.len();
    if size > limit {
        return Err(Refusal::TooLarge { size, limit }.into());
    }
    let mut bytes = Vec::with_capacity(size as usize);
    file.take(limit.saturating_add(1)).read_to_end(&mut bytes)?;
    let size = bytes.len() as u64;
    if size > limit {
        return Err(Refusal::TooLarge { size, limit }.into());
    }
    Ok(bytes)
}

fn opened(path: &Path, links: Links, options: &mut OpenOptions) -> io::Result<File> {
    let before = match links {
        Links::Follow => path.metadata()?,
        Links::Refuse => path.symlink_metadata()?,
    };
    must_be_a_file(&before)?;
    // Should the name have been given to a pipe or a link since: neither waited for nor followed.
    // Windows has no such flags: there links take a right of their own to make, and the flag that
    // opens a link itself also keeps the system from fetching a file that lies in its cloud.
    #[cfg(unix)]
    {
        use rustix::fs::OFlags;
        use std::os::unix::fs::OpenOptionsExt as _;
        let mut flags = OFlags::NONBLOCK | OFlags::NOCTTY;
        if links == Links::Refuse {
            flags |= OFlags::NOFOLLOW;
        }
        options.custom_flags(flags.bits() as i32);
    }
    let file = options.open(path)?;
    must_be_a_file(&file.metadata()?)?;
    Ok(file)
}

fn must_be_a_file(metadata: &Metadata) -> io::Result<()> {
    match Kind::of(metadata.file_type()) {
        Kind::File => Ok(()),
        kind => Err(Refusal::NotAFile(kind).into()),
    }
}
