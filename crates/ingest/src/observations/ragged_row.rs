//! Rows with more or fewer cells than the header.

use super::Notes;
use trace::{FigureKind, Definition, Rank, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "ragged_row",
    title: "row with too few or too many cells",
    rank: Rank::Note,
    figures: &[("short", FigureKind::Count), ("wide", FigureKind::Count), ("absent", FigureKind::Word)],
    sentence: "[Rows with fewer cells than the header: {short}. Nothing tells which cell is missing, so \
               none of their readings is used.]\
               [Rows with more cells than the header: {wide}. Nothing tells which cell is one too \
               many, so none of their readings is used.]\
               [Every row ends before the column \"{absent}\" of the header. That column and those behind \
               it count as absent.]",
    about: &[],
    why: "In a row with too few or too many cells it is not known which reading belongs to which \
          column.",
    what_to_do: "Export the file again. Check its delimiter and its decimal sign if it comes back.",
    source: "method, section 1: Holdtrace's own choice",
};

pub(super) fn find(notes: &mut Notes<'_>) {
    for (index, file) in notes.run.files.iter().enumerate() {
        for (name, tally) in [("short", file.problems.short), ("wide", file.problems.wide)] {
            if tally.count > 0 {
                notes.add_rows(index, tally, vec![(name, Value::Count(tally.count))]);
            }
        }
        if let Some(name) = &file.problems.absent {
            let (line, rows) = (file.lines.of(0), file.rows.len() as u64);
            notes.add(index, line, rows, None, vec![("absent", Value::Word(name.clone()))]);
        }
    }
}
