//! One row an exception, or one row an observation, for a spreadsheet: RFC 4180, instants as in the
//! JSON, with columns of what was decided where they are given.

use crate::Case;
use crate::error::Error;
use crate::table::Column;
use std::collections::BTreeMap;

/// Columns beside those of the audit, blank for an exception that is not named.
#[derive(Debug, Clone, Default)]
pub struct MoreColumns {
    /// Their names.
    pub names: Vec<&'static str>,
    /// Their texts by the exception's id, as many as there are names.
    pub of: BTreeMap<String, Vec<String>>,
}

/// Columns beside those of the observations.
#[derive(Debug, Clone, Default)]
pub struct MoreCells {
    /// Their names.
    pub names: Vec<&'static str>,
    /// For each observation of the audit its texts, as many as there are names.
    pub rows: Vec<Vec<String>>,
}

pub(crate) fn render(case: &Case, more: &MoreColumns) -> Result<String, Error> {
    let mut table = case.exceptions_for_csv();
    for (place, &name) in more.names.iter().enumerate() {
        let text = |id: &String| more.of.get(id).and_then(|texts| texts.get(place)).cloned();
        let texts = case.audit.exceptions.iter().map(|one| text(&one.id)).collect();
        table = table.with(name, Column::Text(texts));
    }
    table.csv()
}

pub(crate) fn render_observations(case: &Case, more: &MoreCells) -> Result<String, Error> {
    let rows = case.audit.observations.len();
    let texts = |place: usize| {
        let text = |row: usize| more.rows.get(row).and_then(|texts| texts.get(place)).cloned();
        Column::Text((0..rows).map(text).collect())
    };
    let names = || more.names.iter().enumerate();
    case.observations_with(|table| {
        names().fold(table, |table, (place, &name)| table.with(name, texts(place)))
    })
    .csv()
}

#[cfg(test)]
mod tests {
    #[test]
    fn a_day_as_csv() {
        match crate::samples::eventful().csv() {
            Ok(text) => insta::assert_snapshot!(text),
            Err(error) => panic!("{error}"),
        }
    }

    #[test]
    fn the_observations_of_a_day_as_csv() {
        match crate::samples::eventful().observations_csv() {
            Ok(text) => insta::assert_snapshot!(text),
            Err(error) => panic!("{error}"),
        }
    }
}
