//! What is found while reading files: a kind of observation is a file below this one, with its
//! definition and what finds it, and a line in the registry here.
//!
//! Thousands of rows with one fault make one observation with their count, so that the list stays
//! one that a person can read.

use crate::body::FileRows;
use crate::merge::Groups;
use crate::place::{NOWHERE, Placed};
use crate::store::Store;
use crate::unplaced::Group;
use crate::words::RowTally;
use plant::Zone;
use trace::{Instant, Interval, Observation, ObservationKind, SourcePosition, Value};

/// So many of a kind are told one by one in a file, the rest together.
const ONE_BY_ONE: usize = 20;

macro_rules! registry {
    ($($module:ident $name:ident $($find:ident)?,)*) => {
        $(
            pub(crate) mod $module;
            #[doc = concat!("The kind `", stringify!($module), "`.")]
            pub const $name: ObservationKind = ObservationKind::new(&$module::DEFINITION);
        )*

        /// All kinds that are found while reading files.
        pub const KINDS: &[ObservationKind] = &[$($name),*];

        /// Everything that was found, by file as given and by line.
        pub(crate) fn find(run: Run<'_>) -> Vec<Observation> {
            let mut notes = Notes { run, kind: KINDS[0], found: Vec::new() };
            $($(
                notes.kind = $name;
                $module::$find(&mut notes);
            )?)*
            notes.finish()
        }
    };
}

// What has no `find` is found where several loggers are joined.
registry! {
    clock_set_back CLOCK_SET_BACK find,
    logger_missing LOGGER_MISSING,
    loggers_apart LOGGERS_APART,
    switches_disagree SWITCHES_DISAGREE find,
    unplaced_rows UNPLACED_ROWS find,
    averaged_readings AVERAGED_READINGS find,
    duplicate_stamp DUPLICATE_STAMP find,
    invalid_readings INVALID_READINGS find,
    loggers_not_joined LOGGERS_NOT_JOINED,
    ragged_row RAGGED_ROW find,
    single_position_switch SINGLE_POSITION_SWITCH find,
    truncated_row TRUNCATED_ROW find,
    unmapped_word UNMAPPED_WORD find,
    unreadable_row UNREADABLE_ROW find,
}

/// What was read.
#[derive(Clone, Copy)]
pub(crate) struct Run<'a> {
    pub(crate) files: &'a [FileRows],
    pub(crate) placed: &'a Placed,
    /// The rows before any of them are merged.
    pub(crate) store: &'a Store,
    /// Where the rows are not in order of time.
    pub(crate) groups: Option<&'a Groups>,
    pub(crate) unplaced: &'a [Group],
    pub(crate) zone: Zone,
}

/// Collects what is found.
struct Notes<'a> {
    run: Run<'a>,
    /// The kind that is looked for.
    kind: ObservationKind,
    /// With the index of the file, to sort by.
    found: Vec<(usize, Observation)>,
}

/// The figures of an observation.
type Figures = Vec<(&'static str, Value)>;

impl Notes<'_> {
    fn finish(mut self) -> Vec<Observation> {
        let line = |observation: &Observation| {
            observation.position.as_ref().map_or(0, |position| position.line)
        };
        self.found.sort_by_key(|(file, observation)| (*file, line(observation), observation.kind));
        self.found.into_iter().map(|(_, observation)| observation).collect()
    }

    fn add(
        &mut self,
        file: usize,
        line: u64,
        count: u64,
        interval: Option<Interval>,
        figures: Figures,
    ) {
        let Some(name) = self.run.files.get(file).map(|file| file.name.clone()) else { return };
        let position = Some(SourcePosition { file: name, line });
        let kind = self.kind;
        let observation = Observation { kind, interval, position, count, figures: Vec::new() };
        let observation =
            figures.into_iter().fold(observation, |one, (name, value)| one.with(name, value));
        self.found.push((file, observation));
    }

    /// Rows of one file with one fault.
    fn add_rows(&mut self, file: usize, tally: RowTally, figures: Figures) {
        let interval = self.interval(tally.first_row, tally.last_row);
        self.add(file, tally.first_line, tally.count, interval, figures);
    }

    /// The file that a row of the store came from.
    fn file_of(&self, row: u32) -> usize {
        let has = |file: &FileRows| file.rows.contains(&(row as usize));
        self.run.files.iter().position(has).unwrap_or_default()
    }

    fn line_of(&self, row: u32) -> u64 {
        self.run
            .files
            .get(self.file_of(row))
            .map_or(1, |file| file.lines.of((row as usize).saturating_sub(file.rows.start)))
    }

    /// Where a row stands.
    fn place_of(&self, row: u32) -> Value {
        let file = self.run.files.get(self.file_of(row));
        let file = file.map_or_else(|| "".into(), |file| file.name.clone());
        Value::Place(SourcePosition { file, line: self.line_of(row) })
    }

    fn instant_of(&self, row: usize) -> Option<Instant> {
        let instant = *self.run.placed.instants.get(row)?;
        (instant != NOWHERE).then(|| Instant::from_unix_milliseconds(instant))
    }

    fn interval(&self, first: usize, last: usize) -> Option<Interval> {
        Some(Interval::between(self.instant_of(first)?, self.instant_of(last)?))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;
    use trace::Rank;

    #[test]
    fn kinds_stand_in_order_and_say_what_they_are() {
        assert!(KINDS.is_sorted_by(|one, other| one < other));
        for kind in KINDS {
            assert!(!kind.title().is_empty() && !kind.source().is_empty(), "{kind:?}");
            assert!(kind.title().chars().next().is_some_and(char::is_lowercase), "{kind:?}");
        }
        let close: Vec<_> =
            KINDS.iter().filter(|kind| kind.rank() == Rank::Close).map(|kind| kind.key()).collect();
        assert_eq!(
            close,
            [
                "clock_set_back",
                "logger_missing",
                "loggers_apart",
                "switches_disagree",
                "unplaced_rows"
            ]
        );
    }

    #[test]
    fn templates_are_well_formed() {
        for kind in KINDS {
            let mut open = Vec::new();
            let mut names = BTreeSet::new();
            for (at, character) in kind.sentence().char_indices() {
                match character {
                    '[' | '{' => {
                        // Optional parts do not nest, and figures hold nothing.
                        assert!(matches!((open.as_slice(), character), ([], _) | (['['], '{')));
                        open.push(character);
                        let rest = &kind.sentence()[at + 1..];
                        if character == '{' {
                            names.insert(rest.split('}').next().unwrap_or_default());
                        }
                    }
                    ']' => assert_eq!(open.pop(), Some('['), "{kind:?}"),
                    '}' => assert_eq!(open.pop(), Some('{'), "{kind:?}"),
                    _ => {}
                }
            }
            assert!(open.is_empty() && !names.is_empty(), "{kind:?}");
        }
    }
}
