//! Locks that are never waited for without end. Whoever may read a file can lock it, so a lock is
//! tried for a few seconds and then told; where a file system has no locks, a file beside takes
//! their place.

use crate::open::{Links, read};
use crate::whole::sync_folder;
use std::fs::{File, TryLockError};
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant, SystemTime};

/// How long a lock is tried for. A line takes some milliseconds to be written and synced; three
/// seconds is what a person bears to wait (ours).
pub const PATIENCE: Duration = Duration::from_secs(3);

/// From which age on a lock file is told as left behind (ours): no writing takes ten minutes. It is
/// never removed by itself, since a clock may be wrong and a machine asleep.
pub const STALE: Duration = Duration::from_mins(10);

const PAUSE: Duration = Duration::from_millis(20);

/// The most that is read of a lock file.
const NAMED: u64 = 1 << 10;

/// How the system is asked for a lock: [`File::try_lock`], but for tests of systems that have none.
pub type TryLock = fn(&File) -> Result<(), TryLockError>;

/// A lock, given back when dropped.
#[derive(Debug)]
pub struct Lock {
    held: Held,
}

#[derive(Debug)]
enum Held {
    /// By the system; it goes with the file even when the program is killed.
    System(File),
    /// By a lock file.
    Beside(PathBuf),
    /// For reading, where the system has no locks and no lock file was there.
    Nothing,
}

/// Why there is no lock.
#[derive(Debug, thiserror::Error)]
pub enum LockError {
    /// Somebody else has it.
    #[error("it is locked by {}", by.as_deref().unwrap_or("another program"))]
    Held {
        /// What the lock file says of them.
        by: Option<String>,
    },
    /// A lock file was left behind.
    #[error(
        "it is locked by the file {path}{}, more than {} minutes ago; make sure that nobody is at \
         work, then delete that file",
        by.as_ref().map(|by| format!(", made by {by}")).unwrap_or_default(),
        STALE.as_secs() / 60
    )]
    Stale {
        /// The lock file.
        path: PathBuf,
        /// What it says of who made it.
        by: Option<String>,
    },
    /// There are no locks, and no lock file can be made.
    #[error(
        "it can't be locked ({lock}), and the file {path} can't be made in place of a lock ({file})"
    )]
    Impossible {
        /// The lock file.
        path: PathBuf,
        /// What the system said of the lock.
        lock: io::Error,
        /// What it said of the lock file.
        #[source]
        file: io::Error,
    },
}

impl From<LockError> for io::Error {
    fn from(error: LockError) -> Self {
        let kind = match error {
            LockError::Held { .. } | LockError::Stale { .. } => io::ErrorKind::ResourceBusy,
            LockError::Impossible { .. } => io::ErrorKind::Unsupported,
        };
        Self::new(kind, error)
    }
}

/// The lock file for a file, where the system has no locks: its name and `.lock`.
pub fn lock_path(path: &Path) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(".lock");
    PathBuf::from(name)
}

impl Lock {
    /// Takes the lock for writing, of a file that was opened for writing: a file system that
    /// emulates locks gives none otherwise. Where the system gives no lock by any error, a file
    /// beside, made only if it is not there, takes its place.
    ///
    /// # Errors
    /// When somebody else has it after `patience`, or there is no way to lock.
    pub fn take(file: &File, path: &Path, patience: Duration) -> Result<Self, LockError> {
        Self::take_by(File::try_lock, file, path, patience)
    }

    /// As [`Lock::take`], by another way to ask the system.
    ///
    /// # Errors
    /// As [`Lock::take`].
    pub fn take_by(
        try_lock: TryLock,
        file: &File,
        path: &Path,
        patience: Duration,
    ) -> Result<Self, LockError> {
        match by_system(try_lock, file, patience)? {
            Ok(lock) => Ok(lock),
            Err(cause) => beside(path, &cause, patience),
        }
    }

    /// Takes the lock for reading, together with others who read. Nothing is written for it: where
    /// the system gives no lock, the lock file of a writer is waited for.
    ///
    /// # Errors
    /// When somebody writes after `patience`.
    pub fn share(file: &File, path: &Path, patience: Duration) -> Result<Self, LockError> {
        Self::share_by(File::try_lock_shared, file, path, patience)
    }

    /// As [`Lock::share`], by another way to ask the system.
    ///
    /// # Errors
    /// As [`Lock::share`].
    pub fn share_by(
        try_lock: TryLock,
        file: &File,
        path: &Path,
        patience: Duration,
    ) -> Result<Self, LockError> {
        if let Ok(lock) = by_system(try_lock, file, patience)? {
            return Ok(lock);
        }
        let path = lock_path(path);
        let begun = Instant::now();
        while path.symlink_metadata().is_ok() {
            is_not_stale(&path)?;
            wait(begun, patience).ok_or_else(|| LockError::Held { by: named(&path) })?;
        }
        Ok(Self { held: Held::Nothing })
    }

