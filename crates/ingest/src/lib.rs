//! From the bytes of logger files to a run record.
//!
//! Data contract: any bytes give either a [`RunRecord`] with observations that name file and line,
//! or an [`Error`] that says what to do; never a panic. The same bytes and the same plant file
//! give the same record, whatever the number of threads, wherever a day is cut into files and
//! however rows of one instant are ordered. Nothing is interpolated, and a cell that can be doubted
//! is not a reading. No row is lost: each becomes a sample or part of one, or is kept without a
//! place in time.
//!
//! The way of a file: [`Input`] → chunks of text (`input`) → lines (`lines`) → cells (`cells`,
//! `open_row`) →
//! header and columns (`header`, `recognise`) → rows in a column store (`file`, `store`, with
//! `stamp`, `mark`, `thousands` and `words` for what stands in the cells) → the order of dates (`dates`) →
//! instants (`place`, `jump`) → samples (`merge`), rows without a place (`unplaced`), and what was seen on
//! the way ([`observations`]).

mod cells;
mod container;
mod date_text;
mod dates;
mod error;
mod file;
mod folder;
mod header;
mod input;
mod jump;
mod lines;
mod long_form;
mod mark;
mod merge;
mod months;
pub mod observations;
mod open_row;
mod place;
mod positions;
mod progress;
mod recognise;
mod run_sheet;
mod shape;
pub mod sheet;
mod stamp;
mod store;
mod suggest;
mod thousands;
mod time_text;
mod unplaced;
mod words;

pub use error::{Error, Says};
pub use folder::{Contents, PLANT_FILE, contents, days, plant_file_beside, run_sheet_beside};
pub use input::Input;
pub use progress::Progress;
pub use run_sheet::read_run_sheet;

use dates::{DatesOfFile, decide};
use file::{FileRows, read_file};
use jump::check_jumps;
use merge::{Groups, merge};
use observations::Run;
use place::{Direction, NOWHERE, Placed, Turn, place};
use plant::Plant;
use positions::check_positions;
use recognise::Named;
use store::{AnyChannel, Store, number_slot, text_slot};
use trace::{
    Differential, Instant, Interval, Observation, Role, RunRecord, RunRecordParts, SourceFile,
    TextChannel, Unplaced,
};

/// What was read.
#[derive(Debug, Clone)]
pub struct Ingested {
    /// The record.
    pub record: RunRecord,
    /// What needs a look, by file and line.
    pub observations: Vec<Observation>,
    /// A sentence on each thing that was assumed and not stated.
    pub assumptions: Vec<String>,
}

/// Reads the files of one production day of one pasteurizer, given in any order.
///
/// # Errors
/// When a file can't be read or understood; [`Error`] says which, where and what to do.
/// [`Error::Cancelled`] after [`Progress::cancel`].
pub fn read(inputs: &[Input], plant: &Plant, progress: &Progress) -> Result<Ingested, Error> {
    read_files(inputs, plant, progress, check_positions)
}

/// The same while a plant file is being set up, which may not say yet what the words of the flow
/// diversion device mean: for looking at, as no position is known then.
///
/// # Errors
/// As [`read`], but for [`Error::UnknownPositions`].
pub fn preview(inputs: &[Input], plant: &Plant, progress: &Progress) -> Result<Ingested, Error> {
    read_files(inputs, plant, progress, |_| Ok(()))
}

