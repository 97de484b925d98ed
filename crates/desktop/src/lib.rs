//! The window of Holdtrace: verdict, plots, list of exceptions.
//!
//! A front end decides nothing about milk: verdicts, their wording and their figures come from
//! `analysis` and `report`. What is here decides how they look, where they stand and which key
//! leads to them. [`App`] can be driven without a window, which is how its tests work.

mod app;
mod commands;
mod day;
mod dialogs;
mod empty;
mod error;
mod exceptions;
mod header;
mod job;
mod loading;
mod observations;
mod palette;
mod problems;
mod register;
mod review;
mod run;
mod settings;
mod side;
mod summary;
pub mod theme;
mod units;

pub use app::{App, Surroundings};
pub use commands::Command;
pub use error::Error;
pub use register::RangeFormat;
pub use review::{Clock, DiskClock};
pub use settings::{Brightness, Settings};

use std::path::PathBuf;

/// The title of the window.
pub const TITLE: &str = "Holdtrace";

/// What to open.
#[derive(Debug, Clone, Default)]
pub struct Start {
    /// Nothing, the files of one day, or one folder of days.
    pub paths: Vec<PathBuf>,
    /// The plant file; without one, `plant.toml` beside the record is used.
    pub plant: Option<PathBuf>,
}

/// Opens the window and returns when it is closed.
///
/// # Errors
/// [`Error::NoDisplay`] where no window can be opened, [`Error::Window`] where it fails later.
pub fn run(start: Start) -> Result<(), Error> {
    app::run(start, Surroundings::usual())
}
