//! Reading a chain without touching it: the lines up to the first fault, and the fault.

use crate::damage::{Damage, Fault};
use crate::digest::Digest;
use crate::error::Error;
use crate::line::Line;
use crate::stamp::Stamp;
use disk::Links;
use std::path::Path;
use trace::Duration;

/// How far an entry may be dated before the latest line above it (ours: two machines' clocks differ).
pub const CLOCK_TOLERANCE: Duration = Duration::from_seconds(120);

/// The most bytes that are read of a journal, and the most that one is written to (ours): it is
/// held in memory whole. A line takes some hundred bytes, and a day with a thousand exceptions, each
/// settled and returned many times, stays below a tenth of this.
pub const LIMIT: u64 = 64 << 20;

/// The lines of a chain as far as they hold.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Reading {
    /// The lines before the first fault, in order.
    pub lines: Vec<Line>,
    /// How many bytes they take.
    pub length: u64,
    /// How many of them the last line takes.
    pub last: u64,
    /// The latest date of a line, since the last that corrected the clock.
    pub latest: Option<Stamp>,
    /// The first fault.
    pub fault: Option<Fault>,
}

impl Reading {
    /// The digest of the last good line.
    pub fn head(&self) -> Digest {
        self.lines.last().map_or(Digest::NONE, Line::digest)
    }
}

/// Reads the chain at `path` and changes nothing; a file that is not there is an empty chain.
///
/// # Errors
/// When the file can't be read, is no file or a link, or is larger than [`LIMIT`].
pub fn read(path: &Path) -> Result<Reading, Error> {
    match disk::read(path, LIMIT, Links::Refuse) {
        Ok(bytes) => Ok(replay(&bytes)),
        Err(cause) if cause.kind() == std::io::ErrorKind::NotFound => Ok(Reading::default()),
        Err(cause) => Err(Error::Unreadable { path: path.to_owned(), cause }),
    }
}

/// Reads a chain from its bytes.
pub fn replay(bytes: &[u8]) -> Reading {
    let mut reading = Reading::default();
    let mut rest = bytes;
    while !rest.is_empty() {
        let sequence = reading.lines.len() as u64 + 1;
        let Some(end) = rest.iter().position(|&byte| byte == b'\n') else {
            reading.fault = Some(Fault::Torn { line: sequence, bytes: rest.len() as u64 });
            break;
        };
        let (line, after) = rest.split_at(end);
        match next(line, &reading, sequence) {
            Ok(line) => {
                let before = reading.latest.filter(|_| !line.corrects_clock());
                reading.latest = Some(before.map_or(line.at(), |latest| latest.max(line.at())));
                reading.lines.push(line);
            }
            Err(what) => {
                reading.fault = Some(Fault::Damaged { line: sequence, what });
                break;
            }
        }
        rest = after.get(1..).unwrap_or_default();
        reading.last = end as u64 + 1;
        reading.length += reading.last;
    }
    reading
}

fn next(bytes: &[u8], before: &Reading, sequence: u64) -> Result<Line, Damage> {
    let line = Line::parse(bytes)?;
    if line.sequence() != sequence {
        return Err(Damage::Sequence(line.sequence()));
    }
    if line.previous() != before.head() {
        return Err(Damage::Previous);
    }
    match before.latest {
        Some(latest) if !line.corrects_clock() && is_before(latest, line.at()) => {
            Err(Damage::SetBack { at: line.at(), latest })
        }
        _ => Ok(line),
    }
}

/// The latest date of lines in order, from the last on that corrects the clock: what many small steps
/// back add up to counts as one.
pub(crate) fn latest(lines: &[Line]) -> Option<Stamp> {
    let mut latest: Option<Stamp> = None;
    for line in lines.iter().rev() {
        latest = Some(latest.map_or(line.at(), |latest| latest.max(line.at())));
        if line.corrects_clock() {
            break;
        }
    }
    latest
}

/// Whether `at` lies further before the latest date than two clocks may differ.
pub(crate) fn is_before(latest: Stamp, at: Stamp) -> bool {
    latest.instant().since(at.instant()) > CLOCK_TOLERANCE
}
