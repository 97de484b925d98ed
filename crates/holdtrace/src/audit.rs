//! `holdtrace audit`: read, audit, tell.

use crate::arguments::{AuditArguments, Format, RecordArguments};
use crate::{Outcome, output, place};
use analysis::Audit;
use ingest::{Input, Progress};
use plant::Plant;
use report::Report;
use std::error::Error;
use std::io::Read as _;
use std::path::{Path, PathBuf};
use trace::RunRecord;

/// A record that was read and audited.
pub struct Audited {
    pub plant: Plant,
    pub record: RunRecord,
    pub audit: Audit,
    assumptions: Vec<String>,
}

impl Audited {
    /// What there is to tell of it.
    pub const fn report(&self) -> Report<'_> {
        Report {
            record: &self.record,
            plant: &self.plant,
            audit: &self.audit,
            assumptions: self.assumptions.as_slice(),
        }
    }

    /// What the exit status says of it.
    pub const fn outcome(&self) -> Outcome {
        if self.audit.exceptions.is_empty() { Outcome::Clean } else { Outcome::Exceptions }
    }
}

/// Reads the files of one record and audits it.
///
/// # Errors
/// When the plant file or a logger file can't be used.
pub fn read(arguments: &RecordArguments) -> Result<Audited, Box<dyn Error>> {
    let RecordArguments { files, plant, run_sheet } = arguments;
    let run_sheet = run_sheet.as_deref();
    let first = files.first().map_or(Path::new("-"), PathBuf::as_path);
    let (plant, found) = place::plant(plant.as_deref(), first)?;
    let inputs = files.iter().map(|file| input(file)).collect::<Result<Vec<_>, _>>()?;
    let ingested = ingest::read(&inputs, &plant, &Progress::default())?;
    let mut assumptions: Vec<String> = found.into_iter().collect();
    assumptions.extend(ingested.assumptions);
    let mut record = ingested.record;
    let beside = match files.as_slice() {
        [only] if run_sheet.is_none() => ingest::run_sheet_beside(only),
        _ => None,
    };
    if let Some(sheet) = run_sheet.or(beside.as_deref()) {
        record = record.with_run_sheet(ingest::read_run_sheet(sheet, &plant)?);
        if beside.is_some() {
            assumptions.push(format!("the run sheet {} is used", sheet.display()));
        }
    }
    let audit = analysis::audit(&record, &plant, ingested.observations);
    Ok(Audited { plant, record, audit, assumptions })
}

fn input(file: &Path) -> Result<Input, Box<dyn Error>> {
    if file != Path::new("-") {
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
    let audited = read(&arguments.record)?;
    let report = audited.report();
    let text = match arguments.format {
        Format::Text => report.text(),
        Format::Json => report.json()?,
        Format::Result => report.result_json()?,
        Format::Csv => report.csv()?,
    };
    output::write(text.as_bytes(), arguments.output.as_deref())?;
    Ok(audited.outcome())
}
