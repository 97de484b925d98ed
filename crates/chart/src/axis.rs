//! Ticks of the time axis, on the round figures of the plant's clock.

use chrono::Timelike as _;
use plant::Zone;
use trace::{Duration, Instant, Interval};

/// A tick of the time axis.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tick {
    /// Where.
    pub at: Instant,
    /// The local time, with the zone's abbreviation in the hour that comes twice.
    pub label: String,
    /// Whether the local time of this tick comes twice.
    pub repeated: bool,
}

/// A tick of an axis that counts from a start.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ElapsedTick {
    /// How long after the start; below zero before it.
    pub after: Duration,
    /// Hours and minutes, and seconds where they count: `1:30`, `−0:00:20`.
    pub label: String,
}

const SECOND: i64 = 1000;
const MINUTE: i64 = 60 * SECOND;
const HOUR: i64 = 60 * MINUTE;
const STEPS: [i64; 19] = [
    SECOND,
    2 * SECOND,
    5 * SECOND,
    10 * SECOND,
    15 * SECOND,
    30 * SECOND,
    MINUTE,
    2 * MINUTE,
    5 * MINUTE,
    10 * MINUTE,
    15 * MINUTE,
    30 * MINUTE,
    HOUR,
    2 * HOUR,
    3 * HOUR,
    6 * HOUR,
    12 * HOUR,
    24 * HOUR,
    48 * HOUR,
];

/// The ticks of an interval, at most about `most` of them.
pub fn time_ticks(interval: Interval, zone: Zone, most: usize) -> Vec<Tick> {
    let span = interval.duration().milliseconds().max(1);
    let most = most.max(1) as i64;
    let step = STEPS
        .into_iter()
        .find(|step| span / step <= most)
        .unwrap_or_else(|| (span / most / (24 * HOUR) + 1) * 24 * HOUR);
    // Within an hour the local clock and UTC run alike, so ticks are sought hour by hour at most.
    let stride = step.min(if step > HOUR { HOUR } else { step });
    let into_day = |instant: Instant| {
        let time = zone.time_of_day(instant);
        i64::from(time.num_seconds_from_midnight()) * SECOND
            + i64::from(time.nanosecond() / 1_000_000 % 1000)
    };
    let start = interval.start();
    let first = start - Duration::from_milliseconds(into_day(start) % stride);
    let has_dates = zone.date(start) != zone.date(interval.end());
    let mut ticks = Vec::new();
    let mut at = first;
    while at <= interval.end() && ticks.len() < 200 {
        if at >= start && into_day(at) % step.min(24 * HOUR) == 0 {
            // Where several dates are shown, the first tick of each has its date.
            let is_first =
                ticks.last().is_none_or(|last: &Tick| zone.date(last.at) != zone.date(at));
            ticks.push(tick(at, zone, step, is_first && has_dates));
        }
        at = at + Duration::from_milliseconds(stride);
    }
    ticks
}

/// The ticks from one time after a start to another, at most about `most` of them.
pub fn elapsed_ticks(from: Duration, to: Duration, most: usize) -> Vec<ElapsedTick> {
    let (from, to) = (from.milliseconds(), to.milliseconds());
    let span = (to - from).max(1);
    let most = most.max(1) as i64;
    let step = STEPS
        .into_iter()
        .find(|step| span / step <= most)
        .unwrap_or_else(|| (span / most / (24 * HOUR) + 1) * 24 * HOUR);
    let first = from.div_euclid(step) + i64::from(from.rem_euclid(step) != 0);
    let tick = |index: i64| {
        let after = Duration::from_milliseconds(index * step);
        ElapsedTick { after, label: elapsed(after, step < MINUTE) }
    };
    (first..=to.div_euclid(step)).map(tick).collect()
}

/// A time after a start in hours and minutes, with seconds where they count.
pub fn elapsed(after: Duration, with_seconds: bool) -> String {
    let seconds = after.milliseconds().unsigned_abs() / 1000;
    let (hours, minutes, rest) = (seconds / 3600, seconds / 60 % 60, seconds % 60);
    let is_before = after.milliseconds() < 0 && (with_seconds && seconds > 0 || seconds >= 60);
    let sign = if is_before { "\u{2212}" } else { "" };
    if with_seconds {
        format!("{sign}{hours}:{minutes:02}:{rest:02}")
    } else {
        format!("{sign}{hours}:{minutes:02}")
    }
}

