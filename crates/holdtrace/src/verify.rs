//! `holdtrace verify`: whether records are what was signed.

use crate::arguments::{RecordArguments, VerifyArguments};
use crate::{Outcome, audit, output};
use ::review::{Paths, State, Subject, Verification, verify};
use journal::Reading;
use signers::Register;
use std::error::Error;
use std::path::{Path, PathBuf};

/// Runs the command.
///
/// # Errors
/// When the verdicts can't be written; what can't be read is a verdict.
pub fn run(arguments: &VerifyArguments) -> Result<Outcome, Box<dyn Error>> {
    let mut all_hold = true;
    for record in &arguments.records {
        let verification = one(record, arguments);
        output::say(&format!("{}\n", record.display()))?;
        for link in &verification.links {
            output::say(&format!("  {link}\n"))?;
        }
        let Verification { lines, head, .. } = verification;
        output::say(&format!("  last line {lines}: sha256 {head}\n"))?;
        all_hold &= verification.holds();
    }
    Ok(if all_hold { Outcome::Clean } else { Outcome::Exceptions })
}

fn one(record: &Path, arguments: &VerifyArguments) -> Verification {
    let journal =
        if Paths::is_journal(record) { record.to_owned() } else { Paths::of(record, None).journal };
    let reading = match journal::read(&journal) {
        Ok(reading) => reading,
        Err(error) => {
            return verify(&Reading::default(), Err(error.to_string()), Err(error.to_string()));
        }
    };
    let folder = journal.parent().unwrap_or_else(|| Path::new(""));
    let (state, _) = State::replay_as_far(&reading.lines);
    let named = state.map(|state| state.subject().clone());
    let plant = arguments.plant.clone().or_else(|| plant_file(folder, named.as_ref()?));
    let register = arguments
        .register
        .clone()
        .unwrap_or_else(|| Paths::register_beside(plant.as_deref().unwrap_or(&journal)));
    let register = read_register(&register);
    let fresh = named
        .as_ref()
        .ok_or_else(|| "the journal does not say what was reviewed".to_owned())
        .and_then(|named| audit_again(folder, named, plant));
    verify(&reading, register.as_ref().map_err(Clone::clone), fresh.as_ref().map_err(Clone::clone))
}

/// The plant file that the journal names, beside the record or in a folder above it.
fn plant_file(folder: &Path, subject: &Subject) -> Option<PathBuf> {
    let name = &subject.plant_file.as_ref()?.name;
    let folder = std::path::absolute(folder).ok()?;
    folder.ancestors().map(|folder| folder.join(name)).find(|file| file.is_file())
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

/// Reads and audits the files that the journal names.
fn audit_again(
    folder: &Path,
    subject: &Subject,
    plant: Option<PathBuf>,
) -> Result<Subject, String> {
    let arguments = RecordArguments {
        files: subject.sources.iter().map(|file| folder.join(&file.name)).collect(),
        plant,
        run_sheet: subject.run_sheet.as_ref().map(|file| folder.join(&file.name)),
    };
    let audited = audit::read(&arguments).map_err(|error| error.to_string())?;
    Subject::new(&audited.record, &audited.plant, &audited.audit).map_err(|error| error.to_string())
}
