//! Files that have a row where something changed.

use crate::support::{error, plant_in, read_one, show};
use plant::Plant;
use proptest::prelude::*;
use trace::{RunRecord, ValveState};

const COLUMNS: &str = "[columns]\ntime = \"Time\"\nvalve = { column = \"FDV\" }\n\
    holding_temperature = { column = \"Hold\", unit = \"degF\" }\n\
    differential_pressure = { column = \"dP\", unit = \"psi\" }\nproduct = { column = \"Product\" }\n";

/// A plant whose logger writes changes, looks each second and writes again after ten.
fn changes(more: &str) -> Plant {
    let files = "[files]\nlogging = \"on change\"\nlongest_hold = \"10 s\"\nstep = \"1 s\"\n";
    plant_in("UTC", &format!("{files}{more}{COLUMNS}"))
}

fn stamp(second: u32) -> String {
    format!("2026-03-08 06:{:02}:{:02}", second / 60, second % 60)
}

/// Rows such as `0 FWD,163,5,milk`: the seconds after six o'clock, and the cells.
fn file(rows: &str) -> String {
    let row = |row: &str| {
        let (second, cells) = row.split_once(' ').unwrap_or_default();
        format!("{},{cells}\n", second.parse().map_or_else(|_| second.to_owned(), stamp))
    };
    let rows: String = rows.split('|').map(row).collect();
    format!("Time,FDV,Hold,dP,Product\n{rows}")
}

/// Seconds, position, temperature, differential and product of each sample.
fn samples(record: &RunRecord) -> Vec<String> {
    show(record)
        .lines()
        .map(|line| {
            line.trim_start_matches("2026-03-08T06:00:")
                .replace("holding_temperature=", "")
                .replace("differential_pressure=", "")
                .replace("product=", "")
                .replace(".000", "")
        })
        .collect()
}

#[test]
fn a_reading_holds_until_the_next_row() {
    let read = read_one(file("0 DIV,160,5,milk|2 ,,6,|3 FWD,,,"), &changes(""));
    assert_eq!(
        samples(&read.record),
        [
            "00 divert 160°F 5psi \"milk\"",
            "01 divert 160°F 5psi \"milk\"",
            "02 divert 160°F 6psi \"milk\"",
            "03 forward 160°F 6psi \"milk\""
        ]
    );
    assert!(read.observations.is_empty(), "{:?}", read.observations);
    assert!(read.assumptions.iter().any(|said| said.contains("for at most 10 s")));
}

#[test]
fn nothing_holds_for_longer_than_stated_or_before_it_was_read() {
    // The temperature is written at 0 only, and no row at all stands between 14 and 40.
    let read = read_one(
        file("0 FWD,163,,milk|8 FWD,,5,milk|14 FWD,,5,milk|40 FWD,163,5,milk"),
        &changes(""),
    );
    let samples = samples(&read.record);
    assert_eq!(samples[7], "07 forward 163°F blankpsi \"milk\"", "not read before 8");
    assert_eq!(samples[10], "10 forward 163°F 5psi \"milk\"");
    assert_eq!(samples[11], "11 forward blank°F 5psi \"milk\"", "eleven seconds old");
    assert_eq!(samples[24], "24 forward blank°F 5psi \"milk\"");
    assert_eq!(samples[25], "40 forward 163°F 5psi \"milk\"", "a hole from 24 to 40");
    assert_eq!(samples.len(), 26);
}

#[test]
fn what_cannot_be_read_holds_as_such() {
    let read = read_one(file("0 FWD,163,5,milk|2 FWD,BAD,,|4 ?,,,|6 FWD,162,,"), &changes(""));
    let samples = samples(&read.record);
    assert_eq!(samples[1], "01 forward 163°F 5psi \"milk\"");
    assert_eq!(samples[3], "03 forward not a number°F 5psi \"milk\"");
    assert_eq!(samples[5], "05 unknown not a number°F 5psi \"milk\"");
    assert_eq!(samples[6], "06 forward 162°F 5psi \"milk\"");
}

/// What a row with too few cells says of which channel is not known.
#[test]
fn nothing_holds_over_a_row_that_cannot_be_read() {
    let read = read_one(file("0 FWD,163,5,milk|2 FWD,163|4 ,,6,"), &changes(""));
    let found = samples(&read.record);
    assert_eq!(found[1], "01 forward 163°F 5psi \"milk\"");
    for at in [2, 3] {
        assert_eq!(found[at], format!("0{at} unknown blank°F blankpsi \"\""));
    }
    assert_eq!(found[4], "04 unknown blank°F 6psi \"\"");
    // A row without a stamp may have changed anything at any time between its neighbours.
    let read = read_one(file("0 FWD,163,5,milk|xx DIV,,,|4 ,,6,"), &changes(""));
    assert_eq!(
        samples(&read.record),
        ["00 forward 163°F 5psi \"milk\"", "04 unknown blank°F 6psi \"\""]
    );
    assert_eq!(read.record.unplaced().len(), 1);
}

