//! The clock on the wall and that of the disk, which tests and pictures set to a time of their own.

use chrono::{DateTime, FixedOffset, NaiveDate};
use journal::Stamp;
use plant::Zone;
use std::path::Path;
use trace::Instant;

/// Where the time of an entry comes from.
#[derive(Debug, Clone, Copy)]
pub struct Clock(pub fn() -> Instant);

impl Default for Clock {
    fn default() -> Self {
        Self(|| Instant::from_unix_milliseconds(chrono::Utc::now().timestamp_millis()))
    }
}

impl Clock {
    /// Now.
    pub fn now(self) -> Instant {
        (self.0)()
    }

    /// Now, with the offset of this machine's clock.
    pub fn local(self) -> DateTime<FixedOffset> {
        let now = DateTime::from_timestamp_millis(self.now().unix_milliseconds());
        now.unwrap_or_default().with_timezone(&chrono::Local).fixed_offset()
    }

    /// Today, on this machine's clock.
    pub fn today(self) -> NaiveDate {
        self.local().date_naive()
    }

    /// Now, as the plant's clocks show it; `None` for a time that can't be written down.
    pub fn stamp(self, zone: Zone) -> Option<Stamp> {
        zone.rfc3339(self.now()).parse().ok()
    }
}

/// How far this machine's clock and that of the disk under a folder lie apart, in words; `None` where
/// they agree. Tests bring one of their own.
#[derive(Debug, Clone, Copy)]
pub struct DiskClock(pub fn(&Path) -> Option<String>);

impl Default for DiskClock {
    fn default() -> Self {
        Self(archive::clock_differs)
    }
}

/// Date and time of an entry for a person: to the minute, on the clock of the plant.
pub fn minute(at: Stamp) -> String {
    at.minute()
}
