//! Many records with the real program: stages of the review, what is kept between scans, the summary
//! of a range read by other tools, the trace of a lot.

use serde_json::Value;
use std::fmt::Write as _;
use std::path::Path;
use std::process::Command;
use std::time::Duration;
use tests::good;
use tests::place::{Place, record};
use tests::program::{Told, root};

/// A place with five records: the 14th, 15th, 16th and 18th of March 2026, and one that can't be
/// read.
fn place() -> Place {
    let place = Place::with_signers();
    for date in ["2026-03-15", "2026-03-16", "2026-03-18"] {
        place.write(&format!("{date}.csv"), &with_lots(date));
    }
    place.write("2026-03-19.csv", "this is no trace\n");
    place
}

/// The short record with products and lots, whose names are all that a hostile hand can think of.
fn with_lots(date: &str) -> String {
    let mut text = String::new();
    for (row, line) in record(date).lines().enumerate() {
        let more = match row {
            0 => ",product,lot",
            1..=60 => ",milk,\"=HYPERLINK(\"\"x\"\"), <b>1</b>\"",
            _ => ",milk,\u{202e}lot \u{2066}two",
        };
        text.extend([line, more, "\n"]);
    }
    text
}

fn command(place: &Place, arguments: &[&str]) -> Told {
    let mut command = place.command(&tests::program::program());
    command.args(arguments).env("XDG_CACHE_HOME", place.path("cache"));
    Place::told(command)
}

fn json(place: &Place, arguments: &[&str]) -> Value {
    let told = command(place, arguments);
    serde_json::from_str(&told.output).unwrap_or_else(|error| panic!("{error}: {told:#?}"))
}

fn stages(place: &Place) -> Vec<(String, String)> {
    let days = json(place, &["days", ".", "--format", "json"]);
    let rows = days["days"].as_array().cloned().unwrap_or_default();
    let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
    rows.iter().map(|row| (text(&row["record"]), text(&row["stage"]))).collect()
}

fn stage(place: &Place, record: &str) -> String {
    let stages = stages(place);
    let Some((_, stage)) = stages.iter().find(|(name, _)| name == record) else {
        panic!("{record} is not among {stages:?}")
    };
    stage.clone()
}

#[test]
fn a_record_goes_from_unread_to_signed_and_any_change_shows() {
    let mut place = place();
    let name = "2026-03-15.csv";
    name.clone_into(&mut place.record);
    assert_eq!(stages(&place).len(), 5);
    assert_eq!(stage(&place, name), "unread");
    assert_eq!(stage(&place, "2026-03-19.csv"), "unread");

    place.expect(0, &place.settle(&["--all-open"]));
    assert_eq!(stage(&place, name), "being_reviewed");
    place.close_all();
    place.complete();
    assert_eq!(place.sign("anna", "reviewed").status, Some(0));
    assert_eq!(stage(&place, name), "reviewed");
    assert_eq!(place.sign("ben", "approved").status, Some(0));
    assert_eq!(stage(&place, name), "signed");

    // A reading is improved after signing.
    let bytes = place.read(name);
    let text = String::from_utf8_lossy(&bytes).replacen("159.8", "162.8", 1);
    place.write(name, &text);
    assert_eq!(stage(&place, name), "changed_since_signing");
    place.write(name, &String::from_utf8_lossy(&bytes));
    assert_eq!(stage(&place, name), "signed");

    // The record itself is taken away: its journal still tells of it.
    assert!(std::fs::remove_file(place.path(name)).is_ok());
    assert_eq!(stage(&place, name), "changed_since_signing");
    let days = command(&place, &["days", "."]);
    assert!(days.output.contains(name) && days.output.contains("2026-03-15"), "{days:#?}");
    // And with the first byte of the journal changed, nothing in it is relied on.
    let journal = "2026-03-15.review.jsonl";
    let text = String::from_utf8_lossy(&place.read(journal)).replacen('{', "[", 1);
    place.write(journal, &text);
    let stages = stages(&place);
    assert!(stages.iter().any(|(_, stage)| stage == "changed_since_signing"), "{stages:?}");
    assert_eq!(command(&place, &["days", "."]).status, Some(1));
    // Nor does its paper say that nobody has looked at it.
    place.write(name, &String::from_utf8_lossy(&bytes));
    place.expect(1, &["report", name, "--format", "pdf", "--output", "broken.pdf"]);
    let text = tool("pdftotext", &["-layout"], &place.path("broken.pdf"));
    assert_eq!(text.status, Some(0), "{text:#?}");
    let text = String::from_utf8_lossy(&place.read("broken.txt")).into_owned();
    for said in ["CHANGED SINCE SIGNING", "FAILS", "chain: "] {
        assert!(text.contains(said), "{said}: {text}");
    }
}

