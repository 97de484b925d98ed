//! A day on its way from the model to the files of a logger: the line is played by the model, and
//! what the logger does to the readings is done here.

use super::expect::Must;
use super::proof_day::{PLANT, ProofDay};
use crate::days::{at, product, seconds};
use crate::dialect::{Dialect, write_csv};
use crate::error::Error;
use crate::record::{COLUMNS, Cell, Row, Run};
use crate::script::{Fault, Script, Step};
use crate::simulate::simulate;
use crate::truth::TruthRule;
use chrono::NaiveDate;
use plant::Plant;
use trace::{Decimal, Duration, Instant, Interval, Role};

/// The lot of the milk.
pub(super) const LOT: &str = "0310-A";

/// An hour from 05:00 with whole milk from 05:12 to 05:50: the device goes forward on water at about
/// 05:07, and is diverted for the cleaning from 05:52 to the end.
pub(super) fn hour(faults: Vec<Fault>) -> Script {
    hours(at(1, 0, 0), faults)
}

/// The same, with a longer production.
pub(super) fn hours(duration: Duration, faults: Vec<Fault>) -> Script {
    let before_end = |minutes: i64| duration - at(0, minutes, 0);
    Script {
        start: NaiveDate::from_ymd_opt(2026, 3, 10)
            .and_then(|date| date.and_hms_opt(5, 0, 0))
            .unwrap_or_default(),
        duration,
        sample_interval: seconds(1),
        steps: vec![
            (at(0, 1, 0), Step::Start),
            (at(0, 12, 0), product(crate::days::MILK, LOT)),
            (before_end(10), Step::Water),
            (before_end(8), Step::Cleaning),
            (before_end(3), Step::Stop),
        ],
        faults,
        fouling_per_hour: 0.05,
    }
}

/// A played day.
#[derive(Debug, Clone)]
pub(super) struct Day {
    pub run: Run,
    pub start: Instant,
    pub plant: String,
}

impl Day {
    /// Plays a script on the line of the sample plant.
    pub fn played(script: &Script, seed: u64) -> Result<Self, Error> {
        let plant = crate::plant_file().to_owned();
        let line = Plant::parse(PLANT, &plant)?;
        let run = simulate(script, &line, seed)?;
        let start = run.rows.first().map(|row| row.instant);
        let start = start.ok_or_else(|| missing("a row"))?;
        Ok(Self { run, start, plant })
    }

    /// An interval between two times after the start.
    pub fn between(&self, from: Duration, to: Duration) -> Interval {
        Interval::between(self.start + from, self.start + to)
    }

    /// The rows from a time after the start on, for a while; the end is not among them.
    pub fn rows(&mut self, from: Duration, lasts: Duration) -> impl Iterator<Item = &mut Row> {
        let (from, to) = (self.start + from, self.start + from + lasts);
        self.run.rows.iter_mut().filter(move |row| from <= row.instant && row.instant < to)
    }

    /// Writes a word into a column for a while.
    pub fn write(&mut self, role: Role, from: Duration, lasts: Duration, word: &str) {
        for row in self.rows(from, lasts) {
            put(row, role, word);
        }
    }

    /// Adds tenths of a unit to the readings of a column for a while.
    pub fn shift(&mut self, role: Role, from: Duration, lasts: Duration, tenths: i64) {
        self.change(role, from, lasts, |_, reading| reading + tenths);
    }

    /// Adds tenths of a unit to the readings of some columns, coming on and going off slowly within
    /// the first and the last `ramp` of the time.
    pub fn shift_slowly(
        &mut self,
        roles: &[Role],
        (from, lasts): (Duration, Duration),
        ramp: Duration,
        tenths: i64,
    ) {
        for &role in roles {
            self.change(role, from, lasts, |since, reading| {
                reading + tenths * share(since, lasts, ramp) / ramp.milliseconds()
            });
        }
    }

    /// Changes the readings of a column for a while: of the time since its begin and the reading in
    /// tenths the new reading in tenths is made.
    pub fn change(
        &mut self,
        role: Role,
        from: Duration,
        lasts: Duration,
        make: impl Fn(Duration, i64) -> i64,
    ) {
        let begin = self.start + from;
        for row in self.rows(from, lasts) {
            let since = row.instant.since(begin);
            if let Some(Cell::Reading(reading)) = cell(row, role) {
                *reading = Decimal::new(make(since, reading.mantissa()), 1);
            }
        }
    }

    /// Repeats the first row's cells for a while, as a logger does that hangs and goes on writing.
    pub fn repeat(&mut self, from: Duration, lasts: Duration) {
        let mut first = None;
        for row in self.rows(from, lasts) {
            row.cells = first.get_or_insert_with(|| row.cells.clone()).clone();
        }
    }

