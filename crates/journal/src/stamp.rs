//! When an entry was made: an instant and the offset of the clock on the wall, written as
//! RFC 3339 with milliseconds, in one spelling only.

use chrono::{DateTime, FixedOffset, SecondsFormat, TimeZone as _};
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;
use trace::Instant;

/// Date and time with offset, to the millisecond.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Stamp(DateTime<FixedOffset>);

impl Stamp {
    /// The instant, as a clock shows it that is `offset_seconds` ahead of UTC, in whole minutes;
    /// `None` for an offset or a time that no clock shows.
    pub fn new(instant: Instant, offset_seconds: i32) -> Option<Self> {
        let offset = FixedOffset::east_opt(offset_seconds / 60 * 60)?;
        offset.timestamp_millis_opt(instant.unix_milliseconds()).single().map(Self)
    }

    /// The later of two.
    #[must_use]
    pub fn max(self, other: Self) -> Self {
        if other.0 > self.0 { other } else { self }
    }

    /// Date and time to the minute, as the clock on the wall showed them, for a person.
    pub fn minute(&self) -> String {
        self.0.format("%Y-%m-%d %H:%M").to_string()
    }

    /// The instant.
    pub const fn instant(&self) -> Instant {
        Instant::from_unix_milliseconds(self.0.timestamp_millis())
    }
}

impl fmt::Display for Stamp {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(&self.0.to_rfc3339_opts(SecondsFormat::Millis, false))
    }
}

/// A text is not the one spelling of a date and time.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{0:?} is not a date and time like \"2026-03-14T06:12:33.123-05:00\"")]
pub struct NotAStamp(String);

impl FromStr for Stamp {
    type Err = NotAStamp;

    fn from_str(text: &str) -> Result<Self, NotAStamp> {
        let stamp = DateTime::parse_from_rfc3339(text).ok().map(Self);
        let stamp = stamp.filter(|stamp| stamp.to_string() == text);
        stamp.ok_or_else(|| NotAStamp(text.to_owned()))
    }
}

impl TryFrom<String> for Stamp {
    type Error = NotAStamp;

    fn try_from(text: String) -> Result<Self, NotAStamp> {
        text.parse()
    }
}

impl From<Stamp> for String {
    fn from(stamp: Stamp) -> Self {
        stamp.to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_spelling_only() {
        let text = "2026-03-14T06:12:33.120-05:00";
        let Ok(stamp) = text.parse::<Stamp>() else { panic!("{text}") };
        assert_eq!(stamp.to_string(), text);
        assert_eq!(stamp.minute(), "2026-03-14 06:12");
        assert_eq!(Stamp::new(stamp.instant(), -5 * 3600), Some(stamp));
        for other in [
            "2026-03-14T06:12:33.12-05:00",
            "2026-03-14 06:12:33.120-05:00",
            "2026-03-14T06:12:33.120Z",
            "2026-03-14t06:12:33.120-05:00",
            "2026-02-30T06:12:33.120-05:00",
            "",
        ] {
            assert!(other.parse::<Stamp>().is_err(), "{other}");
        }
    }
}
