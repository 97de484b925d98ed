//! Rows that were recorded, but whose stamp is unreadable or does not exist.

use super::{Figures, Notes, ONE_BY_ONE};
use crate::unplaced::Group;
use std::collections::BTreeMap;
use trace::{FigureKind, Definition, Rank, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "unplaced_rows",
    title: "rows without a usable time",
    rank: Rank::Close,
    figures: &[("more", FigureKind::Count), ("unreadable", FigureKind::Count), ("text", FigureKind::Word), ("skipped", FigureKind::Count), ("zone", FigureKind::Word)],
    sentence: "[Rows in {more} more places of this file, from here on. ]\
               [Rows whose time stamp can't be read: {unreadable}, the first \"{text}\". ]\
               [Rows with a local time that does not exist in {zone}, where the clock skipped that \
               hour: {skipped}; if the logger keeps winter time all year, say clock = \"standard\" \
               under files in the plant file. ]\
               They were recorded but have no place in time: the step between the rows around them \
               counts as a gap, however short it is.",
    about: &[],
    why: "Readings without a usable time belong to no moment, and the hole that they leave counts \
          as a gap.",
    what_to_do: "Look at these lines of the file. Have the clock of the logger corrected, or its \
                 setting in the plant file.",
    source: "method, section 3",
};

/// One observation a group; many in one file are told together.
pub(super) fn find(notes: &mut Notes<'_>) {
    let mut by_file: BTreeMap<usize, Vec<&Group>> = BTreeMap::new();
    for group in notes.run.unplaced {
        by_file.entry(group.file).or_default().push(group);
    }
    for (file, groups) in by_file {
        let (single, rest) = groups.split_at(groups.len().min(ONE_BY_ONE));
        for group in single {
            let figures = figures(notes, &[*group]);
            let count = group.rows.len() as u64;
            notes.add(file, line(notes, group), count, Some(group.interval), figures);
        }
        if let Some(first) = rest.first() {
            let mut all = vec![("more", Value::Count(rest.len() as u64))];
            all.extend(figures(notes, rest));
            let interval = rest.iter().fold(first.interval, |all, group| all.hull(group.interval));
            let count = rest.iter().map(|group| group.rows.len() as u64).sum();
            notes.add(file, line(notes, first), count, Some(interval), all);
        }
    }
}

fn line(notes: &Notes<'_>, group: &Group) -> u64 {
    notes.line_of(group.rows.start as u32)
}

fn figures(notes: &Notes<'_>, groups: &[&Group]) -> Figures {
    let unreadable: u64 = groups.iter().map(|group| group.unreadable).sum();
    let skipped = groups.iter().map(|group| group.rows.len() as u64).sum::<u64>() - unreadable;
    let mut figures = Vec::new();
    if unreadable > 0 {
        let text = groups.iter().find_map(|group| {
            let texts = &notes.run.files.get(group.file)?.problems.unreadable_texts;
            texts.iter().find(|(row, _)| group.rows.contains(row)).map(|(_, text)| text.clone())
        });
        figures.push(("unreadable", Value::Count(unreadable)));
        figures.push(("text", Value::Word(text.unwrap_or_default())));
    }
    if skipped > 0 {
        figures.push(("skipped", Value::Count(skipped)));
        figures.push(("zone", Value::Word(notes.run.zone.name().to_owned())));
    }
    figures
}
