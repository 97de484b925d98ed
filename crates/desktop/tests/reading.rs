//! What a person reads: figures at the crosshair, steps of time, units, the names of everything
//! that can be used, and the list without sight of the plots.

#[expect(dead_code, reason = "its days are samples")]
mod common;

use common::{Setup, Window, busy_day, open, open_sample, sample, settle};
use egui::accesskit::Role;
use egui::{Key, Modifiers};
use egui_kittest::kittest::{NodeT as _, Queryable as _};

type Outcome = Result<(), Box<dyn std::error::Error>>;

const STUCK: &str = "2026-03-04-stuck-valve.csv";

fn seconds(window: &Window) -> i64 {
    window.state().shown().map_or(0, |shown| shown.duration().milliseconds() / 1000)
}

fn readout(window: &Window) -> String {
    window.get_by_label_contains("Plots from ").accesskit_node().label().unwrap_or_default()
}

fn rows(window: &Window) -> Vec<String> {
    window
        .query_all_by(|node| node.role() == Role::Row)
        .filter_map(|node| node.accesskit_node().label())
        .collect()
}

/// The figures after `name ` in a readout.
fn after<'a>(text: &'a str, name: &str) -> &'a str {
    text.split_once(name).map_or("", |(_, rest)| rest.trim_start())
}

#[test]
fn the_crosshair_reads_the_file_digit_by_digit() -> Outcome {
    let mut window = open_sample(STUCK);
    window.key_press(Key::N);
    window.run();
    let text = readout(&window);
    let clock = after(&text, "Sample at ").split(": ").next().unwrap_or("").to_owned();
    assert_eq!(clock.len(), 8, "{text}");
    // The same row of the file, found without the program; its decimals are commas.
    let file = std::fs::read_to_string(sample(STUCK))?;
    let stamp = format!("2026-03-04 {clock};");
    let line = file.lines().find(|line| line.starts_with(&stamp)).ok_or("no such row")?;
    let cells: Vec<String> = line.split(';').map(|cell| cell.replace(',', ".")).collect();
    for (name, column, unit) in [
        ("holding temperature ", 2, "\u{b0}F"),
        ("raw pressure ", 4, "psi"),
        ("pasteurized pressure ", 5, "psi"),
        ("flow ", 6, "gal/min"),
    ] {
        let wanted = format!("{} {unit}", cells[column]);
        assert!(after(&text, name).starts_with(&wanted), "{name}{wanted} is not in {text}");
    }
    assert!(text.contains("FDD forward"), "{text}");
    window.key_press(Key::Period);
    window.run();
    assert_ne!(readout(&window), text, "the next sample is another one");
    window.key_press(Key::Comma);
    window.run();
    assert_eq!(readout(&window), text);
    Ok(())
}

#[test]
fn the_pointer_reads_where_it_is() {
    let mut window = open_sample(STUCK);
    let plots = window.get_by_label_contains("Plots from ").rect();
    window.hover_at(plots.center());
    window.run();
    let middle = readout(&window);
    assert!(middle.contains("Sample at "), "{middle}");
    window.hover_at(plots.center() + egui::vec2(200.0, 0.0));
    window.run();
    assert_ne!(readout(&window), middle);
}

#[test]
fn steps_of_time_are_a_key_each() {
    let mut window = open_sample(STUCK);
    let whole = seconds(&window);
    window.key_press(Key::N);
    window.run();
    let exception = seconds(&window);
    assert!(exception < 180, "{exception}");
    window.key_press(Key::F);
    window.run();
    assert_eq!(seconds(&window), 600, "five minutes to either side");
    window.key_press(Key::S);
    window.run();
    let shift = seconds(&window);
    assert!(shift > 3600 && shift <= whole, "{shift}");
    window.key_press(Key::E);
    window.run();
    assert_eq!(seconds(&window), exception);
    window.key_press(Key::D);
    window.run();
    assert_eq!(seconds(&window), whole);
    let before = window.state().shown();
    window.key_press(Key::Plus);
    window.key_press_modifiers(Modifiers::SHIFT, Key::ArrowRight);
    window.run();
    assert_ne!(window.state().shown(), before);
    window.key_press_modifiers(Modifiers::SHIFT, Key::ArrowLeft);
    window.key_press(Key::Minus);
    window.run();
    assert!((seconds(&window) - whole).abs() <= 1);
}

#[test]
fn units_change_what_is_shown_and_nothing_else() {
    let mut window = open_sample(STUCK);
    window.key_press(Key::N);
    window.run();
    let verdict = window.state().verdict().map(str::to_owned);
    let recorded = rows(&window);
    assert!(recorded.iter().any(|row| row.contains("\u{b0}F")), "{recorded:?}");
    window.key_press_modifiers(Modifiers::ALT, Key::T);
    window.key_press_modifiers(Modifiers::ALT, Key::P);
    window.run();
    let converted = rows(&window);
    assert!(converted.iter().any(|row| row.contains("\u{b0}C")), "{converted:?}");
    assert!(converted.iter().all(|row| !row.contains("\u{b0}F")), "{converted:?}");
    assert!(readout(&window).contains(" kPa"), "{}", readout(&window));
    assert_eq!(window.state().verdict().map(str::to_owned), verdict);
    // Times and volumes are as they were.
    let without_worst = |row: &String| {
        let (before, rest) = row.split_once(", worst against").unwrap_or((row, ""));
        format!("{before}{}", rest.split_once(", passed").map_or("", |(_, after)| after))
    };
    let plain = |rows: &[String]| rows.iter().map(without_worst).collect::<Vec<_>>();
    assert_eq!(plain(&converted), plain(&recorded));
    window.key_press_modifiers(Modifiers::ALT, Key::T);
    window.key_press_modifiers(Modifiers::ALT, Key::P);
    window.run();
    assert_eq!(rows(&window), recorded);
}

