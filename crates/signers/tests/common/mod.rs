//! What the tests of this crate share: folders and dates.

use journal::Stamp;
use tests::good;
use trace::Instant;

pub fn folder() -> tempfile::TempDir {
    good(tempfile::tempdir())
}

/// An instant, counted from a morning in March 2026.
pub fn seconds(seconds: i64) -> Instant {
    Instant::from_unix_milliseconds(1_773_468_000_000 + seconds * 1000)
}

/// A date, counted like `seconds`.
pub fn stamp(after: i64) -> Stamp {
    Stamp::new(seconds(after), -5 * 3600).unwrap_or_else(|| panic!("{after}"))
}
