//! A file costs what it holds: a hundred thousand lots, products, words or columns are audited in
//! 500 MB of memory, and what is written grows with the file and not with its square.
#![cfg(unix)]

use serde_json::Value;
use std::fmt::Write as _;
use std::fs;
use std::path::Path;
use std::process::Command;
use tests::good;
use tests::program::{Told, program};
use tests::simple::PLANT_FILE as PLANT;

const MANY: usize = 100_000;

/// In KiB, as `ulimit` takes it.
const MEMORY: &str = "500000";

const WITH_LOTS: &str = "product = { column = \"Product\" }\nlot = { column = \"Lot\" }\n";

fn stamp(second: usize) -> String {
    let (day, hour) = (3 + second / 86_400, second / 3600 % 24);
    format!("2026-03-{day:02} {hour:02}:{:02}:{:02}", second / 60 % 60, second % 60)
}

/// A file of as many rows, with a header; `row` gives what follows the stamp.
fn file(header: &str, rows: usize, row: impl Fn(usize) -> String) -> String {
    let mut text = format!("{header}\n");
    for second in 0..rows {
        assert!(writeln!(text, "{},{}", stamp(second), row(second)).is_ok());
    }
    text
}

/// The program's answer about a day, given no more memory than that.
fn audited(files: &[(&str, &str)], format: &str) -> Told {
    let folder = good(tempfile::tempdir());
    for (name, text) in files {
        assert!(fs::write(folder.path().join(name), text).is_ok(), "{name}");
    }
    run(folder.path(), format)
}

fn run(folder: &Path, format: &str) -> Told {
    let output = Command::new("sh")
        .args(["-c", "ulimit -d \"$0\" && exec \"$@\"", MEMORY])
        .arg(program())
        .args(["audit", "--format", format, "day.csv"])
        .current_dir(folder)
        .output();
    match output {
        Ok(output) => output.into(),
        Err(error) => panic!("sh: {error}"),
    }
}

fn json(told: &Told) -> Value {
    assert_eq!(told.status, Some(1), "{}", told.complaint);
    serde_json::from_str(&told.output).unwrap_or_else(|error| panic!("{error}: {}", told.complaint))
}

fn length(list: &Value) -> usize {
    list.as_array().map_or(0, Vec::len)
}

#[test]
fn a_hundred_thousand_lots_in_one_exception() {
    let plant = format!("{PLANT}{WITH_LOTS}");
    let day = file("Time,FDD,Hold,Raw,Past,Product,Lot", MANY, |row| {
        format!("FWD,150.5,20.0,26.0,milk,L{row}")
    });
    let told = audited(&[("plant.toml", &plant), ("day.csv", &day)], "json");
    let audit = json(&told);
    assert_eq!(length(&audit["exceptions"]), 1);
    assert_eq!(length(&audit["exceptions"][0]["lots"]), MANY);
    assert_eq!(length(&audit["hold"]["lots"]), MANY);
    assert_eq!(length(&audit["lots"]), MANY);
    // In the exception, in what is to be held, its run and its account: no row a lot lists them all.
    assert_eq!(told.output.matches("\"L77777\"").count(), 4);
}

/// Every other pair of rows is short of what an unknown product is held to, and the pressures between them stand still: fifty thousand
/// exceptions, each of a few lots.
#[test]
fn a_hundred_thousand_lots_and_products_in_many_exceptions() {
    let plant = format!("{PLANT}{WITH_LOTS}");
    let day = file("Time,FDD,Hold,Raw,Past,Product,Lot", MANY, |row| {
        let degrees = if row % 4 < 2 { "150.5" } else { "168.5" };
        format!("FWD,{degrees},20.0,26.0,P{row},L{row}")
    });
    let told = audited(&[("plant.toml", &plant), ("day.csv", &day)], "csv");
    assert_eq!(told.status, Some(1), "{}", told.complaint);
    assert_eq!(told.output.lines().count(), 1 + MANY / 2);
    // In its own exception, and in that of the sample before or after it.
    for row in [40_000, 40_001, 40_002, 40_003] {
        let times = told.output.matches(&format!("L{row}")).count();
        assert!(times <= 2, "L{row} stands there {times} times");
    }
}

#[test]
fn a_hundred_thousand_words_for_the_position() {
    // A record of which more than half of the positions are not mapped is refused.
    let day = file("Time,FDD,Hold,Raw,Past", 2 * MANY, |row| {
        let word = if row < MANY { "FWD".to_owned() } else { format!("W{row}") };
        format!("{word},163.5,20.0,26.0")
    });
    let told = audited(&[("plant.toml", PLANT), ("day.csv", &day)], "json");
    // Twenty are told one by one, the others are counted.
    let audit = json(&told);
    let of_words = |one: &&Value| one["kind"] == "unmapped_word";
    let observations = audit["observations"].as_array().cloned().unwrap_or_default();
    assert_eq!(observations.iter().filter(of_words).count(), 21);
    assert!(told.output.contains("99980"), "{}", told.output);
}

