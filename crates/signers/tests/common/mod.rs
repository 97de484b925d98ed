//! What the tests of this crate share: people, dates, and the real `openssl`.

use journal::Stamp;
use signers::{Cost, KeyFolder, Passphrase, SignerId, UnlockedKey};
use std::path::Path;
use std::process::{Command, Output};
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

/// Runs the real `openssl`; a machine without it fails the test.
pub fn openssl(folder: &Path, arguments: &[&str]) -> Output {
    Command::new("openssl")
        .args(arguments)
        .env("HOLDTRACE_TEST_PASSPHRASE", PASSPHRASE)
        .current_dir(folder)
        .output()
        .unwrap_or_else(|error| panic!("openssl ({error}): run scripts/install-debian.sh"))
}

/// The output of an `openssl` that must succeed.
pub fn openssl_says(folder: &Path, arguments: &[&str]) -> String {
    let output = openssl(folder, arguments);
    assert!(
        output.status.success(),
        "openssl {arguments:?}: {}",
        String::from_utf8_lossy(&output.stderr)
    );
    String::from_utf8_lossy(&output.stdout).into_owned()
}

pub fn write(path: &Path, bytes: &[u8]) {
    std::fs::write(path, bytes).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
}
