//! The figures of observations as columns of a table, the same for CSV and Parquet.
//!
//! Which columns there are comes from the definitions of the kinds, so that a new observation needs
//! no change here, and a day without observations has the columns of one with many. A column is
//! called `figure_`, the figure's name, and its unit: `figure_limit_degf`. Units are those of the
//! record; a figure in another one (two loggers of one record may differ) has a column of its own, as
//! nothing is converted. A difference of two temperatures is told apart from a temperature, since a
//! reader that converts them has to treat them differently.

use crate::table::Column;
use std::collections::BTreeSet;
use trace::{
    ChannelView, FigureKind, FlowUnit, MORE, Observation, ObservationKind, PressureUnit, Role,
    RunRecord, TemperatureUnit, Unit, Value, VolumeUnit,
};

/// All kinds of observations: of the audit, and of the reading of files.
pub fn observation_kinds() -> impl Iterator<Item = ObservationKind> {
    analysis::observations::KINDS.iter().chain(ingest::observations::KINDS).copied()
}

/// What a column holds of a figure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Part {
    Temperature(TemperatureUnit),
    TemperatureDifference(TemperatureUnit),
    Pressure(PressureUnit),
    Flow(FlowUnit),
    Volume(VolumeUnit),
    Time,
    At,
    Count,
    Percent,
    Word,
    File,
    Line,
}

/// The columns of the figures that observations of a record may have, by name.
pub(crate) fn figure_columns(
    record: &RunRecord,
    observations: &[Observation],
) -> Vec<(String, Column)> {
    let defined = observation_kinds().flat_map(ObservationKind::figures).chain([&MORE]);
    let mut columns: BTreeSet<(&str, Part)> = defined
        .flat_map(|&(name, kind)| {
            of_the_record(record, kind).into_iter().map(move |part| (name, part))
        })
        .collect();
    for figure in observations.iter().flat_map(|one| &one.figures) {
        columns.extend(parts(&figure.value).into_iter().map(|part| (figure.name, part)));
    }
    columns
        .into_iter()
        .map(|(name, part)| (column_name(name, part), cells(name, part, observations)))
        .collect()
}

/// What there is to a figure of that kind, in the units of the record; nothing for a flow that it
/// does not hold.
fn of_the_record(record: &RunRecord, kind: FigureKind) -> Vec<Part> {
    let temperature = record.holding_temperature().unit();
    match kind {
        FigureKind::Temperature => vec![Part::Temperature(temperature)],
        FigureKind::TemperatureDifference => vec![Part::TemperatureDifference(temperature)],
        FigureKind::Pressure => vec![Part::Pressure(record.differential().unit())],
        FigureKind::Flow => match record.channel(Role::FlowRate) {
            Some(ChannelView::Flow(flow)) => vec![Part::Flow(flow.unit())],
            _ => Vec::new(),
        },
        FigureKind::Volume => match record.channel(Role::FlowRate) {
            Some(ChannelView::Flow(flow)) => vec![Part::Volume(flow.unit().volume())],
            _ => Vec::new(),
        },
        FigureKind::Time => vec![Part::Time],
        FigureKind::At => vec![Part::At],
        FigureKind::Count => vec![Part::Count],
        FigureKind::Percent => vec![Part::Percent],
        FigureKind::Word => vec![Part::Word],
        FigureKind::Place => vec![Part::File, Part::Line],
    }
}

/// What there is to a figure, in its own unit.
fn parts(value: &Value) -> Vec<Part> {
    match value {
        Value::Temperature(_, unit) => vec![Part::Temperature(*unit)],
        Value::TemperatureDifference(_, unit) => vec![Part::TemperatureDifference(*unit)],
        Value::Pressure(_, unit) => vec![Part::Pressure(*unit)],
        Value::Flow(_, unit) => vec![Part::Flow(*unit)],
        Value::Volume(_, unit) => vec![Part::Volume(*unit)],
        Value::Time(_) => vec![Part::Time],
        Value::At(_) => vec![Part::At],
        Value::Count(_) => vec![Part::Count],
        Value::Percent(_) => vec![Part::Percent],
        Value::Word(_) => vec![Part::Word],
        Value::Place(_) => vec![Part::File, Part::Line],
    }
}

