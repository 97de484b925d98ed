//! An observation is shown before it is acknowledged: the plots go there, the pane says why it matters and
//! what to do, and a note can be added.

#[expect(dead_code, reason = "other tests use more of it")]
mod common;
#[expect(dead_code, reason = "other tests use more of it")]
mod round;

use common::{Setup, Window, open, sample, settle};
use egui::accesskit::Role;
use egui::{Key, Modifiers};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use round::{
    Place, acknowledge, at_work, command, enrol, focused, press, record, set_up, settle_next,
    shows, text,
};

fn span(window: &Window) -> i64 {
    window.state().shown().map_or(0, |shown| shown.duration().milliseconds())
}

/// The record of a round, with raw milk that was too warm for half a minute.
fn warm() -> String {
    let rows = record(7);
    let mut lines = rows.lines();
    let heading = format!("{},raw temperature (°F)\n", lines.next().unwrap_or_default());
    let row = |(second, line): (usize, &str)| {
        let is_warm = (100..130).contains(&second);
        format!("{line},{}.{}\n", if is_warm { 43 } else { 38 }, second % 2)
    };
    heading + &lines.enumerate().map(row).collect::<String>()
}

/// The pane's title, which begins with a capital; rows of the list do not.
fn is_chosen(window: &Window, title: &str) -> bool {
    window.query_all_by_label(title).next().is_some()
}

#[test]
fn an_observation_is_shown_noted_and_acknowledged_by_keys() {
    let place = Place::new();
    place.write("2026-03-14.csv", &warm());
    let mut window = place.open();
    set_up(&mut window);
    enrol(&mut window);
    at_work(&mut window, "Anna Example");
    let whole = span(&window);
    assert!(window.query_by_label("Expand Process").is_some(), "folded until it is asked for");

    // Each press shows the next one: nothing is acknowledged that was not on the screen.
    let journal = |place: &Place| place.read("2026-03-14.review.jsonl");
    acknowledge(&mut window);
    assert!(!journal(&place).contains("\"acknowledged\""));
    let mut others = 0;
    while !is_chosen(&window, "Raw milk too warm") {
        acknowledge(&mut window);
        others += 1;
        assert!(others < 12, "it is never shown");
    }
    assert_eq!(journal(&place).matches("\"acknowledged\"").count(), others);
    assert!(!journal(&place).contains("\"observation\":\"raw_too_warm\""));

    // It is in view with room around it, its plot is unfolded, and its span is named above the plots.
    assert!(span(&window) < whole, "{} of {whole}", span(&window));
    assert!(span(&window) > 30_000, "{}", span(&window));
    assert!(window.query_by_label("Collapse Process").is_some());
    let kind = case::observation_kinds().find(|kind| kind.key() == "raw_too_warm");
    let Some(kind) = kind else { panic!("the kind") };
    for words in ["Why it matters", kind.why(), "What to do", kind.what_to_do(), kind.source()] {
        assert!(shows(&window, words), "{words}");
    }

    assert_eq!(focused(&window), "Note, if there is something to say");
    text(&mut window, "reception was late");
    acknowledge(&mut window);
    let line = "\"kind\":\"acknowledged\",\"note\":\"reception was late\",\"observation\":\"raw_too_warm\"";
    let entered = journal(&place);
    assert!(entered.contains(line), "{entered}");

    // Whoever looks at it again reads by whom and with which note; the plot folds back after it.
    press(&mut window, Key::Escape);
    assert!(window.query_by_label("Expand Process").is_some());
    let row = window.get_by_label_contains("raw milk too warm, once");
    row.click();
    settle(&mut window);
    assert!(shows(&window, "reception was late") && shows(&window, "Anna Example (invented), "));

    // The last decision is undone, and a withdrawn note is a draft no more.
    command(&mut window, Key::Z);
    assert!(shows(&window, "To acknowledge"));
    assert!(!shows(&window, "reception was late"));
}

/// Of several of a kind each can be looked at before all are acknowledged.
#[test]
fn those_of_one_kind_are_gone_through_in_the_pane() {
    let mut window =
        open(Setup { paths: vec![sample("2026-03-17-dropouts-and-gaps.csv")], ..Setup::default() });
    press(&mut window, Key::O);
    let row = window.query_all_by(|node| node.role() == Role::DisclosureTriangle).find(|node| {
        let label = node.accesskit_node().label().unwrap_or_default();
        label.contains(" times") && label.ends_with("collapsed")
    });
    let Some(row) = row else { panic!("a kind with several") };
    row.click();
    settle(&mut window);
    let first = window.state().shown();
    assert!(shows(&window, "1 of "));
    window.get_by_label("Next of this kind").click();
    settle(&mut window);
    assert!(shows(&window, "2 of "));
    assert_ne!(window.state().shown(), first, "the plots go there");
    // What is shown is acknowledged by a person alone.
    window.key_press_modifiers(Modifiers { shift: true, ..Modifiers::COMMAND }, Key::Enter);
    settle(&mut window);
    assert!(shows(&window, "Who is at work"));
}

/// A device that diverts in the midst of good milk: nothing in the record shows why, so somebody says it. Keys only.
#[test]
fn a_divert_without_a_cause_is_closed() {
    let place = Place::new();
    let rows = record(7);
    let row = |(second, line): (usize, &str)| match second {
        101..116 => line.replace(",forward,", ",divert,") + "\n",
        _ => format!("{line}\n"),
    };
    place.write("2026-03-14.csv", &rows.lines().enumerate().map(row).collect::<String>());
    let mut window = place.with_signers();
    press(&mut window, Key::Num5);
    assert!(shows(&window, "not in the record"));
    settle_next(&mut window);
    settle_next(&mut window);
    press(&mut window, Key::T);
    assert!(is_chosen(&window, "Divert without a cause in the record"));
    assert_eq!(focused(&window), "Reason");
    // Without a reason nothing is entered.
    command(&mut window, Key::Enter);
    let journal = || place.read("2026-03-14.review.jsonl");
    assert!(!journal().contains("\"kind\":\"closed\""), "{}", journal());
    text(&mut window, "a loose wire at the solenoid, tightened");
    command(&mut window, Key::Enter);
    let line = "\"reason\":\"a loose wire at the solenoid, tightened\"";
    assert!(journal().contains("\"kind\":\"closed\"") && journal().contains(line), "{}", journal());
    press(&mut window, Key::Num5);
    assert!(shows(&window, "a loose wire at the solenoid, tightened"));
}

/// The reason of a divert has room for some words in any window; where there is little, the field has it to itself.
#[test]
fn the_reason_of_a_divert_has_room() {
    for (size, least, has_button) in
        [((1024.0, 700.0), 165.0, false), ((1280.0, 800.0), 250.0, true)]
    {
        let paths = vec![sample("2026-03-04-stuck-valve.csv")];
        let mut window = open(Setup { paths, size, ..Setup::default() });
        window.key_press(Key::Num5);
        settle(&mut window);
        let name = "Reason of the divert at 06:10:35";
        let field = window.get_by_role_and_label(Role::TextInput, name).rect();
        assert!(field.width() >= least, "{size:?}: {field:?}");
        let button = window.query_by_label("Enter: divert 06:10:35");
        assert_eq!(button.is_some(), has_button, "{size:?}");
    }
}
