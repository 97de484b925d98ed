//! The register of a folder of days, driven by the accessible names of what is in it.

#[expect(dead_code, reason = "the register needs a part of it")]
mod common;
#[expect(dead_code, reason = "the register needs a part of a round")]
mod round;

use common::{Setup, Window, open, sample, settle};
use egui::accesskit::Role;
use egui::{Key, Modifiers};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use round::Place;
use std::path::PathBuf;
use std::sync::LazyLock;

type Outcome = Result<(), Box<dyn std::error::Error>>;

/// The names of all buttons of the calendar's dates, in order.
fn dates(window: &Window) -> Vec<String> {
    let buttons = window.query_all_by(|node| node.role() == Role::Button);
    let names = buttons.filter_map(|node| node.accesskit_node().label());
    names.filter(|name| name.starts_with("20")).collect()
}

fn has(window: &Window, text: &str) -> bool {
    window.query_all_by_label_contains(text).next().is_some()
}

/// Waits for what comes by itself.
fn settle_until(window: &mut Window, come: impl Fn(&Window) -> bool) {
    let begin = std::time::Instant::now();
    while !come(window) {
        assert!(begin.elapsed().as_secs() < 40, "it does not come");
        std::thread::sleep(std::time::Duration::from_millis(200));
        window.step();
    }
}

fn register(place: &Place) -> Window {
    open(Setup { paths: vec![place.folder.path().to_owned()], ..place.setup() })
}

#[test]
fn a_folder_opens_on_its_register_and_the_oldest_day_is_a_key_away() -> Outcome {
    let folder = tempfile::tempdir()?;
    for name in [
        "2026-03-03-clean.csv",
        "2026-03-04-stuck-valve.csv",
        "2026-11-01-clock-change.csv",
        "plant.toml",
    ] {
        std::fs::copy(sample(name), folder.path().join(name))?;
    }
    std::fs::write(folder.path().join("2026-03-09.csv"), "no trace\n")?;
    std::fs::write(folder.path().join("notes.csv"), "no trace either\n")?;
    let mut window = open(Setup { paths: vec![folder.path().to_owned()], ..Setup::default() });
    assert_eq!(window.state().verdict(), None);
    window.get_by_label("5 of 5 records to review, 2 overdue");
    // The month of the oldest comes first.
    let found = dates(&window);
    assert_eq!(found.len(), 3, "{found:?}");
    assert_eq!(
        found[1],
        "2026-03-04, HTST-1, unread, 0 of 2 exceptions resolved; 0 of 2 observations closed, T \u{2212}11.5 \u{b0}F, \u{394}P +6.0 psi, \
         overdue 2026-03-13"
    );
    assert!(found[2].contains("can\u{2019}t be read"), "{found:?}");
    assert!(has(&window, "2026-03-05: no record of HTST-1"));
    assert!(!has(&window, "2026-03-09: no record"));
    assert!(has(&window, "notes.csv: "), "what has no date is listed");
    // 11.5 °F apart are 6.4 °C, 6.0 psi are 41.4 kPa (NIST SP 811 (2008), App. B.8, from
    // memory).
    window.key_press_modifiers(Modifiers::ALT, Key::T);
    window.key_press_modifiers(Modifiers::ALT, Key::P);
    settle(&mut window);
    assert!(has(&window, "T \u{2212}6.4 \u{b0}C, \u{394}P +41.4 kPa"), "{:?}", dates(&window));
    // A record that can't be read says why when it is chosen.
    window.get_by_label_contains("2026-03-09, ").click();
    settle(&mut window);
    assert!(has(&window, "2026-03-09.csv could not be read"));
    window.key_press(Key::Escape);
    settle(&mut window);

    window.key_press(Key::J);
    settle(&mut window);
    assert!(window.state().verdict().is_some_and(|text| text.starts_with("No exception")));
    window.key_press(Key::CloseBracket);
    settle(&mut window);
    assert!(window.state().verdict().is_some_and(|text| text.starts_with("2 exceptions")));
    // And back.
    window.key_press(Key::Num0);
    settle(&mut window);
    window.get_by_label("5 of 5 records to review, 2 overdue");
    window.get_by_label_contains("2026-03-04, HTST-1").click();
    settle(&mut window);
    assert!(window.state().verdict().is_some_and(|text| text.starts_with("2 exceptions")));
    Ok(())
}

