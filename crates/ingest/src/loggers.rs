//! The files of several loggers: which file is whose, and one record made of what they hold.
//!
//! The logger that has the position of the flow diversion device leads: its rows are the rows of the record,
//! its clock is the record's clock. The others are joined to its rows (`join`).

use crate::body::FileRows;
use crate::error::Error;
use crate::input::Input;
use crate::join::{absent, join};
use crate::observations::{logger_missing, loggers_apart, loggers_not_joined};
use crate::offset::suggest;
use crate::part::{Part, read_part};
use crate::progress::Progress;
use plant::{Logger, Plant};
use trace::{SourcePosition, file_name};

/// Reads the files of several loggers of one pasteurizer.
pub(crate) fn read_together(
    inputs: &[Input],
    plant: &Plant,
    progress: &Progress,
    check: impl FnOnce(&[FileRows]) -> Result<(), Error>,
) -> Result<Part, Error> {
    let mut files: Vec<Vec<&Input>> = plant.loggers.iter().map(|_| Vec::new()).collect();
    for input in inputs {
        let logger = logger_of(&input.name(), plant)?;
        if let Some(files) = files.get_mut(logger) {
            files.push(input);
        }
    }
    let mut loggers = plant.loggers.iter().zip(files);
    let leading = loggers.next().filter(|(_, files)| !files.is_empty());
    let (leading, files) = leading.ok_or_else(|| no_leading(inputs, plant))?;
    let mut record = read_part(&files, (&plant.of_logger(leading), 0), progress, check)?;
    let position = record.sources.first().map(|file| file.name.clone());
    let position = SourcePosition { file: position.unwrap_or_default(), line: 1 };
    let mut joined = Vec::new();
    for (logger, files) in loggers {
        if files.is_empty() {
            record.observations.push(logger_missing::observation(
                logger,
                &record.instants,
                position.clone(),
            ));
            joined.push((absent(logger, record.instants.len()), logger));
            continue;
        }
        let of_logger = plant.of_logger(logger);
        let part = read_part(&files, (&of_logger, logger.clock_ahead), progress, |_| Ok(()))?;
        let at =
            part.sources.first().map_or_else(|| position.file.clone(), |file| file.name.clone());
        let at = SourcePosition { file: at, line: 1 };
        record.assumptions.extend(how_it_is_joined(logger, &part));
        let found = suggest((&record.store, &record.instants), (&part.store, &part.instants));
        if let Some(offset) = found.filter(|offset| offset.by.abs() > least_told(logger)) {
            record.observations.push(loggers_apart::observation(
                logger,
                (offset.role, offset.by),
                &record.instants,
                at.clone(),
            ));
        }
        let Part { store, instants, unplaced, double_spans, sources, observations, assumptions } =
            part;
        let (store, left) =
            join(store, (&record.instants, &instants), logger.tolerance, &of_logger);
        if left.rows > 0 || left.unused > 0 {
            record.observations.push(loggers_not_joined::observation(
                logger,
                [left.rows, left.unused],
                &record.instants,
                at,
            ));
        }
        joined.push((store, logger));
        record.take_unplaced(unplaced);
        record.double_spans.extend(double_spans);
        record.sources.extend(sources);
        record.observations.extend(observations);
        record.assumptions.extend(assumptions);
    }
    for (store, _) in joined {
        record.store = record.store.beside(store);
    }
    record.double_spans = crate::place::apart(record.double_spans);
    Ok(record)
}

/// An offset of no more than the tolerance moves no reading to a row that could not take it.
fn least_told(logger: &Logger) -> i64 {
    logger.tolerance.milliseconds()
}

/// The logger whose files are called so.
fn logger_of(name: &str, plant: &Plant) -> Result<usize, Error> {
    let file = file_name(name);
    let is_its = |logger: &&Logger| logger.files.day(file).is_some();
    let mut found = plant.loggers.iter().enumerate().filter(|(_, logger)| is_its(logger));
    let error = |two| Error::WhichLogger { file: name.to_owned(), patterns: patterns(plant), two };
    match (found.next(), found.next()) {
        (Some((only, _)), None) => Ok(only),
        (None, _) => Err(error(false)),
        (Some(_), Some(_)) => Err(error(true)),
    }
}

fn patterns(plant: &Plant) -> Vec<String> {
    let shown = |logger: &Logger| format!("{} of {:?}", logger.files, logger.name);
    plant.loggers.iter().map(shown).collect()
}

fn no_leading(inputs: &[Input], plant: &Plant) -> Error {
    let leading = plant.loggers.first();
    Error::NoLeadingLogger {
        file: inputs.first().map_or_else(String::new, Input::name),
        logger: leading.map_or_else(String::new, |logger| logger.name.clone()),
        pattern: leading.map_or_else(String::new, |logger| logger.files.to_string()),
    }
}

/// What the plant file says of a logger, as a sentence that is printed.
fn how_it_is_joined(logger: &Logger, part: &Part) -> Vec<(String, Vec<String>)> {
    let names = || part.sources.iter().map(|file| file.name.to_string()).collect::<Vec<_>>();
    let tolerance = logger.tolerance;
    let mut said = vec![(
        format!(
            "Readings of the logger {:?} belong to the rows of the record that are no further away than {tolerance}.",
            logger.name
        ),
        names(),
    )];
    if logger.clock_ahead != 0 {
        let by = trace::Duration::from_milliseconds(logger.clock_ahead.abs());
        let (way, back) =
            if logger.clock_ahead > 0 { ("ahead", "back") } else { ("behind", "forward") };
        said.push((
            format!(
                "The clock of the logger {:?} is {by} {way}, as the plant file says; its readings were \
                 set {back} by that.",
                logger.name
            ),
            names(),
        ));
    }
    said
}
