//! What a person does with the window, by keys and by the accessible names of its parts.

#[expect(dead_code, reason = "its days are samples")]
mod common;

use common::{Setup, Window, busy_day, open, open_sample, sample, settle};
use egui::accesskit::Role;
use egui::{Key, Modifiers};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
#[cfg(unix)]
use std::io::Write as _;
use std::path::PathBuf;

type Outcome = Result<(), Box<dyn std::error::Error>>;

const STUCK: &str = "2026-03-04-stuck-valve.csv";

fn verdict(window: &Window) -> &str {
    window.state().verdict().unwrap_or("")
}

fn rows(window: &Window) -> Vec<String> {
    window
        .query_all_by(|node| node.role() == Role::Row)
        .filter_map(|node| node.accesskit_node().label())
        .collect()
}

fn span(window: &Window) -> i64 {
    window.state().shown().map_or(0, |shown| shown.duration().milliseconds())
}

#[test]
fn two_clicks_lead_from_nothing_to_the_verdict_on_the_demo() {
    let mut window = open(Setup::default());
    assert_eq!(window.state().verdict(), None);
    window.get_by_label("Open the demo").click();
    settle(&mut window);
    window.get_by_label("Open 3 March, HTST-1, to review").click();
    settle(&mut window);
    assert!(verdict(&window).starts_with("No exception in 4 h 47 min of forward flow"));
    window.get_by_label(verdict(&window));
    // The next days are a key away.
    window.key_press(Key::CloseBracket);
    settle(&mut window);
    assert!(verdict(&window).starts_with("2 exceptions in "), "{}", verdict(&window));
    window.key_press(Key::OpenBracket);
    settle(&mut window);
    assert!(verdict(&window).starts_with("No exception"));
}

#[test]
fn choosing_an_exception_zooms_to_it_and_explains_it() {
    let mut window = open_sample(STUCK);
    let listed = rows(&window);
    assert_eq!(listed.len(), 2, "{listed:?}");
    // The figures are those of sample-runs/truth, within a sample.
    let first = "temperature at 07:10:22.6, at least 37 s, estimate 38.38 s, at most 39 s";
    assert!(listed[0].starts_with(first), "{listed:?}");
    window.get_by_label_contains(first).click();
    window.run();
    let shown = window.state().shown();
    assert!(shown.is_some_and(|shown| shown.duration().milliseconds() < 180_000), "{shown:?}");
    window.get_by_label_contains("below the minimum pasteurization temperature");
    window.get_by_label_contains("21 CFR 1240.61(b)");
    window.key_press(Key::D);
    window.run();
    assert!(span(&window) > 5 * 3_600_000);
}

#[test]
fn the_worst_minute_and_its_product_are_one_key_away() {
    let mut window = open_sample(STUCK);
    window.key_press(Key::W);
    window.run();
    window.get_by_label("Measured span");
    window.get_by_label("Passed forward");
    // A minute at about 50 gal/min.
    assert!(window.query_all_by_label_contains(" gal").any(|node| {
        let text = node.accesskit_node().value().or_else(|| node.accesskit_node().label());
        text.and_then(|text| text.strip_suffix(" gal")?.parse::<f64>().ok())
            .is_some_and(|volume| (49.0..51.5).contains(&volume))
    }));
}

#[test]
fn time_is_zoomed_by_keys_and_the_wheel() {
    let mut window = open_sample(STUCK);
    let whole = span(&window);
    window.key_press(Key::Plus);
    window.run();
    assert!((span(&window) * 2 - whole).abs() < 10, "{}", span(&window));
    window.key_press(Key::Minus);
    window.key_press(Key::F);
    window.run();
    assert_eq!(span(&window), 600_000);
    window.hover_at(egui::pos2(500.0, 400.0));
    window.event(egui::Event::MouseWheel {
        unit: egui::MouseWheelUnit::Line,
        delta: egui::vec2(0.0, 3.0),
        phase: egui::TouchPhase::Move,
        source: egui::MouseWheelSource::Wheel,
        modifiers: Modifiers::NONE,
    });
    window.run_steps(12);
    assert!(span(&window) < 600_000, "{}", span(&window));
}

