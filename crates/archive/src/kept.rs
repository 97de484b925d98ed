//! By what a file is known to be the same as before, and the row that was made of it.
//!
//! Length, time of the last change of the bytes, and (where the system tells it) of the last change
//! of anything: the latter can't be set back by a program that sets the former. Whoever wants to be
//! sure that nothing was changed verifies the record: that reads every byte.

use daybook::Day;
use serde::{Deserialize, Serialize};
use std::path::Path;
use std::time::{Duration, SystemTime, UNIX_EPOCH};

/// A file as it was.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct Seen {
    path: String,
    bytes: u64,
    modified: u128,
    changed: i128,
}

impl Seen {
    /// The file as it is; `None` when it can't be looked at.
    pub(crate) fn now(path: &Path) -> Option<Self> {
        let meta = std::fs::metadata(path).ok()?;
        let modified = meta.modified().ok()?.duration_since(UNIX_EPOCH).ok()?.as_nanos();
        #[cfg(unix)]
        let changed = {
            use std::os::unix::fs::MetadataExt as _;
            i128::from(meta.ctime()) * 1_000_000_000 + i128::from(meta.ctime_nsec())
        };
        #[cfg(not(unix))]
        let changed = 0;
        let path = path.to_string_lossy().into_owned();
        Some(Self { path, bytes: meta.len(), modified, changed })
    }

    /// Whether it was last changed long enough before `now` that another change would show: clocks
    /// of file systems tick in steps of up to two seconds (FAT; common practice of build tools).
    pub(crate) fn is_settled(&self, now: SystemTime) -> bool {
        let now = now.duration_since(UNIX_EPOCH).unwrap_or(Duration::ZERO).as_nanos();
        let step = Duration::from_secs(2).as_nanos();
        let changed = u128::try_from(self.changed).unwrap_or(0);
        self.modified.max(changed) + step < now
    }
}

/// A row with the files that it was made of.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(crate) struct Kept {
    /// Logger files, plant file and run sheet, in order. One that comes or goes changes the list.
    pub(crate) seen: Vec<Seen>,
    /// The row.
    pub(crate) day: Day,
}
