//! The operator's day through the window: entries are added beside the record, signed by an operator, and the
//! reviewer takes the signature over. Keys only, but for who is at work.

#[expect(dead_code, reason = "a review brings its own record")]
mod common;

#[expect(dead_code, reason = "this is one part of a round")]
mod round;

use common::{Window, settle};
use egui::{Key, Modifiers};
use round::{
    PASSPHRASE, Place, command, enrol_as, fill, focused, press, prove, push, settle_next, shows,
    text,
};

fn entries(window: &mut Window) {
    window.key_press_modifiers(Modifiers::COMMAND.plus(Modifiers::SHIFT), Key::I);
    settle(window);
}

/// The supervisor enrols an operator, who made a key on this machine.
fn enrol_operator(window: &mut Window) {
    window.key_press_modifiers(Modifiers::COMMAND, Key::U);
    settle(window);
    enrol_as(window, ("vale", "Robin Vale (invented)"), "Operator");
}

#[test]
fn an_operator_adds_entries_and_signs_them() {
    let place = Place::new();
    let plant = place.read("plant.toml");
    let list = "extra = [\"signature or initials\", ";
    place.write("plant.toml", &plant.replace("extra = [", list));
    let mut window = place.with_signers();
    enrol_operator(&mut window);

    press(&mut window, Key::Num4);
    assert!(shows(&window, "Operators\u{2019} entries: none"));
    entries(&mut window);
    assert!(focused(&window).starts_with("Time"), "{}", focused(&window));
    text(&mut window, "06:01");
    fill(&mut window, "Made by", "R. Vale (invented)");
    fill(&mut window, "Reading, ", "162.4");
    press(&mut window, Key::Enter);
    assert!(shows(&window, "Added: 2026-03-14 06:01, indicating thermometer 162.4."));
    // What can't be understood is not written, and stays to be put right.
    assert!(focused(&window).starts_with("Time"), "the next one: {}", focused(&window));
    push(&mut window, "seals");
    push(&mut window, "Add the entry");
    assert!(shows(&window, "needs a note"));
    fill(&mut window, "Note", "all intact");
    press(&mut window, Key::Enter);
    assert!(shows(&window, "Added: 2026-03-14 06:01, seals all intact."));
    let written = place.read("2026-03-14.entries.csv");
    assert_eq!(
        written,
        "time,entry,reading (degF),by,note\n\
         2026-03-14 06:01,indicating,162.4,R. Vale (invented),\n\
         2026-03-14 06:01,seals,,R. Vale (invented),all intact\n"
    );
    prove(&mut window, "vale", PASSPHRASE);
    assert!(shows(&window, "2 entries are signed by vale."));
    press(&mut window, Key::Escape);
    assert!(shows(
        &window,
        "Operators\u{2019} entries: signed by Robin Vale (invented) (operator)"
    ));
    assert!(place.read("ledger.jsonl").contains("\"kind\":\"entries_signed\""));

    // The reviewer finds the signature in the field, and enters it as it stands.
    press(&mut window, Key::I);
    assert_eq!(focused(&window), "signature or initials");
    press(&mut window, Key::Enter);
    let journal = place.read("2026-03-14.review.jsonl");
    assert!(journal.contains("\"value\":\"Robin Vale (invented) (operator), "), "{journal}");

    // Somebody writes into the file behind the operator's back.
    place.write("2026-03-14.entries.csv", &written.replace("162.4", "163.4"));
    window.key_press_modifiers(Modifiers::COMMAND, Key::R);
    settle(&mut window);
    press(&mut window, Key::Num4);
    assert!(shows(
        &window,
        "Operators\u{2019} entries: changed since they were signed by Robin Vale"
    ));
}

/// The operator's day as a file beside the record: signed as it lies there, and what the record does not show
/// is closed with a reason.
#[test]
fn an_operators_day_by_csv() {
    let place = Place::new();
    let by = "Robin Vale (invented)";
    let file = format!(
        "time,entry,reading (degF),by,note\n\
         2026-03-14 06:01,indicating,162.4,{by},\n\
         2026-03-14 06:02,indicating,168.4,{by},\n\
         2026-03-14 06:02,seals,,{by},all intact\n"
    );
    place.write("2026-03-14.entries.csv", &file);
    let mut window = place.with_signers();
    enrol_operator(&mut window);
    press(&mut window, Key::Num4);
    assert!(shows(&window, "Operators\u{2019} entries: not signed"));
    assert!(shows(&window, "agrees: the record shows 162.4 to 162.5 \u{b0}F"));
    assert!(shows(&window, "does not agree: the record shows"));
    entries(&mut window);
    prove(&mut window, "vale", PASSPHRASE);
    assert!(shows(&window, "3 entries are signed by vale."));
    press(&mut window, Key::Escape);
    assert!(shows(
        &window,
        "Operators\u{2019} entries: signed by Robin Vale (invented) (operator)"
    ));
    assert_eq!(place.read("2026-03-14.entries.csv"), file, "signing changes no byte of it");

    settle_next(&mut window);
    settle_next(&mut window);
    press(&mut window, Key::T);
    assert_eq!(focused(&window), "Reason");
    assert!(shows(&window, "thermometer 168.4 \u{b0}F, entered by Robin Vale (invented)"));
    text(&mut window, "read from the wrong thermometer; both were compared");
    command(&mut window, Key::Enter);
    let journal = place.read("2026-03-14.review.jsonl");
    assert!(journal.contains("read from the wrong thermometer"), "{journal}");
    assert!(journal.contains("\"kind\":\"closed\""), "{journal}");
}
