//! A journal on disk. An entry is appended under the file's lock, after the end of the file was
//! compared with what was read, and synced before it counts. Opening writes nothing: what is torn
//! is told, and set aside by whoever makes the next entry.

use crate::damage::Fault;
use crate::digest::{Digest, Sign};
use crate::error::Error;
use crate::line::{Entry, Line};
use crate::reading::{LIMIT, Reading, is_before, latest, replay};
use crate::stamp::Stamp;
use disk::{Links, Lock, PATIENCE, TryLock};
use std::fmt;
use std::fs::File;
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
    /// What follows them without a line feed.
    torn: Vec<u8>,
    /// Where that was put by an entry.
    aside: Option<PathBuf>,
    try_lock: TryLock,
    /// What another machine does between the writing of a line and its reading back.
    #[cfg(test)]
    meanwhile: fn(&Path),
}

/// A last line without a line feed: a write that was cut short. It stays where it is until the next
/// entry, which moves it to a file of its own.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Torn {
    /// The journal.
    pub path: PathBuf,
    /// The line it would have been, from 1.
    pub line: u64,
    /// How many bytes there are.
    pub bytes: u64,
}

impl fmt::Display for Torn {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            formatter,
            "{}: {}; every line above it is intact, and the next entry moves it to a file of its own ({}.torn-1 or the next free number)",
            self.path.display(),
            Fault::Torn { line: self.line, bytes: self.bytes },
            self.path.file_name().unwrap_or_default().display()
        )
    }
}

impl Journal {
    /// Opens the journal at `path` and writes nothing; a file that is not there is an empty journal
    /// and is made with the first entry. A torn last line is told.
    ///
    /// # Errors
    /// When the file can't be read, is no file or a link, is damaged, or is locked by somebody who
    /// is in the middle of a line and does not come to its end.
    pub fn open(path: &Path) -> Result<(Self, Option<Torn>), Error> {
        let unreadable = |cause| Error::Unreadable { path: path.to_owned(), cause };
        let file = match disk::open(path, Links::Refuse) {
            Ok(file) => file,
            Err(cause) if cause.kind() == io::ErrorKind::NotFound => {
                return Ok((Self::of(path, Reading::default(), Vec::new()), None));
            }
            Err(cause) => return Err(unreadable(cause)),
        };
        // What is whole needs no lock. Only what is not may be a line that somebody is writing, and
        // there are systems that keep others from reading meanwhile.
        let read = || disk::read_open(&file, LIMIT);
        let whole = read().ok().map(|bytes| (replay(&bytes), bytes));
        let (mut reading, bytes) = match whole {
            Some(whole) if whole.0.fault.is_none() => whole,
            _ => {
                let _lock = Lock::share(&file, path, PATIENCE)
                    .map_err(|cause| Error::Locked { path: path.to_owned(), cause })?;
                let bytes = read().map_err(unreadable)?;
                (replay(&bytes), bytes)
            }
        };
        match reading.fault.take() {
            None => Ok((Self::of(path, reading, Vec::new()), None)),
            Some(Fault::Torn { line, bytes: length }) => {
                let rest = bytes.get(reading.length as usize..).unwrap_or_default().to_vec();
                let torn = Torn { path: path.to_owned(), line, bytes: length };
                Ok((Self::of(path, reading, rest), Some(torn)))
            }
            Some(fault) => Err(Error::Faulty { path: path.to_owned(), fault }),
        }
    }

    fn of(path: &Path, reading: Reading, torn: Vec<u8>) -> Self {
        let Reading { lines, length, last, .. } = reading;
        Self {
            path: path.to_owned(),
            lines,
            length,
            last,
            torn,
            aside: None,
            try_lock: File::try_lock,
            #[cfg(test)]
            meanwhile: |_| {},
        }
    }