/// A plant changes its file and keeps the old one under another name: what was signed stays signed,
/// and what was not is read with the new one.
#[test]
fn a_new_plant_file_changes_nothing_that_was_signed() {
    let mut place = place();
    "2026-03-15.csv".clone_into(&mut place.record);
    place.round();
    assert_eq!(stage(&place, "2026-03-15.csv"), "signed");
    // A review that is begun, and no more.
    "2026-03-16.csv".clone_into(&mut place.record);
    place.expect(0, &place.settle(&["--all-open"]));
    let old = String::from_utf8_lossy(&place.read("plant.toml")).into_owned();
    place.write("plant.toml", &old.replace("(invented)", "(invented, renamed)"));
    assert_eq!(stage(&place, "2026-03-15.csv"), "changed_since_signing");
    place.expect(1, &["verify", "2026-03-15.csv"]);
    // Another file, and one that is no file at all, are not taken for it.
    place.write("plant-a.toml", &old.replace("(invented)", "(invented, too)"));
    assert!(std::fs::create_dir(place.path("plant-b.toml")).is_ok());
    assert_eq!(stage(&place, "2026-03-15.csv"), "changed_since_signing");

    place.write("plant-until-april.toml", &old);
    assert_eq!(stage(&place, "2026-03-15.csv"), "signed");
    let verified = place.expect(0, &["verify", "2026-03-15.csv"]);
    assert!(verified.output.contains("plant file: plant-until-april.toml"), "{verified:#?}");
    let report = place.expect(0, &["report", "2026-03-15.csv", "--format", "json"]);
    let report: Value = serde_json::from_str(&report.output).unwrap_or_default();
    assert_eq!(report["stage"], "signed");
    assert_eq!(report["verification"]["holds"], true);
    let assumed = report["audit"]["assumptions"].to_string();
    assert!(assumed.contains("is the one that the record was reviewed with"), "{assumed}");
    for other in ["2026-03-16.csv", "2026-03-18.csv"] {
        let told = command(&place, &["audit", other, "--format", "json"]);
        assert!(told.output.contains("(invented, renamed)"), "{told:#?}");
    }
}

