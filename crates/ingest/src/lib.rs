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
//! header and columns (`header`, `recognise`) → rows in a column store (`file`, `body`, `plain`, `store`, with
//! `stamp`, `mark`, `thousands` and `words` for what stands in the cells) → the order of dates (`dates`) →
//! instants (`place`, `jump`) → what holds where only changes are written (`held`) → samples (`merge`), rows without a place (`unplaced`), and what was seen on
//! the way ([`observations`]): a `part`. The files of several loggers (`loggers`) are a part each, of which
//! one record is made (`join`, `offset`).

mod body;
mod bounds;
mod cells;
mod container;
mod date_text;
mod dates;
mod entry_added;
mod error;
mod file;
mod folder;
mod header;
mod held;
mod input;
mod join;
mod jump;
mod lines;
mod loggers;
mod long_form;
mod mark;
mod merge;
mod months;
pub mod observations;
mod ods;
mod offset;
mod open_row;
mod operator_entries;
mod parquet;
mod part;
mod place;
mod plain;
mod positions;
mod progress;
mod recognise;
mod run_sheet;
mod shape;
pub mod sheet;
mod stamp;
mod stamp_cells;
mod store;
mod suggest;
mod thousands;
mod time_text;
mod unplaced;
mod words;
mod written;
mod zone;

pub use entry_added::{NewEntry, with_entry};
pub use error::{Error, Says};
pub use folder::{
    Contents, PLANT_FILE, contents, days, is_operator_entries, operator_entries_beside,
    operator_entries_of, plant_file_beside, records, run_sheet_beside,
};
pub use input::Input;
pub use operator_entries::{parse_operator_entries, read_operator_entries};
pub use progress::Progress;
pub use run_sheet::{parse_run_sheet, read_run_sheet};
pub use written::{LONGEST_WRITTEN, time_on_clock};
pub use zone::is_zone_assumed;

use body::FileRows;
use loggers::read_together;
use part::{Part, read_part};
use plant::Plant;
use positions::check_positions;
use store::{AnyChannel, Store, TEXTS, number_slot, text_slot};
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
    let part = if plant.loggers.is_empty() {
        let inputs: Vec<&Input> = inputs.iter().collect();
        read_part(&inputs, (plant, 0), progress, check)?
    } else {
        read_together(inputs, plant, progress, check)?
    };
    let Part { store, instants, unplaced, double_spans, sources, observations, assumptions } = part;
    let assumptions = said(assumptions, sources.len());
    let times = Times { instants, unplaced, double_spans };
    let record = record(store, times, sources, plant)?;
    Ok(Ingested { record, observations, assumptions })
}

/// Sentences that hold for all files are said once, others with the name of the file.
fn said(assumptions: Vec<(String, Vec<String>)>, files: usize) -> Vec<String> {
    let one = |(sentence, names): (String, Vec<String>)| {
        if names.len() == files { sentence } else { format!("{}: {sentence}", names.join(", ")) }
    };
    assumptions.into_iter().map(one).collect()
}

/// What is known of the record's time.
struct Times {
    instants: Vec<Instant>,
    unplaced: Vec<Unplaced>,
    double_spans: Vec<Interval>,
}

fn record(
    store: Store,
    times: Times,
    sources: Vec<SourceFile>,
    plant: &Plant,
) -> Result<RunRecord, Error> {
    let Times { instants, unplaced, double_spans } = times;
    let pair = store.has_pair();
    let Store { valve, mut numbers, switches, mut texts, .. } = store;
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
    let cleaning_return_temperature = temperature(Role::CleaningReturnTemperature);
    let [heating_medium_pressure, cooling_medium_pressure] =
        [Role::HeatingMediumPressure, Role::CoolingMediumPressure]
            .map(|role| take(role).and_then(AnyChannel::pressure));
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
    let [product, lot, mode, mode_switch] = TEXTS.map(&mut text);
    let [leak_detect, timing_pump, booster_pump, high_flow_alarm, low_flow_alarm] = switches;
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
        cleaning_return_temperature,
        heating_medium_pressure,
        cooling_medium_pressure,
        leak_detect,
        timing_pump,
        booster_pump,
        high_flow_alarm,
        low_flow_alarm,
        product,
        lot,
        mode,
        mode_switch,
        unplaced,
        double_spans,
    })
    .map_err(Error::Record)
}
