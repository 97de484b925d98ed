//! The real program on a virtual display: it opens its window, and the window has its title.
//!
//! Needs `Xvfb` and `xwininfo` (Debian: xvfb, x11-utils; `scripts/install-debian.sh` installs
//! them), and `dpkg` for the package. Without them the tests fail; they do not pass by not running.
#![cfg(target_os = "linux")]

use std::io::{BufRead as _, BufReader};
use std::path::Path;
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

/// Starts a program on the demo, and waits until its window is there and stays.
fn opens(program: &Path) -> Outcome {
    let (_server, display) = display()?;
    let settings = tempfile::tempdir()?;
    let child = Command::new(program)
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

#[test]
fn the_window_opens_on_the_demo_and_has_its_title() -> Outcome {
    opens(Path::new(env!("CARGO_BIN_EXE_holdtrace")))
}

/// The package is installed into a root of its own, and the program that lies there is started.
#[test]
fn the_package_installs_and_starts() -> Outcome {
    let place = tempfile::tempdir()?;
    let made = Command::new("sh")
        .arg(concat!(env!("CARGO_MANIFEST_DIR"), "/../../scripts/package.sh"))
        .arg(env!("CARGO_BIN_EXE_holdtrace"))
        .arg(place.path())
        .env("PACKAGE_COMPRESSION", "none")
        .output()?;
    assert!(made.status.success(), "{made:?}");
    let package = String::from_utf8(made.stdout)?.trim().to_owned();

    let root = place.path().join("root");
    for folder in ["var/lib/dpkg/updates", "var/lib/dpkg/info"] {
        std::fs::create_dir_all(root.join(folder))?;
    }
    std::fs::write(root.join("var/lib/dpkg/status"), "")?;
    let installed = Command::new("dpkg")
        .arg(format!("--root={}", root.display()))
        .arg(format!("--log={}", place.path().join("log").display()))
        // Nothing else is installed there, and nothing outside is to be changed.
        .args(["--force-depends", "--force-not-root", "--force-script-chrootless", "-i", &package])
        .env("PATH", "/usr/sbin:/usr/bin:/sbin:/bin")
        .output()?;
    assert!(installed.status.success(), "{installed:?}");
    for file in [
        "usr/share/applications/holdtrace.desktop",
        "usr/share/icons/hicolor/256x256/apps/holdtrace.png",
        "usr/share/doc/holdtrace/copyright",
        "usr/share/doc/holdtrace/THIRD-PARTY-LICENCES.txt",
    ] {
        assert!(root.join(file).metadata()?.len() > 0, "{file}");
    }
    let program = root.join("usr/bin/holdtrace");
    let version = Command::new(&program).arg("--version").output()?;
    assert_eq!(
        String::from_utf8(version.stdout)?,
        concat!("holdtrace ", env!("CARGO_PKG_VERSION"), "\n")
    );
    opens(&program)
}
