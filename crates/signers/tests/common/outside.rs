//! The real `openssl`, for the tests that check from outside.

use std::path::Path;
use std::process::{Command, Output};
use tests::people::PASSPHRASE;

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
