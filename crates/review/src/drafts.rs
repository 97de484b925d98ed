//! What was typed and not yet entered, kept in the user's own folder apart from the record: each
//! change is appended and synced, so that neither another exception nor a crash loses it.

use crate::error::Error;
use journal::Digest;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::collections::BTreeMap;
use std::fs::OpenOptions;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

/// The drafts of one record on this machine, by key.
#[derive(Debug)]
pub struct Drafts {
    path: PathBuf,
    kept: BTreeMap<String, Value>,
}

#[derive(Serialize, Deserialize)]
struct Kept {
    key: String,
    /// Null when the draft is gone.
    draft: Value,
}

impl Drafts {
    /// The drafts for the journal at `journal`, kept under the folder `config`. What can't be read
    /// is left out: a draft is a help, not a record.
    ///
    /// # Errors
    /// When the folder can't be made.
    pub fn open(config: &Path, journal: &Path) -> Result<Self, Error> {
        let journal = std::path::absolute(journal).unwrap_or_else(|_| journal.to_owned());
        let name = Digest::of(journal.as_os_str().as_encoded_bytes()).to_string();
        let folder = config.join("drafts");
        let path = folder.join(format!("{}.jsonl", &name[..16]));
        std::fs::create_dir_all(&folder)
            .map_err(|cause| Error::Draft { path: folder.clone(), cause })?;
        let mut kept = BTreeMap::new();
        let bytes = std::fs::read(&path).unwrap_or_default();
        let lines = bytes.split(|&byte| byte == b'\n');
        for Kept { key, draft } in lines.filter_map(|line| serde_json::from_slice(line).ok()) {
            if draft.is_null() {
                kept.remove(&key);
            } else {
                kept.insert(key, draft);
            }
        }
        let drafts = Self { path, kept };
        if !bytes.is_empty() {
            drafts.rewrite().map_err(|cause| drafts.lost(cause))?;
        }
        Ok(drafts)
    }

    /// The draft of a key.
    pub fn get<T: serde::de::DeserializeOwned>(&self, key: &str) -> Option<T> {
        let draft = self.kept.get(key)?;
        serde_json::from_value(draft.clone()).ok()
    }

    /// Keeps a draft; nothing is written when it is kept already.
    ///
    /// # Errors
    /// When it can't be written.
    pub fn keep<T: Serialize>(&mut self, key: &str, draft: &T) -> Result<(), Error> {
        let draft = serde_json::to_value(draft).map_err(|cause| self.lost(cause.into()))?;
        if self.kept.get(key) == Some(&draft) {
            return Ok(());
        }
        self.append(key, &draft)?;
        self.kept.insert(key.to_owned(), draft);
        Ok(())
    }

    /// Forgets a draft, since it was entered or given up.
    ///
    /// # Errors
    /// When that can't be written.
    pub fn forget(&mut self, key: &str) -> Result<(), Error> {
        if self.kept.remove(key).is_some() {
            self.append(key, &Value::Null)?;
        }
        Ok(())
    }

    fn append(&self, key: &str, draft: &Value) -> Result<(), Error> {
        let line = line(key, draft).map_err(|cause| self.lost(cause))?;
        let write = || {
            let mut file = OpenOptions::new().append(true).create(true).open(&self.path)?;
            file.write_all(&line)?;
            file.sync_data()
        };
        write().map_err(|cause| self.lost(cause))
    }

    /// Writes what is kept, and nothing of what is gone.
    fn rewrite(&self) -> io::Result<()> {
        let folder = self.path.parent().unwrap_or_else(|| Path::new("."));
        let mut file = tempfile::NamedTempFile::new_in(folder)?;
        for (key, draft) in &self.kept {
            file.write_all(&line(key, draft)?)?;
        }
        file.as_file().sync_all()?;
        file.persist(&self.path).map_err(|error| error.error)?;
        Ok(())
    }

    fn lost(&self, cause: io::Error) -> Error {
        Error::Draft { path: self.path.clone(), cause }
    }
}

/// A line that begins after a line feed of its own: what a crash cut short spoils nothing else.
fn line(key: &str, draft: &Value) -> io::Result<Vec<u8>> {
    let mut line = vec![b'\n'];
    let kept = Kept { key: key.to_owned(), draft: draft.clone() };
    line.extend(serde_json::to_vec(&kept)?);
    line.push(b'\n');
    Ok(line)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_typed_survives_a_crash() {
        let Ok(folder) = tempfile::tempdir() else { panic!("a folder") };
        let journal = folder.path().join("2026-03-14.review.jsonl");
        let open = || match Drafts::open(folder.path(), &journal) {
            Ok(drafts) => drafts,
            Err(error) => panic!("{error}"),
        };
        let mut drafts = open();
        for text in ["v", "va", "valve"] {
            assert!(drafts.keep("settle a1", &text).is_ok());
        }
        assert!(drafts.keep("settle b2", &"gone").is_ok());
        assert!(drafts.forget("settle b2").is_ok());
        // The machine stops in the middle of a line.
        let Ok(mut bytes) = std::fs::read(&drafts.path) else { panic!("it was written") };
        bytes.extend_from_slice(b"\n{\"key\":\"settle a1\",\"dra");
        assert!(std::fs::write(&drafts.path, bytes).is_ok());
        let mut drafts = open();
        assert_eq!(drafts.get::<String>("settle a1").as_deref(), Some("valve"));
        assert_eq!(drafts.get::<String>("settle b2"), None);
        assert!(drafts.keep("settle a1", &"valves").is_ok());
        assert_eq!(open().get::<String>("settle a1").as_deref(), Some("valves"));
    }
}