/// Rows are kept, and whatever the file of kept rows looks like, the answer is that of reading all.
#[test]
fn what_is_kept_never_changes_the_answer() {
    let place = place();
    // Files that were written just now are not taken for settled.
    std::thread::sleep(Duration::from_millis(2200));
    let read = |again: bool| {
        let mut arguments = vec!["days", ".", "--format", "json"];
        if again {
            arguments.push("--read-again");
        }
        let mut summary = json(&place, &arguments);
        let kept = summary["records_kept_from_an_earlier_reading"].take();
        summary["made_at"].take();
        (summary, kept.as_u64().unwrap_or(u64::MAX))
    };
    let (whole, kept) = read(true);
    assert_eq!(kept, 0);
    assert_eq!(read(false), (whole.clone(), 0), "nothing is kept yet");
    assert_eq!(read(false), (whole.clone(), 4), "the four that can be read are kept");

    let rows = place.path("cache").join("holdtrace").join("rows");
    let kept_file = || {
        let mut files = std::fs::read_dir(&rows).into_iter().flatten().flatten();
        files.next().map(|file| file.path()).unwrap_or_default()
    };
    let file = kept_file();
    let Ok(bytes) = std::fs::read(&file) else { panic!("{}", file.display()) };
    for at in (0..bytes.len()).step_by(bytes.len() / 23) {
        let mut damaged = bytes.clone();
        damaged[at] ^= 0x10;
        assert!(std::fs::write(&file, &damaged).is_ok());
        assert_eq!(read(false).0, whole, "byte {at} of {} damaged", bytes.len());
        assert!(std::fs::write(&file, &bytes[..at]).is_ok());
        assert_eq!(read(false).0, whole, "cut to {at} bytes");
    }

    // Rows of the layout of version 1 are not shown as those of today's method.
    let mut older = bytes.clone();
    let Some(digit) = older.windows(7).position(|word| word == b" rows 2") else {
        panic!("a head")
    };
    older[digit + 6] = b'1';
    assert!(std::fs::write(&file, &older).is_ok());
    assert_eq!(read(false), (whole.clone(), 0));

    // Another record in the place of one: only it is read again, and the plant file changes all.
    assert_eq!(read(false).1, 4);
    place.write("2026-03-16.csv", &with_lots("2026-03-17"));
    let (changed, kept) = read(false);
    assert_eq!(kept, 3);
    assert_eq!(changed, read(true).0);
    assert_ne!(changed, whole);
    let plant = String::from_utf8_lossy(&place.read("plant.toml")).replace("50 gal", "60 gal");
    place.write("plant.toml", &plant);
    let (changed_again, kept) = read(false);
    assert_eq!(kept, 0);
    assert_ne!(changed_again, changed);
    // A run sheet that comes later belongs to its record.
    std::thread::sleep(Duration::from_millis(2200));
    read(false);
    assert_eq!(read(false).1, 4);
    place.write("2026-03-18.run-sheet.csv", "product,lot,start,end\nmilk,L9,06:00,07:00\n");
    assert_eq!(read(false).1, 3);
}

/// A journal that was copied over another record's, or renamed, signs nothing.
#[test]
fn a_journal_of_another_name_signs_nothing() {
    let place = Place::with_signers();
    place.write("2026-03-15.csv", &record("2026-03-15"));
    place.round();
    let copy = |name: &str| {
        place.write(name, &String::from_utf8_lossy(&place.read("2026-03-14.review.jsonl")));
    };
    copy("2026-03-15.review.jsonl");
    copy("another.review.jsonl");
    let told = |name: &str, stage: &str| (name.to_owned(), stage.to_owned());
    let mut found = stages(&place);
    found.sort();
    assert_eq!(
        found,
        [
            told("2026-03-14.csv", "signed"),
            told("2026-03-15.csv", "changed_since_signing"),
            told("another.review.jsonl", "changed_since_signing"),
        ]
    );
    assert_eq!(place.expect(0, &["verify", "2026-03-14.csv"]).complaint, "");
    for record in ["2026-03-15.csv", "another.review.jsonl"] {
        let told = place.expect(1, &["verify", record]);
        assert!(told.output.contains("renamed or copied"), "{told:#?}");
    }
}

/// Names with a way in them lead nowhere: no review writes such.
#[test]
fn a_journal_that_names_files_of_another_folder_signs_nothing() {
    let place = Place::with_signers();
    place.round();
    let inner = place.path("inner");
    assert!(std::fs::create_dir(&inner).is_ok());
    let lines = String::from_utf8_lossy(&place.read("2026-03-14.review.jsonl")).into_owned();
    // The first line alone, its sum made anew, is what a hostile hand can write without a key.
    let first = lines.lines().next().unwrap_or_default();
    let write_with = |name: &str| {
        let first = first.replace(&format!("\"{name}\""), &format!("\"../{name}\""));
        let Some((open, _)) = first.rsplit_once(",\"sum\":") else { panic!("{first}") };
        let Some(sum) = sha256(&format!("{open}}}")) else { panic!("sha256sum") };
        let line = format!("{open},\"sum\":\"{sum}\"}}\n");
        place.write("inner/2026-03-14.review.jsonl", &line);
    };
    write_with("2026-03-14.csv");
    let found = stages(&place);
    assert_eq!(found.len(), 2, "{found:?}");
    assert!(
        found.iter().any(|(name, _)| name == "2026-03-14.review.jsonl"),
        "the file outside is not read for it: {found:?}"
    );
    let told = place.expect(1, &["verify", "inner/2026-03-14.review.jsonl"]);
    assert!(told.output.contains("chain: 1 lines"), "the line itself is sound: {told:#?}");
    assert!(told.output.contains("does not say what was reviewed"), "{told:#?}");
    // Nor is the plant file outside used for a record of the folder.
    write_with("plant.toml");
    place.write("inner/2026-03-14.csv", &String::from_utf8_lossy(&place.read("2026-03-14.csv")));
    let told = place.expect(1, &["verify", "inner/2026-03-14.csv"]);
    assert!(told.output.contains("does not say what was reviewed"), "{told:#?}");
}