fn read_files(
    inputs: &[Input],
    plant: &Plant,
    progress: &Progress,
    check: impl FnOnce(&[FileRows]) -> Result<(), Error>,
) -> Result<Ingested, Error> {
    if inputs.is_empty() {
        return Err(Error::NoInput);
    }
    progress.expect_bytes(inputs.iter().map(Input::length).sum());
    let mut store = Store::default();
    let mut files = Vec::with_capacity(inputs.len());
    for input in inputs {
        files.push(read_file(input, plant, &mut store, progress)?);
    }
    check_columns(&files)?;
    if store.rows() == 0 {
        // There is at least one file, and none has rows.
        let file = files.first();
        return Err(Error::NoRows {
            file: file.map_or_else(String::new, |file| file.name.to_string()),
            line: file.map_or(1, |file| file.header_line),
        });
    }
    check(&files)?;
    let dates: Vec<_> = files
        .iter()
        .map(|file| DatesOfFile { file: &file.name, dates: &file.stamps.dates })
        .collect();
    let decided = decide(&dates, plant.date_order)?;
    let stamps = std::mem::take(&mut store.stamps);
    let clock = (plant.zone, plant.logger_clock);
    let placed = place(&files, &decided.days, &stamps, &store, clock)?;
    if placed.instants.iter().all(|&instant| instant == NOWHERE) {
        let first = files.iter().find(|file| !file.rows.is_empty());
        return Err(Error::NoPossibleStamp {
            file: first.map_or_else(String::new, |file| file.name.to_string()),
            line: first.map_or(1, |file| file.lines.of(0)),
            zone: plant.zone.name(),
        });
    }
    if progress.is_cancelled() {
        return Err(Error::Cancelled);
    }
    let groups =
        (!placed.in_order).then(|| Groups::new(rows_in_order(&files, &placed), &placed.instants));
    check_jumps(&files, &placed, groups.as_ref(), plant.zone)?;
    let samples: Option<Vec<Instant>> = groups.as_ref().map(|groups| {
        groups
            .iter()
            .filter_map(|rows| placed.instants.get(*rows.first()? as usize))
            .map(|&instant| Instant::from_unix_milliseconds(instant))
            .collect()
    });
    // Rows that are all in order have a place each.
    let unplaced = samples
        .as_ref()
        .map_or_else(Vec::new, |samples| unplaced::groups(&files, &placed, &stamps, samples));
    drop(stamps);
    let observations = observations::find(Run {
        files: &files,
        placed: &placed,
        store: &store,
        groups: groups.as_ref(),
        unplaced: &unplaced,
        zone: plant.zone,
    });
    let unplaced = unplaced::unplaced(&unplaced, &files, &store);
    if let Some(groups) = &groups {
        store = merge(store, groups, plant);
    }
    let assumptions = assumptions(&files, decided.assumptions, &placed);
    let sources = sources(&files, &placed);
    let double_spans = placed.double_spans();
    let instants = samples.unwrap_or_else(|| {
        placed.instants.into_iter().map(Instant::from_unix_milliseconds).collect()
    });
    let times = Times { instants, unplaced, double_spans };
    let record = record(store, times, sources, plant)?;
    Ok(Ingested { record, observations, assumptions })
}

/// What is known of the record's time.
struct Times {
    instants: Vec<Instant>,
    unplaced: Vec<Unplaced>,
    double_spans: Vec<Interval>,
}

/// A column that the plant file binds may be missing from a file, but not from all.
fn check_columns(files: &[FileRows]) -> Result<(), Error> {
    for file in files {
        for (role, column) in &file.columns.missing {
            let elsewhere = files.iter().any(|file| file.columns.roles.contains_key(role));
            let replaced = match role {
                Role::DifferentialPressure => [Role::RawPressure].as_slice(),
                Role::RawPressure | Role::PasteurizedPressure => &[Role::DifferentialPressure],
                Role::ValveForward | Role::ValveDivert => &[Role::Valve],
                _ => &[],
            };
            let replaced = replaced.iter().any(|role| file.columns.roles.contains_key(role));
            if !elsewhere && !replaced {
                let (line, names) = (file.header_line, &file.names);
                return Err(Named { file: &file.name, line, names }.bound_nowhere(*role, column));
            }
        }
    }
    Ok(())
}

/// The usable rows in the order of the files.
fn rows_in_order(files: &[FileRows], placed: &Placed) -> Vec<u32> {
    let mut order = Vec::with_capacity(placed.instants.len());
    let usable = |row: &u32| placed.instants.get(*row as usize).is_some_and(|&at| at != NOWHERE);
    for &Turn { file, direction, .. } in &placed.turns {
        let Some(file) = files.get(file) else { continue };
        let rows = file.rows.start as u32..file.rows.end as u32;
        match direction {
            Direction::OldestFirst => order.extend(rows.filter(usable)),
            Direction::NewestFirst => order.extend(rows.rev().filter(usable)),
            Direction::Repeated => {}
        }
    }
    order
}