#[test]
fn the_list_is_filtered_sorted_and_folded() -> Outcome {
    let folder = tempfile::tempdir()?;
    let mut window = open(Setup { paths: vec![busy_day(folder.path())], ..Setup::default() });
    let all = rows(&window).len();
    assert!(all > 3);
    window.get_by_label("Filter exceptions").focus();
    window.run();
    window.get_by_label("Filter exceptions").type_text("b-07 differential");
    window.run();
    let listed = rows(&window);
    assert!(!listed.is_empty() && listed.len() <= all, "{listed:?}");
    assert!(listed.iter().all(|row| row.starts_with("differential") && row.contains("B-07")));
    // While one types, letters are no commands.
    assert!(span(&window) > 7 * 3_600_000);
    window.get_by_label("Filter exceptions").type_text(" nowhere");
    window.run();
    assert!(rows(&window).is_empty());
    window.get_by_label("Show all").click();
    window.run();
    window.get_by_label("Sort by estimate").click();
    window.run();
    let longest = rows(&window);
    assert!(longest[0].contains("not verifiable"), "{longest:?}");
    window.get_by_label_contains("temperature 1").click();
    window.run();
    assert!(rows(&window).iter().all(|row| !row.starts_with("temperature")));
    Ok(())
}

#[test]
fn a_span_is_measured_by_keys() {
    let mut window = open_sample(STUCK);
    window.key_press(Key::N);
    window.run();
    window.key_press(Key::M);
    window.run();
    for _ in 0..30 {
        window.key_press(Key::Period);
    }
    window.run();
    window.key_press(Key::M);
    window.run();
    window.get_by_label("Measured span");
    window.get_by_label("30 s");
    window.get_by_label("Clear the measured span").click();
    window.run();
    assert!(window.query_by_label("Measured span").is_none());
}

#[test]
fn every_command_is_found_in_the_list_of_commands() {
    let mut window = open_sample(STUCK);
    window.key_press_modifiers(Modifiers::COMMAND, Key::K);
    window.run();
    for command in desktop::Command::ALL {
        if command != desktop::Command::CommandList {
            let named = |node: &egui_kittest::Node<'_>| {
                node.accesskit_node().label().as_deref() == Some(command.title())
            };
            let mut items = window.query_all_by(|node| node.role() == Role::MenuItem);
            // Those below the edge of the scrolled list are there as well.
            assert!(items.any(|node| named(&node)), "{}", command.title());
        }
    }
    window.get_by_label("Search commands").type_text("exception next");
    settle(&mut window);
    window.key_press(Key::Enter);
    settle(&mut window);
    assert!(window.query_by_label("Search commands").is_none());
    window.get_by_label_contains("product went forward below");
}

#[test]
fn an_unreadable_file_leaves_the_old_one_and_says_why() {
    let mut window = open_sample(STUCK);
    let before = verdict(&window).to_owned();
    window.state_mut().open(&[PathBuf::from("tests/data/letter.csv")]);
    settle(&mut window);
    assert_eq!(verdict(&window), before);
    window.get_by_label("letter.csv could not be read");
    window.get_by_role(Role::Alert);
    window.run_steps(50);
    window.get_by_label("Copy").click();
    // The command stands in the output of the frame that the click falls into.
    let mut copied = None;
    for _ in 0..4 {
        window.step();
        let commands = &window.output().platform_output.commands;
        copied = copied.or_else(|| {
            commands.iter().find_map(|command| match command {
                egui::OutputCommand::CopyText(text) => Some(text.clone()),
                _ => None,
            })
        });
    }
    let copied = copied.unwrap_or_default();
    assert!(copied.contains("tests/data/letter.csv"), "{copied:?}");
    window.key_press(Key::Escape);
    window.run();
    assert!(window.query_by_label("letter.csv could not be read").is_none());
    assert_eq!(verdict(&window), before);
}

#[test]
fn a_second_file_waits_its_turn() -> Outcome {
    let folder = tempfile::tempdir()?;
    let busy = busy_day(folder.path());
    let mut window = open(Setup::default());
    window.state_mut().open(&[busy]);
    window.state_mut().open(&[sample(STUCK)]);
    settle(&mut window);
    assert!(verdict(&window).starts_with("2 exceptions"), "the last one that was opened is shown");
    Ok(())
}

/// The file is so long that the click does not come too late.
#[test]
fn reading_can_be_stopped() -> Outcome {
    let folder = tempfile::tempdir()?;
    let text = std::fs::read(busy_day(folder.path()))?;
    let long = folder.path().join("long.csv");
    let mut to = std::fs::File::create(&long)?;
    for _ in 0..100 {
        to.write_all(&text)?;
    }
    drop(to);
    let mut window = open_sample(STUCK);
    window.state_mut().open(&[long]);
    window.step();
    window.get_by_label("Cancel reading").click();
    settle(&mut window);
    assert!(verdict(&window).starts_with("2 exceptions"));
    assert!(window.query_by_role(Role::Alert).is_none(), "to stop is no error");
    Ok(())
}

