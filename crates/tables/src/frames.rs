//! Tables of a case or of many days as data frames.

use crate::error::Error;
use crate::record::instants;
use case::{Column as Values, Table};
use polars::prelude::{Column, DataFrame};
use trace::{Decimal, Duration};

/// A table as a data frame, column for column; what is not known is null. Points in time are
/// milliseconds with the zone UTC, lengths of time milliseconds.
///
/// # Errors
/// When the columns make no data frame.
pub fn table_frame(table: &Table) -> Result<DataFrame, Error> {
    let columns = table.columns().iter().map(|(name, values)| {
        let (text, name) = (name, (&**name).into());
        match values {
            Values::Text(values) => Column::new(name, values),
            Values::Words(values) => Column::new(name, texts(values, Values::joined)),
            Values::Keys(values) => {
                Column::new(name, texts(values, |keys| Some(Values::joined_keys(keys))))
            }
            Values::Integer(values) => Column::new(name, values),
            Values::Count(values) => Column::new(name, values),
            Values::Number(values) => Column::new(name, values),
            Values::Decimal(values) => Column::new(name, each(values, Decimal::to_f64)),
            Values::Truth(values) => Column::new(name, values),
            Values::Time(values) => Column::new(name, each(values, Duration::milliseconds)),
            Values::At(values) => instants(text, values.iter().copied()),
        }
    });
    DataFrame::new(table.rows(), columns.collect()).map_err(Error::Frame)
}

fn each<T: Copy, V>(cells: &[Option<T>], of: fn(T) -> V) -> Vec<Option<V>> {
    cells.iter().map(|cell| cell.map(of)).collect()
}

fn texts<T>(cells: &[Vec<T>], of: fn(&[T]) -> Option<String>) -> Vec<Option<String>> {
    cells.iter().map(|cell| of(cell)).collect()
}
