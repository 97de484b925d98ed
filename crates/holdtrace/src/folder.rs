//! A folder of records, gone through for the command line.

use crate::arguments::{FolderArguments, RecordArguments};
use crate::{output, person};
use ::review::{Books, HoleBefore};
pub use archive::books_in_words as in_words;
use archive::{Files, Neighbours, ScanProgress};
use chrono::NaiveDate;
use daybook::Entry;
use plant::Plant;
use signers::Imprint;
use std::error::Error;
use std::path::Path;

/// A folder that was gone through.
pub struct Gone {
    /// The records, in order of their dates.
    pub entries: Vec<Entry>,
    /// The books that they were checked against, in sentences.
    pub books: Vec<String>,
    /// By what these books are told from others.
    pub imprints: Vec<Imprint>,
    /// Whether all folders in it could be looked into, and the books are those that were seen before.
    pub is_whole: bool,
}

/// Goes through a folder. What is filed or handed to an auditor vouches for its records, so for that
/// every one is read again: rows are kept by times and length of the files.
///
/// # Errors
/// When the folder can't be read.
pub fn scan(arguments: &FolderArguments, vouches: bool) -> Result<Gone, Box<dyn Error>> {
    let cache = archive::usual_cache().filter(|_| !arguments.read_again && !vouches);
    let (trust, progress) = (person::trust(), ScanProgress::default());
    let scan = archive::scan(&arguments.folder, cache.as_deref(), &trust, &progress)?;
    let alarms = scan.books.iter().flat_map(|books| &books.alarms);
    let mut is_whole = true;
    for problem in scan.problems.iter().chain(alarms) {
        is_whole = false;
        output::complain(problem);
    }
    if scan.entries.is_empty() {
        return Err(format!("{}: it has no record", arguments.folder.display()).into());
    }
    let imprints = scan.books.iter().filter_map(Books::imprint).collect();
    let books = scan.books.iter().flat_map(in_words).collect();
    Ok(Gone { entries: scan.entries, books, imprints, is_whole })
}

/// The hole before a record that is to be closed, found in a folder, or else in the record's own.
///
/// # Errors
/// When the folder can't be read.
pub fn hole_before(
    record: &RecordArguments,
    folder: Option<&Path>,
) -> Result<Option<HoleBefore>, Box<dyn Error>> {
    Ok(neighbours().hole_before(&files(record), folder)?)
}

/// What lies around records is looked for with this, each folder once.
pub fn neighbours() -> Neighbours {
    Neighbours::new(archive::usual_cache(), person::trust())
}

/// The files of a record, with those that belong to them.
pub fn files(record: &RecordArguments) -> Files {
    let RecordArguments { files, plant, run_sheet, operator_entries } = record.clone();
    Files { logger: files, plant, run_sheet, operator_entries }.together()
}

/// The plant by the file that was named, or by the one that lies beside another file of it; assumed where there
/// is none.
///
/// # Errors
/// When the plant file can't be used.
pub fn plant(named: Option<&Path>, beside: &Path) -> Result<Plant, plant::Error> {
    match named.map(Path::to_owned).or_else(|| ingest::plant_file_beside(beside)) {
        Some(file) => Plant::read(&file),
        None => Ok(Plant::assumed()),
    }
}

/// Today, on this machine's clock.
pub fn today() -> NaiveDate {
    chrono::Local::now().date_naive()
}
