//! A folder of records, gone through for the command line.

use crate::arguments::{FolderArguments, RecordArguments};
use crate::output;
use ::review::HoleBefore;
use archive::{Files, Neighbours, ScanProgress};
use chrono::NaiveDate;
use daybook::Entry;
use std::error::Error;
use std::path::Path;

/// The records of a folder, in order of their dates, and whether all folders in it could be looked
/// into.
///
/// # Errors
/// When the folder can't be read.
pub fn entries(arguments: &FolderArguments) -> Result<(Vec<Entry>, bool), Box<dyn Error>> {
    let cache = archive::usual_cache().filter(|_| !arguments.read_again);
    let scan = archive::scan(&arguments.folder, cache.as_deref(), &ScanProgress::default())?;
    let is_whole = scan.problems.is_empty();
    for problem in scan.problems {
        output::complain(&problem);
    }
    if scan.entries.is_empty() {
        return Err(format!("{}: no record is in it", arguments.folder.display()).into());
    }
    Ok((scan.entries, is_whole))
}

/// The hole before a record that is to be closed, found in a folder, or else in the record's own.
///
/// # Errors
/// When the folder can't be read.
pub fn hole_before(
    record: &RecordArguments,
    folder: Option<&Path>,
) -> Result<Option<HoleBefore>, Box<dyn Error>> {
    let RecordArguments { files, plant, run_sheet } = record.clone();
    let files = Files { logger: files, plant, run_sheet };
    Ok(Neighbours::new(archive::usual_cache()).hole_before(&files, folder)?)
}

/// Today, on this machine's clock.
pub fn today() -> NaiveDate {
    chrono::Local::now().date_naive()
}
