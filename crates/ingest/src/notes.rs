//! What was found while reading, as observations with file and line.
//!
//! Thousands of rows with one fault make one observation with their count, so that the list stays
//! one that a person can read.

use crate::file::FileRows;
use crate::merge::{Groups, same};
use crate::place::{Direction, NOWHERE, Placed};
use crate::store::{Store, number_slot};
use crate::words::{RowTally, Words};
use plant::Zone;
use std::collections::BTreeMap;
use trace::{
    ChannelView, Instant, Interval, Invalid, Observation, ObservationKind, Role, SourcePosition,
};

/// So many of a kind are told one by one, the rest together.
const ONE_BY_ONE: usize = 20;

/// Collects the observations of one run.
pub(crate) struct Notes<'a> {
    files: &'a [FileRows],
    placed: &'a Placed,
    zone: Zone,
    /// With the index of the file, to sort by.
    found: Vec<(usize, Observation)>,
}

impl<'a> Notes<'a> {
    pub(crate) fn new(files: &'a [FileRows], placed: &'a Placed, zone: Zone) -> Self {
        Self { files, placed, zone, found: Vec::new() }
    }

    /// All observations, by file as given and by line.
    pub(crate) fn finish(mut self) -> Vec<Observation> {
        let line = |observation: &Observation| {
            observation.position.as_ref().map_or(0, |position| position.line)
        };
        self.found.sort_by_key(|(file, observation)| (*file, line(observation), observation.kind));
        self.found.into_iter().map(|(_, observation)| observation).collect()
    }

    fn add(
        &mut self,
        kind: ObservationKind,
        file: usize,
        line: u64,
        count: u64,
        interval: Option<Interval>,
        message: String,
    ) {
        let Some(name) = self.files.get(file).map(|file| file.name.clone()) else { return };
        let position = Some(SourcePosition { file: name, line });
        self.found.push((file, Observation { kind, interval, position, count, message }));
    }

    /// The file that a row of the store came from.
    fn file_of(&self, row: u32) -> usize {
        self.files.iter().position(|file| file.rows.contains(&(row as usize))).unwrap_or_default()
    }

    fn line_of(&self, row: u32) -> u64 {
        self.files
            .get(self.file_of(row))
            .map_or(1, |file| file.lines.of((row as usize).saturating_sub(file.rows.start)))
    }

    /// `line 12`, or `b.csv:12` for a row of another file than `file`.
    fn place_of(&self, row: u32, file: usize) -> String {
        let other = self.file_of(row);
        match self.files.get(other) {
            Some(named) if other != file => format!("{}:{}", named.name, self.line_of(row)),
            _ => format!("line {}", self.line_of(row)),
        }
    }

    fn instant_of(&self, row: usize) -> Option<Instant> {
        let instant = *self.placed.instants.get(row)?;
        (instant != NOWHERE).then(|| Instant::from_unix_milliseconds(instant))
    }

    fn interval(&self, first: usize, last: usize) -> Option<Interval> {
        Some(Interval::between(self.instant_of(first)?, self.instant_of(last)?))
    }

    fn interval_of(&self, tally: RowTally) -> Option<Interval> {
        self.interval(tally.first_row, tally.last_row)
    }

