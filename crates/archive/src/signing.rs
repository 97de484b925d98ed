//! The register of signers, read for checking.

use signers::Register;
use std::path::Path;

/// The register of signers.
///
/// # Errors
/// A sentence when it is not there, damaged or breaks its rules.
pub fn read_register(path: &Path) -> Result<Register, String> {
    let reading = journal::read(path).map_err(|error| error.to_string())?;
    let named = |what: String| format!("{}: {what}", path.display());
    if let Some(fault) = &reading.fault {
        return Err(named(fault.to_string()));
    }
    if reading.lines.is_empty() {
        return Err(named("there is no register of signers".to_owned()));
    }
    Register::replay(&reading.lines).map_err(|violation| named(violation.to_string()))
}
