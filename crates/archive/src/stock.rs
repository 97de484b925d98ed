//! Taking stock: the journals of a folder as they stand, which a supervisor accepts when the ledger
//! begins. What was changed since it was signed is not accepted unless it is named.

use crate::error::Error;
use crate::progress::ScanProgress;
use crate::scan::scan;
use crate::signing::read_journal;
use crate::trust::Trust;
use review::{Paths, Stage};
use signers::{Books, Stood};
use std::path::{Path, PathBuf};

/// What a supervisor accepts by taking stock, and what is left.
#[derive(Debug, Clone)]
pub struct Stock {
    /// The journals that are accepted, with how far their reviews are.
    pub journals: Vec<(Stood, Stage)>,
    /// What is not accepted, in sentences.
    pub left: Vec<String>,
}

/// Goes through a folder for the journals that the ledger beside `register` is to begin with. `named`
/// are the first files of records that are accepted although they were changed since.
///
/// # Errors
/// When the folder or a journal can't be read.
pub fn stock(
    folder: &Path,
    (register, named): (&Path, &[PathBuf]),
    trust: &Trust,
) -> Result<Stock, Error> {
    let books = Books::read(register);
    let scan = scan(folder, None, trust, &ScanProgress::default())?;
    let named: Vec<String> =
        named.iter().map(|file| books.name_of(&Paths::of(file, None).journal)).collect();
    let mut stock = Stock { journals: Vec::new(), left: Vec::new() };
    for entry in &scan.entries {
        let path = Paths::of(&entry.record, None).journal;
        let journal = read_journal(&path)?;
        let Some(last) = journal.lines.last() else { continue };
        let (name, stage) = (books.name_of(&path), entry.review.stage);
        let is_left = stage == Stage::ChangedSinceSigning && !named.contains(&name);
        if is_left || journal.fault.is_some() {
            let faults = entry.review.faults.join("; ");
            stock.left.push(format!(
                "{}: {}; it is not accepted ({faults})",
                path.display(),
                stage.name()
            ));
            continue;
        }
        let plant_file = entry.reviewed.as_ref().and_then(|subject| subject.plant_file.as_ref());
        let stood = Stood {
            journal: name,
            lines: journal.lines.len() as u64,
            head: last.digest().to_string(),
            plant_file: plant_file.map(|file| file.sha256.clone()),
        };
        stock.journals.push((stood, stage));
    }
    Ok(stock)
}
