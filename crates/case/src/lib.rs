//! The audited record, and what there is to say of it: every question that a front end may have is
//! answered here once, as plain data or as a sentence; the same on screen, on paper and in a file.
//!
//! Nothing is judged here; every figure comes from the audit. Wording and rounding are decided in
//! one place.

mod amounts;
mod case;
mod cleanings;
mod diverts;
mod entries;
mod error;
mod figure_columns;
mod figures;
mod json;
mod limits;
mod lines;
mod ordered;
mod product_day;
mod rows;
#[cfg(test)]
mod samples;
mod sentences;
mod table;
mod tank;
mod text;
mod verdict;
mod words;

pub use amounts::{change_flow, change_temperature, metered_amount, mixed, stated_amount};
pub use case::{Case, LeastResidence};
pub use cleanings::{followed, reservations, return_temperature, return_temperatures};
pub use diverts::{divert_cause, response, returned};
pub use entries::entry_check;
pub use error::Error;
pub use figure_columns::observation_kinds;
pub use figures::{
    about, amount, at_least, at_most, at_most_amount, at_most_volume, count, decimal_places,
    number, plain_volume, reading, recorded, signed, time_of_day, volume, volume_or_none,
};
pub use limits::{StatedLimit, beyond_lines, limit_words};
pub use product_day::{ProductDay, ProductName};
pub use sentences::{DisplayUnits, quantity, sentence};
pub use table::{Builder, Column, Table, harmless};
pub use words::{CAUTION, causes, durations, is_one_tank, lethality, named, plural, worst};

use trace::Lines;

impl Case {
    /// The report for a person.
    pub fn text(&self) -> Lines {
        text::render(self)
    }

    /// The report for a program; see `docs/file-formats.md` for the keys.
    ///
    /// # Errors
    /// When a figure can't be written as JSON; none that an audit holds.
    pub fn json(&self) -> Result<String, Error> {
        json::render(self)
    }

    /// What the report finds, as JSON: without the program, and without where and how the files
    /// were found. The SHA-256 of these bytes stands for the audit in a review journal.
    ///
    /// # Errors
    /// When a figure can't be written as JSON; none that an audit holds.
    pub fn result_json(&self) -> Result<String, Error> {
        json::render_result(self)
    }

    /// One row an exception, RFC 4180, formulas of spreadsheets made harmless.
    ///
    /// # Errors
    /// As [`Case::csv_with`].
    pub fn csv(&self) -> Result<String, Error> {
        self.csv_with(Table::new(self.plant.zone))
    }

    /// One row an observation, a column for each figure; else as [`Case::csv`].
    ///
    /// # Errors
    /// As [`Case::csv_with`].
    pub fn observations_csv(&self) -> Result<String, Error> {
        self.observations_csv_with(Table::new(self.plant.zone))
    }

    /// One row a divert; else as [`Case::csv`].
    ///
    /// # Errors
    /// As [`Case::csv_with`].
    pub fn diverts_csv(&self) -> Result<String, Error> {
        self.diverts_csv_with(Table::new(self.plant.zone))
    }
}
