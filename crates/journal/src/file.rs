//! A journal on disk. An entry is appended under the file's lock, after the end of the file was
//! compared with what was read, and synced before it counts.

use crate::digest::{Digest, Sign};
use crate::error::Error;
use crate::line::{Entry, Line};
use crate::reading::{Fault, Reading, is_before, latest, replay};
use crate::stamp::Stamp;
use std::fs::{File, OpenOptions};
use std::io::{self, Read as _, Seek as _, SeekFrom, Write as _};
use std::path::{Path, PathBuf};

/// A journal whose every line was read and holds.
#[derive(Debug)]
pub struct Journal {
    path: PathBuf,
    lines: Vec<Line>,
    /// The bytes on disk that `lines` account for.
    length: u64,
    /// How many of them the last line takes.
    last: u64,
}

impl Journal {
    /// Opens the journal at `path` for writing; a file that is not there is an empty journal and
    /// is made with the first entry. A torn last line is moved to a file of its own, whose path is
    /// given.
    ///
    /// # Errors
    /// When the file can't be read, is damaged, or a torn line can't be set aside.
    pub fn open(path: &Path) -> Result<(Self, Option<PathBuf>), Error> {
        let unreadable = |cause| Error::Unreadable { path: path.to_owned(), cause };
        // For writing where it can be: a torn line is cut off through the handle that has the lock.
        let writable = OpenOptions::new().read(true).write(true).open(path);
        let mut file = match writable.or_else(|_read_only| File::open(path)) {
            Ok(file) => file,
            Err(cause) if cause.kind() == io::ErrorKind::NotFound => {
                return Ok((Self::of(path, Reading::default()), None));
            }
            Err(cause) => return Err(unreadable(cause)),
        };
        // Under the lock no other writer is in the middle of its line.
        lock(&file).map_err(unreadable)?;
        let mut bytes = Vec::new();
        file.read_to_end(&mut bytes).map_err(unreadable)?;
        let mut reading = replay(&bytes);
        let aside = match reading.fault.take() {
            None => None,
            Some(Fault::Torn { .. }) => {
                let torn = bytes.get(reading.length as usize..).unwrap_or_default();
                let aside = set_aside(path, &file, torn, reading.length)
                    .map_err(|cause| Error::NotSetAside { path: path.to_owned(), cause })?;
                Some(aside)
            }
            Some(fault) => return Err(Error::Faulty { path: path.to_owned(), fault }),
        };
        Ok((Self::of(path, reading), aside))
    }

    fn of(path: &Path, reading: Reading) -> Self {
        let Reading { lines, length, last, .. } = reading;
        Self { path: path.to_owned(), lines, length, last }
    }

    /// The file.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// All lines, in order.
    pub fn lines(&self) -> &[Line] {
        &self.lines
    }

    /// The digest of the last line.
    pub fn head(&self) -> Digest {
        self.lines.last().map_or(Digest::NONE, Line::digest)
    }

    /// Whether an entry could be dated `at`.
    ///
    /// # Errors
    /// When the clock is behind the latest entry.
    pub fn check_clock(&self, at: Stamp) -> Result<(), Error> {
        match latest(&self.lines) {
            Some(last) if is_before(last, at) => {
                Err(Error::ClockBehind { path: self.path.clone(), last, now: at })
            }
            _ => Ok(()),
        }
    }

    /// Appends an entry; when this returns, it is on the disk. `sign` is given what a signature covers.
    ///
    /// # Errors
    /// When the chain has moved on, the clock is behind, or the disk refuses; then the entry was
    /// not made.
    pub fn append(&mut self, entry: Entry, sign: Option<Sign<'_>>) -> Result<&Line, Error> {
        let (line, bytes) = Line::new(entry, self.lines.len() as u64 + 1, self.head(), sign);
        if !line.corrects_clock() {
            self.check_clock(line.at())?;
        }
        if !self.write(&bytes).map_err(|cause| self.not_written(cause))? {
            return Err(Error::MovedOn { path: self.path.clone() });
        }
        self.last = bytes.len() as u64;
        self.length += self.last;
        let index = self.lines.len();
        self.lines.push(line);
        Ok(&self.lines[index])
    }

    fn not_written(&self, cause: io::Error) -> Error {
        Error::NotWritten { path: self.path.clone(), cause }
    }

    /// Writes and syncs; false when the file is not as it was read.
    fn write(&self, bytes: &[u8]) -> io::Result<bool> {
        let is_new = self.lines.is_empty();
        let mut file =
            OpenOptions::new().read(true).append(true).create(is_new).open(&self.path)?;
        lock(&file)?;
        if !self.is_as_read(&mut file)? {
            return Ok(false);
        }
        if let Err(cause) = file.write_all(bytes).and_then(|()| file.sync_all()) {
            // What was written in part must not stay; where even that fails, it is a torn line
            // that the next opening sets aside.
            let undone = file.set_len(self.length).and_then(|()| file.sync_all());
            return Err(match undone {
                Ok(()) => cause,
                Err(undoing) => io::Error::new(cause.kind(), format!("{cause}; then {undoing}")),
            });
        }
        if is_new {
            sync_folder(&self.path)?;
        }
        Ok(true)
    }

    fn is_as_read(&self, file: &mut File) -> io::Result<bool> {
        if file.metadata()?.len() != self.length {
            return Ok(false);
        }
        let mut last = Vec::new();
        file.seek(SeekFrom::Start(self.length - self.last))?;
        file.read_to_end(&mut last)?;
        Ok(self.lines.last().is_none_or(|line| Digest::of(&last) == line.digest()))
    }
}

/// Waits for the file's lock. A file system without locks is used without: the comparison before
/// each write still holds.
fn lock(file: &File) -> io::Result<()> {
    match file.lock() {
        Err(cause) if cause.kind() != io::ErrorKind::Unsupported => Err(cause),
        _ => Ok(()),
    }
}

/// Copies the torn bytes to a new file, then cuts them off.
fn set_aside(path: &Path, journal: &File, torn: &[u8], length: u64) -> io::Result<PathBuf> {
    for number in 1.. {
        let mut name = path.as_os_str().to_owned();
        name.push(format!(".torn-{number}"));
        let aside = PathBuf::from(name);
        let mut file = match File::create_new(&aside) {
            Ok(file) => file,
            Err(cause) if cause.kind() == io::ErrorKind::AlreadyExists => continue,
            Err(cause) => return Err(cause),
        };
        file.write_all(torn)?;
        file.sync_all()?;
        sync_folder(path)?;
        journal.set_len(length)?;
        journal.sync_all()?;
        return Ok(aside);
    }
    Err(io::Error::other("there are too many torn lines"))
}

/// Makes a new name in the folder last; not every system lets one do that.
fn sync_folder(path: &Path) -> io::Result<()> {
    #[cfg(unix)]
    {
        let folder = match path.parent() {
            Some(folder) if !folder.as_os_str().is_empty() => folder,
            _ => Path::new("."),
        };
        File::open(folder)?.sync_all()?;
    }
    #[cfg(not(unix))]
    {
        let _: &Path = path;
    }
    Ok(())
}