fn sha256(text: &str) -> Option<String> {
    let mut child = Command::new("sha256sum")
        .stdin(std::process::Stdio::piped())
        .stdout(std::process::Stdio::piped())
        .spawn()
        .ok()?;
    std::io::Write::write_all(&mut child.stdin.take()?, text.as_bytes()).ok()?;
    let output = child.wait_with_output().ok()?;
    String::from_utf8_lossy(&output.stdout).split(' ').next().map(str::to_owned)
}

/// An exception that came with a change of the record is open, whatever the journal counts.
#[test]
fn what_the_journal_does_not_know_is_not_resolved() {
    let place = Place::with_signers();
    place.expect(0, &place.settle(&["--all-open"]));
    let register = || command(&place, &["days", "."]).output;
    assert!(register().contains("2 of 2 exceptions resolved"), "{}", register());
    let mut text = record("2026-03-14");
    for second in 50..55 {
        let (from, to) = (format!("06:00:{second}-05:00,forward,162.4"), "159.0");
        text = text.replace(&from, &from.replace("162.4", to));
    }
    place.write("2026-03-14.csv", &text);
    let found = register();
    assert!(found.contains("2 of 3 exceptions resolved"), "{found}");
    assert!(found.contains("it was changed"), "{found}");
}

/// A record of two files is one record once its journal says so.
#[test]
fn a_record_of_two_files_is_one() {
    let place = Place::with_signers();
    let whole = record("2026-03-14");
    let lines: Vec<&str> = whole.lines().collect();
    let half = |rows: &[&str]| format!("{}\n{}\n", lines[0], rows.join("\n"));
    place.write("2026-03-14.csv", &half(&lines[1..61]));
    place.write("2026-03-14-b.csv", &half(&lines[61..]));
    assert_eq!(stages(&place).len(), 2);
    let files = ["2026-03-14.csv", "2026-03-14-b.csv"];
    let acknowledge = ["review", "enter", files[0], files[1], "--by", "anna", "--entry"];
    let entry = ["unusual circumstances", "--value", "none"];
    place.expect(0, &[&acknowledge[..], &entry].concat());
    let found = stages(&place);
    assert_eq!(found, [("2026-03-14.csv".to_owned(), "being_reviewed".to_owned())]);
}

#[test]
fn a_lot_is_traced_and_what_cannot_be_told_is_said() {
    let mut place = place();
    "2026-03-15.csv".clone_into(&mut place.record);
    place.round();
    let lot = "=hyperlink(\"X\"), <b>1</b> ";
    let told = command(&place, &["lot", ".", lot]);
    assert_eq!(told.status, Some(1), "{told:#?}");
    for said in ["steam valve stuck", "re-pasteurized", "signature holds", "2026-03-19.csv can't"] {
        assert!(told.output.contains(said), "{said}: {told:#?}");
    }
    assert!(told.output.contains("1 record without any lot may hold it"), "{told:#?}");
    let traced = json(&place, &["lot", ".", lot, "--format", "json"]);
    assert_eq!(traced["records"].as_array().map(Vec::len), Some(3));
    assert_eq!(traced["exceptions"].as_array().map(Vec::len), Some(3));
    assert_eq!(command(&place, &["lot", ".", "no such lot"]).status, Some(2));
    let saved =
        command(&place, &["summary", ".", "--lot", lot, "--format", "pdf", "--output", "lot.pdf"]);
    assert_eq!(saved.status, Some(0), "{saved:#?}");
    let read = tool("pdftotext", &["-layout"], &place.path("lot.pdf"));
    assert_eq!(read.status, Some(0), "{read:#?}");
    let page = String::from_utf8_lossy(&place.read("lot.txt")).into_owned();
    for said in ["Runs of the lot", "2026-03-15 06:00", "2026-03-16 06:01"] {
        assert!(page.contains(said), "{said}: {page}");
    }
    // A part of its name is enough, or of its product.
    let part = command(&place, &["lot", ".", "HYPERLINK"]);
    let without_title = |text: &str| text.split_once('\n').map(|(_, rest)| rest.to_owned());
    assert_eq!(without_title(&part.output), without_title(&told.output));
    let all = command(&place, &["lot", "."]);
    assert_eq!(all.status, Some(1), "{all:#?}");
    assert!(
        all.output.contains("1 exception, resolved") || all.output.contains("open"),
        "{all:#?}"
    );
    let listed = json(&place, &["lot", ".", "--format", "json"]);
    let named = listed["lots"].as_array().map_or(0, |lots| {
        lots.iter()
            .filter(|one| {
                one["lot"].as_str().is_some_and(|one| one.eq_ignore_ascii_case(lot.trim()))
            })
            .count()
    });
    assert_eq!(named, 1, "{listed:#}");
}

