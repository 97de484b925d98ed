//! Tests of the equipment and seals through the window: entered by the supervisor, told in the pane of
//! the record, and a broken seal noted before the approval.

#[expect(dead_code, reason = "a review brings its own record")]
mod common;

mod round;

use common::{Setup, Window, open, settle};
use egui::{Key, Modifiers};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use round::{
    PASSPHRASE, Place, all_but_signing, at_work, fill, press, prove, push, review, shows, sign,
};

fn books(window: &mut Window) {
    window.key_press_modifiers(Modifiers::COMMAND.plus(Modifiers::SHIFT), Key::U);
    settle(window);
}

fn enter(window: &mut Window) {
    push(window, "Continue to signing");
    fill(window, "Passphrase", PASSPHRASE);
    press(window, Key::Enter);
    assert!(shows(window, "Entered: "));
}

/// Anna reviews the record, and Ben, who would approve it, is told why he can't.
fn reviewed_and_not_approved(window: &mut Window, why: &str) {
    at_work(window, "Anna Example");
    all_but_signing(window);
    sign(window, "anna", PASSPHRASE);
    assert_eq!(review(window), "reviewed");
    at_work(window, "Ben Example");
    window.key_press_modifiers(Modifiers::COMMAND, Key::S);
    settle(window);
    assert!(shows(window, why));
    press(window, Key::Escape);
    press(window, Key::Escape);
}

/// A holding time test that is shorter than the certificate: told in the pane, no approval, and taken over on the
/// plant page, which saves nothing by itself.
#[test]
fn a_holding_time_test_is_taken_over_by_the_plant_file() {
    let place = Place::new();
    let tube = "\n[tube]\n# the certificate\ntest_flow = \"50 gal/min\"\ntest_time = \"16.2 s\"\n\
                tested_on = \"2026-01-14\"\n";
    let before = format!("{}{tube}", place.read("plant.toml"));
    place.write("plant.toml", &before);
    let mut window = place.with_signers();
    at_work(&mut window, "Ben Example");
    books(&mut window);
    push(&mut window, "Enter a test");
    fill(&mut window, "Which test", "holding time");
    fill(&mut window, "Made on, YYYY-MM-DD", "2026-03-10");
    fill(&mut window, "Result, with its unit", "15.8 s");
    fill(&mut window, "Required value, with its unit", "15 s");
    fill(&mut window, "Made by", "C. Example (invented)");
    assert!(shows(&window, "is the time with the flow of the test"));
    fill(&mut window, "Result, with its unit", " at 50 gal/min");
    enter(&mut window);
    press(&mut window, Key::Escape);
    assert!(shows(&window, "(15.8 s at 50 gal/min) shows a shorter holding time"));

    // It is offered from the register of days as well.
    let days = Setup { paths: vec![place.folder.path().to_owned()], ..place.setup() };
    let mut days = open(days);
    days.key_press_modifiers(Modifiers::COMMAND, Key::Comma);
    settle(&mut days);
    assert!(shows(&days, "Take over this test"));
    drop(days);

    reviewed_and_not_approved(&mut window, "take the test over into the plant file");

    window.key_press_modifiers(Modifiers::COMMAND, Key::Comma);
    settle(&mut window);
    assert!(shows(&window, "15.8 s at 50 gal/min, tested 2026-03-10 by C. Example (invented)"));
    push(&mut window, "Take over this test");
    assert!(shows(&window, "unsaved changes"));
    assert!(!shows(&window, "Take over this test"), "it is taken over");
    assert_eq!(place.read("plant.toml"), before, "a person saves it");
    push(&mut window, "Save the plant file");
    let after = place.read("plant.toml");
    assert!(
        after.contains("# the certificate\n") && after.contains("test_time = \"15.8 s\""),
        "{after}"
    );
    assert!(after.contains("tested_on = \"2026-03-10\""), "{after}");
    let told = told(&window, "shows a shorter holding time");
    assert!(told.is_empty(), "{told:#?}");
}

/// What says so.
fn told(window: &Window, words: &str) -> Vec<String> {
    let all = window.query_all_by_label_contains(words);
    all.filter_map(|node| node.accesskit_node().label()).collect()
}

#[test]
fn a_broken_seal_and_an_overdue_test() {
    let place = Place::new();
    let mut window = place.with_signers();
    at_work(&mut window, "Ben Example");
    books(&mut window);
    push(&mut window, "Enter a test");
    assert!(shows(&window, "Required: which test"));
    fill(&mut window, "Which test", "flow diversion device, assembly and function");
    fill(&mut window, "Made on, YYYY-MM-DD", "2025-11-02");
    fill(&mut window, "Result, with its unit", "0.8 s");
    fill(&mut window, "Required value, with its unit", "1 s");
    fill(&mut window, "Made by", "C. Example (invented)");
    enter(&mut window);
    press(&mut window, Key::Escape);
    // Overdue on the day of the record, which the pane says while nothing is selected.
    assert!(shows(&window, "overdue since 2026-02-02, last made on 2025-11-02"));
    books(&mut window);
    push(&mut window, "Enter a seal");
    fill(&mut window, "Number of the seal", "4711");
    fill(&mut window, "What it seals", "timing pump");
    fill(&mut window, "Applied at, YYYY-MM-DD HH:MM", "2026-01-14 09:00");
    fill(&mut window, "Applied by", "C. Example (invented)");
    enter(&mut window);
    press(&mut window, Key::Escape);
    books(&mut window);
    push(&mut window, "A seal was broken");
    fill(&mut window, "Number of the seal", "4711");
    fill(&mut window, "Broken at, YYYY-MM-DD HH:MM", "2026-03-14 06:01");
    fill(&mut window, "Broken by", "maintenance");
    fill(&mut window, "Why", "belt changed");
    enter(&mut window);
    press(&mut window, Key::Escape);
    assert!(shows(&window, "Seal 4711 broken"));

    reviewed_and_not_approved(&mut window, "a seal was broken");
    fill(&mut window, "What it means for this record", "the pump was not touched");
    push(&mut window, "Note the broken seal");
    assert!(shows(&window, "the pump was not touched"));
    window.key_press_modifiers(Modifiers::COMMAND, Key::S);
    settle(&mut window);
    prove(&mut window, "ben", PASSPHRASE);
    assert_eq!(review(&window), "signed");
}
