//! What the tests of this crate share: people and dates.

use journal::Stamp;
use signers::{Cost, KeyFolder, Passphrase, SignerId, UnlockedKey};
use std::path::Path;
use trace::Instant;

/// The passphrase of all keys in the tests.
pub const PASSPHRASE: &str = "correct horse battery";

pub fn passphrase() -> Passphrase {
    Passphrase::new(PASSPHRASE.to_owned())
}

pub fn id(text: &str) -> SignerId {
    text.parse().unwrap_or_else(|error| panic!("{error}"))
}

pub fn folder() -> tempfile::TempDir {
    tempfile::tempdir().unwrap_or_else(|error| panic!("{error}"))
}

/// An instant, counted from a morning in March 2026.
pub fn seconds(seconds: i64) -> Instant {
    Instant::from_unix_milliseconds(1_773_468_000_000 + seconds * 1000)
}

/// A date, counted like `seconds`.
pub fn stamp(after: i64) -> Stamp {
    Stamp::new(seconds(after), -5 * 3600).unwrap_or_else(|| panic!("{after}"))
}

/// A new key for `signer`, cheap to unlock.
pub fn new_key(config: &Path, signer: &str) -> UnlockedKey {
    KeyFolder::under(config)
        .create(&id(signer), &passphrase(), Cost::TEST)
        .unwrap_or_else(|error| panic!("{error}"))
}
