//! One row an exception, or one row an observation, for a spreadsheet: RFC 4180, instants as in the
//! JSON.

use crate::Case;
use crate::error::Error;
use crate::figure_columns::{FigureCells, figure_columns};
use crate::sentences::{DisplayUnits, sentence};
use std::borrow::Cow;
use std::collections::BTreeMap;
use trace::{Interval, visible};

const HEADER: [&str; 34] = [
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

/// A text of the record as a cell that harms neither a spreadsheet nor a terminal: what begins with
/// one of `= + - @` gets an apostrophe before it, so that it is not taken for a formula, and what is
/// not seen or would end the line is shown as [`visible`] does. The JSON has every text as it is.
pub fn harmless(text: &str) -> Cow<'_, str> {
    let shown = visible(text);
    if shown.starts_with(['=', '+', '-', '@']) { Cow::Owned(format!("'{shown}")) } else { shown }
}

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

/// Keys of one cell.
fn joined(keys: impl Iterator<Item = &'static str>) -> String {
    keys.collect::<Vec<_>>().join("+")
}

pub(crate) fn render(case: &Case, more: &MoreColumns) -> Result<String, Error> {
    let zone = case.plant.zone;
    let mut writer = writer();
    writer.write_record(HEADER.iter().chain(&more.names)).map_err(failed)?;
    for one in &case.audit.exceptions {
        let worst = one.worst.as_ref();
        let number = |value: Option<f64>| value.map(|value| value.to_string()).unwrap_or_default();
        let texts = |words: &[String]| harmless(&words.join(" + ")).into_owned();
        let row: [String; HEADER.len()] = [
            one.id.clone(),
            one.rule.key().to_owned(),
            joined(one.causes.iter().map(|cause| cause.key())),
            joined(one.positions.iter().map(|position| position.name())),
            one.unplaced.rows.to_string(),
            one.unplaced.short.to_string(),
            zone.rfc3339(one.estimate.start()),
            zone.rfc3339(one.estimate.end()),
            zone.rfc3339(one.observed.start()),
            zone.rfc3339(one.observed.end()),
            zone.rfc3339(one.outer.start()),
            zone.rfc3339(one.outer.end()),
            one.estimate.duration().milliseconds().to_string(),
            one.observed.duration().milliseconds().to_string(),
            one.outer.duration().milliseconds().to_string(),
            worst.map(|worst| worst.value.to_string()).unwrap_or_default(),
            number(worst.map(|worst| worst.limit)),
            worst.map(|worst| worst.unit.to_owned()).unwrap_or_default(),
            worst.map(|worst| zone.rfc3339(worst.at)).unwrap_or_default(),
            number(one.shortfall.map(|shortfall| shortfall.value)),
            one.shortfall.map(|shortfall| shortfall.unit.to_owned()).unwrap_or_default(),
            number(one.volume.value),
            number(one.volume.outer_value),
            one.volume.unit.symbol().to_owned(),
            one.volume.basis.key().to_owned(),
            texts(&one.products),
            texts(&one.lots),
            texts(&one.tanks),
            one.shift.as_deref().map(|shift| harmless(shift).into_owned()).unwrap_or_default(),
            one.mode.name().to_owned(),
            one.within_response.to_string(),
            one.outside_production.to_string(),
            one.cleaning.map(|number| number.to_string()).unwrap_or_default(),
            one.episode.to_string(),
        ];
        let texts = more.of.get(&one.id).map_or(&[][..], Vec::as_slice);
        let more = (0..more.names.len())
            .map(|index| harmless(texts.get(index).map_or("", String::as_str)).into_owned());
        writer.write_record(row.into_iter().chain(more)).map_err(failed)?;
    }
    text(writer)
}

fn writer() -> csv::Writer<Vec<u8>> {
    csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new())
}

#[expect(clippy::needless_pass_by_value, reason = "handed to map_err")]
fn failed(cause: csv::Error) -> Error {
    Error::Csv(cause.to_string())
}

fn text(writer: csv::Writer<Vec<u8>>) -> Result<String, Error> {
    let bytes = writer.into_inner().map_err(|cause| Error::Csv(cause.to_string()))?;
    String::from_utf8(bytes).map_err(|cause| Error::Csv(cause.to_string()))
}

/// The columns of observations before their figures; those of the Parquet file.
const OBSERVATION_HEADER: [&str; 8] =
    ["kind", "rank", "start", "end", "count", "file", "line", "message"];

pub(crate) fn render_observations(case: &Case, more: &MoreCells) -> Result<String, Error> {
    let zone = case.plant.zone;
    let observations = &case.audit.observations;
    let figures = figure_columns(&case.record, observations);
    let mut writer = writer();
    let header = OBSERVATION_HEADER.into_iter().chain(more.names.iter().copied());
    writer
        .write_record(header.chain(figures.iter().map(|column| column.name.as_str())))
        .map_err(failed)?;
    for (row, one) in observations.iter().enumerate() {
        let instant = |of: fn(Interval) -> trace::Instant| {
            one.interval.map(|interval| zone.rfc3339(of(interval))).unwrap_or_default()
        };
        let position = one.position.as_ref();
        let message = sentence(one, zone, DisplayUnits::RECORDED);
        let cells: [String; OBSERVATION_HEADER.len()] = [
            one.kind.key().to_owned(),
            one.kind.rank().key().to_owned(),
            instant(Interval::start),
            instant(Interval::end),
            one.count.to_string(),
            position.map(|position| harmless(&position.file).into_owned()).unwrap_or_default(),
            position.map(|position| position.line.to_string()).unwrap_or_default(),
            harmless(&message).into_owned(),
        ];
        let texts = more.rows.get(row).map_or(&[][..], Vec::as_slice);
        let more = (0..more.names.len())
            .map(|index| harmless(texts.get(index).map_or("", String::as_str)).into_owned());
        let figures = figures.iter().map(|column| cell(&column.cells, row, zone));
        writer.write_record(cells.into_iter().chain(more).chain(figures)).map_err(failed)?;
    }
    text(writer)
}

/// A figure of one row; blank where there is none.
fn cell(cells: &FigureCells, row: usize, zone: plant::Zone) -> String {
    match cells {
        FigureCells::Number(cells) => of(cells, row, ToString::to_string),
        FigureCells::Whole(cells) => of(cells, row, ToString::to_string),
        FigureCells::Time(cells) => of(cells, row, |time| time.milliseconds().to_string()),
        FigureCells::At(cells) => of(cells, row, |at| zone.rfc3339(*at)),
        FigureCells::Text(cells) => of(cells, row, |text| harmless(text).into_owned()),
    }
}

fn of<T>(cells: &[Option<T>], row: usize, words: impl Fn(&T) -> String) -> String {
    cells.get(row).and_then(Option::as_ref).map(words).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

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
