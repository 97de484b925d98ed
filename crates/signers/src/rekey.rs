//! Another passphrase for a key that there is.

use crate::error::Error;
use crate::folder::{KeyFolder, LIMIT, in_file};
use crate::key::{Cost, LockedKey};
use crate::passphrase::Passphrase;
use crate::person::SignerId;
use disk::{Access, Whole};
use std::io::Write as _;
use trace::Instant;
use zeroize::Zeroizing;

impl KeyFolder {
    /// Locks the key of `signer` with the passphrase `new` instead of `old`. The key stays the same,
    /// and so does what the register says of it. The old file is replaced only when the new one was
    /// written, read back and unlocked.
    ///
    /// # Errors
    /// As [`KeyFolder::unlock`], and when the new passphrase may not be had or the file can't be
    /// written; then the old passphrase stays.
    pub fn change_passphrase(
        &self,
        signer: &SignerId,
        old: &Passphrase,
        new: &Passphrase,
        cost: Cost,
        now: Instant,
    ) -> Result<(), Error> {
        new.check_new(signer)?;
        let key = self.unlock(signer, old, now)?;
        let path = self.path(signer);
        let pem = key.encrypt(new, cost)?;
        let mut whole = Whole::begin(&path, Access::OwnerOnly).map_err(in_file(&path))?;
        whole.write_all(pem.as_bytes()).map_err(in_file(&path))?;
        let written = Zeroizing::new(whole.read_back(LIMIT).map_err(in_file(&path))?);
        let damaged = |what| Error::KeyDamaged { path: path.clone(), what };
        let text = std::str::from_utf8(&written).map_err(|cause| damaged(cause.to_string()))?;
        let back = LockedKey::parse(text).map_err(damaged)?.unlock(signer, new);
        if back.map(|back| back.public_key()) != Some(key.public_key()) {
            return Err(damaged("it does not open with the new passphrase".to_owned()));
        }
        whole.finish().map_err(in_file(&path))
    }
}