#[test]
fn a_hundred_thousand_columns() {
    let names: String = (0..MANY).map(|column| format!(",C{column}")).collect();
    let header = format!("Time,FDD,Hold,Raw,Past{names}");
    let cells = ",1".repeat(MANY);
    let day = file(&header, 20, |_| format!("FWD,163.5,20.0,26.0{cells}"));
    let told = audited(&[("plant.toml", PLANT), ("day.csv", &day)], "text");
    assert_eq!(told.status, Some(2), "{told:?}");
    assert!(told.complaint.contains("where the header has 4096"), "{}", told.complaint);
}

/// A name as long as a page, whose every ending could be a unit.
#[test]
fn a_header_of_256_kb() {
    let long = "hold temp ".repeat(26_000);
    let day = file("Time,FDD,Hold,Raw,Past", 20, |_| "FWD,163.5,20.0,26.0".to_owned());
    for plant in [PLANT, PLANT.split("[columns]").next().unwrap_or_default()] {
        let day = format!("{long},x\n{day}");
        let told = audited(&[("plant.toml", plant), ("day.csv", &day)], "text");
        assert!(matches!(told.status, Some(0..=2)), "{told:?}");
    }
}

#[test]
fn a_plant_of_ten_thousand_products() {
    let products: String = (0..10_000)
        .map(|one| format!("[[products]]\nname = \"P{one}\"\nrow = \"us-milk-15s\"\n"))
        .collect();
    let plant = format!("{PLANT}{WITH_LOTS}{products}");
    // Half of the products of the record are not known to the plant.
    let day = file("Time,FDD,Hold,Raw,Past,Product,Lot", MANY, |row| {
        format!("FWD,163.5,20.0,26.0,P{},L", row % 20_000)
    });
    let told = audited(&[("plant.toml", &plant), ("day.csv", &day)], "text");
    assert_eq!(told.status, Some(1), "{}", told.complaint);
    assert!(told.output.contains("P9999"));
}

#[test]
fn a_run_sheet_of_a_hundred_thousand_rows() {
    let day = file("Time,FDD,Hold,Raw,Past", MANY, |row| {
        let degrees = if row % 4 < 2 { "150.5" } else { "163.5" };
        format!("FWD,{degrees},20.0,26.0")
    });
    let mut sheet = "product,lot,start,end,tank\n".to_owned();
    for row in 0..MANY {
        let (start, end) = (stamp(row), stamp(row + 1));
        assert!(writeln!(sheet, "milk,L{row},{start},{end},T{}", row % 7).is_ok());
    }
    let files =
        [("plant.toml", PLANT), ("day.csv", day.as_str()), ("day.run-sheet.csv", sheet.as_str())];
    let told = audited(&files, "csv");
    assert_eq!(told.status, Some(1), "{}", told.complaint);
    assert_eq!(told.output.lines().count(), 1 + MANY / 2);
    assert!(told.output.matches("L40000").count() <= 2);
}

/// What no plant and no operator writes is refused before it is read whole.
#[test]
fn files_beyond_their_limits_are_refused_unread() {
    let day = file("Time,FDD,Hold,Raw,Past", 20, |_| "FWD,163.5,20.0,26.0".to_owned());
    let refused = |folder: &Path, words: &[&str]| {
        let told = run(folder, "text");
        assert_eq!((told.status, told.output.as_str()), (Some(2), ""), "{}", told.complaint);
        for word in words {
            assert!(told.complaint.contains(word), "{word}: {}", told.complaint);
        }
    };
    let huge = |folder: &Path, name: &str| {
        // A file with holes takes no place on the disk.
        let path = folder.join(name);
        let made = fs::File::create(path).and_then(|file| file.set_len(1 << 40));
        assert!(made.is_ok(), "{name}");
    };
    let Ok(folder) = tempfile::tempdir() else { panic!("a folder") };
    let folder = folder.path();
    assert!(fs::write(folder.join("day.csv"), &day).is_ok());
    huge(folder, "plant.toml");
    refused(folder, &["plant.toml", "1099511627776 bytes", "at most 1048576"]);
    assert!(fs::write(folder.join("plant.toml"), PLANT).is_ok());
    huge(folder, "day.run-sheet.csv");
    refused(folder, &["day.run-sheet.csv", "1099511627776 bytes", "at most 16777216"]);
    // A lot as long as a page would be said again with every exception of its run.
    let sheet = |lot: &str, rows: usize| {
        let row = format!("milk,{lot},2026-03-03 00:00,2026-03-04 00:00,T\n");
        format!("product,lot,start,end,tank\n{}", row.repeat(rows))
    };
    assert!(fs::write(folder.join("day.run-sheet.csv"), sheet(&"L".repeat(201), 1)).is_ok());
    refused(folder, &["day.run-sheet.csv:2:2", "more than 200 characters"]);
    assert!(fs::write(folder.join("day.run-sheet.csv"), sheet("L", 51)).is_ok());
    refused(folder, &["day.run-sheet.csv:52:3", "more than 50 runs hold at the start of this one"]);
    assert!(fs::write(folder.join("day.run-sheet.csv"), sheet("L", 50)).is_ok());
    assert!(matches!(run(folder, "text").status, Some(0 | 1)));
}