#[test]
fn months_are_turned_and_a_new_file_appears() {
    let place = Place::new();
    let mut window = register(&place);
    assert_eq!(dates(&window).len(), 1);
    window.key_press(Key::PageDown);
    settle(&mut window);
    assert!(has(&window, "April 2026"));
    assert_eq!(dates(&window).len(), 0);
    window.key_press(Key::PageUp);
    settle(&mut window);
    let other = round::record(7).replace("2026-03-14", "2026-03-16");
    place.write("2026-03-16.csv", &other);
    // Nobody asks for it: the register looks into the folder again after a while.
    settle_until(&mut window, |window| dates(window).len() == 2);
    assert!(has(&window, "2026-03-15: no record of HTST-1"));
}

/// The register and the list of days that are opened by place went apart when as many files came as
/// went: another record was opened than the one that was chosen.
#[test]
fn the_record_that_is_chosen_is_opened_when_files_came_and_went() -> Outcome {
    let place = Place::new();
    let record = |date: &str, seconds: u32| round::record(seconds).replace("2026-03-14", date);
    place.write("2026-03-16.csv", &record("2026-03-16", 0));
    let mut window = register(&place);
    assert_eq!(dates(&window).len(), 2);
    std::fs::remove_file(place.path("2026-03-16.csv"))?;
    place.write("2026-03-12.csv", &record("2026-03-12", 7));
    settle_until(&mut window, |window| has(window, "2026-03-12, HTST-1"));
    window.get_by_label_contains("2026-03-12, HTST-1").click();
    settle(&mut window);
    assert!(has(&window, "2026-03-12"), "the day is the one that was chosen");
    assert!(!has(&window, "2026-03-14"));
    Ok(())
}

/// Once a day is signed the next one is offered, and the key leads there and not back.
#[test]
fn after_a_signature_the_next_day_is_offered() {
    let place = Place::new();
    place.write("2026-03-16.csv", &round::record(3).replace("2026-03-14", "2026-03-16"));
    place.write("2026-03-17.csv", &round::record(4).replace("2026-03-14", "2026-03-17"));
    drop(place.with_signers());
    let mut window = register(&place);
    window.key_press(Key::J);
    settle(&mut window);
    round::at_work(&mut window, "Anna Example");
    round::all_but_signing(&mut window);
    assert!(!has(&window, "Next: "));
    round::sign(&mut window, "anna", round::PASSPHRASE);
    assert!(has(&window, "Next: 16 March, HTST-1 \u{b7} 2 left"));
    window.key_press(Key::J);
    settle(&mut window);
    assert!(has(&window, "2026-03-16") && !has(&window, "Next: "));
}

#[test]
fn what_is_decided_about_a_day_shows_in_its_month() {
    let place = Place::new();
    drop(place.with_signers());
    let mut window = register(&place);
    assert!(dates(&window)[0].contains("unread"), "{:?}", dates(&window));
    window.key_press(Key::J);
    settle(&mut window);
    round::at_work(&mut window, "Anna Example");
    let stage = |window: &mut Window| {
        window.key_press(Key::Num0);
        settle(window);
        let stage = dates(window).first().cloned().unwrap_or_default();
        window.get_by_label_contains("2026-03-14, HTST-1").click();
        settle(window);
        stage
    };
    round::all_but_signing(&mut window);
    let found = stage(&mut window);
    assert!(found.contains("being reviewed") && found.contains("due 2026-03-24"), "{found}");
    round::sign(&mut window, "anna", round::PASSPHRASE);
    let found = stage(&mut window);
    assert!(found.contains("HTST-1, reviewed") && !found.contains("due"), "{found}");
    round::at_work(&mut window, "Ben Example");
    round::sign(&mut window, "ben", round::PASSPHRASE);
    let found = stage(&mut window);
    assert!(found.contains("HTST-1, signed, 2 of 2 exceptions resolved"), "{found}");
    // One byte, anywhere.
    let record = place.read("2026-03-14.csv").replacen("162.4", "162.5", 1);
    place.write("2026-03-14.csv", &record);
    let found = stage(&mut window);
    assert!(found.contains("changed since signing"), "{found}");
}

