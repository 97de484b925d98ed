//! A column of readings calls itself an average.

use super::Notes;
use std::collections::BTreeMap;
use trace::{FigureKind, Definition, Rank, Role, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "averaged_readings",
    title: "averaged readings",
    rank: Rank::Note,
    figures: &[("column", FigureKind::Word), ("channel", FigureKind::Word), ("word", FigureKind::Word)],
    sentence: "The column \"{column}\", the {channel}, calls itself an average (\"{word}\"). A short \
               excursion can hide in an average. Set the logger to record single readings.",
    about: &[],
    why: "A short excursion disappears in an average, so the record may look better than the \
          process was.",
    what_to_do: "Set the logger to record single readings.",
    source: "common practice; the words are those that logger headers use",
};

/// One observation a channel, at the first file that has the column.
pub(super) fn find(notes: &mut Notes<'_>) {
    let mut rows: BTreeMap<Role, u64> = BTreeMap::new();
    for file in notes.run.files {
        for averaged in &file.averaged {
            *rows.entry(averaged.role).or_default() += file.rows.len() as u64;
        }
    }
    for (role, rows) in rows {
        let of_role = |(index, file): (usize, &crate::body::FileRows)| {
            let averaged = file.averaged.iter().find(|averaged| averaged.role == role)?;
            Some((index, file.header_line, averaged.clone()))
        };
        let Some((file, line, averaged)) =
            notes.run.files.iter().enumerate().find_map(of_role)
        else {
            continue;
        };
        let figures = vec![
            ("column", Value::Word(averaged.name)),
            ("channel", Value::Word(role.name().to_owned())),
            ("word", Value::Word(averaged.word)),
        ];
        notes.add(file, line, rows.max(1), None, figures);
    }
}
