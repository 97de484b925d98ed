//! Which files make up a record: those that its journal names, or else a logger file with the
//! plant file and the run sheet that lie beside it.

use crate::error::Error;
use disk::{Kind, Links, Refusal};
use journal::{Digest, Reading};
use plant::Plant;
use review::{Paths, PlantSource, Signed, State, Subject};
use std::path::{Path, PathBuf};

/// The files of one record.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Files {
    /// The logger files, in order; at least one.
    pub logger: Vec<PathBuf>,
    /// The plant file; without one, that which the record's journal names is used, or else
    /// `plant.toml` beside the first logger file.
    pub plant: Option<PathBuf>,
    /// The run sheet; without one, `NAME.run-sheet.csv` beside a record of one file is used, or beside the
    /// file of the leading logger.
    pub run_sheet: Option<PathBuf>,
    /// The operators' entries; without them, `NAME.entries.csv`, found as the run sheet is.
    pub operator_entries: Option<PathBuf>,
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

    /// The same, and where it is the file of the leading one of several loggers alone, with those of the others
    /// that lie beside it and have the same day in their names.
    #[must_use]
    pub fn together(self) -> Self {
        let others = || {
            let [only] = self.logger.as_slice() else { return None };
            let plant = self.plant_of_several()?;
            let folder = only.parent().filter(|folder| !folder.as_os_str().is_empty());
            let contents = ingest::contents(folder.unwrap_or(Path::new("."))).ok()?;
            // The run sheet and the entries of a day are CSV files that are none of the days.
            let is_no_sheet =
                |file: &PathBuf| file.extension().is_none_or(|ending| ending != "csv");
            let others = contents.others.into_iter().filter(is_no_sheet);
            let names = contents.days.into_iter().chain(others);
            let beside = names.filter_map(|file| Some(only.with_file_name(file.file_name()?)));
            let files = beside.filter(|file| disk::kind(file).is_ok_and(|kind| kind == Kind::File));
            let records = ingest::records(files.collect(), Some(&plant));
            records.into_iter().find(|record| record.first() == Some(only))
        };
        match others() {
            Some(logger) => Self { logger, ..self },
            None => self,
        }
    }

    /// The plant in use, where several loggers record it.
    fn plant_of_several(&self) -> Option<Plant> {
        let plant = Plant::read(&self.plant_in_use().ok()??).ok()?;
        (!plant.loggers.is_empty()).then_some(plant)
    }

    /// The file by which a run sheet is called.
    fn leading(&self) -> Option<&Path> {
        if let [only] = self.logger.as_slice() {
            return Some(only);
        }
        let plant = self.plant_of_several()?;
        let leading = plant.loggers.first()?;
        let is_its = |file: &&PathBuf| {
            let name = file.file_name().map(|name| name.to_string_lossy());
            name.is_some_and(|name| leading.files.day(&name).is_some())
        };
        self.logger.iter().find(is_its).map(PathBuf::as_path)
    }

    /// The plant file that is used.
    ///
    /// # Errors
    /// When none is given and what was found is no file.
    pub fn plant_in_use(&self) -> Result<Option<PathBuf>, Error> {
        if let Some(given) = &self.plant {
            return Ok(Some(given.clone()));
        }
        let reviewed_with = plant_file_reviewed_with(self.first()).unwrap_or_default();
        let found = reviewed_with.or_else(|| ingest::plant_file_beside(self.first()));
        found.iter().try_for_each(|file| must_be_a_file(file))?;
        Ok(found)
    }

    /// Why the record's journal can't be read, where the plant file hangs on it: it may name another
    /// than the one that lies beside the record, which is used then.
    pub fn unread_journal(&self) -> Option<Error> {
        match self.plant {
            Some(_) => None,
            None => plant_file_reviewed_with(self.first()).err(),
        }
    }

    /// The run sheet that is used.
    ///
    /// # Errors
    /// When none is given and what was found is no file.
    pub fn run_sheet_in_use(&self) -> Result<Option<PathBuf>, Error> {
        self.given_or_beside(self.run_sheet.as_ref(), ingest::run_sheet_beside)
    }

    /// The operators' entries that are used.
    ///
    /// # Errors
    /// When none are given and what was found is no file.
    pub fn operator_entries_in_use(&self) -> Result<Option<PathBuf>, Error> {
        self.given_or_beside(self.operator_entries.as_ref(), ingest::operator_entries_beside)
    }

    /// Where the operators' entries are or would be looked for; `None` where nothing names the record.
    pub fn operator_entries_place(&self) -> Option<PathBuf> {
        self.operator_entries.clone().or_else(|| ingest::operator_entries_of(self.leading()?))
    }

    /// What was given, or else what lies beside the leading file.
    fn given_or_beside(
        &self,
        given: Option<&PathBuf>,
        beside: fn(&Path) -> Option<PathBuf>,
    ) -> Result<Option<PathBuf>, Error> {
        if given.is_some() {
            return Ok(given.cloned());
        }
        let found = self.leading().and_then(beside);
        found.iter().try_for_each(|file| must_be_a_file(file))?;
        Ok(found)
    }

    /// For files that were found in a folder: none of them may be a link, since who can write to the
    /// folder chooses where it leads; nor a pipe, whose other end may never come. What is not there is
    /// told by whoever reads it.
    ///
    /// # Errors
    /// The first that is something else than a file.
    pub fn are_files(&self) -> Result<(), Error> {
        let mut all = self
            .logger
            .iter()
            .chain(&self.plant)
            .chain(&self.run_sheet)
            .chain(&self.operator_entries);
        all.try_for_each(|file| must_be_a_file(file))
    }

    /// Where the review of the record lies.
    pub fn paths(&self) -> Paths {
        // Where the plant file can't be told, whoever reads the record or the journal says why.
        Paths::of(self.first(), self.plant_in_use().ok().flatten().as_deref())
    }
}

