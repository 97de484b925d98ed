//! Stamps to instants (method, section 3).
//!
//! Local stamps go through the plant's time zone. In the autumn hour that is passed twice a step
//! back in the order of the rows begins the second pass; what is known of the hour is carried from
//! one file to the next, so that a day may be cut into files anywhere. Stamps in the hour that is
//! skipped in spring have no instant.

use crate::file::FileRows;
use crate::stamp::{DAY, Stamp, Written};
use chrono::DateTime;
use plant::{LocalResolution, Zone};
use std::collections::HashMap;
use trace::Instant;

/// The instant of a row that has none.
pub(crate) const NOWHERE: i64 = i64::MIN;

/// Where all rows stand in time.
#[derive(Debug)]
pub(crate) struct Placed {
    /// By row; [`NOWHERE`] for a row that is not used.
    pub(crate) instants: Vec<i64>,
    /// The files in the order of their first stamps, and whether a file is read from its end.
    pub(crate) files: Vec<(usize, Direction)>,
    /// Whether the rows as read are in strictly increasing order, all of them used.
    pub(crate) in_order: bool,
    /// Each step back: the row, and the row before it in the order of the files.
    pub(crate) backward: Vec<(u32, u32)>,
    /// Rows whose local time does not exist.
    pub(crate) impossible: Vec<u32>,
}

/// How the rows of a file follow each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Direction {
    OldestFirst,
    NewestFirst,
    /// The same bytes as a file before: its rows add nothing.
    Repeated,
}

/// Places all rows. `days` are the dates of each file by number.
pub(crate) fn place(files: &[FileRows], days: &[Vec<i32>], stamps: &[Stamp], zone: Zone) -> Placed {
    let order = order(files, days, stamps, zone);
    let mut placed = Placed {
        instants: vec![NOWHERE; stamps.len()],
        in_order: order.iter().map(|&(file, _)| file).eq(0..files.len())
            && order.iter().all(|&(_, direction)| direction == Direction::OldestFirst),
        files: order,
        backward: Vec::new(),
        impossible: Vec::new(),
    };
    let mut clock = Clock::new(zone);
    let mut utc = Clock::new(Zone::UTC);
    let mut before: Option<(u32, i64)> = None;
    for (file, direction) in placed.files.clone() {
        let (Some(file), Some(days)) = (files.get(file), days.get(file)) else { continue };
        if direction == Direction::Repeated {
            continue;
        }
        let clock = if file.utc { &mut utc } else { &mut clock };
        let rows = file.rows.len();
        for step in 0..rows {
            let row = file.rows.start
                + if direction == Direction::NewestFirst { rows - 1 - step } else { step };
            let Some(&stamp) = stamps.get(row) else { continue };
            let Some(instant) = clock.instant(stamp, days) else {
                placed.impossible.push(row as u32);
                placed.in_order = false;
                continue;
            };
            if let Some((row_before, instant_before)) = before
                && instant <= instant_before
            {
                placed.in_order = false;
                if instant < instant_before {
                    placed.backward.push((row as u32, row_before));
                }
            }
            before = Some((row as u32, instant));
            if let Some(place) = placed.instants.get_mut(row) {
                *place = instant;
            }
        }
    }
    placed
}

/// Local milliseconds since the epoch, and the offset in minutes where the stamp says it; `Err`
/// is an instant.
fn local(stamp: Stamp, days: &[i32]) -> Result<(i64, Option<i64>), i64> {
    match stamp.written() {
        Written::Instant(instant) => Err(instant),
        Written::Local { date, milliseconds, offset } => {
            let day = days.get(date as usize).copied().unwrap_or_default();
            Ok((i64::from(day) * DAY + milliseconds, offset))
        }
    }
}

/// The files by their first stamp. All stamps of one repeated hour count as equal, and equal
/// files stay in the order in which they were given.
fn order(
    files: &[FileRows],
    days: &[Vec<i32>],
    stamps: &[Stamp],
    zone: Zone,
) -> Vec<(usize, Direction)> {
    let mut keyed: Vec<(i64, usize, Direction)> = Vec::with_capacity(files.len());
    for (index, (file, days)) in files.iter().zip(days).enumerate() {
        let rows = stamps.get(file.rows.clone()).unwrap_or_default();
        let mut direction = direction(rows, days);
        let same = |other: &FileRows| other.sha256 == file.sha256 && other.bytes == file.bytes;
        if files.iter().take(index).any(same) {
            direction = Direction::Repeated;
        }
        let mut clock = Clock::new(if file.utc { Zone::UTC } else { zone });
        let mut keys = rows.iter().map(|&stamp| clock.key(stamp, days));
        let key = match direction {
            Direction::NewestFirst => keys.rev().flatten().next(),
            Direction::OldestFirst | Direction::Repeated => keys.find_map(|key| key),
        };
        keyed.push((key.unwrap_or(i64::MAX), index, direction));
    }
    keyed.sort_by_key(|&(key, ..)| key);
    keyed.into_iter().map(|(_, index, direction)| (index, direction)).collect()
}

