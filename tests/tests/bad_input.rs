//! What loggers and people really hand over: each either refused with exit status 2 and a message
//! that names the file, or read with an observation. Never a crash, never a half-written file.

use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};
use tempfile::TempDir;
use tests::program::{Told, run, run_with_input};
use tests::simple::PLANT_FILE as PLANT;

const HEADER: &str = "Time,FDD,Hold,Raw,Past\n";

/// A row of good milk in forward flow, at a second after 05:00.
fn good(second: usize) -> String {
    format!("2026-03-03 05:{:02}:{:02},FWD,163.5,20.0,26.0\n", second / 60, second % 60)
}

fn good_rows(seconds: std::ops::Range<usize>) -> String {
    seconds.map(good).collect()
}

struct Desk {
    folder: TempDir,
}

impl Desk {
    fn new() -> Self {
        let desk = match tempfile::tempdir() {
            Ok(folder) => Self { folder },
            Err(error) => panic!("{error}"),
        };
        desk.put("plant.toml", PLANT.as_bytes());
        desk
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn put(&self, name: &str, bytes: &[u8]) -> String {
        let path = self.path(name);
        if let Err(error) = fs::write(&path, bytes) {
            panic!("{}: {error}", path.display());
        }
        path.to_string_lossy().into_owned()
    }

    fn names(&self) -> Vec<String> {
        let mut names: Vec<String> = fs::read_dir(self.folder.path())
            .into_iter()
            .flatten()
            .flatten()
            .map(|entry| entry.file_name().to_string_lossy().into_owned())
            .collect();
        names.sort();
        names
    }
}

/// The program refused: status 2, nothing on standard output, one message that names the file
/// and holds the words.
fn assert_refused(told: &Told, file: &str, words: &[&str], case: &str) {
    assert_eq!(told.status, Some(2), "{case}: {told:?}");
    assert_eq!(told.output, "", "{case}");
    assert!(told.complaint.starts_with("holdtrace: "), "{case}: {}", told.complaint);
    assert!(!told.complaint.contains("panicked"), "{case}: {}", told.complaint);
    let name = Path::new(file).file_name().unwrap_or_default().to_string_lossy().into_owned();
    assert!(told.complaint.contains(&name), "{case} names {name}: {}", told.complaint);
    let lower = told.complaint.to_lowercase();
    for word in words {
        assert!(lower.contains(word), "{case} says {word:?}: {}", told.complaint);
    }
}

#[test]
fn files_that_cannot_be_a_record_are_refused() {
    let rows = good_rows(0..20);
    let mut zeros = vec![0_u8; 5000];
    zeros.extend((0..=255).cycle().take(5000));
    let long_line = format!("{HEADER}{}", "1".repeat(3_000_000));
    let cases: Vec<(&str, Vec<u8>, &[&str])> = vec![
        ("empty", Vec::new(), &["empty"]),
        ("only blank lines", b"\n\n\r\n\n".to_vec(), &[]),
        ("header only", HEADER.into(), &["row"]),
        ("header without its line end", HEADER.trim_end().into(), &[]),
        ("binary", zeros, &[]),
        ("gzip", [&[0x1f, 0x8b, 8, 0][..], &[7; 400]].concat(), &["csv"]),
        ("zip or workbook", [b"PK\x03\x04".as_slice(), &[9; 400]].concat(), &["csv"]),
        ("one line of 3 MB", long_line.into(), &["line"]),
        ("no header", rows.clone().into(), &[]),
        ("no valve column", format!("Time,Hold,Raw,Past\n{rows}").into(), &["fdd"]),
        ("no temperature", format!("Time,FDD,Raw,Past\n{rows}").into(), &["hold"]),
        ("no pressure", format!("Time,FDD,Hold,Raw\n{rows}").into(), &["past"]),
        ("no time", format!("Clock,FDD,Hold,Raw,Past\n{rows}").into(), &["time"]),
        (
            "a header twice",
            format!("Time,FDD,Hold,Raw,Past,Hold\n{rows}").into(),
            &["hold", "3", "6"],
        ),
        (
            "no stamp can be read",
            format!("{HEADER}{}", rows.replace("2026-03-03 ", "yesterday ")).into(),
            &["time"],
        ),
        ("not text at all", vec![0xff; 4000], &[]),
        ("a page of HTML", b"<!DOCTYPE html><html><body>Sign in</body></html>\n".to_vec(), &[]),
    ];
    for (case, bytes, words) in cases {
        let desk = Desk::new();
        let file = desk.put("day.csv", &bytes);
        for format in ["text", "json", "csv"] {
            let told = run(&["audit", "--format", format, &file]);
            assert_refused(&told, &file, words, case);
        }
        // The same from a pipe; its name is `-`.
        let plant = desk.path("plant.toml").to_string_lossy().into_owned();
        let told = run_with_input(&["audit", "--plant", &plant, "-"], &bytes);
        assert_refused(&told, "-", words, &format!("{case}, by pipe"));
    }
}

#[test]
fn paths_that_are_no_files_are_refused() {
    let desk = Desk::new();
    let missing = desk.path("not-there.csv").to_string_lossy().into_owned();
    assert_refused(&run(&["audit", &missing]), &missing, &[], "missing");
    let folder = desk.path("folder.csv");
    assert!(fs::create_dir(&folder).is_ok());
    let folder = folder.to_string_lossy().into_owned();
    assert_refused(&run(&["audit", &folder]), &folder, &[], "a folder");
    // One good file does not excuse the other.
    let good = desk.put("day.csv", format!("{HEADER}{}", good_rows(0..20)).as_bytes());
    assert_refused(&run(&["audit", &good, &missing]), &missing, &[], "one of two missing");
}

#[test]
fn plant_files_with_mistakes_are_refused_with_line_and_column() {
    let desk = Desk::new();
    let day = desk.put("day.csv", format!("{HEADER}{}", good_rows(0..20)).as_bytes());
    for (case, text, words) in [
        ("a typo", PLANT.replace("zone =", "zoen ="), &["zoen", ":4:"][..]),
        ("no such zone", PLANT.replace("\"UTC\"", "\"Mars/Base\""), &["zone", ":4:"]),
        ("no such unit", PLANT.replace("\"degF\"", "\"furlong\""), &["furlong", ":11:"]),
        ("no TOML", "schema = = 1".to_owned(), &[":1:"]),
        ("empty", String::new(), &["schema"]),
        (
            "a limit without a unit",
            PLANT.replace("repeated = \"10 min\"", "differential = \"2\""),
            &["differential", ":7:"],
        ),
        ("a newer format", PLANT.replace("schema = 1", "schema = 2"), &["schema", ":1:"]),
    ] {
        let plant = desk.put("mine.toml", text.as_bytes());
        let told = run(&["audit", "--plant", &plant, &day]);
        assert_refused(&told, &plant, words, case);
        // The same mistake in a file that was only found beside the record.
        desk.put("plant.toml", text.as_bytes());
        assert_refused(&run(&["audit", &day]), "plant.toml", words, case);
    }
    let plant = desk.put("mine.toml", &[0xff, 0xfe, 0x00, 0xd8]);
    assert_refused(&run(&["audit", "--plant", &plant, &day]), &plant, &["utf-8"], "not text");
    let missing = desk.path("nowhere.toml").to_string_lossy().into_owned();
    assert_refused(&run(&["audit", "--plant", &missing, &day]), &missing, &[], "missing");
}

#[test]
fn output_that_cannot_be_written_leaves_nothing_behind() {
    let desk = Desk::new();
    let day = desk.put("day.csv", format!("{HEADER}{}", good_rows(0..20)).as_bytes());
    assert!(fs::create_dir(desk.path("reports")).is_ok());
    let before = desk.names();
    for (case, output) in [
        ("a folder that is not there", "nowhere/report.json"),
        ("a folder", "reports"),
        ("a file as a folder", "day.csv/report.json"),
    ] {
        let path = desk.path(output).to_string_lossy().into_owned();
        let told = run(&["audit", "--format", "json", "--output", &path, &day]);
        assert_refused(&told, &path, &["can't be written"], case);
        assert_eq!(desk.names(), before, "{case}");
    }
    // What can't be audited does not touch the report that is there.
    let report = desk.put("report.json", b"an older report");
    let bad = desk.put("bad.csv", b"");
    assert_eq!(run(&["audit", "--output", &report, &bad]).status, Some(2));
    assert_eq!(fs::read(&report).unwrap_or_default(), b"an older report");
}

/// The JSON of a day that can be read.
fn audit(desk: &Desk, bytes: &[u8], status: i32, case: &str) -> Value {
    let file = desk.put("day.csv", bytes);
    let told = run(&["audit", "--format", "json", &file]);
    assert_eq!(told.status, Some(status), "{case}: {told:?}");
    assert_eq!(told.complaint, "", "{case}");
    serde_json::from_str(&told.output).unwrap_or_else(|error| panic!("{case}: {error}"))
}

/// Whether there is an observation of that kind, about that line of the file.
fn observes(audit: &Value, kind: &str, line: u64) -> bool {
    audit["observations"].as_array().into_iter().flatten().any(|one| {
        one["kind"] == kind
            && one["line"].as_u64() == Some(line)
            && one["file"].as_str().is_some_and(|file| file.ends_with("day.csv"))
    })
}

fn rules(audit: &Value) -> Vec<String> {
    audit["exceptions"]
        .as_array()
        .into_iter()
        .flatten()
        .map(|one| one["rule"].as_str().unwrap_or_default().to_owned())
        .collect()
}

#[test]
fn good_milk_is_found_good() {
    let desk = Desk::new();
    let bytes = format!("{HEADER}{}", good_rows(0..100));
    let audit = audit(&desk, bytes.as_bytes(), 0, "good");
    let observations = audit["observations"].as_array().cloned().unwrap_or_default();
    let kinds: Vec<&Value> = observations.iter().map(|one| &one["kind"]).collect();
    // There is neither a flow meter nor a tube.
    assert_eq!(
        kinds,
        [
            "begins_in_forward_flow",
            // The two pressures, which stand at whole figures.
            "coarse_reading",
            "coarse_reading",
            "ends_in_forward_flow",
            "holding_time_not_judged"
        ]
    );
    assert_eq!(audit["accounting_ms"]["forward_legal"], 99_000);
}

/// Each damage to one cell or row of good milk: what it must be called, and on which line.
#[test]
fn damage_is_observed_and_never_counted_as_safe() {
    let line = good(50);
    let cell = |from: &str, to: &str| line.replacen(from, to, 1);
    for (case, damaged, kind, rule) in [
        ("blank temperature", cell("163.5", ""), "invalid_readings", Some("unverifiable")),
        ("NaN", cell("163.5", "NaN"), "invalid_readings", Some("unverifiable")),
        ("infinity", cell("163.5", "inf"), "invalid_readings", Some("unverifiable")),
        ("1e999", cell("26.0", "1e999"), "invalid_readings", Some("unverifiable")),
        ("a huge number", cell("163.5", "163500"), "invalid_readings", Some("unverifiable")),
        ("words", cell("20.0", "SENSOR FAIL"), "invalid_readings", Some("unverifiable")),
        ("thousands", cell("163.5", "\"1,163.5\""), "invalid_readings", Some("unverifiable")),
        ("hexadecimal", cell("163.5", "0xA3"), "invalid_readings", Some("unverifiable")),
        ("a word for the valve", cell("FWD", "OPEN?"), "unmapped_word", None),
        ("a short row", cell(",26.0", ""), "ragged_row", Some("unverifiable")),
        // Which cell is the one too many? A decimal comma in a file with commas looks like this.
        ("a long row", cell("163.5", "163,5"), "ragged_row", Some("unverifiable")),
        ("no stamp", cell("2026-03-03 05:00:50", "soon"), "unplaced_rows", Some("unverifiable")),
        (
            "an impossible stamp",
            cell("05:00:50", "25:00:50"),
            "unplaced_rows",
            Some("unverifiable"),
        ),
        ("a stray quote", cell("163.5", "\"163.5"), "unreadable_row", Some("unverifiable")),
        (
            "a stamp that runs back",
            cell("05:00:50", "04:59:59"),
            "clock_set_back",
            Some("unverifiable"),
        ),
        ("the stamp of the row before", cell("05:00:50", "05:00:49"), "duplicate_stamp", None),
        ("too cold", cell("163.5", "160.9"), "", Some("temperature")),
        ("160.99", cell("163.5", "160.99"), "", Some("temperature")),
        ("pressures the wrong way", cell("20.0", "27.0"), "", Some("differential")),
    ] {
        let desk = Desk::new();
        let bytes = format!("{HEADER}{}{damaged}{}", good_rows(0..50), good_rows(51..100));
        let audit = audit(&desk, bytes.as_bytes(), i32::from(rule.is_some()), case);
        // The header is line 1, the row of second 50 line 52.
        if !kind.is_empty() {
            assert!(observes(&audit, kind, 52), "{case}: {}", audit["observations"]);
        }
        let expected: Vec<&str> = rule.into_iter().collect();
        assert_eq!(rules(&audit), expected, "{case}");
    }
}

#[test]
fn a_sensor_that_never_answers_is_an_exception_of_the_whole_day() {
    let desk = Desk::new();
    let bytes = format!("{HEADER}{}", good_rows(0..100).replace("163.5", ""));
    let audit = audit(&desk, bytes.as_bytes(), 1, "all blank");
    assert_eq!(rules(&audit), ["unverifiable"]);
    assert_eq!(audit["accounting_ms"]["unverifiable"], 99_000);
    assert!(observes(&audit, "invalid_readings", 2), "{}", audit["observations"]);
}

#[test]
fn a_file_cut_anywhere_is_read_or_refused() {
    let desk = Desk::new();
    let whole = format!("{HEADER}{}", good_rows(0..5));
    for cut in 0..whole.len() {
        let file = desk.put("day.csv", &whole.as_bytes()[..cut]);
        let told = run(&["audit", "--format", "json", &file]);
        match told.status {
            Some(2) => assert_refused(&told, &file, &[], &format!("cut after {cut} bytes")),
            Some(0 | 1) => {
                let audit: Result<Value, _> = serde_json::from_str(&told.output);
                assert!(audit.is_ok(), "cut after {cut} bytes: {}", told.output);
            }
            other => panic!("cut after {cut} bytes: {other:?}"),
        }
    }
}

/// The logger or the network broke off within the last cell: `2` of `25.0` is not a reading. Here
/// the last sample is short by 1 psi, and taking the stump for the raw pressure would make it safe.
#[test]
fn a_stump_of_the_last_cell_is_not_a_reading() {
    let desk = Desk::new();
    let header = "Time,FDD,Hold,Past,Raw\n";
    let rows = good_rows(0..20).replace("20.0,26.0", "26.0,20.0");
    for last in ["25.0", "25.", "25", "2", ""] {
        let text = format!("{header}{rows}2026-03-03 05:00:20,FWD,163.5,26.0,{last}");
        let audit = audit(&desk, text.as_bytes(), 1, last);
        let last_start = audit["exceptions"][0]["observed_end"].as_str().unwrap_or_default();
        assert_eq!(last_start, "2026-03-03T05:00:20.000+00:00", "{last:?}");
    }
}

/// The words of a record go into a spreadsheet; none of them may become a formula there.
#[test]
fn words_of_a_record_are_no_formulas() {
    let desk = Desk::new();
    desk.put(
        "plant.toml",
        format!("{PLANT}product = {{ column = \"Product\" }}\nlot = {{ column = \"Lot\" }}\n")
            .as_bytes(),
    );
    let row = |second: usize| {
        good(second).replace("163.5", "150").replace('\n', ",=1+1,\"@cmd|\"\"x\"\"\"\n")
    };
    let text: String = (0..20).map(row).collect();
    let file = desk.put("day.csv", format!("{},Product,Lot\n{text}", HEADER.trim_end()).as_bytes());
    let told = run(&["audit", "--format", "csv", &file]);
    assert_eq!(told.status, Some(1), "{told:?}");
    assert!(told.output.contains(",'=1+1,"), "{}", told.output);
    assert!(told.output.contains(",\"'@cmd|\"\"x\"\"\","), "{}", told.output);
    assert!(!told.output.contains(",=") && !told.output.contains(",@"), "{}", told.output);
}