fn tick(at: Instant, zone: Zone, step: i64, has_date: bool) -> Tick {
    let clock = zone.clock(at);
    let (time, abbreviation) = match clock.split_once(' ') {
        Some((time, abbreviation)) => (time, Some(abbreviation)),
        None => (clock.as_str(), None),
    };
    let time = if step >= MINUTE { time.get(..5).unwrap_or(time) } else { time };
    let label = match abbreviation {
        Some(abbreviation) => format!("{time} {abbreviation}"),
        None => time.to_owned(),
    };
    let label = match (has_date, step >= 24 * HOUR) {
        (false, _) => label,
        (true, false) => format!("{} {label}", zone.short_date(at)),
        (true, true) => zone.short_date(at),
    };
    Tick { at, label, repeated: abbreviation.is_some() }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn labels(from: &str, to: &str, zone: &str, most: usize) -> Vec<String> {
        let zone: Zone = zone.parse().unwrap_or(Zone::UTC);
        let at = |text: &str| {
            let time = chrono::DateTime::parse_from_rfc3339(text).unwrap_or_default();
            Instant::from_unix_milliseconds(time.timestamp_millis())
        };
        let ticks = time_ticks(Interval::between(at(from), at(to)), zone, most);
        ticks.into_iter().map(|tick| tick.label).collect()
    }

    #[test]
    fn ticks_are_round_on_the_local_clock() {
        assert_eq!(
            labels("2026-07-01T09:10:00Z", "2026-07-01T10:40:00Z", "Asia/Kolkata", 4),
            // UTC+05:30.
            ["15:00", "15:30", "16:00"]
        );
        assert_eq!(
            labels("2026-07-01T09:10:03Z", "2026-07-01T09:10:12Z", "UTC", 5),
            ["09:10:04", "09:10:06", "09:10:08", "09:10:10", "09:10:12"]
        );
    }

    #[test]
    fn the_autumn_hour_is_told_apart() {
        // 2026-11-01 in Chicago: 02:00 CDT is 01:00 CST (IANA data base).
        assert_eq!(
            labels("2026-11-01T05:00:00Z", "2026-11-01T09:00:00Z", "America/Chicago", 5),
            ["00:00", "01:00 CDT", "01:00 CST", "02:00", "03:00"]
        );
    }

    #[test]
    fn ticks_of_long_steps_stay_round_after_the_change() {
        assert_eq!(
            labels("2026-11-01T05:00:00Z", "2026-11-01T23:00:00Z", "America/Chicago", 6),
            ["00:00", "03:00", "06:00", "09:00", "12:00", "15:00"]
        );
    }

    #[test]
    fn time_is_counted_from_a_start_and_before_it() {
        let labels = |from: i64, to: i64, most: usize| -> Vec<String> {
            let [from, to] = [from, to].map(Duration::from_seconds);
            elapsed_ticks(from, to, most).into_iter().map(|tick| tick.label).collect()
        };
        assert_eq!(
            labels(-2400, 5500, 5),
            ["\u{2212}0:30", "0:00", "0:30", "1:00", "1:30"],
            "the start itself is a tick"
        );
        assert_eq!(labels(-12, 9, 5), ["\u{2212}0:00:10", "\u{2212}0:00:05", "0:00:00", "0:00:05"]);
        assert_eq!(labels(0, 36 * 3600, 3), ["0:00", "12:00", "24:00", "36:00"]);
        assert_eq!(elapsed(Duration::from_milliseconds(-400), true), "0:00:00");
        assert_eq!(elapsed(Duration::from_seconds(-3661), true), "\u{2212}1:01:01");
    }

    #[test]
    fn each_date_stands_at_its_first_tick_where_there_are_several() {
        assert_eq!(
            labels("2026-03-04T22:00:00Z", "2026-03-05T02:00:00Z", "UTC", 5),
            ["4 Mar 22:00", "23:00", "5 Mar 00:00", "01:00", "02:00"]
        );
        assert_eq!(
            labels("2026-03-04T00:00:00Z", "2026-03-06T01:00:00Z", "UTC", 2),
            ["4 Mar", "5 Mar", "6 Mar"]
        );
    }
}
