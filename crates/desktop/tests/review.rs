//! A record from unread to signed through the window, with the keyboard alone, and what goes wrong
//! on the way.

#[expect(dead_code, reason = "a review brings its own record")]
mod common;

mod round;

use common::{Window, settle};
use egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable as _;
use round::{
    PASSPHRASE, Place, all_but_signing, at_work, command, fill, focused, press, prove, push,
    record, review, settle_next, shows, sign, tab_to, text,
};

type Outcome = Result<(), Box<dyn std::error::Error>>;

/// The links that `holdtrace verify` checks, on what lies in the folder.
fn verified(place: &Place) -> Result<review::Verification, Box<dyn std::error::Error>> {
    let file = place.path("2026-03-14.csv");
    let plant = plant::Plant::read(&place.path("plant.toml"))?;
    let inputs = [ingest::Input::File(file.clone())];
    let read = ingest::read(&inputs, &plant, &ingest::Progress::default())?;
    let case = case::Case::new(read.record, plant, read.observations, read.assumptions);
    let subject = review::Subject::new(&case)?;
    let paths = review::Paths::of(&file, Some(&place.path("plant.toml")));
    let journal = journal::read(&paths.journal)?;
    let books = signers::Books::read(&paths.register);
    let tomorrow = trace::Instant::from_unix_milliseconds(common::MORNING + 86_400_000);
    let of = (&journal, paths.journal.as_path());
    Ok(review::verify(&review::Evidence::new(of, &books, Ok(&subject), None, tomorrow)))
}

#[test]
fn from_unread_to_signed_with_the_keyboard_alone() -> Outcome {
    let place = Place::new();
    let mut window = place.with_signers();
    assert_eq!(review(&window), "unread");
    assert!(shows(&window, "0 of 2 resolved"));
    all_but_signing(&mut window);
    assert!(shows(&window, "2 of 2 resolved"));
    assert!(shows(&window, "1 of 1 entries made"));
    assert_eq!(review(&window), "being reviewed");
    sign(&mut window, "anna", PASSPHRASE);
    assert_eq!(review(&window), "reviewed");
    // The reviewer may not approve; the supervisor may.
    at_work(&mut window, "Ben Example");
    sign(&mut window, "ben", PASSPHRASE);
    assert_eq!(review(&window), "signed");
    drop(window);

    let window = place.open();
    assert_eq!(review(&window), "signed");
    assert!(shows(&window, "Reviewed: the whole record"));
    assert!(shows(&window, "Approved: the whole record"));
    let verification = verified(&place)?;
    let links: Vec<String> = verification.links.iter().map(ToString::to_string).collect();
    assert!(verification.holds(), "{links:#?}");
    // One character of the record changes, and it does not hold.
    let changed = place.read("2026-03-14.csv").replacen("162.4", "162.5", 1);
    place.write("2026-03-14.csv", &changed);
    assert!(!verified(&place)?.holds());
    Ok(())
}

#[test]
fn what_is_typed_outlives_another_exception_the_window_and_a_kill() {
    let place = Place::new();
    let mut window = place.with_signers();
    press(&mut window, Key::T);
    text(&mut window, "steam pressure fell");
    tab_to(&mut window, "Note");
    text(&mut window, "asked the boiler house");
    // Tab led past the buttons; another exception is chosen and the first one again.
    tab_to(&mut window, "Resolve and next");
    press(&mut window, Key::N);
    assert!(!shows(&window, "steam pressure fell"));
    press(&mut window, Key::P);
    assert!(shows(&window, "steam pressure fell") && shows(&window, "asked the boiler house"));
    // Read again with a word that is hardly typed.
    press(&mut window, Key::T);
    window.event(egui::Event::Text(" twice".to_owned()));
    window.step();
    command(&mut window, Key::R);
    press(&mut window, Key::N);
    assert!(shows(&window, "twice"));
    // Killed: nothing is dropped, so nothing is written at the end.
    std::mem::forget(window);
    let mut window = place.open();
    press(&mut window, Key::N);
    assert!(shows(&window, "steam pressure fell") && shows(&window, "asked the boiler house"));
    // Closed in the middle of a word.
    press(&mut window, Key::T);
    window.event(egui::Event::Text(" at once".to_owned()));
    window.step();
    drop(window);
    let mut window = place.open();
    press(&mut window, Key::N);
    assert!(shows(&window, "at once"));
    assert_eq!(place.read("2026-03-14.review.jsonl"), "", "drafts are no entries");
}

