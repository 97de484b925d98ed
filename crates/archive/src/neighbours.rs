//! What lies around a record, before it and in the same tanks: a record alone does not know its neighbours, so its
//! folder is gone through. Each folder is gone through once, and rows that were kept are used.

use crate::error::Error;
use crate::files::Files;
use crate::progress::ScanProgress;
use crate::scan::{Scan, scan};
use crate::trust::Trust;
use daybook::{Entry, TankSheet};
use review::HoleBefore;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// The records of the folders that were gone through so far.
#[derive(Debug)]
pub struct Neighbours {
    cache: Option<PathBuf>,
    trust: Trust,
    folders: BTreeMap<PathBuf, Vec<Known>>,
}

/// A record of a folder that was gone through.
#[derive(Debug)]
struct Known {
    entry: Entry,
    /// Its files by the names that no link leads round.
    real: Vec<PathBuf>,
}

impl Neighbours {
    /// Nothing is gone through yet. `cache` is where rows are kept; without it every record is read.
    pub const fn new(cache: Option<PathBuf>, trust: Trust) -> Self {
        Self { cache, trust, folders: BTreeMap::new() }
    }

    /// The hole before a record that is to be closed in its review; `None` where there is none.
    /// `folder` is where to look for the record before, or else the record's own folder.
    ///
    /// # Errors
    /// When the folder can't be read.
    pub fn hole_before(
        &mut self,
        files: &Files,
        folder: Option<&Path>,
    ) -> Result<Option<HoleBefore>, Error> {
        // Of files that no journal joins yet, each is an entry: that which begins first counts.
        let own = self.around(files, folder)?.into_iter().filter(|(is_own, _)| *is_own);
        let days = own.filter_map(|(_, entry)| {
            let day = entry.day.as_ref().ok()?;
            Some((day.ends_ms, entry))
        });
        let first = days.min_by_key(|(ends, _)| *ends).map(|(_, entry)| entry);
        Ok(first.and_then(Entry::hole).cloned())
    }

    /// What the run sheets of the other records say of tanks; `folder` as for [`Neighbours::hole_before`].
    ///
    /// # Errors
    /// When the folder can't be read.
    pub fn tank_sheets(
        &mut self,
        files: &Files,
        folder: Option<&Path>,
    ) -> Result<Vec<TankSheet>, Error> {
        let others = self.around(files, folder)?.into_iter().filter(|(is_own, _)| !is_own);
        Ok(others.map(|(_, entry)| TankSheet::of(entry)).collect())
    }

    /// The records of a folder, each with whether it is the one of these files.
    fn around(
        &mut self,
        files: &Files,
        folder: Option<&Path>,
    ) -> Result<Vec<(bool, &Entry)>, Error> {
        let own = folder_of(files.first());
        let folder = folder.unwrap_or(own).to_owned();
        let entries = match self.folders.entry(folder) {
            std::collections::btree_map::Entry::Occupied(known) => known.into_mut(),
            std::collections::btree_map::Entry::Vacant(new) => {
                let progress = ScanProgress::default();
                let Scan { entries, .. } =
                    scan(new.key(), self.cache.as_deref(), &self.trust, &progress)?;
                let known = |entry: Entry| Known { real: real(&entry.files), entry };
                new.insert(entries.into_iter().map(known).collect())
            }
        };
        let own = real(&files.logger);
        let is_own = |known: &Known| known.real.iter().any(|file| own.contains(file));
        Ok(entries.iter().map(|known| (is_own(known), &known.entry)).collect())
    }
}

/// Files by the names that no link leads round; a file that is gone keeps its own.
fn real(files: &[PathBuf]) -> Vec<PathBuf> {
    let real = |file: &PathBuf| file.canonicalize().unwrap_or_else(|_| file.clone());
    files.iter().map(real).collect()
}

/// The folder of a file.
fn folder_of(file: &Path) -> &Path {
    match file.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    }
}
