//! The plant file is seen and changed in the window, with what would differ before it is saved.

#[expect(dead_code, reason = "the plant page needs no sample run")]
mod common;
mod round;

use common::{Setup, Window, open, settle};
use egui::accesskit::Role;
use egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable as _;
use round::{PASSPHRASE, Place, all_but_signing, command, press, push, review, shows, sign};

fn command_shift(window: &mut Window, key: Key) {
    window.key_press_modifiers(Modifiers { shift: true, ..Modifiers::COMMAND }, key);
    settle(window);
}

/// Puts a text in place of what stands in a field.
fn put(window: &mut Window, name: &str, text: &str) {
    window.get_by_role_and_label(Role::TextInput, name).focus();
    window.run();
    window.key_press_modifiers(Modifiers::COMMAND, Key::A);
    window.key_press(Key::Delete);
    window.run();
    window.get_by_role_and_label(Role::TextInput, name).type_text(text);
    settle(window);
}

#[test]
fn a_limit_is_changed_seen_and_saved() {
    let place = Place::new();
    let before = place.read("plant.toml");
    let mut window = place.open();
    command(&mut window, Key::Comma);
    assert!(shows(&window, "plant.toml: no changes"));
    assert!(shows(&window, "no supervisor has approved the file"));
    push(&mut window, "Limits");
    assert!(shows(
        &window,
        "PMO Appendix I, test 5.6: at most 1 s (built in; not verified); bound: at most 1 s"
    ));

    // What can't be used is told at its field, and is not saved.
    put(&mut window, "Gap limit: longest step between rows", "60 s");
    assert!(shows(&window, "is beyond its bound, at most 15 s"));
    assert!(shows(&window, "plant.toml: unsaved changes, with an error"));
    command_shift(&mut window, Key::S);
    assert!(shows(&window, "The plant file is not saved"));
    assert_eq!(place.read("plant.toml"), before);
    press(&mut window, Key::Escape);

    put(&mut window, "Gap limit: longest step between rows", "2 s");
    assert!(shows(&window, "plant.toml: unsaved changes"));
    assert!(shows(&window, "+ gap = \"2 s\"") && shows(&window, "Limits \u{b7} 1 changed"));
    push(&mut window, "Save the plant file");
    // The day is there again, read by the new file.
    assert!(window.state().verdict().is_some());
    assert_eq!(place.read("plant.toml"), format!("{before}\n[limits]\ngap = \"2 s\"\n"));
    assert_eq!(place.read("plant-until-2026-03-15.toml"), before);
}

#[test]
fn products_and_words_come_and_go() {
    let place = Place::new();
    let mut window = place.open();
    command(&mut window, Key::Comma);
    push(&mut window, "Products");
    push(&mut window, "Add a product");
    assert!(shows(&window, "needs `name`, which is not there"));
    put(&mut window, "Name", "whole milk");
    window.get_by_role_and_label(Role::ComboBox, "Row of a regulation").click();
    window.run();
    window.get_by_role_and_label(Role::Button, "us-milk-15s").click();
    settle(&mut window);
    assert!(shows(&window, "21 CFR 1240.61(b)"));
    push(&mut window, "Review");
    window.get_by_role_and_label(Role::MultilineTextInput, "Causes that are offered").focus();
    window.run();
    window.key_press_modifiers(Modifiers::COMMAND, Key::End);
    window
        .get_by_role_and_label(Role::MultilineTextInput, "Causes that are offered")
        .type_text("\nloss of steam");
    settle(&mut window);
    push(&mut window, "Save the plant file");
    let text = place.read("plant.toml");
    assert!(
        text.ends_with("\n[[products]]\nname = \"whole milk\"\nrow = \"us-milk-15s\"\n"),
        "{text}"
    );
    assert!(text.contains("\"sensor taken out\", \"loss of steam\"]"), "{text}");

    command(&mut window, Key::Comma);
    push(&mut window, "Products");
    push(&mut window, "Remove product 1");
    push(&mut window, "Save the plant file");
    assert!(!place.read("plant.toml").contains("products"));
    assert!(place.path("plant-until-2026-03-15-2.toml").is_file());
}

