//! `holdtrace lot`: everything that touches a lot, or which lots there are.

use crate::arguments::{ListFormat, LotArguments};
use crate::folder::Gone;
use crate::outcome::Outcome;
use crate::{folder, output};
use daybook::{LotRow, LotTrace};
use std::error::Error;

/// Runs the command.
///
/// # Errors
/// When the folder can't be read or the output not be written.
pub fn run(arguments: &LotArguments) -> Result<Outcome, Box<dyn Error>> {
    let Gone { entries, is_whole, .. } = folder::scan(&arguments.folder, true)?;
    let Some(wanted) = &arguments.lot else {
        return list(&daybook::lots(&entries), arguments.format);
    };
    let exact = daybook::lot(&entries, wanted);
    if !exact.records.is_empty() {
        return trace(&exact, is_whole, arguments.format);
    }
    let mut like = daybook::lots(&entries);
    like.retain(|lot| lot.matches(wanted));
    match like.as_slice() {
        [] => trace(&exact, is_whole, arguments.format),
        [only] => trace(&daybook::lot(&entries, &only.lot), is_whole, arguments.format),
        several => list(several, arguments.format),
    }
}

fn trace(
    lot: &LotTrace<'_>,
    is_whole: bool,
    format: ListFormat,
) -> Result<Outcome, Box<dyn Error>> {
    match format {
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

fn list(lots: &[LotRow], format: ListFormat) -> Result<Outcome, Box<dyn Error>> {
    match format {
        ListFormat::Text => output::say(&daybook::lots_text(lots))?,
        ListFormat::Json => {
            let json = daybook::lots_json(lots);
            output::write(output::json(&json)?.as_bytes(), None)?;
        }
    }
    let is_clean = lots.iter().all(|lot| lot.exceptions == 0);
    Ok(match lots {
        [] => Outcome::Unusable,
        _ if is_clean => Outcome::Clean,
        _ => Outcome::Exceptions,
    })
}
