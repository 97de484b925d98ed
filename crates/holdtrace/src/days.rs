//! `holdtrace days`: the day log.

use crate::arguments::{DaysArguments, ListFormat};
use crate::folder::Gone;
use crate::outcome::Outcome;
use crate::{folder, output, person};
use daybook::{Entry, Range, Summary};
use review::Stage;
use std::error::Error;

/// Runs the command.
///
/// # Errors
/// When the folder can't be read or the output not be written.
pub fn run(arguments: &DaysArguments) -> Result<Outcome, Box<dyn Error>> {
    let Gone { entries, is_whole, books, .. } = folder::scan(&arguments.folder, false)?;
    let summary = Summary::new(&entries, Range::default(), folder::today())?;
    match arguments.format {
        ListFormat::Text => {
            output::say(&summary.register_text())?;
            for line in books {
                output::say_line(format_args!("{line}"))?;
            }
        }
        ListFormat::Json => {
            let json = summary.json(&person::local_stamp()?.to_string());
            output::write(output::json(&json)?.as_bytes(), None)?;
        }
    }
    let is_signed = |entry: &Entry| entry.review.stage == Stage::Signed;
    let is_clean = is_whole && entries.iter().all(is_signed);
    Ok(if is_clean { Outcome::Clean } else { Outcome::Exceptions })
}
