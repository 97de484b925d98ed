//! A plant's folder with a short record and one user's configuration, for journeys through a review
//! with the real program. Whatever does not go as it must is a panic: it fails the test.

#![expect(clippy::missing_panics_doc, reason = "as the module says")]

use crate::good;
use crate::program::{Told, program};
use serde_json::Value;
use std::ffi::OsStr;
use std::fmt::Debug;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// The passphrase of everybody here.
pub const PASSPHRASE: &str = "milk is held for long enough";

/// A plant's folder with a short record, and one user's configuration.
pub struct Place {
    folder: tempfile::TempDir,
    /// The record at hand.
    pub record: String,
}

impl Default for Place {
    fn default() -> Self {
        Self::new()
    }
}

impl Place {
    /// A plant file and one record.
    pub fn new() -> Self {
        let Ok(folder) = tempfile::tempdir() else { panic!("a folder") };
        let place = Self { folder, record: "2026-03-14.csv".to_owned() };
        place.write("plant.toml", PLANT);
        place.write("2026-03-14.csv", &record("2026-03-14"));
        place
    }

    /// A place whose supervisor is `ben`, and whose technician is `anna`.
    pub fn with_signers() -> Self {
        let place = Self::new();
        let set_up = ["signer", "set-up", "--signer", "ben", "--name", "Ben Example (invented)"];
        place.expect(0, &[&set_up[..], &["--passphrase-fd", "0"]].concat());
        let key = place.expect(0, &["signer", "key", "--signer", "anna", "--passphrase-fd", "0"]);
        place.write("anna.pem", &key.output);
        let enrol = [
            "signer",
            "enrol",
            "--signer",
            "anna",
            "--name",
            "Anna Example (invented)",
            "--role",
            "technician",
            "--public-key",
            "anna.pem",
            "--by",
            "ben",
            "--passphrase-fd",
            "0",
        ];
        place.expect(0, &enrol);
        place.approve();
        place
    }

    /// The supervisor approves the plant file as it is.
    pub fn approve(&self) {
        let approve = ["signer", "approve", "--plant", "plant.toml", "--by", "ben"];
        self.expect(0, &[&approve[..], &["--passphrase-fd", "0"]].concat());
    }

    /// Enrols `cleo` as another supervisor.
    pub fn second_supervisor(&self) {
        let key = self.expect(0, &["signer", "key", "--signer", "cleo", "--passphrase-fd", "0"]);
        self.write("cleo.pem", &key.output);
        let enrol = ["signer", "enrol", "--signer", "cleo", "--name", "Cleo Example (invented)"];
        let with = ["--role", "supervisor", "--public-key", "cleo.pem", "--by", "ben"];
        let told = self.expect(0, &[&enrol[..], &with, &["--passphrase-fd", "0"]].concat());
        assert!(told.output.contains("is enrolled"), "there was one supervisor: {told:#?}");
    }

    /// A file of the place.
    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// Writes a file.
    pub fn write(&self, name: &str, text: &str) {
        assert!(std::fs::write(self.path(name), text).is_ok(), "{name}");
    }

    /// A file's bytes.
    pub fn read(&self, name: &str) -> Vec<u8> {
        std::fs::read(self.path(name)).unwrap_or_else(|error| panic!("{name}: {error}"))
    }

