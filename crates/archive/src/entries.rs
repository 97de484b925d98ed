//! The operators' entries of a record: one more is added at the end of their file, and who made them signs the
//! whole of it in the plant's ledger.

use crate::Error;
use disk::{Access, Links, Lock, PATIENCE};
use ingest::{LONGEST_WRITTEN, NewEntry};
use journal::{Digest, Stamp};
use plant::Plant;
use signers::{Books, Entries, LedgerFile, UnlockedKey};
use std::io;
use std::path::Path;
use trace::TemperatureUnit;

/// How often an entry is added again when somebody else was faster (ours).
const TRIES: usize = 20;

/// Adds one entry to the file at `path`, which begins with it where there is none. A new file has its readings in
/// `unit`.
///
/// # Errors
/// When the file or the entry can't be understood, or the file can't be written; then it is what it was.
pub fn add_entry(
    path: &Path,
    entry: &NewEntry,
    unit: TemperatureUnit,
    plant: &Plant,
) -> Result<(), Error> {
    let refused = |cause: &io::Error| Error::NotWritten { why: disk::not_written(path, cause) };
    let name = path.display().to_string();
    if let Err(cause) = disk::kind(path)
        && cause.kind() == io::ErrorKind::NotFound
    {
        let bytes = ingest::with_entry((&name, None), entry, unit, plant)?;
        // Somebody who was faster has the file by now: nothing of theirs is written over.
        return disk::write_new(path, &bytes, Access::Everybody).map_err(|cause| refused(&cause));
    }
    for _ in 0..TRIES {
        let file = disk::read_write(path).map_err(|cause| refused(&cause))?;
        let _lock = Lock::take(&file, path, PATIENCE).map_err(|held| refused(&held.into()))?;
        let locked = disk::read_open(&file, LONGEST_WRITTEN).map_err(|cause| refused(&cause))?;
        let before = disk::read(path, LONGEST_WRITTEN, Links::Refuse);
        // Whoever had the lock before has put another file in its place, which somebody else may have locked.
        if before.map_err(|cause| refused(&cause))? != locked {
            continue;
        }
        let bytes = ingest::with_entry((&name, Some(&locked)), entry, unit, plant)?;
        return disk::write_whole(path, &bytes, Access::Everybody).map_err(|cause| refused(&cause));
    }
    Err(refused(&io::ErrorKind::ResourceBusy.into()))
}

/// Signs the operators' entries in the file at `path` as they stand; gives how many there are.
///
/// # Errors
/// When they can't be read, there is no register or ledger, or the signer may not sign.
pub fn sign_entries(
    path: &Path,
    plant: &Plant,
    books: &Books,
    (key, at): (&UnlockedKey, Stamp),
) -> Result<usize, Error> {
    let entries = ingest::read_operator_entries(path, plant)?;
    let register = books.register.as_ref().map_err(|why| Error::Alarm { why: why.clone() })?;
    let mut ledger = LedgerFile::open(&LedgerFile::beside(&books.path), register)?;
    let signed =
        Entries { file: books.name_of(path), sha256: Digest(entries.source().sha256).to_string() };
    ledger.sign_entries(&signed, register, key, at)?;
    Ok(entries.entries().len())
}

#[cfg(test)]
mod tests {
    use super::*;
    use ::tests::good;
    use trace::EntryKind;

    /// Several windows and command lines add to one file at a time.
    #[test]
    fn what_many_add_at_once_is_all_there() {
        let folder = good(tempfile::tempdir());
        let path = folder.path().join("2026-03-04.entries.csv");
        let entry = |by: String| NewEntry {
            time: "2026-03-04 05:20".to_owned(),
            kind: EntryKind::Seals,
            reading: String::new(),
            by,
            note: "intact".to_owned(),
        };
        let add = |by: String| {
            let unit = TemperatureUnit::Fahrenheit;
            good(add_entry(&path, &entry(by), unit, &Plant::assumed()));
        };
        add("first".to_owned());
        std::thread::scope(|scope| {
            for who in 0..4 {
                let add = &add;
                scope.spawn(move || (0..10).for_each(|one| add(format!("{who}-{one}"))));
            }
        });
        let written = good(ingest::read_operator_entries(&path, &Plant::assumed()));
        assert_eq!(written.entries().len(), 41);
    }
}
