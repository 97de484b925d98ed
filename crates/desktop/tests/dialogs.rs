//! Files without the system's dialogs, what was saved, and the verification of the open record.

#[expect(dead_code, reason = "its days are samples")]
mod common;
mod round;

use common::{Setup, Window, open, sample, settle};
use desktop::{Opener, What};
use egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable as _;
use round::{PASSPHRASE, Place, all_but_signing, record, shows, sign, tab_to};
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

/// Types a text into the field that has the keyboard, and presses `Enter`; a blank one is only passed.
fn enter(window: &mut Window, texts: &[&str]) {
    for text in texts {
        if !text.is_empty() {
            type_in(window, text);
        }
        press(window, Modifiers::NONE, Key::Enter);
    }
}

const CTRL: Modifiers = Modifiers::COMMAND;
const BOTH: Modifiers = Modifiers::COMMAND.plus(Modifiers::SHIFT);

/// Every dialog that a key opens, with what it is called, and who is at work.
const DIALOGS: [(&str, Modifiers, Key, &str); 13] = [
    ("anna", CTRL, Key::K, "Search commands"),
    ("anna", CTRL, Key::O, "Path of the file"),
    ("anna", Modifiers::NONE, Key::F1, "Help: "),
    ("anna", CTRL, Key::U, "Enrol somebody"),
    ("anna", BOTH, Key::U, "Approved plant files"),
    ("anna", CTRL, Key::S, "Exceptions in it"),
    ("anna", BOTH, Key::T, "Accept a register of signers"),
    ("anna", CTRL, Key::E, "Exception summary"),
    ("anna", BOTH, Key::I, "Add the entry"),
    ("anna", BOTH, Key::V, "Verification, link by link"),
    ("anna", Modifiers::NONE, Key::C, "Find a day"),
    ("ben", BOTH, Key::R, "Every signature that overlaps it"),
    ("ben", BOTH, Key::K, "Correct the clock"),
];

#[test]
fn escape_closes_every_dialog() {
    let place = Place::new();
    place.write("2026-03-07.csv", &record(3).replace("2026-03-14", "2026-03-07"));
    let mut window = place.with_signers();
    all_but_signing(&mut window);
    let mut person = "anna";
    let before = place.read("2026-03-14.review.jsonl");
    for (who, modifiers, key, name) in DIALOGS {
        if who != person {
            round::at_work(&mut window, if who == "ben" { "Ben Example" } else { "Anna Example" });
            person = who;
        }
        assert!(!shows(&window, name), "{name} is not open");
        press(&mut window, modifiers, key);
        until(&mut window, name);
        settle(&mut window);
        press(&mut window, Modifiers::NONE, Key::Escape);
        assert!(!shows(&window, name), "{name} is closed");
    }
    assert_eq!(place.read("2026-03-14.review.jsonl"), before, "nothing was entered");
}

