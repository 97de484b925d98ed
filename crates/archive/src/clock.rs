//! The clock of the file system that a folder lies on: on a share it is another machine's. A clock that
//! runs ahead once would date an entry so that nothing can be entered after it, so whoever makes an
//! entry asks first.

use std::path::Path;
use std::time::{Duration, SystemTime};

/// How far two clocks may differ before somebody is asked: as much as entries may go back.
const TOLERANCE: Duration =
    Duration::from_secs(journal::CLOCK_TOLERANCE.milliseconds().unsigned_abs() / 1000);

/// How far this machine's clock and that of the folder's file system lie apart, in words; `None` where
/// they agree, or where the folder's can't be told, since nothing can be written there.
pub fn clock_differs(folder: &Path) -> Option<String> {
    differs(SystemTime::now(), disk::folder_clock(folder).ok()?)
}

fn differs(here: SystemTime, there: SystemTime) -> Option<String> {
    let (apart, how) = match here.duration_since(there) {
        Ok(ahead) => (ahead, "ahead of"),
        Err(behind) => (behind.duration(), "behind"),
    };
    let apart_words =
        trace::Duration::from_seconds(i64::try_from(apart.as_secs()).unwrap_or(i64::MAX / 1000));
    (apart > TOLERANCE).then(|| {
        format!("this machine's clock is {apart_words} {how} that of the disk with the records")
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn clocks_far_apart_are_told_and_near_ones_are_not() {
        let now = SystemTime::UNIX_EPOCH + Duration::from_hours(500_000);
        let minutes = |minutes: u64| Duration::from_secs(60 * minutes);
        assert_eq!(differs(now, now), None);
        assert_eq!(differs(now, now - minutes(2)), None);
        assert_eq!(
            differs(now + minutes(90), now).as_deref(),
            Some("this machine's clock is 1 h 30 min ahead of that of the disk with the records")
        );
        assert!(
            differs(now, now + minutes(3)).is_some_and(|told| told.contains("3 min 00 s behind"))
        );
    }

    #[test]
    fn a_local_disk_agrees_and_keeps_nothing() {
        let Ok(folder) = tempfile::tempdir() else { panic!("a folder") };
        assert_eq!(clock_differs(folder.path()), None);
        assert_eq!(std::fs::read_dir(folder.path()).map_or(9, Iterator::count), 0);
        assert_eq!(clock_differs(&folder.path().join("gone")), None);
    }
}
