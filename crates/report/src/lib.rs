//! One audit in words and figures: for a person as text, for a program as JSON, for a
//! spreadsheet as CSV, and the sentences that the window shows as well.
//!
//! Nothing is judged here; every figure comes from the audit. Wording and rounding are decided in
//! one place, so that screen and paper say the same.

mod axis;
mod csv;
mod error;
mod figures;
mod json;
mod text;
mod words;

pub use axis::{Scale, Tick, time_ticks};
pub use csv::{MoreColumns, harmless};
pub use error::Error;
pub use figures::{at_most_volume, decimal_places, volume};
pub use text::{margin_lines, observed, process_lines};
pub use words::{
    CAUTION, durations, explain, least_residence, lethality, plural, rule_code, verdict, worst,
};

use analysis::Audit;
use plant::Plant;
use trace::RunRecord;

/// What a report speaks of.
#[derive(Debug, Clone, Copy)]
pub struct Report<'a> {
    /// The record that was audited.
    pub record: &'a RunRecord,
    /// The plant that it was audited against.
    pub plant: &'a Plant,
    /// What was found.
    pub audit: &'a Audit,
    /// What was assumed while reading, in sentences.
    pub assumptions: &'a [String],
}

impl Report<'_> {
    /// The report for a person.
    pub fn text(&self) -> String {
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

    /// The names of the files that the record was read from, as they were given.
    fn source_names(&self) -> Vec<&str> {
        let sheet = self.record.run_sheet().map(|sheet| &*sheet.source().name);
        self.record.sources().iter().map(|source| &*source.name).chain(sheet).collect()
    }

    /// One row an exception, RFC 4180, formulas of spreadsheets made harmless.
    ///
    /// # Errors
    /// When the text can't be put together; an audit gives no cause.
    pub fn csv(&self) -> Result<String, Error> {
        self.csv_with(&MoreColumns::default())
    }

    /// The same with more columns, such as what was decided about each exception.
    ///
    /// # Errors
    /// As [`Report::csv`].
    pub fn csv_with(&self, more: &MoreColumns) -> Result<String, Error> {
        csv::render(self, more)
    }
}