    /// What is wrong with the rows of each file as such.
    pub(crate) fn rows(&mut self) {
        for (index, file) in self.files.iter().enumerate() {
            let problems = &file.problems;
            if file.rows.is_empty() {
                let message = "there is no row of readings below the header".to_owned();
                self.add(ObservationKind::UnreadableRow, index, file.header_line, 1, None, message);
            }
            let several = |tally: RowTally, one: &str, many: &str| {
                if tally.count == 1 { one.to_owned() } else { format!("{} {many}", tally.count) }
            };
            if problems.short.count > 0 {
                let message = format!(
                    "{} fewer cells than the header; the missing cells count as blank",
                    several(problems.short, "the row has", "rows have")
                );
                let tally = problems.short;
                self.add(
                    ObservationKind::RaggedRow,
                    index,
                    tally.first_line,
                    tally.count,
                    self.interval_of(tally),
                    message,
                );
            }
            if problems.wide.count > 0 {
                let message = format!(
                    "{} more cells than the header, and nothing tells which cell is too many; no \
                     reading of {} is used",
                    several(problems.wide, "the row has", "rows have"),
                    if problems.wide.count == 1 { "it" } else { "them" }
                );
                let tally = problems.wide;
                self.add(
                    ObservationKind::RaggedRow,
                    index,
                    tally.first_line,
                    tally.count,
                    self.interval_of(tally),
                    message,
                );
            }
            if problems.both_switches.count > 0 {
                let message = format!(
                    "both limit switches are made {}; the position counts as unknown, check the \
                     switches",
                    several(problems.both_switches, "in this row", "times, the first here")
                );
                let tally = problems.both_switches;
                self.add(
                    ObservationKind::SwitchesDisagree,
                    index,
                    tally.first_line,
                    tally.count,
                    self.interval_of(tally),
                    message,
                );
            }
            if problems.unreadable.count > 0 {
                let message = format!(
                    "the time stamp {:?} can't be read; {} not used",
                    problems.unreadable_text,
                    several(problems.unreadable, "the row is", "such rows are")
                );
                let tally = problems.unreadable;
                self.add(
                    ObservationKind::UnreadableRow,
                    index,
                    tally.first_line,
                    tally.count,
                    None,
                    message,
                );
            }
            if problems.unclosed.count > 0 {
                let message = format!(
                    "a quote is not closed on its line; {} not used",
                    several(problems.unclosed, "the row is", "such rows are")
                );
                let tally = problems.unclosed;
                self.add(
                    ObservationKind::UnreadableRow,
                    index,
                    tally.first_line,
                    tally.count,
                    None,
                    message,
                );
            }
            if let Some((line, row)) = problems.truncated {
                let message = match row {
                    Some(_) => {
                        "the file ends within this row; its last cell may be cut and counts as blank, \
                         as do the missing ones"
                    }
                    None => "the file ends within this row, before its readings; it is not used",
                };
                let interval = row.and_then(|row| self.interval(row, row));
                self.add(
                    ObservationKind::TruncatedRow,
                    index,
                    line,
                    1,
                    interval,
                    message.to_owned(),
                );
            }
        }
    }

    /// Local times that do not exist.
    pub(crate) fn impossible(&mut self) {
        let mut by_file: BTreeMap<usize, Vec<u32>> = BTreeMap::new();
        for &row in &self.placed.impossible {
            by_file.entry(self.file_of(row)).or_default().push(row);
        }
        for (file, rows) in by_file {
            let line = rows.iter().map(|&row| self.line_of(row)).min().unwrap_or(1);
            let message = format!(
                "{} a local time that does not exist in {}, where the clock skipped that hour; \
                 not used; if the logger keeps one time all year, set the plant file's zone to one \
                 without summer time",
                if rows.len() == 1 {
                    "the row has".to_owned()
                } else {
                    format!("{} rows have", rows.len())
                },
                self.zone.name()
            );
            self.add(
                ObservationKind::ImpossibleStamp,
                file,
                line,
                rows.len() as u64,
                None,
                message,
            );
        }
    }