    /// Whether the system itself keeps others out. Otherwise whoever writes reads back what they
    /// wrote.
    pub const fn is_real(&self) -> bool {
        matches!(self.held, Held::System(_))
    }
}

impl Drop for Lock {
    fn drop(&mut self) {
        match &self.held {
            Held::System(file) => {
                // It goes with the last handle anyway.
                let _given_back = file.unlock().is_ok();
            }
            Held::Beside(path) => {
                // What stays is told by its age to the next who comes.
                let _removed = std::fs::remove_file(path).is_ok();
            }
            Held::Nothing => {}
        }
    }
}

/// The pause between two tries; `None` when the patience is at its end.
fn wait(begun: Instant, patience: Duration) -> Option<()> {
    let left = patience.checked_sub(begun.elapsed())?;
    std::thread::sleep(PAUSE.min(left));
    Some(())
}

/// The lock of the system, or why there is none.
fn by_system(
    try_lock: TryLock,
    file: &File,
    patience: Duration,
) -> Result<Result<Lock, io::Error>, LockError> {
    let begun = Instant::now();
    loop {
        match try_lock(file) {
            Ok(()) => {
                return Ok(file.try_clone().map(|file| Lock { held: Held::System(file) }));
            }
            Err(TryLockError::WouldBlock) => {
                wait(begun, patience).ok_or(LockError::Held { by: None })?;
            }
            Err(TryLockError::Error(cause)) if cause.kind() == io::ErrorKind::Interrupted => {}
            Err(TryLockError::Error(cause)) => return Ok(Err(cause)),
        }
    }
}

/// The lock by a file beside `path`.
fn beside(path: &Path, lock: &io::Error, patience: Duration) -> Result<Lock, LockError> {
    let path = lock_path(path);
    let lock = || io::Error::new(lock.kind(), lock.to_string());
    let begun = Instant::now();
    loop {
        match File::create_new(&path) {
            Ok(mut file) => {
                // That it is there is the lock; what it says is for people.
                let _told = writeln!(file, "{}", who(SystemTime::now())).is_ok()
                    && file.sync_all().is_ok()
                    && sync_folder(&path).is_ok();
                return Ok(Lock { held: Held::Beside(path) });
            }
            Err(cause) if cause.kind() == io::ErrorKind::AlreadyExists => {
                is_not_stale(&path)?;
                wait(begun, patience).ok_or_else(|| LockError::Held { by: named(&path) })?;
            }
            Err(file) => return Err(LockError::Impossible { path, lock: lock(), file }),
        }
    }
}

fn is_not_stale(path: &Path) -> Result<(), LockError> {
    let age = path
        .symlink_metadata()
        .and_then(|meta| meta.modified())
        .ok()
        .and_then(|made| SystemTime::now().duration_since(made).ok());
    match age {
        Some(age) if age > STALE => {
            Err(LockError::Stale { path: path.to_owned(), by: named(path) })
        }
        _ => Ok(()),
    }
}

/// What a lock file says of who made it.
fn named(path: &Path) -> Option<String> {
    let bytes = read(path, NAMED, Links::Refuse).ok()?;
    let text = String::from_utf8(bytes).ok()?;
    let text = text.trim();
    (!text.is_empty() && !text.contains(char::is_control)).then(|| text.to_owned())
}

/// Who makes a lock file, and when.
fn who(now: SystemTime) -> String {
    let user = std::env::var("USER").or_else(|_| std::env::var("USERNAME"));
    let user = user.unwrap_or_else(|_| "somebody".to_owned());
    let user: String = user.chars().filter(|letter| !letter.is_control()).collect();
    let process = std::process::id();
    let seconds = now.duration_since(SystemTime::UNIX_EPOCH).map_or(0, |since| since.as_secs());
    let (year, month, day) = date(seconds / 86_400);
    let (hour, minute) = (seconds / 3600 % 24, seconds / 60 % 60);
    format!("{user}, process {process}, {year}-{month:02}-{day:02} {hour:02}:{minute:02} UTC")
}

/// The date in the Gregorian calendar of a day counted from 1970-01-01.
fn date(mut day: u64) -> (u64, u64, u64) {
    let is_leap = |year: u64| {
        year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400))
    };
    let mut year = 1970;
    loop {
        let length = if is_leap(year) { 366 } else { 365 };
        if day < length {
            break;
        }
        day -= length;
        year += 1;
    }
    let february = if is_leap(year) { 29 } else { 28 };
    let mut month = 1;
    for length in [31, february, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31] {
        if day < length {
            break;
        }
        day -= length;
        month += 1;
    }
    (year, month, day + 1)
}

#[cfg(test)]
mod tests {
    use super::date;

    #[test]
    fn dates_of_the_gregorian_calendar() {
        assert_eq!(date(0), (1970, 1, 1));
        assert_eq!(date(11_016), (2000, 2, 29));
        assert_eq!(date(11_017), (2000, 3, 1));
        assert_eq!(date(20_526), (2026, 3, 14));
        assert_eq!(date(20_453 + 365), (2026, 12, 31));
    }
}
