//! The files of a record as they are seen: those of one logger, or of several whose columns complement each
//! other. The columns of all stand in one list, logger by logger.

use ingest::sheet::{Sheet, SheetColumn};
use std::ops::Range;

/// The files of a record as they are seen.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheets {
    /// The columns of all loggers.
    pub columns: Vec<SheetColumn>,
    /// The loggers; one where all files have the same columns.
    pub loggers: Vec<SeenLogger>,
}

/// The files of one logger as they are seen.
#[derive(Debug, Clone, PartialEq)]
pub struct SeenLogger {
    /// The first of its files; its columns are among those of all.
    pub sheet: Sheet,
    /// The names of its files as they were given.
    pub files: Vec<String>,
    /// The places of its columns among those of all.
    pub columns: Range<usize>,
}

impl Sheets {
    /// One logger with one file.
    pub fn of(mut sheet: Sheet) -> Self {
        let columns = std::mem::take(&mut sheet.columns);
        let files = vec![sheet.file.clone()];
        let logger = SeenLogger { sheet, files, columns: 0..columns.len() };
        Self { columns, loggers: vec![logger] }
    }

    /// These with the loggers of others behind them.
    pub(crate) fn with(mut self, others: Self) -> Self {
        let before = self.columns.len();
        self.columns.extend(others.columns);
        let moved = others.loggers.into_iter().map(|one| SeenLogger {
            columns: before + one.columns.start..before + one.columns.end,
            ..one
        });
        self.loggers.extend(moved);
        self
    }

    /// Whether there are several loggers.
    pub const fn are_several(&self) -> bool {
        self.loggers.len() > 1
    }

    /// Whose column it is.
    pub fn logger_of(&self, column: usize) -> usize {
        self.loggers.iter().position(|one| one.columns.contains(&column)).unwrap_or(0)
    }

    /// The columns of a logger, with their places among all.
    pub fn columns_of(&self, logger: usize) -> impl Iterator<Item = (usize, &SheetColumn)> {
        let places = self.loggers.get(logger).map_or(0..0, |one| one.columns.clone());
        self.columns.iter().enumerate().skip(places.start).take(places.len())
    }

    /// How many rows the file of a column has.
    pub fn rows_of(&self, column: usize) -> u64 {
        self.loggers.get(self.logger_of(column)).map_or(0, |one| one.sheet.rows)
    }

    /// The first rows of a column's file, with their lines, and its place in them.
    pub fn first_cells_of(&self, column: usize) -> impl Iterator<Item = (u64, &str)> {
        let logger = self.loggers.get(self.logger_of(column));
        let place = logger.map_or(0, |one| column.saturating_sub(one.columns.start));
        let rows = logger.into_iter().flat_map(|one| &one.sheet.first_rows);
        rows.filter_map(move |(line, cells)| Some((*line, cells.get(place)?.as_str())))
    }

    /// The first file.
    pub(crate) fn file(&self) -> String {
        self.loggers.first().map_or_else(String::new, |one| one.sheet.file.clone())
    }

    /// Whether a column could be anything that an audit reads.
    pub(crate) fn has_any(&self) -> bool {
        self.columns.iter().any(|column| {
            column.stamp.is_none()
                && (column.is_numeric() || column.suggested.is_some() || !column.more_words)
                && !column.words.is_empty()
        })
    }
}
