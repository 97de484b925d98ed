//! Rows with more or fewer cells than the header.

use super::Notes;
use trace::{FigureKind, Definition, Rank, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "ragged_row",
    title: "ragged row",
    rank: Rank::Note,
    figures: &[("short", FigureKind::Count), ("wide", FigureKind::Count)],
    sentence: "[Rows with fewer cells than the header: {short}. The missing cells count as blank.]\
               [Rows with more cells than the header: {wide}. Nothing tells which cell is one too \
               many, so none of their readings is used.]",
    source: "method, section 1; ours",
};

pub(super) fn find(notes: &mut Notes<'_>) {
    for (index, file) in notes.run.files.iter().enumerate() {
        for (name, tally) in [("short", file.problems.short), ("wide", file.problems.wide)] {
            if tally.count > 0 {
                notes.add_rows(index, tally, vec![(name, Value::Count(tally.count))]);
            }
        }
    }
}
