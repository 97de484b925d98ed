//! Files of a known kind read whole, but never more of them than such a file can sensibly hold.
//!
//! A folder may hold anything under a file's name. So a file is asked for its size before it is
//! read, what is no regular file is not opened (a pipe would be waited on for ever), and a file that
//! grows meanwhile is read one byte beyond the limit and no further.

use std::fs::File;
use std::io::{Error, ErrorKind, Read, Result};
use std::path::Path;

/// The bytes of the regular file at `path`, at most `limit` of them.
///
/// # Errors
/// When it can't be read, is no regular file, or is longer; the latter names size and limit.
pub fn read_limited(path: &Path, limit: u64) -> Result<Vec<u8>> {
    let found = std::fs::metadata(path)?;
    if !found.is_file() {
        return Err(Error::new(ErrorKind::InvalidInput, "it is no regular file"));
    }
    let too_long = |size: &str| {
        Error::new(
            ErrorKind::FileTooLarge,
            format!("it has {size} bytes, and at most {limit} are read of such a file"),
        )
    };
    if found.len() > limit {
        return Err(too_long(&found.len().to_string()));
    }
    let mut bytes = Vec::with_capacity(found.len() as usize);
    File::open(path)?.take(limit.saturating_add(1)).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > limit {
        return Err(too_long("more than that many"));
    }
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_read_up_to_its_limit_and_not_beyond() -> Result<()> {
        let folder = tempfile::tempdir()?;
        let path = folder.path().join("file");
        std::fs::write(&path, "12345")?;
        assert_eq!(read_limited(&path, 5)?, b"12345");
        let error = read_limited(&path, 4).err();
        assert_eq!(
            error.map(|error| error.to_string()),
            Some("it has 5 bytes, and at most 4 are read of such a file".to_owned())
        );
        assert!(read_limited(folder.path(), 5).is_err());
        assert!(read_limited(&folder.path().join("none"), 5).is_err());
        // Never ends, and says that it has no length.
        #[cfg(unix)]
        assert!(read_limited(Path::new("/dev/zero"), 5).is_err());
        Ok(())
    }
}
