//! Small days for the tests of this crate, read and audited like any other.

use crate::Case;
use ingest::{Input, Progress};
use plant::Plant;
use std::fmt::Write as _;

/// The plant of the samples; invented.
pub(crate) const PLANT: &str = r#"
schema = 1
plant = "Example Dairy (invented)"
unit = "HTST-1"
zone = "America/Chicago"
default_product = "milk"
nominal_flow = "50 gal/min"

[columns]
time = "Time"
valve = { column = "FDD", forward = ["F"], divert = ["D"], travel = ["V"] }
holding_temperature = { column = "Hold", unit = "degF" }
differential_pressure = { column = "Diff", unit = "psi" }
flow_rate = { column = "Flow", unit = "gal/min" }
lot = { column = "Lot" }
mode = { column = "Mode", production = ["run"], cleaning = ["clean"] }

[[products]]
name = "milk"
row = "us-milk-15s"

[tube]
test_flow = "50 gal/min"
test_time = "16.5 s"
tested_on = "2026-01-14"
tested_by = "R. Example (invented)"
"#;

/// A stretch of seconds: how many, FDD, °F, lot, mode.
pub(crate) type Stretch = (u32, char, &'static str, &'static str, &'static str);

/// A file of rows, one a second from six o'clock on. The readings have a last digit that moves, so
/// that no channel is frozen; a step in `holes` (row, seconds) is longer.
pub(crate) fn file(stretches: &[Stretch], holes: &[(u32, u32)]) -> String {
    let mut text = String::from("Time,FDD,Hold,Diff,Flow,Lot,Mode\n");
    let (mut row, mut second) = (0, 6 * 3600);
    for &(count, valve, degrees, lot, mode) in stretches {
        for _ in 0..count {
            let digit = row % 3;
            let (hour, minute) = (second / 3600, second / 60 % 60);
            let written = writeln!(
                text,
                "2026-03-04 {hour:02}:{minute:02}:{:02},{valve},{degrees}{digit},5.{digit},50.{digit},{lot},{mode}",
                second % 60
            );
            assert!(written.is_ok(), "a text takes what is written");
            second += 1;
            row += 1;
            second +=
                holes.iter().filter(|(after, _)| *after == row).map(|(_, time)| time).sum::<u32>();
        }
    }
    text
}

/// Files of the given names, with a plant file or without.
pub(crate) fn day(plant: Option<&str>, files: &[(&str, &str)]) -> Case {
    let plant = match plant.map(|text| Plant::parse("plant.toml", text)) {
        None => Plant::assumed(),
        Some(Ok(plant)) => plant,
        Some(Err(error)) => panic!("{error}"),
    };
    let inputs: Vec<Input> = files
        .iter()
        .map(|(name, text)| Input::Bytes {
            name: (*name).to_owned(),
            bytes: text.as_bytes().to_vec(),
        })
        .collect();
    let ingested = match ingest::read(&inputs, &plant, &Progress::default()) {
        Ok(ingested) => ingested,
        Err(error) => panic!("{error}"),
    };
    let ingest::Ingested { record, observations, assumptions } = ingested;
    Case::new(record, plant, observations, assumptions)
}

/// The same with the plant file and a run sheet.
pub(crate) fn day_with_sheet(rows: &str, sheet: &str) -> Case {
    let Case { record, plant, .. } = day(Some(PLANT), &[("day.csv", rows)]);
    let sheet = match ingest::parse_run_sheet("day.run-sheet.csv", sheet.as_bytes(), &plant) {
        Ok(sheet) => sheet,
        Err(error) => panic!("{error}"),
    };
    Case::new(record.with_run_sheet(sheet), plant, Vec::new(), Vec::new())
}

/// A day with a dip in each of two lots, a cleaning with forward flow and a hole while diverted.
pub(crate) fn eventful() -> Case {
    let text = file(
        &[
            (60, 'D', "150.", "A1", "run"),
            (120, 'F', "163.", "A1", "run"),
            (4, 'F', "160.", "A1", "run"),
            (3, 'V', "160.", "A1", "run"),
            (60, 'D', "158.", "A1", "run"),
            (120, 'F', "163.", "A2", "run"),
            (1, 'F', "160.", "A2", "run"),
            (60, 'D', "160.", "A2", "run"),
            (60, 'D', "120.", "", "clean"),
            (20, 'F', "120.", "", "clean"),
            (60, 'D', "120.", "", "clean"),
            (20, 'F', "120.", "", "clean"),
            (60, 'D', "120.", "", "clean"),
        ],
        &[(230, 90)],
    );
    day(Some(PLANT), &[("logs/2026-03-04.csv", &text)])
}
