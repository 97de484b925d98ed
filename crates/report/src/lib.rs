//! One audit in words and figures: for a person as text, for a program as JSON, for a
//! spreadsheet as CSV, and the sentences that the window shows as well.
//!
//! Nothing is judged here; every figure comes from the audit. Wording and rounding are decided in
//! one place, so that screen and paper say the same.

mod axis;
mod csv;
mod error;
mod figure_columns;
mod figures;
mod json;
mod limits;
#[cfg(test)]
mod samples;
mod sentences;
mod text;
mod verdict;
mod words;

pub use axis::{Scale, Tick, time_ticks};
pub use csv::{MoreCells, MoreColumns, harmless};
pub use error::Error;
pub use figure_columns::{FigureCells, FigureColumn, figure_columns, observation_kinds};
pub use figures::{at_most_volume, decimal_places, volume};
pub use json::observation_without_folders;
pub use limits::{StatedLimit, beyond_lines, limit_words, stated_limits};
pub use sentences::{DisplayUnits, quantity, sentence};
pub use text::{cleaning_line, episode_line, margin_lines, observed, passage_line, process_lines};
pub use verdict::{hold_lines, to_hold, unnamed_interval, verdict, worth_limits};
pub use words::{
    CAUTION, causes, durations, explain, least_residence, lethality, plural, rule_code, worst,
};

use analysis::Audit;
use plant::Plant;
use trace::{Lines, RunRecord};

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

    /// One row an observation, a column for each figure; else as [`Report::csv`].
    ///
    /// # Errors
    /// As [`Report::csv`].
    pub fn observations_csv(&self) -> Result<String, Error> {
        self.observations_csv_with(&MoreCells::default())
    }

    /// The same with more columns, such as how each was closed.
    ///
    /// # Errors
    /// As [`Report::csv`].
    pub fn observations_csv_with(&self, more: &MoreCells) -> Result<String, Error> {
        csv::render_observations(self, more)
    }
}
