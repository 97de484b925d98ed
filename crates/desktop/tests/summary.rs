//! The exception summary through the window: what is shown is what is saved, and that is what the
//! summary of the record and its review is.

#[expect(dead_code, reason = "a review brings its own record")]
mod common;

#[expect(dead_code, reason = "the summary needs a part of a round")]
mod round;

use common::{MORNING, Setup, Window, open, settle};
use egui::Key;
use paper::{Filing, Paper};
use review::Subject;
use round::{
    PASSPHRASE, Place, all_but_signing, command, focused, press, push, shows, sign, tab_to,
};
use std::path::Path;

type Outcome = Result<(), Box<dyn std::error::Error>>;

const PAGE: &str = "First page of the summary";

/// A day after the review.
const NEXT_DAY: i64 = MORNING + 86_400_000;

/// The window with the clock standing still, so that a summary can be made again.
fn still(place: &Place) -> Window {
    let clock = desktop::Clock(|| trace::Instant::from_unix_milliseconds(NEXT_DAY));
    open(Setup { clock, ..place.setup() })
}

/// What `holdtrace report` gives for what lies in the folder.
fn filed<T>(
    place: &Place,
    give: impl FnOnce(&Filing<'_>) -> Result<T, paper::Error>,
) -> Result<T, Box<dyn std::error::Error>> {
    let files = archive::Files::one(place.path("2026-03-14.csv"));
    let case = archive::read(&files, None, &ingest::Progress::default())?;
    let fresh = Subject::new(&case)?;
    let reviewed = archive::read_review(
        (&files.paths(), Some(&place.path("plant.toml"))),
        &fresh,
        None,
        &archive::Trust::new(
            Some(place.path("config")),
            trace::Instant::from_unix_milliseconds(NEXT_DAY),
        ),
    )?;
    Ok(give(&Filing { case: &case, record: "2026-03-14", reviewed: &reviewed, others: None })?)
}

fn csv(filing: &Filing<'_>) -> Result<String, paper::Error> {
    filing.csv()
}

fn json(filing: &Filing<'_>) -> Result<String, paper::Error> {
    filing.json()
}

/// Saves as the button does once a place is chosen.
fn save(window: &mut Window, path: &Path) {
    let context = window.ctx.clone();
    window.state_mut().save_summary(path, &context);
    settle(window);
}

#[test]
fn the_summary_that_is_shown_is_saved() -> Outcome {
    let place = Place::new();
    let mut window = place.with_signers();
    all_but_signing(&mut window);
    sign(&mut window, "anna", PASSPHRASE);
    drop(window);

    let mut window = still(&place);
    command(&mut window, Key::E);
    assert!(shows(&window, "Exception summary") && shows(&window, PAGE));
    assert_eq!(focused(&window), "Save as\u{2026}", "Enter saves");
    let path = place.path("summary.pdf");
    save(&mut window, &path);
    assert!(shows(&window, "Saved as "));
    let saved = std::fs::read(&path)?;
    assert!(saved.starts_with(b"%PDF"));
    let created = trace::Instant::from_unix_milliseconds(NEXT_DAY);
    let made = filed(&place, |filing| filing.pdf(Paper::A4, created, None))?;
    assert!(saved == made, "{} and {} bytes", saved.len(), made.len());

    push(&mut window, "Letter");
    assert!(shows(&window, PAGE) && !shows(&window, "Saved as "));
    save(&mut window, &path);
    let saved = std::fs::read(&path)?;
    let made = filed(&place, |filing| filing.pdf(Paper::Letter, created, None))?;
    assert!(saved == made, "{} and {} bytes", saved.len(), made.len());

    push(&mut window, "CSV");
    assert!(shows(&window, "First of 3 lines of the summary") && !shows(&window, "Letter"));
    let path = place.path("summary.csv");
    save(&mut window, &path);
    let saved = std::fs::read_to_string(&path)?;
    assert_eq!(saved, filed(&place, csv)?);
    assert!(saved.contains("valve freed by hand"), "what was decided is in it: {saved}");

    push(&mut window, "JSON");
    let path = place.path("summary.json");
    save(&mut window, &path);
    let saved = std::fs::read_to_string(&path)?;
    assert_eq!(saved, filed(&place, json)?);
    press(&mut window, Key::Escape);
    assert!(!shows(&window, "Save as\u{2026}"));
    Ok(())
}

#[test]
fn the_summary_never_takes_the_place_of_the_record() {
    let place = Place::new();
    let mut window = place.with_signers();
    round::settle_next(&mut window);
    command(&mut window, Key::E);
    let names = [
        "2026-03-14.csv",
        "plant.toml",
        "2026-03-14.review.jsonl",
        "signers.jsonl",
        "ledger.jsonl",
    ];
    for name in names {
        let before = place.read(name);
        assert!(!before.is_empty(), "{name}");
        save(&mut window, &place.path(name));
        assert!(shows(&window, "can't replace it"), "{name}");
        assert_eq!(place.read(name), before, "{name}");
    }
    save(&mut window, &place.path("not there/summary.pdf"));
    assert!(shows(&window, "can't be written"));
    save(&mut window, &place.path("summary.pdf"));
    assert!(shows(&window, "Saved as "));
}

#[test]
fn a_journal_that_can_not_be_followed_is_told_on_the_summary() {
    let place = Place::new();
    let mut window = place.with_signers();
    round::settle_next(&mut window);
    drop(window);
    let journal = place.read("2026-03-14.review.jsonl");
    place.write("2026-03-14.review.jsonl", &journal.replacen("valve", "Valve", 1));
    let mut window = place.open();
    assert!(shows(&window, "The review could not be opened"));
    command(&mut window, Key::E);
    tab_to(&mut window, "JSON");
    press(&mut window, Key::Enter);
    save(&mut window, &place.path("summary.json"));
    assert!(place.read("summary.json").contains("\"holds\": false"));
}
