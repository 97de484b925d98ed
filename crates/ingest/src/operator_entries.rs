//! Operators' entries: a CSV of time, what it is about, reading, name and note.
//!
//! It is written by people on the day and is read strictly: a cell that can't be understood is an error
//! with its line and column, never a guess.

use crate::error::Error;
use crate::written::{Written, bytes_of, instant, wrong};
use plant::Plant;
use std::path::Path;
use trace::{
    Decimal, DecimalMark, EntryKind, OperatorEntries, OperatorEntry, TemperatureUnit, Toward,
    Unit as _,
};

/// What the file is called in messages.
pub(crate) const WHAT: &str = "file of entries";

/// Reads the operators' entries at `path`; it may be a link.
///
/// The header names `time`, `entry` and `by`, and may name `reading`, with its unit (`reading (degF)` or
/// `reading (degC)`), and `note`. Times are `2026-03-04 05:20` on the plant's clock, with seconds or not, or
/// RFC 3339; one without seconds means the whole minute. In the repeated autumn hour it is the first pass.
///
/// # Errors
/// When it can't be read or is too long, a column is missing, or a cell can't be understood; with line and
/// column.
pub fn read_operator_entries(path: &Path, plant: &Plant) -> Result<OperatorEntries, Error> {
    parse_operator_entries(&path.display().to_string(), &bytes_of(path)?, plant)
}

/// The same of bytes that are in memory already; `file` is their name for messages.
///
/// # Errors
/// As [`read_operator_entries`], but for what can't be read or is too long.
pub fn parse_operator_entries(
    file: &str,
    bytes: &[u8],
    plant: &Plant,
) -> Result<OperatorEntries, Error> {
    let written = Written::parse(file, bytes, WHAT)?;
    let (time, about, by) =
        (written.need("time", WHAT)?, written.need("entry", WHAT)?, written.need("by", WHAT)?);
    let reading = match written.find(&["reading"]) {
        None => None,
        Some(column) => {
            let name = written.names.get(column).map_or("", String::as_str);
            let unit =
                name.split(['(', '[']).nth(1).unwrap_or_default().trim_end_matches([')', ']']);
            let unit = TemperatureUnit::from_word(unit).ok_or_else(|| {
                let message = format!(
                    "the column {name:?} needs its unit: \"reading (degF)\" or \"reading (degC)\""
                );
                wrong(file, 1, column, message)
            })?;
            Some((column, unit))
        }
    };
    let note = written.find(&["note"]);
    let mut entries = Vec::new();
    for (line, row) in &written.rows {
        let cell = |column: usize| row.get(column).unwrap_or_default();
        let wrong = |column, message: String| wrong(file, *line, column, message);
        let kind = EntryKind::from_word(cell(about)).ok_or_else(|| {
            let kinds: Vec<&str> = EntryKind::ALL.into_iter().map(EntryKind::key).collect();
            wrong(about, format!("{:?} is none of {}", cell(about), kinds.join(", ")))
        })?;
        if cell(by).is_empty() {
            return Err(wrong(by, "the entry names nobody who made it".to_owned()));
        }
        let note = note.map_or("", cell).to_owned();
        let text = reading.map_or("", |(column, _)| cell(column));
        let at = instant(cell(time), plant.zone, false).map_err(|message| wrong(time, message))?;
        let value = match (kind.is_reading(), reading.filter(|_| !text.is_empty())) {
            (true, Some((column, unit))) => {
                // A temperature has no thousands: either mark is the decimal mark.
                let mark = if text.contains(',') { DecimalMark::Comma } else { DecimalMark::Dot };
                let value = Decimal::parse(text.as_bytes(), mark, Toward::Down)
                    .map_err(|_not_a_decimal| wrong(column, format!("{text:?} is not a number")))?;
                Some((value, unit))
            }
            (true, None) => {
                return Err(wrong(about, format!("an entry {:?} needs a reading", kind.key())));
            }
            (false, Some((column, _))) => {
                return Err(wrong(column, format!("an entry {:?} has no reading", kind.key())));
            }
            (false, None) if note.is_empty() => {
                return Err(wrong(about, format!("an entry {:?} needs a note", kind.key())));
            }
            (false, None) => None,
        };
        entries.push(OperatorEntry {
            at,
            // `05:20` and no more.
            to_the_minute: cell(time).matches(':').count() == 1,
            kind,
            reading: value,
            by: cell(by).to_owned(),
            note,
            line: *line,
        });
    }
    let mut source = written.source;
    source.rows = entries.len() as u64;
    Ok(OperatorEntries::new(source, entries))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Result<OperatorEntries, Error> {
        parse_operator_entries("day.entries.csv", text.as_bytes(), &Plant::assumed())
    }

    #[test]
    fn entries_in_either_dialect_in_order_of_time() {
        for text in [
            "Time,Entry,Reading (degF),By,Note\n\
             2026-03-04 09:00,occurrence,,R. Vale,steam low\n\
             2026-03-04 05:20,Cut-in,161.4,R. Vale,\n",
            "\u{feff}time;entry;reading [°F];by;note\r\n\r\n\
             2026-03-04T09:00:00Z;occurrence;;R. Vale;steam low\r\n2026-03-04 05:20;cut in;161,4;R. Vale;\r\n",
        ] {
            let Ok(entries) = read(text) else { panic!("{text}: {:?}", read(text)) };
            let [first, second] = entries.entries() else { panic!("two: {entries:?}") };
            assert_eq!((first.kind, first.to_the_minute), (EntryKind::CutIn, true));
            let reading = (Decimal::new(1614, 1), TemperatureUnit::Fahrenheit);
            assert_eq!(first.reading, Some(reading));
            assert_eq!((second.kind, second.note.as_str()), (EntryKind::Occurrence, "steam low"));
            assert_eq!(entries.source().rows, 2);
        }
    }

    #[test]
    fn mistakes_say_where() {
        let head = "time,entry,reading (degC),by,note\n";
        for (text, message) in [
            ("time,entry\n", "day.entries.csv:1:1: the file of entries needs a column \"by\""),
            (
                "time,entry,by,reading\n",
                "day.entries.csv:1:4: the column \"reading\" needs its unit",
            ),
            (&format!("{head}05:20,seals,,A,ok\n"), "day.entries.csv:2:1: \"05:20\" is no time"),
            (
                &format!("{head}2026-03-04 05:20,valve,,A,ok\n"),
                "day.entries.csv:2:2: \"valve\" is none of",
            ),
            (
                &format!("{head}2026-03-04 05:20,seals,,,ok\n"),
                "day.entries.csv:2:4: the entry names nobody",
            ),
            (
                &format!("{head}2026-03-04 05:20,seals,,A,\n"),
                "day.entries.csv:2:2: an entry \"seals\" needs a note",
            ),
            (
                &format!("{head}2026-03-04 05:20,seals,7,A,ok\n"),
                "day.entries.csv:2:3: an entry \"seals\" has no reading",
            ),
            (
                &format!("{head}2026-03-04 05:20,cut_in,,A,\n"),
                "day.entries.csv:2:2: an entry \"cut_in\" needs a reading",
            ),
            (
                &format!("{head}2026-03-04 05:20,cut_in,hot,A,\n"),
                "day.entries.csv:2:3: \"hot\" is not a number",
            ),
        ] {
            let error = read(text).map_or_else(|error| error.to_string(), |_| String::new());
            assert!(error.contains(message), "{text}: {error}");
        }
    }
}
