//! The logger's clock was set back, or a file begins before the file before it ended.

use super::{Notes, ONE_BY_ONE};
use crate::place::Pass;
use std::collections::BTreeMap;
use trace::{FigureKind, Definition, Duration, Rank, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "clock_set_back",
    title: "clock set back",
    rank: Rank::Close,
    figures: &[("by", FigureKind::Time), ("before", FigureKind::Place), ("overlap", FigureKind::Time), ("end", FigureKind::Place), ("more", FigureKind::Count), ("last", FigureKind::Place), ("rows", FigureKind::Count)],
    sentence: "[The clock was set back by {by} after {before}. ]\
               [The file begins {overlap} before {end}, and the two do not say the same of that \
               time. ]\
               [The clock was set back {more} more times in this file, the last time after {last}. ]\
               Rows from here on that repeat time recorded before: {rows}. They are merged into the \
               nearest samples, with the worst reading of each channel. Check the logger's clock.",
    about: &[],
    why: "A clock that is set back puts readings at a wrong time, and one stretch of time is \
          recorded twice.",
    what_to_do: "Find out who set the clock of the logger and why, and check that it is right now.",
    source: "method, section 3",
};

/// One observation a pass; many in one file are told together.
pub(super) fn find(notes: &mut Notes<'_>) {
    let mut by_file: BTreeMap<usize, Vec<&Pass>> = BTreeMap::new();
    for pass in &notes.run.placed.passes {
        by_file.entry(notes.file_of(pass.row)).or_default().push(pass);
    }
    for (file, passes) in by_file {
        let (single, rest) = passes.split_at(passes.len().min(ONE_BY_ONE));
        for pass in single {
            let (back, place) = if pass.begins_file { ("overlap", "end") } else { ("by", "before") };
            let figures = vec![
                (back, Value::Time(Duration::from_milliseconds(pass.back))),
                (place, notes.place_of(pass.before)),
                ("rows", Value::Count(pass.rows)),
            ];
            let line = notes.line_of(pass.row);
            notes.add(file, line, pass.rows.max(1), Some(pass.span), figures);
        }
        if let (Some(first), Some(last)) = (rest.first(), rest.last()) {
            let rows = rest.iter().map(|pass| pass.rows).sum();
            let span = rest.iter().fold(first.span, |span, pass| span.hull(pass.span));
            let figures = vec![
                ("more", Value::Count(rest.len() as u64)),
                ("last", notes.place_of(last.before)),
                ("rows", Value::Count(rows)),
            ];
            let line = notes.line_of(first.row);
            notes.add(file, line, rows.max(1), Some(span), figures);
        }
    }
}
