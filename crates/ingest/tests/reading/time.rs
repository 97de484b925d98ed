//! Time zones, the repeated and the skipped hour, and clocks that run backwards.

use crate::support::{error, input, messages, observed, plant_in, read_all, read_one, times};
use ingest::observations::{CLOCK_SET_BACK, DUPLICATE_STAMP, UNPLACED_ROWS};
use plant::Plant;
use trace::{Decimal, Interval, Invalid, Reading, RunRecord, UnplacedRow, ValveState};

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
    for (stamp, utc) in [("2026-03-03 06:00:00", "12:00:00"), ("2026-07-03 06:00:00", "11:00:00")] {
        let ingested = read_one(file(&[stamp]), &chicago());
        assert_eq!(times(&ingested.record), [utc]);
        assert_eq!(ingested.assumptions.len(), 2, "{:?}", ingested.assumptions);
    }
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
    assert_eq!(observed(&whole), [(DUPLICATE_STAMP, 8, 1)]);
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
fn the_skipped_hour_is_kept_without_a_place() {
    let stamps = [
        "2026-03-08 01:59:59",
        "2026-03-08 02:00:00",
        "2026-03-08 02:59:59",
        "2026-03-08 03:00:00",
    ];
    let ingested = read_one(file(&stamps), &chicago());
    assert_eq!(times(&ingested.record), ["07:59:59", "08:00:00"]);
    assert_eq!(ingested.record.sources()[0].rows, 2);
    assert_eq!(unplaced(&ingested.record), ["a.csv:3 2 rows 07:59:59 to 08:00:00"]);
    assert_eq!(observed(&ingested), [(UNPLACED_ROWS, 3, 2)]);
    let told = &messages(&ingested, UNPLACED_ROWS)[0];
    assert!(
        told.starts_with("Rows with a local time that does not exist in America/Chicago"),
        "{told}"
    );
    let all = error(file(&stamps[1..3]), &chicago());
    assert!(all.contains("a.csv:2: no local time in the file exists in America/Chicago"), "{all}");
    // A logger that keeps winter time has that hour.
    let standard = plant_in("America/Chicago", "[files]\nclock = \"standard\"\n");
    let ingested = read_one(file(&stamps), &standard);
    assert_eq!(times(&ingested.record), ["07:59:59", "08:00:00", "08:59:59", "09:00:00"]);
    assert_eq!(observed(&ingested), []);
}

#[test]
fn a_clock_of_winter_time_passes_the_autumn_hour_once() {
    let standard = plant_in("America/Chicago", "[files]\nclock = \"standard\"\n");
    let stamps = ["2026-11-01 00:59:59", "2026-11-01 01:30:00", "2026-11-01 01:29:00"];
    let ingested = read_one(file(&stamps), &standard);
    // A step back in that hour is a clock set back like any other.
    assert_eq!(times(&ingested.record), ["06:59:59", "07:30:00"]);
    assert_eq!(observed(&ingested), [(CLOCK_SET_BACK, 4, 1)]);
}

#[test]
fn rows_of_a_later_pass_belong_to_the_nearest_samples() {
    let stamps = [
        "2026-03-03 06:00:00",
        "2026-03-03 06:00:04",
        "2026-03-03 06:00:09",
        "2026-03-03 06:00:02",
        "2026-03-03 06:00:07",
        "2026-03-03 06:00:09",
        "2026-03-03 06:00:11",
    ];
    let text = file(&stamps).replacen("06:00:07,FWD,162", "06:00:07,FWD,150", 1);
    let ingested = read_one(text, &plant_in("UTC", ""));
    assert_eq!(times(&ingested.record), ["06:00:00", "06:00:04", "06:00:09", "06:00:11"]);
    let readings: Vec<_> =
        (0..4).map(|sample| ingested.record.holding_temperature().value(sample)).collect();
    assert_eq!(readings, [Some(162.0), Some(162.0), Some(150.0), Some(162.0)]);
    assert_eq!(observed(&ingested), [(CLOCK_SET_BACK, 5, 3)]);
    assert_eq!(
        messages(&ingested, CLOCK_SET_BACK),
        [
            "The clock was set back by 7 s after a.csv:4. Rows from here on that repeat time recorded \
          before: 3. They are merged into the nearest samples, with the worst reading of each \
          channel. Check the logger's clock."
        ]
    );
    assert_eq!(spans(&ingested.record), ["06:00:02 to 06:00:09"]);
    assert_eq!(ingested.observations[0].interval, ingested.record.double_spans().first().copied());
}

