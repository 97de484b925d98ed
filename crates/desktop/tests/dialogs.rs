//! Files without the system's dialogs, what was saved, and the verification of the open record.

#[expect(dead_code, reason = "its days are samples")]
mod common;
#[expect(dead_code, reason = "a part of a round is enough")]
mod round;

use common::{Setup, Window, open, sample, settle};
use desktop::{Opener, What};
use egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable as _;
use round::{PASSPHRASE, Place, all_but_signing, record, shows, sign};
use std::error::Error;

const STUCK: &str = "2026-03-04-stuck-valve.csv";

fn press(window: &mut Window, modifiers: Modifiers, key: Key) {
    window.key_press_modifiers(modifiers, key);
    settle(window);
}

fn type_in(window: &mut Window, text: &str) {
    window.event(egui::Event::Text(text.to_owned()));
    settle(window);
}

/// Waits for what another thread brings.
fn until(window: &mut Window, text: &str) {
    for _ in 0..400 {
        if shows(window, text) {
            return;
        }
        std::thread::sleep(std::time::Duration::from_millis(5));
        window.step();
    }
    panic!("{text} does not appear");
}

#[test]
fn a_path_is_typed_where_the_system_has_no_dialog() {
    let mut window = open(Setup::default());
    press(&mut window, Modifiers::COMMAND, Key::O);
    until(&mut window, "file dialog could not be opened");
    settle(&mut window);
    type_in(&mut window, "/nowhere/at all.csv");
    press(&mut window, Modifiers::NONE, Key::Enter);
    assert!(shows(&window, "/nowhere/at all.csv does not exist"));
    press(&mut window, Modifiers::COMMAND, Key::A);
    type_in(&mut window, &sample(STUCK).display().to_string());
    press(&mut window, Modifiers::NONE, Key::Enter);
    until(&mut window, "2 exceptions");
    assert!(!shows(&window, "file dialog could not be opened"));
    // It can be left.
    press(&mut window, Modifiers::COMMAND | Modifiers::SHIFT, Key::O);
    until(&mut window, "Path of the folder");
    press(&mut window, Modifiers::NONE, Key::Escape);
    assert!(!shows(&window, "Path of the folder"));
    assert!(shows(&window, "2 exceptions"), "the day is still open");
}

#[test]
fn what_is_saved_is_opened_and_shown() -> Result<(), Box<dyn Error>> {
    let folder = tempfile::tempdir()?;
    let opener = Opener(|path, what| {
        let ending = if what == What::Open { "opened" } else { "shown" };
        std::fs::write(path.with_extension(ending), "")
    });
    let mut window = open(Setup { paths: vec![sample(STUCK)], opener, ..Setup::default() });
    press(&mut window, Modifiers::COMMAND, Key::E);
    window.get_by_label_contains("JSON").click();
    settle(&mut window);
    window.get_by_label_contains("Save as").click();
    until(&mut window, "Path of the file");
    settle(&mut window);
    let path = folder.path().join("summary.json");
    press(&mut window, Modifiers::COMMAND, Key::A);
    type_in(&mut window, &path.display().to_string());
    press(&mut window, Modifiers::NONE, Key::Enter);
    until(&mut window, "Saved as ");
    assert!(path.is_file());
    for (button, ending) in [("Open", "opened"), ("Show in folder", "shown")] {
        window.get_by_label(button).click();
        settle(&mut window);
        assert!(path.with_extension(ending).is_file(), "{button}");
    }
    // What is there is written over only after a second press.
    std::fs::write(&path, "mine")?;
    window.get_by_label_contains("Save as").click();
    until(&mut window, "Path of the file");
    settle(&mut window);
    press(&mut window, Modifiers::COMMAND, Key::A);
    type_in(&mut window, &path.display().to_string());
    press(&mut window, Modifiers::NONE, Key::Enter);
    assert!(shows(&window, "exists already"));
    assert_eq!(std::fs::read_to_string(&path)?, "mine");
    press(&mut window, Modifiers::NONE, Key::Enter);
    until(&mut window, "Saved as ");
    assert!(std::fs::read_to_string(&path)?.starts_with('{'));
    Ok(())
}

#[test]
fn what_can_not_be_opened_is_told() {
    let mut window = open(Setup { paths: vec![sample(STUCK)], ..Setup::default() });
    press(&mut window, Modifiers::COMMAND, Key::E);
    window.get_by_label_contains("JSON").click();
    settle(&mut window);
    let path = std::env::temp_dir().join(format!("holdtrace-dialogs-{}.json", std::process::id()));
    let context = window.ctx.clone();
    window.state_mut().save_summary(&path, &context);
    until(&mut window, "Saved as ");
    window.get_by_label("Open").click();
    settle(&mut window);
    assert!(shows(&window, "No program could be started for the file"));
    assert!(std::fs::remove_file(&path).is_ok());
}

#[test]
fn the_open_record_is_verified_link_by_link() {
    const BOTH: Modifiers = Modifiers::COMMAND.plus(Modifiers::SHIFT);
    let place = Place::new();
    let mut window = place.with_signers();
    all_but_signing(&mut window);
    sign(&mut window, "anna", PASSPHRASE);
    press(&mut window, BOTH, Key::V);
    until(&mut window, "links FAIL");
    // All but the approval.
    assert!(shows(&window, "1 of "));
    assert!(shows(&window, "Sign-off, FAILS: reviewed, but no current signature approves"));
    assert!(shows(&window, "Chain, holds: "));
    assert!(shows(&window, "ben (Ben Example (invented)), supervisor, created the register: "));
    press(&mut window, Modifiers::NONE, Key::Escape);
    assert!(!shows(&window, "Verification, link by link"));

    // The bytes on the disk are read again, not those that were opened.
    place.write("2026-03-14.csv", &record(8));
    press(&mut window, BOTH, Key::V);
    until(&mut window, "File 2026-03-14.csv, FAILS: sha256 was ");
}
