//! Many exceptions resolved by one command: each in a line of its own, all of them or none, and what a disk
//! leaves that breaks off in the middle.

#![cfg(unix)]

use std::fmt::Write as _;
use std::path::Path;
use std::process::Command;
use tests::place::Place;
use tests::program::{Told, program};

const JOURNAL: &str = "2026-03-14.review.jsonl";
const COUNT: usize = 40;
/// Where the disk ends, in blocks of 512 bytes: between the line that opens the review and the last one.
const BLOCKS: usize = 40;

/// A record with forty cold stretches.
fn place() -> Place {
    let place = Place::with_signers();
    let mut text =
        "time,valve,holding temperature (°F),raw pressure (psi),pasteurized pressure (psi)\n"
            .to_owned();
    for second in 0..71 * COUNT {
        let temperature = match (second % 71, second % 2) {
            (30..=34, _) => "159.8",
            (_, 0) => "162.4",
            (_, _) => "162.5",
        };
        let (minute, rest) = (second / 60, second % 60);
        let time = format!("2026-03-14T06:{minute:02}:{rest:02}-05:00");
        // Writing to a string can't fail.
        writeln!(text, "{time},forward,{temperature},10.{0},14.{0}", second % 2)
            .unwrap_or_default();
    }
    place.write("2026-03-14.csv", &text);
    place
}

fn resolve(place: &Place) -> Vec<String> {
    place.settle(&["--all-open"])
}

/// Resolves all where no file may grow beyond [`BLOCKS`]; `trap` says what becomes of a program that tries.
fn on_a_small_disk(place: &Place, trap: &str) -> Told {
    let script = format!("{trap} ulimit -f {BLOCKS}; exec \"$@\"");
    let mut command: Command = place.command(Path::new("sh"));
    command.arg("-c").arg(script).arg("sh").arg(program()).args(resolve(place));
    Place::told(command)
}

fn resolved(place: &Place) -> usize {
    let listed = place.list();
    let items = listed["exceptions"].as_array().cloned().unwrap_or_default();
    assert_eq!(items.len(), COUNT, "{listed:#}");
    items.iter().filter(|item| item["standing"] == "settled").count()
}

#[test]
fn each_is_a_line_of_its_own() {
    let place = place();
    let told = place.expect(0, &resolve(&place));
    assert_eq!(told.output.lines().count(), COUNT, "{told:#?}");
    assert!(told.output.starts_with("line 2: entered\n"), "{told:#?}");
    assert!(told.output.ends_with(&format!("line {}: entered\n", COUNT + 1)), "{told:#?}");
    assert_eq!(resolved(&place), COUNT);
}

/// A disk that is full in the middle has none of them, and the program says so.
#[test]
fn a_disk_that_is_full_in_the_middle_takes_none() {
    let place = place();
    let told = on_a_small_disk(&place, "trap '' XFSZ;");
    assert_eq!(told.status, Some(2), "{told:#?}");
    assert!(told.complaint.contains("NOT made"), "{told:#?}");
    assert_eq!(place.read(JOURNAL).len(), 0);
    assert_eq!(resolved(&place), 0);
    place.expect(0, &resolve(&place));
    assert_eq!(resolved(&place), COUNT);
}

/// A program that is stopped in the middle leaves the first of them; what was cut short is told and set
/// aside, and the rest is open and can be resolved.
#[test]
fn what_was_written_before_the_program_was_stopped_counts() {
    let place = place();
    let told = on_a_small_disk(&place, "");
    assert_eq!(told.status, None, "it was stopped: {told:#?}");
    assert_eq!(place.read(JOURNAL).len(), BLOCKS * 512);
    let made = resolved(&place);
    assert!(0 < made && made < COUNT, "{made}");
    let listed = place.run(&["review", "list", "2026-03-14.csv"]);
    assert!(listed.complaint.contains("is incomplete"), "{listed:#?}");
    let told = place.expect(0, &resolve(&place));
    assert_eq!(told.output.lines().count(), COUNT - made, "{told:#?}");
    assert_eq!(resolved(&place), COUNT);
}