    /// Steps back in time.
    pub(crate) fn backward(&mut self) {
        let mut by_file: BTreeMap<usize, Vec<(u32, u32)>> = BTreeMap::new();
        for &(row, before) in &self.placed.backward {
            by_file.entry(self.file_of(row)).or_default().push((row, before));
        }
        for (file, steps) in by_file {
            let (single, rest) = steps.split_at(steps.len().min(ONE_BY_ONE));
            for &(row, before) in single {
                let Some(interval) = self.interval(row as usize, before as usize) else { continue };
                let message = format!(
                    "the time stamp lies {} before that of {}; the rows are placed by their \
                     stamps, check the logger's clock",
                    interval.duration(),
                    self.place_of(before, file)
                );
                let line = self.line_of(row);
                self.add(ObservationKind::BackwardStamp, file, line, 1, Some(interval), message);
            }
            if let (Some(&(first, _)), Some(&(last, before))) = (rest.first(), rest.last()) {
                let message = format!(
                    "{} more time stamps run backwards, the last after {}; the rows are placed by \
                     their stamps, check the logger's clock",
                    rest.len(),
                    self.place_of(before, file)
                );
                let line = self.line_of(first);
                let interval = self.interval(first as usize, last as usize);
                self.add(
                    ObservationKind::BackwardStamp,
                    file,
                    line,
                    rest.len() as u64,
                    interval,
                    message,
                );
            }
        }
    }

    /// Files with the same bytes.
    pub(crate) fn repeated(&mut self) {
        for &(index, direction) in &self.placed.files {
            if direction != Direction::Repeated {
                continue;
            }
            let Some(file) = self.files.get(index) else { continue };
            let first = self.files.iter().find(|other| other.sha256 == file.sha256);
            let message = format!(
                "the file is byte for byte the same as {}; it adds nothing to the record",
                first.map_or("another", |first| &first.name)
            );
            let count = (file.rows.len() as u64).max(1);
            self.add(
                ObservationKind::DuplicateStamp,
                index,
                file.header_line,
                count,
                None,
                message,
            );
        }
    }

    /// Rows with one instant.
    pub(crate) fn duplicates(&mut self, groups: &Groups, store: &Store) {
        let mut by_file: BTreeMap<(usize, bool), (RowTally, String)> = BTreeMap::new();
        for rows in groups.iter() {
            let [first, others @ ..] = rows else { continue };
            if others.is_empty() {
                continue;
            }
            let alike = others.iter().all(|&other| same(store, *first, other));
            for &other in others {
                let file = self.file_of(other);
                let entry = by_file
                    .entry((file, alike))
                    .or_insert_with(|| (RowTally::default(), self.place_of(*first, file)));
                let line = self.line_of(other);
                entry.0.add(other as usize, line);
            }
        }
        for ((file, alike), (tally, place)) in by_file {
            let rows = if tally.count == 1 {
                format!("the row has the time stamp of {place}")
            } else {
                format!(
                    "{} rows have the time stamp of a row before, the first that of {place}",
                    tally.count
                )
            };
            let message = if alike {
                format!("{rows} and the same readings; they count once")
            } else {
                format!(
                    "{rows} and other readings; the worst reading of each channel is kept, check \
                     the logger's clock"
                )
            };
            let interval = self.interval_of(tally);
            self.add(
                ObservationKind::DuplicateStamp,
                file,
                tally.first_line,
                tally.count,
                interval,
                message,
            );
        }
    }

    /// Readings that can't be used, one observation a channel, reason and file.
    pub(crate) fn readings(&mut self, store: &Store) {
        for (index, file) in self.files.iter().enumerate() {
            for (slot, role) in crate::store::NUMBERS.into_iter().enumerate() {
                let Some(Some(channel)) = store.numbers.get(slot) else { continue };
                if file.rows.is_empty() {
                    continue;
                }
                let absent = !file.columns.roles.contains_key(&role);
                let noted = file.unusable.keys().any(|(noted, _)| *noted == role);
                if !absent && !noted {
                    continue;
                }
                // A differential that stands beside the pair of another file is not used.
                if absent && role == Role::DifferentialPressure && has_pair(store) {
                    continue;
                }
                for (reason, tally) in self.tallies(channel.view(), file) {
                    let message = if absent {
                        format!("{}: this file has no such column, other files do", role.name())
                    } else {
                        let first = file.unusable.get(&(role, reason));
                        let shown = match first {
                            Some(first)
                                if first.line == tally.first_line && !first.text.is_empty() =>
                            {
                                format!(" ({:?})", first.text)
                            }
                            _ => String::new(),
                        };
                        let rows = if tally.count == 1 {
                            format!("a reading is {}{shown}", reason.name())
                        } else {
                            format!(
                                "{} readings are {}, the first here{shown}",
                                tally.count,
                                reason.name()
                            )
                        };
                        format!("{}: {rows}; never taken for safe", role.name())
                    };
                    let interval = self.interval_of(tally);
                    self.add(
                        ObservationKind::InvalidReadings,
                        index,
                        tally.first_line,
                        tally.count,
                        interval,
                        message,
                    );
                }
            }
        }
    }