#[test]
fn a_range_that_ends_before_it_begins_is_refused() {
    let place = place();
    let told = command(&place, &["summary", ".", "--from", "2026-03-20", "--to", "2026-03-01"]);
    assert_eq!(told.status, Some(2));
    assert!(told.complaint.contains("before it begins"), "{told:#?}");
    let empty = json(&place, &["summary", ".", "--from", "2027-01-01", "--format", "json"]);
    assert_eq!(empty["totals"]["records"], 0);
}

/// A record at 1 Hz from one time of a date to another, forward but for its first or last row.
fn run(date: &str, from: &str, to: &str, ends: (&str, &str)) -> String {
    let second =
        |time: &str| time.split(':').fold(0_u32, |sum, part| sum * 60 + part.parse().unwrap_or(0));
    let (first, last) = (second(from), second(to));
    let mut text =
        "time,valve,holding temperature (°F),raw pressure (psi),pasteurized pressure (psi)\n"
            .to_owned();
    for at in first..=last {
        let valve = match at {
            at if at == first => ends.0,
            at if at == last => ends.1,
            _ => "forward",
        };
        // A logger's last digits never stand still.
        let digit = at * 7 % 10;
        let time = format!("{:02}:{:02}:{:02}", at / 3600, at / 60 % 60, at % 60);
        let row = format!("{date}T{time}-05:00,{valve},163.{digit},10.{digit},14.{digit}\n");
        text.push_str(&row);
    }
    text
}

/// A place without records.
fn empty() -> Place {
    let place = Place::with_signers();
    assert!(std::fs::remove_file(place.path("2026-03-14.csv")).is_ok());
    place
}

const FORWARD: (&str, &str) = ("forward", "forward");

#[test]
fn two_files_of_one_day_are_one_production_day() {
    let place = empty();
    place.write("early.csv", &run("2026-03-15", "06:00:00", "14:00:00", FORWARD));
    place.write("late.csv", &run("2026-03-15", "14:00:01", "22:00:00", FORWARD));
    let days = json(&place, &["days", ".", "--format", "json"]);
    assert_eq!(days["production_days"].as_array().map(Vec::len), Some(1), "{days:#}");
    let records = &days["production_days"][0]["records"];
    assert_eq!(records.as_array().map(Vec::len), Some(2));
    assert_eq!(
        (&records[0]["before"], &records[1]["before"]["follows"]),
        (&Value::Null, &"continues".into())
    );
    assert_eq!(records[1]["before"]["after_ms"], 1000);
    assert_eq!((&days["totals"]["holes"], &days["totals"]["days"]), (&0.into(), &1.into()));
    let told = command(&place, &["days", "."]);
    assert!(told.output.contains("continues early.csv (1 s after its end)"), "{told:#?}");
    assert!(!told.output.contains("hole"), "{told:#?}");
}

