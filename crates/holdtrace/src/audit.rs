//! `holdtrace audit`: read, audit, tell.

use crate::arguments::{AuditArguments, Format, RecordArguments, Rows};
use crate::outcome::Outcome;
use crate::output;
use analysis::Audit;
use archive::Files;
use case::Case;
use ingest::{Input, Progress};
use std::error::Error;
use std::io::Read as _;
use std::path::Path;

/// Reads the files of one record and audits it.
///
/// # Errors
/// When the plant file or a logger file can't be used.
pub fn read(arguments: &RecordArguments) -> Result<Case, Box<dyn Error>> {
    let RecordArguments { files, plant, run_sheet, operator_entries } = arguments.clone();
    let files = Files { logger: files, plant, run_sheet, operator_entries }.together();
    let inputs = files.logger.iter().map(|file| input(file)).collect::<Result<Vec<_>, _>>()?;
    archive::read(&files, Some(&inputs), &Progress::default()).map_err(|cause| {
        // A file that no plant file tells of, and that is not known by its names.
        let is_unknown = matches!(
            &cause,
            archive::Error::Ingest(
                ingest::Error::MissingColumn { .. }
                    | ingest::Error::AmbiguousColumn { .. }
                    | ingest::Error::NoUnit { .. }
                    | ingest::Error::LongForm { .. }
            )
        );
        if is_unknown && matches!(files.plant_in_use(), Ok(None)) {
            format!("{cause}; `holdtrace setup` drafts a plant file from it").into()
        } else {
            cause.into()
        }
    })
}

/// What the exit status says of an audit.
pub fn outcome(audit: &Audit) -> Outcome {
    if audit.is_clean() { Outcome::Clean } else { Outcome::Exceptions }
}

/// A file, or standard input, to be read.
///
/// # Errors
/// When standard input can't be read.
pub fn input(file: &Path) -> Result<Input, Box<dyn Error>> {
    // What the shell puts for `<(program)` is open already; any other pipe is refused unopened.
    if cfg!(unix) && file.starts_with("/dev/fd") {
        let bytes = std::fs::read(file)
            .map_err(|cause| format!("{}: can't be read ({cause})", file.display()))?;
        return Ok(Input::Bytes { name: file.display().to_string(), bytes });
    }
    let is_input = file == Path::new("-") || (cfg!(unix) && file == Path::new("/dev/stdin"));
    if !is_input {
        return Ok(Input::File(file.to_owned()));
    }
    let mut bytes = Vec::new();
    std::io::stdin()
        .lock()
        .read_to_end(&mut bytes)
        .map_err(|cause| format!("standard input can't be read: {cause}"))?;
    Ok(Input::Bytes { name: "-".to_owned(), bytes })
}

/// Runs the command.
///
/// # Errors
/// When the input can't be used or the output not be written.
pub fn run(arguments: &AuditArguments) -> Result<Outcome, Box<dyn Error>> {
    let case = read(&arguments.record)?;
    let text = match arguments.format {
        Format::Text => case.text().into(),
        Format::Json => case.json()?,
        Format::Result => case.result_json()?,
        Format::Csv => match arguments.rows {
            Rows::Exceptions => case.csv()?,
            Rows::Observations => case.observations_csv()?,
            Rows::Diverts => case.diverts_csv()?,
        },
    };
    output::write(text.as_bytes(), arguments.output.as_deref())?;
    Ok(outcome(case.audit()))
}
