//! Instants, durations and intervals, all in whole milliseconds.
//!
//! Instants count from the Unix epoch in UTC. Local time and time zones belong to the plant;
//! nothing here knows them.

use std::fmt;
use std::ops::{Add, Sub};

/// A point in time: milliseconds since 1970-01-01T00:00:00Z.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Instant(i64);

impl Instant {
    /// The instant that lies `milliseconds` after the Unix epoch.
    #[inline]
    pub const fn from_unix_milliseconds(milliseconds: i64) -> Self {
        Self(milliseconds)
    }

    /// Milliseconds since the Unix epoch.
    #[inline]
    pub const fn unix_milliseconds(self) -> i64 {
        self.0
    }

    /// The time from `earlier` to `self`; negative when `earlier` is in fact later.
    #[inline]
    pub const fn since(self, earlier: Self) -> Duration {
        Duration(self.0 - earlier.0)
    }

    /// The instant half way between `self` and `other`, an exact half rounded to the later
    /// millisecond.
    ///
    /// Every midpoint of the audit comes from here, so that two intervals that meet at a midpoint
    /// meet at the same millisecond.
    #[inline]
    pub const fn midpoint(self, other: Self) -> Self {
        let sum = self.0 + other.0;
        // Euclidean division rounds towards the past for negative sums as well.
        Self((sum + 1).div_euclid(2))
    }
}

/// A length of time in milliseconds. Never negative where it comes from an [`Interval`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Duration(i64);

impl Duration {
    /// No time at all.
    pub const ZERO: Self = Self(0);

    /// A duration of `milliseconds`.
    #[inline]
    pub const fn from_milliseconds(milliseconds: i64) -> Self {
        Self(milliseconds)
    }

    /// A duration of whole `seconds`.
    #[inline]
    pub const fn from_seconds(seconds: i64) -> Self {
        Self(seconds * 1000)
    }

    /// The duration in milliseconds.
    #[inline]
    pub const fn milliseconds(self) -> i64 {
        self.0
    }

    /// The duration in seconds.
    #[inline]
    pub fn seconds(self) -> f64 {
        self.0 as f64 / 1000.0
    }

    /// `self` taken `times` times.
    #[inline]
    pub const fn times(self, times: i64) -> Self {
        Self(self.0 * times)
    }
}

impl Add<Duration> for Instant {
    type Output = Self;
    #[inline]
    fn add(self, duration: Duration) -> Self {
        Self(self.0 + duration.0)
    }
}

impl Sub<Duration> for Instant {
    type Output = Self;
    #[inline]
    fn sub(self, duration: Duration) -> Self {
        Self(self.0 - duration.0)
    }
}

impl Add for Duration {
    type Output = Self;
    #[inline]
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl Sub for Duration {
    type Output = Self;
    #[inline]
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}

impl fmt::Display for Duration {
    /// Hours, minutes and seconds as a person would write them: `6 h 12 min`, `3 min 20 s`,
    /// `12.5 s`, `0 s`. Milliseconds are shown only below one minute, and nothing is rounded up.
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let milliseconds = self.0.unsigned_abs();
        if self.0 < 0 {
            formatter.write_str("-")?;
        }
        let seconds = milliseconds / 1000;
        let (hours, minutes, rest) = (seconds / 3600, seconds / 60 % 60, seconds % 60);
        if hours > 0 {
            write!(formatter, "{hours} h {minutes:02} min")
        } else if minutes > 0 {
            write!(formatter, "{minutes} min {rest:02} s")
        } else if milliseconds.is_multiple_of(1000) {
            write!(formatter, "{rest} s")
        } else {
            let thousandths = format!("{:03}", milliseconds % 1000);
            write!(formatter, "{rest}.{} s", thousandths.trim_end_matches('0'))
        }
    }
}

/// A closed interval of time. `start` is never after `end`; both may be the same instant.
///
/// ```
/// use trace::{Duration, Instant, Interval};
///
/// let second = |count: i64| Instant::from_unix_milliseconds(count * 1000);
/// let (cold, stuck) = (
///     Interval::between(second(10), second(40)),
///     Interval::between(second(40), second(70)),
/// );
/// assert!(cold.contains(second(40)) && stuck.contains(second(40)));
/// assert!(!cold.overlaps(stuck), "they share one instant and no time");
/// assert_eq!(cold.hull(stuck).duration(), Duration::from_seconds(60));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Interval {
    start: Instant,
    end: Instant,
}

impl Interval {
    /// The interval between two instants, given in either order.
    #[inline]
    pub fn between(one: Instant, other: Instant) -> Self {
        Self { start: one.min(other), end: one.max(other) }
    }

    /// The interval that holds one instant only.
    #[inline]
    pub const fn at(instant: Instant) -> Self {
        Self { start: instant, end: instant }
    }

    /// The first instant.
    #[inline]
    pub const fn start(self) -> Instant {
        self.start
    }

    /// The last instant.
    #[inline]
    pub const fn end(self) -> Instant {
        self.end
    }

    /// How long the interval is.
    #[inline]
    pub const fn duration(self) -> Duration {
        self.end.since(self.start)
    }

    /// Whether `instant` lies in the interval, its ends included.
    #[inline]
    pub fn contains(self, instant: Instant) -> bool {
        self.start <= instant && instant <= self.end
    }

    /// Whether the two intervals share more than an end point.
    #[inline]
    pub fn overlaps(self, other: Self) -> bool {
        self.start < other.end && other.start < self.end
    }

    /// The smallest interval that holds both.
    #[inline]
    pub fn hull(self, other: Self) -> Self {
        Self { start: self.start.min(other.start), end: self.end.max(other.end) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const fn instant(milliseconds: i64) -> Instant {
        Instant::from_unix_milliseconds(milliseconds)
    }

    #[test]
    fn midpoint_rounds_a_half_to_the_later_millisecond() {
        for (one, other, middle) in
            [(0, 1000, 500), (0, 1001, 501), (-3, 0, -1), (-3, -3, -3), (1001, 0, 501)]
        {
            assert_eq!(instant(one).midpoint(instant(other)), instant(middle), "{one} {other}");
        }
    }

    #[test]
    fn durations_read_like_a_person_wrote_them() {
        for (milliseconds, text) in [
            (0, "0 s"),
            (1, "0.001 s"),
            (12_500, "12.5 s"),
            (59_999, "59.999 s"),
            (200_000, "3 min 20 s"),
            (22_320_000, "6 h 12 min"),
            (-1500, "-1.5 s"),
        ] {
            assert_eq!(Duration::from_milliseconds(milliseconds).to_string(), text);
        }
    }

    #[test]
    fn touching_intervals_do_not_overlap() {
        let first = Interval::between(instant(0), instant(10));
        let second = Interval::between(instant(20), instant(10));
        assert!(!first.overlaps(second));
        assert!(first.overlaps(Interval::between(instant(9), instant(11))));
        assert_eq!(first.hull(second), Interval::between(instant(0), instant(20)));
    }
}
