//! The real program on a virtual display: it opens its window, as it was built and as its package installs it;
//! and a record is taken from unread to approved with keys alone.
#![cfg(target_os = "linux")]

use std::fmt::Write as _;
use std::path::Path;
use std::process::Command;
use std::time::Duration;
use tests::display::{Display, until};
use tests::good;
use tests::place::{PASSPHRASE, Place};
use tests::program::{program, root};

/// Starts a program on the demo; its window comes and stays.
fn opens(program: &Path) {
    let settings = good(tempfile::tempdir());
    let display = Display::new();
    let mut command = Command::new(program);
    command.arg(root().join("sample-runs")).env("XDG_CONFIG_HOME", settings.path());
    display.show(command).stays();
}

#[test]
fn the_window_opens_on_the_demo_and_has_its_title() {
    opens(&program());
}

/// The package is installed into a root of its own, and the program that lies there is started.
#[test]
fn the_package_installs_and_starts() {
    let place = good(tempfile::tempdir());
    let made = Command::new("sh")
        .arg(root().join("scripts/package.sh"))
        .arg(program())
        .arg(place.path())
        .env("PACKAGE_COMPRESSION", "none")
        .output();
    let made = good(made);
    assert!(made.status.success(), "{made:?}");
    let package = good(String::from_utf8(made.stdout)).trim().to_owned();

    let root = place.path().join("root");
    for folder in ["var/lib/dpkg/updates", "var/lib/dpkg/info"] {
        good(std::fs::create_dir_all(root.join(folder)));
    }
    good(std::fs::write(root.join("var/lib/dpkg/status"), ""));
    let installed = Command::new("dpkg")
        .arg(format!("--root={}", root.display()))
        .arg(format!("--log={}", place.path().join("log").display()))
        // Nothing else is installed there, and nothing outside is to be changed.
        .args(["--force-depends", "--force-not-root", "--force-script-chrootless", "-i", &package])
        .env("PATH", "/usr/sbin:/usr/bin:/sbin:/bin")
        .output();
    let installed = good(installed);
    assert!(installed.status.success(), "{installed:?}");
    for file in [
        "usr/share/applications/holdtrace.desktop",
        "usr/share/icons/hicolor/256x256/apps/holdtrace.png",
        "usr/share/doc/holdtrace/copyright",
        "usr/share/doc/holdtrace/THIRD-PARTY-LICENCES.txt",
    ] {
        assert!(good(root.join(file).metadata()).len() > 0, "{file}");
    }
    let program = root.join("usr/bin/holdtrace");
    let version = good(Command::new(&program).arg("--version").output());
    let name = concat!("holdtrace ", env!("CARGO_PKG_VERSION"), "\n");
    assert_eq!(String::from_utf8_lossy(&version.stdout), name);
    opens(&program);
}

/// Four minutes at 1 Hz with two cold stretches, of a line that runs: no reading stands still.
fn record() -> String {
    let mut text =
        "time,valve,holding temperature (°F),raw pressure (psi),pasteurized pressure (psi),lot\n"
            .to_owned();
    for second in 0..240 {
        let temperature = match second {
            30..=36 | 190..=194 => "159.8",
            _ => tests::place::moving(second),
        };
        let raw = if second % 2 == 0 { "10.0" } else { "10.1" };
        let (minute, second) = (second / 60, second % 60);
        let time = format!("2026-03-14T06:{minute:02}:{second:02}-05:00");
        good(writeln!(text, "{time},forward,{temperature},{raw},14.0,A-01"));
    }
    text
}

/// From the start of the program on a folder to the approved record, by keys alone: two exceptions resolved,
/// what is only to be noted acknowledged, an entry made, two signatures. The test looks at nothing but the disk.
#[test]
fn a_record_is_approved_by_keys_alone() {
    let place = Place::with_signers();
    place.write("2026-03-14.csv", &record());
    let read = |name: &str| std::fs::read_to_string(place.path(name)).unwrap_or_default();
    let lines = |kind: &str| {
        let kind = format!("\"kind\":\"{kind}\"");
        read("2026-03-14.review.jsonl").lines().filter(|line| line.contains(&kind)).count()
    };
    let display = Display::new();
    let mut command = place.command(&program());
    command.arg(".");
    let mut window = display.show(command);
    // The next record to review, and who is at work; again until the program listens and has read the folder.
    let is_at_work =
        |who: &str| read("config/holdtrace/settings.toml").contains(&format!("person = \"{who}\""));
    while !is_at_work("anna") {
        window.focus();
        window.press(&["j", "ctrl+u", "Tab", "Return"]);
        std::thread::sleep(Duration::from_secs(2));
        assert!(window.keys() < 120, "nobody is at work");
    }
    // Cause, corrective action and disposition, twice; nothing is waited for.
    window.press(&["t"]);
    for _ in 0..2 {
        window.write("steam");
        window.press(&["Tab"]);
        window.write("valve freed");
        window.press(&["Tab"]);
        window.write("destroyed");
        window.press(&["ctrl+Return"]);
    }
    until("two exceptions are resolved", || lines("settled") == 2);
    let types = place.list()["observations"].as_array().map_or(0, Vec::len);
    assert!(types > 0, "there is something to acknowledge");
    for _ in 0..=types {
        window.press(&["ctrl+shift+Return"]);
    }
    until("all types are acknowledged", || lines("acknowledged") == types);
    window.press(&["i"]);
    window.write("none");
    window.press(&["Return"]);
    until("the entry is made", || lines("entered") == 1);
    for (who, to_choose) in [("anna", None), ("ben", Some(["ctrl+u", "shift+Tab", "Return"]))] {
        let before = lines("signed");
        if let Some(keys) = to_choose {
            window.press(&keys);
            until("the other one is at work", || is_at_work(who));
        }
        window.press(&["ctrl+s"]);
        window.write(who);
        window.press(&["Tab"]);
        window.write(PASSPHRASE);
        window.press(&["Return"]);
        until(&format!("{who} has signed"), || lines("signed") == before + 1);
    }
    // The journal's line is followed by one of the ledger.
    until("everything holds", || place.verify().status == Some(0));
    let verified = place.verify();
    assert!(verified.output.contains("by Ben Example (invented) (supervisor)"), "{verified:#?}");
}
