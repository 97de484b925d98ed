//! The real program on a virtual display: it opens its window, and the window has its title.
//!
//! Needs `Xvfb` and `xwininfo` (Debian: xvfb, x11-utils; `scripts/install-debian.sh` installs
//! them). Without them the test fails; it does not pass by not running.
#![cfg(target_os = "linux")]

use std::io::{BufRead as _, BufReader};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

type Outcome = Result<(), Box<dyn std::error::Error>>;

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

/// Starts a display on a free number, and gives the number.
fn display() -> Result<(Ended, String), Box<dyn std::error::Error>> {
    let child = Command::new("Xvfb")
        .args(["-displayfd", "1", "-screen", "0", "1280x800x24", "-nolisten", "tcp"])
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .map_err(|cause| format!("Xvfb could not be started: {cause}. Install xvfb."))?;
    let mut server = Ended(child);
    let output = server.0.stdout.take().ok_or("Xvfb has no output")?;
    let mut number = String::new();
    BufReader::new(output).read_line(&mut number)?;
    if number.trim().parse::<u32>().is_err() {
        return Err(format!("Xvfb named no display: {number:?}").into());
    }
    Ok((server, format!(":{}", number.trim())))
}

#[test]
fn the_window_opens_on_the_demo_and_has_its_title() -> Outcome {
    let (_server, display) = display()?;
    let settings = tempfile::tempdir()?;
    let child = Command::new(env!("CARGO_BIN_EXE_holdtrace"))
        .arg(concat!(env!("CARGO_MANIFEST_DIR"), "/../../sample-runs"))
        .env("DISPLAY", &display)
        .env_remove("WAYLAND_DISPLAY")
        .env_remove("WAYLAND_SOCKET")
        .env("XDG_CONFIG_HOME", settings.path())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()?;
    let mut program = Ended(child);
    let begin = Instant::now();
    loop {
        let tree = Command::new("xwininfo")
            .args(["-root", "-tree", "-display", &display])
            .output()
            .map_err(|cause| {
                format!("xwininfo could not be started: {cause}. Install x11-utils.")
            })?;
        let tree = String::from_utf8_lossy(&tree.stdout).into_owned();
        // A window's line begins with its number and its title in quotation marks.
        if tree.lines().any(|line| line.contains("\"Holdtrace\":")) {
            break;
        }
        if let Some(status) = program.0.try_wait()? {
            return Err(format!("the program ended with {status}, without a window").into());
        }
        if begin.elapsed() > PATIENCE {
            return Err(format!("no window with the title after {PATIENCE:?}:\n{tree}").into());
        }
        std::thread::sleep(Duration::from_millis(100));
    }
    // It stays.
    std::thread::sleep(Duration::from_secs(1));
    assert_eq!(program.0.try_wait()?, None, "the program ended by itself");
    Ok(())
}
