//! What lies beside a record in its folder: other days, the plant file, the run sheet, the operators' entries.

use crate::error::Error;
use plant::Plant;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The name under which a plant file is found beside a record.
pub const PLANT_FILE: &str = "plant.toml";

/// How the name of a run sheet ends: `2026-03-04.csv` has `2026-03-04.run-sheet.csv`.
const RUN_SHEET: &str = ".run-sheet.csv";

/// The same of the operators' entries.
const ENTRIES: &str = ".entries.csv";

/// What lies in a folder of records, each list in order of names.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Contents {
    /// The days: every `.csv` or `.csv.gz` file that is neither run sheet nor entries.
    pub days: Vec<PathBuf>,
    /// The other files.
    pub others: Vec<PathBuf>,
    /// The folders in it, but for those whose names begin with a dot.
    pub folders: Vec<PathBuf>,
}

/// What lies in a folder of records.
///
/// # Errors
/// When the folder can't be read.
pub fn contents(folder: &Path) -> Result<Contents, Error> {
    let unreadable = |cause: std::io::Error| Error::Read {
        file: folder.display().to_string(),
        cause: Arc::new(cause),
    };
    let mut contents = Contents::default();
    for entry in std::fs::read_dir(folder).map_err(unreadable)? {
        let path = entry.map_err(unreadable)?.path();
        let name = path.file_name().map(|name| name.to_string_lossy().to_lowercase());
        let name = name.unwrap_or_default();
        let unpacked = Path::new(name.strip_suffix(".gz").unwrap_or(&name));
        let is_csv = unpacked.extension().is_some_and(|ending| ending == "csv");
        if path.is_dir() {
            if !name.starts_with('.') {
                contents.folders.push(path);
            }
        } else if is_csv && !name.ends_with(RUN_SHEET) && !name.ends_with(ENTRIES) {
            contents.days.push(path);
        } else {
            contents.others.push(path);
        }
    }
    contents.days.sort();
    contents.others.sort();
    contents.folders.sort();
    Ok(contents)
}

/// The days of a folder, in order of their names: every `.csv` file that is neither run sheet nor entries.
///
/// # Errors
/// When the folder can't be read, or holds no such file.
pub fn days(folder: &Path) -> Result<Vec<PathBuf>, Error> {
    let days = contents(folder)?.days;
    if days.is_empty() {
        return Err(Error::NoDays { folder: folder.display().to_string() });
    }
    Ok(days)
}

/// The files of each record among the days of a folder: where several loggers record a day, those whose names
/// tell the same day, the leading one first; else each file by itself.
pub fn records(days: Vec<PathBuf>, plant: Option<&Plant>) -> Vec<Vec<PathBuf>> {
    let loggers = plant.map_or(&[][..], |plant| plant.loggers.as_slice());
    // The place of its logger among them, and its day.
    let place = |file: &Path| {
        let name = file.file_name()?.to_string_lossy().into_owned();
        let mut found = loggers.iter().enumerate();
        found.find_map(|(logger, one)| Some((logger, one.files.day(&name)?)))
    };
    let mut records: Vec<Vec<(usize, PathBuf)>> = Vec::new();
    let mut of_day: BTreeMap<String, usize> = BTreeMap::new();
    for file in days {
        let Some((logger, day)) = place(&file) else {
            records.push(vec![(0, file)]);
            continue;
        };
        let record = *of_day.entry(day).or_insert(records.len());
        match records.get_mut(record) {
            Some(record) => record.push((logger, file)),
            None => records.push(vec![(logger, file)]),
        }
    }
    let in_order = |mut record: Vec<(usize, PathBuf)>| {
        record.sort();
        record.into_iter().map(|(_, file)| file).collect()
    };
    records.into_iter().map(in_order).collect()
}

/// The plant file in the folder of a record, or in the folder itself. It may be something else than a
/// file, which whoever reads it tells: what lies there is not passed over in silence.
pub fn plant_file_beside(record: &Path) -> Option<PathBuf> {
    let folder = if record.is_dir() { record } else { record.parent()? };
    let beside = folder.join(PLANT_FILE);
    is_there(&beside).then_some(beside)
}

fn is_there(path: &Path) -> bool {
    disk::kind(path).is_ok_and(|kind| kind != disk::Kind::Folder)
}

/// The run sheet of a record, be it a file or not.
pub fn run_sheet_beside(record: &Path) -> Option<PathBuf> {
    beside(record, RUN_SHEET)
}

/// The operators' entries of a record, be it a file or not.
pub fn operator_entries_beside(record: &Path) -> Option<PathBuf> {
    beside(record, ENTRIES)
}

/// Whether a file is named as operators' entries are.
pub fn is_operator_entries(path: &Path) -> bool {
    path.file_name().and_then(|name| name.to_str()).is_some_and(|name| name.ends_with(ENTRIES))
}

/// Where the operators' entries of a record are looked for, whether they are there or not; `None` for a name
/// that is no text.
pub fn operator_entries_of(record: &Path) -> Option<PathBuf> {
    named_after(record, ENTRIES)
}

fn named_after(record: &Path, ending: &str) -> Option<PathBuf> {
    let stem = record.file_stem()?.to_str()?;
    Some(record.with_file_name(format!("{stem}{ending}")))
}

fn beside(record: &Path, ending: &str) -> Option<PathBuf> {
    named_after(record, ending).filter(|beside| is_there(beside))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn files_of_several_loggers_are_a_record_by_their_day() {
        let files = || {
            ["a-p.csv", "a-v.csv", "b-v.csv.gz", "c-p.csv", "other.csv"].map(PathBuf::from).to_vec()
        };
        assert_eq!(records(files(), None).len(), 5);
        let text = "schema = 1\nplant = \"P\"\nunit = \"U\"\nzone = \"UTC\"\n\
             [[loggers]]\nname = \"p\"\nfiles = \"*-p.csv\"\ntolerance = \"1 s\"\n[loggers.columns]\n\
             differential_pressure = { column = \"D\", unit = \"psi\" }\n\
             [[loggers]]\nname = \"v\"\nfiles = \"*-v.csv\"\n[loggers.columns]\n\
             valve = { column = \"V\" }\nholding_temperature = { column = \"T\", unit = \"degF\" }\n";
        let plant = Plant::parse("p", text).unwrap_or_else(|error| panic!("{error}"));
        let found: Vec<Vec<String>> = records(files(), Some(&plant))
            .into_iter()
            .map(|record| record.iter().map(|file| file.display().to_string()).collect())
            .collect();
        assert_eq!(
            found,
            [vec!["a-v.csv", "a-p.csv"], vec!["b-v.csv.gz"], vec!["c-p.csv"], vec!["other.csv"]]
        );
    }
}
