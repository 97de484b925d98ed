//! Stamps to instants (method, section 3).
//!
//! Local stamps go through the plant's time zone. In the autumn hour that is passed twice a step
//! back in the order of the rows begins the second pass; what is known of the hour is carried from
//! one file to the next, so that a day may be cut into files anywhere. A stamp that names its zone
//! says itself which pass it is of. Stamps in the hour that is skipped in spring have no instant.
//!
//! Any other step back is a clock that was set back, and begins a later pass. As long as a later
//! pass repeats time that was recorded before, its rows belong to the nearest samples of that time:
//! they are placed at the instants of these, and the rule for rows of one instant does the rest.
//! A file that begins before the files before it ended is such a pass as well, unless both say
//! exactly the same.

use crate::body::FileRows;
use crate::error::Error;
use crate::merge::same;
use crate::stamp::{DAY, Stamp, Stated, Written};
use crate::store::Store;
use chrono::DateTime;
use plant::{LocalResolution, LoggerClock, Zone};
use std::collections::{HashMap, VecDeque};
use std::ops::Range;
use trace::{Duration, Instant, Interval};

/// The instant of a row that has none.
pub(crate) const NOWHERE: i64 = i64::MIN;

/// Where all rows stand in time.
#[derive(Debug)]
pub(crate) struct Placed {
    /// By row the instant of its sample; [`NOWHERE`] for a row that has no place.
    pub(crate) instants: Vec<i64>,
    /// The files in the order of their first stamps.
    pub(crate) turns: Vec<Turn>,
    /// Whether the rows as read are in strictly increasing order, all of them used.
    pub(crate) in_order: bool,
    /// The later passes that repeat time, in the order of reading.
    pub(crate) passes: Vec<Pass>,
    /// Whether any row has no place, files that repeat others left aside.
    pub(crate) unplaced: bool,
}

/// A file in its turn.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Turn {
    /// The file by its index.
    pub(crate) file: usize,
    pub(crate) direction: Direction,
    /// The instant by which it has its turn, where it has a stamp at all.
    pub(crate) key: Option<i64>,
}

/// How the rows of a file follow each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Direction {
    OldestFirst,
    NewestFirst,
    /// The same bytes as a file before: its rows add nothing.
    Repeated,
}

/// A later pass over time that was recorded before.
#[derive(Debug, Clone)]
pub(crate) struct Pass {
    /// Its first row.
    pub(crate) row: u32,
    /// The row before it; for a pass that begins with a file the latest row before.
    pub(crate) before: u32,
    /// How far its first stamp lies before that of the row before.
    pub(crate) back: i64,
    /// From its first instant to the last one recorded before.
    pub(crate) span: Interval,
    /// Whether it begins with a file.
    pub(crate) begins_file: bool,
    /// From its first row that became part of a sample recorded before to the last, in the order
    /// of the store.
    pub(crate) merged: Range<u32>,
    /// How many those are.
    pub(crate) rows: u64,
}

/// A pass that is being read, as far as it repeats time.
struct Open {
    row: u32,
    before: u32,
    back: i64,
    /// The last instant that was recorded before it.
    last: i64,
    begins_file: bool,
    /// Its rows with their own instants, which do not decrease.
    rows: Vec<(u32, i64)>,
}

/// What the numbers in a file's stamps stand for.
#[derive(Clone, Copy)]
struct Calendar<'a> {
    /// Its dates in days since the epoch.
    days: &'a [i32],
    /// Its names of zones.
    zones: &'a [String],
    /// The zone that all its stamps are of, where the header names one.
    header: Option<usize>,
}

