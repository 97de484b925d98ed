//! What the files of one logger hold: rows in the store, placed in time, merged to samples, with what was
//! seen on the way.

use crate::body::FileRows;
use crate::dates::{DatesOfFile, decide};
use crate::error::Error;
use crate::file::read_file;
use crate::held::{TooMany, hold};
use crate::input::Input;
use crate::jump::check_jumps;
use crate::merge::{Groups, merge};
use crate::observations::{self, Run};
use crate::place::{Direction, NOWHERE, Placed, Turn, apart, place};
use crate::progress::Progress;
use crate::recognise::Named;
use crate::store::Store;
use crate::unplaced;
use plant::Plant;
use trace::{Instant, Interval, Observation, Role, SourceFile, Unplaced};

/// The samples of one logger.
#[derive(Debug)]
pub(crate) struct Part {
    pub(crate) store: Store,
    pub(crate) instants: Vec<Instant>,
    pub(crate) unplaced: Vec<Unplaced>,
    pub(crate) double_spans: Vec<Interval>,
    pub(crate) sources: Vec<SourceFile>,
    pub(crate) observations: Vec<Observation>,
    /// Sentences, each with the files of which it is true.
    pub(crate) assumptions: Vec<(String, Vec<String>)>,
}

/// Reads the files of one logger, whose clock is `ahead` by so many milliseconds.
pub(crate) fn read_part(
    inputs: &[&Input],
    (plant, ahead): (&Plant, i64),
    progress: &Progress,
    check: impl FnOnce(&[FileRows]) -> Result<(), Error>,
) -> Result<Part, Error> {
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
    let decided = decide(&dates, plant.form.date_order)?;
    let stamps = std::mem::take(&mut store.stamps);
    let clock = (plant.zone, plant.form.logger_clock);
    let mut placed = place(&files, &decided.days, &stamps, &store, clock)?;
    placed.set_back_by(ahead);
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
    let mut groups =
        (!placed.in_order).then(|| Groups::new(rows_in_order(&files, &placed), &placed.instants));
    check_jumps(&files, &placed, groups.as_ref(), plant.zone)?;
    let mut samples = groups.as_ref().map(|groups| instants_of(groups, &placed));
    // Rows that are all in order have a place each.
    let unplaced = samples
        .as_ref()
        .map_or_else(Vec::new, |samples| unplaced::groups(&files, &placed, &stamps, samples));
    drop(stamps);
    if let Some(how) = plant.form.on_change {
        let order = rows_in_order(&files, &placed);
        let order = Groups::new(order, &placed.instants).into_rows();
        let broken = apart(unplaced.iter().map(|group| group.interval).collect());
        let rows = placed.instants.len() as u32;
        store = hold(store, &mut placed.instants, &order, &broken, how).map_err(|TooMany| {
            Error::HeldTooOften {
                file: files.first().map_or_else(String::new, |file| file.name.to_string()),
                step: how.step,
            }
        })?;
        let added = rows..placed.instants.len() as u32;
        let all = Groups::new(order.into_iter().chain(added).collect(), &placed.instants);
        samples = Some(instants_of(&all, &placed));
        groups = Some(all);
    }
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
    Ok(Part { store, instants, unplaced, double_spans, sources, observations, assumptions })
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

/// When each group of rows was.
fn instants_of(groups: &Groups, placed: &Placed) -> Vec<Instant> {
    groups
        .iter()
        .filter_map(|rows| placed.instants.get(*rows.first()? as usize))
        .map(|&instant| Instant::from_unix_milliseconds(instant))
        .collect()
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

/// What was assumed of which files.
fn assumptions(
    files: &[FileRows],
    dates: Vec<Vec<String>>,
    placed: &Placed,
) -> Vec<(String, Vec<String>)> {
    let mut said: Vec<(String, Vec<String>)> = Vec::new();
    for (index, (file, dates)) in files.iter().zip(dates).enumerate() {
        let newest_first = placed
            .has(index, Direction::NewestFirst)
            .then(|| "The newest row comes first; the rows were read from the end.".to_owned());
        for sentence in file.assumptions.iter().cloned().chain(dates).chain(newest_first) {
            match said.iter_mut().find(|(other, _)| *other == sentence) {
                Some((_, names)) => names.push(file.name.to_string()),
                None => said.push((sentence, vec![file.name.to_string()])),
            }
        }
    }
    said
}
