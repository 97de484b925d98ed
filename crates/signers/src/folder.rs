//! The folder of a signer's private keys: one file a signer, readable by its owner only, and
//! beside it the public key and the count of wrong passphrases.

use crate::error::Error;
use crate::key::{Cost, LockedKey, UnlockedKey};
use crate::passphrase::Passphrase;
use crate::person::SignerId;
use crate::tries::Tries;
use std::fs::{self, DirBuilder, File, Metadata};
use std::io::{self, Read as _, Write as _};
use std::path::{Path, PathBuf};
use tempfile::NamedTempFile;
use trace::{Duration, Instant};
use zeroize::Zeroizing;

/// `keys` in a user's configuration folder.
#[derive(Debug, Clone)]
pub struct KeyFolder(PathBuf);

impl KeyFolder {
    /// The keys under the configuration folder `config`. Nothing is read or made yet.
    pub fn under(config: &Path) -> Self {
        Self(config.join("keys"))
    }

    /// Where the key of `signer` is or would be.
    pub fn path(&self, signer: &SignerId) -> PathBuf {
        self.0.join(format!("{signer}.pem"))
    }

    /// Where the public key of `signer` is put, to be given to a supervisor.
    pub fn public_path(&self, signer: &SignerId) -> PathBuf {
        self.0.join(format!("{signer}.pub"))
    }

    fn tries_path(&self, signer: &SignerId) -> PathBuf {
        self.0.join(format!("{signer}.tries"))
    }

    /// Makes a new key for `signer` and writes it, encrypted with `passphrase`. A key that is there
    /// is never overwritten.
    ///
    /// # Errors
    /// When the passphrase is too short or too common, there is a key already, the folder is open to others, or
    /// the file can't be written.
    pub fn create(
        &self,
        signer: &SignerId,
        passphrase: &Passphrase,
        cost: Cost,
    ) -> Result<UnlockedKey, Error> {
        passphrase.check_new(signer)?;
        self.make()?;
        let path = self.path(signer);
        let key = UnlockedKey::generate(signer.clone())?;
        let pem = key.encrypt(passphrase, cost)?;
        let mut temporary = self.temporary().map_err(in_file(&path))?;
        temporary.write_all(pem.as_bytes()).map_err(in_file(&path))?;
        temporary.as_file().sync_all().map_err(in_file(&path))?;
        temporary.persist_noclobber(&path).map_err(|error| match error.error.kind() {
            io::ErrorKind::AlreadyExists => Error::KeyExists { path: path.clone() },
            _ => Error::File { path: path.clone(), cause: error.error },
        })?;
        self.sync()?;
        self.show_public(&key);
        Ok(key)
    }

    /// Puts the public key beside the private one. It can be made anew from that at any time, so it
    /// is no fault of the key when it can't be written.
    fn show_public(&self, key: &UnlockedKey) {
        let path = self.public_path(key.signer());
        let pem = key.public_key().to_pem();
        if fs::read(&path).is_ok_and(|there| there == pem.as_bytes()) {
            return;
        }
        let write = || {
            let mut temporary = self.temporary()?;
            temporary.write_all(pem.as_bytes())?;
            temporary.as_file().sync_all()?;
            temporary.persist(&path).map(|_| ()).map_err(|error| error.error)
        };
        let _best_effort = write().is_ok();
    }

    /// Unlocks the key of `signer`. The try is counted on disk before the passphrase is tried, and
    /// the count is cleared by a right one.
    ///
    /// # Errors
    /// When there is no key, it or its folder is open to others, the passphrase is wrong, or the
    /// last wrong one was too short a time before `now`.
    pub fn unlock(
        &self,
        signer: &SignerId,
        passphrase: &Passphrase,
        now: Instant,
    ) -> Result<UnlockedKey, Error> {
        let path = self.path(signer);
        // The key file is the lock: of several programs, one tries at a time.
        let (key, _lock) = self.read(signer, &path)?;
        let tries_path = self.tries_path(signer);
        let before = read_tries(&tries_path)?;
        match before.wait(now) {
            Some(Duration::ZERO) => {}
            Some(wait) => return Err(Error::TooSoon { wait }),
            None => {
                // The clock was set back: the whole pause begins again.
                self.write_tries(&tries_path, before.from(now))?;
                return Err(Error::TooSoon { wait: before.pause() });
            }
        }
        let counted = before.and_one(now);
        self.write_tries(&tries_path, counted)?;
        let Some(unlocked) = key.unlock(signer, passphrase) else {
            return Err(Error::WrongPassphrase { wait: counted.pause() });
        };
        fs::remove_file(&tries_path).map_err(in_file(&tries_path))?;
        self.sync()?;
        self.show_public(&unlocked);
        Ok(unlocked)
    }

