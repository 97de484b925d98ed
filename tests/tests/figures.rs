//! Figures are written by one rule in every text that a person reads (docs/glossary.md), and as programs read
//! them in every file.

use std::path::{Path, PathBuf};
use tests::figures::violations;
use tests::good;
use tests::program::{Told, command};

fn run(arguments: &[&str]) -> Told {
    good(command(arguments).output()).into()
}

fn days(folder: &Path) -> Vec<PathBuf> {
    let files = good(std::fs::read_dir(folder)).filter_map(Result::ok).map(|file| file.path());
    let is_day = |path: &PathBuf| {
        let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        path.extension().is_some_and(|ending| ending == "csv") && name.matches('.').count() == 1
    };
    let mut days: Vec<PathBuf> = files.filter(is_day).collect();
    days.sort();
    days
}

/// The lines but those of the plant's list, which are a part of the result and shown as it is signed, and
/// the times of the states, which are exact since they add up to the record.
fn not_signed(text: &str) -> String {
    let is_signed = |line: &str| {
        line.contains("The first is \"")
            || line.contains(" samples are without ")
            || line.contains(" samples in forward flow")
            || line.ends_with(" %")
    };
    let lines: Vec<&str> = text.lines().filter(|line| !is_signed(line)).collect();
    lines.join("\n")
}

#[test]
fn figures_are_written_by_one_rule_in_every_text() {
    let place = good(tempfile::tempdir());
    let folder = good(simulate::write_sample_runs(place.path()));
    let folder_name = folder.display().to_string();
    let mut texts: Vec<(String, String)> = Vec::new();
    for day in days(&folder) {
        let day = day.display().to_string();
        for arguments in [vec!["audit", &day], vec!["review", "list", &day]] {
            texts.push((arguments.join(" "), run(&arguments).output));
        }
    }
    for arguments in [["days", &folder_name], ["summary", &folder_name], ["work", &folder_name]] {
        texts.push((arguments.join(" "), run(&arguments).output));
    }
    assert!(texts.iter().any(|(_, text)| text.contains('\u{2212}')), "a minus is in some text");
    assert!(texts.iter().any(|(_, text)| text.contains(",0")), "thousands are in some text");
    for (what, text) in &texts {
        assert!(!text.is_empty(), "{what}");
        let found = violations(&not_signed(text));
        assert!(found.is_empty(), "{what}: {found:#?}");
    }
}

#[test]
fn files_have_the_minus_of_programs() {
    let place = good(tempfile::tempdir());
    let folder = good(simulate::write_sample_runs(place.path()));
    let folder_name = folder.display().to_string();
    let mut all = String::new();
    for day in days(&folder) {
        let day = day.display().to_string();
        for arguments in [
            ["audit", &day, "--format", "json"],
            ["audit", &day, "--format", "csv"],
            ["audit", &day, "--format", "result"],
            ["report", &day, "--format", "csv"],
        ] {
            all.push_str(&run(&arguments).output);
        }
        all.push_str(&run(&["audit", &day, "--format", "csv", "--rows", "observations"]).output);
    }
    for format in ["json", "csv"] {
        all.push_str(&run(&["summary", &folder_name, "--format", format]).output);
    }
    assert!(all.contains(": -") || all.contains(",-"), "a figure below zero is in some file");
    let line = all.lines().find(|line| line.contains('\u{2212}'));
    assert_eq!(line, None);
}