#[test]
fn each_position_switch_holds_by_itself() {
    let columns = COLUMNS.replace(
        "valve = { column = \"FDV\" }",
        "valve_forward = { column = \"Fwd\" }\nvalve_divert = { column = \"Div\" }",
    );
    let files = "[files]\nlogging = \"on change\"\nlongest_hold = \"10 s\"\nstep = \"1 s\"\n";
    let plant = plant_in("UTC", &format!("{files}{columns}"));
    let text = file("0 on,off,163,5,milk|2 off,,,,|4 ,on,,,").replace("FDV", "Fwd,Div");
    let read = read_one(text, &plant);
    let (forward, travel, divert) = (ValveState::Forward, ValveState::Travel, ValveState::Divert);
    assert_eq!(read.record.valve(), [forward, forward, travel, travel, divert]);
}

#[test]
fn a_channel_without_a_row_of_the_long_form_has_not_changed() {
    let long = "[files.long]\ntag = \"Tag\"\nvalue = \"Value\"\n";
    let line = |second, rest: &str| format!("{},{rest}\n", stamp(second));
    let text = format!(
        "Time,Tag,Value\n{}{}{}{}{}{}",
        line(0, "FDV,DIV"),
        line(0, "Hold,160"),
        line(0, "dP,5"),
        line(0, "Product,milk"),
        line(2, "Hold,161"),
        line(3, "FDV,FWD")
    );
    let read = read_one(&text, &changes(long));
    assert_eq!(
        samples(&read.record)[1..],
        [
            "01 divert 160°F 5psi \"milk\"",
            "02 divert 161°F 5psi \"milk\"",
            "03 forward 161°F 5psi \"milk\""
        ]
    );
    // A row that is cut may be of any channel.
    let read = read_one(text + &line(4, "Ho") + &line(6, "Hold,162"), &changes(long));
    let found = samples(&read.record);
    for at in [4, 5] {
        assert_eq!(found[at], format!("0{at} unknown blank°F blankpsi \"\""));
    }
    assert_eq!(found[6], "06 unknown 162°F blankpsi \"\"");
}

#[test]
fn more_rows_than_a_record_needs_are_refused() {
    let files = "[files]\nlogging = \"on change\"\nlongest_hold = \"1 h\"\nstep = \"100 ms\"\n";
    let plant = plant_in("UTC", &format!("{files}{COLUMNS}"));
    let days: String = (1..28)
        .flat_map(|day| (0..24).map(move |hour| (day, hour)))
        .map(|(day, hour)| format!("2026-02-{day:02} {hour:02}:00:00,FWD,163,5,milk\n"))
        .collect();
    let told = error(format!("Time,FDV,Hold,dP,Product\n{days}"), &plant);
    assert!(told.contains("are more than eight million; say a longer step"), "{told}");
}

proptest! {
    /// A day at one-second steps, and its changes with a row again before nothing holds any more.
    #[test]
    fn the_changes_of_a_day_are_its_record(
        rows in prop::collection::vec((0..3_usize, 160..163_u32, 3..5_u32, 0..2_usize), 2..80),
        sparse in any::<bool>(), newest_first in any::<bool>(), cut in any::<prop::sample::Index>(),
    ) {
        let words = ["FWD", "DIV", "TRV"];
        let cells: Vec<[String; 4]> = rows
            .iter()
            .map(|&(valve, held, pressure, product)| {
                [words[valve].to_owned(), held.to_string(), pressure.to_string(), ["milk", "cream"][product].to_owned()]
            })
            .collect();
        let line = |second: usize, cells: &[String]| format!("{},{}\n", stamp(second as u32), cells.join(","));
        let whole: String = cells.iter().enumerate().map(|(second, row)| line(second, row)).collect();
        let mut written = [0; 4];
        let mut changes_only = Vec::new();
        for (second, row) in cells.iter().enumerate() {
            let is_last = second + 1 == cells.len();
            let before = second.checked_sub(1).and_then(|before| cells.get(before));
            let is_due = |column: usize| before.is_none_or(|before| before[column] != row[column]) || second - written[column] >= 10;
            let due = [0, 1, 2, 3].map(is_due);
            if !is_last && !due.contains(&true) {
                continue;
            }
            let mut cells = row.clone();
            for column in 0..4 {
                if sparse && !due[column] {
                    cells[column].clear();
                } else {
                    written[column] = second;
                }
            }
            changes_only.push(line(second, &cells));
        }
        let header = "Time,FDV,Hold,dP,Product\n";
        let (first, rest) = changes_only.split_at(cut.index(changes_only.len()));
        let file = |lines: &[String]| {
            let mut lines = lines.to_vec();
            if newest_first && lines.len() >= 10 {
                lines.reverse();
            }
            format!("{header}{}", lines.concat())
        };
        let expected = show(&read_one(format!("{header}{whole}"), &plant_in("UTC", COLUMNS)).record);
        prop_assert_eq!(&show(&read_one(file(&changes_only), &changes("")).record), &expected);
        // Where a day is cut into files does not matter.
        let parts: Vec<_> = [first, rest]
            .iter()
            .enumerate()
            .filter(|(_, lines)| !lines.is_empty())
            .map(|(part, lines)| crate::support::input(&format!("{part}.csv"), file(lines)))
            .collect();
        prop_assert_eq!(&show(&crate::support::read_all(&parts, &changes("")).record), &expected);
    }
}
