//! The one program: the day window by default, the same audit without a display as `audit`.
//!
//! It is thin. What a file means is decided by `ingest`, what is safe by `analysis`, how it reads
//! by `report`, how it looks by `desktop`.

mod arguments;
mod audit;
mod days;
mod entries;
mod equipment;
mod folder;
mod holds;
mod ledger;
mod lot;
mod outcome;
mod output;
mod person;
mod report;
mod review;
mod setup;
mod signer;
mod summary;
mod tables;
mod verify;
mod window;
mod work;

use arguments::{Arguments, Command};
use clap::Parser;
use outcome::Outcome;
use std::process::ExitCode;

fn main() -> ExitCode {
    let Arguments { command, window } = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(answer) => return output::answer(&answer),
    };
    // The window shuts the process only while it holds a secret: see there.
    let _shut = command.is_some().then(signers::Shut::new);
    let outcome = match command {
        Some(Command::Audit(arguments)) => audit::run(&arguments),
        Some(Command::Setup(arguments)) => setup::run(&arguments),
        Some(Command::Tables(arguments)) => tables::run(&arguments),
        Some(Command::Report(arguments)) => report::run(&arguments),
        Some(Command::Days(arguments)) => days::run(&arguments),
        Some(Command::Summary(arguments)) => summary::run(&arguments),
        Some(Command::Lot(arguments)) => lot::run(&arguments),
        Some(Command::Holds(arguments)) => holds::run(&arguments),
        Some(Command::Work(arguments)) => work::run(&arguments),
        Some(Command::Review(command)) => review::run(*command),
        Some(Command::Signer(command)) => signer::run(&command),
        Some(Command::Equipment(command)) => equipment::run(&command),
        Some(Command::Entries(command)) => entries::run(&command),
        Some(Command::Ledger(command)) => ledger::run(&command),
        Some(Command::Verify(arguments)) => verify::run(&arguments),
        None => window::run(window),
    };
    match outcome {
        Ok(outcome) => outcome.into(),
        Err(error) => {
            output::complain(&error.to_string());
            Outcome::Unusable.into()
        }
    }
}
