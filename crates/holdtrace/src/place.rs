//! Where the demo is found.

use std::path::{Path, PathBuf};

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