/// From an empty folder to an approved record: whatever is asked for is typed, each time with `Enter`, which leads
/// to the next blank field, and submits with the last.
#[test]
fn enter_submits_every_dialog() {
    let place = Place::new();
    let mut window = place.open();
    // The first supervisor, the approval of the plant file.
    press(&mut window, CTRL, Key::U);
    enter(&mut window, &["ben", "Ben Example (invented)", PASSPHRASE, PASSPHRASE]);
    assert!(shows(&window, "Fingerprint of the key: "));
    enter(&mut window, &[PASSPHRASE]);
    assert!(shows(&window, "The limits of plant.toml are approved"));
    // A seal: the form leads to the proof, and that enters it.
    round::push(&mut window, "Enter a seal");
    tab_to(&mut window, "Number of the seal");
    enter(&mut window, &["0042", "timing pump", "2026-03-01 08:00", "R. Example (invented)"]);
    assert!(shows(&window, "Sign and enter"), "the proof is asked for");
    enter(&mut window, &[PASSPHRASE]);
    assert!(shows(&window, "Entered: "), "the seal is entered");
    // A key, an enrolment.
    round::push(&mut window, "Create my key");
    tab_to(&mut window, "Identifier");
    enter(&mut window, &["anna", PASSPHRASE, PASSPHRASE]);
    assert!(shows(&window, "The key of anna is created"));
    round::push(&mut window, "Enrol somebody");
    tab_to(&mut window, "Identifier");
    enter(&mut window, &["", "Anna Example (invented)", PASSPHRASE]);
    assert!(shows(&window, "Anna Example (invented) is enrolled"));
    press(&mut window, Modifiers::NONE, Key::Escape);
    // Who is at work: the one that is has the keyboard, the next is a Tab away.
    press(&mut window, CTRL, Key::U);
    assert!(round::focused(&window).starts_with("Ben Example"));
    press(&mut window, Modifiers::NONE, Key::Tab);
    enter(&mut window, &[""]);
    assert!(shows(&window, "Anna Example (invented), technician"));
    assert!(!shows(&window, "Enrol somebody"));
    // An operator's entry.
    press(&mut window, BOTH, Key::I);
    enter(&mut window, &["06:02"]);
    assert_eq!(round::focused(&window), "Made by");
    enter(&mut window, &["R. Example (invented)", "162.4"]);
    assert!(shows(&window, "Added: 2026-03-14 06:02, "), "a note is not asked for");
    press(&mut window, Modifiers::NONE, Key::Escape);
    // The summary asks where, the path field wants a path.
    press(&mut window, CTRL, Key::E);
    enter(&mut window, &[""]);
    until(&mut window, "Path of the file");
    settle(&mut window);
    press(&mut window, CTRL, Key::A);
    let path = place.path("made.pdf");
    enter(&mut window, &[&path.display().to_string()]);
    until(&mut window, "Saved as ");
    assert!(path.is_file());
    press(&mut window, Modifiers::NONE, Key::Escape);
    // The links are read and closed.
    press(&mut window, BOTH, Key::V);
    until(&mut window, "links FAIL");
    settle(&mut window);
    enter(&mut window, &[""]);
    assert!(!shows(&window, "Verification, link by link"));
    // A register is not accepted by one key.
    press(&mut window, BOTH, Key::T);
    enter(&mut window, &[""]);
    assert!(shows(&window, "Not yet: enter the fingerprint."));
    press(&mut window, Modifiers::NONE, Key::Escape);
    // The signature, an approval, and what opens it again.
    all_but_signing(&mut window);
    press(&mut window, CTRL, Key::S);
    enter(&mut window, &["anna", PASSPHRASE]);
    assert!(round::review(&window).contains("reviewed"), "{}", round::review(&window));
    round::at_work(&mut window, "Ben Example");
    press(&mut window, CTRL, Key::S);
    enter(&mut window, &["ben", PASSPHRASE]);
    assert!(round::review(&window).contains("signed"), "{}", round::review(&window));
    press(&mut window, BOTH, Key::R);
    enter(&mut window, &["a lot was wrong", "ben", PASSPHRASE]);
    assert!(!round::review(&window).contains("signed"), "{}", round::review(&window));
    // What is looked for is done.
    press(&mut window, CTRL, Key::K);
    enter(&mut window, &["verify"]);
    assert!(shows(&window, "Verification, link by link"));
}

/// Where a wrong date would be entered for good, `Enter` is the way back.
#[test]
fn enter_goes_back_where_the_clock_is_asked_about() {
    let place = Place::new();
    drop(place.with_signers());
    let ahead = desktop::DiskClock(|_| {
        Some("this machine's clock is 90 min ahead of that of the disk".to_owned())
    });
    let mut window = open(Setup { disk_clock: ahead, ..place.setup() });
    round::settle_next(&mut window);
    assert!(shows(&window, "Is this machine\u{2019}s clock right?"));
    enter(&mut window, &[""]);
    assert!(!shows(&window, "Is this machine\u{2019}s clock right?"));
    assert!(shows(&window, "0 of 2 resolved"));
}
