//! Several loggers that record one pasteurizer.

use crate::support::{input, messages, plant_in, read_all, show};
use ingest::{Ingested, Input, Progress, observations, read};
use plant::Plant;
use proptest::prelude::*;
use trace::{Observation, RunRecord};

const LEADING: &str = "[[loggers]]\nname = \"controller\"\nfiles = \"*-valve.csv\"\n\
    [loggers.columns]\ntime = \"Time\"\nvalve = { column = \"FDV\" }\n\
    holding_temperature = { column = \"Hold\", unit = \"degF\" }\n\
    leak_detect = { column = \"Leak\" }\n";
const PRESSURES: &str = "[[loggers]]\nname = \"pressures\"\nfiles = \"*-pressures.csv\"\n\
    tolerance = \"2 s\"\nMORE[loggers.columns]\ntime = \"Stamp\"\n\
    raw_pressure = { column = \"Raw\", unit = \"psi\" }\n\
    pasteurized_pressure = { column = \"Past\", unit = \"psi\" }\nALSO";
const VALVE: &str = "Time,FDV,Hold,Leak\n";

/// The plant of both loggers; `more` says more of the second, `also` are more of its columns.
fn plant(more: &str, also: &str) -> Plant {
    let pressures = PRESSURES.replace("MORE", more).replace("ALSO", also);
    plant_in("UTC", &format!("{pressures}{LEADING}"))
}

fn leading(rows: &str) -> Input {
    input("d-valve.csv", format!("{VALVE}{}", stamped(rows)))
}

fn pressures(rows: &str) -> Input {
    input("d-pressures.csv", format!("Stamp,Raw,Past\n{}", stamped(rows)))
}

/// Rows such as `0 FWD,163,off`: the seconds after six o'clock, and the cells.
fn stamped(rows: &str) -> String {
    let row = |row: &str| {
        let (second, cells) = row.trim().split_once(' ').unwrap_or_default();
        let second: u32 = second.parse().unwrap_or_default();
        format!("2026-03-08 06:{:02}:{:02},{cells}\n", second / 60, second % 60)
    };
    rows.split('|').map(row).collect()
}

/// The pressures of each sample.
fn joined(record: &RunRecord) -> Vec<String> {
    show(record)
        .lines()
        .map(|line| {
            let reading = |key: &str| {
                let rest = line.split_once(key).map_or("", |(_, rest)| rest);
                rest.split("psi").next().unwrap_or_default().split(" pa").next().unwrap_or_default()
            };
            let [raw, past] = ["raw_pressure=", "pasteurized_pressure="].map(reading);
            format!(
                "{} {}",
                raw.trim(),
                past.split(" differential").next().unwrap_or_default().trim()
            )
        })
        .collect()
}

fn error(inputs: &[Input], plant: &Plant) -> String {
    match read(inputs, plant, &Progress::default()) {
        Ok(_) => "no error".to_owned(),
        Err(error) => error.to_string(),
    }
}

fn of_kind(read: &Ingested, kind: trace::ObservationKind) -> Vec<&Observation> {
    read.observations.iter().filter(|one| one.kind == kind).collect()
}

const FOUR: &str = "0 DIV,160,off|1 DIV,161,off|2 FWD,162,off|3 FWD,163,on";

#[test]
fn readings_are_joined_by_their_instants() {
    let inputs = [pressures("0 20,25|1 20,26|2 20,27|3 20,28"), leading(FOUR)];
    let read = read_all(&inputs, &plant("", ""));
    assert_eq!(joined(&read.record), ["20 25", "20 26", "20 27", "20 28"]);
    assert_eq!(read.record.sources().len(), 2);
    assert_eq!(
        &*read.record.sources()[0].name,
        "d-valve.csv",
        "the leading logger names the record"
    );
    assert!(read.observations.is_empty(), "{:?}", read.observations);
}

/// Between two readings the worse of both counts, and never a figure in between.
#[test]
fn the_worse_of_two_readings_around_a_row_counts() {
    let inputs = [leading("0 FWD,163,off|10 FWD,163,off"), pressures("8 20,25|9 21,24|11 20,22")];
    let read = read_all(&inputs, &plant("", ""));
    assert_eq!(joined(&read.record), ["blank blank", "20 22"]);
    let told = messages(&read, observations::LOGGERS_NOT_JOINED);
    assert_eq!(told.len(), 1);
    assert!(
        told[0].contains("no further than 2 s away. Rows of the record without one: 1;"),
        "{told:?}"
    );
}

