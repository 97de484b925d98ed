//! Which files make up a record: those that its journal names, or else a logger file with the
//! plant file and the run sheet that lie beside it.

use journal::Reading;
use review::{Paths, State, Subject};
use std::path::{Path, PathBuf};

/// The files of one record.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Files {
    /// The logger files, in order; at least one.
    pub logger: Vec<PathBuf>,
    /// The plant file; without one, `plant.toml` beside the first logger file is used.
    pub plant: Option<PathBuf>,
    /// The run sheet; without one, `NAME.run-sheet.csv` beside a record of one file is used.
    pub run_sheet: Option<PathBuf>,
}

impl Files {
    /// The record of one logger file.
    pub fn one(logger: PathBuf) -> Self {
        Self { logger: vec![logger], ..Self::default() }
    }

    /// The first logger file: it names the record.
    pub fn first(&self) -> &Path {
        self.logger.first().map_or(Path::new("-"), PathBuf::as_path)
    }

    /// The plant file that is used.
    pub fn plant_in_use(&self) -> Option<PathBuf> {
        self.plant.clone().or_else(|| ingest::plant_file_beside(self.first()))
    }

    /// The run sheet that is used.
    pub fn run_sheet_in_use(&self) -> Option<PathBuf> {
        match (&self.run_sheet, self.logger.as_slice()) {
            (Some(given), _) => Some(given.clone()),
            (None, [only]) => ingest::run_sheet_beside(only),
            (None, _) => None,
        }
    }

    /// Where the review of the record lies.
    pub fn paths(&self) -> Paths {
        Paths::of(self.first(), self.plant_in_use().as_deref())
    }
}

/// The files that the journal at `path` says were reviewed, and what it says of them; `None` where
/// its first lines can't be relied on, name files of another folder, or none of the journal's own
/// name: it was renamed, or copied over that of another record.
pub fn files_named_by(path: &Path, journal: &Reading) -> Option<(Files, Subject)> {
    let folder = path.parent().unwrap_or_else(|| Path::new(""));
    let (state, _) = State::replay_as_far(&journal.lines);
    let subject = state?.subject().clone();
    let named = subject.sources.iter().chain(&subject.run_sheet).map(|file| &file.name);
    let mut named = named.chain(subject.plant_file.as_ref().map(|file| &file.name));
    let is_plain = |name: &String| Path::new(name).file_name() == Some(name.as_ref());
    if subject.sources.is_empty() || !named.all(is_plain) {
        return None;
    }
    let files = Files {
        logger: subject.sources.iter().map(|file| folder.join(&file.name)).collect(),
        plant: plant_file(folder, &subject),
        run_sheet: subject.run_sheet.as_ref().map(|file| folder.join(&file.name)),
    };
    let is_own = |file: &PathBuf| Paths::of(file, None).journal == path;
    files.logger.iter().any(is_own).then_some((files, subject))
}

/// The plant file that a journal names, beside the record or in a folder above it.
fn plant_file(folder: &Path, subject: &Subject) -> Option<PathBuf> {
    let name = &subject.plant_file.as_ref()?.name;
    let folder = std::path::absolute(folder).ok()?;
    folder.ancestors().map(|folder| folder.join(name)).find(|file| file.is_file())
}
