//! Local stamps across every change of the clock in twenty zones, from 1990 to 2037: a logger that
//! writes what the wall clock shows is placed at the instants at which it wrote. The zones' rules are those
//! of the IANA data base, as chrono-tz has them.

use chrono::Offset as _;
use ingest::{Input, Progress, read};
use plant::{Plant, Zone};
use std::fmt::Write as _;
use trace::{Duration, Instant};

/// With half hours, with winter time that is the exception, with changes at midnight, given up, or none.
const ZONES: [&str; 20] = [
    "America/Chicago",
    "America/Halifax",
    "America/Havana",
    "America/Los_Angeles",
    "America/New_York",
    "America/Phoenix",
    "America/Santiago",
    "America/Sao_Paulo",
    "America/St_Johns",
    "Africa/Casablanca",
    "Asia/Beirut",
    "Asia/Kolkata",
    "Asia/Tehran",
    "Australia/Lord_Howe",
    "Australia/Sydney",
    "Europe/Berlin",
    "Europe/Dublin",
    "Europe/London",
    "Europe/Moscow",
    "Pacific/Auckland",
];

const HOUR: i64 = 3_600_000;
/// 1990-01-01 and 2037-12-31 in UTC.
const YEARS: std::ops::Range<i64> = 631_152_000_000..2_145_830_400_000;

fn offset(zone: Zone, at: i64) -> i32 {
    zone.local(Instant::from_unix_milliseconds(at)).offset().fix().local_minus_utc()
}

/// The first instants of each new offset, to the second.
fn changes(zone: Zone) -> Vec<i64> {
    let mut changes = Vec::new();
    let mut before = offset(zone, YEARS.start);
    let mut at = YEARS.start;
    while at < YEARS.end {
        let next = at + HOUR;
        if offset(zone, next) != before {
            let (mut early, mut late) = (at, next);
            while late - early > 1000 {
                let middle = early + (late - early) / 2000 * 1000;
                if offset(zone, middle) == before {
                    early = middle;
                } else {
                    late = middle;
                }
            }
            changes.push(late);
            before = offset(zone, next);
        }
        at = next;
    }
    changes
}

#[test]
fn a_wall_clock_is_placed_at_its_instants_across_every_change() {
    let mut all = 0;
    for name in ZONES {
        let text = format!(
            "schema = 1\nplant = \"Example Dairy (invented)\"\nunit = \"U\"\nzone = \"{name}\"\n"
        );
        let plant = Plant::parse("plant.toml", &text).unwrap_or_else(|error| panic!("{error}"));
        let zone = plant.zone;
        for change in changes(zone) {
            all += 1;
            // Three hours on either side, a row every ten minutes and one on each side of the change.
            let steps = (-18..=18).map(|step| change + step * HOUR / 6);
            let mut wanted: Vec<i64> = steps.chain([change - 1000, change + 1000]).collect();
            wanted.sort_unstable();
            let mut file = "Time,FDV,Hold temp (\u{b0}F),dP (psi)\n".to_owned();
            for &at in &wanted {
                let local = zone.local(Instant::from_unix_milliseconds(at));
                writeln!(file, "{},DIV,161.5,5.0", local.format("%Y-%m-%d %H:%M:%S"))
                    .unwrap_or_default();
            }
            let input = Input::Bytes { name: "day.csv".to_owned(), bytes: file.into_bytes() };
            let read = read(&[input], &plant, &Progress::default());
            let read = read.unwrap_or_else(|error| panic!("{name}: {error}"));
            let first = Instant::from_unix_milliseconds(change);
            let wanted: Vec<Instant> =
                wanted.into_iter().map(Instant::from_unix_milliseconds).collect();
            let off: Vec<Duration> = read
                .record
                .instants()
                .iter()
                .zip(&wanted)
                .map(|(one, other)| one.since(*other))
                .collect();
            assert_eq!(read.record.instants(), wanted, "{name}, {}: {off:?}", zone.rfc3339(first));
        }
    }
    assert!(all > 1000, "{all} changes of the clock");
}
