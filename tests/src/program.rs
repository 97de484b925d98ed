//! Runs the real program the way a person or a script would.

use crate::good;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

/// The folder of the workspace.
pub fn root() -> PathBuf {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    here.parent().unwrap_or(here).to_owned()
}

/// The program as it was built beside these tests.
///
/// # Panics
/// When it was not built: cargo does not build the program for tests of another package.
pub fn program() -> PathBuf {
    let tests = std::env::current_exe().unwrap_or_default();
    // target/<profile>/deps/<test> and target/<profile>/holdtrace
    let folder = tests.ancestors().nth(2).map(Path::to_owned).unwrap_or_default();
    let program = folder.join(format!("holdtrace{}", std::env::consts::EXE_SUFFIX));
    assert!(
        program.is_file(),
        "{} is not there: build the program first (`cargo build`, as scripts/test.sh does)",
        program.display()
    );
    program
}

/// A user's folder for these tests alone; empty when they begin.
fn user() -> PathBuf {
    let name = format!("holdtrace-tests-{}", std::process::id());
    std::env::temp_dir().join(name)
}

/// What came of a run.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Told {
    /// The exit status; `None` when a signal ended it.
    pub status: Option<i32>,
    /// Standard output.
    pub output: String,
    /// Standard error.
    pub complaint: String,
}

impl From<Output> for Told {
    fn from(output: Output) -> Self {
        Self {
            status: output.status.code(),
            output: String::from_utf8_lossy(&output.stdout).into_owned(),
            complaint: String::from_utf8_lossy(&output.stderr).into_owned(),
        }
    }
}

/// The program with these arguments, to be run in the folder of the workspace, with no display.
pub fn command(arguments: &[&str]) -> Command {
    let mut command = Command::new(program());
    command
        .args(arguments)
        .current_dir(root())
        // What a user has seen and keeps is no affair of the tests, nor the other way round.
        .env("XDG_CONFIG_HOME", user().join("config"))
        .env("XDG_CACHE_HOME", user().join("cache"))
        .env_remove("DISPLAY")
        .env_remove("WAYLAND_DISPLAY")
        .env_remove("WAYLAND_SOCKET")
        .stdin(Stdio::null());
    command
}

/// Runs the program with these arguments.
///
/// # Panics
/// When it can't be started.
pub fn run(arguments: &[&str]) -> Told {
    match command(arguments).output() {
        Ok(output) => output.into(),
        Err(error) => panic!("{}: {error}", program().display()),
    }
}

/// Runs the program with these arguments and bytes on standard input.
///
/// # Panics
/// When it can't be started.
pub fn run_with_input(arguments: &[&str], input: &[u8]) -> Told {
    let child = command(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn();
    let mut child = child.unwrap_or_else(|error| panic!("{}: {error}", program().display()));
    let mut pipe = child.stdin.take();
    std::thread::scope(|scope| {
        scope.spawn(move || {
            // A program that has heard enough closes the pipe; what it says then is checked below.
            pipe.take().map(|mut pipe| pipe.write_all(input))
        });
        good(child.wait_with_output()).into()
    })
}