    fn tallies(&self, channel: ChannelView<'_>, file: &FileRows) -> BTreeMap<Invalid, RowTally> {
        let mut tallies: BTreeMap<Invalid, RowTally> = BTreeMap::new();
        for (row, &mantissa) in
            channel.mantissas().iter().enumerate().take(file.rows.end).skip(file.rows.start)
        {
            if ChannelView::is_valid(mantissa) || self.instant_of(row).is_none() {
                continue;
            }
            if let trace::Reading::Invalid(reason) = channel.reading(row) {
                let line = file.lines.of(row - file.rows.start);
                tallies.entry(reason).or_default().add(row, line);
            }
        }
        tallies
    }

    /// Words that stand for nothing, and blank cells where a word should be.
    pub(crate) fn words(&mut self) {
        for (index, file) in self.files.iter().enumerate() {
            for (&role, words) in &file.valve_words {
                self.words_of(index, role, words);
            }
            for (&role, words) in &file.switch_words {
                self.words_of(index, role, words);
            }
        }
    }

    fn words_of<T: Copy>(&mut self, index: usize, role: Role, words: &Words<T>) {
        let unmapped: Vec<_> = words
            .seen()
            .iter()
            .filter(|word| word.meaning.is_none() && !word.text.is_empty())
            .collect();
        let unknown = match role {
            Role::LeakDetect => "the sensor counts as not readable there",
            _ => "the position counts as unknown there",
        };
        let remedy = match role {
            Role::Valve => {
                "; say in the plant file what it means, such as valve = { column = \"…\", forward \
                 = [\"…\"], divert = [\"…\"] }"
            }
            _ => "",
        };
        let one_by_one = unmapped.len().min(ONE_BY_ONE);
        let (single, rest) = unmapped.split_at(one_by_one);
        for word in single {
            let shown: String = word.text.chars().take(40).collect();
            let message =
                format!("{}: the word {shown:?} is not mapped; {unknown}{remedy}", role.name());
            let tally = word.rows;
            self.add(
                ObservationKind::UnmappedWord,
                index,
                tally.first_line,
                tally.count,
                self.interval_of(tally),
                message,
            );
        }
        if let Some(first) = rest.first() {
            let count = rest.iter().map(|word| word.rows.count).sum();
            let message =
                format!("{}: {} more words are not mapped; {unknown}", role.name(), rest.len());
            self.add(
                ObservationKind::UnmappedWord,
                index,
                first.rows.first_line,
                count,
                None,
                message,
            );
        }
        let blank = words.seen().iter().find(|word| word.text.is_empty());
        // A logger that writes nothing where there is no leak is no fault.
        if let Some(blank) = blank
            && role != Role::LeakDetect
        {
            let tally = blank.rows;
            let rows = if tally.count == 1 {
                "a cell is blank".to_owned()
            } else {
                format!("{} cells are blank, the first here", tally.count)
            };
            let message = format!("{}: {rows}; {unknown}", role.name());
            self.add(
                ObservationKind::InvalidReadings,
                index,
                tally.first_line,
                tally.count,
                self.interval_of(tally),
                message,
            );
        }
    }
}

/// Whether both pressures of the regenerator are there.
pub(crate) fn has_pair(store: &Store) -> bool {
    [Role::RawPressure, Role::PasteurizedPressure].into_iter().all(|role| {
        number_slot(role).and_then(|slot| store.numbers.get(slot)).is_some_and(Option::is_some)
    })
}
