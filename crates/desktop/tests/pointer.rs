//! What a hand does with the mouse or on a touch pad, and what it left is found again.

#[expect(dead_code, reason = "its days are samples")]
mod common;

use common::{Setup, Window, busy_day, open, open_sample, sample, settle};
use egui::accesskit::Role;
use egui::{Event, Key, Modifiers, PointerButton, Pos2, Rect, vec2};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use std::path::PathBuf;

type Outcome = Result<(), Box<dyn std::error::Error>>;

const STUCK: &str = "2026-03-04-stuck-valve.csv";

fn shown(window: &Window) -> (i64, i64) {
    window.state().shown().map_or((0, 0), |shown| {
        (shown.start().unix_milliseconds(), shown.end().unix_milliseconds())
    })
}

fn span(window: &Window) -> i64 {
    let (from, to) = shown(window);
    to - from
}

fn plots(window: &Window) -> Rect {
    window.get_by_label_contains("Plots from ").rect()
}

fn overview(window: &Window) -> Rect {
    window.get_by_label_contains("Overview of the whole record").rect()
}

/// Draws from one place to another with a button held down.
fn draw(window: &mut Window, from: Pos2, to: Pos2, button: PointerButton, modifiers: Modifiers) {
    window.event(Event::ModifiersChanged(modifiers));
    window.event(Event::PointerMoved(from));
    window.step();
    window.event(Event::PointerButton { pos: from, button, pressed: true, modifiers });
    window.step();
    for part in 1..=4 {
        window.event(Event::PointerMoved(from.lerp(to, part as f32 / 4.0)));
        window.step();
    }
    window.event(Event::PointerButton { pos: to, button, pressed: false, modifiers });
    window.step();
    window.event(Event::ModifiersChanged(Modifiers::NONE));
    window.run();
}

fn is_near(found: i64, wanted: f64, by: f64) -> bool {
    (found as f64 - wanted).abs() <= by
}

#[test]
fn a_box_zooms_to_what_is_in_it() {
    let mut window = open_sample(STUCK);
    let (area, (from, to)) = (plots(&window), shown(&window));
    let length = (to - from) as f64;
    let at = |share: f32| area.left_center() + vec2(share * area.width(), 0.0);
    draw(&mut window, at(0.25), at(0.5), PointerButton::Primary, Modifiers::NONE);
    let (zoomed_from, zoomed_to) = shown(&window);
    // A pixel of the whole record is some twenty seconds.
    assert!(is_near(zoomed_from - from, 0.25 * length, 60_000.0), "{zoomed_from} {from}");
    assert!(is_near(zoomed_to - from, 0.5 * length, 60_000.0), "{zoomed_to} {from}");
    // The other button moves what is shown and keeps its length.
    draw(&mut window, at(0.3), at(0.5), PointerButton::Secondary, Modifiers::NONE);
    assert!((span(&window) - (zoomed_to - zoomed_from)).abs() < 10);
    let moved = (zoomed_from - shown(&window).0) as f64;
    assert!((moved / (0.2 * 0.25 * length) - 1.0).abs() < 0.05, "{moved}");
}

#[test]
fn two_fingers_zoom_about_their_middle() {
    let mut window = open_sample(STUCK);
    let whole = span(&window);
    let middle = plots(&window).center();
    window.hover_at(middle);
    window.run();
    window.event(Event::Zoom(2.0));
    window.run();
    assert!((span(&window) * 2 - whole).abs() < whole / 50, "{} of {whole}", span(&window));
    window.hover_at(overview(&window).center());
    window.run();
    window.event(Event::Zoom(0.5));
    window.run();
    assert!((span(&window) - whole).abs() < whole / 50, "{} of {whole}", span(&window));
}

#[test]
fn shift_while_drawing_measures() {
    let mut window = open_sample(STUCK);
    let (area, before) = (plots(&window), shown(&window));
    let at = |share: f32| area.left_center() + vec2(share * area.width(), 0.0);
    draw(&mut window, at(0.3), at(0.4), PointerButton::Primary, Modifiers::SHIFT);
    assert_eq!(shown(&window), before, "to measure is not to zoom");
    window.get_by_label("Measured span");
    // Least, greatest and mean of each channel that is recorded, and what passed.
    for channel in
        ["Holding temperature", "Raw pressure", "Pasteurized pressure", "Differential pressure"]
    {
        let wanted = format!("{channel}: lowest ");
        let words = window.get_by_label_contains(&wanted);
        let words = words.accesskit_node().value().unwrap_or_default();
        assert!(words.contains(", highest ") && words.contains(", mean "), "{words}");
    }
    window.get_by_label_contains("Flow: lowest ");
    window.get_by_label("Passed forward");
}

