//! Who is at work on a record: an advisory lock with the holder's name, so that two people on two
//! machines learn of each other before they meet in the journal. The journal itself does not rely
//! on it.

use std::fs::{File, OpenOptions, TryLockError};
use std::io::{self, Read as _, Seek as _, Write as _};
use std::path::Path;

/// A record that is held; given back when dropped, or when the program ends in any way.
#[derive(Debug)]
pub(crate) struct Hold {
    file: File,
}

/// Who holds a record, in their own words: name, machine and time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Holder(pub String);

impl Hold {
    /// Takes the record for `holder`; the inner error names who has it.
    pub(crate) fn take(path: &Path, holder: &Holder) -> io::Result<Result<Self, Holder>> {
        let mut file =
            OpenOptions::new().read(true).write(true).create(true).truncate(false).open(path)?;
        match file.try_lock() {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => {
                let mut name = String::new();
                let told = file.read_to_string(&mut name).is_ok() && !name.trim().is_empty();
                let name = if told { name.trim() } else { "somebody else" };
                return Ok(Err(Holder(name.to_owned())));
            }
            // A file system without locks: the journal's own comparison still protects it.
            Err(TryLockError::Error(cause)) if cause.kind() == io::ErrorKind::Unsupported => {}
            Err(TryLockError::Error(cause)) => return Err(cause),
        }
        file.set_len(0)?;
        file.rewind()?;
        writeln!(file, "{}", holder.0)?;
        Ok(Ok(Self { file }))
    }
}

impl Drop for Hold {
    fn drop(&mut self) {
        // The lock goes with the file; a name that stays behind in it harms nobody.
        let _cleared = self.file.set_len(0);
    }
}
