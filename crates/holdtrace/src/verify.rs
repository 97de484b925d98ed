//! `holdtrace verify`: whether records are what was signed.

use crate::arguments::VerifyArguments;
use crate::outcome::Outcome;
use crate::{folder, output, person};
use ::review::{Books, Evidence, Paths, Subject, Verification, verify};
use archive::{Files, Neighbours, files_named_by, is_same_fingerprint};
use ingest::Progress;
use journal::{Digest, Reading};
use std::error::Error;
use std::path::Path;
use trace::Lines;

/// Runs the command.
///
/// # Errors
/// When the verdicts can't be written; what can't be read is a verdict.
pub fn run(arguments: &VerifyArguments) -> Result<Outcome, Box<dyn Error>> {
    let mut all_hold = true;
    let mut neighbours = Neighbours::new(archive::usual_cache(), person::trust());
    for record in &arguments.records {
        let (verification, journal, books) = one(record, arguments, &mut neighbours);
        let mut text = Lines::new();
        text.line(format_args!("{}", record.display()));
        for link in &verification.links {
            text.line(format_args!("  {link}"));
        }
        let Verification { lines, head, .. } = &verification;
        text.line(format_args!("  last line {lines}: sha256 {head}"));
        for line in folder::in_words(&books) {
            text.line(format_args!("  {line}"));
        }
        all_hold &= verification.holds() & is_as_on_paper(&mut text, arguments, &journal, &books);
        output::say(&text)?;
    }
    Ok(if all_hold { Outcome::Clean } else { Outcome::Exceptions })
}

/// Whether the books and the journal are those that a page names, as far as the arguments say.
fn is_as_on_paper(
    text: &mut Lines,
    arguments: &VerifyArguments,
    journal: &Reading,
    books: &Books,
) -> bool {
    let imprint = books.imprint();
    let mut is_same = true;
    if let Some(wanted) = &arguments.fingerprint {
        let first = imprint.as_ref().and_then(|imprint| imprint.signers.first());
        let holds = first.is_some_and(|first| is_same_fingerprint(&first.fingerprint, wanted));
        let verdict = if holds { "holds" } else { "FAILS" };
        text.line(format_args!("  {verdict}  fingerprint: the register begins with that of paper"));
        is_same &= holds;
    }
    for wanted in &arguments.head {
        let digest = wanted.parse::<Digest>().ok();
        let line = |mut lines: &mut dyn Iterator<Item = Digest>| {
            digest.and_then(|digest| (&mut lines).position(|line| line == digest))
        };
        let places = [
            ("journal", line(&mut journal.lines.iter().map(journal::Line::digest))),
            ("register", books.signers().and_then(|all| line(&mut all.digests()))),
            ("ledger", books.known_ledger().and_then(|all| line(&mut all.digests()))),
        ];
        let of = places.into_iter().find_map(|(what, place)| Some((what, place? + 1)));
        is_same &= of.is_some();
        let (verdict, found) = match of {
            Some((what, line)) => ("holds", format!("it is line {line} of the {what}")),
            None => (
                "FAILS",
                "no line of journal, register or ledger has it: lines were cut off, or they are not \
                 those of the page"
                    .to_owned(),
            ),
        };
        text.line(format_args!("  {verdict}  head {wanted}: {found}"));
    }
    is_same
}

fn one(
    record: &Path,
    arguments: &VerifyArguments,
    neighbours: &mut Neighbours,
) -> (Verification, Reading, Books) {
    let trust = person::trust();
    let path =
        if Paths::is_journal(record) { record.to_owned() } else { Paths::of(record, None).journal };
    let reading = archive::read_journal(&path);
    let (reading, unreadable) = match reading {
        Ok(reading) => (reading, None),
        Err(error) => (Reading::default(), Some(error.to_string())),
    };
    let named = files_named_by(&path, &reading)
        .map(|(files, _)| Files { plant: arguments.plant.clone().or(files.plant), ..files });
    let plant = named.as_ref().and_then(|files| files.plant.clone());
    let plant = plant.or_else(|| arguments.plant.clone());
    let beside = || {
        // A journal that is gone is still named by the ledger beside the plant file.
        let plant = plant.clone().or_else(|| ingest::plant_file_beside(&path));
        Paths::register_beside(plant.as_deref().unwrap_or(&path))
    };
    let register = arguments.register.clone().unwrap_or_else(beside);
    let books = trust.books(&register, plant.as_deref());
    let fresh = named
        .as_ref()
        .ok_or_else(|| {
            "the journal does not say what was reviewed, or names no file of its own name: it was \
             renamed or copied"
                .to_owned()
        })
        .and_then(|files| audit_again(files, arguments).map_err(|error| error.to_string()));
    let before = named.as_ref().map(|files| neighbours.hole_before(files, None)).transpose();
    let (fresh, hole) = match (&fresh, before) {
        (Ok(fresh), Ok(hole)) => (Ok(fresh), hole.flatten()),
        (Ok(_), Err(error)) => {
            (Err(format!("what came before it can't be determined: {error}")), None)
        }
        (Err(why), _) => (Err(why.clone()), None),
    };
    let evidence = Evidence::new((&reading, &path), &books, fresh, hole.as_ref(), trust.now());
    let mut verification = verify(&evidence);
    // A journal that can't be read is another thing than none.
    if let (Some(why), Some(chain)) = (unreadable, verification.links.first_mut()) {
        chain.found = why;
    }
    (verification, reading, books)
}

/// Reads and audits the files that the journal names.
fn audit_again(files: &Files, arguments: &VerifyArguments) -> Result<Subject, Box<dyn Error>> {
    // The plant file may be one that the user named; the rest was found.
    let found =
        Files { plant: files.plant.clone().filter(|_| arguments.plant.is_none()), ..files.clone() };
    found.are_files()?;
    Ok(Subject::new(&archive::read(files, None, &Progress::default())?)?)
}
