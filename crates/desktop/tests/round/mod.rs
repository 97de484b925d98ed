//! A plant's folder with a short record, one user's configuration, and a person at the keyboard.

use crate::common::{Setup, Window, open, settle};
use desktop::Clock;
use egui::{Event, Key, Modifiers};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use std::path::PathBuf;
use std::sync::atomic::{AtomicI64, Ordering};

pub const PASSPHRASE: &str = "milk is held for long enough";

const PLANT: &str = r#"schema = 1
plant = "Example Dairy (invented)"
unit = "HTST-1"
zone = "America/Chicago"
nominal_flow = "50 gal/min"

[[shifts]]
name = "early"
start = "04:00"
end = "12:00"

[completeness]
list = "none"
extra = ["unusual circumstances"]

[review]
causes = ["steam valve stuck", "sensor taken out"]
actions = ["valve freed"]
dispositions = ["fed to calves"]
"#;

/// A clock that goes on by four seconds at each look, so that a pause passes.
pub fn ticking() -> Clock {
    static NOW: AtomicI64 = AtomicI64::new(crate::common::MORNING);
    Clock(|| trace::Instant::from_unix_milliseconds(NOW.fetch_add(4_000, Ordering::Relaxed)))
}

pub struct Place {
    pub folder: tempfile::TempDir,
}

