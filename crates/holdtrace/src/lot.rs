//! `holdtrace lot`: everything that touches a lot.

use crate::arguments::{ListFormat, LotArguments};
use crate::folder::Gone;
use crate::outcome::Outcome;
use crate::{folder, output};
use std::error::Error;

/// Runs the command.
///
/// # Errors
/// When the folder can't be read or the output not be written.
pub fn run(arguments: &LotArguments) -> Result<Outcome, Box<dyn Error>> {
    let Gone { entries, is_whole, .. } = folder::scan(&arguments.folder, true)?;
    let lot = daybook::lot(&entries, &arguments.lot);
    match arguments.format {
        ListFormat::Text => output::say(&lot.text())?,
        ListFormat::Json => output::write(output::json(&lot.json())?.as_bytes(), None)?,
    }
    Ok(if lot.records.is_empty() {
        Outcome::Unusable
    } else if is_whole && lot.exceptions.is_empty() && lot.unreadable.is_empty() && lot.unnamed == 0
    {
        Outcome::Clean
    } else {
        Outcome::Exceptions
    })
}
