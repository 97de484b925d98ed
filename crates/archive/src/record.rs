//! One record, read and audited.

use crate::error::Error;
use crate::files::Files;
use case::Case;
use ingest::{Ingested, Input, Progress};
use plant::Plant;
use trace::file_name;

/// Reads the files of a record and audits it.
///
/// `inputs` are the logger files where they are not to be read from `files` by name, such as
/// standard input.
///
/// # Errors
/// When the plant file, a logger file or the run sheet can't be used, or the reading was cancelled.
pub fn read(files: &Files, inputs: Option<&[Input]>, progress: &Progress) -> Result<Case, Error> {
    let mut assumptions = Vec::new();
    if let Some(why) = files.unread_journal() {
        assumptions.push(format!(
            "The journal of the record is there and can't be read, so the plant file that it names is \
             not known: {why}."
        ));
    }
    let plant = match files.plant_in_use()? {
        Some(file) => {
            if files.plant.is_none() {
                let is_beside = ingest::plant_file_beside(files.first()).as_ref() == Some(&file);
                let how = if is_beside {
                    "was found beside the record"
                } else {
                    "is the one that the record was reviewed with"
                };
                let name = file_name(&file.to_string_lossy()).to_owned();
                assumptions.push(format!("The plant file {name} {how} and is used."));
            }
            Plant::read(&file)?
        }
        None => Plant::assumed(),
    };
    read_by(ingest::read, (files, inputs), (plant, assumptions), progress)
}

/// The same by a plant that is in no file yet, with what was assumed to come to it. What the words of the
/// flow diversion device mean need not be said yet.
///
/// # Errors
/// As [`read`], but for the plant file.
pub fn read_with(
    files: (&Files, Option<&[Input]>),
    plant: (Plant, Vec<String>),
    progress: &Progress,
) -> Result<Case, Error> {
    read_by(ingest::preview, files, plant, progress)
}

fn read_by(
    read: impl FnOnce(&[Input], &Plant, &Progress) -> Result<Ingested, ingest::Error>,
    (files, inputs): (&Files, Option<&[Input]>),
    (plant, mut assumptions): (Plant, Vec<String>),
    progress: &Progress,
) -> Result<Case, Error> {
    let own: Vec<Input>;
    let inputs = match inputs {
        Some(inputs) => inputs,
        None => {
            own = files.logger.iter().cloned().map(Input::File).collect();
            &own
        }
    };
    let ingested = read(inputs, &plant, progress).map_err(|cause| match cause {
        ingest::Error::Cancelled => Error::Cancelled,
        cause => Error::Ingest(cause),
    })?;
    assumptions.extend(ingested.assumptions);
    let mut record = ingested.record;
    if let Some(sheet) = files.run_sheet_in_use()? {
        let read = ingest::read_run_sheet(&sheet, &plant)?;
        record = record.with_run_sheet(read);
        if files.run_sheet.is_none() {
            let name = file_name(&sheet.to_string_lossy()).to_owned();
            assumptions.push(format!("The run sheet {name} is used."));
        }
    }
    if let Some(entries) = files.operator_entries_in_use()? {
        record = record.with_operator_entries(ingest::read_operator_entries(&entries, &plant)?);
        if files.operator_entries.is_none() {
            let name = file_name(&entries.to_string_lossy()).to_owned();
            assumptions.push(format!("The operators' entries {name} are used."));
        }
    }
    Ok(Case::new(record, plant, ingested.observations, assumptions))
}