#[test]
fn spans_of_several_passes_are_one_where_they_touch() {
    let times = |seconds: &[u32]| -> Vec<String> {
        seconds.iter().map(|second| format!("2026-03-03 06:00:{second:02}")).collect()
    };
    for (seconds, expected) in [
        (vec![0, 5, 9, 3, 5, 4, 12], vec!["06:00:03 to 06:00:09"]),
        (vec![0, 5, 9, 8, 12, 11, 20], vec!["06:00:08 to 06:00:09", "06:00:11 to 06:00:12"]),
        (vec![0, 5, 9, 8, 12, 9, 20], vec!["06:00:08 to 06:00:12"]),
        // Equal stamps are no step back.
        (vec![0, 5, 5, 9], vec![]),
    ] {
        let stamps = times(&seconds);
        let stamps: Vec<&str> = stamps.iter().map(String::as_str).collect();
        let ingested = read_one(file(&stamps), &plant_in("UTC", ""));
        assert_eq!(spans(&ingested.record), expected, "{seconds:?}");
    }
}

#[test]
fn one_event_stays_one_event_when_the_clock_is_set_back() {
    // Ten rows a second apart, then the clock is set back by 5.5 s, in the middle of 20 s at 150 °F.
    let row = |tenths: u32, temperature: u32| {
        format!("2026-03-03 06:00:{:02}.{},FWD,{temperature},3\n", tenths / 10, tenths % 10)
    };
    let first: String = (0..30).map(|at| row(at * 10, if at >= 20 { 150 } else { 162 })).collect();
    let second: String =
        (0..30).map(|at| row(235 + at * 10, if at < 10 { 150 } else { 162 })).collect();
    let text = format!("Time,FDV,Hold Temp (°F),dP (psi)\n{first}{second}");
    let ingested = read_one(text, &plant_in("UTC", ""));
    let temperatures = ingested.record.holding_temperature();
    let cold: Vec<bool> = (0..ingested.record.samples())
        .map(|sample| temperatures.value(sample) == Some(150.0))
        .collect();
    assert_eq!(cold.iter().filter(|&&cold| cold).count(), 14);
    assert_eq!(cold.windows(2).filter(|pair| pair[0] != pair[1]).count(), 2, "{cold:?}");
    assert_eq!(spans(&ingested.record), ["06:00:23.500 to 06:00:29"]);
}

#[test]
fn rows_before_all_that_was_recorded_become_samples() {
    // The logger started with its clock an hour ahead.
    let stamps = [
        "2026-03-03 07:00:00",
        "2026-03-03 07:00:01",
        "2026-03-03 06:00:02",
        "2026-03-03 06:00:03",
    ];
    let ingested = read_one(file(&stamps), &plant_in("UTC", ""));
    assert_eq!(times(&ingested.record), ["06:00:02", "06:00:03", "07:00:00", "07:00:01"]);
    assert_eq!(spans(&ingested.record), ["06:00:02 to 07:00:01"]);
    assert_eq!(observed(&ingested), [(CLOCK_SET_BACK, 4, 1)]);
    assert!(messages(&ingested, CLOCK_SET_BACK)[0].contains("recorded before: 0."));
}

#[test]
fn rows_without_a_readable_stamp_lie_between_their_neighbours() {
    let early = "2026-03-03 06:00:0";
    for (files, expected) in [
        (vec![vec!["0", "?", "2"]], vec!["0.csv:3 1 rows 06:00:00 to 06:00:02"]),
        (
            vec![vec!["0", "?", "?", "2", "?", "4"]],
            vec!["0.csv:3 2 rows 06:00:00 to 06:00:02", "0.csv:6 1 rows 06:00:02 to 06:00:04"],
        ),
        // At the border of a file as far as the next sample, at that of the record no further.
        (vec![vec!["0", "?"], vec!["4", "5"]], vec!["0.csv:3 1 rows 06:00:00 to 06:00:04"]),
        (vec![vec!["0", "1"], vec!["?", "5"]], vec!["1.csv:2 1 rows 06:00:01 to 06:00:05"]),
        (
            vec![vec!["?", "0", "1", "?"]],
            vec!["0.csv:2 1 rows 06:00:00 to 06:00:00", "0.csv:5 1 rows 06:00:01 to 06:00:01"],
        ),
        // Where the clock was set back the ends are put in order.
        (vec![vec!["0", "5", "?", "2", "7"]], vec!["0.csv:4 1 rows 06:00:00 to 06:00:05"]),
    ] {
        let inputs: Vec<_> = (0..)
            .zip(&files)
            .map(|(index, stamps)| {
                let stamps: Vec<String> = stamps
                    .iter()
                    .map(
                        |&stamp| {
                            if stamp == "?" { "?".to_owned() } else { format!("{early}{stamp}") }
                        },
                    )
                    .collect();
                let stamps: Vec<&str> = stamps.iter().map(String::as_str).collect();
                input(&format!("{index}.csv"), file(&stamps))
            })
            .collect();
        let ingested = read_all(&inputs, &plant_in("UTC", ""));
        assert_eq!(unplaced(&ingested.record), expected, "{files:?}");
    }
}