/// Ctrl+D opens the demo, J its oldest day, ] leads to the next day, W to its worst minute.
#[test]
fn the_worst_minute_and_its_volume_in_four_keys_from_nothing() {
    let mut window = open(Setup::default());
    let mut keys = 0;
    for (modifiers, key) in [
        (Modifiers::COMMAND, Key::D),
        (Modifiers::NONE, Key::J),
        (Modifiers::NONE, Key::CloseBracket),
        (Modifiers::NONE, Key::W),
    ] {
        window.key_press_modifiers(modifiers, key);
        settle(&mut window);
        keys += 1;
    }
    assert!(keys <= 5);
    window.get_by_label("Measured span");
    window.get_by_label("Passed forward");
    // The pump of the demo plant moves about 50 gal/min.
    let passed = window.query_all_by_label_contains(" gal").filter_map(|node| {
        let node = node.accesskit_node();
        let text = node.value().or_else(|| node.label())?;
        text.strip_suffix(" gal")?.parse::<f64>().ok()
    });
    assert_eq!(passed.filter(|volume| (49.0..51.5).contains(volume)).count(), 1);
    assert_eq!(seconds_measured(&window), Some(60));
}

/// The length of the measured span as the pane says it.
fn seconds_measured(window: &Window) -> Option<u32> {
    ["1 min", "1 min 00 s", "60 s"]
        .into_iter()
        .any(|text| window.query_all_by_label(text).next().is_some())
        .then_some(60)
}

/// The exceptions are told in full by the list: rule, start, durations, worst, volume, product, lot.
#[test]
fn the_list_is_read_without_sight_of_the_plots() {
    let window = open_sample(STUCK);
    let listed = rows(&window);
    assert_eq!(listed.len(), 2, "{listed:?}");
    for row in &listed {
        let rules = analysis::Rule::ALL;
        assert!(rules.iter().any(|rule| row.starts_with(rule.name())), "{row}");
        for part in
            [" at 0", ", at least ", ", estimate ", ", at most ", ", passed ", " gal", ", product "]
        {
            assert!(row.contains(part), "{part} is not in {row}");
        }
    }
    assert!(listed.iter().any(|row| row.contains("worst against limit")), "{listed:?}");
}

/// Every node that can be used has a name, on every screen.
#[test]
fn everything_that_can_be_used_has_a_name() {
    let mut screens: Vec<(&str, Window)> =
        vec![("nothing open", open(Setup::default())), ("day", open_sample(STUCK))];
    let mut chosen = open_sample(STUCK);
    chosen.key_press(Key::W);
    chosen.run();
    screens.push(("worst minute", chosen));
    let mut commands = open_sample(STUCK);
    commands.key_press_modifiers(Modifiers::COMMAND, Key::K);
    commands.run();
    screens.push(("commands", commands));
    let mut observations = open_sample("2026-03-17-dropouts-and-gaps.csv");
    observations.key_press(Key::O);
    observations.run();
    screens.push(("observations", observations));
    let mut unreadable = open_sample(STUCK);
    unreadable.state_mut().open(&[std::path::PathBuf::from("tests/data/letter.csv")]);
    settle(&mut unreadable);
    screens.push(("unreadable file", unreadable));
    for (screen, window) in &screens {
        window.check_accessibility();
        let mut used = 0;
        for node in window.query_all_by(|_| true) {
            let node = node.accesskit_node();
            let usable = matches!(
                node.role(),
                Role::Button
                    | Role::CheckBox
                    | Role::ComboBox
                    | Role::DisclosureTriangle
                    | Role::Link
                    | Role::MenuItem
                    | Role::Row
                    | Role::Slider
                    | Role::Splitter
                    | Role::Tab
                    | Role::TextInput
            );
            if usable {
                used += 1;
                let name = node.label().or_else(|| node.value()).unwrap_or_default();
                assert!(!name.trim().is_empty(), "{screen}: a {:?} has no name", node.role());
            }
        }
        assert!(used >= 4, "{screen}: only {used} usable nodes");
    }
}

/// G folds what belongs together, and a second G shows all of it again.
#[test]
fn episodes_fold_and_unfold() -> Outcome {
    let folder = tempfile::tempdir()?;
    let mut window = open(Setup { paths: vec![busy_day(folder.path())], ..Setup::default() });
    let episodes = |window: &Window, state: &str| {
        window
            .query_all_by(|node| node.role() == Role::DisclosureTriangle)
            .filter_map(|node| node.accesskit_node().label())
            .filter(|label| label.starts_with("Episode ") && label.ends_with(state))
            .count()
    };
    // The worst exception of the day is in an episode; choosing it brings the episode into view.
    window.key_press(Key::W);
    window.run();
    let unfolded = rows(&window);
    assert!(episodes(&window, ", expanded") > 0, "{unfolded:?}");
    window.key_press(Key::G);
    window.run();
    assert!(episodes(&window, ", collapsed") > 0);
    assert_eq!(episodes(&window, ", expanded"), 0);
    window.key_press(Key::G);
    window.run();
    assert_eq!(episodes(&window, ", collapsed"), 0);
    // Unfolded rows are longer than folded ones; bring the episode into view again.
    window.key_press(Key::W);
    window.run();
    assert!(episodes(&window, ", expanded") > 0);
    Ok(())
}