#[test]
fn the_strip_of_the_whole_record_pans_and_zooms() {
    let mut window = open_sample(STUCK);
    let strip = overview(&window);
    let whole = span(&window);
    let at = |share: f32| strip.left_center() + vec2(share * strip.width(), 0.0);
    draw(&mut window, at(0.2), at(0.4), PointerButton::Primary, Modifiers::NONE);
    let (from, to) = shown(&window);
    assert!(is_near(to - from, 0.2 * whole as f64, 90_000.0), "{from} {to}");
    // In the window: it moves. At its edge: it grows.
    draw(&mut window, at(0.3), at(0.5), PointerButton::Primary, Modifiers::NONE);
    let (moved_from, moved_to) = shown(&window);
    assert!((moved_to - moved_from - (to - from)).abs() < 10);
    assert!(is_near(moved_from - from, 0.2 * whole as f64, 180_000.0), "{moved_from} {from}");
    draw(&mut window, at(0.6), at(0.8), PointerButton::Primary, Modifiers::NONE);
    assert!(is_near(span(&window), 0.4 * whole as f64, 180_000.0), "{}", span(&window));
    // The strip itself goes on showing all of it.
    assert_eq!(overview(&window), strip);
}

#[test]
fn a_limit_line_tells_its_source() {
    let mut window = open_sample(STUCK);
    window.key_press(Key::N);
    window.run();
    let area = plots(&window);
    let mut told = false;
    let mut y = area.top();
    while y < area.bottom() && !told {
        window.hover_at(egui::pos2(area.left() + 30.0, y));
        window.run_steps(3);
        // A tooltip waits for the pointer to rest.
        window.run_steps(40);
        told = window.query_all_by_label_contains("21 CFR 1240.61(b)").any(|node| {
            let node = node.accesskit_node();
            let text = node.value().or_else(|| node.label()).unwrap_or_default();
            text.starts_with("Limit for whole milk: 161 \u{b0}F")
        });
        y += 3.0;
    }
    assert!(told, "no place in the plots tells the source of the limit");
}

#[test]
fn a_plot_made_higher_stays_so() -> Outcome {
    let folder = tempfile::tempdir()?;
    let settings = folder.path().join("settings.toml");
    let setup = || Setup {
        paths: vec![sample(STUCK)],
        settings: Some(settings.clone()),
        size: (1440.0, 900.0),
        ..Setup::default()
    };
    let mut window = open(setup());
    let edge = window.get_by_label("Height of Holding tube").rect();
    draw(
        &mut window,
        edge.center(),
        edge.center() + vec2(0.0, 30.0),
        PointerButton::Primary,
        Modifiers::NONE,
    );
    let drawn = window.get_by_label("Height of Holding tube").rect();
    assert!((20.0..40.0).contains(&(drawn.top() - edge.top())), "{drawn:?} {edge:?}");
    // The same with the arrows.
    window.get_by_label("Height of Holding tube").focus();
    window.run();
    window.key_press(Key::ArrowUp);
    window.run();
    let keyed = window.get_by_label("Height of Holding tube").rect();
    assert!((5.0..15.0).contains(&(drawn.top() - keyed.top())), "{keyed:?} {drawn:?}");
    drop(window);
    let again = open(setup());
    let kept = again.get_by_label("Height of Holding tube").rect();
    assert!((kept.top() - keyed.top()).abs() < 1.0, "{kept:?} {keyed:?}");
    Ok(())
}