    /// Reads and locks the key file.
    fn read(&self, signer: &SignerId, path: &Path) -> Result<(LockedKey, File), Error> {
        let mut file = match File::open(path) {
            Ok(file) => file,
            Err(cause) if cause.kind() == io::ErrorKind::NotFound => {
                return Err(Error::NoKey { signer: signer.clone(), path: path.to_owned() });
            }
            Err(cause) => return Err(in_file(path)(cause)),
        };
        let folder = fs::metadata(&self.0).map_err(in_file(&self.0))?;
        check_private(&self.0, &folder, 0o700)?;
        check_private(path, &file.metadata().map_err(in_file(path))?, 0o600)?;
        // A file system without locks is used without.
        match file.lock() {
            Err(cause) if cause.kind() != io::ErrorKind::Unsupported => {
                return Err(in_file(path)(cause));
            }
            _ => {}
        }
        let damaged = |what| Error::KeyDamaged { path: path.to_owned(), what };
        let mut pem = Zeroizing::new(String::new());
        // A key takes some 400 bytes; what is much longer is something else.
        match (&mut file).take(1 << 16).read_to_string(&mut pem) {
            Ok(_) => {}
            Err(cause) if cause.kind() == io::ErrorKind::InvalidData => {
                return Err(damaged("it is not text".to_owned()));
            }
            Err(cause) => return Err(in_file(path)(cause)),
        }
        Ok((LockedKey::parse(&pem).map_err(damaged)?, file))
    }

    fn write_tries(&self, path: &Path, tries: Tries) -> Result<(), Error> {
        let write = || {
            let mut temporary = self.temporary()?;
            serde_json::to_writer(&mut temporary, &tries)?;
            temporary.as_file().sync_all()?;
            temporary.persist(path).map_err(|error| error.error)
        };
        write().map_err(in_file(path))?;
        self.sync()
    }

    /// Makes the folder if need be, and refuses one that is open to others.
    fn make(&self) -> Result<(), Error> {
        if let Some(config) = self.0.parent() {
            fs::create_dir_all(config).map_err(in_file(config))?;
        }
        let mut builder = DirBuilder::new();
        #[cfg(unix)]
        std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
        match builder.create(&self.0) {
            Err(cause) if cause.kind() != io::ErrorKind::AlreadyExists => {
                return Err(in_file(&self.0)(cause));
            }
            _ => {}
        }
        let folder = fs::metadata(&self.0).map_err(in_file(&self.0))?;
        check_private(&self.0, &folder, 0o700)
    }

    /// A file in the folder that only its owner may read.
    pub(crate) fn temporary(&self) -> io::Result<NamedTempFile> {
        let mut builder = tempfile::Builder::new();
        builder.prefix(".holdtrace-");
        #[cfg(unix)]
        builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o600));
        builder.tempfile_in(&self.0)
    }

    /// Makes a new or removed name last; not every system lets one do that.
    pub(crate) fn sync(&self) -> Result<(), Error> {
        if cfg!(unix) {
            File::open(&self.0).and_then(|folder| folder.sync_all()).map_err(in_file(&self.0))?;
        }
        Ok(())
    }
}

pub(crate) fn in_file(path: &Path) -> impl Fn(io::Error) -> Error + use<'_> {
    |cause| Error::File { path: path.to_owned(), cause }
}

fn read_tries(path: &Path) -> Result<Tries, Error> {
    match fs::read(path) {
        Ok(bytes) => serde_json::from_slice(&bytes)
            .map_err(|_cause| Error::TriesDamaged { path: path.to_owned() }),
        Err(cause) if cause.kind() == io::ErrorKind::NotFound => Ok(Tries::default()),
        Err(cause) => Err(in_file(path)(cause)),
    }
}

/// Refuses what others than the owner have any access to. Where files have no such permissions,
/// the user's profile keeps others out.
fn check_private(path: &Path, metadata: &Metadata, right: u32) -> Result<(), Error> {
    #[cfg(unix)]
    {
        let mode = std::os::unix::fs::PermissionsExt::mode(&metadata.permissions()) & 0o7777;
        if mode & 0o077 != 0 {
            return Err(Error::Loose { path: path.to_owned(), mode, right });
        }
    }
    #[cfg(not(unix))]
    {
        let _: (&Path, &Metadata, u32) = (path, metadata, right);
    }
    Ok(())
}