/// Places all rows. `days` are the dates of each file by number.
pub(crate) fn place(
    files: &[FileRows],
    days: &[Vec<i32>],
    stamps: &[Stamp],
    store: &Store,
    (zone, logger): (Zone, LoggerClock),
) -> Result<Placed, Error> {
    let clock = Clock::new(zone, logger);
    let turns = turns(files, days, stamps, &clock);
    let mut placer = Placer {
        store,
        in_order: turns.iter().map(|turn| turn.file).eq(0..files.len())
            && turns.iter().all(|turn| turn.direction == Direction::OldestFirst),
        instants: vec![NOWHERE; stamps.len()],
        last: (0, NOWHERE),
        pass: None,
        passes: Vec::new(),
        samples: None,
    };
    let mut unplaced = false;
    let mut clock = clock;
    for &Turn { file, direction, .. } in &turns {
        let (Some(file), Some(days)) = (files.get(file), days.get(file)) else { continue };
        if direction == Direction::Repeated {
            continue;
        }
        let mut of_header = file.columns.offset.map(|minutes| clock.with_offset(minutes));
        let clock = of_header.as_mut().unwrap_or(&mut clock);
        let mut zones = file.stamps.zones.clone();
        let header = file.columns.zone.map(|zone| {
            zones.push(zone.to_owned());
            zones.len() - 1
        });
        let calendar = Calendar { days, zones: &zones, header };
        let rows = file.rows.len();
        let mut before: Option<(u32, i64)> = None;
        for step in 0..rows {
            let row = file.rows.start
                + if direction == Direction::NewestFirst { rows - 1 - step } else { step };
            let Some(&stamp) = stamps.get(row) else { continue };
            let Some(instant) = clock.instant(stamp, calendar) else {
                if let Some((name, here)) = clock.stranger.take() {
                    return Err(Error::ZoneName {
                        file: file.name.to_string(),
                        line: file.lines.of(row - file.rows.start),
                        name,
                        zone: zone.name(),
                        here,
                    });
                }
                unplaced = true;
                placer.in_order = false;
                continue;
            };
            let row = row as u32;
            if instant > placer.last.1 {
                placer.append(row, instant);
            } else {
                placer.repeat(row, instant, before);
            }
            before = Some((row, instant));
        }
        placer.end_pass(false);
    }
    let Placer { instants, in_order, passes, .. } = placer;
    Ok(Placed { instants, turns, in_order, passes, unplaced })
}

struct Placer<'a> {
    store: &'a Store,
    instants: Vec<i64>,
    in_order: bool,
    /// The latest row, and its instant.
    last: (u32, i64),
    pass: Option<Open>,
    passes: Vec<Pass>,
    /// The instants of all samples, in order; worked out when they are first asked for.
    samples: Option<VecDeque<i64>>,
}

