//! Exceptions and observations as tables: the one list of their columns, from which CSV, Parquet and, for
//! exceptions, JSON are written.

use crate::Case;
use crate::error::Error;
use crate::figure_columns::figure_columns;
use crate::ordered::Json;
use crate::sentences::{DisplayUnits, sentence};
use crate::table::{Builder, Column, Table};
use analysis::Exception;
use serde_json::Value;
use std::collections::HashMap;
use trace::Interval;

/// What a member of an exception in JSON is made of.
enum Member {
    /// A column.
    Cell(&'static str),
    /// The first word of a column that holds several.
    First(&'static str),
    /// An object of columns; null where there is nothing to say in any, or none to count.
    Object(&'static [(&'static str, &'static str)]),
}

impl Member {
    /// The columns that it is made of.
    fn columns(&self) -> Vec<&'static str> {
        match self {
            Self::Cell(name) | Self::First(name) => vec![name],
            Self::Object(parts) => parts.iter().map(|(_, name)| *name).collect(),
        }
    }
}

/// The members of an exception in JSON, in their order. The CSV has the same columns, side by side. Left away are the
/// samples, which count the rows of the record's own table, and the pasteurizer: the file of a day is of one.
const JSON: [(&str, Member); 28] = [
    ("id", Member::Cell("id")),
    ("rule", Member::Cell("rule")),
    ("causes", Member::Cell("causes")),
    ("positions", Member::Cell("positions")),
    ("unplaced", Member::Object(&[("rows", "unplaced_rows"), ("short", "unplaced_rows_short")])),
    ("start", Member::Cell("start")),
    ("end", Member::Cell("end")),
    ("observed_start", Member::Cell("observed_start")),
    ("observed_end", Member::Cell("observed_end")),
    ("outer_start", Member::Cell("outer_start")),
    ("outer_end", Member::Cell("outer_end")),
    ("duration_ms", Member::Cell("duration_ms")),
    ("observed_duration_ms", Member::Cell("observed_duration_ms")),
    ("outer_duration_ms", Member::Cell("outer_duration_ms")),
    (
        "worst",
        Member::Object(&[
            ("value", "worst_value"),
            ("limit", "worst_limit"),
            ("unit", "worst_unit"),
            ("at", "worst_at"),
        ]),
    ),
    ("shortfall", Member::Object(&[("value", "shortfall"), ("unit", "shortfall_unit")])),
    (
        "volume",
        Member::Object(&[
            ("value", "volume"),
            ("outer_value", "outer_volume"),
            ("unit", "volume_unit"),
            ("basis", "volume_basis"),
        ]),
    ),
    ("product", Member::First("product")),
    ("products", Member::Cell("product")),
    ("lot", Member::First("lot")),
    ("lots", Member::Cell("lot")),
    ("tanks", Member::Cell("tank")),
    ("shift", Member::Cell("shift")),
    ("mode", Member::Cell("mode")),
    ("within_response", Member::Cell("within_response")),
    ("outside_production", Member::Cell("outside_production")),
    ("cleaning", Member::Cell("cleaning")),
    ("episode", Member::Cell("episode")),
];

/// So many exceptions become JSON at once: of a hundred thousand there is never a second copy.
const AT_ONCE: usize = 256;

impl Case {
    /// A row an exception, in the audit's order. The columns are described in `docs/file-formats.md`.
    pub fn exceptions_table(&self) -> Table {
        self.table_of(&self.audit.exceptions)
    }

    /// An object an exception, of the same columns.
    pub(crate) fn exceptions_json(&self) -> Json<'_> {
        Json::Each(Box::new(move || {
            let some = self.audit.exceptions.chunks(AT_ONCE);
            Box::new(some.flat_map(move |some| objects(&self.table_of(some))))
        }))
    }

    fn table_of(&self, exceptions: &[Exception]) -> Table {
        let whole = |count: usize| Some(count as u64);
        Builder::of(exceptions, self.plant.zone)
            .text("id", |one| Some(one.id.clone()))
            .text("unit", |_| Some(self.record.unit().to_owned()))
            .text("rule", |one| Some(one.rule.key().to_owned()))
            .keys("causes", |one| one.causes.iter().map(|cause| cause.key()).collect())
            .keys("positions", |one| one.positions.iter().map(|at| at.name()).collect())
            .count("unplaced_rows", |one| Some(one.unplaced.rows))
            .count("unplaced_rows_short", |one| Some(one.unplaced.short))
            .count("first_sample", |one| whole(one.samples.0))
            .count("last_sample", |one| whole(one.samples.1))
            .interval(["start", "end", "duration_ms"], |one| one.estimate)
            .interval(["observed_start", "observed_end", "observed_duration_ms"], |one| {
                one.observed
            })
            .interval(["outer_start", "outer_end", "outer_duration_ms"], |one| one.outer)
            .decimal("worst_value", |one| Some(one.worst?.value))
            .number("worst_limit", |one| Some(one.worst?.limit))
            .text("worst_unit", |one| Some(one.worst?.unit.to_owned()))
            .at("worst_at", |one| Some(one.worst?.at))
            .number("shortfall", |one| Some(one.shortfall?.value))
            .text("shortfall_unit", |one| Some(one.shortfall?.unit.to_owned()))
            .number("volume", |one| one.volume.value)
            .number("outer_volume", |one| one.volume.outer_value)
            .text("volume_unit", |one| Some(one.volume.unit.symbol().to_owned()))
            .text("volume_basis", |one| Some(one.volume.basis.key().to_owned()))
            .words("product", |one| one.products.clone())
            .words("lot", |one| one.lots.clone())
            .words("tank", |one| one.tanks.clone())
            .text("shift", |one| one.shift.clone())
            .text("mode", |one| Some(one.mode.name().to_owned()))
            .truth("within_response", |one| one.within_response)
            .truth("outside_production", |one| one.outside_production)
            .count("cleaning", |one| one.cleaning.and_then(whole))
            .count("episode", |one| whole(one.episode))
            .done()
    }

    /// The same as CSV for a spreadsheet, with the columns of `more` behind, such as what was decided
    /// about each exception.
    ///
    /// # Errors
    /// When the text can't be put together; an audit gives no cause.
    pub fn csv_with(&self, more: Table) -> Result<String, Error> {
        let mut columns: Vec<_> = JSON.iter().flat_map(|(_, member)| member.columns()).collect();
        // The first word of a column stands beside the column.
        columns.dedup();
        self.exceptions_table().only(&columns).beside(more).csv()
    }

    /// A row an observation, in the audit's order: `kind`, `rank`, `start`, `end`, `count` (of the rows
    /// or samples that it speaks of), `file` and `line`, `message`, and a column for each figure that
    /// any kind of observation may carry, with its unit in its name: `figure_limit_degf`.
    pub fn observations_table(&self) -> Table {
        self.observations_with(Table::new(self.plant.zone))
    }

    /// The same as CSV, with the columns of `more` before the figures, such as how each was closed.
    ///
    /// # Errors
    /// As [`Case::csv_with`].
    pub fn observations_csv_with(&self, more: Table) -> Result<String, Error> {
        self.observations_with(more).csv()
    }

    fn observations_with(&self, more: Table) -> Table {
        let (all, zone) = (&self.audit.observations, self.plant.zone);
        let table = Builder::of(all, zone)
            .text("kind", |one| Some(one.kind.key().to_owned()))
            .text("rank", |one| Some(one.kind.rank().key().to_owned()))
            .at("start", |one| one.interval.map(Interval::start))
            .at("end", |one| one.interval.map(Interval::end))
            .count("count", |one| Some(one.count))
            .text("file", |one| Some(one.position.as_ref()?.file.to_string()))
            .count("line", |one| Some(one.position.as_ref()?.line))
            .text("message", |one| Some(sentence(one, zone, DisplayUnits::FILED)))
            .done();
        let figures = figure_columns(&self.record, all).into_iter();
        figures.fold(table.beside(more), |table, (name, column)| table.with(name, column))
    }
}

impl Builder<'_, Exception> {
    /// The ends of an interval, and how long it is.
    fn interval(self, names: [&'static str; 3], of: fn(&Exception) -> Interval) -> Self {
        let [start, end, duration] = names;
        self.at(start, move |one| Some(of(one).start()))
            .at(end, move |one| Some(of(one).end()))
            .time(duration, move |one| Some(of(one).duration()))
    }
}

/// The rows of a table of exceptions as objects.
fn objects<'a>(table: &Table) -> Vec<Json<'a>> {
    let columns: HashMap<&str, &Column> =
        table.columns().iter().map(|(name, column)| (&**name, column)).collect();
    let cell = |name: &str, row: usize| {
        columns.get(name).map_or(Value::Null, |column| column.value(row, table.zone()))
    };
    let member = |made_of: &Member, row: usize| match made_of {
        Member::Cell(name) => Json::Cell(cell(name, row)),
        Member::First(name) => Json::Cell(cell(name, row).get(0).cloned().unwrap_or_default()),
        Member::Object(parts) => {
            let cells: Vec<_> = parts.iter().map(|(key, name)| (*key, cell(name, row))).collect();
            if cells.iter().all(|(_, value)| value.is_null() || *value == 0) {
                Json::Null
            } else {
                Json::Object(cells.into_iter().map(|(key, cell)| (key, Json::Cell(cell))).collect())
            }
        }
    };
    let object = |row| Json::Object(JSON.iter().map(|(key, of)| (*key, member(of, row))).collect());
    (0..table.rows()).map(object).collect()
}

#[cfg(test)]
mod tests {
    use super::JSON;
    use crate::samples::eventful;

    #[test]
    fn every_column_that_is_written_is_there() {
        let table = eventful().exceptions_table();
        for name in JSON.iter().flat_map(|(_, member)| member.columns()) {
            assert!(table.columns().iter().any(|(known, _)| known == name), "{name}");
        }
    }

    #[test]
    fn a_day_as_csv() {
        match eventful().csv() {
            Ok(text) => insta::assert_snapshot!(text),
            Err(error) => panic!("{error}"),
        }
    }

    #[test]
    fn the_observations_of_a_day_as_csv() {
        match eventful().observations_csv() {
            Ok(text) => insta::assert_snapshot!(text),
            Err(error) => panic!("{error}"),
        }
    }
}
