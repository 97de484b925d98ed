//! One run of a command: how long it took, and the most memory that it held.

use std::error::Error;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// What one run took.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Timed {
    /// From the start of the process to its end.
    pub(crate) seconds: f64,
    /// The most resident memory in kB, as far as it was seen; looked at every two milliseconds.
    pub(crate) most_kilobytes: u64,
}

/// Runs a command whose output is not looked at. An audit that finds exceptions ends with 1.
pub(crate) fn timed(command: &[String]) -> Result<Timed, Box<dyn Error>> {
    let [program, arguments @ ..] = command else { return Err("no command".into()) };
    let start = Instant::now();
    let mut child = Command::new(program)
        .args(arguments)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .map_err(|error| format!("{program}: {error}"))?;
    let status = format!("/proc/{}/status", child.id());
    let mut most_kilobytes = 0;
    let ended = loop {
        if let Some(ended) = child.try_wait()? {
            break ended;
        }
        most_kilobytes = most_kilobytes.max(peak(&status));
        std::thread::sleep(Duration::from_millis(2));
    };
    let seconds = start.elapsed().as_secs_f64();
    match ended.code() {
        Some(0 | 1) => Ok(Timed { seconds, most_kilobytes }),
        code => Err(format!("{} ended with {code:?}", command.join(" ")).into()),
    }
}

/// The most memory that a process held, where the system tells.
fn peak(status: &str) -> u64 {
    let status = std::fs::read_to_string(status).unwrap_or_default();
    let peak = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    peak.and_then(|peak| peak.split_whitespace().next()?.parse().ok()).unwrap_or(0)
}

/// The middle of the runs, by their times; the upper one of two.
pub(crate) fn median(mut runs: Vec<Timed>) -> Option<Timed> {
    runs.sort_by(|one, other| one.seconds.total_cmp(&other.seconds));
    runs.get(runs.len() / 2).copied()
}