#[test]
fn a_short_list_leaves_its_room_to_the_plots() -> Outcome {
    let folder = tempfile::tempdir()?;
    let busy = open(Setup { paths: vec![busy_day(folder.path())], ..Setup::default() });
    let mut few = open_sample(STUCK);
    let (long, short) = (plots(&busy).height(), plots(&few).height());
    assert!(short > long + 20.0, "{short} {long}");
    // Every row is there, and another list has its usual room.
    assert_eq!(few.query_all_by(|node| node.role() == Role::Row).count(), 2);
    few.key_press(Key::O);
    few.run();
    assert!(plots(&few).height() < short - 20.0, "{} {short}", plots(&few).height());
    Ok(())
}

#[test]
fn plots_are_folded_by_keys() {
    let mut window = open_sample(STUCK);
    for (key, name) in [(Key::Num1, "Holding tube"), (Key::Num4, "Flow")] {
        window.get_by_label(&format!("Collapse {name}"));
        window.key_press_modifiers(Modifiers::ALT, key);
        window.run();
        window.get_by_label(&format!("Expand {name}"));
        window.key_press_modifiers(Modifiers::ALT, key);
        window.run();
        window.get_by_label(&format!("Collapse {name}"));
    }
}

#[test]
fn what_was_open_last_is_offered_again() -> Outcome {
    let folder = tempfile::tempdir()?;
    let settings = folder.path().join("settings.toml");
    let setup =
        |paths: Vec<PathBuf>| Setup { paths, settings: Some(settings.clone()), ..Setup::default() };
    let (record, away) = (folder.path().join(STUCK), folder.path().join("away"));
    std::fs::copy(sample("plant.toml"), folder.path().join("plant.toml"))?;
    std::fs::copy(sample(STUCK), &record)?;
    drop(open(setup(vec![record.clone()])));
    // What was open last opens by itself.
    let mut window = open(setup(Vec::new()));
    settle(&mut window);
    assert!(window.state().verdict().is_some_and(|text| text.starts_with("2 exceptions")));
    drop(window);
    // What is not there any more is offered, and opens once it is back.
    std::fs::rename(&record, &away)?;
    let mut window = open(setup(Vec::new()));
    window.get_by_label("Recent");
    std::fs::rename(&away, &record)?;
    window.get_by_label(STUCK).click();
    settle(&mut window);
    assert!(window.state().verdict().is_some_and(|text| text.starts_with("2 exceptions")));
    // From the menu, while a day is open, as well.
    window.get_by_label("Menu").click();
    window.run();
    assert!(window.query_all_by_role_and_label(Role::MenuItem, STUCK).next().is_some());
    drop(window);
    // And by a key, from nothing.
    std::fs::rename(&record, &away)?;
    let mut window = open(setup(Vec::new()));
    std::fs::rename(&away, &record)?;
    window.key_press_modifiers(Modifiers::COMMAND, Key::R);
    settle(&mut window);
    assert!(window.state().verdict().is_some_and(|text| text.starts_with("2 exceptions")));
    Ok(())
}

#[test]
fn the_days_of_a_folder_are_a_key_apart() -> Outcome {
    let folder = tempfile::tempdir()?;
    for name in ["2026-03-03-clean.csv", STUCK, "plant.toml"] {
        std::fs::copy(sample(name), folder.path().join(name))?;
    }
    let mut window = open(Setup { paths: vec![folder.path().to_owned()], ..Setup::default() });
    for key in [Key::J, Key::CloseBracket] {
        window.key_press(key);
        settle(&mut window);
    }
    assert!(window.state().verdict().is_some_and(|text| text.starts_with("2 exceptions")));
    window.key_press(Key::OpenBracket);
    settle(&mut window);
    assert!(window.state().verdict().is_some_and(|text| text.starts_with("No exception")));
    Ok(())
}

#[test]
fn the_repeated_hour_is_told_apart_wherever_a_time_stands() {
    let mut window = open_sample("2026-11-01-clock-change.csv");
    let rows: Vec<String> = window
        .query_all_by(|node| node.role() == Role::Row)
        .filter_map(|node| node.accesskit_node().label())
        .collect();
    assert!(rows.iter().any(|row| row.contains(" CDT") || row.contains(" CST")), "{rows:?}");
    window.key_press(Key::N);
    window.run();
    let readout = window.get_by_label_contains("Plots from ");
    let readout = readout.accesskit_node().label().unwrap_or_default();
    assert!(readout.contains(" CDT") || readout.contains(" CST"), "{readout}");
}
