//! What to read, and how it is named on the screen.

use std::path::{Path, PathBuf};

/// What to read: the files of one day, with the plant file that was chosen, if one was.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Task {
    /// The files.
    pub files: Vec<PathBuf>,
    /// The plant file; without one, `plant.toml` beside the first file is used.
    pub plant: Option<PathBuf>,
    /// Whether their reading is to be set up, whether or not they can be read as they are.
    pub is_set_up: bool,
}

impl Task {
    /// The name on the screen.
    pub fn name(&self) -> String {
        record_name(&self.files)
    }
}

/// The name of a record of these files on the screen.
pub fn record_name(files: &[PathBuf]) -> String {
    let first = files.first().map_or_else(String::new, |file| file_name(file));
    match files.len() {
        0 | 1 => first,
        more => format!("{first} and {} more", more - 1),
    }
}

/// The last part of a path, for a person.
pub fn file_name(path: &Path) -> String {
    path.file_name()
        .map_or_else(|| path.display().to_string(), |name| name.to_string_lossy().into_owned())
}