/// Some loggers export the newest row first: nine steps of ten go back.
fn direction(stamps: &[Stamp], days: &[i32]) -> Direction {
    const FEWEST: usize = 10;
    let written =
        |&stamp: &Stamp| local(stamp, days).map_or_else(|instant| instant, |local| local.0);
    let back = |stamps: &[Stamp]| {
        stamps.windows(2).filter(|pair| written(&pair[1]) < written(&pair[0])).count()
    };
    // The first rows tell at once in the common case.
    let head = stamps.get(..FEWEST).unwrap_or_default();
    if head.is_empty() || back(head) * 2 < FEWEST {
        return Direction::OldestFirst;
    }
    if back(stamps) * 10 >= (stamps.len() - 1) * 9 {
        Direction::NewestFirst
    } else {
        Direction::OldestFirst
    }
}

/// A time zone with what was found before, and the state of the repeated hour.
struct Clock {
    zone: Zone,
    /// For quarter hours of local time the offset that holds throughout, if one does.
    offsets: HashMap<i64, Option<i64>>,
    last: (i64, Option<i64>),
    fold: Option<Fold>,
}

/// A repeated hour that was entered.
#[derive(Debug, Clone, Copy)]
struct Fold {
    /// The first pass begins, local time and instant.
    start: (i64, i64),
    last_local: i64,
    second_pass: bool,
}

/// No zone changes its offset twice within a quarter of an hour.
const BLOCK: i64 = 15 * 60_000;

impl Clock {
    fn new(zone: Zone) -> Self {
        Self { zone, offsets: HashMap::new(), last: (i64::MIN, None), fold: None }
    }

    fn resolve(&self, local: i64) -> LocalResolution {
        // The years that are read lie well within the calendar.
        match DateTime::from_timestamp_millis(local) {
            Some(time) => self.zone.resolve(time.naive_utc()),
            None => LocalResolution::None,
        }
    }

    /// The offset of local time from UTC in the quarter hour of `local`, where one holds.
    fn offset(&mut self, local: i64) -> Option<i64> {
        let block = local.div_euclid(BLOCK);
        if self.last.0 != block {
            let offset = match self.offsets.get(&block) {
                Some(&offset) => offset,
                None => {
                    let at = |local: i64| match self.resolve(local) {
                        LocalResolution::One(instant) => Some(local - instant.unix_milliseconds()),
                        LocalResolution::Two(..) | LocalResolution::None => None,
                    };
                    let first = at(block * BLOCK);
                    let offset = first.filter(|_| first == at(block * BLOCK + BLOCK - 1));
                    self.offsets.insert(block, offset);
                    offset
                }
            };
            self.last = (block, offset);
        }
        self.last.1
    }

    /// The instant of the next row; `None` when there is none.
    fn instant(&mut self, stamp: Stamp, days: &[i32]) -> Option<i64> {
        let local = match local(stamp, days) {
            Err(instant) => return Some(instant),
            Ok((local, Some(minutes))) => return Some(local - minutes * 60_000),
            Ok((local, None)) => local,
        };
        if let Some(offset) = self.offset(local) {
            let instant = local - offset;
            if self.fold.is_some_and(|fold| instant < fold.start.1) {
                // Before the repeated hour again: whatever enters it next does so for the first time.
                self.fold = None;
            }
            return Some(instant);
        }
        match self.resolve(local) {
            LocalResolution::One(instant) => Some(instant.unix_milliseconds()),
            LocalResolution::None => None,
            LocalResolution::Two(first, second) => {
                let start = self.fold_start(local, first, second);
                let mut fold = self.fold.filter(|fold| fold.start == start).unwrap_or(Fold {
                    start,
                    last_local: local,
                    second_pass: false,
                });
                fold.second_pass |= local < fold.last_local;
                fold.last_local = local;
                self.fold = Some(fold);
                Some(if fold.second_pass { second } else { first }.unix_milliseconds())
            }
        }
    }

    /// Where the repeated hour that holds `local` begins, local time and instant of the first pass.
    fn fold_start(&self, local: i64, first: Instant, second: Instant) -> (i64, i64) {
        if let Some(fold) = self.fold
            && (local - fold.start.0).abs() < second.since(first).milliseconds()
            && local >= fold.start.0
        {
            return fold.start;
        }
        // The hour is as long as the clock is set back, so it began less than that before.
        let mut outside = local - second.since(first).milliseconds();
        let mut inside = local;
        while inside - outside > 1 {
            let middle = outside + (inside - outside) / 2;
            if matches!(self.resolve(middle), LocalResolution::Two(..)) {
                inside = middle;
            } else {
                outside = middle;
            }
        }
        (inside, first.unix_milliseconds() - (local - inside))
    }

