//! An audit's observations as a data frame.

use crate::error::Error;
use crate::record::instants;
use case::{Case, DisplayUnits, FigureCells, FigureColumn, figure_columns, sentence};
use polars::prelude::{Column, DataFrame};
use trace::{Decimal, Duration, Interval};

/// The observations of an audit, a row each, in the audit's order: those to close before those to
/// note.
///
/// Columns: `kind`, `rank` (`close`, `note`), `start` and `end`, `count` (how many rows or samples it
/// speaks of), `file` and `line`, `message`, whose times are on the plant's clock, and a column for
/// each figure that any kind of observation may carry, with its unit in its name:
/// `figure_limit_degf`. What is not known is null.
///
/// # Errors
/// When the columns make no data frame.
pub fn observations_frame(case: &Case) -> Result<DataFrame, Error> {
    let (all, zone) = (&case.audit().observations, case.plant().zone);
    let mut columns = vec![
        Column::new("kind".into(), all.iter().map(|one| one.kind.key()).collect::<Vec<_>>()),
        Column::new("rank".into(), all.iter().map(|one| one.kind.rank().key()).collect::<Vec<_>>()),
        instants("start", all.iter().map(|one| one.interval.map(Interval::start))),
        instants("end", all.iter().map(|one| one.interval.map(Interval::end))),
        Column::new("count".into(), all.iter().map(|one| one.count).collect::<Vec<_>>()),
        Column::new(
            "file".into(),
            all.iter()
                .map(|one| one.position.as_ref().map(|position| position.file.to_string()))
                .collect::<Vec<_>>(),
        ),
        Column::new(
            "line".into(),
            all.iter()
                .map(|one| one.position.as_ref().map(|position| position.line))
                .collect::<Vec<_>>(),
        ),
        Column::new(
            "message".into(),
            all.iter().map(|one| sentence(one, zone, DisplayUnits::RECORDED)).collect::<Vec<_>>(),
        ),
    ];
    columns.extend(figure_columns(case.record(), all).into_iter().map(figures));
    DataFrame::new(all.len(), columns).map_err(Error::Frame)
}

fn figures(column: FigureColumn) -> Column {
    let name = column.name;
    match column.cells {
        FigureCells::Number(cells) => {
            Column::new(name.into(), each(&cells, |figure| Decimal::to_f64(*figure)))
        }
        FigureCells::Whole(cells) => Column::new(name.into(), cells),
        FigureCells::Time(cells) => {
            Column::new(name.into(), each(&cells, |time| Duration::milliseconds(*time)))
        }
        FigureCells::At(cells) => instants(&name, cells.into_iter()),
        FigureCells::Text(cells) => Column::new(name.into(), cells),
    }
}

fn each<T, V>(cells: &[Option<T>], of: impl Fn(&T) -> V) -> Vec<Option<V>> {
    cells.iter().map(|cell| cell.as_ref().map(&of)).collect()
}