impl Placer<'_> {
    /// A row later than all before.
    #[inline]
    fn append(&mut self, row: u32, instant: i64) {
        if self.pass.is_some() {
            self.end_pass(true);
        }
        if let Some(samples) = &mut self.samples {
            samples.push_back(instant);
        }
        self.last = (row, instant);
        self.put(row, instant);
    }

    #[inline]
    fn put(&mut self, row: u32, instant: i64) {
        if let Some(place) = self.instants.get_mut(row as usize) {
            *place = instant;
        }
    }

    /// A row that is not later than all before. `before` is the row before it in its file.
    #[cold]
    fn repeat(&mut self, row: u32, instant: i64, before: Option<(u32, i64)>) {
        self.in_order = false;
        let (begins_file, (row_before, instant_before)) = match before {
            None => (true, self.last),
            Some(before) => (false, before),
        };
        if instant < instant_before {
            self.end_pass(false);
            self.pass = Some(Open {
                row,
                before: row_before,
                back: instant_before - instant,
                last: self.last.1,
                begins_file,
                rows: Vec::new(),
            });
        }
        match &mut self.pass {
            Some(pass) => pass.rows.push((row, instant)),
            // The instant of the row before it, or of the last row of the file before.
            None => self.put(row, instant),
        }
    }

    /// Places the rows of the pass that is being read. `goes_on` when it leaves the time that was
    /// recorded before it, so that it would have repeated all of that.
    #[cold]
    fn end_pass(&mut self, goes_on: bool) {
        let Some(pass) = self.pass.take() else { return };
        let Some(&(_, first)) = pass.rows.first() else { return };
        if pass.begins_file && self.says_the_same(&pass, goes_on) {
            for (row, instant) in pass.rows {
                self.put(row, instant);
            }
            return;
        }
        let mut samples = self.samples.take().unwrap_or_else(|| {
            let mut all: Vec<i64> =
                self.instants.iter().copied().filter(|&instant| instant != NOWHERE).collect();
            all.sort_unstable();
            all.dedup();
            all.into()
        });
        // No sample was recorded near rows that lie before all others: they become samples.
        let start = samples.front().copied().unwrap_or(i64::MAX);
        let (own, repeated) =
            pass.rows.split_at(pass.rows.partition_point(|&(_, instant)| instant < start));
        for &(row, instant) in repeated {
            let sample = nearest(&samples, instant).unwrap_or(instant);
            self.put(row, sample);
        }
        for &(row, instant) in own.iter().rev() {
            if samples.front() != Some(&instant) {
                samples.push_front(instant);
            }
            self.put(row, instant);
        }
        self.samples = Some(samples);
        let at = |row: Option<&(u32, i64)>| row.map_or(0, |&(row, _)| row);
        let (one, other) = (at(repeated.first()), at(repeated.last()));
        let merged = if repeated.is_empty() { 0..0 } else { one.min(other)..one.max(other) + 1 };
        let instant = Instant::from_unix_milliseconds;
        self.passes.push(Pass {
            row: pass.row,
            before: pass.before,
            back: pass.back,
            span: Interval::between(instant(first), instant(pass.last)),
            begins_file: pass.begins_file,
            merged,
            rows: repeated.len() as u64,
        });
    }

    /// Whether every row in the common span equals a row at that instant of the other.
    fn says_the_same(&self, pass: &Open, goes_on: bool) -> bool {
        let (Some(&(_, first)), Some(&(_, last))) = (pass.rows.first(), pass.rows.last()) else {
            return true;
        };
        let end = if goes_on { pass.last } else { last };
        let mut earlier: Vec<(u32, i64)> = (0..)
            .zip(&self.instants)
            .map(|(row, &instant)| (row, instant))
            .filter(|&(_, instant)| instant >= first && instant <= end)
            .collect();
        earlier.sort_by_key(|&(_, instant)| instant);
        let found_in = |others: &[(u32, i64)], row: u32, at: i64| {
            let start = others.partition_point(|&(_, instant)| instant < at);
            let others = others.get(start..).unwrap_or_default();
            others
                .iter()
                .take_while(|&&(_, instant)| instant == at)
                .any(|&(other, _)| same(self.store, row, other))
        };
        pass.rows.iter().all(|&(row, instant)| found_in(&earlier, row, instant))
            && earlier.iter().all(|&(row, instant)| found_in(&pass.rows, row, instant))
    }
}

/// The sample nearest to `instant`, the earlier of two equally near.
fn nearest(samples: &VecDeque<i64>, instant: i64) -> Option<i64> {
    let after = samples.partition_point(|&sample| sample < instant);
    let before = after.checked_sub(1).and_then(|before| samples.get(before)).copied();
    match (before, samples.get(after).copied()) {
        (Some(before), Some(after)) if instant - before <= after - instant => Some(before),
        (before, after) => after.or(before),
    }
}

impl Placed {
    /// Whether a file's rows follow each other in that way.
    pub(crate) fn has(&self, file: usize, direction: Direction) -> bool {
        self.turns.iter().any(|turn| turn.file == file && turn.direction == direction)
    }

    /// The rows that became parts of samples that an earlier pass recorded, in order.
    pub(crate) fn merged(&self) -> Vec<Range<u32>> {
        let mut merged: Vec<_> = self.passes.iter().map(|pass| pass.merged.clone()).collect();
        merged.sort_unstable_by_key(|rows| rows.start);
        merged
    }

    /// The spans that two passes claim, in order and apart.
    pub(crate) fn double_spans(&self) -> Vec<Interval> {
        apart(self.passes.iter().map(|pass| pass.span).collect())
    }

