//! The folder of a signer's private keys: one file a signer, readable by its owner only, and
//! beside it the public key and the count of wrong passphrases.

use crate::error::Error;
use crate::key::{Cost, LockedKey, UnlockedKey};
use crate::passphrase::Passphrase;
use crate::person::SignerId;
use crate::tries::Tries;
use disk::{Access, Links, Lock, PATIENCE};
use std::fs::{self, DirBuilder, Metadata};
use std::io::{self, Read as _};
use std::path::{Path, PathBuf};
use trace::{Duration, Instant};
use zeroize::Zeroizing;

/// The most that is read of a file in the folder: a key takes some 400 bytes, and what is much longer
/// is something else.
pub(crate) const LIMIT: u64 = 1 << 16;

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

    /// What several programs that try a passphrase lock. Not the key itself: that is only ever
    /// opened for reading, and a home on NFS gives no lock on such a file.
    fn lock_path(&self, signer: &SignerId) -> PathBuf {
        self.0.join(format!("{signer}.lock"))
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
        disk::write_new(&path, pem.as_bytes(), Access::OwnerOnly).map_err(|cause| {
            match cause.kind() {
                io::ErrorKind::AlreadyExists => Error::KeyExists { path: path.clone() },
                _ => Error::File { path: path.clone(), cause },
            }
        })?;
        self.show_public(&key);
        Ok(key)
    }

    /// Puts the public key beside the private one. It can be made anew from that at any time, so it
    /// is no fault of the key when it can't be written.
    fn show_public(&self, key: &UnlockedKey) {
        let path = self.public_path(key.signer());
        let pem = key.public_key().to_pem();
        if disk::read(&path, LIMIT, Links::Refuse).is_ok_and(|there| there == pem.as_bytes()) {
            return;
        }
        let _best_effort = disk::write_whole(&path, pem.as_bytes(), Access::OwnerOnly).is_ok();
    }

    /// Unlocks the key of `signer`. The try is counted on disk before the passphrase is tried, and
    /// the count is cleared by a right one.
    ///
    /// # Errors
    /// When there is no key, it or its folder is open to others, the passphrase is wrong, the last
    /// wrong one was too short a time before `now`, or another program is trying one.
    pub fn unlock(
        &self,
        signer: &SignerId,
        passphrase: &Passphrase,
        now: Instant,
    ) -> Result<UnlockedKey, Error> {
        let path = self.path(signer);
        let key = self.read(signer, &path)?;
        // Of several programs, one tries at a time.
        let _lock = self.lock(signer)?;
        let tries_path = self.tries_path(signer);
        let before = read_tries(&tries_path)?;
        match before.wait(now) {
            Some(Duration::ZERO) => {}
            Some(wait) => return Err(Error::TooSoon { wait }),
            None => {
                // The clock was set back: the whole pause begins again.
                write_tries(&tries_path, before.from(now))?;
                return Err(Error::TooSoon { wait: before.pause() });
            }
        }
        let counted = before.and_one(now);
        write_tries(&tries_path, counted)?;
        let Some(unlocked) = key.unlock(signer, passphrase) else {
            return Err(Error::WrongPassphrase { wait: counted.pause() });
        };
        fs::remove_file(&tries_path).map_err(in_file(&tries_path))?;
        disk::sync_folder(&tries_path).map_err(in_file(&tries_path))?;
        self.show_public(&unlocked);
        Ok(unlocked)
    }

    /// Reads the key file. It may be a link, to a stick for example: nobody else can put one into a
    /// folder that only its owner has access to.
    fn read(&self, signer: &SignerId, path: &Path) -> Result<LockedKey, Error> {
        let damaged = |what| Error::KeyDamaged { path: path.to_owned(), what };
        let file = disk::open(path, Links::Follow).map_err(|cause| match cause.kind() {
            io::ErrorKind::NotFound => {
                Error::NoKey { signer: signer.to_string(), path: path.to_owned() }
            }
            _ => in_file(path)(cause),
        })?;
        let folder = fs::metadata(&self.0).map_err(in_file(&self.0))?;
        check_private(&self.0, &folder, 0o700)?;
        let metadata = file.metadata().map_err(in_file(path))?;
        check_private(path, &metadata, 0o600)?;
        let size = metadata.len();
        if size > LIMIT {
            return Err(damaged(format!("it has {size} bytes, and a key at most {LIMIT}")));
        }
        // Of the full size from the start, so that no piece of it is left where it grew out of.
        let mut pem = Zeroizing::new(String::with_capacity(LIMIT as usize + 1));
        match file.take(LIMIT).read_to_string(&mut pem) {
            Ok(_) => {}
            Err(cause) if cause.kind() == io::ErrorKind::InvalidData => {
                return Err(damaged("it is not text".to_owned()));
            }
            Err(cause) => return Err(in_file(path)(cause)),
        }
        LockedKey::parse(&pem).map_err(damaged)
    }

    /// Keeps other programs from trying a passphrase at the same time.
    fn lock(&self, signer: &SignerId) -> Result<Lock, Error> {
        let path = self.lock_path(signer);
        let file = match disk::read_write(&path) {
            Err(cause) if cause.kind() == io::ErrorKind::NotFound => {
                match disk::create_new(&path) {
                    Err(cause) if cause.kind() == io::ErrorKind::AlreadyExists => {
                        disk::read_write(&path)
                    }
                    made => made,
                }
            }
            opened => opened,
        };
        let file = file.map_err(in_file(&path))?;
        Lock::take(&file, &self.tries_path(signer), PATIENCE)
            .map_err(|cause| Error::Locked { path, cause })
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
}

pub(crate) fn in_file(path: &Path) -> impl Fn(io::Error) -> Error + use<'_> {
    |cause| Error::File { path: path.to_owned(), cause }
}

fn read_tries(path: &Path) -> Result<Tries, Error> {
    match disk::read(path, LIMIT, Links::Refuse) {
        Ok(bytes) => serde_json::from_slice(&bytes)
            .map_err(|_cause| Error::TriesDamaged { path: path.to_owned() }),
        Err(cause) if cause.kind() == io::ErrorKind::NotFound => Ok(Tries::default()),
        Err(cause) => Err(in_file(path)(cause)),
    }
}

fn write_tries(path: &Path, tries: Tries) -> Result<(), Error> {
    serde_json::to_vec(&tries)
        .map_err(io::Error::from)
        .and_then(|bytes| disk::write_whole(path, &bytes, Access::OwnerOnly))
        .map_err(in_file(path))
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