#[test]
fn rows_without_a_place_in_a_file_that_begins_with_the_newest() {
    let mut stamps: Vec<String> =
        (0..20).rev().map(|second| format!("2026-03-03 06:00:{second:02}")).collect();
    stamps[0] = "?".to_owned();
    stamps[9] = "?".to_owned();
    let stamps: Vec<&str> = stamps.iter().map(String::as_str).collect();
    let later = input("later.csv", file(&["2026-03-03 06:00:30"]));
    let ingested = read_all(&[input("a.csv", file(&stamps)), later], &plant_in("UTC", ""));
    assert_eq!(
        unplaced(&ingested.record),
        ["a.csv:11 1 rows 06:00:09 to 06:00:11", "a.csv:2 1 rows 06:00:18 to 06:00:30"]
    );
    assert_eq!(spans(&ingested.record), Vec::<String>::new());
}

#[test]
fn a_file_of_the_skipped_hour_alone_lies_between_its_neighbours() {
    let hour = |time: &str| file(&[&format!("2026-03-08 {time}")]);
    let files = [
        input("after.csv", hour("03:10:00")),
        input("skipped.csv", hour("02:30:00")),
        input("before.csv", hour("01:50:00")),
        input("long before.csv", hour("00:50:00")),
    ];
    let ingested = read_all(&files, &chicago());
    assert_eq!(unplaced(&ingested.record), ["skipped.csv:2 1 rows 07:50:00 to 08:10:00"]);
}

#[test]
fn the_readings_of_rows_without_a_place_are_kept() {
    let text = "Time,FDV,Hold Temp (°F),Raw (psi),Past (psi),Product,Lot\n\
                2026-03-03 06:00:00,FWD,162,24.3,26.3,milk,A\n\
                2026-03-03 06:00:0x,FWD,150.5,24.3,26.25,milk,B\n\
                2026-13-03 06:00:02,DIV,BAD,24.3,,,\n\
                2026-03-03 06:00:03,FWD,162,24.3,26.3,milk,C\n";
    let ingested = read_one(text, &plant_in("UTC", ""));
    let [group] = ingested.record.unplaced() else { panic!("one group") };
    let valid = |mantissa, scale| Reading::Valid(Decimal::new(mantissa, scale));
    let row = |valve, temperature, differential, [product, lot]: [&str; 2]| UnplacedRow {
        valve,
        temperature,
        differential,
        product: product.to_owned(),
        lot: lot.to_owned(),
    };
    assert_eq!(
        group.rows,
        [
            row(ValveState::Forward, valid(1505, 1), valid(195, 2), ["milk", "B"]),
            row(
                ValveState::Divert,
                Reading::Invalid(Invalid::NotANumber),
                Reading::Invalid(Invalid::Blank),
                ["", ""]
            ),
        ]
    );
    assert_eq!(ingested.record.samples(), 2);
    let told = messages(&ingested, UNPLACED_ROWS);
    assert!(told[0].contains("can't be read: 2, the first \"2026-03-03 06:00:0x\"."), "{told:?}");
    let direct = "Time,FDV,Hold Temp (°F),dP (psi)\n2026-03-03 06:00:00,FWD,162,3\n?,FWD,162,1.5\n";
    let ingested = read_one(direct, &plant_in("UTC", ""));
    assert_eq!(ingested.record.unplaced()[0].rows[0].differential, valid(15, 1));
}

#[test]
fn many_rows_without_a_place_make_a_few_observations() {
    let stamps: Vec<String> = (0..6000)
        .map(|row| {
            if row % 60 == 1 {
                "?".into()
            } else {
                format!("2026-03-03 {:02}:{:02}:{:02}", row / 3600, row / 60 % 60, row % 60)
            }
        })
        .collect();
    let stamps: Vec<&str> = stamps.iter().map(String::as_str).collect();
    let ingested = read_one(file(&stamps), &plant_in("UTC", ""));
    assert_eq!(ingested.record.unplaced().len(), 100);
    let told = messages(&ingested, UNPLACED_ROWS);
    assert_eq!(told.len(), 21);
    assert!(told[20].contains("in 80 more places"), "{}", told[20]);
    assert_eq!(observed(&ingested).iter().map(|one| one.2).sum::<u64>(), 100);
}

/// File and line, the number of rows and the interval of each group of rows without a place.
fn unplaced(record: &RunRecord) -> Vec<String> {
    let shown = |group: &trace::Unplaced| {
        let (file, line) = (&group.position.file, group.position.line);
        format!("{file}:{line} {} rows {}", group.rows.len(), span(group.interval))
    };
    record.unplaced().iter().map(shown).collect()
}

fn spans(record: &RunRecord) -> Vec<String> {
    record.double_spans().iter().copied().map(span).collect()
}

fn span(interval: Interval) -> String {
    let clock = |instant| plant::Zone::UTC.clock(instant);
    format!("{} to {}", clock(interval.start()), clock(interval.end()))
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
    let backward: Vec<_> = backward.iter().filter(|one| one.0 == CLOCK_SET_BACK).collect();
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
