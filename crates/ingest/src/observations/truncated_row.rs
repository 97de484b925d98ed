//! The file ends within a row.

use super::Notes;
use trace::{FigureKind, Definition, Rank, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "truncated_row",
    title: "truncated last row",
    rank: Rank::Note,
    figures: &[("cell", FigureKind::Word), ("text", FigureKind::Word)],
    sentence: "The file ends within this row. [Its last cell (\"{cell}\") may be cut and counts as \
               blank, as do the missing ones.][It has no readings (\"{text}\") and is not used.]",
    about: &[],
    why: "The file ends within a row: the logger was still writing, or the copy is not complete.",
    what_to_do: "Copy the file again once the logger has closed it.",
    source: "Holdtrace's own check (method, section 1)",
};

pub(super) fn find(notes: &mut Notes<'_>) {
    for (index, file) in notes.run.files.iter().enumerate() {
        let Some((line, row, text)) = &file.problems.truncated else { continue };
        let interval = row.and_then(|row| notes.interval(row, row));
        let name = if row.is_some() { "cell" } else { "text" };
        notes.add(index, *line, 1, interval, vec![(name, Value::Word(text.clone()))]);
    }
}
