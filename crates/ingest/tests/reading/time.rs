//! Time zones, the repeated and the skipped hour, and clocks that run backwards.

use crate::support::{error, input, messages, observed, plant_in, read_all, read_one, times};
use plant::Plant;
use trace::ObservationKind;

/// A file with these stamps and the same readings in each row.
fn file(stamps: &[&str]) -> String {
    let rows: String = stamps.iter().map(|stamp| format!("{stamp},FWD,162,3\n")).collect();
    format!("Time,FDV,Hold Temp (°F),dP (psi)\n{rows}")
}

fn chicago() -> Plant {
    plant_in("America/Chicago", "")
}

#[test]
fn local_stamps_are_in_the_zone_of_the_plant() {
    let ingested = read_one(file(&["2026-03-03 06:00:00", "2026-07-03 06:00:00"]), &chicago());
    assert_eq!(times(&ingested.record), ["12:00:00", "11:00:00"]);
    assert_eq!(ingested.assumptions.len(), 2, "{:?}", ingested.assumptions);
}

#[test]
fn a_name_that_says_utc_is_believed() {
    let text = file(&["2026-03-03 06:00:00"]).replacen("Time", "Time (UTC)", 1);
    let ingested = read_one(text, &chicago());
    assert_eq!(times(&ingested.record), ["06:00:00"]);
    assert!(ingested.assumptions.iter().any(|said| said.contains("read as UTC")));
}

/// 2026-11-01 02:00 CDT becomes 01:00 CST (IANA data base).
const NIGHT: [&str; 10] = [
    "2026-11-01 00:40:00",
    "2026-11-01 01:00:00",
    "2026-11-01 01:20:00",
    "2026-11-01 01:40:00",
    "2026-11-01 01:00:00",
    "2026-11-01 01:20:00",
    "2026-11-01 01:20:00",
    "2026-11-01 01:40:00",
    "2026-11-01 02:00:00",
    "2026-11-01 02:20:00",
];

const NIGHT_IN_UTC: [&str; 9] = [
    "05:40:00", "06:00:00", "06:20:00", "06:40:00", "07:00:00", "07:20:00", "07:40:00", "08:00:00",
    "08:20:00",
];

#[test]
fn the_repeated_hour_wherever_the_file_is_cut() {
    let whole = read_one(file(&NIGHT), &chicago());
    assert_eq!(times(&whole.record), NIGHT_IN_UTC);
    assert_eq!(observed(&whole), [(ObservationKind::DuplicateStamp, 8, 1)]);
    for first in 1..NIGHT.len() {
        for second in first + 1..NIGHT.len() {
            let parts = [&NIGHT[..first], &NIGHT[first..second], &NIGHT[second..]];
            let inputs: Vec<_> = parts.iter().map(|part| input("a.csv", file(part))).collect();
            let ingested = read_all(&inputs, &chicago());
            assert_eq!(times(&ingested.record), NIGHT_IN_UTC, "cut at {first} and {second}");
        }
    }
}

#[test]
fn the_skipped_hour_is_observed_and_not_used() {
    let stamps = [
        "2026-03-08 01:59:59",
        "2026-03-08 02:00:00",
        "2026-03-08 02:59:59",
        "2026-03-08 03:00:00",
    ];
    let ingested = read_one(file(&stamps), &chicago());
    assert_eq!(times(&ingested.record), ["07:59:59", "08:00:00"]);
    assert_eq!(ingested.record.sources()[0].rows, 2);
    assert_eq!(observed(&ingested), [(ObservationKind::ImpossibleStamp, 3, 2)]);
    let all = error(file(&stamps[1..3]), &chicago());
    assert!(all.contains("a.csv:2: no local time in the file exists in America/Chicago"), "{all}");
}

#[test]
fn steps_back_are_placed_by_their_stamps_and_told() {
    let stamps = [
        "2026-03-03 06:00:00",
        "2026-03-03 06:00:09",
        "2026-03-03 06:00:05",
        "2026-03-03 06:00:06",
    ];
    let ingested = read_one(file(&stamps), &plant_in("UTC", ""));
    assert_eq!(times(&ingested.record), ["06:00:00", "06:00:05", "06:00:06", "06:00:09"]);
    assert_eq!(observed(&ingested), [(ObservationKind::BackwardStamp, 4, 1)]);
    let message = messages(&ingested, ObservationKind::BackwardStamp)[0];
    assert!(message.contains("lies 4 s before that of line 3"), "{message}");
}

