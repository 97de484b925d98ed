//! SHA-256 digests (FIPS 180-4) and Ed25519 signatures as they stand in a line: lower-case
//! hexadecimal, nothing else, so that each value has one spelling.

use crate::damage::Damage;
use sha2::Digest as _;
use std::fmt;
use std::str::FromStr;
use trace::{from_hexadecimal, hexadecimal};

/// A SHA-256 digest.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Digest(pub [u8; 32]);

impl Digest {
    /// What the first line names as the digest of the line before it.
    pub const NONE: Self = Self([0; 32]);

    /// The digest of `bytes`.
    pub fn of(bytes: &[u8]) -> Self {
        Self(sha2::Sha256::digest(bytes).into())
    }
}

impl fmt::Display for Digest {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(&hexadecimal(&self.0))
    }
}

impl FromStr for Digest {
    type Err = Damage;

    fn from_str(text: &str) -> Result<Self, Damage> {
        read(text).map(Self)
    }
}

/// An Ed25519 signature (RFC 8032).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Signature(pub [u8; 64]);

/// What makes a signature over the bytes that it is given.
pub type Sign<'a> = &'a dyn Fn(&[u8]) -> Signature;

impl fmt::Display for Signature {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(&hexadecimal(&self.0))
    }
}

impl FromStr for Signature {
    type Err = Damage;

    fn from_str(text: &str) -> Result<Self, Damage> {
        read(text).map(Self)
    }
}

fn read<const N: usize>(text: &str) -> Result<[u8; N], Damage> {
    from_hexadecimal(text).ok_or_else(|| Damage::NotHexadecimal(text.to_owned(), 2 * N))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// FIPS 180-4 as shown in NIST's examples for SHA-256: "abc", the two-block message, and the
    /// empty message (NIST's test vectors for byte-oriented messages; all from memory, high).
    #[test]
    fn the_published_examples() {
        for (message, digest) in [
            ("", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"),
            ("abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
            (
                "abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
                "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
            ),
        ] {
            assert_eq!(Digest::of(message.as_bytes()).to_string(), digest, "{message:?}");
            assert_eq!(digest.parse(), Ok(Digest::of(message.as_bytes())));
        }
    }

    #[test]
    fn one_spelling_only() {
        let digest = Digest::of(b"abc").to_string();
        assert!(digest.to_uppercase().parse::<Digest>().is_err());
        assert!(digest[1..].parse::<Digest>().is_err());
        assert!(format!("{digest}0").parse::<Digest>().is_err());
        assert!(digest.parse::<Signature>().is_err());
    }
}
