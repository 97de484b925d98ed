//! Rows that were recorded and have no place in time (method, section 3).
//!
//! Rows in a row of one file are one group. It lies between the placed rows around it; where its
//! file has none on one side, at the next sample of the record on that side.

use crate::body::FileRows;
use crate::place::{Direction, NOWHERE, Placed, Turn};
use crate::stamp::Stamp;
use crate::store::{AnyChannel, Store, text_slot};
use std::ops::Range;
use trace::{
    Channel, Duration, Instant, Interval, Invalid, Reading, Role, SourcePosition, Unplaced,
    UnplacedRow, ValveState,
};

/// Rows without a place, one after the other in their file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Group {
    /// The file by its index.
    pub(crate) file: usize,
    /// The rows in the store.
    pub(crate) rows: Range<usize>,
    /// How many of them have a stamp that can't be read; the others were of no local time.
    pub(crate) unreadable: u64,
    pub(crate) interval: Interval,
}

/// All groups, in the order in which the files were given. `samples` are the instants of the record.
pub(crate) fn groups(
    files: &[FileRows],
    placed: &Placed,
    stamps: &[Stamp],
    samples: &[Instant],
) -> Vec<Group> {
    let mut groups = Vec::new();
    if !placed.unplaced {
        return groups;
    }
    let mut turns = placed.turns.clone();
    turns.sort_by_key(|turn| turn.file);
    for turn in turns {
        let Some(file) = files.get(turn.file) else { continue };
        if turn.direction == Direction::Repeated {
            continue;
        }
        let at = |row: usize| {
            let instant = placed.instants.get(row).copied().filter(|&at| at != NOWHERE);
            instant.map(Instant::from_unix_milliseconds)
        };
        let mut start = file.rows.start;
        while start < file.rows.end {
            let rows = start
                ..(start..file.rows.end).find(|&row| at(row).is_some()).unwrap_or(file.rows.end);
            if !rows.is_empty() {
                let before = rows.start.checked_sub(1).filter(|row| file.rows.contains(row));
                let after = Some(rows.end).filter(|row| file.rows.contains(row));
                let (before, after) = (before.and_then(at), after.and_then(at));
                let interval = interval(turn, before, after, samples);
                let unreadable = stamps.get(rows.clone()).unwrap_or_default();
                let unreadable =
                    unreadable.iter().filter(|&&stamp| stamp == Stamp::UNREADABLE).count() as u64;
                groups.push(Group { file: turn.file, rows: rows.clone(), unreadable, interval });
            }
            start = rows.end + 1;
        }
    }
    groups
}

/// Between the placed rows before and after in the file.
fn interval(
    turn: Turn,
    before: Option<Instant>,
    after: Option<Instant>,
    samples: &[Instant],
) -> Interval {
    let (earlier, later) = match turn.direction {
        Direction::NewestFirst => (after, before),
        Direction::OldestFirst | Direction::Repeated => (before, after),
    };
    let until = |instant: Instant| {
        let at = samples.partition_point(|&sample| sample <= instant).checked_sub(1)?;
        samples.get(at).copied()
    };
    let beyond = |instant: Instant| {
        samples.get(samples.partition_point(|&sample| sample <= instant)).copied()
    };
    let ends = match (earlier, later) {
        (Some(earlier), later) => (Some(earlier), later.or_else(|| beyond(earlier))),
        (None, Some(later)) => (until(later - Duration::from_milliseconds(1)), Some(later)),
        // No row of the file has a place: its rows are of the hour that was skipped, and its key
        // is the last instant before.
        (None, None) => match turn.key.map(Instant::from_unix_milliseconds) {
            Some(key) => (until(key), beyond(key)),
            None => (samples.first().copied(), samples.last().copied()),
        },
    };
    match ends {
        (Some(one), Some(other)) => Interval::between(one, other),
        (Some(only), None) | (None, Some(only)) => Interval::at(only),
        // A record has at least one sample.
        (None, None) => Interval::at(Instant::default()),
    }
}

/// The groups as the record keeps them, in order of their intervals.
pub(crate) fn unplaced(groups: &[Group], files: &[FileRows], store: &Store) -> Vec<Unplaced> {
    let mut unplaced: Vec<Unplaced> = groups
        .iter()
        .filter_map(|group| {
            let file = files.get(group.file)?;
            Some(Unplaced {
                interval: group.interval,
                position: SourcePosition {
                    file: file.name.clone(),
                    line: file.lines.of(group.rows.start - file.rows.start),
                },
                rows: group.rows.clone().map(|row| unplaced_row(store, row)).collect(),
            })
        })
        .collect();
    unplaced.sort_by(|one, other| {
        one.interval.cmp(&other.interval).then_with(|| one.position.cmp(&other.position))
    });
    unplaced
}

fn unplaced_row(store: &Store, row: usize) -> UnplacedRow {
    let reading = |role: Role| store.number(role).map(|channel| channel.view().reading(row));
    let word = |role: Role| {
        let text = text_slot(role).and_then(|slot| store.texts.get(slot)?.as_ref());
        text.map_or_else(String::new, |text| text.word(row).to_owned())
    };
    UnplacedRow {
        valve: store.valve.get(row).copied().unwrap_or(ValveState::Unknown),
        temperature: reading(Role::HoldingTemperature).unwrap_or(Reading::Invalid(Invalid::Blank)),
        differential: differential(store, row),
        product: word(Role::Product),
        lot: word(Role::Lot),
    }
}

/// Pasteurized minus raw, as the record has it.
fn differential(store: &Store, row: usize) -> Reading {
    let pressure = |role: Role| match store.number(role) {
        Some(AnyChannel::Pressure(channel)) => Some(channel),
        _ => None,
    };
    if !store.has_pair() {
        let direct = pressure(Role::DifferentialPressure);
        return direct.map_or(Reading::Invalid(Invalid::Blank), |channel| channel.reading(row));
    }
    let one = |role: Role| {
        let channel = pressure(role)?;
        let mut one = channel.empty_like();
        one.push(channel.reading(row));
        Some(one)
    };
    match (one(Role::PasteurizedPressure), one(Role::RawPressure)) {
        (Some(pasteurized), Some(raw)) => Channel::difference(&pasteurized, &raw).reading(0),
        _ => Reading::Invalid(Invalid::Blank),
    }
}
