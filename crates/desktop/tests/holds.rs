//! Product on hold through the window: put on hold with a tag, signed, listed in the register, ended
//! by the supervisor with a laboratory's result.

#[expect(dead_code, reason = "a review brings its own record")]
mod common;

#[expect(dead_code, reason = "this is one part of a round")]
mod round;

use common::{Setup, Window, open, settle};
use egui::Key;
use egui_kittest::kittest::Queryable as _;
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

/// The window has looked at the folder.
fn until_shown(window: &mut Window, words: &str) {
    let begin = std::time::Instant::now();
    while !shows(window, words) {
        assert!(begin.elapsed().as_secs() < 40, "{words} does not come");
        std::thread::sleep(std::time::Duration::from_millis(20));
        settle(window);
    }
}

/// Whoever decides about product sees with the exception what else is in its tank: from the day before, and until it
/// was emptied on the day after; the paper that the window saves has the same.
#[test]
fn the_tank_of_an_exception_over_the_days() {
    let place = Place::new();
    let head = "start,end,product,lot,tank,quantity (gal),emptied\n";
    let own = "2026-03-14 06:00,2026-03-14 06:04,milk,A-01,T4,200,\n";
    place.write("2026-03-14.run-sheet.csv", &format!("{head}{own}"));
    let mut window = place.open();
    press(&mut window, Key::N);
    until_shown(&mut window, "There is no other record in the folder");
    assert!(shows(&window, "Tank T4: lot A-01; when it was emptied is in no run sheet"));
    drop(window);

    for (date, sheet) in [
        ("2026-03-13", "2026-03-13 06:00,2026-03-13 06:03,milk,Z-99,Tank T4,,\n"),
        ("2026-03-15", "2026-03-15 06:00,2026-03-15 06:02,milk,B-02,T4,80,2026-03-15 07:30\n"),
    ] {
        place.write(&format!("{date}.csv"), &round::record(7).replace("2026-03-14", date));
        place.write(&format!("{date}.run-sheet.csv"), &format!("{head}{sheet}"));
    }
    let folder = vec![place.folder.path().to_owned()];
    let mut window = open(Setup { paths: folder, ..place.setup() });
    window.get_by_label_contains("2026-03-14, HTST-1").click();
    settle(&mut window);
    press(&mut window, Key::N);
    until_shown(&mut window, "By the run sheets of the 3 records in the folder");
    let whole = "Tank T4: lots Z-99, A-01, B-02; emptied 2026-03-15 07:30; what was in it before is in no run sheet.";
    assert!(shows(&window, whole));
    assert!(shows(&window, "What went into tank T4"));
    for run in [
        "2026-03-13 06:00 to 06:03, HTST-1, 2026-03-13.csv",
        "2026-03-14 06:00 to 06:04, HTST-1, this record",
        "milk, lot B-02, 80 gal stated",
    ] {
        assert!(shows(&window, run), "{run}");
    }
    command(&mut window, Key::E);
    settle(&mut window);
    push(&mut window, "JSON");
    settle(&mut window);
    let (saved, context) = (place.path("saved.json"), window.ctx.clone());
    window.state_mut().save_summary(&saved, &context);
    settle(&mut window);
    let saved = place.read("saved.json");
    assert!(saved.contains("\"records_looked_at\": 3") && saved.contains("Z-99"), "{saved}");
}

/// What is on hold is a key away in the day log, and leads to its record.
#[test]
fn the_page_of_what_is_on_hold_leads_to_the_record() {
    let place = Place::new();
    let mut window = place.with_signers();
    hold_next(&mut window);
    command(&mut window, Key::Enter);
    assert!(shows(&window, "1 on hold"));
    drop(window);
    let folder = vec![place.folder.path().to_owned()];
    let mut window = open(Setup { paths: folder, ..place.setup() });
    command(&mut window, Key::Num5);
    assert!(shows(&window, "1 hold is open. A supervisor ends it in the review of its record."));
    let row = window.query_all_by_label_contains("2026-03-14-H1").next();
    row.unwrap_or_else(|| panic!("the hold is listed")).click();
    settle(&mut window);
    assert!(window.state().verdict().is_some_and(|verdict| verdict.contains("2 exceptions")));
}