impl Place {
    pub fn new() -> Self {
        let Ok(folder) = tempfile::tempdir() else { panic!("a folder") };
        let place = Self { folder };
        place.write("plant.toml", PLANT);
        place.write("2026-03-14.csv", &record(7));
        place
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub fn write(&self, name: &str, text: &str) {
        assert!(std::fs::write(self.path(name), text).is_ok(), "{name}");
    }

    pub fn read(&self, name: &str) -> String {
        std::fs::read_to_string(self.path(name)).unwrap_or_default()
    }

    pub fn setup(&self) -> Setup {
        Setup {
            paths: vec![self.path("2026-03-14.csv")],
            settings: Some(self.path("config/settings.toml")),
            config: Some(self.path("config")),
            clock: ticking(),
            size: (1280.0, 900.0),
            ..Setup::default()
        }
    }

    pub fn open(&self) -> Window {
        open(self.setup())
    }

    /// The window of a plant whose supervisor is `ben` and whose technician, who is at work, is
    /// `anna`.
    pub fn with_signers(&self) -> Window {
        let mut window = self.open();
        set_up(&mut window);
        enrol(&mut window);
        at_work(&mut window, "Anna Example");
        window
    }
}

impl Default for Place {
    fn default() -> Self {
        Self::new()
    }
}

/// Four minutes at 1 Hz with two cold stretches, the first of `long` samples.
pub fn record(long: u32) -> String {
    let mut text =
        "time,valve,holding temperature (°F),raw pressure (psi),pasteurized pressure (psi),lot\n"
            .to_owned();
    for second in 0..240 {
        let cold = (30..30 + long).contains(&second) || (190..195).contains(&second);
        // Readings of a line that runs: none stands still.
        let raw = if second % 2 == 0 { "10.0" } else { "10.1" };
        let temperature = match (cold, second % 2) {
            (true, _) => "159.8",
            (false, 0) => "162.4",
            (false, _) => "162.5",
        };
        let (minute, second) = (second / 60, second % 60);
        let time = format!("2026-03-14T06:{minute:02}:{second:02}-05:00");
        text.extend([time.as_str(), ",forward,", temperature, ",", raw, ",14.0,A-01\n"]);
    }
    text
}

pub fn press(window: &mut Window, key: Key) {
    window.key_press(key);
    settle(window);
}

pub fn command(window: &mut Window, key: Key) {
    window.key_press_modifiers(Modifiers::COMMAND, key);
    settle(window);
}

/// Types into what has the keyboard.
pub fn text(window: &mut Window, text: &str) {
    window.event(Event::Text(text.to_owned()));
    settle(window);
}

/// The name of what has the keyboard.
pub fn focused(window: &Window) -> String {
    let found = window.query_all_by(|_| true).find(egui_kittest::Node::is_focused);
    found.and_then(|node| node.accesskit_node().label()).unwrap_or_default()
}

/// Acknowledges the type that is marked, or shows the first.
pub fn acknowledge(window: &mut Window) {
    window.key_press_modifiers(Modifiers { shift: true, ..Modifiers::COMMAND }, Key::Enter);
    settle(window);
}

/// Goes on with `Tab` until something whose name begins so has the keyboard.
pub fn tab_to(window: &mut Window, name: &str) {
    for _ in 0..150 {
        if focused(window).starts_with(name) {
            return;
        }
        window.key_press(Key::Tab);
        settle(window);
    }
    panic!("Tab does not lead to {name}; it is on {:?}", focused(window));
}

/// Fills a field in that is reached with `Tab`.
pub fn fill(window: &mut Window, name: &str, what: &str) {
    tab_to(window, name);
    text(window, what);
}

/// Presses a button that is reached with `Tab`.
pub fn push(window: &mut Window, name: &str) {
    tab_to(window, name);
    press(window, Key::Enter);
}

pub fn review(window: &Window) -> String {
    window.state().review().unwrap_or_default()
}

pub fn shows(window: &Window, words: &str) -> bool {
    window.query_all_by_label_contains(words).next().is_some()
        || window
            .query_all_by(|node| node.value().is_some_and(|value| value.contains(words)))
            .next()
            .is_some()
}

/// The first supervisor sets the register up.
pub fn set_up(window: &mut Window) {
    command(window, Key::U);
    assert!(shows(window, "Set up signers"));
    fill(window, "Identifier", "ben");
    fill(window, "Name as it is printed", "Ben Example (invented)");
    fill(window, "New passphrase", PASSPHRASE);
    fill(window, "The same passphrase again", PASSPHRASE);
    push(window, "Create register");
    assert!(shows(window, "Fingerprint of the key: "), "the fingerprint is shown");
    // The limits of the plant file in use are offered next.
    prove(window, "", PASSPHRASE);
    assert!(shows(window, "The limits of plant.toml are approved"));
}

/// Fills identifier and passphrase in, in the dialog that is open; a blank identifier stands there.
pub fn prove(window: &mut Window, identifier: &str, passphrase: &str) {
    if !identifier.is_empty() {
        fill(window, "Your identifier", identifier);
    }
    fill(window, "Passphrase", passphrase);
    press(window, Key::Enter);
}

/// The technician makes a key, and the supervisor enrols them, in the dialog that is open.
pub fn enrol(window: &mut Window) {
    enrol_as(window, ("anna", "Anna Example (invented)"), "Technician");
}

/// The same for somebody in a role.
pub fn enrol_as(window: &mut Window, (identifier, name): (&str, &str), role: &str) {
    push(window, "Create my key");
    fill(window, "Identifier", identifier);
    fill(window, "New passphrase", PASSPHRASE);
    fill(window, "The same passphrase again", PASSPHRASE);
    push(window, "Create key");
    push(window, "Enrol somebody");
    fill(window, "Name as it is printed", name);
    push(window, role);
    // The identifier and the public key stand there already, and who is at work, if that is a supervisor.
    tab_to(window, "Identifier of the supervisor who enrols");
    if !shows_value(window, "ben") {
        text(window, "ben");
    }
    fill(window, "Passphrase of the supervisor", PASSPHRASE);
    push(window, "Enrol");
    tab_to(window, "Close");
    assert!(shows(window, &format!("{name} is enrolled")));
    press(window, Key::Escape);
}

/// Whether the field with the keyboard holds a text.
fn shows_value(window: &Window, wanted: &str) -> bool {
    let found = window.query_all_by(|_| true).find(egui_kittest::Node::is_focused);
    found.and_then(|node| node.accesskit_node().value()).is_some_and(|value| value == wanted)
}

/// Somebody goes to work.
pub fn at_work(window: &mut Window, name: &str) {
    command(window, Key::U);
    push(window, name);
    assert!(shows(window, name));
}

/// Settles the exception that comes next.
pub fn settle_next(window: &mut Window) {
    press(window, Key::T);
    assert_eq!(focused(window), "Cause");
    press(window, Key::ArrowDown);
    press(window, Key::Enter);
    fill(window, "Corrective action", "valve freed by hand");
    fill(window, "Disposition", "re-p");
    press(window, Key::ArrowDown);
    press(window, Key::Enter);
    command(window, Key::Enter);
}

/// Signs what the dialog proposes.
pub fn sign(window: &mut Window, identifier: &str, passphrase: &str) {
    command(window, Key::S);
    prove(window, identifier, passphrase);
}

/// Everything from unread to reviewed, by the technician who is at work.
pub fn all_but_signing(window: &mut Window) {
    settle_next(window);
    settle_next(window);
    for _ in 0..6 {
        acknowledge(window);
    }
    press(window, Key::I);
    assert_eq!(focused(window), "unusual circumstances");
    text(window, "none");
    press(window, Key::Enter);
}
