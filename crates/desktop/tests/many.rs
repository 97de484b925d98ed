//! A day of two hundred exceptions that are alike: chosen together, resolved by one form, each in a line of
//! its own with its own quantity and lot. Keys and clicks are counted.

#[expect(dead_code, reason = "a review brings its own record")]
mod common;
#[expect(dead_code, reason = "a part of a round is enough")]
mod round;

use common::{Window, settle};
use egui::accesskit::{Role, Toggled};
use egui::{Event, Key, Modifiers};
use egui_kittest::kittest::Queryable as _;
use round::{Place, focused, review, shows};
use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::time::{Duration, Instant};

const JOURNAL: &str = "2026-03-14.review.jsonl";

/// The cold stretches of the day; each is an exception of its own, and an episode.
const COUNT: usize = 200;

/// Four hours at 1 Hz with two hundred cold stretches of four to eight samples, one in 71 s; two lots.
fn day() -> String {
    let mut text =
        "time,valve,holding temperature (°F),raw pressure (psi),pasteurized pressure (psi),lot\n"
            .to_owned();
    for second in 0..71 * COUNT {
        let cold = (30..34 + (second / 71) % 5).contains(&(second % 71));
        let raw = if second % 2 == 0 { "10.0" } else { "10.1" };
        let temperature = match (cold, second % 2) {
            (true, _) => "159.8",
            (false, 0) => "162.4",
            (false, _) => "162.5",
        };
        let lot = if second < 71 * COUNT / 2 { "A-01" } else { "B-07" };
        let (hour, minute, rest) = (6 + second / 3600, second / 60 % 60, second % 60);
        // Writing to a string can't fail.
        writeln!(
            text,
            "2026-03-14T{hour:02}:{minute:02}:{rest:02}-05:00,forward,{temperature},{raw},14.{},{lot}",
            second % 2
        )
        .unwrap_or_default();
    }
    text
}

fn place() -> (Place, Window) {
    let place = Place::new();
    place.write("2026-03-14.csv", &day());
    let mut window = place.with_signers();
    window.set_size(egui::vec2(1280.0, 800.0));
    settle(&mut window);
    assert!(shows(&window, "0 of 200 resolved"));
    (place, window)
}

/// Somebody at the keyboard and the mouse, whose presses are counted.
struct Hands<'a> {
    window: &'a mut Window,
    keys: usize,
    clicks: usize,
}

impl<'a> Hands<'a> {
    const fn of(window: &'a mut Window) -> Self {
        Self { window, keys: 0, clicks: 0 }
    }

    fn press(&mut self, key: Key, modifiers: Modifiers) {
        self.keys += 1;
        self.window.key_press_modifiers(modifiers, key);
        settle(self.window);
    }

    fn key(&mut self, key: Key) {
        self.press(key, Modifiers::NONE);
    }

    fn text(&mut self, text: &str) {
        self.keys += text.chars().count();
        self.window.event(Event::Text(text.to_owned()));
        settle(self.window);
    }

    fn click(&mut self, row: &str, modifiers: Modifiers) {
        self.clicks += 1;
        self.window.get_by_label_contains(row).click_modifiers(modifiers);
        settle(self.window);
    }

    /// The form, filled in with words that the plant file offers.
    fn form(&mut self) {
        self.key(Key::T);
        assert_eq!(focused(self.window), "Cause");
        self.key(Key::ArrowDown);
        self.key(Key::Enter);
        self.key(Key::Tab);
        self.key(Key::ArrowDown);
        self.key(Key::Enter);
        self.key(Key::Tab);
        self.text("re-p");
        self.key(Key::ArrowDown);
        self.key(Key::Enter);
    }
}

/// The lines of the journal that resolve an exception.
fn settled(place: &Place) -> Vec<journal::Line> {
    let reading = journal::read(&place.path(JOURNAL));
    let reading = reading.unwrap_or_else(|error| panic!("{error}"));
    assert!(reading.fault.is_none(), "{:?}", reading.fault);
    let mut lines = reading.lines;
    lines.retain(|line| said(line, "kind") == "settled");
    lines
}

/// What a line says under a name.
fn said<'a>(line: &'a journal::Line, name: &str) -> &'a str {
    line.body().get(name).and_then(|value| value.as_str()).unwrap_or_default()
}

/// The exceptions that the list shows as chosen.
fn chosen(window: &Window) -> usize {
    let rows = window
        .query_all_by(|node| node.role() == Role::Row && node.toggled() == Some(Toggled::True));
    rows.count()
}

#[test]
fn two_hundred_alike_are_resolved_with_fifteen_keys_each_in_its_own_line() {
    let (place, mut window) = place();
    let mut hands = Hands::of(&mut window);
    hands.press(Key::A, Modifiers::COMMAND);
    assert!(shows(hands.window, "200 exceptions selected"));
    hands.form();
    // Each stands in the list with its own before anything is entered.
    let first = "Rule temperature, Start 06:00:29, Quantity 4.2 gal, Lot A-01";
    assert!(shows(hands.window, first));
    assert_eq!(place.read(JOURNAL), "");
    let begun = Instant::now();
    hands.press(Key::Enter, Modifiers::COMMAND);
    let took = begun.elapsed();
    assert!(shows(hands.window, "200 of 200 resolved"));
    assert_eq!((hands.keys, hands.clicks), (15, 0));
    assert!(took < Duration::from_secs(20), "{took:?}");

    let lines = settled(&place);
    assert_eq!(lines.len(), COUNT);
    let of = |name: &str| -> BTreeSet<String> {
        lines.iter().map(|line| said(line, name).to_owned()).collect()
    };
    assert_eq!(of("exception").len(), COUNT, "each by itself");
    assert_eq!(of("lot"), ["A-01", "B-07"].map(str::to_owned).into());
    assert_eq!(of("quantity").len(), 5, "{:?}", of("quantity"));
    assert_eq!(of("cause"), ["steam valve stuck".to_owned()].into());
    let sequences = lines.iter().map(journal::Line::sequence);
    assert_eq!(sequences.collect::<Vec<_>>(), (2..=COUNT as u64 + 1).collect::<Vec<_>>());

    // One key takes all of them back, and what was typed is there again.
    assert!(shows(&window, "200 exceptions resolved"));
    let mut hands = Hands::of(&mut window);
    hands.press(Key::Z, Modifiers::COMMAND);
    assert!(shows(hands.window, "0 of 200 resolved"));
    hands.press(Key::A, Modifiers::COMMAND);
    assert!(shows(hands.window, "Everything is filled in"));
    hands.press(Key::Enter, Modifiers::COMMAND);
    assert!(shows(hands.window, "200 of 200 resolved"));
    assert_eq!(review(&window), "being reviewed");
}

