//! Where words and files go: the edge at which text leaves the program. Words reach a terminal only
//! as [`Lines`] or by [`complain`], which show what a terminal would obey.

use crate::arguments::Arguments;
use clap::Parser as _;
use serde_json::Value;
use std::io::Write as _;
use std::path::Path;
use std::process::ExitCode;
use trace::{Lines, visible, visible_json};

/// Why something could not be written.
#[derive(Debug, thiserror::Error)]
#[error("{0}")]
pub struct Error(String);

/// Writes `bytes` to `path`, or to standard output; a reader that has gone away is no error.
///
/// # Errors
/// When the file can't be written; then nothing of it is there.
pub fn write(bytes: &[u8], path: Option<&Path>) -> Result<(), Error> {
    match path {
        Some(path) => match disk::write_output(path, bytes) {
            Err(cause) if cause.kind() != std::io::ErrorKind::BrokenPipe => {
                Err(Error(disk::not_written(path, &cause)))
            }
            _ => Ok(()),
        },
        None => say_bytes(bytes),
    }
}

/// Writes to standard output; a reader that has gone away is no error.
///
/// # Errors
/// When standard output can't be written for another reason.
pub fn say(text: &Lines) -> Result<(), Error> {
    say_bytes(text.as_bytes())
}

/// Writes one line to standard output.
///
/// # Errors
/// As [`say`].
pub fn say_line(words: std::fmt::Arguments<'_>) -> Result<(), Error> {
    let mut lines = Lines::new();
    lines.line(words);
    say(&lines)
}

/// A JSON document as text.
///
/// # Errors
/// When it can't be written as text; a value in memory has no cause to fail.
pub fn json(document: &Value) -> Result<String, serde_json::Error> {
    let text = serde_json::to_string_pretty(document)?;
    Ok(format!("{}\n", visible_json(&text)))
}

fn say_bytes(bytes: &[u8]) -> Result<(), Error> {
    let mut output = std::io::stdout().lock();
    match output.write_all(bytes).and_then(|()| output.flush()) {
        Err(cause) if cause.kind() != std::io::ErrorKind::BrokenPipe => {
            Err(Error(format!("standard output can't be written: {cause}")))
        }
        _ => Ok(()),
    }
}

/// Writes a message to standard error, in one line.
#[expect(clippy::print_stderr, reason = "this is the place where messages go")]
pub fn complain(message: &str) {
    eprintln!("holdtrace: {}", visible(message));
}

/// Writes what there is to say of arguments that can't be used, or the help that they ask for; gives
/// the exit status.
///
/// A message repeats what was typed, or what a file name gave a shell to pass on. So it is made again
/// for the arguments as they are shown, where line ends are the message's own.
#[expect(clippy::print_stderr, reason = "this is the place where messages go")]
pub fn answer(error: &clap::Error) -> ExitCode {
    let typed = std::env::args_os().map(|typed| visible(&typed.to_string_lossy()).into_owned());
    let shown = Arguments::try_parse_from(typed).err();
    let message = shown.as_ref().unwrap_or(error).to_string();
    let mut lines = Lines::new();
    for line in message.lines() {
        lines.line(format_args!("{line}"));
    }
    let said = if error.use_stderr() {
        eprint!("{lines}");
        Ok(())
    } else {
        say(&lines)
    };
    match said {
        Ok(()) => ExitCode::from(u8::try_from(error.exit_code()).unwrap_or(2)),
        Err(_) => ExitCode::from(2),
    }
}
