//! What lies beside a record in its folder: other days, the plant file, the run sheet.

use crate::error::Error;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The name under which a plant file is found beside a record.
const PLANT_FILE: &str = "plant.toml";

/// How the name of a run sheet ends: `2026-03-04.csv` has `2026-03-04.run-sheet.csv`.
const RUN_SHEET: &str = ".run-sheet.csv";

/// The days of a folder, in order of their names: every `.csv` file that is no run sheet.
///
/// # Errors
/// When the folder can't be read, or holds no such file.
pub fn days(folder: &Path) -> Result<Vec<PathBuf>, Error> {
    let file = folder.display().to_string();
    let unreadable =
        |cause: std::io::Error| Error::Read { file: file.clone(), cause: Arc::new(cause) };
    let mut days = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(unreadable)? {
        let path = entry.map_err(unreadable)?.path();
        let is_csv = path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("csv"));
        let name = path.file_name().map(|name| name.to_string_lossy().to_lowercase());
        let is_day = is_csv && !name.is_some_and(|name| name.ends_with(RUN_SHEET));
        if is_day && path.is_file() {
            days.push(path);
        }
    }
    if days.is_empty() {
        return Err(Error::NoDays { folder: file });
    }
    days.sort();
    Ok(days)
}

/// The plant file in the folder of a record, or in the folder itself.
pub fn plant_file_beside(record: &Path) -> Option<PathBuf> {
    let folder = if record.is_dir() { record } else { record.parent()? };
    let beside = folder.join(PLANT_FILE);
    beside.is_file().then_some(beside)
}

/// The run sheet of a record.
pub fn run_sheet_beside(record: &Path) -> Option<PathBuf> {
    let stem = record.file_stem()?.to_str()?;
    let beside = record.with_file_name(format!("{stem}{RUN_SHEET}"));
    beside.is_file().then_some(beside)
}
