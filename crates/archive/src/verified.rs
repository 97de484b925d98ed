//! A record verified from its bytes, link by link: journal and books are read anew, and the files that
//! the journal names are read and audited again. The same on the command line and in the window.

use crate::files::{Files, files_named_by};
use crate::neighbours::Neighbours;
use crate::signing::read_journal;
use crate::trust::Trust;
use ingest::Progress;
use journal::Reading;
use review::{Books, Evidence, Paths, Subject, Verification, verify};
use signers::Known;
use std::path::Path;

/// What was verified, and of what.
#[derive(Debug)]
pub struct Verified {
    /// The verdicts on all links.
    pub verification: Verification,
    /// The journal.
    pub journal: Reading,
    /// The register of signers and the ledger.
    pub books: Books,
}

/// Verifies a record, named by itself or by its journal, with a plant file or a register that the user
/// named in place of those that are found.
pub fn verify_record(
    record: &Path,
    (plant, register): (Option<&Path>, Option<&Path>),
    neighbours: &mut Neighbours,
    trust: &Trust,
) -> Verified {
    let path =
        if Paths::is_journal(record) { record.to_owned() } else { Paths::of(record, None).journal };
    let (journal, unreadable) = match read_journal(&path) {
        Ok(journal) => (journal, None),
        Err(error) => (Reading::default(), Some(error.to_string())),
    };
    let given = plant.map(Path::to_owned);
    let named = files_named_by(&path, &journal)
        .map(|(files, _)| Files { plant: given.clone().or(files.plant), ..files });
    let plant = named.as_ref().and_then(|files| files.plant.clone()).or_else(|| given.clone());
    let beside = || {
        // A journal that is gone is still named by the ledger beside the plant file.
        let plant = plant.clone().or_else(|| ingest::plant_file_beside(&path));
        Paths::register_beside(plant.as_deref().unwrap_or(&path))
    };
    let register = register.map_or_else(beside, Path::to_owned);
    let books = trust.books(&register, plant.as_deref());
    let fresh = named
        .as_ref()
        .ok_or_else(|| {
            "the journal does not say what was reviewed, or names no file of its own name: it was \
             renamed or copied"
                .to_owned()
        })
        .and_then(|files| audit_again(files, given.is_some()));
    let before = named.as_ref().map(|files| neighbours.hole_before(files, None)).transpose();
    let (fresh, hole) = match (fresh, before) {
        (Ok(fresh), Ok(hole)) => (Ok(fresh), hole.flatten()),
        (Ok(_), Err(error)) => {
            (Err(format!("what came before it can't be determined: {error}")), None)
        }
        (Err(why), _) => (Err(why), None),
    };
    let fresh = fresh.as_ref().map_err(Clone::clone);
    let evidence = Evidence::new((&journal, &path), &books, fresh, hole.as_ref(), trust.now());
    let mut verification = verify(&evidence);
    // A journal that can't be read is another thing than none.
    if let (Some(why), Some(chain)) = (unreadable, verification.links.first_mut()) {
        chain.found = why;
    }
    Verified { verification, journal, books }
}

/// Reads and audits the files that the journal names; a plant file that the user named may be anything.
fn audit_again(files: &Files, plant_is_given: bool) -> Result<Subject, String> {
    let found = Files { plant: files.plant.clone().filter(|_| !plant_is_given), ..files.clone() };
    found.are_files().map_err(|error| error.to_string())?;
    let case = crate::read(files, None, &Progress::default()).map_err(|error| error.to_string())?;
    Subject::new(&case).map_err(|error| error.to_string())
}

/// By what the books of a plant are told from others, a line each: where the register lies, how far it
/// and the ledger go, and the fingerprints, to be compared with paper.
pub fn books_in_words(books: &Books) -> Vec<String> {
    let path = books.path.display();
    let Some(imprint) = books.imprint() else {
        return match &books.register {
            Err(why) => vec![why.clone()],
            Ok(_) => Vec::new(),
        };
    };
    let mut lines = vec![
        format!(
            "register of signers {path}: {} lines, the last with sha256 {}",
            imprint.register_lines, imprint.register_head
        ),
        match imprint.ledger_lines {
            0 => "there is no ledger".to_owned(),
            lines => format!("ledger: {lines} lines, the last with sha256 {}", imprint.ledger_head),
        },
    ];
    for (place, signer) in imprint.signers.iter().enumerate() {
        let Known { signer, name, role, fingerprint, is_revoked, .. } = signer;
        let first = if place == 0 { ", created the register" } else { "" };
        let revoked = if *is_revoked { ", revoked" } else { "" };
        lines.push(format!("  {signer} ({name}), {role}{first}{revoked}: {fingerprint}"));
    }
    lines.extend(books.torn.iter().cloned());
    lines
}