#[test]
fn what_is_set_up_is_remembered() -> Outcome {
    let folder = tempfile::tempdir()?;
    let settings = folder.path().join("settings.toml");
    let setup = || Setup {
        paths: vec![sample(STUCK)],
        settings: Some(settings.clone()),
        ..Setup::default()
    };
    let mut window = open(setup());
    window.get_by_label("°F").click();
    window.run();
    window.get_by_label("Collapse Regenerator").click();
    window.run();
    window.get_by_label("Move down: Holding tube").click();
    window.run();
    drop(window);
    let window = open(setup());
    window.get_by_label("°C");
    window.get_by_label("Expand Regenerator");
    let height = |name: &str| window.get_by_label(name).rect().top();
    assert!(height("Collapse Holding tube") > height("Collapse Differential"));
    let text = std::fs::read_to_string(&settings)?;
    assert!(text.contains("version = 1") && text.contains("celsius"), "{text}");
    Ok(())
}

#[test]
fn a_broken_settings_file_is_told() -> Outcome {
    let folder = tempfile::tempdir()?;
    let settings = folder.path().join("settings.toml");
    std::fs::write(&settings, "version = \"one\"")?;
    let window = open(Setup { settings: Some(settings), ..Setup::default() });
    window.get_by_label("The settings could not be used");
    Ok(())
}

#[test]
fn the_readout_tells_raw_samples_with_their_validity() {
    let mut window = open_sample("2026-03-17-dropouts-and-gaps.csv");
    window.key_press(Key::N);
    window.run();
    let plots = window.get_by_label_contains("Plots from ");
    let text = plots.accesskit_node().label().unwrap_or_default();
    assert!(text.contains("FDD forward"), "{text}");
    assert!(text.contains("not a number") || text.contains("blank"), "{text}");
}

#[test]
fn the_tree_names_the_parts_and_the_keyboard_reaches_the_list() {
    let mut window = open_sample(STUCK);
    window.check_accessibility();
    window.get_by_role_and_label(Role::Table, "Exceptions");
    window.get_by_label_contains("Overview of the whole record");
    let mut reached = false;
    for _ in 0..80 {
        window.key_press(Key::Tab);
        window.step();
        let row = window
            .query_all_by(|node| node.role() == Role::Row)
            .find(egui_kittest::Node::is_focused);
        if row.is_some() {
            reached = true;
            break;
        }
    }
    assert!(reached, "Tab leads to a row of the list");
    window.key_press(Key::Enter);
    window.run();
    window.get_by_label_contains("product went forward below");
}

#[test]
fn observations_have_a_list_of_their_own() {
    let mut window = open_sample("2026-03-17-dropouts-and-gaps.csv");
    window.key_press(Key::O);
    window.run();
    let kinds = window
        .query_all_by(|node| node.role() == Role::DisclosureTriangle)
        .filter_map(|node| node.accesskit_node().label())
        .filter(|label| label.ends_with(", collapsed"))
        .count();
    assert!(kinds > 0);
    let first = window.query_all_by(|node| node.role() == Role::DisclosureTriangle).find(|node| {
        node.accesskit_node().label().is_some_and(|label| label.ends_with(", collapsed"))
    });
    if let Some(first) = first {
        first.click();
    }
    window.run();
    assert!(!rows(&window).is_empty());
}

/// The logger goes on writing while one looks: what is read again is shown as it was.
#[test]
fn what_is_read_again_keeps_its_place() -> Outcome {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("day.csv");
    let whole = std::fs::read_to_string(sample(STUCK))?;
    std::fs::copy(sample("plant.toml"), folder.path().join("plant.toml"))?;
    // The file ends within a row, after both exceptions.
    let cut = whole.len() * 3 / 4;
    let cut = (cut..whole.len()).find(|&cut| whole.is_char_boundary(cut)).unwrap_or(cut);
    std::fs::write(&path, &whole[..cut])?;
    let mut window = open(Setup { paths: vec![path.clone()], ..Setup::default() });
    let chosen = |window: &Window| {
        window
            .query_all_by(|node| {
                node.role() == Role::Row && node.toggled() == Some(egui::accesskit::Toggled::True)
            })
            .filter_map(|node| node.accesskit_node().label())
            .collect::<Vec<_>>()
    };
    window.key_press(Key::N);
    window.run();
    window.key_press(Key::Plus);
    window.run();
    let (before, shown, row) =
        (verdict(&window).to_owned(), window.state().shown(), chosen(&window));
    assert_eq!(row.len(), 1, "{row:?}");
    std::fs::write(&path, &whole)?;
    window.key_press_modifiers(Modifiers::COMMAND, Key::R);
    settle(&mut window);
    assert_ne!(verdict(&window), before, "more of the day was read");
    assert_eq!(window.state().shown(), shown);
    assert_eq!(chosen(&window), row);
    // Another day begins as a whole.
    window.state_mut().open(&[sample("2026-03-03-clean.csv")]);
    settle(&mut window);
    assert!(span(&window) > 3_600_000);
    Ok(())
}
