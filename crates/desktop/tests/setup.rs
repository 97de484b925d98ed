//! A logger's file that nobody has told how to read is set up by looking, without a document.

#[expect(dead_code, reason = "set-up needs no sample run")]
mod common;

mod asked;

use asked::{press, says, type_into};

use common::{Setup, Window, open, settle, tags};
use egui::Key;
use egui::accesskit::Role;
use egui_kittest::kittest::Queryable as _;
use std::path::Path;

type Outcome = Result<(), Box<dyn std::error::Error>>;

fn set_up(path: &Path) -> Window {
    open(Setup { paths: vec![path.to_owned()], ..Setup::default() })
}

#[test]
fn short_tags_become_a_day_and_a_plant_file() -> Outcome {
    let folder = tempfile::tempdir()?;
    let path = tags(folder.path(), "2026-11-24");
    let mut window = set_up(&path);
    assert!(says(&window, "8 questions before tags.csv can be read"));
    // A guess is never made between two; the device was found by its words.
    assert!(says(&window, "ZS204: flow diversion device (the only column"));
    press(&mut window, "holding temperature: TT204A");
    press(&mut window, "raw pressure: PT201");
    press(&mut window, "pasteurized pressure: PT202");
    for _ in 0..2 {
        window.get_all_by_role_and_label(Role::Button, "psi").next().ok_or("a unit")?.click();
        settle(&mut window);
    }
    // The day is seen while it is set up; what 1 means was not said yet.
    assert!(says(&window, "is read as 24 November 2026, 04:00:00, UTC+00:00"));
    press(&mut window, "1: forward");
    press(&mut window, "0: divert");
    assert!(says(&window, "1 exception in 54 min"));
    type_into(&mut window, "The plant's name", "Example Dairy (invented)");
    type_into(&mut window, "The pasteurizer's name", "HTST-2");
    type_into(&mut window, "Time zone of the logger's clock", "America/Chicago");
    assert!(says(&window, "is read as 24 November 2026, 04:00:00, UTC-06:00"));
    assert!(says(&window, "tags.csv can be read"));
    press(&mut window, "Save the plant file, open the day");
    assert!(window.state().verdict().is_some_and(|verdict| verdict.starts_with("1 exception")));

    // The next file of that shape opens without a question.
    let next = folder.path().join("next.csv");
    std::fs::write(&next, std::fs::read_to_string(&path)?.replace("2026-11-24", "2026-11-25"))?;
    let window = set_up(&next);
    assert!(window.state().verdict().is_some_and(|verdict| verdict.starts_with("1 exception")));
    Ok(())
}

#[test]
fn a_date_that_can_be_read_two_ways_is_asked_about() -> Outcome {
    let folder = tempfile::tempdir()?;
    let path = tags(folder.path(), "03/08/2026");
    let text = std::fs::read_to_string(&path)?.replace(
        "Timestamp,TT204A,TT204B,PT201,PT202,ZS204",
        "Timestamp,Hold temp (\u{b0}F),Other,Raw pressure (psi),Past pressure (psi),ZS204",
    );
    std::fs::write(&path, text)?;
    let mut window = set_up(&path);
    assert!(says(&window, "Is 03/08/2026 day first or month first?"));
    press(&mut window, "month first");
    assert!(says(&window, "is read as 8 March 2026"));
    press(&mut window, "day first");
    assert!(says(&window, "is read as 3 August 2026"));
    Ok(())
}

#[test]
fn what_is_taken_for_something_can_be_changed() -> Outcome {
    let folder = tempfile::tempdir()?;
    let mut window = set_up(&tags(folder.path(), "2026-11-24"));
    window.get_by_label("Used as: TT204B").click();
    window.run();
    window.get_by_role_and_label(Role::Button, "recorder temperature").click();
    settle(&mut window);
    assert!(says(&window, "TT204B: recorder temperature, \u{b0}F"));
    // What is not answered keeps the plant file from being saved.
    window.get_by_label("Save the plant file, open the day").click();
    settle(&mut window);
    assert!(!folder.path().join("plant.toml").exists());
    Ok(())
}

/// A plant file that appeared meanwhile is not written over.
#[test]
fn another_plant_file_is_kept() -> Outcome {
    let folder = tempfile::tempdir()?;
    let path = tags(folder.path(), "2026-11-24");
    let text = std::fs::read_to_string(&path)?.replace(
        "Timestamp,TT204A,TT204B,PT201,PT202,ZS204",
        "Timestamp,Hold temp (\u{b0}F),Other,Raw pressure (psi),Past pressure (psi),ZS204",
    );
    std::fs::write(&path, text)?;
    let mut window = set_up(&path);
    press(&mut window, "1: forward");
    press(&mut window, "0: divert");
    type_into(&mut window, "The plant's name", "Example Dairy (invented)");
    type_into(&mut window, "The pasteurizer's name", "HTST-2");
    type_into(&mut window, "Time zone of the logger's clock", "UTC");
    let other = folder.path().join("plant.toml");
    std::fs::write(&other, "schema = 1\n")?;
    press(&mut window, "Save the plant file, open the day");
    assert!(says(&window, "The plant file is not saved"));
    assert_eq!(std::fs::read_to_string(&other)?, "schema = 1\n");
    Ok(())
}

/// Whoever opens a folder of unknown files sets them up from there, and is in the folder afterwards.
#[test]
fn a_day_of_a_folder_is_set_up_from_its_register() -> Outcome {
    let folder = tempfile::tempdir()?;
    let path = tags(folder.path(), "2026-03-09");
    let text = std::fs::read_to_string(&path)?.replace(
        "Timestamp,TT204A,TT204B,PT201,PT202,ZS204",
        "Timestamp,Hold temp (\u{b0}F),Other,Raw pressure (psi),Past pressure (psi),ZS204",
    );
    std::fs::write(folder.path().join("2026-03-09.csv"), &text)?;
    std::fs::write(folder.path().join("2026-03-10.csv"), text.replace("2026-03-09", "2026-03-10"))?;
    std::fs::remove_file(&path)?;
    let mut window = set_up(folder.path());
    window.get_by_label_contains("2026-03-09, ").click();
    settle(&mut window);
    assert!(says(&window, "questions before 2026-03-09.csv can be read"));
    press(&mut window, "1: forward");
    press(&mut window, "0: divert");
    type_into(&mut window, "The plant's name", "Example Dairy (invented)");
    type_into(&mut window, "The pasteurizer's name", "HTST-2");
    type_into(&mut window, "Time zone of the logger's clock", "UTC");
    press(&mut window, "Save the plant file, open the day");
    assert!(window.state().verdict().is_some_and(|verdict| verdict.starts_with("1 exception")));
    window.key_press(Key::CloseBracket);
    settle(&mut window);
    assert!(window.state().verdict().is_some_and(|verdict| verdict.starts_with("1 exception")));
    window.key_press(Key::Num0);
    settle(&mut window);
    assert!(says(&window, "2 of 2 records to review"));
    Ok(())
}
