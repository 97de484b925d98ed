//! `holdtrace ledger`: what was signed, kept beside the register of signers.

use crate::arguments::{ActingArguments, LedgerCommand, RegisterArguments, StockArguments};
use crate::outcome::Outcome;
use crate::{folder, output, person};
use signers::{LedgerFile, Stood};
use std::error::Error;
use std::path::Path;

/// Runs the command.
///
/// # Errors
/// When register, ledger or folder can't be used, or the rules refuse.
pub fn run(command: &LedgerCommand) -> Result<Outcome, Box<dyn Error>> {
    match command {
        LedgerCommand::Show(arguments) => show(arguments),
        LedgerCommand::Stock(arguments) => stock(arguments),
    }
}

fn show(arguments: &RegisterArguments) -> Result<Outcome, Box<dyn Error>> {
    let plant = ingest::plant_file_beside(&arguments.register);
    let books = person::trust().books(&arguments.register, plant.as_deref());
    for line in folder::in_words(&books) {
        output::say_line(format_args!("{line}"))?;
    }
    for posted in books.known_ledger().into_iter().flat_map(signers::Ledger::latest) {
        let Stood { journal, lines, head, .. } = &posted.stood;
        output::say_line(format_args!(
            "line {}: {journal}, {lines} lines, sha256 {head} ({}, {})",
            posted.line, posted.by, posted.at
        ))?;
    }
    let is_clean = books.alarms.is_empty() && books.known_ledger().is_some();
    if let Err(why) = &books.ledger {
        output::complain(why);
    }
    for alarm in &books.alarms {
        output::complain(alarm);
    }
    Ok(if is_clean { Outcome::Clean } else { Outcome::Exceptions })
}

fn stock(arguments: &StockArguments) -> Result<Outcome, Box<dyn Error>> {
    let StockArguments { acting, folder, record, reason } = arguments;
    let ActingArguments { register, by, passphrase, clock_is_right } = acting;
    let register = &register.register;
    let at = person::stamp_beside(register, *clock_is_right)?;
    let beside = register.parent().filter(|folder| !folder.as_os_str().is_empty());
    let folder = folder.as_deref().or(beside).unwrap_or(Path::new("."));
    let books = person::trust().books_to_write(register)?;
    let signers = books.register.as_ref().map_err(Clone::clone)?;
    let archive::Stock { journals, left } =
        archive::stock(folder, (register, record), &person::trust())?;
    for left in &left {
        output::complain(left);
    }
    for (stood, stage) in &journals {
        output::say_line(format_args!(
            "{}, {} lines, {}",
            stood.journal,
            stood.lines,
            stage.name()
        ))?;
    }
    let journals: Vec<Stood> = journals.into_iter().map(|(stood, _)| stood).collect();
    let mut ledger = LedgerFile::open(&LedgerFile::beside(register), signers)?;
    let key = person::unlock(&by.parse()?, passphrase)?;
    let count = journals.len();
    ledger.take_stock((reason, journals), signers, &key, at)?;
    let ledger = ledger.ledger();
    output::say_line(format_args!(
        "line {}: {count} journals are accepted as they are",
        ledger.len()
    ))?;
    output::say_line(format_args!("ledger sha256 {}", ledger.head()))?;
    person::remember(register);
    Ok(if left.is_empty() { Outcome::Clean } else { Outcome::Exceptions })
}