const RUN_SHEET: &str = "start,end,product,lot,tank,quantity (gal)\n\
                         2026-03-14T06:00:00-05:00,2026-03-14T06:04:00-05:00,milk,A-01,PT-7,200\n";

/// From a cold start to the tank of a lot of which one knows a part, and on to the minute at which it ran: keys only.
#[test]
fn the_tank_of_a_lot_is_found_by_keys() -> Outcome {
    let place = Place::new();
    place.write("2026-03-14.run-sheet.csv", RUN_SHEET);
    let mut window = register(&place);
    window.key_press_modifiers(Modifiers::COMMAND, Key::Num3);
    settle(&mut window);
    round::text(&mut window, "zz");
    settle(&mut window);
    assert!(has(&window, "No lot, product or tank has"));
    for _ in 0..2 {
        window.key_press(Key::Backspace);
    }
    round::text(&mut window, "-0");
    settle(&mut window);
    window.get_by_label_contains("Lot A-01, Product milk, Tank PT-7");
    // From the field over the line of time to the second exception of the list.
    let is_there = |window: &Window| {
        let said = window.query_all_by_role(Role::Row).find(egui_kittest::Node::is_focused);
        said.and_then(|row| row.accesskit_node().label()).is_some_and(|said| {
            said.contains("From 2026-03-14 06:03") && said.contains("What exception: temperature")
        })
    };
    for _ in 0..40 {
        if is_there(&window) {
            break;
        }
        window.key_press(Key::Tab);
        window.run();
    }
    assert!(is_there(&window), "the keyboard reaches the exception");
    window.key_press(Key::Enter);
    settle(&mut window);
    // 06:03:10 to 06:03:14 and no more than a few minutes around it.
    let shown = window.state().shown().ok_or("a part of the day is in view")?;
    let at = trace::Instant::from_unix_milliseconds(1_773_486_192_000);
    assert!(
        shown.contains(at) && shown.duration() < trace::Duration::from_seconds(200),
        "{shown:?}"
    );
    Ok(())
}

#[test]
fn a_lot_is_traced_and_a_range_is_summed_up_and_saved() -> Outcome {
    let place = Place::new();
    place.write("2026-03-16.csv", &round::record(7).replace("2026-03-14", "2026-03-16"));
    let mut window = register(&place);
    window.key_press_modifiers(Modifiers::COMMAND, Key::Num3);
    settle(&mut window);
    round::text(&mut window, "-01");
    settle(&mut window);
    // The only lot of which that is a part, with its runs and exceptions on one line of time.
    assert!(has(&window, "Lot A-01"));
    assert_eq!(
        window.query_all_by_label_contains("What exception: temperature").count(),
        8,
        "in line and list"
    );
    assert_eq!(window.query_all_by_label_contains("Record 2026-03-16").count(), 6);

    window.key_press_modifiers(Modifiers::COMMAND, Key::Num4);
    settle(&mut window);
    round::text(&mut window, "2026-03-15");
    assert!(has(&window, "1 day with a record, forward flow on 1"));
    window.get_by_label_contains("2 temperature");
    let path = place.path("range.csv");
    window.state_mut().save_range(desktop::RangeFormat::Exceptions, path.clone());
    settle(&mut window);
    let saved = std::fs::read_to_string(&path)?;
    assert_eq!(saved.lines().count(), 3, "{saved}");
    assert!(saved.lines().nth(1).is_some_and(|line| line.starts_with("2026-03-16,")), "{saved}");
    assert!(has(&window, "Saved as "));
    // The first is on A4, ISO 216 in points; the other 8.5 in wide.
    for (paper, wide) in [("A4", "/MediaBox[0 0 595.27"), ("Letter", "/MediaBox[0 0 612 792]")] {
        window.get_by_label(paper).click();
        settle(&mut window);
        let path = place.path(&format!("range-{paper}.pdf"));
        window.state_mut().save_range(desktop::RangeFormat::Pdf, path.clone());
        settle(&mut window);
        let saved = std::fs::read(&path)?;
        let holds = |words: &str| saved.windows(words.len()).any(|some| some == words.as_bytes());
        assert!(saved.starts_with(b"%PDF") && holds(wide), "{paper}");
    }
    // A folder that is not there, and a date that is none.
    let path = place.path("nowhere/range.json");
    window.state_mut().save_range(desktop::RangeFormat::Json, path);
    settle(&mut window);
    assert!(has(&window, "The summary was not saved"));
    window.key_press_modifiers(Modifiers::COMMAND, Key::Num4);
    settle(&mut window);
    round::text(&mut window, "x");
    assert!(has(&window, "is not a date such as 2026-03-04"));

    window.key_press_modifiers(Modifiers::COMMAND, Key::Num2);
    settle(&mut window);
    assert!(has(&window, "Lowest differential margin, HTST-1: Too few records for a trend (2"));
    Ok(())
}

