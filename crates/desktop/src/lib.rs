//! The window of Holdtrace: verdict, plots, list of exceptions.
//!
//! A front end decides nothing about milk: verdicts, their wording and their figures come from
//! `analysis` and `report`. What is here decides how they look, where they stand and which key
//! leads to them. [`App`] can be driven without a window, which is how its tests work.

mod action;
mod app;
mod clock;
mod commands;
mod compare;
mod day;
mod dialogs;
mod empty;
mod error;
mod exceptions;
mod header;
mod help;
mod job;
mod keyboard;
mod loading;
mod observations;
mod opener;
mod palette;
mod path_field;
mod plant;
mod problem;
mod problems;
mod register;
mod review;
mod run;
mod settings;
mod setup;
mod side;
mod summary;
mod surroundings;
mod table;
mod tanks;
mod task;
mod terms;
pub mod theme;
mod units;
mod why;

pub use app::App;
pub use clock::{Clock, DiskClock};
pub use commands::Command;
pub use dialogs::{Chooser, Purpose, Suggestion};
pub use error::Error;
pub use opener::{Opener, What};
pub use register::format::RangeFormat;
pub use settings::{Brightness, Settings};
pub use surroundings::{Start, Surroundings};

/// Opens the window and returns when it is closed.
///
/// # Errors
/// [`Error::NoDisplay`] where no window can be opened, [`Error::Window`] where it fails later.
pub fn run(start: Start) -> Result<(), Error> {
    app::run(start, Surroundings::usual())
}
