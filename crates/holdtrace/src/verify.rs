//! `holdtrace verify`: whether records are what was signed.

use crate::arguments::VerifyArguments;
use crate::{Outcome, output};
use ::review::{Link, Paths, Subject, Verification, verify, verify_after};
use archive::{Files, Neighbours, Read, files_named_by, read_register};
use ingest::Progress;
use journal::Reading;
use std::error::Error;
use std::path::Path;
use trace::Lines;

/// Runs the command.
///
/// # Errors
/// When the verdicts can't be written; what can't be read is a verdict.
pub fn run(arguments: &VerifyArguments) -> Result<Outcome, Box<dyn Error>> {
    let mut all_hold = true;
    let mut neighbours = Neighbours::new(archive::usual_cache());
    for record in &arguments.records {
        let verification = one(record, arguments, &mut neighbours);
        let mut text = Lines::new();
        text.line(format_args!("{}", record.display()));
        for link in &verification.links {
            text.line(format_args!("  {link}"));
        }
        let Verification { lines, head, .. } = verification;
        text.line(format_args!("  last line {lines}: sha256 {head}"));
        output::say(&text)?;
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
            // It is there, so "there is no journal" would be wrong.
            let none = verify(&Reading::default(), Err(String::new()), Err(String::new()));
            let found = error.to_string();
            let link = Link { what: "chain".to_owned(), holds: false, found, signature: None };
            return Verification { links: vec![link], ..none };
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
        .and_then(audit_again);
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
fn audit_again(files: &Files) -> Result<Subject, String> {
    let read = archive::read(files, None, &Progress::default());
    let Read { record, plant, audit, .. } = read.map_err(|error| error.to_string())?;
    Subject::new(&record, &plant, &audit).map_err(|error| error.to_string())
}