#[test]
fn a_hole_between_records_is_told_and_must_be_closed() {
    let mut place = empty();
    place.write("early.csv", &run("2026-03-15", "13:50:00", "14:00:00", FORWARD));
    place.write("late.csv", &run("2026-03-15", "16:00:00", "16:10:00", FORWARD));
    "late.csv".clone_into(&mut place.record);
    let hole = "no record from 2026-03-15 14:00:00 (end of early.csv, FDD forward) to 2026-03-15 \
                16:00:00 (FDD forward): 2 h 00 min";
    let told = command(&place, &["days", "."]);
    assert_eq!(told.status, Some(1));
    assert!(told.output.contains(&format!("{hole}; not closed")), "{told:#?}");
    let told = command(&place, &["summary", ".", "--from", "2026-03-15", "--to", "2026-03-15"]);
    assert!(
        told.output.contains("1 hole between records") && told.output.contains(hole),
        "{told:#?}"
    );
    let found = json(&place, &["summary", ".", "--format", "json"]);
    let one = &found["holes_between_records"][0];
    assert_eq!((&one["record"], &one["hole"]["record"]), (&"late.csv".into(), &"early.csv".into()));
    assert_eq!((&one["hole"]["length_ms"], &one["closed"]), (&7_200_000.into(), &Value::Null));
    let csv = command(&place, &["summary", ".", "--format", "csv"]).output;
    assert!(csv.contains(",early.csv,hole,7200000,forward,forward,true,,"), "{csv}");
    // A record alone knows no neighbours.
    let audit = command(&place, &["audit", "late.csv"]);
    assert_eq!(audit.status, Some(0), "{audit:#?}");
    for said in ["early.csv", "no record from"] {
        assert!(!audit.output.contains(said), "{said}: {audit:#?}");
    }

    // It stands between the reviewer and the signature.
    let listed = place.list();
    assert_eq!((&listed["hole_is_open"], &listed["hole_to_close"]), (&true.into(), &one["hole"]));
    place.complete();
    let told = place.sign("anna", "reviewed");
    assert_eq!(told.status, Some(2), "{told:#?}");
    assert!(told.complaint.contains("the hole before the record is not closed"), "{told:#?}");
    assert_eq!(place.close("hole_before_record", " ").status, Some(2));
    assert_eq!(place.close("hole_before_record", "logger off; product held").status, Some(0));
    place.sign_twice();
    assert_eq!(stage(&place, "late.csv"), "signed");
    let told = command(&place, &["days", "."]);
    assert!(
        told.output.contains(&format!(
            "{hole}; closed by Anna Example (invented): logger off; product held"
        )),
        "{told:#?}"
    );
    let verified = place.expect(0, &["verify", "late.csv"]);
    assert!(verified.output.contains("holds  hole before the record"), "{verified:#?}");
    place.expect(0, &["summary", ".", "--format", "pdf", "--output", "range.pdf"]);
    let text = tool("pdftotext", &["-layout"], &place.path("range.pdf"));
    assert_eq!(text.status, Some(0), "{text:#?}");
    let text = String::from_utf8_lossy(&place.read("range.txt")).into_owned();
    assert!(
        text.contains("Holes between records") && text.contains("closed by Anna Example"),
        "{text}"
    );

    // A record that comes later makes another hole, and that is told.
    place.write("middle.csv", &run("2026-03-15", "15:00:00", "15:01:00", FORWARD));
    assert_eq!(stage(&place, "late.csv"), "changed_since_signing");
    let verified = place.expect(1, &["verify", "late.csv"]);
    assert!(
        verified.output.contains("the record before was added or changed since"),
        "{verified:#?}"
    );
    let told = command(&place, &["days", "."]);
    assert_eq!(told.output.matches("\nhole: ").count(), 2, "{told:#?}");
    // What was signed does not change because a file beside it was taken away.
    for name in ["early.csv", "middle.csv"] {
        assert!(std::fs::remove_file(place.path(name)).is_ok());
    }
    assert_eq!(stage(&place, "late.csv"), "signed");
    place.expect(0, &["verify", "late.csv"]);
}

