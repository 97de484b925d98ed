//! What is typed lands where the keyboard was when it was typed, and letters typed beside a field enter
//! nothing, also where a frame takes so long that many keys come at once.

#[expect(dead_code, reason = "a review brings its own record")]
mod common;
#[expect(dead_code, reason = "a part of a round is enough")]
mod round;

use common::{Window, settle};
use egui::{Event, Key, Modifiers};
use egui_kittest::kittest::Queryable as _;
use round::{
    PASSPHRASE, Place, acknowledge, command, fill, focused, press, push, review, settle_next,
    shows, sign, tab_to, text,
};

const JOURNAL: &str = "2026-03-14.review.jsonl";

fn key(key: Key) -> Event {
    let modifiers = Modifiers::NONE;
    Event::Key { key, physical_key: None, pressed: true, repeat: false, modifiers }
}

/// The events of a letter as a window system gives them.
fn letter(character: char) -> Vec<Event> {
    let typed = Event::Text(character.to_string());
    let named = Key::from_name(&character.to_uppercase().to_string());
    let named = if character == ' ' { Some(Key::Space) } else { named };
    named.map(key).into_iter().chain([typed]).collect()
}

/// All of these within one frame.
fn at_once(window: &mut Window, events: impl IntoIterator<Item = Event>) {
    window.input_mut().events.extend(events);
    settle(window);
}

fn typed(words: &str) -> impl Iterator<Item = Event> + '_ {
    words.chars().flat_map(letter)
}

#[test]
fn letters_beside_a_field_enter_nothing() {
    let place = Place::new();
    let mut window = place.with_signers();
    settle_next(&mut window);
    let (journal, settings) = (place.read(JOURNAL), place.read("config/settings.toml"));
    // The list of observations is open, and one of them is marked.
    acknowledge(&mut window);
    tab_to(&mut window, "Undo");
    for words in ["tank sample taken", "unusual", "BAUTPHL"] {
        at_once(&mut window, typed(words));
        for character in words.chars() {
            at_once(&mut window, letter(character));
        }
    }
    assert_eq!(place.read(JOURNAL), journal);
    assert_eq!(place.read("config/settings.toml"), settings);
}

#[test]
fn what_was_entered_is_said_with_what_takes_it_back() {
    let place = Place::new();
    let mut window = place.with_signers();
    assert!(window.query_by_label_contains("1 exception resolved").is_none());
    settle_next(&mut window);
    assert!(shows(&window, "1 exception resolved"));
    push(&mut window, "Undo");
    assert!(shows(&window, "0 of 2 resolved"));
    assert!(window.query_by_label_contains("1 exception resolved").is_none());
    // A field has an undoing of its own.
    settle_next(&mut window);
    press(&mut window, Key::T);
    text(&mut window, "steam");
    command(&mut window, Key::Z);
    assert!(shows(&window, "1 of 2 resolved"));
    settle_next(&mut window);
    for _ in 0..6 {
        acknowledge(&mut window);
    }
    press(&mut window, Key::I);
    text(&mut window, "none");
    press(&mut window, Key::Enter);
    assert!(shows(&window, "Entered: unusual circumstances"));
    sign(&mut window, "anna", PASSPHRASE);
    assert_eq!(review(&window), "reviewed");
    assert!(window.query_by_label_contains("Entered: unusual").is_none());
}

/// Two entries, typed within one slow frame.
#[test]
fn entries_that_are_typed_at_once_are_two() {
    let place = Place::new();
    let plant = place.read("plant.toml");
    let two = "extra = [\"unusual circumstances\", \"cold store at noon\"]";
    place.write("plant.toml", &plant.replace("extra = [\"unusual circumstances\"]", two));
    let mut window = place.with_signers();
    press(&mut window, Key::I);
    assert_eq!(focused(&window), "unusual circumstances");
    let enter = || [key(Key::Enter)];
    at_once(&mut window, typed("none at all").chain(enter()).chain(typed("38 F")).chain(enter()));
    let journal = place.read(JOURNAL);
    for (entry, value) in [("unusual circumstances", "none at all"), ("cold store at noon", "38 F")]
    {
        let line =
            journal.lines().find(|line| line.contains(entry) && line.contains("\"entered\""));
        assert!(line.is_some_and(|line| line.contains(value)), "{entry}: {journal}");
    }
}

/// `T` and what is typed then, within one slow frame.
#[test]
fn what_is_typed_after_a_command_lands_in_the_field_that_it_leads_to() {
    let place = Place::new();
    let mut window = place.with_signers();
    at_once(&mut window, typed("tsteam pressure fell"));
    assert_eq!(focused(&window), "Cause");
    assert!(shows(&window, "steam pressure fell") && !shows(&window, "tsteam"));
    let tab = || [key(Key::Tab)];
    at_once(
        &mut window,
        tab().into_iter().chain(typed("valve freed")).chain(tab()).chain(typed("re-p")),
    );
    assert!(shows(&window, "valve freed") && shows(&window, "re-p"));
    fill(&mut window, "Cause", "sensor taken out");
    assert_eq!(place.read(JOURNAL), "");
}