#[test]
fn a_supervisor_sends_back_and_the_technician_settles_again() {
    let place = Place::new();
    let mut window = place.with_signers();
    all_but_signing(&mut window);
    sign(&mut window, "anna", PASSPHRASE);
    at_work(&mut window, "Ben Example");
    press(&mut window, Key::N);
    press(&mut window, Key::B);
    assert_eq!(focused(&window), "Comment, to return it");
    text(&mut window, "which valve?");
    push(&mut window, "Return with comment");
    // Only the supervisor can say so.
    assert!(shows(&window, "Comment: which valve?"));
    prove(&mut window, "ben", PASSPHRASE);
    assert_eq!(review(&window), "being reviewed");
    assert!(shows(&window, "1 of 2 resolved") && shows(&window, "which valve?"));
    // Nothing can be signed now, and the dialog says why.
    command(&mut window, Key::S);
    assert!(shows(&window, "1 exception is not resolved"));
    assert!(window.query_by_label("Passphrase").is_none());
    press(&mut window, Key::Escape);
    // What was settled before stands in the form again.
    at_work(&mut window, "Anna Example");
    press(&mut window, Key::T);
    assert!(shows(&window, "valve freed by hand"));
    fill(&mut window, "Note", "steam valve SV-2");
    command(&mut window, Key::Enter);
    assert!(shows(&window, "2 of 2 resolved"));
}

#[test]
fn what_was_decided_last_is_taken_back_until_it_is_signed() {
    let place = Place::new();
    let mut window = place.with_signers();
    settle_next(&mut window);
    settle_next(&mut window);
    assert!(shows(&window, "2 of 2 resolved"));
    // The keyboard has to leave the fields: letters are commands only then.
    tab_to(&mut window, "Undo");
    command(&mut window, Key::Z);
    assert!(shows(&window, "1 of 2 resolved"));
    command(&mut window, Key::Z);
    assert!(shows(&window, "0 of 2 resolved"));
    // What had been filled in is not lost.
    press(&mut window, Key::N);
    assert!(shows(&window, "valve freed by hand"));
    command(&mut window, Key::Z);
    assert!(shows(&window, "There is nothing to undo"));
    assert_eq!(place.read("2026-03-14.review.jsonl").matches("\"withdrawn\"").count(), 2);
}

#[test]
fn a_wrong_passphrase_does_not_sign_and_says_how_long_to_wait() {
    let place = Place::new();
    let mut window = place.with_signers();
    all_but_signing(&mut window);
    let before = place.read("2026-03-14.review.jsonl");
    // Somebody else's identifier is refused before a passphrase is tried.
    sign(&mut window, "ben", PASSPHRASE);
    assert!(shows(&window, "is not the identifier of Anna Example"));
    press(&mut window, Key::Escape);
    sign(&mut window, "anna", "something else entirely");
    assert!(shows(&window, "does not unlock the key; wait 1 s"));
    assert_eq!(review(&window), "being reviewed");
    assert_eq!(place.read("2026-03-14.review.jsonl"), before);
    // The dialog stays, and the right one signs.
    fill(&mut window, "Passphrase", PASSPHRASE);
    press(&mut window, Key::Enter);
    assert_eq!(review(&window), "reviewed");
    // Nothing of a passphrase is left on the screen or in a file.
    assert!(!shows(&window, PASSPHRASE));
    command(&mut window, Key::S);
    assert!(shows(&window, "is signed as reviewed already"));
}