fn column_name(figure: &str, part: Part) -> String {
    let ending = match part {
        Part::Temperature(unit) => unit.column_word(),
        Part::TemperatureDifference(unit) if figure == "difference" => unit.column_word(),
        Part::TemperatureDifference(unit) => {
            return format!("figure_{figure}_difference_{}", unit.column_word());
        }
        Part::Pressure(unit) => unit.column_word(),
        Part::Flow(unit) => unit.column_word(),
        Part::Volume(VolumeUnit::Litre) => "l",
        Part::Volume(VolumeUnit::Gallon) => "gal",
        Part::Time => "ms",
        Part::At => "at",
        Part::Percent => "percent",
        Part::File => "file",
        Part::Line => "line",
        Part::Count | Part::Word => return format!("figure_{figure}"),
    };
    format!("figure_{figure}_{ending}")
}

fn cells(name: &str, part: Part, observations: &[Observation]) -> Column {
    match part {
        Part::Temperature(_)
        | Part::TemperatureDifference(_)
        | Part::Pressure(_)
        | Part::Flow(_)
        | Part::Volume(_)
        | Part::Percent => Column::Decimal(each(name, part, observations, |value| match value {
            Value::Temperature(figure, _)
            | Value::TemperatureDifference(figure, _)
            | Value::Pressure(figure, _)
            | Value::Flow(figure, _)
            | Value::Volume(figure, _)
            | Value::Percent(figure) => Some(*figure),
            _ => None,
        })),
        Part::Time => Column::Time(each(name, part, observations, |value| match value {
            Value::Time(time) => Some(*time),
            _ => None,
        })),
        Part::At => Column::At(each(name, part, observations, |value| match value {
            Value::At(at) => Some(*at),
            _ => None,
        })),
        Part::Count | Part::Line => {
            Column::Count(each(name, part, observations, |value| match value {
                Value::Count(count) => Some(*count),
                Value::Place(place) => Some(place.line),
                _ => None,
            }))
        }
        Part::Word | Part::File => {
            Column::Text(each(name, part, observations, |value| match value {
                Value::Word(word) => Some(word.clone()),
                Value::Place(place) => Some(place.file.to_string()),
                _ => None,
            }))
        }
    }
}