    /// Sets all rows back by so many milliseconds, as their clock was ahead.
    pub(crate) fn set_back_by(&mut self, ahead: i64) {
        if ahead == 0 {
            return;
        }
        for instant in self.instants.iter_mut().filter(|instant| **instant != NOWHERE) {
            *instant -= ahead;
        }
        for turn in &mut self.turns {
            turn.key = turn.key.map(|key| key - ahead);
        }
        let by = Duration::from_milliseconds(ahead);
        for pass in &mut self.passes {
            pass.span = Interval::between(pass.span.start() - by, pass.span.end() - by);
        }
    }
}

/// Spans in order and apart.
pub(crate) fn apart(mut spans: Vec<Interval>) -> Vec<Interval> {
    spans.sort_unstable();
    let mut apart: Vec<Interval> = Vec::with_capacity(spans.len());
    for span in spans {
        match apart.last_mut() {
            Some(last) if span.start() <= last.end() => *last = last.hull(span),
            _ => apart.push(span),
        }
    }
    apart
}

/// A stamp with its date in days.
enum Read {
    Unreadable,
    Instant(i64),
    /// Milliseconds of local time since the epoch, and what the stamp says of its zone.
    Local(i64, Stated),
}

fn read(stamp: Stamp, days: &[i32]) -> Read {
    match stamp.written() {
        Written::Unreadable => Read::Unreadable,
        Written::Instant(instant) => Read::Instant(instant),
        Written::Local { date, milliseconds, zone } => {
            let day = days.get(date as usize).copied().unwrap_or_default();
            Read::Local(i64::from(day) * DAY + milliseconds, zone)
        }
    }
}

/// The files by their first stamp. All stamps of one repeated hour count as equal, and equal
/// files stay in the order in which they were given.
fn turns(files: &[FileRows], days: &[Vec<i32>], stamps: &[Stamp], clock: &Clock) -> Vec<Turn> {
    let mut turns: Vec<Turn> = Vec::with_capacity(files.len());
    for (index, (file, days)) in files.iter().zip(days).enumerate() {
        let rows = stamps.get(file.rows.clone()).unwrap_or_default();
        let mut direction = direction(rows, days);
        let same = |other: &FileRows| other.sha256 == file.sha256 && other.bytes == file.bytes;
        if files.iter().take(index).any(same) {
            direction = Direction::Repeated;
        }
        let mut clock = match file.columns.offset {
            Some(minutes) => clock.with_offset(minutes),
            None => Clock::new(clock.zone, clock.logger),
        };
        let mut keys = rows.iter().map(|&stamp| clock.key(stamp, days));
        let key = match direction {
            Direction::NewestFirst => keys.rev().flatten().next(),
            Direction::OldestFirst | Direction::Repeated => keys.find_map(|key| key),
        };
        turns.push(Turn { file: index, direction, key });
    }
    turns.sort_by_key(|turn| turn.key.unwrap_or(i64::MAX));
    turns
}

/// Some loggers export the newest row first: nine steps of ten go back.
fn direction(stamps: &[Stamp], days: &[i32]) -> Direction {
    const FEWEST: usize = 10;
    // How many steps there are between stamps that can be read, and how many of them go back.
    let steps = |stamps: &[Stamp]| {
        let (mut steps, mut back, mut before) = (0, 0, None);
        for &stamp in stamps {
            let milliseconds = match read(stamp, days) {
                Read::Unreadable => continue,
                Read::Instant(milliseconds) | Read::Local(milliseconds, _) => milliseconds,
            };
            if let Some(before) = before.replace(milliseconds) {
                steps += 1;
                back += usize::from(milliseconds < before);
            }
        }
        (steps, back)
    };
    // The first rows tell at once in the common case.
    let head = stamps.get(..FEWEST).unwrap_or_default();
    let (head_steps, head_back) = steps(head);
    if head_steps == 0 || head_back * 2 < head_steps {
        return Direction::OldestFirst;
    }
    let (steps, back) = steps(stamps);
    if back * 10 >= steps * 9 { Direction::NewestFirst } else { Direction::OldestFirst }
}

