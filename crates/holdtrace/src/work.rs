//! `holdtrace work`: what waits for whom in a folder.

use crate::arguments::{ListFormat, WorkArguments};
use crate::folder::Gone;
use crate::outcome::Outcome;
use crate::{folder, output};
use daybook::WorkList;
use std::error::Error;

/// Runs the command.
///
/// # Errors
/// When the folder can't be read, no register in it knows the person, or the output can't be written.
pub fn run(arguments: &WorkArguments) -> Result<Outcome, Box<dyn Error>> {
    let Gone { entries, is_whole, .. } = folder::scan(&arguments.folder, false)?;
    let by = arguments.by.as_deref().unwrap_or_default();
    let list = WorkList::of(&entries, by, folder::today());
    if !by.is_empty() && list.person().is_none() {
        let folder = arguments.folder.folder.display();
        return Err(format!(
            "no register of signers in {folder} knows {by:?}, or not any more; holdtrace signer list \
             says who is enrolled"
        )
        .into());
    }
    match arguments.format {
        ListFormat::Text => output::say(&list.text())?,
        ListFormat::Json => output::write(output::json(&list.json())?.as_bytes(), None)?,
    }
    let waits = match list.person() {
        Some(_) => list.mine().next().is_some(),
        None => !list.rows().is_empty(),
    };
    Ok(if is_whole && !waits { Outcome::Clean } else { Outcome::Exceptions })
}