    /// Where an entry has put a torn line that was there when the journal was opened.
    pub fn aside(&self) -> Option<&Path> {
        self.aside.as_deref()
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

    /// Appends an entry; when this returns, it is on the disk. `sign` is given what a signature
    /// covers. A torn line is moved to a file of its own first, see [`Journal::aside`].
    ///
    /// # Errors
    /// When the chain has moved on, the clock is behind, somebody else has the lock, or the disk
    /// refuses; then the entry was not made.
    pub fn append(&mut self, entry: Entry, sign: Option<Sign<'_>>) -> Result<&Line, Error> {
        let index = self.lines.len();
        self.append_all(vec![(entry, sign)])?;
        Ok(&self.lines[index])
    }

    /// Appends entries, each in a line of its own, written and synced in one go.
    ///
    /// # Errors
    /// As [`Journal::append`]; then none of them counts. Where the disk refuses in the middle and won't
    /// take back what was written either, whole lines may stay: whoever reads the journal again sees them.
    pub fn append_all(&mut self, entries: Vec<(Entry, Option<Sign<'_>>)>) -> Result<(), Error> {
        let (mut lines, mut bytes) = (Vec::with_capacity(entries.len()), Vec::new());
        let (mut head, mut last) = (self.head(), self.last);
        for (entry, sign) in entries {
            let sequence = (self.lines.len() + lines.len()) as u64 + 1;
            let (line, written) = Line::new(entry, sequence, head, sign);
            if !line.corrects_clock() {
                self.check_clock(line.at())?;
            }
            (head, last) = (line.digest(), written.len() as u64);
            bytes.extend(written);
            lines.push(line);
        }
        if self.length + bytes.len() as u64 > LIMIT {
            return Err(self.not_written(io::Error::other("it would be longer than what is read")));
        }
        self.write(&bytes)?;
        self.last = last;
        self.length += bytes.len() as u64;
        self.lines.extend(lines);
        Ok(())
    }

    fn not_written(&self, cause: io::Error) -> Error {
        Error::NotWritten { path: self.path.clone(), cause }
    }

    /// Writes and syncs.
    fn write(&mut self, bytes: &[u8]) -> Result<(), Error> {
        let (mut file, is_new) = self.file().map_err(|cause| self.not_written(cause))?;
        let lock = Lock::take_by(self.try_lock, &file, &self.path, PATIENCE)
            .map_err(|cause| Error::Locked { path: self.path.clone(), cause })?;
        if !self.is_as_read(&mut file).map_err(|cause| self.not_written(cause))? {
            return Err(Error::MovedOn { path: self.path.clone() });
        }
        if !self.torn.is_empty() {
            let aside = set_aside(&self.path, &file, &self.torn, self.length)
                .map_err(|cause| Error::NotSetAside { path: self.path.clone(), cause })?;
            self.aside = Some(aside);
            self.torn.clear();
        }
        self.write_at_end(&mut file, bytes).map_err(|cause| self.not_written(cause))?;
        if is_new {
            disk::sync_folder(&self.path).map_err(|cause| self.not_written(cause))?;
        }
        #[cfg(test)]
        (self.meanwhile)(&self.path);
        if !lock.is_real() && !self.is_there(bytes).map_err(|cause| self.not_written(cause))? {
            return Err(Error::NotThere { path: self.path.clone() });
        }
        Ok(())
    }

    /// The file, opened for an entry, and whether it was made. Only a journal without a line may
    /// begin: one that was taken away is not begun anew behind one's back.
    fn file(&self) -> io::Result<(File, bool)> {
        match disk::append(&self.path) {
            Err(cause) if cause.kind() == io::ErrorKind::NotFound && self.lines.is_empty() => {}
            opened => return Ok((opened?, false)),
        }
        match disk::create_new(&self.path) {
            // Somebody else began it just now.
            Err(cause) if cause.kind() == io::ErrorKind::AlreadyExists => {
                Ok((disk::append(&self.path)?, false))
            }
            made => Ok((made?, true)),
        }
    }

    fn write_at_end(&self, file: &mut File, bytes: &[u8]) -> io::Result<()> {
        file.seek(SeekFrom::Start(self.length))?;
        let Err(cause) = file.write_all(bytes).and_then(|()| file.sync_all()) else {
            return Ok(());
        };
        // What was written in part must not stay; where even that fails, it is a torn line that the
        // next entry sets aside.
        let undone = file.set_len(self.length).and_then(|()| file.sync_all());
        Err(match undone {
            Ok(()) => cause,
            Err(undoing) => io::Error::new(cause.kind(), format!("{cause}; then {undoing}")),
        })
    }

    fn is_as_read(&self, file: &mut File) -> io::Result<bool> {
        if file.metadata()?.len() != self.length + self.torn.len() as u64 {
            return Ok(false);
        }
        let mut end = Vec::new();
        file.seek(SeekFrom::Start(self.length - self.last))?;
        file.read_to_end(&mut end)?;
        let (last, torn) = end.split_at_checked(self.last as usize).unwrap_or_default();
        let is_last = self.lines.last().is_none_or(|line| Digest::of(last) == line.digest());
        Ok(is_last && torn == self.torn)
    }

    /// Whether an entry that was written is the last, seen through a handle of its own: what others
    /// wrote at the same moment shows there.
    fn is_there(&self, bytes: &[u8]) -> io::Result<bool> {
        let mut file = disk::open(&self.path, Links::Refuse)?;
        if file.metadata()?.len() != self.length + bytes.len() as u64 {
            return Ok(false);
        }
        let mut end = Vec::new();
        file.seek(SeekFrom::Start(self.length - self.last))?;
        file.read_to_end(&mut end)?;
        let (last, own) = end.split_at_checked(self.last as usize).unwrap_or_default();
        let is_last = self.lines.last().is_none_or(|line| Digest::of(last) == line.digest());
        Ok(is_last && own == bytes)
    }
}

/// Copies the torn bytes to a new file, then cuts them off.
fn set_aside(path: &Path, journal: &File, torn: &[u8], length: u64) -> io::Result<PathBuf> {
    for number in 1.. {
        let mut name = path.as_os_str().to_owned();
        name.push(format!(".torn-{number}"));
        let aside = PathBuf::from(name);
        let mut file = match disk::create_new(&aside) {
            Ok(file) => file,
            Err(cause) if cause.kind() == io::ErrorKind::AlreadyExists => continue,
            Err(cause) => return Err(cause),
        };
        file.write_all(torn)?;
        file.sync_all()?;
        disk::sync_folder(path)?;
        journal.set_len(length)?;
        journal.sync_all()?;
        return Ok(aside);
    }
    Err(io::Error::other("there are too many incomplete lines"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Stamp;
    use std::fs::TryLockError;
    use trace::Instant;

    /// As NFS answers in some set-ups.
    fn no_locks(_: &File) -> Result<(), TryLockError> {
        Err(TryLockError::Error(io::Error::other("No locks available")))
    }

    fn entry(text: &str) -> Entry {
        let at = Stamp::new(Instant::from_unix_milliseconds(1_773_468_000_000), 0);
        let Some(at) = at else { panic!("a stamp") };
        let mut body = crate::Body::new();
        body.insert("text".into(), text.into());
        Entry { at, by: "anna.example".into(), body }
    }

    fn begun(path: &Path) -> Journal {
        let Ok((mut journal, None)) = Journal::open(path) else { panic!("it is opened") };
        journal.try_lock = no_locks;
        journal
    }

    #[test]
    fn where_there_are_no_locks_a_file_beside_keeps_others_out() {
        let Ok(folder) = tempfile::tempdir() else { panic!("a folder") };
        let path = folder.path().join("day.review.jsonl");
        let mut journal = begun(&path);
        assert!(journal.append(entry("first"), None).is_ok());
        let lock = disk::lock_path(&path);
        assert!(!lock.exists(), "it is given back");
        assert!(std::fs::write(&lock, "Ada, at work\n").is_ok());
        let before = std::fs::read(&path).ok();
        let Err(error) = journal.append(entry("second"), None) else { panic!("it is locked") };
        assert!(error.to_string().contains("it is locked by Ada, at work"), "{error}");
        assert_eq!(std::fs::read(&path).ok(), before);
        assert!(lock.exists(), "it is somebody else's");
        assert!(std::fs::remove_file(&lock).is_ok());
        assert!(journal.append(entry("second"), None).is_ok());
    }

    #[test]
    fn an_entry_without_a_lock_is_read_back() {
        let Ok(folder) = tempfile::tempdir() else { panic!("a folder") };
        let path = folder.path().join("day.review.jsonl");
        let mut journal = begun(&path);
        assert!(journal.append(entry("first"), None).is_ok());
        // Another machine, whose locks are its own, writes in the same place.
        journal.meanwhile = |path| {
            let bytes = std::fs::read(path).unwrap_or_default();
            let text = String::from_utf8_lossy(&bytes).replace("of ours", "of them");
            assert!(std::fs::write(path, text).is_ok());
        };
        let refused = journal.append(entry("of ours"), None);
        let Err(error @ Error::NotThere { .. }) = refused else { panic!("{refused:?}") };
        assert!(error.to_string().contains("NOT"), "{error}");
        assert_eq!(journal.lines().len(), 1, "it does not count");
    }
}