    /// The first and the last instant of each stretch of rows without the word for diverted.
    pub fn exposed(&self) -> Vec<Interval> {
        let mut found: Vec<Interval> = Vec::new();
        let mut open = false;
        for row in &self.run.rows {
            let exposed = word(row, Role::Valve) != "DIV";
            match found.last_mut() {
                Some(last) if open && exposed => {
                    *last = Interval::between(last.start(), row.instant);
                }
                _ if exposed => found.push(Interval::at(row.instant)),
                _ => {}
            }
            open = exposed;
        }
        found
    }

    /// The only stretch without the word for diverted, from half a sample before to half a sample
    /// after: the estimate of an exception that lasts all the time.
    pub fn all_forward_flow(&self) -> Result<Interval, Error> {
        match self.exposed().as_slice() {
            [one] => {
                let half = Duration::from_milliseconds(500);
                Ok(Interval::between(one.start() - half, one.end() + half))
            }
            other => Err(missing(format!("one stretch of forward flow, not {}", other.len()))),
        }
    }

    /// The first row from a time on where the device is forward and the reading in tenths short.
    pub fn first_short(&self, from: Duration, tenths: i64) -> Result<usize, Error> {
        let from = self.start + from;
        let short = |row: &Row| {
            row.instant >= from
                && word(row, Role::Valve) == "FWD"
                && reading(row, Role::HoldingTemperature).is_some_and(|found| found < tenths)
        };
        self.run.rows.iter().position(short).ok_or_else(|| missing("cold milk in forward flow"))
    }

    /// Lets the device divert at a row, up to where it does so by itself.
    pub fn divert_from(&mut self, index: usize) {
        for row in self.run.rows.iter_mut().skip(index) {
            if word(row, Role::Valve) == "DIV" {
                break;
            }
            put(row, Role::Valve, "DIV");
        }
    }

    /// When the model let milk go forward that was not safe.
    pub fn unsafe_milk(&self) -> Result<Vec<Interval>, Error> {
        let found: Vec<Interval> = self
            .run
            .truth
            .unsafe_flow
            .iter()
            .filter(|one| one.rule != TruthRule::Unverifiable)
            .map(|one| one.interval)
            .collect();
        if found.is_empty() { Err(missing("unsafe milk")) } else { Ok(found) }
    }

    /// Replaces a piece of the plant file.
    pub fn replant(&mut self, from: &str, to: &str) -> Result<(), Error> {
        self.plant = replaced(&self.plant, from, to)?;
        Ok(())
    }

    /// The file of the logger.
    pub fn log(&self) -> Result<String, Error> {
        let bytes = write_csv(&self.run, &Dialect::default())?;
        String::from_utf8(bytes).map_err(|error| missing(error.to_string()))
    }

    /// The day with plant file and logger file.
    pub fn finish(
        self,
        name: &'static str,
        item: &'static str,
        must: Must,
    ) -> Result<ProofDay, Error> {
        let log = self.log()?;
        Ok(ProofDay::new(name, item, must, Some(self.plant), log))
    }
}

/// How far a slow change has come, in milliseconds up to `ramp`.
fn share(since: Duration, lasts: Duration, ramp: Duration) -> i64 {
    let left = lasts - since;
    since.milliseconds().min(left.milliseconds()).min(ramp.milliseconds())
}

fn index(role: Role) -> usize {
    COLUMNS.iter().position(|column| column.role == role).unwrap_or(usize::MAX)
}

fn cell(row: &mut Row, role: Role) -> Option<&mut Cell> {
    row.cells.get_mut(index(role))
}

/// A reading in tenths.
pub(super) fn reading(row: &Row, role: Role) -> Option<i64> {
    match row.cells.get(index(role)) {
        Some(Cell::Reading(reading)) => Some(reading.mantissa()),
        _ => None,
    }
}

/// A word; nothing for a reading.
pub(super) fn word(row: &Row, role: Role) -> &str {
    match row.cells.get(index(role)) {
        Some(Cell::Word(word)) => word,
        _ => "",
    }
}

/// Writes a word into a cell.
pub(super) fn put(row: &mut Row, role: Role, word: &str) {
    if let Some(cell) = cell(row, role) {
        *cell = Cell::Word(word.into());
    }
}

pub(super) fn missing(what: impl Into<String>) -> Error {
    Error::Proof { missing: what.into() }
}

/// A text with a piece of it replaced, everywhere.
pub(crate) fn replaced(text: &str, from: &str, to: &str) -> Result<String, Error> {
    if text.contains(from) {
        Ok(text.replace(from, to))
    } else {
        Err(missing(format!("the text {from:?}")))
    }
}
