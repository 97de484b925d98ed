//! Ticks of the time axis, on the round figures of the plant's clock, and of the scales.

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
    let mut ticks = Vec::new();
    let mut at = first;
    while at <= interval.end() && ticks.len() < 200 {
        if at >= start && into_day(at) % step.min(24 * HOUR) == 0 {
            ticks.push(tick(at, zone, step));
        }
        at = at + Duration::from_milliseconds(stride);
    }
    ticks
}

fn tick(at: Instant, zone: Zone, step: i64) -> Tick {
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
    Tick { at, label, repeated: abbreviation.is_some() }
}

/// The scale of a plot: its range and its ticks, all in the unit shown.
#[derive(Debug, Clone, PartialEq)]
pub struct Scale {
    /// The lower edge.
    pub least: f64,
    /// The upper edge.
    pub greatest: f64,
    /// The figures to print.
    pub ticks: Vec<f64>,
    /// How many digits the figures need behind the mark.
    pub digits: usize,
}

impl Scale {
    /// A scale around the range with some room, with at most about `most` ticks.
    pub fn around(least: f64, greatest: f64, most: usize) -> Self {
        let room = ((greatest - least) * 0.1).max(greatest.abs() * 1e-3).max(0.05);
        let (least, greatest) = (least - room, greatest + room);
        let raw = (greatest - least) / most.max(1) as f64;
        let power = 10_f64.powf(raw.log10().floor());
        let step = [1.0, 2.0, 5.0, 10.0]
            .into_iter()
            .map(|factor| factor * power)
            .find(|step| *step >= raw)
            .unwrap_or(10.0 * power);
        let digits = (-step.log10().floor()).clamp(0.0, 6.0) as usize;
        // The edges move in half steps, so that a scale holds still while one pans.
        let half = step / 2.0;
        let least = (least / half).floor() * half;
        let greatest = (greatest / half).ceil() * half;
        let first = (least / step).ceil() as i64;
        let last = (greatest / step).floor() as i64;
        let ticks = (first..=last.min(first + 50)).map(|index| index as f64 * step).collect();
        Self { least, greatest, ticks, digits }
    }

    /// Where a figure lies between `bottom` and `top`.
    pub fn y(&self, value: f64, bottom: f32, top: f32) -> f32 {
        let share = (value - self.least) / (self.greatest - self.least);
        (f64::from(bottom) + share * f64::from(top - bottom)) as f32
    }

    /// A figure in words.
    pub fn label(&self, value: f64) -> String {
        let digits = self.digits;
        let text = format!("{value:.digits$}");
        if text.starts_with("-0") && text.trim_matches(['-', '0', '.']).is_empty() {
            return text.trim_start_matches('-').to_owned();
        }
        text.replace('-', "\u{2212}")
    }
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
    fn scales_hold_their_range() {
        for (least, greatest) in [(158.2, 163.9), (2.0, 2.0), (-3.0, 9.0), (0.0, 6000.0)] {
            let scale = Scale::around(least, greatest, 4);
            assert!(scale.least < least && scale.greatest > greatest, "{scale:?}");
            assert!((2..=10).contains(&scale.ticks.len()), "{scale:?}");
        }
        let scale = Scale::around(158.2, 163.9, 4);
        assert_eq!(scale.label(160.0), "160");
    }
}
