//! Exceptions and observations as tables: the one list of their columns, from which CSV and Parquet are
//! written.

use crate::Case;
use crate::error::Error;
use crate::figure_columns::figure_columns;
use crate::sentences::{DisplayUnits, sentence};
use crate::table::{Builder, Table};
use analysis::Exception;
use trace::Interval;

/// The columns of the CSV, in its order. The samples count the rows of the record's own table, which no
/// spreadsheet has, and the file of a day is of one pasteurizer.
const CSV: [&str; 34] = [
    "id",
    "rule",
    "causes",
    "positions",
    "unplaced_rows",
    "unplaced_rows_short",
    "start",
    "end",
    "observed_start",
    "observed_end",
    "outer_start",
    "outer_end",
    "duration_ms",
    "observed_duration_ms",
    "outer_duration_ms",
    "worst_value",
    "worst_limit",
    "worst_unit",
    "worst_at",
    "shortfall",
    "shortfall_unit",
    "volume",
    "outer_volume",
    "volume_unit",
    "volume_basis",
    "product",
    "lot",
    "tank",
    "shift",
    "mode",
    "within_response",
    "outside_production",
    "cleaning",
    "episode",
];

impl Case {
    /// A row an exception, in the audit's order. The columns are described in `docs/file-formats.md`.
    pub fn exceptions_table(&self) -> Table {
        let whole = |count: usize| Some(count as u64);
        Builder::of(&self.audit.exceptions, self.plant.zone)
            .text("id", |one| Some(one.id.clone()))
            .text("unit", |_| Some(self.record.unit().to_owned()))
            .text("rule", |one| Some(one.rule.key().to_owned()))
            .text("causes", |one| Some(keys(one.causes.iter().map(|cause| cause.key()))))
            .text("positions", |one| Some(keys(one.positions.iter().map(|at| at.name()))))
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
            .text("product", |one| joined(&one.products))
            .text("lot", |one| joined(&one.lots))
            .text("tank", |one| joined(&one.tanks))
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
        self.exceptions_table().only(&CSV).beside(more).csv()
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

/// Keys of one cell.
fn keys(keys: impl Iterator<Item = &'static str>) -> String {
    keys.collect::<Vec<_>>().join("+")
}

/// Words of one cell.
fn joined(words: &[String]) -> Option<String> {
    (!words.is_empty()).then(|| words.join(" + "))
}

#[cfg(test)]
mod tests {
    use crate::samples::eventful;

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