#[test]
fn a_hole_over_midnight_is_told_on_both_dates() {
    let place = empty();
    place
        .write("2026-03-15.csv", &run("2026-03-15", "23:00:00", "23:10:00", ("divert", "forward")));
    place.write("2026-03-16.csv", &run("2026-03-16", "01:00:00", "01:10:00", ("divert", "divert")));
    for date in ["2026-03-15", "2026-03-16"] {
        let range = ["summary", ".", "--from", date, "--to", date, "--format", "json"];
        assert_eq!(json(&place, &range)["totals"]["holes"], 1, "{date}");
    }
    let range = ["summary", ".", "--from", "2026-03-17", "--format", "json"];
    assert_eq!(json(&place, &range)["totals"]["holes"], 0);
    // A logger that begins a new file at midnight leaves none.
    place
        .write("2026-03-17.csv", &run("2026-03-17", "23:50:00", "23:59:59", ("divert", "forward")));
    place
        .write("2026-03-18.csv", &run("2026-03-18", "00:00:00", "00:10:00", ("forward", "divert")));
    let days = json(&place, &["days", ".", "--format", "json"]);
    assert_eq!(days["totals"]["holes"], 1);
    assert_eq!(days["production_days"][3]["records"][0]["before"]["follows"], "continues");
}

/// A plant that keeps a folder for each month: the day log goes through all of them.
#[test]
fn a_hole_between_two_folders_is_closed_by_naming_the_day_log() {
    let mut place = empty();
    for (folder, date) in [("march", "2026-03-31"), ("april", "2026-04-01")] {
        assert!(std::fs::create_dir(place.path(folder)).is_ok());
        for file in ["plant.toml", "signers.jsonl"] {
            let text = String::from_utf8_lossy(&place.read(file)).into_owned();
            place.write(&format!("{folder}/{file}"), &text);
        }
        place.write(&format!("{folder}/{date}.csv"), &run(date, "06:00:00", "06:10:00", FORWARD));
    }
    "april/2026-04-01.csv".clone_into(&mut place.record);
    assert!(command(&place, &["days", "."]).output.contains("23 h 50 min; not closed"));
    let alone = place.close("hole_before_record", "power failure, locked out");
    assert_eq!(alone.status, Some(2));
    assert!(alone.complaint.contains("--folder"), "{alone:#?}");
    let close = ["review", "close", &place.record, "--by", "anna", "--observation"];
    let named = ["hole_before_record", "--folder", ".", "--reason", "power failure, locked out"];
    place.expect(0, &[&close[..], &named].concat());
    assert!(
        command(&place, &["days", "."])
            .output
            .contains("23 h 50 min; closed by Anna Example (invented)")
    );
}

#[test]
fn diverted_at_both_ends_is_no_hole_to_close() {
    let mut place = empty();
    place.write("2026-03-15.csv", &run("2026-03-15", "06:00:00", "06:10:00", ("divert", "divert")));
    place.write("2026-03-16.csv", &run("2026-03-16", "06:00:00", "06:10:00", ("divert", "divert")));
    let days = json(&place, &["days", ".", "--format", "json"]);
    assert_eq!(days["totals"]["holes"], 0, "{days:#}");
    assert_eq!(days["days"][1]["hole_before_to_close"], false);
    assert!(!command(&place, &["days", "."]).output.contains("hole: "));
    "2026-03-16.csv".clone_into(&mut place.record);
    place.round();
    assert_eq!(stage(&place, "2026-03-16.csv"), "signed");
    assert_eq!(place.close("hole_before_record", "none").status, Some(2));
}

/// CSV by Python's csv and by pandas, Parquet by pyarrow, DuckDB and pandas, sums by pandas: each
/// equals the JSON. The readers are installed by `scripts/test.sh`.
#[test]
fn other_tools_read_the_same() {
    let mut place = place();
    "2026-03-15.csv".clone_into(&mut place.record);
    place.round();
    // Another month, and another pasteurizer.
    place.write("2026-04-02.csv", &with_lots("2026-04-02"));
    assert!(std::fs::create_dir(place.path("second")).is_ok());
    let plant = String::from_utf8_lossy(&place.read("plant.toml")).replace("HTST-1", "HTST-2");
    place.write("second/plant.toml", &plant);
    place.write("second/2026-04-03.csv", &with_lots("2026-04-03"));
    for (format, output) in [("json", "range.json"), ("parquet", "range")] {
        place.expect(0, &["summary", ".", "--format", format, "--output", output]);
    }
    for rows in ["days", "exceptions"] {
        let output = format!("{rows}.csv");
        let csv = ["summary", ".", "--format", "csv", "--rows", rows, "--output", &output];
        place.expect(0, &csv);
    }
    let python = root().join("target/readers/bin/python");
    assert!(
        python.is_file(),
        "{} is not there: scripts/install-readers.sh makes it, as scripts/test.sh does",
        python.display()
    );
    let script = root().join("tests/read_summary.py");
    let output = Command::new(&python).arg(&script).arg(place.path("")).output();
    let told: Told = match output {
        Ok(output) => output.into(),
        Err(error) => panic!("{}: {error}", python.display()),
    };
    assert_eq!(told.status, Some(0), "{told:#?}");
    assert_eq!(told.output.trim(), "7 days, 12 exceptions read alike by 5 readers", "{told:#?}");
    // An existing folder is not written over.
    let again = ["summary", ".", "--format", "parquet", "--output", "range"];
    let told = place.expect(2, &again);
    assert!(told.complaint.contains("there already"), "{told:#?}");
}

