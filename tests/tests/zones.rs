//! Local stamps across every change of the clock in twenty zones, from 1990 to 2037: a logger that
//! writes what the wall clock shows is placed at the instants at which it wrote. What the clocks showed is
//! in a table that Python's zoneinfo made (scripts/zone-changes.py).

use chrono::{DateTime, Offset as _};
use ingest::{Input, Progress, read};
use plant::{Plant, Zone};
use std::fmt::Write as _;
use trace::{Duration, Instant};

const TABLE: &str = include_str!("../fixtures/zone-changes.txt");

const HOUR: i64 = 3600;

/// A clock over the years: from each second on, minutes east of UTC.
struct Clock {
    name: &'static str,
    offsets: Vec<(i64, i64)>,
}

impl Clock {
    fn offset(&self, second: i64) -> i64 {
        let after = self.offsets.partition_point(|&(from, _)| from <= second);
        self.offsets[after - 1].1
    }

    /// What it shows.
    fn shows(&self, second: i64) -> String {
        let local = DateTime::from_timestamp(second + self.offset(second) * 60, 0);
        local.unwrap_or_default().format("%Y-%m-%d %H:%M:%S").to_string()
    }
}

fn number(text: &str) -> i64 {
    text.parse().unwrap_or_else(|error| panic!("{text}: {error}"))
}

fn clocks() -> Vec<Clock> {
    let clock = |line: &'static str| {
        let mut words = line.split(' ');
        let name = words.next().unwrap_or_default();
        let first = (i64::MIN, number(words.next().unwrap_or_default()));
        let changes = words.map(|word| {
            let (second, minutes) = word.split_once(':').unwrap_or_default();
            (number(second), number(minutes))
        });
        Clock { name, offsets: std::iter::once(first).chain(changes).collect() }
    };
    TABLE.lines().filter(|line| !line.starts_with('#')).map(clock).collect()
}

#[test]
fn a_wall_clock_is_placed_at_its_instants_across_every_change() {
    let clocks = clocks();
    assert_eq!(clocks.len(), 20);
    let mut all = 0;
    for clock in clocks {
        let name = clock.name;
        let text = format!(
            "schema = 1\nplant = \"Example Dairy (invented)\"\nunit = \"U\"\nzone = \"{name}\"\n"
        );
        let plant = Plant::parse("plant.toml", &text).unwrap_or_else(|error| panic!("{error}"));
        for &(change, _) in &clock.offsets[1..] {
            all += 1;
            // Three hours on either side, a row every ten minutes and one on each side of the change.
            let steps = (-18..=18).map(|step| change + step * HOUR / 6);
            let mut wanted: Vec<i64> = steps.chain([change - 1, change + 1]).collect();
            wanted.sort_unstable();
            let mut file = "Time,FDV,Hold temp (\u{b0}F),dP (psi)\n".to_owned();
            for &second in &wanted {
                // Writing to a string can't fail.
                writeln!(file, "{},DIV,161.5,5.0", clock.shows(second)).unwrap_or_default();
            }
            let input = Input::Bytes { name: "day.csv".to_owned(), bytes: file.into_bytes() };
            let read = read(&[input], &plant, &Progress::default());
            let read = read.unwrap_or_else(|error| panic!("{name}: {error}"));
            let instant = |second: i64| Instant::from_unix_milliseconds(second * 1000);
            let wanted: Vec<Instant> = wanted.into_iter().map(instant).collect();
            let pairs = read.record.instants().iter().zip(&wanted);
            let off: Vec<Duration> = pairs.map(|(one, other)| one.since(*other)).collect();
            assert_eq!(read.record.instants(), wanted, "{name}, {}: {off:?}", clock.shows(change));
        }
    }
    assert!(all > 1500, "{all} changes of the clock");
}

/// Every hour between the changes, at which nothing must change.
#[test]
fn a_clock_changes_when_the_table_says_so_and_at_no_other_time() {
    for clock in clocks() {
        let zone: Zone = clock.name.parse().unwrap_or_else(|error| panic!("{error}"));
        let offset = |second: i64| {
            let local = zone.local(Instant::from_unix_milliseconds(second * 1000));
            i64::from(local.offset().fix().local_minus_utc()) / 60
        };
        // 1990-01-01 to 2037-12-31.
        let hours = (631_152_000..2_145_830_400).step_by(3600);
        let changes = clock.offsets[1..].iter().flat_map(|&(second, _)| [second - 1, second]);
        for second in hours.chain(changes) {
            assert_eq!(offset(second), clock.offset(second), "{}, {second}", clock.name);
        }
    }
}
