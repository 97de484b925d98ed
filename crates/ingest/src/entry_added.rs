//! One more of the operators' entries, written at the end of their file: what stands in it is not touched,
//! and the file as a whole must be one that can be read.

use crate::error::Error;
use crate::operator_entries::{WHAT, parse_operator_entries};
use crate::written::{Written, delimiter, wrong};
use plant::Plant;
use trace::{EntryKind, TemperatureUnit};

/// One entry as a person writes it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewEntry {
    /// When: `2026-03-04 05:20` on the plant's clock, with seconds or not, or RFC 3339.
    pub time: String,
    /// About what.
    pub kind: EntryKind,
    /// The temperature that was read, as written; blank where there is none.
    pub reading: String,
    /// Who made it.
    pub by: String,
    /// What else there is to say.
    pub note: String,
}

/// The bytes of a file of entries with one more; `before` is what stands in it, `None` where there is no
/// file yet. `file` is its name for messages, and a new one has its readings in `unit`.
///
/// # Errors
/// When what stands in it can't be read, has no column for what is to be written, or the entry itself can't be
/// understood; with line and column.
pub fn with_entry(
    (file, before): (&str, Option<&[u8]>),
    entry: &NewEntry,
    unit: TemperatureUnit,
    plant: &Plant,
) -> Result<Vec<u8>, Error> {
    let mut bytes = match before {
        Some(before) => {
            parse_operator_entries(file, before, plant)?;
            before.to_vec()
        }
        None => format!("time,entry,reading ({}),by,note\n", word(unit)).into_bytes(),
    };
    let names = Written::parse(file, &bytes, WHAT)?.names;
    let line_end: &[u8] = if bytes.contains(&b'\r') { b"\r\n" } else { b"\n" };
    if !bytes.ends_with(b"\n") {
        bytes.extend_from_slice(line_end);
    }
    let cells = [
        ("time", &entry.time),
        ("entry", &entry.kind.key().to_owned()),
        ("reading", &entry.reading),
        ("by", &entry.by),
        ("note", &entry.note),
    ]
    .map(|(name, text)| (name, text.trim().to_owned()));
    let plain = |name: &str| name.split(['(', '[']).next().unwrap_or_default().trim().to_owned();
    let has = |wanted: &str| names.iter().any(|name| plain(name) == wanted);
    for (name, text) in &cells {
        if !text.is_empty() && !has(name) {
            let message = format!("the {WHAT} has no column {name:?} for {text:?}; add it");
            return Err(wrong(file, 1, 0, message));
        }
    }
    let row = names.iter().map(|name| {
        let name = plain(name);
        cells.iter().find(|(known, _)| *known == name).map_or("", |(_, text)| text.as_str())
    });
    let mut writer = csv::WriterBuilder::new().delimiter(delimiter(&bytes)).from_writer(Vec::new());
    let refused = |cause: String| wrong(file, 1, 0, cause);
    writer.write_record(row).map_err(|cause| refused(cause.to_string()))?;
    let mut row = writer.into_inner().map_err(|cause| refused(cause.to_string()))?;
    while row.last().is_some_and(u8::is_ascii_whitespace) {
        row.pop();
    }
    bytes.extend_from_slice(&row);
    bytes.extend_from_slice(line_end);
    parse_operator_entries(file, &bytes, plant)?;
    Ok(bytes)
}

/// A unit as a header names it, in letters that every program keeps.
const fn word(unit: TemperatureUnit) -> &'static str {
    match unit {
        TemperatureUnit::Fahrenheit => "degF",
        TemperatureUnit::Celsius => "degC",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn entry(kind: EntryKind, reading: &str, note: &str) -> NewEntry {
        NewEntry {
            time: "2026-03-04 05:20".to_owned(),
            kind,
            reading: reading.to_owned(),
            by: "R. Vale".to_owned(),
            note: note.to_owned(),
        }
    }

    fn added(before: Option<&str>, entry: &NewEntry) -> Result<String, String> {
        let before = before.map(str::as_bytes);
        let plant = Plant::assumed();
        with_entry(("day.entries.csv", before), entry, TemperatureUnit::Fahrenheit, &plant)
            .map(|bytes| String::from_utf8_lossy(&bytes).into_owned())
            .map_err(|cause| cause.to_string())
    }

    #[test]
    fn a_new_file_has_all_columns_and_the_next_entry_follows() {
        let first = added(None, &entry(EntryKind::Indicating, "164.8", ""));
        let text =
            "time,entry,reading (degF),by,note\n2026-03-04 05:20,indicating,164.8,R. Vale,\n";
        assert_eq!(first.as_deref(), Ok(text));
        let next = added(Some(text), &entry(EntryKind::Occurrence, "", "low, \"hunting\" steam"));
        let row = "2026-03-04 05:20,occurrence,,R. Vale,\"low, \"\"hunting\"\" steam\"\n";
        assert_eq!(next, Ok(format!("{text}{row}")));
    }

    /// The dialect, the order of the columns and the line ends are the file's own.
    #[test]
    fn a_file_of_another_dialect_keeps_it() {
        let text = "by;time;entry;reading [°C]\r\nA;2026-03-04 05:00;cut in;73,4";
        let next = added(Some(text), &entry(EntryKind::Indicating, "73,9", ""));
        let row = "\r\nR. Vale;2026-03-04 05:20;indicating;73,9\r\n";
        assert_eq!(next, Ok(format!("{text}{row}")));
        let without = added(Some(text), &entry(EntryKind::Seals, "", "intact"));
        assert!(without.is_err_and(|why| why.contains("has no column \"note\"")));
    }

    #[test]
    fn what_could_not_be_read_again_is_not_written() {
        let late = NewEntry { time: "5:20".to_owned(), ..entry(EntryKind::Seals, "", "intact") };
        for (entry, why) in [
            (late, "\"5:20\" is no time"),
            (entry(EntryKind::CutIn, "", ""), "needs a reading"),
            (entry(EntryKind::CutIn, "warm", ""), "is not a number"),
            (entry(EntryKind::Seals, "", " "), "needs a note"),
            (entry(EntryKind::Seals, "7", "x"), "has no reading"),
            (NewEntry { by: " ".to_owned(), ..entry(EntryKind::Seals, "", "x") }, "names nobody"),
        ] {
            assert!(added(None, &entry).is_err_and(|told| told.contains(why)), "{why}");
        }
        let broken = added(Some("time,entry\n"), &entry(EntryKind::Seals, "", "x"));
        assert!(broken.is_err_and(|told| told.contains("needs a column \"by\"")));
    }
}
