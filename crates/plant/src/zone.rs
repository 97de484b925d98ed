//! The plant's time zone: local stamps to instants and back.
//!
//! A local time may exist twice (autumn) or not at all (spring); which of two it is can't be
//! decided here, only by the order of rows in the file.

use chrono::offset::LocalResult;
use chrono::{DateTime, NaiveDateTime, NaiveTime, Offset as _, TimeZone, Utc};
use chrono_tz::OffsetComponents as _;
use std::str::FromStr;
use trace::Instant;

/// Which clock the logger's stamps are of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum LoggerClock {
    /// The plant's clock: it is set forward in spring and back in autumn.
    #[default]
    Local,
    /// Winter time all year: the logger does not change to daylight saving time.
    Standard,
}

impl LoggerClock {
    /// The name in a plant file.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Local => "local",
            Self::Standard => "standard",
        }
    }
}

/// An IANA time zone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Zone(chrono_tz::Tz);

/// What a local time stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LocalResolution {
    /// One instant.
    One(Instant),
    /// Two instants, in the autumn hour that is passed twice: summer time, then winter time.
    Two(Instant, Instant),
    /// No instant: the hour that is skipped in spring.
    None,
}

impl Zone {
    /// Coordinated universal time.
    pub const UTC: Self = Self(chrono_tz::UTC);

    /// The name in the IANA data base.
    pub fn name(self) -> &'static str {
        self.0.name()
    }

    /// What the local time `local` stands for.
    pub fn resolve(self, local: NaiveDateTime) -> LocalResolution {
        let instant = |time: DateTime<chrono_tz::Tz>| {
            Instant::from_unix_milliseconds(time.timestamp_millis())
        };
        match self.0.from_local_datetime(&local) {
            LocalResult::Single(time) => LocalResolution::One(instant(time)),
            LocalResult::Ambiguous(one, other) => {
                let (one, other) = (instant(one), instant(other));
                LocalResolution::Two(one.min(other), one.max(other))
            }
            LocalResult::None => LocalResolution::None,
        }
    }

    /// The instant that the stamp `standard` stands for on a clock that does not change to daylight
    /// saving time: always exactly one.
    ///
    /// The offset is the zone's standard one at that time; where the law changed it, the stamp is
    /// read with the offset that holds at the instant it gives.
    pub fn resolve_standard(self, standard: NaiveDateTime) -> Instant {
        let stamp = standard.and_utc().timestamp_millis();
        let mut instant = Instant::from_unix_milliseconds(stamp);
        // Twice: the first round finds the instant to within a day, the second its own offset.
        for _round in 0..2 {
            instant = Instant::from_unix_milliseconds(stamp - self.standard_offset(instant));
        }
        instant
    }

    /// The offset of winter time from UTC at `instant`, in milliseconds.
    fn standard_offset(self, instant: Instant) -> i64 {
        // The law of Ireland calls its summer time the standard one and sets the clock back for
        // the winter. A logger that never changes is on the winter's time there as elsewhere.
        if matches!(self.0, chrono_tz::Tz::Europe__Dublin | chrono_tz::Tz::Eire) {
            return 0;
        }
        self.local(instant).offset().base_utc_offset().num_milliseconds()
    }

    /// The zone's name on the logger's clock at `instant`: `CST`, `CDT`.
    pub fn abbreviation(self, instant: Instant, clock: LoggerClock) -> String {
        let is_standard = |instant: &Instant| {
            let local = self.local(*instant);
            i64::from(local.offset().fix().local_minus_utc()) * 1000
                == self.standard_offset(*instant)
        };
        let instant = match clock {
            LoggerClock::Local => instant,
            // The name that winter time has, which is never more than some months away.
            LoggerClock::Standard => (0..8)
                .map(|step| {
                    Instant::from_unix_milliseconds(
                        instant.unix_milliseconds() + step * 46 * 86_400_000,
                    )
                })
                .find(is_standard)
                .unwrap_or(instant),
        };
        self.local(instant).format("%Z").to_string()
    }

    /// Whether the zone has that name on the logger's clock at `instant`, German names included.
    pub fn is_called(self, name: &str, instant: Instant, clock: LoggerClock) -> bool {
        const GERMAN: [(&str, &str); 6] = [
            ("MEZ", "CET"),
            ("MESZ", "CEST"),
            ("WEZ", "WET"),
            ("WESZ", "WEST"),
            ("OEZ", "EET"),
            ("OESZ", "EEST"),
        ];
        let german = GERMAN.into_iter().find(|(german, _)| *german == name);
        self.abbreviation(instant, clock) == german.map_or(name, |(_, name)| name)
    }

    /// The local time at `instant`; instants beyond the calendar are shown at its end.
    pub fn local(self, instant: Instant) -> DateTime<chrono_tz::Tz> {
        DateTime::<Utc>::from_timestamp_millis(instant.unix_milliseconds())
            .unwrap_or(DateTime::<Utc>::MAX_UTC)
            .with_timezone(&self.0)
    }

    /// RFC 3339 with milliseconds and offset: `2026-03-08T06:00:00.000-06:00`.
    pub fn rfc3339(self, instant: Instant) -> String {
        self.local(instant).to_rfc3339_opts(chrono::SecondsFormat::Millis, false)
    }

    /// The time of day on the plant's clock, `06:00:00`, milliseconds only where there are any,
    /// with the zone's abbreviation where the same local time came or will come twice.
    pub fn clock(self, instant: Instant) -> String {
        let local = self.local(instant);
        let time = if instant.unix_milliseconds().rem_euclid(1000) == 0 {
            local.format("%H:%M:%S").to_string()
        } else {
            local.format("%H:%M:%S%.3f").to_string()
        };
        match self.resolve(local.naive_local()) {
            LocalResolution::Two(..) => format!("{time} {}", local.format("%Z")),
            LocalResolution::One(_) | LocalResolution::None => time,
        }
    }

    /// The calendar date on the plant's clock, `2026-03-08`.
    pub fn date(self, instant: Instant) -> String {
        self.local(instant).format("%Y-%m-%d").to_string()
    }

    /// The date without its year, such as `4 Mar`.
    pub fn short_date(self, instant: Instant) -> String {
        self.local(instant).format("%-d %b").to_string()
    }

    /// The time of day on the plant's clock.
    pub fn time_of_day(self, instant: Instant) -> NaiveTime {
        self.local(instant).time()
    }
}

