//! The help of every screen: what to do next, its signs with their meaning, its keys, and its figures, by
//! the keyboard alone.

#[expect(dead_code, reason = "its days are samples")]
mod common;

use common::{Setup, Window, open, open_sample, sample, settle, tags};
use egui::{Event, Key, Modifiers};
use egui_kittest::kittest::{NodeT as _, Queryable as _};

const STUCK: &str = "2026-03-04-stuck-valve.csv";

type Outcome = Result<(), Box<dyn std::error::Error>>;

fn press(window: &mut Window, key: Key) {
    window.key_press(key);
    settle(window);
}

fn command(window: &mut Window, key: Key) {
    window.key_press_modifiers(Modifiers::COMMAND, key);
    settle(window);
}

/// Everything that is said on the screen.
fn said(window: &Window) -> Vec<String> {
    let node = |node: egui_kittest::Node<'_>| {
        let node = node.accesskit_node();
        node.label().or_else(|| node.value())
    };
    window.query_all_by(|_| true).filter_map(node).collect()
}

fn says(window: &Window, words: &str) -> bool {
    said(window).iter().any(|one| one.contains(words))
}

/// Asks for help, and closes it again.
fn help(window: &mut Window, name: &str, words: &[&str]) {
    press(window, Key::F1);
    assert!(says(window, &format!("Help: {name}")), "{name}: {:?}", said(window));
    for word in ["What to do next"].iter().chain(words) {
        assert!(says(window, word), "{name} does not say {word:?}");
    }
    press(window, Key::Escape);
    assert!(!says(window, "Help: "), "{name} closes");
}

#[test]
fn every_screen_has_its_help() -> Outcome {
    let mut window = open(Setup::default());
    help(&mut window, "start", &["Open the folder", "Open files: Ctrl+O"]);

    let mut window = open(Setup { paths: vec![sample("")], ..Setup::default() });
    let stage = "The review is: changed since signing.";
    help(&mut window, "day log", &[stage, "Next on the work list: J"]);
    for (key, name) in [
        (Key::Num2, "trends"),
        (Key::Num3, "trace a lot"),
        (Key::Num4, "range summary"),
        (Key::Num5, "product on hold"),
        (Key::Num6, "work list"),
    ] {
        command(&mut window, key);
        help(&mut window, name, &["Next month: Page down"]);
    }

    let mut window = open_sample(STUCK);
    help(&mut window, "exceptions", &["Resolve each exception", "0 of 2 done"]);
    for (key, name) in [
        (Key::O, "observations"),
        (Key::Num1, "process over the run"),
        (Key::Num2, "runs and lots"),
        (Key::Num3, "instruments"),
        (Key::Num4, "required entries"),
        (Key::Num5, "diverts"),
        (Key::Num6, "cleanings"),
    ] {
        press(&mut window, key);
        help(&mut window, name, &["Worst minute: W", "Signs", "A limit, with its figure"]);
    }
    command(&mut window, Key::Comma);
    help(&mut window, "the plant file", &["Save the plant file: Ctrl+Shift+S"]);

    let folder = tempfile::tempdir()?;
    let paths = vec![tags(folder.path(), "2026-03-14")];
    let mut window = open(Setup { paths, ..Setup::default() });
    help(&mut window, "set up how files are read", &["Answer the questions"]);

    let config = Some(folder.path().join("config"));
    let mut window = open(Setup { paths: vec![sample(STUCK)], config, ..Setup::default() });
    command(&mut window, Key::U);
    help(&mut window, "people and keys", &["A passphrase unlocks a key"]);
    Ok(())
}

/// The signs are those of the rules, with what each asks, why, and its source.
#[test]
fn what_is_chosen_and_every_rule_explain_themselves() {
    let mut window = open_sample(STUCK);
    press(&mut window, Key::N);
    press(&mut window, Key::F1);
    for rule in analysis::Rule::ALL {
        let of = rule.definition();
        for words in [of.asks, of.why, of.source] {
            assert!(says(&window, words), "{rule:?}: {words}");
        }
    }
    let chosen = analysis::Rule::TEMPERATURE.definition();
    assert!(says(&window, chosen.what_to_do));
    // The figures of the pane and of the list.
    assert!(says(&window, "Figures on this screen"));
    assert!(says(&window, "It lasted at least that long."));
    press(&mut window, Key::F1);
    assert!(!says(&window, "Help: "), "the key that opens it closes it");
}

/// The question mark asks for help, but not while a text is typed.
#[test]
fn the_question_mark_asks_and_is_text_in_a_field() {
    let mut window = open_sample(STUCK);
    window.key_press_modifiers(Modifiers::SHIFT, Key::Questionmark);
    settle(&mut window);
    assert!(says(&window, "Help: exceptions"));
    press(&mut window, Key::Escape);
    command(&mut window, Key::F);
    window.key_press_modifiers(Modifiers::SHIFT, Key::Questionmark);
    window.event(Event::Text("?".to_owned()));
    settle(&mut window);
    assert!(!says(&window, "Help: "));
    // F1 is no text, and the field has the keyboard again after it.
    press(&mut window, Key::F1);
    assert!(says(&window, "Help: "));
    press(&mut window, Key::F1);
    let focused = window.query_all_by(|_| true).find(egui_kittest::Node::is_focused);
    let name = focused.and_then(|node| node.accesskit_node().label());
    assert_eq!(name.as_deref(), Some("Filter exceptions"));
}

#[test]
fn help_is_found_by_the_words_that_people_use() {
    let mut window = open_sample(STUCK);
    command(&mut window, Key::K);
    window.get_by_label("Search commands").type_text("legend");
    window.run();
    press(&mut window, Key::Enter);
    assert!(says(&window, "Help: exceptions"));
}

/// The menu stands in the window as a whole, nothing of it below its edge.
#[test]
fn the_menu_fits_into_a_low_window() {
    for size in [(1024.0, 700.0), (1280.0, 800.0)] {
        let mut window = open(Setup { paths: vec![sample(STUCK)], size, ..Setup::default() });
        window.get_by_label("Menu").click();
        settle(&mut window);
        for command in desktop::Command::ALL {
            let items = window
                .query_all_by_role_and_label(egui::accesskit::Role::MenuItem, command.title());
            let rect = items.map(|item| item.rect()).next();
            let Some(rect) = rect else { panic!("{} is in the menu", command.title()) };
            assert!(
                rect.bottom() <= size.1 && rect.right() <= size.0,
                "{}: {rect:?}",
                command.title()
            );
        }
    }
}
