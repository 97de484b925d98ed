//! What only a person can say of a logger's files is answered on the page that sets them up, by keyboard and
//! by click; then the day is seen, the plant file saved, and the next files of that shape open without a question.

#[expect(dead_code, reason = "its own files are invented here")]
mod common;

mod asked;

use asked::{press, says, type_into};
use common::{Setup, Window, open, settle};
use egui::Key;
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

type Outcome = Result<(), Box<dyn std::error::Error>>;

const COLUMNS: &str = "FDV,Hold Temp (\u{b0}F),Raw (psi),Past (psi)";

/// Ten minutes of forward flow, each row with a stamp of some kind in front. Invented.
fn day(head: &str, stamp: impl Fn(u32) -> String) -> String {
    let mut text = format!("{head},{COLUMNS}\n");
    for second in 0..600 {
        let tenth = second % 7;
        // Writing to a string can't fail.
        writeln!(text, "{},FWD,163.{tenth},20.{tenth},27.{tenth}", stamp(second))
            .unwrap_or_default();
    }
    text
}

fn clock(second: u32) -> String {
    format!("04:{:02}:{:02}", second / 60, second % 60)
}

fn set_up(paths: &[PathBuf]) -> Window {
    open(Setup { paths: paths.to_vec(), ..Setup::default() })
}

fn write(folder: &Path, name: &str, text: &str) -> std::io::Result<PathBuf> {
    let path = folder.join(name);
    std::fs::write(&path, text)?;
    Ok(path)
}

/// The name of what has the keyboard.
fn focused(window: &Window) -> String {
    let found = window.query_all_by(|_| true).find(egui_kittest::Node::is_focused);
    found.and_then(|node| node.accesskit_node().label()).unwrap_or_default()
}

/// Goes on with `Tab` until a name has the keyboard.
fn tab_to(window: &mut Window, name: &str) {
    for _ in 0..150 {
        if focused(window) == name {
            return;
        }
        window.key_press(Key::Tab);
        settle(window);
    }
    panic!("Tab does not lead to {name}; it is on {:?}", focused(window));
}

/// Answers without a pointer.
fn answer(window: &mut Window, name: &str) {
    tab_to(window, name);
    window.key_press(Key::Space);
    settle(window);
}

/// Fills a field in without a pointer.
fn fill(window: &mut Window, name: &str, text: &str) {
    tab_to(window, name);
    window.event(egui::Event::Text(text.to_owned()));
    settle(window);
}

/// Says the names by keyboard, saves with the shortcut, and sees the day.
fn name_and_save(window: &mut Window) {
    fill(window, "The plant's name", "Example Dairy (invented)");
    fill(window, "The pasteurizer's name", "HTST-1");
    fill(window, "Time zone of the logger's clock", "America/Chicago");
    assert!(says(window, "can be read"), "nothing is left to be said");
    window.key_press_modifiers(egui::Modifiers::COMMAND.plus(egui::Modifiers::SHIFT), Key::S);
    settle(window);
    assert!(is_clean(window), "{:?}", window.state().verdict());
}

fn is_clean(window: &Window) -> bool {
    window.state().verdict().is_some_and(|verdict| verdict.starts_with("No exception"))
}

#[test]
fn the_zone_is_chosen_from_what_is_offered() -> Outcome {
    let folder = tempfile::tempdir()?;
    let rows = |date: &'static str| day("Time", move |second| format!("{date} {}", clock(second)));
    let path = write(folder.path(), "2026-03-04.csv", &rows("2026-03-04"))?;
    let mut window = set_up(&[path]);
    assert!(says(&window, "UTC+00:00"));
    fill(&mut window, "The plant's name", "Example Dairy (invented)");
    fill(&mut window, "The pasteurizer's name", "HTST-1");
    fill(&mut window, "Time zone of the logger's clock", "chic");
    window.key_press(Key::ArrowDown);
    window.key_press(Key::Enter);
    settle(&mut window);
    assert!(says(&window, "4 March 2026, 04:00:00, UTC-06:00"));
    // A click takes another that is offered.
    tab_to(&mut window, "Time zone of the logger's clock");
    for _ in 0.."America/Chicago".len() {
        window.key_press(Key::Backspace);
    }
    type_into(&mut window, "Time zone of the logger's clock", "new york");
    window.get_by_label("America/New_York").click();
    settle(&mut window);
    assert!(says(&window, "4 March 2026, 04:00:00, UTC-05:00"));
    press(&mut window, "Save the plant file, open the day");
    assert!(is_clean(&window));
    let next = write(folder.path(), "2026-03-05.csv", &rows("2026-03-05"))?;
    assert!(is_clean(&set_up(&[next])));
    Ok(())
}

#[test]
fn rows_of_what_changed_are_read_so_once_somebody_says_it() -> Outcome {
    let folder = tempfile::tempdir()?;
    let rows = |date: &str| {
        let mut text = format!("Time,{COLUMNS}\n");
        for second in 0..600 {
            let rest = if second % 20 == 0 { "FWD,163.4,20.3,27.1" } else { ",163.5,," };
            writeln!(text, "{date} {},{rest}", clock(second)).unwrap_or_default();
        }
        text
    };
    let path = write(folder.path(), "2026-03-04.csv", &rows("2026-03-04"))?;
    let mut window = set_up(&[path]);
    assert!(says(&window, "Does the system write only what has changed?"));
    press(&mut window, "each row has all readings");
    assert!(says(&window, "is read as 4 March 2026"));
    answer(&mut window, "only what changed");
    assert!(says(&window, "The day is shown here when the questions"));
    fill(&mut window, "Longest time a reading is valid", "1 min");
    assert!(says(&window, "No exception in"));
    name_and_save(&mut window);
    let next = write(folder.path(), "2026-03-05.csv", &rows("2026-03-05"))?;
    assert!(is_clean(&set_up(&[next])));
    Ok(())
}

