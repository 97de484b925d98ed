//! How many wrong passphrases in a row, and when the last one was: what makes the next try wait.

use serde::{Deserialize, Serialize};
use trace::{Duration, Instant};

/// The content of `<signer>.tries`; where there is no such file, nothing was tried.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Tries {
    /// Passphrases tried since the last right one.
    tries: u32,
    /// The last of them, in milliseconds since 1970 UTC.
    last: i64,
}

impl Tries {
    /// One more, at `now`.
    pub(crate) const fn and_one(self, now: Instant) -> Self {
        Self { tries: self.tries.saturating_add(1), last: now.unix_milliseconds() }
    }

    /// The same count, waiting from `now`.
    pub(crate) const fn from(self, now: Instant) -> Self {
        Self { tries: self.tries, last: now.unix_milliseconds() }
    }

    /// How long to wait after the last try: 1 s, 2 s, 4 s, … up to 60 s.
    pub(crate) fn pause(self) -> Duration {
        match self.tries {
            0 => Duration::ZERO,
            tries @ 1..=6 => Duration::from_seconds(1 << (tries - 1)),
            _ => Duration::from_seconds(60),
        }
    }

    /// How long to wait still at `now`; `None` when the clock was set back behind the last try.
    pub(crate) fn wait(self, now: Instant) -> Option<Duration> {
        let passed = now.unix_milliseconds().saturating_sub(self.last);
        if self.tries > 0 && passed < 0 {
            return None;
        }
        Some(Duration::from_milliseconds((self.pause().milliseconds() - passed).max(0)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_pause_doubles_up_to_a_minute() {
        let now = Instant::from_unix_milliseconds(0);
        let mut tries = Tries::default();
        assert_eq!(tries.wait(now), Some(Duration::ZERO));
        for seconds in [1, 2, 4, 8, 16, 32, 60, 60, 60] {
            tries = tries.and_one(now);
            assert_eq!(tries.pause(), Duration::from_seconds(seconds), "{tries:?}");
        }
        assert_eq!(Tries { tries: u32::MAX, last: 0 }.and_one(now).pause().milliseconds(), 60_000);
    }

    #[test]
    fn no_date_in_the_file_overflows() {
        let now = Instant::from_unix_milliseconds(1_773_000_000_000);
        assert_eq!(Tries { tries: 3, last: i64::MIN }.wait(now), Some(Duration::ZERO));
        assert_eq!(Tries { tries: 3, last: i64::MAX }.wait(now), None);
    }
}
