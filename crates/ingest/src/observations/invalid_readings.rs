//! Cells that hold no reading: blank, not a number, or out of range.

use super::Notes;
use crate::body::FileRows;
use crate::words::{RowTally, Words};
use std::collections::BTreeMap;
use trace::{FigureKind, ChannelView, Definition, Invalid, Rank, Reading, Role, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "invalid_readings",
    title: "readings not usable",
    rank: Rank::Note,
    figures: &[("readings", FigureKind::Count), ("channel", FigureKind::Word), ("reason", FigureKind::Word), ("cell", FigureKind::Word), ("absent", FigureKind::Word), ("state", FigureKind::Word), ("cells", FigureKind::Count)],
    sentence: "[Readings of the {channel} that are {reason}: {readings}.][ The first is \"{cell}\".]\
               [The file has no column for the {absent}, though other files of the record have \
               one; rows without the reading: {readings}.]\
               [Blank cells of the {state}: {cells}.] None of them counts as safe.",
    about: &[],
    why: "A reading that is blank, no number or out of range proves nothing, and never counts as \
          safe.",
    what_to_do: "Check the sensor and the input of the logger. Where product went forward \
                 meanwhile an exception says so.",
    source: "method, section 1",
};

pub(super) fn find(notes: &mut Notes<'_>) {
    for (index, file) in notes.run.files.iter().enumerate() {
        numbers(notes, index, file);
        for (&role, words) in &file.valve_words {
            blank_words(notes, index, role, words);
        }
        // A logger that writes nothing where there is no leak is no fault.
        for (&role, words) in file.switch_words.iter().filter(|(role, _)| **role != Role::LeakDetect)
        {
            blank_words(notes, index, role, words);
        }
    }
}

/// One observation a channel and reason.
fn numbers(notes: &mut Notes<'_>, index: usize, file: &FileRows) {
    let store = notes.run.store;
    for role in crate::store::NUMBERS {
        let Some(channel) = store.number(role) else { continue };
        let absent = !file.columns.roles.contains_key(&role);
        let noted = file.unusable.keys().any(|(noted, _)| *noted == role);
        if file.rows.is_empty() || !absent && !noted {
            continue;
        }
        // A differential that stands beside the pair of another file is not used.
        if absent && role == Role::DifferentialPressure && store.has_pair() {
            continue;
        }
        for (reason, tally) in tallies(notes, channel.view(), file) {
            let name = Value::Word(role.name().to_owned());
            let mut figures = vec![("readings", Value::Count(tally.count))];
            if absent {
                figures.push(("absent", name));
            } else {
                figures.push(("channel", name));
                figures.push(("reason", Value::Word(reason.name().to_owned())));
                let first = file.unusable.get(&(role, reason));
                if let Some(first) = first.filter(|first| first.line == tally.first_line)
                    && !first.text.is_empty()
                {
                    figures.push(("cell", Value::Word(first.text.clone())));
                }
            }
            notes.add_rows(index, tally, figures);
        }
    }
}

/// The readings that are not valid; those of rows without a place are told with these.
fn tallies(
    notes: &Notes<'_>,
    channel: ChannelView<'_>,
    file: &FileRows,
) -> BTreeMap<Invalid, RowTally> {
    let mut tallies: BTreeMap<Invalid, RowTally> = BTreeMap::new();
    for (row, &mantissa) in
        channel.mantissas().iter().enumerate().take(file.rows.end).skip(file.rows.start)
    {
        if ChannelView::is_valid(mantissa) || notes.instant_of(row).is_none() {
            continue;
        }
        if let Reading::Invalid(reason) = channel.reading(row) {
            let line = file.lines.of(row - file.rows.start);
            tallies.entry(reason).or_default().add(row, line);
        }
    }
    tallies
}

fn blank_words<T: Copy>(notes: &mut Notes<'_>, index: usize, role: Role, words: &Words<T>) {
    let Some(blank) = words.seen().iter().find(|word| word.text.is_empty()) else { return };
    let figures = vec![
        ("state", Value::Word(role.name().to_owned())),
        ("cells", Value::Count(blank.rows.count)),
    ];
    notes.add_rows(index, blank.rows, figures);
}
