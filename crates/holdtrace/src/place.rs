//! Where plant files and the demo are found.

use plant::Plant;
use std::path::{Path, PathBuf};

/// The plant to audit against, and a sentence where the plant file was not named by the user.
///
/// # Errors
/// When the plant file can't be used.
pub fn plant(given: Option<&Path>, record: &Path) -> Result<(Plant, Option<String>), plant::Error> {
    let file = given.map(Path::to_owned).or_else(|| ingest::plant_file_beside(record));
    match file {
        Some(file) => {
            let found = given.is_none().then(|| {
                format!("the plant file {} was found beside the record and is used", file.display())
            });
            Ok((Plant::read(&file)?, found))
        }
        None => Ok((Plant::assumed(), None)),
    }
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
        .find(|folder| ingest::plant_file_beside(folder).is_some())
}