/// The name of no time zone.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{0}; a time zone is an IANA name such as \"America/Chicago\" or \"UTC\"")]
pub struct UnknownZone(#[from] chrono_tz::ParseError);

impl FromStr for Zone {
    type Err = UnknownZone;

    /// Takes an IANA name such as `America/Chicago`.
    fn from_str(name: &str) -> Result<Self, UnknownZone> {
        Ok(Self(name.parse()?))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::NaiveDate;

    fn local(text: &str) -> NaiveDateTime {
        NaiveDateTime::parse_from_str(text, "%Y-%m-%d %H:%M:%S")
            .unwrap_or(NaiveDate::MIN.and_time(NaiveTime::MIN))
    }

    #[test]
    fn the_two_odd_hours_of_the_year() {
        let Ok(zone) = "America/Chicago".parse::<Zone>() else { panic!("a known zone") };
        // US rules: 2026-03-08 02:00 → 03:00, 2026-11-01 02:00 → 01:00 (IANA data base).
        assert_eq!(zone.resolve(local("2026-03-08 02:30:00")), LocalResolution::None);
        let LocalResolution::Two(first, second) = zone.resolve(local("2026-11-01 01:30:00")) else {
            panic!("the hour is passed twice")
        };
        assert_eq!(second.since(first).milliseconds(), 3_600_000);
        assert_eq!(zone.rfc3339(first), "2026-11-01T01:30:00.000-05:00");
        assert_eq!(zone.rfc3339(second), "2026-11-01T01:30:00.000-06:00");
        assert_eq!(zone.clock(first), "01:30:00 CDT");
        assert_eq!(zone.clock(second), "01:30:00 CST");
    }

    #[test]
    fn a_logger_on_standard_time_knows_neither_odd_hour() {
        for (name, stamp, instant) in [
            ("America/Chicago", "2026-01-15 12:00:00", "2026-01-15T12:00:00.000-06:00"),
            // An hour of summer time: noon on the logger is one o'clock on the plant's clock.
            ("America/Chicago", "2026-07-15 12:00:00", "2026-07-15T13:00:00.000-05:00"),
            // The hours that the plant's clock skips and passes twice.
            ("America/Chicago", "2026-03-08 02:30:00", "2026-03-08T03:30:00.000-05:00"),
            ("America/Chicago", "2026-11-01 01:30:00", "2026-11-01T01:30:00.000-06:00"),
            ("America/Chicago", "2026-11-01 00:30:00", "2026-11-01T01:30:00.000-05:00"),
            // The south has its summer at the turn of the year, half an hour of it on Lord Howe.
            ("Australia/Sydney", "2026-01-15 12:00:00", "2026-01-15T13:00:00.000+11:00"),
            ("Australia/Lord_Howe", "2026-01-15 12:00:00", "2026-01-15T12:30:00.000+11:00"),
            // Ireland's law turns the words round, Morocco's the month of Ramadan.
            ("Europe/Dublin", "2026-01-15 12:00:00", "2026-01-15T12:00:00.000+00:00"),
            ("Europe/Dublin", "2026-07-15 12:00:00", "2026-07-15T13:00:00.000+01:00"),
            ("Africa/Casablanca", "2026-07-15 12:00:00", "2026-07-15T12:00:00.000+01:00"),
            ("UTC", "2026-07-15 12:00:00", "2026-07-15T12:00:00.000+00:00"),
            // A change of the law: Kazakhstan's east gave up an hour on 2024-03-01.
            ("Asia/Almaty", "2024-02-29 12:00:00", "2024-02-29T12:00:00.000+06:00"),
            ("Asia/Almaty", "2024-03-01 12:00:00", "2024-03-01T12:00:00.000+05:00"),
        ] {
            let Ok(zone) = name.parse::<Zone>() else { panic!("a known zone: {name}") };
            assert_eq!(zone.rfc3339(zone.resolve_standard(local(stamp))), instant, "{name}");
        }
    }

    #[test]
    fn zones_have_the_names_that_loggers_print() {
        let day = 86_400_000;
        for (name, clock, winter, summer) in [
            ("America/Chicago", LoggerClock::Local, "CST", "CDT"),
            ("America/Chicago", LoggerClock::Standard, "CST", "CST"),
            ("Europe/Berlin", LoggerClock::Local, "CET", "CEST"),
            ("Europe/Berlin", LoggerClock::Standard, "CET", "CET"),
            ("Australia/Sydney", LoggerClock::Local, "AEDT", "AEST"),
            ("Australia/Sydney", LoggerClock::Standard, "AEST", "AEST"),
        ] {
            let Ok(zone) = name.parse::<Zone>() else { panic!("a known zone: {name}") };
            // 2026-01-15 and 2026-07-15
            for (instant, expected) in [(20_468 * day, winter), (20_649 * day, summer)] {
                let instant = Instant::from_unix_milliseconds(instant);
                assert_eq!(zone.abbreviation(instant, clock), expected, "{name} {clock:?}");
                assert!(zone.is_called(expected, instant, clock));
            }
        }
        let Ok(berlin) = "Europe/Berlin".parse::<Zone>() else { panic!("a known zone") };
        let summer = Instant::from_unix_milliseconds(20_649 * day);
        assert!(berlin.is_called("MESZ", summer, LoggerClock::Local));
        assert!(!berlin.is_called("MEZ", summer, LoggerClock::Local));
    }

    #[test]
    fn stamps_at_the_ends_of_the_calendar_do_no_harm() {
        let Ok(zone) = "America/Chicago".parse::<Zone>() else { panic!("a known zone") };
        for stamp in [NaiveDateTime::MIN, NaiveDateTime::MAX] {
            let away = zone.resolve_standard(stamp).unix_milliseconds()
                - stamp.and_utc().timestamp_millis();
            assert!((0..86_400_000).contains(&away), "{away}");
        }
    }
}
