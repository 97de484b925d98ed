//! CSV files that people write: short, read strictly, every mistake told with its line and column.

use crate::error::Error;
use chrono::{DateTime, NaiveDateTime};
use plant::{LocalResolution, Zone};
use sha2::{Digest as _, Sha256};
use std::path::Path;
use std::sync::Arc;
use trace::{Instant, SourceFile};

/// The local times that are understood beside RFC 3339.
const LOCAL: [&str; 4] =
    ["%Y-%m-%d %H:%M:%S", "%Y-%m-%dT%H:%M:%S", "%Y-%m-%d %H:%M", "%Y-%m-%dT%H:%M"];

/// No run sheet and no file of entries is longer (16 MiB, ours): a row for each second of a day has room.
pub const LONGEST_WRITTEN: u64 = 16 << 20;

/// No cell has more characters (ours). A lot or a tank is said again with every exception of its
/// run, so its length must not multiply with the length of the record.
const LONGEST_CELL: usize = 200;

/// The bytes of such a file; it may be a link.
pub(crate) fn bytes_of(path: &Path) -> Result<Vec<u8>, Error> {
    let file = path.display().to_string();
    disk::read(path, LONGEST_WRITTEN, disk::Links::Follow)
        .map_err(|cause| Error::Read { file, cause: Arc::new(cause) })
}

/// What stands between the cells of such a file.
pub(crate) fn delimiter(bytes: &[u8]) -> u8 {
    let first_line = bytes.split(|&byte| byte == b'\n').next().unwrap_or_default();
    if first_line.contains(&b';') { b';' } else { b',' }
}

/// Such a file: its header and its rows that are not blank.
pub(crate) struct Written {
    /// The file, of no rows yet.
    pub source: SourceFile,
    /// The header in lower case.
    pub names: Vec<String>,
    /// The rows, each with its line, counted from 1.
    pub rows: Vec<(u64, csv::StringRecord)>,
}

impl Written {
    /// Takes the bytes of a file apart; `file` is its name for messages, `what` it is in one word.
    pub fn parse(file: &str, bytes: &[u8], what: &str) -> Result<Self, Error> {
        let source = SourceFile {
            name: file.into(),
            bytes: bytes.len() as u64,
            rows: 0,
            sha256: Sha256::digest(bytes).into(),
        };
        let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
        let mut reader = csv::ReaderBuilder::new()
            .delimiter(delimiter(bytes))
            .trim(csv::Trim::All)
            .from_reader(bytes);
        let broken = |cause: csv::Error| {
            let line = cause.position().map_or(1, csv::Position::line);
            wrong(file, line, 0, format!("{cause}; save the {what} as CSV in UTF-8"))
        };
        let names = reader.headers().map_err(broken)?.iter().map(str::to_lowercase).collect();
        let mut rows = Vec::new();
        for record in reader.records() {
            let record = record.map_err(broken)?;
            let line = record.position().map_or(1, csv::Position::line);
            if record.iter().all(str::is_empty) {
                continue;
            }
            if let Some(column) =
                record.iter().position(|cell| cell.chars().nth(LONGEST_CELL).is_some())
            {
                let message =
                    format!("the cell has more than {LONGEST_CELL} characters; shorten it");
                return Err(wrong(file, line, column, message));
            }
            rows.push((line, record));
        }
        Ok(Self { source, names, rows })
    }

    /// The first column of one of these names, whatever unit stands behind it in brackets.
    pub fn find(&self, wanted: &[&str]) -> Option<usize> {
        let plain = |name: &String| {
            wanted.contains(&name.split(['(', '[']).next().unwrap_or_default().trim())
        };
        self.names.iter().position(plain)
    }

    /// The same of one that has to be there.
    pub fn need(&self, wanted: &str, what: &str) -> Result<usize, Error> {
        self.find(&[wanted]).ok_or_else(|| {
            let names = self.names.join(", ");
            let message = format!("the {what} needs a column {wanted:?}; it has {names}");
            wrong(&self.source.name, 1, 0, message)
        })
    }
}

/// What is wrong with a cell; the column is counted from 0.
pub(crate) fn wrong(file: &str, line: u64, column: usize, message: String) -> Error {
    Error::Written { file: file.to_owned(), line, column: column as u64 + 1, message }
}

/// A time as a person writes it: `2026-03-14 09:00` on the plant's clock, or RFC 3339. In the repeated
/// autumn hour it is the first pass, or the second where `late`.
pub(crate) fn instant(text: &str, zone: Zone, late: bool) -> Result<Instant, String> {
    if let Ok(absolute) = DateTime::parse_from_rfc3339(text) {
        return Ok(Instant::from_unix_milliseconds(absolute.timestamp_millis()));
    }
    let local = LOCAL
        .iter()
        .find_map(|format| NaiveDateTime::parse_from_str(text, format).ok())
        .ok_or_else(|| format!("{text:?} is no time such as \"2026-03-04 05:20\""))?;
    match zone.resolve(local) {
        LocalResolution::One(instant) => Ok(instant),
        LocalResolution::Two(first, second) => Ok(if late { second } else { first }),
        LocalResolution::None => {
            Err(format!("{text} does not exist in {}; clocks went forward", zone.name()))
        }
    }
}

/// A time as a person writes it: `2026-03-14 09:00` on the plant's clock, or RFC 3339. In the repeated
/// autumn hour it is the first pass.
///
/// # Errors
/// When it is no time, or one that the plant's clock does not show.
pub fn time_on_clock(text: &str, zone: Zone) -> Result<Instant, Error> {
    instant(text.trim(), zone, false).map_err(|message| Error::Time { message })
}