#[test]
fn a_changed_record_is_told_until_the_new_audit_is_entered() {
    let place = Place::new();
    let mut window = place.with_signers();
    all_but_signing(&mut window);
    sign(&mut window, "anna", PASSPHRASE);
    drop(window);
    place.write("2026-03-14.csv", &record(9));
    let mut window = place.open();
    assert_eq!(review(&window), "changed since signing");
    assert!(shows(&window, "This record is not what was reviewed"));
    window.key_press_modifiers(Modifiers::COMMAND.plus(Modifiers::SHIFT), Key::A);
    settle(&mut window);
    assert_eq!(review(&window), "being reviewed");
    assert!(shows(&window, "1 of 2 resolved"), "what is the same stays settled");
    assert!(!shows(&window, "This record is not what was reviewed"));
    assert!(shows(&window, "superseded by line"));
}

#[test]
fn what_is_signed_is_reopened_with_a_reason() {
    let place = Place::new();
    let mut window = place.with_signers();
    all_but_signing(&mut window);
    sign(&mut window, "anna", PASSPHRASE);
    let reopen = Modifiers::COMMAND.plus(Modifiers::SHIFT);
    window.key_press_modifiers(reopen, Key::R);
    settle(&mut window);
    fill(&mut window, "Your identifier", "anna");
    push(&mut window, "Reopen");
    assert!(shows(&window, "reopening needs a reason"));
    press(&mut window, Key::Escape);
    window.key_press_modifiers(reopen, Key::R);
    settle(&mut window);
    assert_eq!(focused(&window), "Reason");
    text(&mut window, "a lot was mixed up");
    prove(&mut window, "anna", PASSPHRASE);
    assert_eq!(review(&window), "being reviewed");
    assert!(shows(&window, "superseded by line"));
}

#[test]
fn a_whole_episode_is_settled_alike() {
    let place = Place::new();
    // Two stretches ten seconds apart are one episode.
    let close = record(7).replace("06:00:45-05:00,forward,162.5", "06:00:45-05:00,forward,159.8");
    place.write("2026-03-14.csv", &close);
    let mut window = place.with_signers();
    assert!(shows(&window, "0 of 3 resolved"));
    press(&mut window, Key::T);
    text(&mut window, "steam valve stuck");
    fill(&mut window, "Corrective action", "valve freed");
    fill(&mut window, "Disposition", "held");
    tab_to(&mut window, "Apply to the other exception in this episode");
    press(&mut window, Key::Space);
    command(&mut window, Key::Enter);
    assert!(shows(&window, "2 of 3 resolved"));
    let journal = place.read("2026-03-14.review.jsonl");
    assert_eq!(journal.matches("\"disposition\":\"held\"").count(), 2);
    // One press takes both back.
    tab_to(&mut window, "Menu");
    command(&mut window, Key::Z);
    assert!(shows(&window, "0 of 3 resolved"));
}

#[test]
fn nobody_at_work_is_asked_who_they_are() {
    let place = Place::new();
    let mut window = place.open();
    press(&mut window, Key::T);
    text(&mut window, "steam valve stuck");
    command(&mut window, Key::Enter);
    assert!(shows(&window, "choose who is at work first"));
    assert_eq!(place.read("2026-03-14.review.jsonl"), "");
    press(&mut window, Key::Escape);
    assert!(shows(&window, "steam valve stuck"), "what was typed is there");
}

#[test]
fn somebody_else_at_work_and_a_damaged_journal_are_told() {
    let place = Place::new();
    let mut window = place.with_signers();
    settle_next(&mut window);
    // A second window on the same record, as on another machine.
    let mut other: Window = place.open();
    settle_next(&mut other);
    assert!(shows(&other, "the record is being reviewed by"));
    assert_eq!(place.read("2026-03-14.review.jsonl").matches("\"settled\"").count(), 1);
    drop(other);
    drop(window);
    let journal = place.read("2026-03-14.review.jsonl");
    place.write("2026-03-14.review.jsonl", &journal.replacen("steam", "Steam", 1));
    let window = place.open();
    assert!(shows(&window, "The review could not be opened"));
    assert!(window.state().verdict().is_some(), "the record can be looked at");
    drop(window);
    place.write("2026-03-14.review.jsonl", &format!("{journal}{{\"at\":\"2026"));
    let window = place.open();
    assert!(shows(&window, " is incomplete: "));
    let torn = format!("{journal}{{\"at\":\"2026");
    assert_eq!(place.read("2026-03-14.review.jsonl"), torn, "looking writes nothing");
    assert!(shows(&window, "1 of 2 resolved"));
}