/// A time zone with what was found before, and the state of the repeated hour.
struct Clock {
    zone: Zone,
    logger: LoggerClock,
    /// For quarter hours of local time the offset that holds throughout, if one does.
    offsets: HashMap<i64, Option<i64>>,
    last: (i64, Option<i64>),
    fold: Option<Fold>,
    /// The offset of all stamps from UTC in milliseconds, where the header states one.
    fixed: Option<i64>,
    /// The quarter hour and the name of a zone that was last found to be right, and the offset.
    named: (i64, usize, i64),
    /// A name that is not that of the zone, and what the zone is called then.
    stranger: Option<(String, String)>,
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
    fn new(zone: Zone, logger: LoggerClock) -> Self {
        Self {
            zone,
            logger,
            offsets: HashMap::new(),
            last: (i64::MIN, None),
            fold: None,
            fixed: None,
            named: (i64::MIN, 0, 0),
            stranger: None,
        }
    }

    /// A clock of the same zone for stamps with this offset in minutes.
    fn with_offset(&self, minutes: i16) -> Self {
        Self { fixed: Some(i64::from(minutes) * 60_000), ..Self::new(self.zone, self.logger) }
    }

    fn resolve(&self, local: i64) -> LocalResolution {
        if let Some(fixed) = self.fixed {
            return LocalResolution::One(Instant::from_unix_milliseconds(local - fixed));
        }
        // The years that are read lie well within the calendar.
        match (DateTime::from_timestamp_millis(local), self.logger) {
            (None, _) => LocalResolution::None,
            (Some(time), LoggerClock::Local) => self.zone.resolve(time.naive_utc()),
            (Some(time), LoggerClock::Standard) => {
                LocalResolution::One(self.zone.resolve_standard(time.naive_utc()))
            }
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
    fn instant(&mut self, stamp: Stamp, calendar: Calendar<'_>) -> Option<i64> {
        let local = match read(stamp, calendar.days) {
            Read::Unreadable => return None,
            Read::Instant(instant) => return Some(instant),
            Read::Local(local, Stated::Offset(minutes)) => return Some(local - minutes * 60_000),
            Read::Local(local, Stated::Name(name)) => return self.named(local, name, calendar),
            Read::Local(local, Stated::Nothing) => match calendar.header {
                Some(name) => return self.named(local, name, calendar),
                None => local,
            },
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

    /// The instant at which the zone has that name; `None` when it has another one, which is kept.
    fn named(&mut self, local: i64, name: usize, calendar: Calendar<'_>) -> Option<i64> {
        let block = local.div_euclid(BLOCK);
        if (self.named.0, self.named.1) == (block, name) {
            return Some(local - self.named.2);
        }
        let text = calendar.zones.get(name).map_or("", String::as_str);
        let (zone, clock) = (self.zone, self.logger);
        let instants = match self.resolve(local) {
            LocalResolution::One(instant) => vec![instant],
            LocalResolution::Two(first, second) => vec![first, second],
            LocalResolution::None => Vec::new(),
        };
        match instants.iter().find(|&&instant| zone.is_called(text, instant, clock)) {
            Some(found) => {
                if let Some(offset) = self.offset(local) {
                    self.named = (block, name, offset);
                }
                Some(found.unix_milliseconds())
            }
            None => {
                let here = instants.first().map_or_else(
                    || "an hour that the clock skips".to_owned(),
                    |&instant| zone.abbreviation(instant, clock),
                );
                self.stranger = Some((text.to_owned(), here));
                None
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
        match read(stamp, days) {
            Read::Unreadable => None,
            Read::Instant(instant) => Some(instant),
            Read::Local(local, Stated::Offset(minutes)) => Some(local - minutes * 60_000),
            Read::Local(local, Stated::Nothing | Stated::Name(_)) => match self.resolve(local) {
                LocalResolution::Two(first, second) => {
                    Some(self.fold_start(local, first, second).1)
                }
                LocalResolution::One(instant) => Some(instant.unix_milliseconds()),
                LocalResolution::None => self.skip(local),
            },
        }
    }

    /// The last instant before the skipped hour that `local` lies in.
    fn skip(&self, local: i64) -> Option<i64> {
        let instant = |local: i64| match self.resolve(local) {
            LocalResolution::One(instant) => Some(instant.unix_milliseconds()),
            LocalResolution::Two(..) | LocalResolution::None => None,
        };
        // No clock was ever set forward by more than a day.
        let (mut inside, mut outside) = (local, local + DAY);
        while outside - inside > 1 {
            let middle = inside + (outside - inside) / 2;
            if instant(middle).is_some() {
                outside = middle;
            } else {
                inside = middle;
            }
        }
        instant(outside).map(|first| first - 1)
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
        let mut clock = Clock::new(zone, LoggerClock::Local);
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
                    .instant(stamp, Calendar { days: &days, zones: &reader.zones, header: None })
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
            // A name says which pass it is, at steps of an hour as well.
            (
                vec!["00:30:00 CDT", "01:30:00 CDT", "01:30:00 CST", "02:30:00 CST"],
                vec!["05:30:00", "06:30:00", "07:30:00", "08:30:00"],
            ),
            (vec!["01:20:00 CST", "01:10:00 CDT"], vec!["07:20:00", "06:10:00"]),
            (vec!["00:30:00 CST", "02:30:00 CDT", "01:30:00 CET"], vec!["none", "none", "none"]),
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
    fn a_clock_of_winter_time_has_neither_odd_hour() {
        let Ok(zone) = "America/Chicago".parse::<Zone>() else { panic!("a known zone") };
        let mut clock = Clock::new(zone, LoggerClock::Standard);
        let mut reader = StampReader::default();
        for (stamp, expected) in [
            ("2026-03-08 02:30:00", "08:30:00"),
            ("2026-07-01 02:30:00", "08:30:00"),
            ("2026-11-01 01:30:00", "07:30:00"),
            ("2026-11-01 01:10:00", "07:10:00"),
        ] {
            let Some(stamp) = reader.stamp(stamp.as_bytes(), 1) else { panic!("readable") };
            let days: Vec<i32> = reader
                .dates
                .iter()
                .map(|seen| seen.date.day(plant::DateOrder::DayFirst).unwrap_or_default())
                .collect();
            let instant = clock
                .instant(stamp, Calendar { days: &days, zones: &reader.zones, header: None })
                .and_then(DateTime::from_timestamp_millis);
            let shown = instant.map(|time| time.format("%H:%M:%S").to_string());
            assert_eq!(shown.as_deref(), Some(expected), "{stamp:?}");
        }
    }

    #[test]
    fn a_file_of_the_skipped_hour_has_its_turn_between_its_neighbours() {
        let Ok(zone) = "America/Chicago".parse::<Zone>() else { panic!("a known zone") };
        let clock = Clock::new(zone, LoggerClock::Local);
        // 2026-03-08 02:00 CST becomes 03:00 CDT, at 08:00 UTC (IANA data base).
        let transition = 1_772_956_800_000;
        for minute in [0, 1, 59] {
            let local = 1_772_928_000_000 + (120 + minute) * 60_000;
            assert_eq!(clock.skip(local), Some(transition - 1), "{minute}");
        }
    }

    #[test]
    fn the_nearest_sample_is_the_earlier_of_two() {
        let samples = VecDeque::from([0, 10, 30]);
        for (instant, expected) in
            [(-5, 0), (0, 0), (4, 0), (5, 0), (6, 10), (20, 10), (21, 30), (99, 30)]
        {
            assert_eq!(nearest(&samples, instant), Some(expected), "{instant}");
        }
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
        let mut clock = Clock::new(zone, LoggerClock::Local);
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
