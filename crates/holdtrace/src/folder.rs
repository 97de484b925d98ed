//! A folder of records, gone through for the command line.

use crate::arguments::FolderArguments;
use crate::output;
use archive::ScanProgress;
use chrono::NaiveDate;
use daybook::Entry;
use std::error::Error;

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

/// Today, on this machine's clock.
pub fn today() -> NaiveDate {
    chrono::Local::now().date_naive()
}
