//! Two days side by side, by the keyboard alone.

#[expect(dead_code, reason = "its days are samples")]
mod common;
#[expect(dead_code, reason = "a part of a round is enough")]
mod round;

use common::{Setup, Window, open, settle};
use egui::{Key, Modifiers};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use round::{Place, focused, press, shows, tab_to, text};
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::Path;

type Outcome = Result<(), Box<dyn std::error::Error>>;

/// The name of the one thing on the screen whose name begins so.
fn named(window: &Window, begins: &str) -> String {
    let names = window.query_all_by(|_| true).filter_map(|node| node.accesskit_node().label());
    let mut found: Vec<String> = names.filter(|name| name.starts_with(begins)).collect();
    found.dedup();
    assert_eq!(found.len(), 1, "{begins}: {found:?}");
    found.remove(0)
}

/// Whether both days are on the screen, under that heading.
fn compares(window: &Window, heading: &str) -> bool {
    window.state().verdict().is_none() && shows(window, heading)
}

/// Every file of a folder with its bytes.
fn bytes(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let files = std::fs::read_dir(folder).into_iter().flatten().flatten();
    let files = files.filter(|file| file.path().is_file());
    files
        .map(|file| {
            let name = file.file_name().to_string_lossy().into_owned();
            (name, std::fs::read(file.path()).unwrap_or_default())
        })
        .collect()
}

/// The demo plant's week: on the 10th a valve sticks, on the 15th nothing is made.
fn week(folder: &Path) -> Outcome {
    for (name, bytes) in simulate::week::week()?.files()? {
        let path = folder.join(name);
        // The truth of a day is no record.
        if path.parent() == Some(folder) {
            std::fs::write(path, bytes)?;
        }
    }
    Ok(())
}

#[test]
fn from_the_day_log_to_two_days_and_back() -> Outcome {
    for size in [(1280.0, 800.0), (1024.0, 700.0)] {
        let folder = tempfile::tempdir()?;
        week(folder.path())?;
        let before = bytes(folder.path());
        let paths = vec![folder.path().to_owned()];
        let mut window = open(Setup { paths, size, ..Setup::default() });
        tab_to(&mut window, "2026-03-11, HTST-1");
        // Three keys: the day with the keyboard, the first that is offered.
        press(&mut window, Key::C);
        assert!(shows(&window, "Product: whole milk."));
        assert_eq!(focused(&window), "Find a day");
        let first = named(&window, "2026-03-10, HTST-1");
        assert_eq!(first, "2026-03-10, HTST-1 \u{b7} water, whole milk \u{b7} 1 exception");
        assert!(named(&window, "2026-03-15, ").ends_with(", not this product"));
        press(&mut window, Key::Enter);
        assert!(compares(&window, "2026-03-11 beside 2026-03-10: whole milk"));

        // The figures of both, of the product and not of the day: its start, and an exception of the 10th.
        assert_eq!(
            named(&window, "2026-03-11: Start"),
            "2026-03-11: Start 05:15:00, Forward for 1 h 22 min, Forward 4,103 gal, \
             Lowest temperature 163.2 \u{b0}F, T over limit +2.2 \u{b0}F, \u{394}P over limit +6.3 psi, \
             Exceptions 0, Diverts 1"
        );
        assert_eq!(
            named(&window, "2026-03-10: Start"),
            "2026-03-10: Start 05:15:00, Forward for 1 h 25 min, Forward 4,250 gal, \
             Lowest temperature 150.4 \u{b0}F, T over limit \u{2212}10.6 \u{b0}F, \
             \u{394}P over limit +6.2 psi, Exceptions 1, Diverts 0"
        );
        // In the other units too.
        window.key_press_modifiers(Modifiers::ALT, Key::T);
        settle(&mut window);
        assert!(shows(&window, "Lowest temperature 72.89 \u{b0}C"));
        window.key_press_modifiers(Modifiers::ALT, Key::T);
        settle(&mut window);

        // All that writes is out of reach.
        for (modifiers, key) in [
            (Modifiers::COMMAND, Key::Enter),
            (Modifiers::COMMAND | Modifiers::SHIFT, Key::Enter),
            (Modifiers::COMMAND, Key::S),
            (Modifiers::COMMAND, Key::Z),
            (Modifiers::NONE, Key::N),
        ] {
            window.key_press_modifiers(modifiers, key);
            settle(&mut window);
            assert!(compares(&window, "2026-03-11 beside 2026-03-10"), "{key:?}");
        }

        // Another day, found by a part of its date.
        press(&mut window, Key::C);
        text(&mut window, "03-13");
        press(&mut window, Key::Enter);
        assert!(compares(&window, "2026-03-11 beside 2026-03-13: whole milk"));

        // One on which nothing went forward says so, and has no figures.
        press(&mut window, Key::C);
        text(&mut window, "03-15");
        press(&mut window, Key::Enter);
        assert!(shows(
            &window,
            "2026-03-15: no forward flow of whole milk, so there is nothing to align."
        ));
        assert!(named(&window, "2026-03-15: Start").starts_with("2026-03-15: Start \u{2013}, "));

        press(&mut window, Key::Escape);
        assert!(window.state().verdict().is_some(), "back on the day");
        assert_eq!(bytes(folder.path()), before, "nothing was written");
        press(&mut window, Key::Num0);
        assert!(shows(&window, "records to review"));
    }
    Ok(())
}

