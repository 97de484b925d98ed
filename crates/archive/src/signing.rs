//! Register and review, read for checking. Nothing is written.

use crate::error::Error;
use review::{HoleBefore, Paths, Reviewed, Subject};
use signers::Register;
use std::path::Path;

/// The review that lies at `paths` about a record that was read and audited as `fresh`. `hole` is the
/// hole before it that is to be closed, see [`crate::Neighbours`].
///
/// # Errors
/// When the journal can't be read; what is wrong in it is a verdict.
pub fn read_review(
    paths: &Paths,
    fresh: &Subject,
    hole: Option<&HoleBefore>,
) -> Result<Reviewed, Error> {
    let journal = journal::read(&paths.journal).map_err(Error::Journal)?;
    let register = read_register(&paths.register);
    // What is filed names files, not where somebody had them.
    let folder = paths.register.parent().map(|folder| folder.join("").display().to_string());
    let folder = folder.filter(|folder| !folder.is_empty());
    let register = register.as_ref().map_err(|why| match &folder {
        Some(folder) => why.replace(folder, ""),
        None => why.clone(),
    });
    Ok(Reviewed::of_record_after(&journal, register, Ok(fresh), hole))
}

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
