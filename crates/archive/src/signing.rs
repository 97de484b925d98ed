//! Books and review, read for checking. Nothing is written in the plant's folder.

use crate::error::Error;
use crate::trust::Trust;
use journal::Reading;
use review::{Books, Evidence, HoleBefore, Paths, Reviewed, Subject};
use std::path::Path;

/// The review that lies at `paths` about a record that was read and audited as `fresh`, by the plant
/// file `plant`. `hole` is the hole before it that is to be closed, see [`crate::Neighbours`].
///
/// # Errors
/// When the journal can't be read; what is wrong in it is a verdict.
pub fn read_review(
    (paths, plant): (&Paths, Option<&Path>),
    fresh: &Subject,
    hole: Option<&HoleBefore>,
    trust: &Trust,
) -> Result<Reviewed, Error> {
    let journal = read_journal(&paths.journal)?;
    let books = without_folder(trust.books(&paths.register, plant));
    let journal = (&journal, paths.journal.as_path());
    Ok(Reviewed::of(&Evidence::new(journal, &books, Ok(fresh), hole, trust.now())))
}

/// A journal, as far as it can be read.
///
/// # Errors
/// When the file is there and can't be read.
pub fn read_journal(path: &Path) -> Result<Reading, Error> {
    journal::read(path).map_err(Error::Journal)
}

/// What is filed names files, not where somebody had them.
fn without_folder(mut books: Books) -> Books {
    let folder = books.path.parent().map(|folder| folder.join("").display().to_string());
    let Some(folder) = folder.filter(|folder| !folder.is_empty()) else { return books };
    let short = |text: &mut String| *text = text.replace(&folder, "");
    if let Err(why) = &mut books.register {
        short(why);
    }
    if let Err(why) = &mut books.ledger {
        short(why);
    }
    books.alarms.iter_mut().chain(&mut books.torn).for_each(short);
    books
}