/// Where rows are near, a reading between them that is beyond the tolerance counts against the later one;
/// how near follows the longest gap that the plant's limits allow.
#[test]
fn a_short_reading_between_two_rows_is_not_lost_to_the_tolerance() {
    let rows = "0 FWD,163,off|20 FWD,163,off|30 FWD,163,off";
    let readings = "0 20,25|6 20,20|19 20,25|24 20,21|29 20,25";
    let read = |limits: &str| {
        let inputs = [leading(rows), pressures(readings)];
        let accepted = "[accepted]\nby = \"Q. Example (invented)\"\ndocument = \"letter 7\"\n\
                        date = \"2026-01-05\"\n";
        let text =
            format!("{}{limits}{accepted}", PRESSURES.replace("MORE", "").replace("ALSO", ""));
        joined(&read_all(&inputs, &plant_in("UTC", &format!("{text}{LEADING}"))).record)
    };
    // Twenty seconds apart there is a gap, which is told by itself.
    assert_eq!(read(""), ["20 25", "20 25", "20 21"]);
    assert_eq!(read("[limits]\ngap = \"30 s\"\n"), ["20 25", "20 20", "20 21"]);
    // A shorter limit takes nothing away.
    assert_eq!(read("[limits]\ngap = \"2 s\"\n"), ["20 25", "20 25", "20 21"]);
}

#[test]
fn a_reading_outside_the_tolerance_belongs_to_no_row() {
    let inputs = [leading(FOUR), pressures("0 20,25|9 20,25")];
    let read = read_all(&inputs, &plant("", ""));
    assert_eq!(joined(&read.record), ["20 25", "20 25", "20 25", "blank blank"]);
    let told = messages(&read, observations::LOGGERS_NOT_JOINED);
    assert!(told[0].ends_with("Readings of it near no row, which are not used: 1."), "{told:?}");
}

#[test]
fn a_stated_offset_of_the_clock_is_applied_and_told() {
    let minute_later = "60 DIV,160,off|61 DIV,161,off|62 FWD,162,off|63 FWD,163,on";
    for (more, own, rows) in [
        ("clock_ahead = \"12 s\"\n", FOUR, "12 20,25|13 20,26|14 20,27|15 20,28"),
        ("clock_behind = \"1 min\"\n", minute_later, "0 20,25|1 20,26|2 20,27|3 20,28"),
    ] {
        let inputs = [leading(own), pressures(rows)];
        let read = read_all(&inputs, &plant(more, ""));
        assert_eq!(joined(&read.record), ["20 25", "20 26", "20 27", "20 28"], "{more}");
        let told = read
            .assumptions
            .iter()
            .any(|said| said.contains("as the plant file says; its readings"));
        assert!(told, "{:?}", read.assumptions);
    }
}

#[test]
fn a_logger_without_a_file_leaves_its_channels_blank_and_is_told() {
    let read = read_all(&[leading(FOUR)], &plant("", ""));
    assert_eq!(joined(&read.record), ["blank blank"; 4]);
    let told = messages(&read, observations::LOGGER_MISSING);
    assert_eq!(told.len(), 1);
    assert!(
        told[0].contains("logger \"pressures\"; without it the record has no raw pressure, pas"),
        "{told:?}"
    );
}

#[test]
fn what_is_no_file_of_the_loggers_is_an_error() {
    let plant = plant("", "");
    for (inputs, part) in [
        (vec![pressures("0 20,25")], "d-pressures.csv: the logger \"controller\" has the position"),
        (vec![leading(FOUR), input("x.csv", "a,b\n")], "x.csv: its name is that of no logger"),
        (
            vec![leading(FOUR), input("d-pressures.csv", "Stamp,Raw\n2026-03-08 06:00:00,1\n")],
            "binds columns.pasteurized_pressure to \"Past\"",
        ),
    ] {
        let error = error(&inputs, &plant);
        assert!(error.contains(part), "{error}");
    }
}

/// A row of the pressures without a stamp may have been short at any time between its neighbours.
#[test]
fn a_row_without_a_stamp_is_a_hole_of_the_record() {
    let rows = stamped("0 20,25|1 20,25|2 20,25|3 20,25").replace("06:00:02", "xx");
    let inputs = [leading(FOUR), input("d-pressures.csv", format!("Stamp,Raw,Past\n{rows}"))];
    let read = read_all(&inputs, &plant("", ""));
    let [unplaced] = read.record.unplaced() else { panic!("{:?}", read.record.unplaced()) };
    assert_eq!(unplaced.interval.start(), read.record.instants()[1]);
    assert_eq!(unplaced.interval.end(), read.record.instants()[3]);
    assert_eq!(
        unplaced.rows[0].valve,
        trace::ValveState::Forward,
        "the worst position of these rows"
    );
}