/// A record at a step of so many seconds from an hour on, its first minute diverted; invented.
fn every(step: u32, date: &str, hour: u32) -> String {
    let mut text =
        "time,valve,holding temperature (°F),raw pressure (psi),pasteurized pressure (psi)\n"
            .to_owned();
    for row in 0..1800 / step {
        let second = row * step;
        let valve = if second < 60 { "divert" } else { "forward" };
        let (minute, rest) = (second / 60, second % 60);
        // None of the readings stands still.
        let digit = row % 3;
        // Writing to a string can't fail.
        writeln!(
            text,
            "{date}T{hour:02}:{minute:02}:{rest:02}-05:00,{valve},16{}.{digit},10.{digit},14.{digit}",
            2 + step % 7,
        )
        .unwrap_or_default();
    }
    text
}

/// Loggers of two steps, and days of two hours, one before the clocks changed: both are counted from their own start. Opened without a
/// day log, the other records of the folder are listed by name.
#[test]
fn a_fast_and_a_slow_logger_are_aligned_by_their_starts() {
    let place = Place::new();
    place.write("2026-03-14.csv", &every(1, "2026-03-14", 6));
    place.write("2026-03-07.csv", &every(10, "2026-03-07", 9));
    place.write("notes.csv", "no trace\n");
    let mut window = open(Setup { size: (1280.0, 800.0), ..place.setup() });
    press(&mut window, Key::C);
    assert!(shows(&window, "Product: no product named."));
    // The latest name is first, and is none that can be read: the dialog stays and says why.
    press(&mut window, Key::Enter);
    assert!(shows(&window, "notes.csv could not be read: "));
    text(&mut window, "03-07");
    press(&mut window, Key::Enter);
    assert!(compares(&window, "2026-03-14 beside 2026-03-07: no product named"));
    assert!(
        named(&window, "2026-03-14: Start")
            .starts_with("2026-03-14: Start 06:01:00, Forward for 28 min")
    );
    assert!(
        named(&window, "2026-03-07: Start")
            .starts_with("2026-03-07: Start 08:01:00, Forward for 28 min")
    );

    // Five minutes on both sides of a moment, then sample by sample of either day.
    press(&mut window, Key::F);
    let plots = |window: &Window| named(window, "Plots of two days");
    press(&mut window, Key::Period);
    let first = plots(&window);
    let clock = |text: &str, date: &str| {
        let (_, own) = text.split_once(date).unwrap_or_default();
        let (_, at) = own.split_once("sample at ").unwrap_or_default();
        at.chars().take(8).collect::<String>()
    };
    press(&mut window, Key::Period);
    let second = plots(&window);
    let (one, other) = (clock(&first, "2026-03-14"), clock(&second, "2026-03-14"));
    assert_ne!(one, other, "the fast one goes on: {first} {second}");
    // Two hours apart on the clock, which was put forward in between, to the step of the slow one.
    let seconds = |clock: &str| {
        let parts = clock.split(':').map(|part| part.parse::<i64>().unwrap_or(-1));
        parts.fold(0, |sum, part| sum * 60 + part)
    };
    for text in [&first, &second] {
        let apart = seconds(&clock(text, "2026-03-07")) - seconds(&clock(text, "2026-03-14"));
        assert!((apart - 2 * 3600).abs() <= 5, "{text}");
    }
    // Both whole records, diverted minute before the start included.
    press(&mut window, Key::D);
    assert!(
        plots(&window).starts_with("Plots of two days from \u{2212}0:01:00 to 0:28:59"),
        "{}",
        plots(&window)
    );
    press(&mut window, Key::Escape);
    assert!(window.state().verdict().is_some());
}

/// The menu and the search know it, and without a day it says what to do.
#[test]
fn the_command_is_found_and_has_its_help() -> Outcome {
    let mut window = open(Setup::default());
    press(&mut window, Key::C);
    assert!(shows(&window, "Open a day, or a folder of days, first."));

    let folder = tempfile::tempdir()?;
    week(folder.path())?;
    let mut window =
        open(Setup { paths: vec![folder.path().join("2026-03-09.csv")], ..Setup::default() });
    round::command(&mut window, Key::K);
    text(&mut window, "side by side");
    press(&mut window, Key::Enter);
    assert!(shows(&window, "Compare with another day"));
    press(&mut window, Key::F1);
    assert!(shows(&window, "Help: compare with another day"));
    press(&mut window, Key::Escape);
    text(&mut window, "03-14");
    press(&mut window, Key::Enter);
    assert!(compares(&window, "2026-03-09 beside 2026-03-14: whole milk"));
    // By another product of either day: only the 9th has cream.
    window.key_press_modifiers(Modifiers::SHIFT, Key::P);
    settle(&mut window);
    assert!(compares(&window, "2026-03-09 beside 2026-03-14: cream, 36 %"));
    assert!(shows(&window, "2026-03-14: no forward flow of cream, 36 %"));
    press(&mut window, Key::F1);
    for words in
        ["Help: two days side by side", "The other day: a thin line", "Next product: Shift+P"]
    {
        assert!(shows(&window, words), "{words}");
    }
    press(&mut window, Key::Escape);
    assert!(compares(&window, "2026-03-09 beside 2026-03-14"), "the help was closed, not the days");
    // What leads elsewhere leaves them.
    round::command(&mut window, Key::Comma);
    assert!(shows(&window, "plant.toml: no changes"));
    Ok(())
}
