//! A table of columns with types. CSV, JSON and Parquet are written from the same table, so they
//! hold the same.

use crate::error::Error;
use plant::Zone;
use serde_json::{Map, Value};
use std::borrow::Cow;
use trace::{Decimal, Duration, Instant, visible};

/// One column, an element a row; `None` where there is nothing to say.
#[derive(Debug, Clone, PartialEq)]
pub enum Column {
    /// Words.
    Text(Vec<Option<String>>),
    /// Several words in a cell, such as the lots that an exception touches.
    Words(Vec<Vec<String>>),
    /// Several keys of this program in a cell.
    Keys(Vec<Vec<&'static str>>),
    /// Whole numbers.
    Integer(Vec<Option<i64>>),
    /// How many, and places.
    Count(Vec<Option<u64>>),
    /// Numbers.
    Number(Vec<Option<f64>>),
    /// Figures as they were recorded.
    Decimal(Vec<Option<Decimal>>),
    /// Yes or no.
    Truth(Vec<bool>),
    /// Lengths of time, told in milliseconds.
    Time(Vec<Option<Duration>>),
    /// Points in time.
    At(Vec<Option<Instant>>),
}

/// What is done with the cells of a column of any type.
macro_rules! cells {
    ($column:expr, $cells:ident => $done:expr) => {
        match $column {
            Column::Text($cells) => $done,
            Column::Words($cells) => $done,
            Column::Keys($cells) => $done,
            Column::Integer($cells) => $done,
            Column::Count($cells) => $done,
            Column::Number($cells) => $done,
            Column::Decimal($cells) => $done,
            Column::Truth($cells) => $done,
            Column::Time($cells) => $done,
            Column::At($cells) => $done,
        }
    };
}

impl Column {
    fn len(&self) -> usize {
        cells!(self, cells => cells.len())
    }

    /// Several words as one text; `None` for none.
    pub fn joined(words: &[String]) -> Option<String> {
        (!words.is_empty()).then(|| words.join(" + "))
    }

    /// Several keys as one text.
    pub fn joined_keys(keys: &[&str]) -> String {
        keys.join("+")
    }

    /// The rows that are to be kept.
    fn kept(&self, keep: &[bool]) -> Self {
        let mut column = self.clone();
        cells!(&mut column, cells => {
            let mut keep = keep.iter();
            cells.retain(|_| keep.next() == Some(&true));
        });
        column
    }

    /// A cell in a text; blank where there is nothing to say.
    fn text(&self, row: usize, zone: Zone) -> String {
        match self {
            Self::Text(cells) => {
                cells[row].as_deref().map(harmless).unwrap_or_default().into_owned()
            }
            Self::Words(cells) => {
                let text = Self::joined(&cells[row]).unwrap_or_default();
                harmless(&text).into_owned()
            }
            Self::Keys(cells) => Self::joined_keys(&cells[row]),
            Self::Integer(cells) => words(cells[row], |number| number.to_string()),
            Self::Count(cells) => words(cells[row], |number| number.to_string()),
            Self::Number(cells) => words(cells[row], |number| number.to_string()),
            Self::Decimal(cells) => words(cells[row], |figure| figure.to_string()),
            Self::Truth(cells) => cells[row].to_string(),
            Self::Time(cells) => words(cells[row], |time| time.milliseconds().to_string()),
            Self::At(cells) => words(cells[row], |at| zone.rfc3339(at)),
        }
    }

    /// A cell of a JSON object; null where there is nothing to say.
    pub(crate) fn value(&self, row: usize, zone: Zone) -> Value {
        match self {
            Self::Text(cells) => cells[row].clone().into(),
            Self::Words(cells) => cells[row].clone().into(),
            Self::Keys(cells) => cells[row].clone().into(),
            Self::Integer(cells) => cells[row].into(),
            Self::Count(cells) => cells[row].into(),
            Self::Number(cells) => cells[row].into(),
            Self::Decimal(cells) => cells[row].map(Decimal::to_f64).into(),
            Self::Truth(cells) => cells[row].into(),
            Self::Time(cells) => cells[row].map(Duration::milliseconds).into(),
            Self::At(cells) => cells[row].map(|at| zone.rfc3339(at)).into(),
        }
    }
}

fn words<T>(cell: Option<T>, words: impl Fn(T) -> String) -> String {
    cell.map(words).unwrap_or_default()
}

/// A table.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    zone: Zone,
    columns: Vec<(Cow<'static, str>, Column)>,
}

impl Table {
    /// A table without columns; points in time are told on the clock of `zone`.
    pub const fn new(zone: Zone) -> Self {
        Self { zone, columns: Vec::new() }
    }

    /// The zone on whose clock points in time are told.
    pub(crate) const fn zone(&self) -> Zone {
        self.zone
    }