    /// The program, to be run in the folder by its one user.
    pub fn command(&self, program: &Path) -> Command {
        let mut command = Command::new(program);
        command
            .current_dir(self.folder.path())
            .env("XDG_CONFIG_HOME", self.path("config"))
            .env("HOME", self.folder.path())
            .env_remove("DISPLAY")
            .env_remove("WAYLAND_DISPLAY")
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped());
        command
    }

    /// Runs a command with the passphrase on standard input.
    pub fn told(mut command: Command) -> Told {
        let mut child = command.spawn().unwrap_or_else(|error| panic!("{command:?}: {error}"));
        if let Some(mut input) = child.stdin.take() {
            // A command that asks for no passphrase may be gone already.
            let _gone = writeln!(input, "{PASSPHRASE}");
        }
        good(child.wait_with_output()).into()
    }

    /// Runs the program with the passphrase on standard input.
    pub fn run<A: AsRef<OsStr>>(&self, arguments: &[A]) -> Told {
        let mut command = self.command(&program());
        command.args(arguments);
        Self::told(command)
    }

    /// An operator, vale, enrolled by the supervisor.
    pub fn operator(&self) {
        let key = self.expect(0, &["signer", "key", "--signer", "vale", "--passphrase-fd", "0"]);
        self.write("vale.pem", &key.output);
        let enrol = ["signer", "enrol", "--signer", "vale", "--name", "Robin Vale (invented)"];
        let with = ["--role", "operator", "--public-key", "vale.pem", "--by", "ben"];
        self.expect(0, &[&enrol[..], &with, &["--passphrase-fd", "0"]].concat());
    }

    /// Runs the program, which must end with this status.
    pub fn expect<A: AsRef<OsStr> + Debug>(&self, status: i32, arguments: &[A]) -> Told {
        let told = self.run(arguments);
        assert_eq!(told.status, Some(status), "{arguments:?}: {told:#?}");
        told
    }

    /// The arguments that resolve exceptions of the record at hand.
    pub fn settle(&self, which: &[&str]) -> Vec<String> {
        let fixed = [
            "review",
            "resolve",
            &self.record,
            "--by",
            "anna",
            "--cause",
            "steam valve stuck",
            "--action",
            "valve freed",
            "--disposition",
            "re_pasteurized",
        ];
        fixed.iter().chain(which).map(|&text| text.to_owned()).collect()
    }

    /// Signs the record at hand.
    pub fn sign(&self, by: &str, meaning: &str) -> Told {
        self.run(&[
            "review",
            "sign",
            &self.record,
            "--by",
            by,
            "--meaning",
            meaning,
            "--passphrase-fd",
            "0",
        ])
    }

    /// What is resolved and closed and what is open, as JSON.
    pub fn list(&self) -> Value {
        self.list_with(&[])
    }

    /// The same, with more arguments.
    pub fn list_with(&self, more: &[&str]) -> Value {
        let told = self.run(&[&["review", "list", &self.record, "--json"][..], more].concat());
        serde_json::from_str(&told.output).unwrap_or_else(|error| panic!("{error}: {told:#?}"))
    }

    /// Resolves, closes, acknowledges, enters and signs twice.
    pub fn round(&self) {
        self.resolve_all();
        self.sign_twice();
    }

    /// Signs as the technician and as the supervisor.
    pub fn sign_twice(&self) {
        for (by, meaning) in [("anna", "reviewed"), ("ben", "approved")] {
            let told = self.sign(by, meaning);
            assert_eq!(told.status, Some(0), "{told:#?}");
        }
    }

    /// Resolves, closes, acknowledges and enters: all that comes before signing.
    pub fn resolve_all(&self) {
        self.expect(0, &self.settle(&["--all-open"]));
        self.close_all();
        self.complete();
    }

    /// Acknowledges what is to be known, and enters that nothing was unusual.
    pub fn complete(&self) {
        self.expect(0, &["review", "acknowledge", &self.record, "--by", "anna", "--all-open"]);
        for entry in self.entries() {
            self.expect(0, &self.entry(&entry, "none"));
        }
    }

    /// The arguments that make an entry of the plant's list.
    pub fn entry<'a>(&'a self, entry: &'a str, value: &'a str) -> [&'a str; 9] {
        ["review", "enter", &self.record, "--by", "anna", "--entry", entry, "--value", value]
    }

    /// Closes what is open in the review of the record at hand: observations, and the hole before it.
    pub fn close_all(&self) {
        let hole = (self.list()["hole_is_open"] == true).then(|| "hole_before_record".to_owned());
        for id in self.to_close().into_iter().chain(hole) {
            let told = self.close(&id, "looked into, nothing is left to do");
            assert_eq!(told.status, Some(0), "{told:#?}");
        }
    }

    /// The identifiers of the observations that are to be closed, closed ones too.
    pub fn to_close(&self) -> Vec<String> {
        self.to_close_with(&[])
    }

    /// The same, with more arguments, such as another plant file.
    pub fn to_close_with(&self, more: &[&str]) -> Vec<String> {
        let listed = self.list_with(more);
        let items = listed["to_close"].as_array().cloned().unwrap_or_default();
        items.iter().filter_map(|one| one["item"]["id"].as_str()).map(str::to_owned).collect()
    }

    /// Closes one observation of the record at hand, or the hole before it.
    pub fn close(&self, id: &str, reason: &str) -> Told {
        let close = ["review", "close", &self.record, "--by", "anna", "--observation", id];
        self.run(&[&close[..], &["--reason", reason]].concat())
    }

    /// The entries that the plant's list asks for.
    pub fn entries(&self) -> Vec<String> {
        let listed = self.list();
        let entries = listed["entries"].as_array().cloned().unwrap_or_default();
        entries.iter().filter_map(|entry| entry["item"].as_str()).map(str::to_owned).collect()
    }

    /// Verifies the record at hand.
    pub fn verify(&self) -> Told {
        self.run(&["verify", &self.record])
    }
}

const PLANT: &str = r#"schema = 1
plant = "Example Dairy (invented)"
unit = "HTST-1"
zone = "America/Chicago"
nominal_flow = "50 gal/min"

[completeness]
list = "none"
extra = ["unusual circumstances"]

[review]
causes = ["steam valve stuck"]
"#;

/// Two minutes at 1 Hz with two cold stretches.
pub fn record(date: &str) -> String {
    written(date, 120, |second| {
        let cold = matches!(second, 30..=34 | 90..=92);
        ("forward", if cold { "159.8" } else { "162.4" }, "14.0")
    })
}

/// Four minutes at 1 Hz; twice the raw side is above the pasteurized side while diverted.
pub fn reversed_twice() -> String {
    written("2026-03-14", 240, |second| {
        let valve = if matches!(second, 0..=19 | 120..=139) { "divert" } else { "forward" };
        let pasteurized = if matches!(second, 3..=5 | 125..=127) { "9.2" } else { "14.0" };
        // The device diverts for the temperature: that is a cause.
        let holding = if second == 120 { "160.0" } else { moving(second) };
        (valve, holding, pasteurized)
    })
}

/// Readings that move as a real thermometer's do.
pub const fn moving(second: u32) -> &'static str {
    match second % 3 {
        0 => "162.4",
        1 => "162.5",
        _ => "162.3",
    }
}

/// Seconds of a morning: of each the valve, the holding temperature and the pasteurized pressure.
fn written(
    date: &str,
    seconds: u32,
    row: impl Fn(u32) -> (&'static str, &'static str, &'static str),
) -> String {
    let mut text =
        "time,valve,holding temperature (°F),raw pressure (psi),pasteurized pressure (psi)\n"
            .to_owned();
    for second in 0..seconds {
        let (valve, temperature, pasteurized) = row(second);
        let (minute, second) = (second / 60, second % 60);
        let time = format!("{date}T06:{minute:02}:{second:02}-05:00");
        text.extend([&*time, ",", valve, ",", temperature, ",10.0,", pasteurized, "\n"]);
    }
    text
}