/// What is typed and not saved is not lost by opening something else or closing the window.
#[test]
fn changes_that_are_not_saved_are_kept() {
    let place = Place::new();
    let before = place.read("plant.toml");
    let mut window = place.open();
    command(&mut window, Key::Comma);
    put(&mut window, "Pasteurizer", "HTST-2");
    press(&mut window, Key::Escape);
    command(&mut window, Key::R);
    command(&mut window, Key::Q);
    assert!(shows(&window, "The plant file has unsaved changes"));
    assert!(shows(&window, "plant.toml: unsaved changes"));
    command(&mut window, Key::W);
    assert!(window.state().verdict().is_some(), "the day is there again");
    assert_eq!(place.read("plant.toml"), before);
}

/// What somebody else has saved meanwhile is not written over.
#[test]
fn a_file_that_was_changed_meanwhile_is_kept() {
    let place = Place::new();
    let mut window = place.open();
    command(&mut window, Key::Comma);
    put(&mut window, "Pasteurizer", "HTST-2");
    let other = place.read("plant.toml").replace("HTST-1", "HTST-3");
    place.write("plant.toml", &other);
    push(&mut window, "Save the plant file");
    assert!(shows(&window, "somebody else has changed the plant file"));
    assert_eq!(place.read("plant.toml"), other);
}

/// A plant file that can't be used opens at what is wrong with it.
#[test]
fn a_plant_file_that_cannot_be_used_is_mended_on_the_page() {
    let place = Place::new();
    let text = place.read("plant.toml");
    place.write("plant.toml", &text.replace("America/Chicago", "America/Chikago"));
    let mut window = place.open();
    assert!(shows(&window, "The plant file could not be used"));
    press(&mut window, Key::Escape);
    command(&mut window, Key::Comma);
    assert!(shows(&window, "plant.toml can't be used"));
    put(&mut window, "Time zone", "America/Chicago");
    push(&mut window, "Save the plant file");
    assert!(window.state().verdict().is_some(), "the record is open");
    assert_eq!(place.read("plant.toml"), text);
}

/// A record that was signed with the plant file before goes on holding.
#[test]
fn what_was_signed_holds_after_the_plant_file_is_another() {
    let place = Place::new();
    let mut window = place.with_signers();
    all_but_signing(&mut window);
    sign(&mut window, "anna", PASSPHRASE);
    let signed = review(&window);
    command(&mut window, Key::Comma);
    assert!(shows(&window, "The saved file is approved by a supervisor."));
    put(&mut window, "Recorder", "TR-2");
    push(&mut window, "Save the plant file");
    assert_eq!(review(&window), signed);
    assert!(!shows(&window, "changed since") && !shows(&window, "Limits not approved"));
    drop(window);

    // The next day is read by the new file, which nobody has approved.
    place.write("2026-03-15.csv", &place.read("2026-03-14.csv").replace("03-14T", "03-15T"));
    let window = open(Setup { paths: vec![place.path("2026-03-15.csv")], ..place.setup() });
    assert!(shows(&window, "Limits not approved"));
}

#[test]
fn where_there_is_no_plant_file_it_is_said() {
    let place = Place::new();
    assert!(std::fs::remove_file(place.path("plant.toml")).is_ok());
    let mut window = place.open();
    command(&mut window, Key::Comma);
    assert!(shows(&window, "There is no plant file"));
}

/// What a field or a section is called is never cut: a long name goes on below, and the sections take the width that they need.
#[test]
fn names_are_whole_in_a_narrow_window() {
    let place = Place::new();
    let mut window = open(Setup { size: (1024.0, 700.0), ..place.setup() });
    command(&mut window, Key::Comma);
    let name = window.get_by_role_and_label(Role::Label, "Product where none is named").rect();
    let field = window.get_by_role_and_label(Role::TextInput, "Product where none is named").rect();
    assert!(name.height() > 30.0 && name.right() <= field.left(), "{name:?} {field:?}");
    assert!(field.width() > 300.0, "the field takes what is free: {field:?}");
    push(&mut window, "Several loggers");
    push(&mut window, "Holding tube");
    for (field, text) in [
        ("Flow of the test", "50 gal/min"),
        ("Time of the test", "16.5 s"),
        ("Tested on", "2026-01-14"),
        ("Tested by", "R. Example (invented)"),
    ] {
        put(&mut window, field, text);
    }
    let section = window.get_by_label("Holding tube \u{b7} 4 changed").rect();
    let name = window.get_by_role_and_label(Role::Label, "Time of the test").rect();
    assert!(section.right() + 5.0 < name.left(), "{section:?} {name:?}");
}