#[test]
fn a_shift_is_signed_by_itself() {
    let place = Place::new();
    let mut window = place.with_signers();
    settle_next(&mut window);
    settle_next(&mut window);
    // Observations and entries belong to the day: the shift can be signed without them.
    command(&mut window, Key::S);
    assert!(shows(&window, "are not acknowledged"));
    press(&mut window, Key::Escape);
    window.key_press_modifiers(Modifiers::SHIFT, Key::S);
    settle(&mut window);
    sign(&mut window, "anna", PASSPHRASE);
    assert_eq!(review(&window), "being reviewed; reviewed: early");
    // What it covers can't be taken back unseen.
    command(&mut window, Key::Z);
    assert!(shows(&window, "There is nothing to undo"));
    press(&mut window, Key::Escape);
    press(&mut window, Key::N);
    assert!(shows(&window, "It is signed: reopen it to change it."));
}

/// The record before this one ended in forward flow a day earlier, and nothing was recorded between.
#[test]
fn a_hole_before_the_record_is_closed_before_anything_is_signed() {
    let place = Place::new();
    place.write("2026-03-13.csv", &record(7).replace("2026-03-14", "2026-03-13"));
    let mut window = place.with_signers();
    for _ in 0..200 {
        if shows(&window, "Hole before this record") {
            break;
        }
        std::thread::sleep(std::time::Duration::from_millis(20));
        window.step();
    }
    assert!(shows(&window, "Hole before this record") && shows(&window, "end of 2026-03-13.csv"));
    all_but_signing(&mut window);
    command(&mut window, Key::S);
    assert!(shows(&window, "the hole before the record is not closed"));
    press(&mut window, Key::Escape);
    fill(&mut window, "Reason", "the logger was off; the line stood");
    push(&mut window, "Close the hole");
    // What is signed says so.
    command(&mut window, Key::S);
    assert!(shows(&window, "To close in it"));
    assert!(shows(&window, ": the logger was off; the line stood"));
    press(&mut window, Key::Escape);
    sign(&mut window, "anna", PASSPHRASE);
    assert_eq!(review(&window), "reviewed");
    let journal = place.read("2026-03-14.review.jsonl");
    assert_eq!(journal.matches("\"kind\":\"hole_closed\"").count(), 1, "{journal}");
}

/// Where the plant asks for the parts of a corrective action, the form has a field for each and takes no fewer.
#[test]
fn a_corrective_action_is_entered_in_its_four_parts() {
    let place = Place::new();
    let plant = place.read("plant.toml");
    place.write("plant.toml", &format!("{plant}corrective_action_in_parts = true\n"));
    let mut window = place.with_signers();
    press(&mut window, Key::T);
    text(&mut window, "steam valve stuck");
    fill(&mut window, "Corrective action", "valve freed by hand");
    // Since when, by the record, is proposed.
    assert!(shows(&window, ", by the record"));
    fill(&mut window, "Disposition", "destroyed");
    let parts = [
        ("Recurrence prevented by", "the plunger was replaced"),
        ("No unsafe product went out, since", "lot A-01 is destroyed"),
    ];
    for (field, words) in parts {
        command(&mut window, Key::Enter);
        assert!(shows(&window, "0 of 2 resolved"), "without {field}");
        fill(&mut window, field, words);
    }
    command(&mut window, Key::Enter);
    assert!(shows(&window, "1 of 2 resolved"));
    let journal = place.read("2026-03-14.review.jsonl");
    for (_, words) in parts {
        assert!(journal.contains(words), "{words}: {journal}");
    }
}
