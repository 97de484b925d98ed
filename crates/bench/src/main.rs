//! How long the audit takes, and whether it got slower: long records to try it on, yardsticks in one run on
//! the same machine, and a count of instructions that the gate compares.
//!
//! ```text
//! bench file PATH ROWS INTERVAL_MS      one long record, and beside it the plant file that reads it
//! bench folder FOLDER DAYS INTERVAL_MS  a record a day, and the plant file that reads them
//! bench run [ROUNDS]                    times of a month and of sixty days beside those of general-purpose
//!                                       engines, written to docs/performance.md
//! bench instructions [--keep]           instructions of the audit of a day against those kept
//! ```

mod data;
mod instructions;
mod machine;
mod timed;
mod yardsticks;

use std::error::Error;
use std::path::PathBuf;

fn main() -> Result<(), Box<dyn Error>> {
    let mut arguments = std::env::args_os().skip(1);
    let command = arguments.next().unwrap_or_default();
    let mut path = || arguments.next().map(PathBuf::from).ok_or("a path is missing");
    match command.to_str() {
        Some("file") => {
            let path = path()?;
            data::file(&path, number(arguments.next())?, number(arguments.next())?)
        }
        Some("folder") => {
            let folder = path()?;
            data::folder(&folder, number(arguments.next())?, number(arguments.next())?)
        }
        Some("run") => {
            let rounds = arguments.next().map_or(Ok(5), |rounds| number(Some(rounds)))?;
            yardsticks::run(usize::try_from(rounds)?.max(1))
        }
        Some("instructions") => {
            instructions::check(arguments.next().is_some_and(|one| one == "--keep"))
        }
        _ => Err("say file, folder, run or instructions; src/main.rs tells what follows".into()),
    }
}

fn number(argument: Option<std::ffi::OsString>) -> Result<u64, Box<dyn Error>> {
    let argument = argument.ok_or("a number is missing")?;
    let text = argument.to_str().ok_or("a number is no text")?;
    Ok(text.parse().map_err(|_not_a_number| format!("{text:?} is no whole number"))?)
}
