//! Figures on every page of the window are written by one rule (docs/glossary.md).

#[expect(dead_code, reason = "the days are samples and a busy one")]
mod common;
#[path = "../../../tests/src/figures.rs"]
mod figures;
#[expect(dead_code, reason = "its record is enough")]
mod round;

use common::{Setup, Window, busy_day, open, sample, settle};
use egui::Key;
use egui::accesskit::Role;
use egui_kittest::kittest::NodeT as _;
use std::error::Error;

/// Everything that the screen says.
fn said(window: &Window) -> String {
    let mut text = String::new();
    for node in window.root().children_recursive() {
        let node = node.accesskit_node();
        // What is typed, or proposed to be, is no figure of the program's.
        if matches!(node.role(), Role::TextInput | Role::TextRun) {
            continue;
        }
        for part in [node.label(), node.value()].into_iter().flatten() {
            text.push_str(&part);
            text.push('\n');
        }
    }
    text
}

/// The lines but those of the plant's list, which are a part of the result and shown as it is signed.
fn not_signed(text: &str) -> String {
    let is_signed = |line: &str| {
        line.contains("The first is \"")
            || line.contains(" samples are without ")
            || line.contains(" samples in forward flow")
    };
    let lines: Vec<&str> = text.lines().filter(|line| !is_signed(line)).collect();
    lines.join("\n")
}

#[test]
fn figures_are_written_by_one_rule_on_every_page() -> Result<(), Box<dyn Error>> {
    let folder = tempfile::tempdir()?;
    let busy = busy_day(folder.path());
    let mut all = String::new();
    for path in
        [sample("2026-03-04-stuck-valve.csv"), sample("2026-03-17-dropouts-and-gaps.csv"), busy]
    {
        let mut window = open(Setup { paths: vec![path.clone()], ..Setup::default() });
        let pages = [
            Key::W,
            Key::Num1,
            Key::Num2,
            Key::Num3,
            Key::Num4,
            Key::Num5,
            Key::Num6,
            Key::L,
            Key::O,
            Key::N,
        ];
        for page in pages {
            window.key_press(page);
            settle(&mut window);
            let text = said(&window);
            let found = figures::violations(&not_signed(&text));
            assert!(found.is_empty(), "{} {page:?}: {found:#?}", path.display());
            all.push_str(&text);
        }
    }
    assert!(all.contains('\u{2212}') && all.contains(" gal"), "figures are there");
    Ok(())
}

/// Four minutes around midnight, with an exception on either date.
#[test]
fn each_time_has_its_date_where_a_record_lies_on_two() {
    let place = round::Place::new();
    let mut text = round::record(7);
    for (minute, time) in
        [("T06:00", "T23:58"), ("T06:01", "T23:59"), ("T06:02", "T24:00"), ("T06:03", "T24:01")]
    {
        text = text.replace(minute, time);
    }
    place.write("2026-03-14.csv", &text.replace("2026-03-14T24", "2026-03-15T00"));
    let mut window = place.open();
    let all = said(&window);
    for words in ["14 Mar 23:58:2", "15 Mar 00:01:0", "14 Mar 23:58:00 to 15 Mar 00:01:59"] {
        assert!(all.contains(words), "{words} is not on the screen: {all}");
    }
    window.key_press(Key::N);
    settle(&mut window);
    assert!(said(&window).contains("From about 14 Mar 23:58:2"));
}