#[test]
fn the_epoch_of_a_count_of_days_is_said() -> Outcome {
    let folder = tempfile::tempdir()?;
    let rows = |from: f64| {
        day("Time", move |second| format!("{:.7}", from + f64::from(second) / 86_400.0))
    };
    let path = write(folder.path(), "first.csv", &rows(46_085.25))?;
    let mut window = set_up(&[path]);
    assert!(says(&window, "counts days. From which year?"));
    press(&mut window, "from 1904");
    assert!(says(&window, "is read as 5 March 2030, 06:00:00"));
    answer(&mut window, "from 1900");
    assert!(says(&window, "is read as 4 March 2026, 06:00:00"));
    name_and_save(&mut window);
    let next = write(folder.path(), "next.csv", &rows(46_086.25))?;
    assert!(is_clean(&set_up(&[next])));
    Ok(())
}

#[test]
fn a_time_since_a_start_needs_its_unit_and_its_start() -> Outcome {
    let folder = tempfile::tempdir()?;
    let rows = |date: &str| {
        let head = format!("Logger 7,{date} 04:00:00\nPrinted,{date} 09:00:00\n\nElapsed");
        day(&head, |second| (second * 1000).to_string())
    };
    let path = write(folder.path(), "first.csv", &rows("2026-03-04"))?;
    let mut window = set_up(&[path]);
    assert!(says(&window, "In which unit does \"Elapsed\" count from its start?"));
    assert!(says(&window, "From which start does \"Elapsed\" count?"));
    answer(&mut window, "ms: 9 min 59 s");
    press(&mut window, "Logger 7, 2026-03-04 04:00:00");
    assert!(says(&window, "The first stamp, 0 on line 5, is read as 4 March 2026, 04:00:00"));
    name_and_save(&mut window);
    let next = write(folder.path(), "next.csv", &rows("2026-03-05"))?;
    assert!(is_clean(&set_up(&[next])));
    Ok(())
}

/// Nothing rises without a name that says so and is a time.
#[test]
fn a_column_that_rises_is_a_time_where_a_person_says_it() -> Outcome {
    let folder = tempfile::tempdir()?;
    let rows = day("Start: 2026-03-04 04:00:00\n\nNo", |second| second.to_string());
    let path = write(folder.path(), "first.csv", &rows)?;
    let mut window = set_up(&[path]);
    answer(&mut window, "time: No");
    press(&mut window, "s: 9 min 59 s");
    assert!(says(&window, "The first stamp, 0 on line 4, is read as 4 March 2026, 04:00:00"));
    Ok(())
}

#[test]
fn a_day_of_the_year_is_one_where_a_person_says_it() -> Outcome {
    let folder = tempfile::tempdir()?;
    let rows = |day_of_year: u32| {
        day("Year,Day,Time", move |second| format!("2026,{day_of_year},{}", clock(second)))
    };
    let path = write(folder.path(), "first.csv", &rows(12))?;
    let mut window = set_up(&[path]);
    assert!(says(&window, "Is \"Day\" the day of the year? The file is then of 12 January 2026."));
    answer(&mut window, "It is the day of the year");
    assert!(says(
        &window,
        "The first stamp, 2026 12 04:00:00 on line 2, is read as 12 January 2026"
    ));
    name_and_save(&mut window);
    let next = write(folder.path(), "next.csv", &rows(13))?;
    assert!(is_clean(&set_up(&[next])));
    Ok(())
}

#[test]
fn files_of_two_loggers_become_one_record() -> Outcome {
    let folder = tempfile::tempdir()?;
    let files = |date: &str| -> std::io::Result<[PathBuf; 2]> {
        let mut controller = "Time,FDV,Hold Temp (\u{b0}F)\n".to_owned();
        let mut pressures = "Stamp;Raw (psi);Past (psi)\n".to_owned();
        for second in 0..600 {
            let tenth = second % 7;
            writeln!(controller, "{date} {},FWD,163.{tenth}", clock(second)).unwrap_or_default();
            if second % 2 == 0 {
                writeln!(pressures, "{date} {};20,{tenth};27,{tenth}", clock(second))
                    .unwrap_or_default();
            }
        }
        Ok([
            write(folder.path(), &format!("{date}-controller.csv"), &controller)?,
            write(folder.path(), &format!("{date}-pressures.csv"), &pressures)?,
        ])
    };
    let mut window = set_up(&files("2026-03-04")?);
    assert!(says(&window, "Several loggers"));
    assert!(says(&window, "pressures: Raw (psi): raw pressure"));
    assert!(says(&window, "It has the position of the flow diversion device"));
    assert!(says(&window, "The day is shown here when the questions"));
    fill(&mut window, "Largest distance of a reading of pressures from its row", "2 s");
    assert!(says(
        &window,
        "The first stamp, 2026-03-04 04:00:00 on line 2, is read as 4 March 2026"
    ));
    name_and_save(&mut window);
    // The file of the leading logger brings the other.
    let [controller, _] = files("2026-03-05")?;
    let window = set_up(&[controller]);
    assert!(is_clean(&window), "{:?}", window.state().verdict());
    Ok(())
}
