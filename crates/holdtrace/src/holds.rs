//! `holdtrace holds`: what is on hold, across days and pasteurizers.

use crate::arguments::{HoldsArguments, TableFormat};
use crate::folder::Gone;
use crate::outcome::Outcome;
use crate::{folder, output};
use daybook::Held;
use std::error::Error;

/// Runs the command.
///
/// # Errors
/// When the folder can't be read or the output not be written.
pub fn run(arguments: &HoldsArguments) -> Result<Outcome, Box<dyn Error>> {
    // Journals are read always; only what is handed on vouches for its records.
    let vouches = arguments.format != TableFormat::Text;
    let Gone { entries, is_whole, .. } = folder::scan(&arguments.folder, vouches)?;
    let (held, today) = (Held::of(entries.iter()), folder::today());
    match arguments.format {
        TableFormat::Text => output::say(&held.text(today, arguments.all))?,
        TableFormat::Csv => output::write(held.table(today).csv()?.as_bytes(), None)?,
        TableFormat::Json => output::write(output::json(&held.json(today))?.as_bytes(), None)?,
    }
    Ok(if is_whole && held.is_clean() { Outcome::Clean } else { Outcome::Exceptions })
}