    /// The columns with their names, in order; all have as many elements.
    pub fn columns(&self) -> &[(Cow<'static, str>, Column)] {
        &self.columns
    }

    /// The table with one column more.
    #[must_use]
    pub fn with(mut self, name: impl Into<Cow<'static, str>>, column: Column) -> Self {
        self.columns.push((name.into(), column));
        self
    }

    /// The table with the columns of another one behind its own; both have as many rows.
    #[must_use]
    pub fn beside(mut self, other: Self) -> Self {
        self.columns.extend(other.columns);
        self
    }

    /// The named columns, in the order of the names.
    #[must_use]
    pub fn only(mut self, names: &[&str]) -> Self {
        let named = |name: &&str| {
            let place = self.columns.iter().position(|(known, _)| known == name)?;
            Some(self.columns.swap_remove(place))
        };
        Self { zone: self.zone, columns: names.iter().filter_map(named).collect() }
    }

    /// How many rows there are.
    pub fn rows(&self) -> usize {
        self.columns.first().map_or(0, |(_, column)| column.len())
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
        let names = self.columns.iter().map(|(name, _)| &**name);
        writer.write_record(names).map_err(|cause| failed(&cause))?;
        for row in 0..self.rows() {
            let cells = self.columns.iter().map(|(_, column)| column.text(row, self.zone));
            writer.write_record(cells).map_err(|cause| failed(&cause))?;
        }
        let bytes = writer.into_inner().map_err(|cause| failed(&cause))?;
        String::from_utf8(bytes).map_err(|cause| failed(&cause))
    }

    /// The rows as JSON objects; null for nothing.
    pub fn json(&self) -> Vec<Value> {
        let row = |row: usize| {
            let cells = self.columns.iter();
            let cells = cells.map(|(name, one)| (name.to_string(), one.value(row, self.zone)));
            Value::Object(cells.collect::<Map<_, _>>())
        };
        (0..self.rows()).map(row).collect()
    }

    /// The rows for which `which` holds of the texts of the named column.
    #[must_use]
    pub fn rows_where(&self, name: &str, which: impl Fn(&str) -> bool) -> Self {
        let texts = self.columns.iter().find_map(|(known, column)| match column {
            Column::Text(texts) if known == name => Some(texts),
            _ => None,
        });
        let keep: Vec<bool> = texts
            .map(|texts| texts.iter().map(|text| which(text.as_deref().unwrap_or(""))).collect())
            .unwrap_or_default();
        let columns = self.columns.iter().map(|(name, one)| (name.clone(), one.kept(&keep)));
        Self { zone: self.zone, columns: columns.collect() }
    }
}

/// A text of the record as a cell that harms neither a spreadsheet nor a terminal: what begins with
/// one of `= + - @` gets an apostrophe before it, so that it is not taken for a formula, and what is
/// not seen or would end the line is shown as [`visible`] does. The JSON has every text as it is.
pub fn harmless(text: &str) -> Cow<'_, str> {
    let shown = visible(text);
    if shown.starts_with(['=', '+', '-', '@']) { Cow::Owned(format!("'{shown}")) } else { shown }
}

/// Builds a table from functions of a row, a column each.
pub struct Builder<'a, R> {
    rows: &'a [R],
    table: Table,
}

/// A column of a type, by a function of a row.
macro_rules! column {
    ($(#[$doc:meta] $name:ident $variant:ident $type:ty,)*) => {
        $(
            #[$doc]
            #[must_use]
            pub fn $name(mut self, name: &'static str, of: impl Fn(&R) -> $type) -> Self {
                let column = Column::$variant(self.rows.iter().map(of).collect());
                self.table = self.table.with(name, column);
                self
            }
        )*
    };
}

impl<'a, R> Builder<'a, R> {
    /// A table of these rows; points in time are told on the clock of `zone`.
    pub const fn of(rows: &'a [R], zone: Zone) -> Self {
        Self { rows, table: Table::new(zone) }
    }

    column! {
        /// A column of words.
        text Text Option<String>,
        /// A column with several words in a cell.
        words Words Vec<String>,
        /// A column with several keys in a cell.
        keys Keys Vec<&'static str>,
        /// A column of whole numbers.
        integer Integer Option<i64>,
        /// A column of counts.
        count Count Option<u64>,
        /// A column of numbers.
        number Number Option<f64>,
        /// A column of figures as they were recorded.
        decimal Decimal Option<Decimal>,
        /// A column of yes and no.
        truth Truth bool,
        /// A column of lengths of time.
        time Time Option<Duration>,
        /// A column of points in time.
        at At Option<Instant>,
    }

    /// The table.
    pub fn done(self) -> Table {
        self.table
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn formulas_are_made_harmless() {
        for (text, written) in [
            ("=1+1", "'=1+1"),
            ("@SUM(A1)", "'@SUM(A1)"),
            ("-2", "'-2"),
            ("\t=x", "\\u{9}=x"),
            ("two\nlines", "two\\u{a}lines"),
            ("whole milk", "whole milk"),
            ("", ""),
        ] {
            assert_eq!(harmless(text), written, "{text:?}");
        }
    }
}
