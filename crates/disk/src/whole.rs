//! Files are written whole or not at all: to a temporary file beside, synced, then renamed, and
//! the folder synced, since only then the new name lasts. So is a folder of files.

use crate::kind::Kind;
use crate::refusal::Refusal;
use crate::sweep::{PREFIX, sweep};
use std::fs::File;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use tempfile::{NamedTempFile, TempDir};

/// Who may read a file that is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Access {
    /// As any new file: whom the user's mask allows.
    Everybody,
    /// Its owner alone. Where files have no such permissions, the user's profile keeps others out.
    OwnerOnly,
}

/// A file that is being written; nothing of it is seen until it is finished, and nothing stays
/// behind when it is dropped before.
#[derive(Debug)]
pub struct Whole {
    path: PathBuf,
    temporary: NamedTempFile,
}

impl Whole {
    /// Begins a file that is to be at `path`.
    ///
    /// # Errors
    /// When something other than a file is there ([`Refusal`]), or the folder can't be written.
    pub fn begin(path: &Path, access: Access) -> io::Result<Self> {
        match path.symlink_metadata() {
            Ok(there) => match Kind::of(there.file_type()) {
                Kind::File => {}
                kind => return Err(Refusal::NotAFile(kind).into()),
            },
            Err(cause) if cause.kind() == io::ErrorKind::NotFound => {}
            Err(cause) => return Err(cause),
        }
        let mut builder = tempfile::Builder::new();
        builder.prefix(PREFIX);
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt as _;
            let mode = match access {
                Access::Everybody => 0o666,
                Access::OwnerOnly => 0o600,
            };
            builder.permissions(std::fs::Permissions::from_mode(mode));
        }
        #[cfg(not(unix))]
        {
            let _: Access = access;
        }
        let temporary = builder.tempfile_in(folder(path))?;
        sweep(folder(path), &temporary);
        Ok(Self { path: path.to_owned(), temporary })
    }

    /// What was written so far, as the disk has it, at most `limit` bytes.
    ///
    /// # Errors
    /// When it can't be synced or read back.
    pub fn read_back(&self, limit: u64) -> io::Result<Vec<u8>> {
        self.temporary.as_file().sync_all()?;
        crate::read(self.temporary.path(), limit, crate::Links::Refuse)
    }

    /// Puts what was written in its place.
    ///
    /// # Errors
    /// When the disk refuses; then what was there before still is.
    pub fn finish(self) -> io::Result<()> {
        self.temporary.as_file().sync_all()?;
        self.temporary.persist(&self.path).map_err(|error| error.error)?;
        sync_folder(&self.path)
    }

    /// Puts what was written in its place when nothing is there.
    ///
    /// # Errors
    /// When something is there ([`io::ErrorKind::AlreadyExists`]), or the disk refuses.
    pub fn finish_new(self) -> io::Result<()> {
        self.temporary.as_file().sync_all()?;
        self.temporary.persist_noclobber(&self.path).map_err(|error| error.error)?;
        sync_folder(&self.path)
    }
}

impl Write for Whole {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.temporary.write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.temporary.flush()
    }
}

/// A new folder that is being filled; nothing of it is seen until it is finished, and nothing stays
/// behind when it is dropped before.
#[derive(Debug)]
pub struct WholeFolder {
    path: PathBuf,
    temporary: TempDir,
}

impl WholeFolder {
    /// Begins a folder that is to be at `path`.
    ///
    /// # Errors
    /// When something is there, or the folder around it can't be written.
    pub fn begin(path: &Path) -> io::Result<Self> {
        if path.exists() {
            return Err(io::Error::other("it is there already; name a new folder"));
        }
        let temporary = tempfile::Builder::new().prefix(PREFIX).tempdir_in(folder(path))?;
        let whole = Self { path: path.to_owned(), temporary };
        std::fs::create_dir(whole.folder())?;
        Ok(whole)
    }

    /// Where its files are to be written: with the permissions of any new folder, which the temporary
    /// one around it does not have.
    pub fn folder(&self) -> PathBuf {
        self.temporary.path().join("whole")
    }

    /// Puts what was written in its place.
    ///
    /// # Errors
    /// When the disk refuses; then nothing is there.
    pub fn finish(self) -> io::Result<()> {
        std::fs::rename(self.folder(), &self.path)?;
        sync_folder(&self.path)
    }
}

/// Writes a file, over the one that is there.
///
/// # Errors
/// When something other than a file is there ([`Refusal`]), or the file can't be written; then
/// nothing of it is there, and what was there before still is.
pub fn write_whole(path: &Path, bytes: &[u8], access: Access) -> io::Result<()> {
    let mut whole = Whole::begin(path, access)?;
    whole.write_all(bytes)?;
    whole.finish()
}

/// Writes a file where nothing is.
///
/// # Errors
/// As [`write_whole`], and when something is there ([`io::ErrorKind::AlreadyExists`]).
pub fn write_new(path: &Path, bytes: &[u8], access: Access) -> io::Result<()> {
    if path.symlink_metadata().is_ok() {
        return Err(io::ErrorKind::AlreadyExists.into());
    }
    let mut whole = Whole::begin(path, access)?;
    whole.write_all(bytes)?;
    whole.finish_new()
}

/// The folder of a file.
pub(crate) fn folder(path: &Path) -> &Path {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    }
}

/// Makes a new, renamed or removed name in the folder of `path` last. Not every system lets one do
/// that, and not every file system: then it lasts as soon as the system writes it by itself.
///
/// # Errors
/// When the disk refuses.
pub fn sync_folder(path: &Path) -> io::Result<()> {
    if cfg!(not(unix)) {
        return Ok(());
    }
    match File::open(folder(path))?.sync_all() {
        Err(cause)
            if matches!(cause.kind(), io::ErrorKind::InvalidInput | io::ErrorKind::Unsupported) =>
        {
            Ok(())
        }
        done => done,
    }
}
