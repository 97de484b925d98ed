//! A table of columns with types. CSV, JSON and Parquet are written from the same table, so they
//! hold the same.

use crate::error::Error;
use case::harmless;
use serde_json::{Map, Value};

/// One column, an element a row.
#[derive(Debug, Clone, PartialEq)]
pub enum Column {
    /// Words; `None` where there is nothing to say.
    Text(Vec<Option<String>>),
    /// Whole numbers.
    Integer(Vec<Option<i64>>),
    /// Numbers.
    Number(Vec<Option<f64>>),
    /// Yes or no.
    Truth(Vec<bool>),
}

/// A table.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Table {
    columns: Vec<(&'static str, Column)>,
}

impl Table {
    /// The columns with their names, in order; all have as many elements.
    pub fn columns(&self) -> &[(&'static str, Column)] {
        &self.columns
    }

    /// How many rows there are.
    pub fn rows(&self) -> usize {
        self.columns.first().map_or(0, |(_, column)| match column {
            Column::Text(column) => column.len(),
            Column::Integer(column) => column.len(),
            Column::Number(column) => column.len(),
            Column::Truth(column) => column.len(),
        })
    }

    /// The rows as CSV by RFC 4180: blank for nothing, and texts such that no spreadsheet takes
    /// them for a formula.
    ///
    /// # Errors
    /// When the writer refuses; it has no reason to.
    pub fn csv(&self) -> Result<String, Error> {
        let failed = |cause: &dyn std::fmt::Display| Error::Csv(cause.to_string());
        let mut writer =
            csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
        let names = self.columns.iter().map(|(name, _)| name);
        writer.write_record(names).map_err(|cause| failed(&cause))?;
        for row in 0..self.rows() {
            let cells = self.columns.iter().map(|(_, column)| match column {
                Column::Text(column) => {
                    column[row].as_deref().map(|text| harmless(text).into_owned())
                }
                Column::Integer(column) => column[row].map(|number| number.to_string()),
                Column::Number(column) => column[row].map(|number| number.to_string()),
                Column::Truth(column) => Some(column[row].to_string()),
            });
            writer
                .write_record(cells.map(Option::unwrap_or_default))
                .map_err(|cause| failed(&cause))?;
        }
        let bytes = writer.into_inner().map_err(|cause| failed(&cause))?;
        String::from_utf8(bytes).map_err(|cause| failed(&cause))
    }

    /// The rows as JSON objects; null for nothing.
    pub fn json(&self) -> Vec<Value> {
        let row = |row: usize| {
            let cells = self.columns.iter().map(|(name, column)| {
                let value = match column {
                    Column::Text(column) => column[row].clone().into(),
                    Column::Integer(column) => column[row].into(),
                    Column::Number(column) => column[row].into(),
                    Column::Truth(column) => column[row].into(),
                };
                ((*name).to_owned(), value)
            });
            Value::Object(cells.collect::<Map<_, _>>())
        };
        (0..self.rows()).map(row).collect()
    }

    /// The rows for which `which` holds of the texts of the named column.
    pub fn rows_where(&self, name: &str, which: impl Fn(&str) -> bool) -> Self {
        let texts = self.columns.iter().find_map(|(known, column)| match column {
            Column::Text(texts) if *known == name => Some(texts),
            _ => None,
        });
        let keep: Vec<bool> = texts
            .map(|texts| texts.iter().map(|text| which(text.as_deref().unwrap_or(""))).collect())
            .unwrap_or_default();
        let columns = self.columns.iter().map(|(name, column)| {
            let column = match column {
                Column::Text(values) => Column::Text(kept(values, &keep)),
                Column::Integer(values) => Column::Integer(kept(values, &keep)),
                Column::Number(values) => Column::Number(kept(values, &keep)),
                Column::Truth(values) => Column::Truth(kept(values, &keep)),
            };
            (*name, column)
        });
        Self { columns: columns.collect() }
    }
}

/// The values that are to be kept.
fn kept<T: Clone>(values: &[T], keep: &[bool]) -> Vec<T> {
    let kept = values.iter().zip(keep).filter(|(_, keep)| **keep);
    kept.map(|(value, _)| value.clone()).collect()
}

/// Builds a table row by row from functions of a row, a column each.
pub(crate) struct Builder<'a, R> {
    rows: &'a [R],
    table: Table,
}

impl<'a, R> Builder<'a, R> {
    pub(crate) const fn of(rows: &'a [R]) -> Self {
        Self { rows, table: Table { columns: Vec::new() } }
    }

    pub(crate) fn text(mut self, name: &'static str, of: impl Fn(&R) -> Option<String>) -> Self {
        self.table.columns.push((name, Column::Text(self.rows.iter().map(of).collect())));
        self
    }

    pub(crate) fn integer(mut self, name: &'static str, of: impl Fn(&R) -> Option<i64>) -> Self {
        self.table.columns.push((name, Column::Integer(self.rows.iter().map(of).collect())));
        self
    }

    pub(crate) fn number(mut self, name: &'static str, of: impl Fn(&R) -> Option<f64>) -> Self {
        self.table.columns.push((name, Column::Number(self.rows.iter().map(of).collect())));
        self
    }

    pub(crate) fn truth(mut self, name: &'static str, of: impl Fn(&R) -> bool) -> Self {
        self.table.columns.push((name, Column::Truth(self.rows.iter().map(of).collect())));
        self
    }

    pub(crate) fn done(self) -> Table {
        self.table
    }
}
