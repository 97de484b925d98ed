//! A virtual display with the real program's window on it, and a keyboard.
//!
//! Needs `Xvfb`, `xwininfo` and `xdotool` (Debian: xvfb, x11-utils, xdotool; `scripts/install-debian.sh`
//! installs them). Without them the tests fail; they do not pass by not running.

#![expect(clippy::missing_panics_doc, reason = "what does not go as it must fails the test")]

use crate::good;
use std::io::{BufRead as _, BufReader};
use std::process::{Child, Command, Output, Stdio};
use std::time::{Duration, Instant};

/// Longer than any slow machine needs.
const PATIENCE: Duration = Duration::from_mins(1);

/// A program that is ended when the test ends, however it ends.
struct Ended(Child);

impl Drop for Ended {
    fn drop(&mut self) {
        // It may have ended by itself.
        if self.0.kill().is_ok() {
            drop(self.0.wait());
        }
    }
}

/// A display on a free number.
pub struct Display {
    number: String,
    _server: Ended,
}

/// The program with its window on a display.
pub struct Shown<'a> {
    display: &'a Display,
    program: Ended,
    window: String,
    /// How many keys were pressed.
    keys: usize,
}

impl Display {
    /// Starts it.
    pub fn new() -> Self {
        let child = Command::new("Xvfb")
            .args(["-displayfd", "1", "-screen", "0", "1280x800x24", "-nolisten", "tcp"])
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn();
        let child = child.unwrap_or_else(|cause| panic!("Xvfb: {cause}; install xvfb"));
        let mut server = Ended(child);
        let mut number = String::new();
        let Some(output) = server.0.stdout.take() else { panic!("Xvfb has no output") };
        good(BufReader::new(output).read_line(&mut number));
        assert!(number.trim().parse::<u32>().is_ok(), "Xvfb named no display: {number:?}");
        Self { number: format!(":{}", number.trim()), _server: server }
    }

    /// Starts a program and waits until its window is there.
    pub fn show(&self, mut command: Command) -> Shown<'_> {
        command
            .env("DISPLAY", &self.number)
            .env_remove("WAYLAND_DISPLAY")
            .env_remove("WAYLAND_SOCKET")
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::null());
        let mut program = Ended(good(command.spawn()));
        let begun = Instant::now();
        loop {
            if let Some(window) = self.window() {
                return Shown { display: self, program, window, keys: 0 };
            }
            let status = good(program.0.try_wait());
            assert_eq!(status, None, "the program ended without a window");
            assert!(begun.elapsed() < PATIENCE, "no window with the title after {PATIENCE:?}");
            std::thread::sleep(Duration::from_millis(100));
        }
    }

    /// The number of the program's window.
    fn window(&self) -> Option<String> {
        let told =
            Command::new("xwininfo").args(["-root", "-tree", "-display", &self.number]).output();
        let told = told.unwrap_or_else(|cause| panic!("xwininfo: {cause}; install x11-utils"));
        let tree = String::from_utf8_lossy(&told.stdout).into_owned();
        // A window's line begins with its number and its title in quotation marks.
        let line = tree.lines().find(|line| line.contains("\"Holdtrace\":"))?;
        line.split_whitespace().next().map(str::to_owned)
    }
}

impl Default for Display {
    fn default() -> Self {
        Self::new()
    }
}

impl Shown<'_> {
    /// It stays for a second.
    pub fn stays(&mut self) {
        std::thread::sleep(Duration::from_secs(1));
        assert_eq!(good(self.program.0.try_wait()), None, "the program ended by itself");
    }

    /// Takes the keyboard from the window and gives it back, as a window manager would; there is none. Whether
    /// the program has noticed shows when a key does something: it does not while it starts.
    pub fn focus(&self) {
        let root = self.xdotool(&["search", "--maxdepth", "0", ""]);
        let root = String::from_utf8_lossy(&root.stdout).trim().to_owned();
        self.xdotool(&["windowfocus", &root]);
        until("the window has the keyboard", || {
            self.xdotool(&["windowfocus", "--sync", &self.window]).status.success()
        });
    }

    /// Presses keys by the names that X gives them, `ctrl+s`.
    pub fn press(&mut self, keys: &[&str]) {
        self.keys += keys.len();
        self.must(&[&["key", "--delay", "20"], keys].concat());
    }

    /// Types a text.
    pub fn write(&mut self, text: &str) {
        self.keys += text.chars().count();
        self.must(&["type", "--delay", "20", text]);
    }

    /// How many keys were pressed.
    pub const fn keys(&self) -> usize {
        self.keys
    }

    fn must(&self, arguments: &[&str]) {
        let told = self.xdotool(arguments);
        assert!(told.status.success(), "{arguments:?}: {told:?}");
    }

    fn xdotool(&self, arguments: &[&str]) -> Output {
        let mut command = Command::new("xdotool");
        let told = command.args(arguments).env("DISPLAY", &self.display.number).output();
        told.unwrap_or_else(|cause| panic!("xdotool: {cause}; install xdotool"))
    }
}

/// Waits until something is so, which a test sees on the disk.
#[track_caller]
pub fn until(what: &str, is_so: impl Fn() -> bool) {
    let begun = Instant::now();
    while !is_so() {
        assert!(begun.elapsed() < PATIENCE, "not in {PATIENCE:?}: {what}");
        std::thread::sleep(Duration::from_millis(50));
    }
}