/// The pages open elsewhere: their text, their fonts, their structure.
#[test]
fn the_pages_of_a_range_open_elsewhere() {
    let place = place();
    for paper in ["a4", "letter"] {
        let pdf = ["summary", ".", "--format", "pdf", "--paper", paper, "--output", "range.pdf"];
        place.expect(0, &pdf);
        let path = place.path("range.pdf");
        let check = tool("qpdf", &["--check"], &path);
        assert_eq!(check.status, Some(0), "{check:#?}");
        let text = tool("pdftotext", &["-layout"], &path);
        assert_eq!(text.status, Some(0), "{text:#?}");
        let Ok(text) = std::fs::read_to_string(place.path("range.txt")) else { panic!("text") };
        for said in ["Range summary", "2026-03-17 HTST-1", "5 RECORDS NOT SIGNED", "<b>1</"] {
            assert!(text.contains(said), "{said}: {text}");
        }
        let fonts = tool("pdffonts", &[], &path);
        let embedded = fonts.output.lines().skip(2).all(|line| line.contains(" yes yes "));
        assert!(embedded && fonts.output.lines().count() > 3, "{fonts:#?}");
    }
}

fn tool(program: &str, arguments: &[&str], path: &Path) -> Told {
    match Command::new(program).args(arguments).arg(path).output() {
        Ok(output) => output.into(),
        Err(error) => panic!("{program} is needed (scripts/install-debian.sh): {error}"),
    }
}

/// Two gauges that drift apart by 0.02 psi a day while the pumps stand, 0.14 psi a week; far from the plant's limit.
#[test]
fn the_zero_check_is_followed_over_the_days() {
    let place = Place::new();
    place.write(
        "plant.toml",
        r#"schema = 1
plant = "Example Dairy (invented)"
unit = "HTST-1"
zone = "UTC"
nominal_flow = "50 gal/min"

[columns]
time = "Time"
valve = { column = "FDD", forward = ["F"], divert = ["D"] }
holding_temperature = { column = "Hold", unit = "degF" }
raw_pressure = { column = "Raw", unit = "psi" }
pasteurized_pressure = { column = "Past", unit = "psi" }
timing_pump = { column = "Pump" }

[limits]
zero_check = "2 psi"
"#,
    );
    for day in 1..=14_u32 {
        let mut text = "Time,FDD,Hold,Raw,Past,Pump\n".to_owned();
        for second in 0..300_u32 {
            let hundredths = 1000 + second % 2 * 10;
            let (valve, over, pump) =
                if second < 200 { ("D", 2 * day, "stopped") } else { ("F", 400, "running") };
            let [raw, past] = [hundredths, hundredths + over].map(|one| f64::from(one) / 100.0);
            let (minute, rest) = (second / 60, second % 60);
            good(writeln!(
                text,
                "2026-03-{day:02} 06:{minute:02}:{rest:02},{valve},162.{},{raw:.2},{past:.2},{pump}",
                second % 5
            ));
        }
        place.write(&format!("2026-03-{day:02}.csv"), &text);
    }
    let summary = place.expect(0, &["summary", "."]).output;
    let line = "Differential at standstill (zero check), HTST-1: It changes by +0.14 psi per week";
    assert!(summary.contains(line), "{summary}");
}
