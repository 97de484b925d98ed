//! `holdtrace entries`: what the operators write down on the day, and their signature under it.

use crate::arguments::{
    ActingArguments, AddEntryArguments, EntriesCommand, OfRecordArguments, SignEntriesArguments,
};
use crate::outcome::Outcome;
use crate::{folder, output, person};
use ingest::NewEntry;
use plant::Plant;
use std::error::Error;
use std::path::PathBuf;
use trace::{EntryKind, TemperatureUnit, Unit as _};

/// Runs the command.
///
/// # Errors
/// When the entries or the plant's books can't be read or written.
pub fn run(command: &EntriesCommand) -> Result<Outcome, Box<dyn Error>> {
    match command {
        EntriesCommand::Add(arguments) => add(arguments),
        EntriesCommand::Sign(arguments) => sign(arguments),
    }
}

/// The file of entries, and the plant.
fn found(of: &OfRecordArguments) -> Result<(PathBuf, Plant), Box<dyn Error>> {
    let OfRecordArguments { record, plant } = of;
    let plant = folder::plant(plant.as_deref(), record)?;
    if ingest::is_operator_entries(record) {
        return Ok((record.clone(), plant));
    }
    let entries = ingest::operator_entries_of(record);
    let entries =
        entries.ok_or_else(|| format!("{}: not the name of a record", record.display()))?;
    Ok((entries, plant))
}

fn add(arguments: &AddEntryArguments) -> Result<Outcome, Box<dyn Error>> {
    let AddEntryArguments { of, time, entry, reading, unit, by, note } = arguments;
    let (path, plant) = found(of)?;
    let kind = EntryKind::from_word(entry).ok_or_else(|| {
        let kinds = EntryKind::ALL.map(EntryKind::key).join(", ");
        format!("--entry {entry:?} is none of {kinds}")
    })?;
    let [time, reading, by, note] = [time, reading, by, note].map(Clone::clone);
    let entry = NewEntry { time, kind, reading, by, note };
    let unit = match unit.as_deref() {
        Some(word) => Some(
            TemperatureUnit::from_word(word)
                .ok_or_else(|| format!("--unit {word:?} is neither degF nor degC"))?,
        ),
        None => plant.columns.temperature_unit(),
    };
    // A new file is begun in a unit that somebody said, even where its first entry is no reading.
    if unit.is_none() && !path.exists() {
        return Err("give the unit of the readings: --unit degF or --unit degC".into());
    }
    archive::add_entry(&path, &entry, unit.unwrap_or(TemperatureUnit::Fahrenheit), &plant)?;
    output::say_line(format_args!("added to {}", path.display()))?;
    Ok(Outcome::Clean)
}

fn sign(arguments: &SignEntriesArguments) -> Result<Outcome, Box<dyn Error>> {
    let SignEntriesArguments { of, acting } = arguments;
    let ActingArguments { register, by, passphrase, clock_is_right } = acting;
    let (path, plant) = found(of)?;
    let register = &register.register;
    let at = person::stamp_beside(register, *clock_is_right)?;
    let books = person::trust().books_to_write(register)?;
    let key = person::unlock(&by.parse()?, passphrase)?;
    let count = archive::sign_entries(&path, &plant, &books, (&key, at))?;
    person::remember(register);
    output::say_line(format_args!("{count} entries of {} signed by {by}, {at}", path.display()))?;
    Ok(Outcome::Clean)
}