/// Where the dialog for a file saves.
static SAVED: LazyLock<PathBuf> = LazyLock::new(|| {
    let name = format!("holdtrace-quarter-{}.pdf", std::process::id());
    std::env::temp_dir().join(name)
});

/// `Tab` until something has the keyboard, and `Enter`; how many keys that takes.
fn push(window: &mut Window, name: &str) -> usize {
    let mut keys = 1;
    while round::focused(window) != name {
        assert!(keys < 20, "Tab does not lead to {name}");
        window.key_press(Key::Tab);
        window.run();
        keys += 1;
    }
    window.key_press(Key::Enter);
    settle(window);
    keys
}

/// From a cold start, the keys are counted; those of an approval and of 200 exceptions that are alike are in
/// `work.rs` and `many.rs`.
#[test]
fn the_worst_minute_of_yesterday_is_two_keys_away() {
    let place = Place::new();
    let mut window = register(&place);
    round::press(&mut window, Key::J);
    round::press(&mut window, Key::W);
    assert!(has(&window, "Measured span") && has(&window, "Passed forward"));
}

#[test]
fn the_last_quarter_is_saved_with_eleven_keys() -> Outcome {
    let place = Place::new();
    let date = "2025-12-03";
    place.write(&format!("{date}.csv"), &round::record(7).replace("2026-03-14", date));
    let paths = vec![place.folder.path().to_owned()];
    let chooser = desktop::Chooser(|_| vec![SAVED.clone()]);
    let mut window = open(Setup { paths, chooser, ..place.setup() });
    round::command(&mut window, Key::Num4);
    let keys = 1 + push(&mut window, "Last quarter");
    assert!(has(&window, "1 day with a record, forward flow on 1"));
    let keys = keys + push(&mut window, "Save as PDF");
    settle_until(&mut window, |window| has(window, "Saved as "));
    let saved = std::fs::read(&*SAVED)?;
    std::fs::remove_file(&*SAVED)?;
    assert!(saved.starts_with(b"%PDF"));
    assert_eq!(keys, 11);
    Ok(())
}

#[test]
fn a_folder_without_a_record_says_so() -> Outcome {
    let folder = tempfile::tempdir()?;
    let mut window = open(Setup { paths: vec![folder.path().to_owned()], ..Setup::default() });
    assert!(has(&window, "It has no logger file"));
    let gone: PathBuf = folder.path().join("gone");
    std::fs::create_dir(&gone)?;
    window.state_mut().open(std::slice::from_ref(&gone));
    settle(&mut window);
    window.key_press(Key::Num0);
    settle(&mut window);
    assert!(has(&window, "could not be scanned"));
    Ok(())
}
