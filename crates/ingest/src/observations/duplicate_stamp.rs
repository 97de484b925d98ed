//! Rows of one instant, and files that are given twice.

use super::Notes;
use crate::merge::same;
use crate::place::Direction;
use crate::words::RowTally;
use std::collections::BTreeMap;
use trace::{FigureKind, Definition, Rank, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "duplicate_stamp",
    title: "duplicate time stamp",
    rank: Rank::Note,
    figures: &[("copy", FigureKind::Word), ("same", FigureKind::Count), ("other", FigureKind::Count), ("place", FigureKind::Place)],
    sentence: "[The file is byte for byte the same as {copy}. It adds nothing to the record.]\
               [Rows with the time stamp and the readings of a row before: {same}, the first like \
               {place}. They count once.]\
               [Rows with the time stamp of a row before and other readings: {other}, the first like \
               {place}. The worst reading of each channel is kept; check the logger's clock.]",
    about: &[],
    why: "Rows of one instant with different readings can't all be right; the worst reading of \
          each channel counts.",
    what_to_do: "Check the clock of the logger, and whether a file was exported twice.",
    source: "method, section 3",
};

pub(super) fn find(notes: &mut Notes<'_>) {
    copies(notes);
    rows(notes);
}

/// Files with the same bytes.
fn copies(notes: &mut Notes<'_>) {
    for turn in &notes.run.placed.turns {
        if turn.direction != Direction::Repeated {
            continue;
        }
        let Some(file) = notes.run.files.get(turn.file) else { continue };
        let first = notes.run.files.iter().find(|other| other.sha256 == file.sha256);
        let name = first.map_or("another file", |first| &first.name).to_owned();
        let count = (file.rows.len() as u64).max(1);
        notes.add(turn.file, file.header_line, count, None, vec![("copy", Value::Word(name))]);
    }
}

/// Rows with one instant; those of a later pass are told with their clock.
fn rows(notes: &mut Notes<'_>) {
    let Some(groups) = notes.run.groups else { return };
    let merged = notes.run.placed.merged();
    let is_merged = |row: u32| {
        let before = merged.partition_point(|rows| rows.start <= row).checked_sub(1);
        before.and_then(|at| merged.get(at)).is_some_and(|rows| rows.contains(&row))
    };
    let mut by_file: BTreeMap<(usize, bool), (RowTally, Value)> = BTreeMap::new();
    for rows in groups.iter() {
        let [first, others @ ..] = rows else { continue };
        let others = || others.iter().copied().filter(|&other| !is_merged(other));
        let alike = others().all(|other| same(notes.run.store, *first, other));
        for other in others() {
            let entry = by_file
                .entry((notes.file_of(other), alike))
                .or_insert_with(|| (RowTally::default(), notes.place_of(*first)));
            entry.0.add(other as usize, notes.line_of(other));
        }
    }
    for ((file, alike), (tally, place)) in by_file {
        let name = if alike { "same" } else { "other" };
        let figures = vec![(name, Value::Count(tally.count)), ("place", place)];
        notes.add_rows(file, tally, figures);
    }
}
