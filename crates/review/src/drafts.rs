//! What was typed and not yet entered, kept in the user's own folder apart from the record: each
//! change is appended and synced, so that neither another exception nor a crash loses it.

use crate::error::Error;
use disk::{Access, Links};
use journal::Digest;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::collections::BTreeMap;
use std::io::{self, Seek as _, SeekFrom, Write as _};
use std::path::{Path, PathBuf};

/// The most that is read of the drafts of a record (ours): every letter that was typed is a line, so
/// this is a long day's typing many times over.
const LIMIT: u64 = 64 << 20;

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
    /// The drafts for the journal at `journal`, kept under the folder `config`. A line that can't be
    /// understood is left out: a draft is a help, not a record.
    ///
    /// # Errors
    /// When the folder can't be made, or the file can't be read or is none.
    pub fn open(config: &Path, journal: &Path) -> Result<Self, Error> {
        let journal = std::path::absolute(journal).unwrap_or_else(|_| journal.to_owned());
        let name = Digest::of(journal.as_os_str().as_encoded_bytes()).to_string();
        let folder = config.join("drafts");
        let path = folder.join(format!("{}.jsonl", &name[..16]));
        std::fs::create_dir_all(&folder)
            .map_err(|cause| Error::Draft { path: folder.clone(), cause })?;
        let mut kept = BTreeMap::new();
        let bytes = match disk::read(&path, LIMIT, Links::Refuse) {
            Err(cause) if cause.kind() == io::ErrorKind::NotFound => Vec::new(),
            read => read.map_err(|cause| Error::Draft { path: path.clone(), cause })?,
        };
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

    /// The keys of all drafts.
    pub fn keys(&self) -> Vec<String> {
        self.kept.keys().cloned().collect()
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
            let mut file = match disk::append(&self.path) {
                Err(cause) if cause.kind() == io::ErrorKind::NotFound => {
                    disk::create_new(&self.path)?
                }
                opened => opened?,
            };
            file.seek(SeekFrom::End(0))?;
            file.write_all(&line)?;
            file.sync_data()
        };
        write().map_err(|cause| self.lost(cause))
    }

    /// Writes what is kept, and nothing of what is gone.
    fn rewrite(&self) -> io::Result<()> {
        let mut lines = Vec::new();
        for (key, draft) in &self.kept {
            lines.extend(line(key, draft)?);
        }
        disk::write_whole(&self.path, &lines, Access::OwnerOnly)
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
    #[cfg(unix)]
    fn drafts_that_are_a_link_are_refused_and_what_it_leads_to_stays() {
        let Ok(folder) = tempfile::tempdir() else { panic!("a folder") };
        let journal = folder.path().join("2026-03-14.review.jsonl");
        let Ok(drafts) = Drafts::open(folder.path(), &journal) else { panic!("they are opened") };
        let secret = folder.path().join("secret");
        assert!(std::fs::write(&secret, "secret").is_ok());
        assert!(std::os::unix::fs::symlink(&secret, &drafts.path).is_ok());
        let refused = Drafts::open(folder.path(), &journal).err();
        assert!(refused.is_some_and(|error| error.to_string().contains("it is a link")));
        assert_eq!(std::fs::read(&secret).ok().as_deref(), Some(&b"secret"[..]));
    }

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
