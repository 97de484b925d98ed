//! What lies beside a record in its folder: other days, the plant file, the run sheet.

use crate::error::Error;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The name under which a plant file is found beside a record.
pub const PLANT_FILE: &str = "plant.toml";

/// How the name of a run sheet ends: `2026-03-04.csv` has `2026-03-04.run-sheet.csv`.
const RUN_SHEET: &str = ".run-sheet.csv";

/// What lies in a folder of records, each list in order of names.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Contents {
    /// The days: every `.csv` or `.csv.gz` file that is no run sheet.
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
        } else if is_csv && !name.ends_with(RUN_SHEET) {
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

/// The days of a folder, in order of their names: every `.csv` file that is no run sheet.
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
    let stem = record.file_stem()?.to_str()?;
    let beside = record.with_file_name(format!("{stem}{RUN_SHEET}"));
    is_there(&beside).then_some(beside)
}
