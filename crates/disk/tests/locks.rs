//! No lock is waited for without end, and a system without locks gets one way to keep others out.

use disk::{Lock, LockError, lock_path};
use std::fs::{File, TryLockError};
use std::io;
use std::path::Path;
use std::time::{Duration, Instant, SystemTime};

const SHORT: Duration = Duration::from_millis(60);

fn folder() -> tempfile::TempDir {
    tempfile::tempdir().unwrap_or_else(|error| panic!("{error}"))
}

fn journal(folder: &tempfile::TempDir) -> (std::path::PathBuf, File) {
    let path = folder.path().join("journal");
    let file = disk::create_new(&path).unwrap_or_else(|error| panic!("{error}"));
    (path, file)
}

fn again(path: &Path) -> File {
    disk::append(path).unwrap_or_else(|error| panic!("{error}"))
}

/// As NFS answers whoever locks for writing a file that was opened for reading.
fn no_locks(_: &File) -> Result<(), TryLockError> {
    Err(TryLockError::Error(io::Error::other("no locks here")))
}

#[test]
fn a_lock_is_waited_for_a_while_and_then_told() {
    let folder = folder();
    let (path, file) = journal(&folder);
    let held = Lock::take(&file, &path, SHORT);
    assert!(held.as_ref().is_ok_and(Lock::is_real));
    let begun = Instant::now();
    for second in
        [Lock::take(&again(&path), &path, SHORT), Lock::share(&again(&path), &path, SHORT)]
    {
        let Err(error) = second else { panic!("there are two locks") };
        assert_eq!(error.to_string(), "it is locked by another program");
    }
    assert!((2 * SHORT..100 * SHORT).contains(&begun.elapsed()), "{:?}", begun.elapsed());
    let waits = std::thread::spawn({
        let path = path.clone();
        move || Lock::take(&again(&path), &path, Duration::from_mins(1)).is_ok()
    });
    std::thread::sleep(SHORT);
    drop(held);
    assert!(waits.join().is_ok_and(|got| got), "the lock is had once it is given back");
}

#[test]
fn where_there_are_no_locks_a_file_beside_keeps_others_out() {
    let folder = folder();
    let (path, file) = journal(&folder);
    let held = Lock::take_by(no_locks, &file, &path, SHORT);
    assert!(held.as_ref().is_ok_and(|lock| !lock.is_real()));
    let lock = lock_path(&path);
    let said = std::fs::read_to_string(&lock).unwrap_or_default();
    assert!(said.contains(&format!("process {}, 20", std::process::id())), "{said}");
    for second in [
        Lock::take_by(no_locks, &file, &path, SHORT),
        Lock::share_by(no_locks, &file, &path, SHORT),
    ] {
        let Err(error) = second else { panic!("there are two locks") };
        assert_eq!(error.to_string(), format!("it is locked by {}", said.trim()));
    }
    drop(held);
    assert!(!lock.exists(), "it is given back");
    let reading = Lock::share_by(no_locks, &file, &path, SHORT);
    assert!(reading.is_ok() && !lock.exists(), "nothing is written to read");
}

#[test]
fn a_lock_file_left_behind_is_told_and_never_broken() {
    let folder = folder();
    let (path, file) = journal(&folder);
    let lock = lock_path(&path);
    assert!(std::fs::write(&lock, "Ada, process 7, 2026-03-14 07:00 UTC\n").is_ok());
    let old = SystemTime::now() - Duration::from_mins(11);
    let set = File::options().write(true).open(&lock).map(|file| file.set_modified(old));
    assert!(set.is_ok_and(|set| set.is_ok()));
    for second in [
        Lock::take_by(no_locks, &file, &path, SHORT),
        Lock::share_by(no_locks, &file, &path, SHORT),
    ] {
        let Err(error @ LockError::Stale { .. }) = second else { panic!("{second:?}") };
        assert_eq!(
            error.to_string(),
            format!(
                "it is locked by the file {}, made by Ada, process 7, 2026-03-14 07:00 UTC, more \
                 than 10 minutes ago; make sure that nobody is at work, then delete that file",
                lock.display()
            )
        );
    }
    assert!(lock.exists());
}

#[test]
#[cfg(unix)]
fn a_lock_file_that_is_a_link_is_neither_followed_nor_broken() {
    let folder = folder();
    let (path, file) = journal(&folder);
    let secret = folder.path().join("secret");
    assert!(std::fs::write(&secret, "secret").is_ok());
    let linked = std::os::unix::fs::symlink(&secret, lock_path(&path));
    assert!(linked.is_ok());
    let Err(error) = Lock::take_by(no_locks, &file, &path, SHORT) else { panic!("locked") };
    assert_eq!(error.to_string(), "it is locked by another program");
    assert_eq!(std::fs::read_to_string(&secret).ok().as_deref(), Some("secret"));
}
