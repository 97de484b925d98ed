//! Where plant files and the demo are found.

use plant::Plant;
use std::path::{Path, PathBuf};

/// The name under which a plant file is found beside a record.
const PLANT_FILE: &str = "plant.toml";

/// The plant file to use for a record: the given one, or the one beside it.
pub fn plant_file(given: Option<&Path>, record: &Path) -> Option<PathBuf> {
    given.map(Path::to_owned).or_else(|| {
        let folder = if record.is_dir() { record } else { record.parent()? };
        let beside = folder.join(PLANT_FILE);
        beside.is_file().then_some(beside)
    })
}

/// The plant to audit against, and a sentence where the plant file was not named by the user.
///
/// # Errors
/// When the plant file can't be used.
pub fn plant(given: Option<&Path>, record: &Path) -> Result<(Plant, Option<String>), plant::Error> {
    match plant_file(given, record) {
        Some(file) => {
            let found = given.is_none().then(|| {
                format!("the plant file {} was found beside the record and is used", file.display())
            });
            Ok((Plant::read(&file)?, found))
        }
        None => Ok((Plant::assumed(), None)),
    }
}

/// The logger files of a folder, in order of their names.
pub fn days(folder: &Path) -> std::io::Result<Vec<PathBuf>> {
    let mut days = Vec::new();
    for entry in std::fs::read_dir(folder)? {
        let path = entry?.path();
        let is_csv = path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("csv"));
        if is_csv && path.is_file() {
            days.push(path);
        }
    }
    days.sort();
    Ok(days)
}

/// The folder of the demo: in the current folder, or above the program where it was built.
pub fn demo() -> Option<PathBuf> {
    let here = std::env::current_dir().ok();
    let program = std::env::current_exe().ok();
    let mut folders: Vec<&Path> = here.as_deref().into_iter().collect();
    folders.extend(program.iter().flat_map(|program| program.ancestors().skip(1)));
    folders
        .into_iter()
        .map(|folder| folder.join("sample-runs"))
        .find(|folder| folder.join(PLANT_FILE).is_file())
}