#[test]
fn thousands_of_steps_back_make_a_few_observations() {
    let stamps: Vec<String> = (0..4000)
        .map(|row| {
            let second = if row % 2 == 0 { row } else { row - 3 + 1000 };
            format!(
                "2026-03-03 {:02}:{:02}:{:02}",
                6 + second / 3600,
                second / 60 % 60,
                second % 60
            )
        })
        .collect();
    let stamps: Vec<&str> = stamps.iter().map(String::as_str).collect();
    let ingested = read_one(file(&stamps), &plant_in("UTC", ""));
    let backward = observed(&ingested);
    let backward: Vec<_> =
        backward.iter().filter(|one| one.0 == ObservationKind::BackwardStamp).collect();
    assert_eq!(backward.len(), 21);
    assert_eq!(backward.iter().map(|one| one.2).sum::<u64>(), 1999);
}

#[test]
fn the_newest_row_may_come_first() {
    // Every five minutes from 00:00 to 02:55, the hour from 01:00 twice.
    let local = |step: u32| {
        let minute = if step < 24 { step * 5 } else { (step - 12) * 5 };
        format!("2026-11-01 {:02}:{:02}:00", minute / 60, minute % 60)
    };
    let stamps: Vec<String> = (0..48).map(local).collect();
    let oldest: Vec<&str> = stamps.iter().map(String::as_str).collect();
    let newest: Vec<&str> = oldest.iter().rev().copied().collect();
    let expected = read_one(file(&oldest), &chicago());
    let ingested = read_one(file(&newest), &chicago());
    assert_eq!(ingested.record.samples(), 48);
    assert_eq!(times(&ingested.record), times(&expected.record));
    assert_eq!((observed(&expected), observed(&ingested)), (vec![], vec![]));
    assert!(ingested.assumptions.iter().any(|said| said.contains("newest row comes first")));
}

#[test]
fn files_may_be_given_in_any_order() {
    let early = input("early.csv", file(&["2026-03-03 06:00:00", "2026-03-03 06:00:01"]));
    let late = input("late.csv", file(&["2026-03-03 06:00:02", "2026-03-03 06:00:03"]));
    let plant = plant_in("UTC", "");
    let one = read_all(&[early.clone(), late.clone()], &plant);
    let other = read_all(&[late, early], &plant);
    assert_eq!(times(&one.record), times(&other.record));
    assert_eq!((observed(&one), observed(&other)), (vec![], vec![]));
    assert_eq!(&*other.record.sources()[0].name, "late.csv");
}

#[test]
fn dates_that_can_be_read_two_ways_are_refused() {
    let no_plant = Plant::assumed();
    let day = error(file(&["03/08/2026 06:00:00", "03/08/2026 06:00:01"]), &no_plant);
    assert!(day.starts_with("a.csv:2: the date 03/08/2026 can be read"), "{day}");
    let mixed = error(file(&["13/08/2026 06:00:00", "08/13/2026 06:00:01"]), &no_plant);
    assert!(mixed.contains("a.csv:2: the date 13/08/2026 can only be read day first"), "{mixed}");
    assert!(mixed.contains("on line 3"), "{mixed}");
    let midnight = read_one(file(&["03/08/2026 23:59:59", "03/09/2026 00:00:00"]), &no_plant);
    assert_eq!(no_plant.zone.date(midnight.record.instants()[0]), "2026-03-08");
    assert!(
        midnight.assumptions.iter().any(|said| said.contains("read month first, which alone")),
        "{:?}",
        midnight.assumptions
    );
}

#[test]
fn midnight_at_the_end_of_a_day_is_the_next_day() {
    let ingested = read_one(
        file(&["2026-03-08 23:59:59", "2026-03-08 24:00:00", "2026-03-09 00:00:01"]),
        &plant_in("UTC", ""),
    );
    assert_eq!(ingested.record.sampling_interval().milliseconds(), 1000);
}
