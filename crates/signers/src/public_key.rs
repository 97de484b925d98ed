//! Public keys as the register holds them, and the fingerprint that two people compare by eye.

use crate::error::Error;
use ed25519_dalek::VerifyingKey;
use journal::Signature;
use pkcs8::spki::{DecodePublicKey as _, EncodePublicKey as _};
use pkcs8::{Document, LineEnding};
use serde::{Deserialize, Serialize};

/// An Ed25519 public key; its text is PEM (SubjectPublicKeyInfo, RFC 8410).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct PublicKey(VerifyingKey);

impl PublicKey {
    /// The most bytes that are read of a file with a public key (ours); it takes some hundred.
    pub const LARGEST_FILE: u64 = 1 << 16;

    pub(crate) const fn new(key: VerifyingKey) -> Self {
        Self(key)
    }

    /// Reads a key from PEM.
    ///
    /// # Errors
    /// When the text is not the PEM of an Ed25519 public key, or the key is one of the few that
    /// signatures without a private key fit.
    pub fn from_pem(pem: &str) -> Result<Self, Error> {
        let key = VerifyingKey::from_public_key_pem(pem)
            .map_err(|cause| Error::PublicKey { what: cause.to_string() })?;
        if key.is_weak() {
            return Err(Error::PublicKey { what: "the key is of small order".to_owned() });
        }
        Ok(Self(key))
    }

    /// The key as PEM, ending with a line feed.
    pub fn to_pem(&self) -> String {
        pem(&self.document())
    }

    /// SHA-256 of the DER of the SubjectPublicKeyInfo, in hexadecimal, in groups of four.
    pub fn fingerprint(&self) -> String {
        let digits = journal::Digest::of(self.document().as_bytes()).to_string();
        let mut grouped = String::with_capacity(digits.len() * 5 / 4);
        for (place, digit) in digits.chars().enumerate() {
            if place > 0 && place % 4 == 0 {
                grouped.push(' ');
            }
            grouped.push(digit);
        }
        grouped
    }

    /// Whether `signature` over `bytes` was made with the private key of this key (RFC 8032,
    /// section 5.1.7, and no points of small order).
    pub fn fits(&self, bytes: &[u8], signature: &Signature) -> bool {
        let signature = ed25519_dalek::Signature::from_bytes(&signature.0);
        self.0.verify_strict(bytes, &signature).is_ok()
    }

    #[expect(clippy::expect_used, reason = "32 bytes in a structure of fixed length")]
    fn document(&self) -> Document {
        self.0.to_public_key_der().expect("a public key has a DER form")
    }
}

#[expect(clippy::expect_used, reason = "44 bytes in base64 under a fixed label")]
fn pem(document: &Document) -> String {
    document.to_pem("PUBLIC KEY", LineEnding::LF).expect("a public key has a PEM form")
}

impl TryFrom<String> for PublicKey {
    type Error = Error;

    fn try_from(pem: String) -> Result<Self, Error> {
        Self::from_pem(&pem)
    }
}

impl From<PublicKey> for String {
    fn from(key: PublicKey) -> Self {
        key.to_pem()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 8410, section 10.1: the example of a public key.
    const EXAMPLE: &str = "-----BEGIN PUBLIC KEY-----\n\
        MCowBQYDK2VwAyEAGb9ECWmEzf6FQbrBZ9w7lshQhqowtrbLDFw4rXAxZuE=\n\
        -----END PUBLIC KEY-----\n";

    #[test]
    fn the_example_of_rfc_8410() {
        let Ok(key) = PublicKey::from_pem(EXAMPLE) else { panic!("the example is read") };
        assert_eq!(key.to_pem(), EXAMPLE);
        // By `openssl pkey -pubin -outform DER | sha256sum`.
        let groups = key.fingerprint();
        assert_eq!(groups.split(' ').count(), 16);
        assert_eq!(
            groups.replace(' ', ""),
            "a1e9156054e04fac899ae9f275132cdc07a5dbc4ea2c2ad3a1ffc6e0d253681f"
        );
    }

    #[test]
    fn what_is_no_public_key() {
        let cut = EXAMPLE.replace("ZuE=", "Zg==");
        // The neutral element (y = 1) as a key: of order 1.
        let weak = "-----BEGIN PUBLIC KEY-----\n\
            MCowBQYDK2VwAyEAAQAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA=\n\
            -----END PUBLIC KEY-----\n";
        for text in ["", "-----BEGIN PUBLIC KEY-----", cut.as_str(), weak] {
            let error = PublicKey::from_pem(text).err();
            assert!(matches!(error, Some(Error::PublicKey { .. })), "{text}");
        }
    }
}