fn must_be_a_file(path: &Path) -> Result<(), Error> {
    match disk::kind(path) {
        Ok(kind) if kind != Kind::File => {
            Err(Error::Found { path: path.to_owned(), cause: Refusal::NotAFile(kind).into() })
        }
        _ => Ok(()),
    }
}

/// The files that the journal at `path` says were reviewed, and what it says of them; `None` where
/// its first lines can't be relied on, name files of another folder, or none of the journal's own
/// name: it was renamed, or copied over that of another record.
pub fn files_named_by(path: &Path, journal: &Reading) -> Option<(Files, Subject)> {
    let folder = path.parent().unwrap_or_else(|| Path::new(""));
    let state = State::replay_as_far(&journal.lines, None).0?;
    let subject = state.subject().clone();
    let is_plain = |name: &String| Path::new(name).file_name() == Some(name.as_ref());
    let are_plain = {
        let named = subject.files().map(|file| &file.name);
        let mut named = named.chain(subject.plant_file.as_ref().map(|file| &file.name));
        named.all(is_plain)
    };
    if subject.sources.is_empty() || !are_plain {
        return None;
    }
    let files = Files {
        logger: subject.sources.iter().map(|file| folder.join(&file.name)).collect(),
        plant: plant_file(folder, &state),
        run_sheet: subject.run_sheet.as_ref().map(|file| folder.join(&file.name)),
        operator_entries: subject.operator_entries.as_ref().map(|file| folder.join(&file.name)),
    };
    let is_own = |file: &PathBuf| Paths::of(file, None).journal == path;
    files.logger.iter().any(is_own).then_some((files, subject))
}

/// The plant file that the journal of a record names; `None` without a journal that can be relied on.
/// A journal that can't be read is another thing than none: it may name one.
fn plant_file_reviewed_with(record: &Path) -> Result<Option<PathBuf>, Error> {
    let journal = Paths::of(record, None).journal;
    let reading = journal::read(&journal)?;
    Ok(files_named_by(&journal, &reading).and_then(|(files, _)| files.plant))
}

/// Whether there is anything but a folder under a name.
fn is_there(path: &Path) -> bool {
    disk::kind(path).is_ok_and(|kind| kind != Kind::Folder)
}

/// The plant file that a journal names, beside the record or in a folder above it. A plant changes
/// its file, and what was signed before is not changed by that: for a record that bears a signature
/// any plant file beside that one will do whose bytes are those that were signed.
fn plant_file(folder: &Path, state: &State) -> Option<PathBuf> {
    let PlantSource { name, sha256 } = state.subject().plant_file.as_ref()?;
    let beside = folder.join(name);
    let named = if is_there(&beside) {
        beside
    } else {
        let folder = std::path::absolute(folder).ok()?;
        folder.ancestors().map(|folder| folder.join(name)).find(|file| is_there(file))?
    };
    let is_it = |file: &PathBuf| {
        disk::read(file, Plant::LARGEST_FILE, Links::Refuse)
            .is_ok_and(|bytes| Digest::of(&bytes).to_string() == *sha256)
    };
    if !state.signatures().iter().any(Signed::is_current) || is_it(&named) {
        return Some(named);
    }
    let folder = named.parent().filter(|folder| !folder.as_os_str().is_empty());
    let listed = std::fs::read_dir(folder.unwrap_or(Path::new(".")));
    let names = listed.into_iter().flatten().flatten().map(|entry| entry.file_name());
    let others = names.map(|name| named.with_file_name(name));
    let mut others: Vec<PathBuf> =
        others.filter(|file| file.extension().is_some_and(|ending| ending == "toml")).collect();
    others.sort();
    Some(others.into_iter().find(is_it).unwrap_or(named))
}
