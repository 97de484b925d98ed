//! Product on hold through the window: put on hold with a tag, signed, listed in the register, ended
//! by the supervisor with a laboratory's result.

#[expect(dead_code, reason = "a review brings its own record")]
mod common;

#[expect(dead_code, reason = "this is one part of a round")]
mod round;

use common::Window;
use egui::Key;
use round::{
    PASSPHRASE, Place, acknowledge, at_work, command, fill, press, prove, push, review, shows,
    sign, tab_to, text,
};

/// Resolves the chosen exception with the disposition held.
fn hold_next(window: &mut Window) {
    press(window, Key::T);
    text(window, "steam valve stuck");
    fill(window, "Corrective action", "valve freed");
    fill(window, "Disposition", "held");
    fill(window, "Tank", "T4");
}

#[test]
fn a_hold_from_the_form_to_its_end() {
    let place = Place::new();
    let mut window = place.with_signers();
    hold_next(&mut window);
    command(&mut window, Key::Enter);
    assert!(shows(&window, "1 on hold"), "{}", place.read("2026-03-14.review.jsonl"));
    hold_next(&mut window);
    command(&mut window, Key::Enter);
    assert!(shows(&window, "2 on hold"), "the second has a tag of its own");
    assert!(place.read("2026-03-14.review.jsonl").contains("\"hold_tag\":\"2026-03-14-H2\""));
    // What is not signed yet is undone with a name.
    command(&mut window, Key::Z);
    assert!(shows(&window, "1 on hold"));
    round::settle_next(&mut window);
    for _ in 0..6 {
        acknowledge(&mut window);
    }
    press(&mut window, Key::I);
    text(&mut window, "none");
    press(&mut window, Key::Enter);
    sign(&mut window, "anna", PASSPHRASE);
    at_work(&mut window, "Ben Example");
    sign(&mut window, "ben", PASSPHRASE);
    assert_eq!(review(&window), "signed");

    press(&mut window, Key::N);
    assert!(shows(&window, "It is signed: reopen it to change it."));
    push(&mut window, "End the hold");
    assert!(shows(&window, "Required: the reason why the hold is ended"));
    fill(&mut window, "Reason for ending the hold", "the laboratory found nothing");
    fill(&mut window, "Test", "alkaline phosphatase");
    fill(&mut window, "Method", "fluorometric");
    fill(&mut window, "Result", "351");
    fill(&mut window, "Unit", "mU/L");
    fill(&mut window, "At most, or required", "350");
    fill(&mut window, "Date, YYYY-MM-DD", "2026-03-16");
    fill(&mut window, "Laboratory", "Example Laboratory (invented)");
    assert!(shows(&window, "Product is not released on this result"));
    tab_to(&mut window, "Result");
    command(&mut window, Key::A);
    text(&mut window, "40");
    tab_to(&mut window, "Sign the end of the hold");
    press(&mut window, Key::Space);
    assert!(shows(&window, "End the hold 2026-03-14-H1"));
    prove(&mut window, "ben", PASSPHRASE);
    assert!(shows(&window, "Hold ended"), "{}", place.read("2026-03-14.review.jsonl"));
    assert!(!shows(&window, "1 on hold"));
    assert_eq!(review(&window), "signed", "the signatures stand");
    let last = place.read("2026-03-14.review.jsonl").lines().last().map(str::to_owned);
    assert!(
        last.is_some_and(
            |last| last.contains("\"hold_ended\"") && last.contains("\"signature\":\"")
        )
    );
}