#[test]
fn rows_are_chosen_with_shift_and_control_and_with_the_arrows() {
    let (place, mut window) = place();
    let mut hands = Hands::of(&mut window);
    // More rows are in sight where the list takes the room of the plots.
    hands.press(Key::L, Modifiers::SHIFT);
    hands.click("at 06:00:29", Modifiers::NONE);
    hands.click("at 06:05:", Modifiers::SHIFT);
    assert!(shows(hands.window, "5 exceptions selected"));
    assert_eq!(chosen(hands.window), 5);
    hands.click("at 06:02:51", Modifiers::COMMAND);
    assert!(shows(hands.window, "4 exceptions selected"));
    hands.click("at 06:06:", Modifiers::COMMAND);
    assert!(shows(hands.window, "5 exceptions selected"));
    // A click without a key chooses one, and the arrows go on from it.
    hands.click("at 06:01:40", Modifiers::NONE);
    assert_eq!(chosen(hands.window), 1);
    hands.key(Key::L);
    for _ in 0..3 {
        hands.press(Key::ArrowDown, Modifiers::SHIFT);
    }
    assert!(shows(hands.window, "4 exceptions selected"));
    hands.press(Key::ArrowUp, Modifiers::SHIFT);
    assert!(shows(hands.window, "3 exceptions selected"));
    hands.form();
    hands.press(Key::Enter, Modifiers::COMMAND);
    assert!(shows(hands.window, "3 of 200 resolved"));
    // The next is as the one before, on one key.
    assert!(shows(hands.window, "Steam valve stuck; valve freed; re-pasteurized"));
    hands.press(Key::B, Modifiers::COMMAND);
    assert!(shows(hands.window, "4 of 200 resolved"));
    // What is filtered is chosen, and what is resolved already stays as it is.
    hands.press(Key::F, Modifiers::COMMAND);
    hands.text("B-07");
    hands.key(Key::Enter);
    hands.press(Key::A, Modifiers::COMMAND);
    assert!(shows(hands.window, "100 exceptions selected"));
    hands.press(Key::B, Modifiers::COMMAND);
    assert!(shows(hands.window, "104 of 200 resolved"));
    hands.press(Key::F, Modifiers::COMMAND);
    for _ in 0..4 {
        hands.key(Key::Backspace);
    }
    hands.key(Key::Enter);
    hands.press(Key::A, Modifiers::COMMAND);
    assert!(shows(hands.window, "104 of them are already resolved and are not changed"));
    hands.press(Key::B, Modifiers::COMMAND);
    assert!(shows(hands.window, "200 of 200 resolved"));
    let lines = settled(&place);
    assert_eq!(lines.len(), COUNT);
    let own = lines.iter().filter(|line| said(line, "lot") == "B-07").count();
    assert_eq!(own, COUNT / 2, "its own lot and not that of the one before");
    hands.key(Key::Escape);
    assert!(!shows(hands.window, "selected"));
}

/// Ctrl+A in a field chooses its text, as everywhere.
#[test]
fn all_of_a_field_is_its_text() {
    let (_place, mut window) = place();
    let mut hands = Hands::of(&mut window);
    hands.key(Key::T);
    hands.text("steam");
    hands.press(Key::A, Modifiers::COMMAND);
    assert!(!shows(hands.window, "200 exceptions selected"));
    hands.text("x");
    assert!(!shows(hands.window, "steamx"));
}

/// Releasing product is signed: the passphrase is asked for once for all of them.
#[test]
fn the_product_of_many_is_released_with_one_passphrase() {
    let (place, mut window) = place();
    let mut hands = Hands::of(&mut window);
    hands.press(Key::A, Modifiers::COMMAND);
    hands.key(Key::T);
    hands.text("sensor taken out");
    hands.key(Key::Tab);
    hands.text("none");
    hands.key(Key::Tab);
    hands.text("released");
    hands.key(Key::Tab);
    assert_eq!(focused(hands.window), "Reason for the disposition");
    hands.text("never below by the other thermometer");
    hands.press(Key::Enter, Modifiers::COMMAND);
    assert!(shows(hands.window, "Release the product of 200 exceptions"));
    assert!(shows(hands.window, "and 196 more"));
    assert_eq!(place.read(JOURNAL), "", "nothing is entered before it is signed");
    round::prove(hands.window, "anna", round::PASSPHRASE);
    assert!(shows(&window, "200 of 200 resolved"));
    let lines = settled(&place);
    assert_eq!(lines.len(), COUNT);
    assert!(lines.iter().all(|line| line.signature().is_some()), "each by itself");
}
