//! What a path leads to: a file or something else.

use std::fmt;
use std::fs::FileType;
use std::io;
use std::path::Path;

/// What a path leads to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A file.
    File,
    /// A folder.
    Folder,
    /// A link, to whatever.
    Link,
    /// A named pipe.
    Pipe,
    /// A socket.
    Socket,
    /// A device that is read and written by characters, as a terminal or `/dev/null`.
    Device,
    /// A disk.
    Disk,
    /// Something that this system has and this program does not know.
    Other,
}

impl Kind {
    pub(crate) fn of(kind: FileType) -> Self {
        if kind.is_symlink() {
            return Self::Link;
        }
        if kind.is_file() {
            return Self::File;
        }
        if kind.is_dir() {
            return Self::Folder;
        }
        #[cfg(unix)]
        {
            use std::os::unix::fs::FileTypeExt as _;
            if kind.is_fifo() {
                return Self::Pipe;
            }
            if kind.is_socket() {
                return Self::Socket;
            }
            if kind.is_char_device() {
                return Self::Device;
            }
            if kind.is_block_device() {
                return Self::Disk;
            }
        }
        Self::Other
    }
}

impl fmt::Display for Kind {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(match self {
            Self::File => "a file",
            Self::Folder => "a folder",
            Self::Link => "a link",
            Self::Pipe => "a pipe",
            Self::Socket => "a socket",
            Self::Device => "a device",
            Self::Disk => "a disk",
            Self::Other => "something else",
        })
    }
}

/// What a path leads to, without following it.
///
/// # Errors
/// When there is nothing, or the system does not tell.
pub fn kind(path: &Path) -> io::Result<Kind> {
    Ok(Kind::of(path.symlink_metadata()?.file_type()))
}
