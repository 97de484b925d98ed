//! `holdtrace verify`: whether records are what was signed.

use crate::arguments::VerifyArguments;
use crate::outcome::Outcome;
use crate::{folder, output, person};
use ::review::{Books, Verification};
use archive::{Neighbours, Verified, is_same_fingerprint, verify_record};
use journal::{Digest, Reading};
use std::error::Error;
use trace::Lines;

/// Runs the command.
///
/// # Errors
/// When the verdicts can't be written; what can't be read is a verdict.
pub fn run(arguments: &VerifyArguments) -> Result<Outcome, Box<dyn Error>> {
    let mut all_hold = true;
    let mut neighbours = Neighbours::new(archive::usual_cache(), person::trust());
    for record in &arguments.records {
        let named = (arguments.plant.as_deref(), arguments.register.as_deref());
        let verified = verify_record(record, named, &mut neighbours, &person::trust());
        let Verified { verification, journal, books } = verified;
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
