//! Passphrases, wiped from memory when dropped and never shown.

use crate::error::Error;
use zeroize::Zeroizing;

/// What a signer types to unlock their key. It has neither `Debug` nor `Display`, and no copies.
pub struct Passphrase(Zeroizing<String>);

impl Passphrase {
    /// The least number of characters of a passphrase for a new key (our choice).
    pub const LEAST: usize = 12;

    /// Takes over what was typed; the text is wiped when the passphrase is dropped.
    pub fn new(text: String) -> Self {
        Self(Zeroizing::new(text))
    }

    pub(crate) fn as_bytes(&self) -> &[u8] {
        self.0.as_bytes()
    }

    pub(crate) fn check_length(&self) -> Result<(), Error> {
        let characters = self.0.chars().count();
        if characters < Self::LEAST {
            return Err(Error::ShortPassphrase { characters });
        }
        Ok(())
    }
}
