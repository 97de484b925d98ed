//! The sample runs on disk, for tests that read files as a user would.

use crate::{Error, sample_runs};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

/// One thread of a process writes at a time.
static WRITING: Mutex<()> = Mutex::new(());

/// Writes all sample runs into the folder `sample-runs` below `parent` and gives its path.
///
/// Tests run in many processes at the same time: what is there already is left alone, and a file
/// that is new or differs appears as a whole.
///
/// # Errors
/// As [`sample_runs`], and when a file can't be written.
pub fn write_sample_runs(parent: &Path) -> Result<PathBuf, Error> {
    let _one_at_a_time = WRITING.lock().unwrap_or_else(PoisonError::into_inner);
    let folder = parent.join("sample-runs");
    let unfinished = parent.join(format!("sample-run.{}", std::process::id()));
    fs::create_dir_all(folder.join("truth"))?;
    for (name, bytes) in sample_runs()? {
        let path = folder.join(name);
        if fs::read(&path).is_ok_and(|there| there == bytes) {
            continue;
        }
        fs::write(&unfinished, bytes)?;
        fs::rename(&unfinished, path)?;
    }
    Ok(folder)
}