#[test]
fn of_a_channel_of_both_the_worse_reading_counts() {
    let also = "holding_temperature = { column = \"Check\", unit = \"degF\" }\n\
                leak_detect = { column = \"Drip\" }\n";
    let rows = stamped("0 20,25,159,off|1 20,25,165,on|2 20,25,,off|3 20,25,163,off");
    let second = input("d-pressures.csv", format!("Stamp,Raw,Past,Check,Drip\n{rows}"));
    let read = read_all(&[leading(FOUR), second], &plant("", also));
    let held = read.record.holding_temperature();
    let held: Vec<_> =
        (0..4).map(|row| held.reading(row).valid().map(|one| one.to_string())).collect();
    let some = |reading: &str| Some(reading.to_owned());
    assert_eq!(held, [some("159"), some("161"), None, some("163")]);
    let on = Some(true);
    assert_eq!(read.record.leak_detect(), Some(&[Some(false), on, Some(false), on][..]));
}

/// Ten minutes at one-second steps in which the temperature goes up and down without a pattern.
fn shifted(by: i64) -> [Input; 2] {
    let mut state = 3_u32;
    let (mut own, mut other) = (vec![VALVE.to_owned()], vec!["Stamp,Raw,Past,Check\n".to_owned()]);
    for second in 0..600_i64 {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        let held = 1600 + (state >> 24) % 60;
        let stamp = |second: i64| format!("2026-03-08 06:{:02}:{:02}", second / 60, second % 60);
        own.push(format!("{},FWD,{}.{},off\n", stamp(second), held / 10, held % 10));
        other.push(format!("{},20,25,{}.{}\n", stamp(second + by), held / 10, held % 10));
    }
    [input("d-valve.csv", own.concat()), input("d-pressures.csv", other.concat())]
}

#[test]
fn an_offset_is_suggested_and_never_applied() {
    let also = "holding_temperature = { column = \"Check\", unit = \"degF\" }\n";
    let read = read_all(&shifted(12), &plant("", also));
    let told = messages(&read, observations::LOGGERS_APART);
    assert_eq!(told.len(), 1);
    assert!(told[0].contains("the logger \"pressures\" is 12 s ahead"), "{told:?}");
    // By what both read at the same stamps: the worse of two different readings.
    assert_ne!(show(&read.record), show(&read_all(&shifted(0), &plant("", also)).record));
    let set = read_all(&shifted(12), &plant("clock_ahead = \"12 s\"\n", also));
    assert_eq!(show(&set.record), show(&read_all(&shifted(0), &plant("", also)).record));
    for read in
        [set, read_all(&shifted(0), &plant("", also)), read_all(&shifted(12), &plant("", ""))]
    {
        assert!(of_kind(&read, observations::LOGGERS_APART).is_empty());
    }
}

proptest! {
    /// Stamps that are equal: one file, or its columns in two.
    #[test]
    fn columns_in_two_files_are_the_same_record(
        rows in prop::collection::vec((1..4_u32, 0..4_usize, 1500..1700_u32, 200..300_u32, 200..320_u32), 1..40),
    ) {
        let words = ["FWD", "DIV", "TRV", "FWD"];
        let (mut whole, mut own, mut other) = (
            vec!["Time,FDV,Hold,Leak,Raw,Past\n".to_owned()],
            vec![VALVE.to_owned()],
            vec!["Stamp,Raw,Past\n".to_owned()],
        );
        let mut second = 0;
        for (step, valve, held, raw, past) in rows {
            second += step;
            let stamp = format!("2026-03-08 06:{:02}:{:02}", second / 60, second % 60);
            let leading = format!("{stamp},{},{}.{},off", words[valve], held / 10, held % 10);
            let pressures = format!("{}.{},{}.{}", raw / 10, raw % 10, past / 10, past % 10);
            whole.push(format!("{leading},{pressures}\n"));
            own.push(format!("{leading}\n"));
            other.push(format!("{stamp},{pressures}\n"));
        }
        let one = plant_in("UTC", "[columns]\ntime = \"Time\"\nvalve = { column = \"FDV\" }\n\
            holding_temperature = { column = \"Hold\", unit = \"degF\" }\n\
            leak_detect = { column = \"Leak\" }\n\
            raw_pressure = { column = \"Raw\", unit = \"psi\" }\n\
            pasteurized_pressure = { column = \"Past\", unit = \"psi\" }\n");
        let inputs = [input("d-pressures.csv", other.concat()), input("d-valve.csv", own.concat())];
        let read = read_all(&inputs, &plant("", ""));
        prop_assert_eq!(show(&read.record), show(&read_all(&[input("day.csv", whole.concat())], &one).record));
        prop_assert!(read.observations.is_empty(), "{:?}", read.observations);
    }
}