fn sources(files: &[FileRows], placed: &Placed) -> Vec<SourceFile> {
    files
        .iter()
        .enumerate()
        .map(|(index, file)| {
            let repeated = placed.has(index, Direction::Repeated);
            let usable = |row: &usize| placed.instants.get(*row).is_some_and(|&at| at != NOWHERE);
            let rows =
                if repeated { file.rows.len() } else { file.rows.clone().filter(usable).count() };
            SourceFile {
                name: file.name.clone(),
                bytes: file.bytes,
                rows: rows as u64,
                sha256: file.sha256,
            }
        })
        .collect()
}

/// Sentences that hold for all files are said once, others with the name of the file.
fn assumptions(files: &[FileRows], dates: Vec<Vec<String>>, placed: &Placed) -> Vec<String> {
    let mut said: Vec<(String, Vec<usize>)> = Vec::new();
    for (index, (file, dates)) in files.iter().zip(dates).enumerate() {
        let newest_first = placed
            .has(index, Direction::NewestFirst)
            .then(|| "The newest row comes first; the rows were read from the end.".to_owned());
        for sentence in file.assumptions.iter().cloned().chain(dates).chain(newest_first) {
            match said.iter_mut().find(|(other, _)| *other == sentence) {
                Some((_, indices)) => indices.push(index),
                None => said.push((sentence, vec![index])),
            }
        }
    }
    let mut sentences = Vec::new();
    for (sentence, indices) in said {
        if indices.len() == files.len() {
            sentences.push(sentence);
            continue;
        }
        let names: Vec<&str> =
            indices.iter().filter_map(|&index| files.get(index)).map(|file| &*file.name).collect();
        sentences.push(format!("{}: {sentence}", names.join(", ")));
    }
    sentences
}

fn record(
    store: Store,
    times: Times,
    sources: Vec<SourceFile>,
    plant: &Plant,
) -> Result<RunRecord, Error> {
    let Times { instants, unplaced, double_spans } = times;
    let pair = store.has_pair();
    let Store { stamps: _, valve, mut numbers, leak, pump, mut texts } = store;
    let mut take = |role: Role| {
        number_slot(role).and_then(|slot| numbers.get_mut(slot)).and_then(Option::take)
    };
    let mut temperature = |role: Role| take(role).and_then(AnyChannel::temperature);
    // Every file was refused that does not have these.
    let missing = |role: Role| {
        Error::Record(trace::Error::Length {
            channel: role.key(),
            samples: 0,
            instants: instants.len(),
        })
    };
    let holding_temperature =
        temperature(Role::HoldingTemperature).ok_or_else(|| missing(Role::HoldingTemperature))?;
    let recorder_temperature = temperature(Role::RecorderTemperature);
    let raw_temperature = temperature(Role::RawTemperature);
    let regenerated_temperature = temperature(Role::RegeneratedTemperature);
    let heating_water_temperature = temperature(Role::HeatingWaterTemperature);
    let cooled_temperature = temperature(Role::CooledTemperature);
    let flow_rate = take(Role::FlowRate).and_then(AnyChannel::flow);
    let mut pressure =
        |role: Role| take(role).and_then(AnyChannel::pressure).ok_or_else(|| missing(role));
    let differential = if pair {
        Differential::Pair {
            raw: pressure(Role::RawPressure)?,
            pasteurized: pressure(Role::PasteurizedPressure)?,
        }
    } else {
        Differential::Direct(pressure(Role::DifferentialPressure)?)
    };
    let mut text = |role: Role| -> Option<TextChannel> {
        text_slot(role).and_then(|slot| texts.get_mut(slot)).and_then(Option::take)
    };
    let (product, lot, mode) = (text(Role::Product), text(Role::Lot), text(Role::Mode));
    RunRecord::new(RunRecordParts {
        unit: plant.unit.clone(),
        sources,
        instants,
        valve,
        holding_temperature,
        differential,
        recorder_temperature,
        flow_rate,
        raw_temperature,
        regenerated_temperature,
        heating_water_temperature,
        cooled_temperature,
        leak_detect: leak,
        timing_pump: pump,
        product,
        lot,
        mode,
        unplaced,
        double_spans,
    })
    .map_err(Error::Record)
}
