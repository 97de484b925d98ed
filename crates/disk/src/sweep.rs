//! Left-over temporary files: a program that is killed while it writes leaves one behind. Whoever
//! next writes a file into that folder removes it.
//!
//! The rule: a file (no link, no folder) whose name is exactly `.holdtrace-` and six letters or
//! digits, which belongs to whoever writes now, and was last written more than a day before now by
//! the clock of the file system. No writing takes a day, so nobody is at work on it.

use crate::kind::Kind;
use std::fs::Metadata;
use std::path::Path;
use std::time::Duration;
use tempfile::NamedTempFile;

/// How the name of every temporary file of this program begins.
pub(crate) const PREFIX: &str = ".holdtrace-";

/// How many random letters and digits follow: what `tempfile` puts there unless told otherwise.
const RANDOM: usize = 6;

/// After which time a temporary file is left over (ours).
const LEFT_OVER: Duration = Duration::from_hours(24);

/// Whether a name is one of a temporary file of this program.
pub fn is_left_over(name: &str) -> bool {
    name.strip_prefix(PREFIX).is_some_and(|rest| {
        rest.len() == RANDOM && rest.bytes().all(|byte| byte.is_ascii_alphanumeric())
    })
}

/// Removes what is left over in `folder`, as seen from `own`, a temporary file made there just
/// now. What can't be removed stays: it harms nobody.
pub(crate) fn sweep(folder: &Path, own: &NamedTempFile) {
    let Ok(own) = own.as_file().metadata() else { return };
    let Ok(entries) = std::fs::read_dir(folder) else { return };
    for entry in entries.flatten() {
        let name = entry.file_name();
        if !name.to_str().is_some_and(is_left_over) {
            continue;
        }
        let path = entry.path();
        if path.symlink_metadata().is_ok_and(|meta| is_to_go(&meta, &own)) {
            let _stays = std::fs::remove_file(&path).is_ok();
        }
    }
}

fn is_to_go(meta: &Metadata, own: &Metadata) -> bool {
    let is_old = match (own.modified(), meta.modified()) {
        (Ok(now), Ok(then)) => now.duration_since(then).is_ok_and(|age| age > LEFT_OVER),
        _ => false,
    };
    #[cfg(unix)]
    let is_ours = {
        use std::os::unix::fs::MetadataExt as _;
        meta.uid() == own.uid()
    };
    #[cfg(not(unix))]
    let is_ours = true;
    is_old && is_ours && Kind::of(meta.file_type()) == Kind::File
}