/// For each observation what `of` makes of the figure of that name, if it has such a part.
fn each<T>(
    name: &str,
    part: Part,
    observations: &[Observation],
    of: impl Fn(&Value) -> Option<T>,
) -> Vec<Option<T>> {
    let figure = |one: &Observation| {
        let value = one.figure(name).filter(|value| parts(value).contains(&part));
        value.and_then(&of)
    };
    observations.iter().map(figure).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::samples;
    use trace::{Decimal, Duration, Instant, SourcePosition};

    /// A value of each kind, in the units of the samples or in others.
    fn values(kind: FigureKind) -> Vec<Value> {
        let decimal = Decimal::new(1609, 1);
        match kind {
            FigureKind::Temperature => [TemperatureUnit::Fahrenheit, TemperatureUnit::Celsius]
                .map(|unit| Value::Temperature(decimal, unit))
                .to_vec(),
            FigureKind::TemperatureDifference => {
                [TemperatureUnit::Fahrenheit, TemperatureUnit::Celsius]
                    .map(|unit| Value::TemperatureDifference(decimal, unit))
                    .to_vec()
            }
            FigureKind::Pressure => [PressureUnit::Psi, PressureUnit::Kilopascal]
                .map(|unit| Value::Pressure(decimal, unit))
                .to_vec(),
            FigureKind::Flow => [FlowUnit::GallonPerMinute, FlowUnit::LitrePerHour]
                .map(|unit| Value::Flow(decimal, unit))
                .to_vec(),
            FigureKind::Time => vec![Value::Time(Duration::from_milliseconds(1609))],
            FigureKind::At => vec![Value::At(Instant::from_unix_milliseconds(1609))],
            FigureKind::Count => vec![Value::Count(1609)],
            FigureKind::Volume => [VolumeUnit::Gallon, VolumeUnit::Litre]
                .map(|unit| Value::Volume(decimal, unit))
                .to_vec(),
            FigureKind::Percent => vec![Value::Percent(decimal)],
            FigureKind::Word => vec![Value::Word("1609".to_owned())],
            FigureKind::Place => {
                vec![Value::Place(SourcePosition { file: "day.csv".into(), line: 1609 })]
            }
        }
    }

    /// What a column holds of its only row.
    fn first(column: &Column) -> Option<String> {
        match column {
            Column::Decimal(cells) => cells[0].map(|one| one.to_string()),
            Column::Count(cells) => cells[0].map(|one| one.to_string()),
            Column::Time(cells) => cells[0].map(|one| one.milliseconds().to_string()),
            Column::At(cells) => cells[0].map(|one| one.unix_milliseconds().to_string()),
            Column::Text(cells) => cells[0].clone(),
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn every_figure_of_every_kind_has_a_column() {
        let day = samples::eventful();
        let empty: Vec<String> =
            figure_columns(&day.record, &[]).into_iter().map(|(name, _)| name).collect();
        for kind in observation_kinds() {
            for &(name, figure) in kind.figures().iter().chain([&MORE]) {
                for (index, value) in values(figure).into_iter().enumerate() {
                    let told = Observation {
                        kind,
                        interval: None,
                        position: None,
                        count: 1,
                        figures: Vec::new(),
                    };
                    let columns = figure_columns(&day.record, &[told.with(name, value.clone())]);
                    let held: Vec<_> = columns
                        .iter()
                        .filter_map(|(name, column)| first(column).map(|text| (name, text)))
                        .collect();
                    let wanted = if figure == FigureKind::Place { 2 } else { 1 };
                    assert_eq!(held.len(), wanted, "{kind:?} {name}: {held:?}");
                    for (column, text) in held {
                        assert!(column.starts_with(&format!("figure_{name}")), "{column}");
                        assert!(["160.9", "1609", "day.csv"].contains(&text.as_str()), "{text}");
                        // In the record's units it is there without any observation.
                        assert_eq!(empty.contains(column), index == 0, "{kind:?}: {column}");
                    }
                }
            }
        }
    }

    #[test]
    fn no_two_columns_have_one_name() {
        let day = samples::eventful();
        let kinds: Vec<_> = observation_kinds().collect();
        let other = |kind: &ObservationKind| {
            kind.figures()
                .iter()
                .filter_map(|&(name, figure)| Some((name, values(figure).pop()?)))
                .map(|(name, value)| Observation {
                    kind: *kind,
                    interval: None,
                    position: None,
                    count: 1,
                    figures: vec![trace::Figure { name, value }],
                })
                .collect::<Vec<_>>()
        };
        let all: Vec<_> = kinds.iter().flat_map(other).collect();
        let columns = figure_columns(&day.record, &all);
        let names: BTreeSet<_> = columns.iter().map(|(name, _)| name).collect();
        assert_eq!(names.len(), columns.len());
    }

    #[test]
    fn definitions_name_every_figure_of_their_sentences() {
        for kind in observation_kinds() {
            let names = kind.sentence().split('{').skip(1).filter_map(|part| part.split_once('}'));
            for (name, _) in names {
                assert!(kind.figures().iter().any(|(known, _)| *known == name), "{kind:?} {name}");
            }
        }
    }
}
