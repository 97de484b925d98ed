//! `holdtrace verify`: whether records are what was signed.

use crate::arguments::VerifyArguments;
use crate::{Outcome, output};
use ::review::{Paths, Subject, Verification, verify, verify_after};
use archive::{Files, Neighbours, Read, files_named_by, read_register};
use ingest::Progress;
use journal::Reading;
use std::error::Error;
use std::path::Path;

/// Runs the command.
///
/// # Errors
/// When the verdicts can't be written; what can't be read is a verdict.
pub fn run(arguments: &VerifyArguments) -> Result<Outcome, Box<dyn Error>> {
    let mut all_hold = true;
    let mut neighbours = Neighbours::new(archive::usual_cache());
    for record in &arguments.records {
        let verification = one(record, arguments, &mut neighbours);
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

fn one(record: &Path, arguments: &VerifyArguments, neighbours: &mut Neighbours) -> Verification {
    let journal =
        if Paths::is_journal(record) { record.to_owned() } else { Paths::of(record, None).journal };
    let reading = match journal::read(&journal) {
        Ok(reading) => reading,
        Err(error) => {
            let why = error.to_string();
            let mut unread = verify(&Reading::default(), Err(why.clone()), Err(why.clone()));
            // A journal that can't be read is another thing than none.
            if let Some(chain) = unread.links.first_mut() {
                chain.found = why;
            }
            return unread;
        }
    };
    let named = files_named_by(&journal, &reading)
        .map(|(files, _)| Files { plant: arguments.plant.clone().or(files.plant), ..files });
    let plant = named.as_ref().and_then(|files| files.plant.clone());
    let plant = plant.or_else(|| arguments.plant.clone());
    let register = arguments
        .register
        .clone()
        .unwrap_or_else(|| Paths::register_beside(plant.as_deref().unwrap_or(&journal)));
    let register = read_register(&register);
    let fresh = named
        .as_ref()
        .ok_or_else(|| {
            "the journal does not say what was reviewed, or names no file of its own name: it was \
             renamed or copied"
                .to_owned()
        })
        .and_then(|files| audit_again(files, arguments));
    let register = register.as_ref().map_err(Clone::clone);
    let before = named.as_ref().map(|files| neighbours.hole_before(files, None)).transpose();
    let (fresh, hole) = match (&fresh, before) {
        (Ok(fresh), Ok(hole)) => (Ok(fresh), hole.flatten()),
        (Ok(_), Err(error)) => (Err(format!("what lies before it can't be told: {error}")), None),
        (Err(why), _) => (Err(why.clone()), None),
    };
    verify_after(&reading, register, fresh, hole.as_ref())
}

/// Reads and audits the files that the journal names.
fn audit_again(files: &Files, arguments: &VerifyArguments) -> Result<Subject, String> {
    // The plant file may be one that the user named; the rest was found.
    let found =
        Files { plant: files.plant.clone().filter(|_| arguments.plant.is_none()), ..files.clone() };
    found.are_files().map_err(|error| error.to_string())?;
    let read = archive::read(files, None, &Progress::default());
    let Read { record, plant, audit, .. } = read.map_err(|error| error.to_string())?;
    Subject::new(&record, &plant, &audit).map_err(|error| error.to_string())
}
