//! Rows kept from one time to the next, one file for a folder of records. The file holds nothing
//! that the records don't: deleted, damaged or of another program, it is as if it had never been. It is
//! for its owner only.

use crate::kept::Kept;
use disk::{Access, Links};
use journal::Digest;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::time::UNIX_EPOCH;

/// What the file begins with; another layout gets another number. Version 2 is the first whose rows
/// are of version 2 of the method.
const MAGIC: &[u8] = b"holdtrace rows 2\n";

/// The most that is read of it (ours): a row has some kilobytes, so this is a plant's century.
const LARGEST: u64 = 256 << 20;

/// Where this user's programs keep what can be made again: `XDG_CACHE_HOME` or `~/.cache`,
/// `~/Library/Caches`, `LOCALAPPDATA`.
pub fn usual_cache() -> Option<PathBuf> {
    let variable =
        |name: &str| std::env::var_os(name).filter(|value| !value.is_empty()).map(PathBuf::from);
    let folder = if cfg!(windows) {
        variable("LOCALAPPDATA")?
    } else if cfg!(target_os = "macos") {
        variable("HOME")?.join("Library/Caches")
    } else {
        variable("XDG_CACHE_HOME").or_else(|| Some(variable("HOME")?.join(".cache")))?
    };
    Some(folder.join("holdtrace"))
}

/// The rows kept for one folder, by the first file of the record.
pub(crate) struct Shelf {
    file: Option<PathBuf>,
    program: Vec<u8>,
    pub(crate) rows: BTreeMap<String, Kept>,
}

impl Shelf {
    /// What was kept for `folder` under `cache`; nothing without a `cache`, or when what is there is
    /// damaged or another program's.
    pub(crate) fn open(cache: Option<&Path>, folder: &Path) -> Self {
        let folder = std::path::absolute(folder).unwrap_or_else(|_| folder.to_owned());
        let name = Digest::of(folder.to_string_lossy().as_bytes());
        let file = cache.map(|cache| cache.join("rows").join(format!("{name}.bin")));
        let program = program();
        let rows = file
            .as_deref()
            .and_then(|file| disk::read(file, LARGEST, Links::Refuse).ok())
            .and_then(|bytes| parse(&bytes, &program))
            .unwrap_or_default();
        Self { file, program, rows }
    }

    /// The same file with other rows.
    pub(crate) fn with(&self, rows: BTreeMap<String, Kept>) -> Self {
        Self { file: self.file.clone(), program: self.program.clone(), rows }
    }

    /// Keeps the rows. A row that can't be kept is made again the next time, so nothing is said.
    pub(crate) fn keep(&self) {
        let Some(file) = &self.file else { return };
        let Ok(rows) = postcard::to_allocvec(&self.rows) else { return };
        let mut bytes = MAGIC.to_vec();
        bytes.extend(Digest::of(&rows).0);
        bytes.extend(&self.program);
        bytes.extend(rows);
        let folder = file.parent().unwrap_or(Path::new("."));
        let _best_effort = std::fs::create_dir_all(folder)
            .map(|()| disk::write_whole(file, &bytes, Access::OwnerOnly).is_ok());
    }
}

fn parse(bytes: &[u8], program: &[u8]) -> Option<BTreeMap<String, Kept>> {
    let (digest, rest) = bytes.strip_prefix(MAGIC)?.split_at_checked(32)?;
    let rows = rest.strip_prefix(program)?;
    (Digest::of(rows).0 == digest).then(|| postcard::from_bytes(rows).ok())?
}

/// What tells this program from another build of it: its version, that of the method, so that no row
/// is shown that another method made, and its file's length and time.
fn program() -> Vec<u8> {
    let file = std::env::current_exe().and_then(std::fs::metadata);
    let built = file.ok().map(|meta| {
        let modified = meta.modified().ok().and_then(|time| time.duration_since(UNIX_EPOCH).ok());
        (meta.len(), modified.map_or(0, |time| time.as_nanos()))
    });
    let (version, method) = (env!("CARGO_PKG_VERSION"), analysis::METHOD);
    format!("{version} method {method} {built:?}\n").into_bytes()
}