    /// The instant by which files are ordered.
    fn key(&mut self, stamp: Stamp, days: &[i32]) -> Option<i64> {
        match local(stamp, days) {
            Ok((local, None)) => match self.resolve(local) {
                LocalResolution::Two(first, second) => {
                    Some(self.fold_start(local, first, second).1)
                }
                LocalResolution::One(instant) => Some(instant.unix_milliseconds()),
                LocalResolution::None => None,
            },
            Ok((local, Some(minutes))) => Some(local - minutes * 60_000),
            Err(instant) => Some(instant),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stamp::StampReader;

    /// Instants of local stamps on the days of the two odd hours, as UTC times of day.
    fn instants(zone: &str, stamps: &[&str]) -> Vec<String> {
        let Ok(zone) = zone.parse::<Zone>() else { panic!("a known zone") };
        let mut reader = StampReader::default();
        let mut clock = Clock::new(zone);
        let mut shown = Vec::new();
        for stamp in stamps {
            let Some(stamp) = reader.stamp(stamp.as_bytes(), 1) else { panic!("readable {stamp}") };
            let days: Vec<i32> = reader
                .dates
                .iter()
                .map(|seen| seen.date.day(plant::DateOrder::DayFirst).unwrap_or_default())
                .collect();
            shown.push(
                clock
                    .instant(stamp, &days)
                    .and_then(DateTime::from_timestamp_millis)
                    .map_or("none".to_owned(), |time| time.format("%H:%M:%S").to_string()),
            );
        }
        shown
    }

    #[test]
    fn the_repeated_hour_is_told_apart_by_order() {
        // 2026-11-01 02:00 CDT becomes 01:00 CST (IANA data base).
        for (stamps, expected) in [
            (
                vec!["00:59:59", "01:00:00", "01:59:59", "01:00:00", "01:59:59", "02:00:00"],
                vec!["05:59:59", "06:00:00", "06:59:59", "07:00:00", "07:59:59", "08:00:00"],
            ),
            (vec!["01:10:00", "01:20:00"], vec!["06:10:00", "06:20:00"]),
            (vec!["01:20:00", "01:10:00", "01:30:00"], vec!["06:20:00", "07:10:00", "07:30:00"]),
            (vec!["01:20:00", "01:20:00"], vec!["06:20:00", "06:20:00"]),
            (
                vec!["01:40:00", "01:10:00", "00:59:00", "01:30:00"],
                vec!["06:40:00", "07:10:00", "05:59:00", "06:30:00"],
            ),
        ] {
            let stamps: Vec<_> = stamps.iter().map(|time| format!("2026-11-01 {time}")).collect();
            let stamps: Vec<_> = stamps.iter().map(String::as_str).collect();
            assert_eq!(instants("America/Chicago", &stamps), expected, "{stamps:?}");
        }
    }

    #[test]
    fn the_skipped_hour_has_no_instants() {
        // 2026-03-08 02:00 CST becomes 03:00 CDT (IANA data base).
        let stamps = [
            "2026-03-08 01:59:59",
            "2026-03-08 02:00:00",
            "2026-03-08 02:59:59",
            "2026-03-08 03:00:00",
            "2026-03-08 02:30:00-06:00",
        ];
        let expected = ["07:59:59", "none", "none", "08:00:00", "08:30:00"];
        assert_eq!(instants("America/Chicago", &stamps), expected);
    }

    #[test]
    fn half_an_hour_is_repeated_on_lord_howe_island() {
        // 2026-04-05 02:00 +11:00 becomes 01:30 +10:30 (IANA data base).
        let stamps = [
            "2026-04-05 01:29:59",
            "2026-04-05 01:30:00",
            "2026-04-05 01:59:59",
            "2026-04-05 01:30:00",
            "2026-04-05 02:00:00",
        ];
        let expected = ["14:29:59", "14:30:00", "14:59:59", "15:00:00", "15:30:00"];
        assert_eq!(instants("Australia/Lord_Howe", &stamps), expected);
    }

    #[test]
    fn cached_offsets_are_those_of_the_zone() {
        let Ok(zone) = "Europe/Berlin".parse::<Zone>() else { panic!("a known zone") };
        let mut clock = Clock::new(zone);
        // Every seventh minute of 2026.
        let start = 1_767_225_600_000;
        for step in 0..75_085 {
            let local = start + step * 7 * 60_000;
            let slow = match clock.resolve(local) {
                LocalResolution::One(instant) => Some(local - instant.unix_milliseconds()),
                _ => None,
            };
            if let Some(offset) = clock.offset(local) {
                assert_eq!(Some(offset), slow, "{local}");
            }
        }
    }
}
