//! The one place that makes sentences of observations: the kind's template, filled with the
//! observation's figures in the units that the reader chose.
//!
//! A figure in the unit in which it was recorded is shown digit by digit as it was recorded. In
//! another unit it is converted for the eye only, and shown with one decimal place more. In files, and in the
//! result that is signed, figures are as they always were; for a person they are written as `figures` says.

use crate::figures::{at_most, count, decimal_places, plain_volume, recorded, time_of_day};
use plant::Zone;
use trace::{Decimal, FlowUnit, MORE, Observation, PressureUnit, TemperatureUnit, Unit, Value};

/// The units in which figures are shown; `None` is as recorded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct DisplayUnits {
    /// Of temperatures and their differences.
    pub temperature: Option<TemperatureUnit>,
    /// Of pressures.
    pub pressure: Option<PressureUnit>,
    /// Of flows.
    pub flow: Option<FlowUnit>,
    /// Whether a program reads them, and not a person.
    pub is_for_files: bool,
}

impl DisplayUnits {
    /// Every figure as it was recorded.
    pub const RECORDED: Self =
        Self { temperature: None, pressure: None, flow: None, is_for_files: false };

    /// The same in a file that a program reads.
    pub(crate) const FILED: Self = Self { is_for_files: true, ..Self::RECORDED };
}

/// What stands for a figure that the observation lacks.
pub(crate) const NOT_KNOWN: &str = "not known";

/// An observation in one or more sentences; times are on the clock of `zone`.
pub fn sentence(observation: &Observation, zone: Zone, units: DisplayUnits) -> String {
    let template = observation.kind.sentence();
    if let Some(Value::Count(more)) = observation.figure(MORE.0)
        && !template.contains("{more}")
    {
        let more = quantity(&Value::Count(*more), zone, units);
        return format!("{more} more of this kind in this interval.");
    }
    let figure = |name: &str| observation.figure(name).map(|value| quantity(value, zone, units));
    whole_sentence(&fill(template, figure))
}

/// A capital at its begin and a full stop at its end, whether the template had them or not.
fn whole_sentence(text: &str) -> String {
    let text = text.trim();
    let mut characters = text.chars();
    let Some(first) = characters.next() else { return String::new() };
    let stop = if text.ends_with(['.', '!', '?']) { "" } else { "." };
    format!("{}{}{stop}", first.to_uppercase(), characters.as_str())
}

/// A quantity in words with its unit: `160.9 °F`, `12.5 s`, `2026-07-01 05:12:03`.
pub fn quantity(value: &Value, zone: Zone, units: DisplayUnits) -> String {
    match value {
        Value::Temperature(figure, unit) => {
            let shown = units.temperature.unwrap_or(*unit);
            in_unit((*figure, *unit), shown, units, |value| unit.convert(value, shown))
        }
        Value::TemperatureDifference(figure, unit) => {
            let shown = units.temperature.unwrap_or(*unit);
            in_unit((*figure, *unit), shown, units, |value| unit.convert_difference(value, shown))
        }
        Value::Pressure(figure, unit) => {
            let shown = units.pressure.unwrap_or(*unit);
            in_unit((*figure, *unit), shown, units, |value| unit.convert(value, shown))
        }
        Value::Flow(figure, unit) => {
            let shown = units.flow.unwrap_or(*unit);
            in_unit((*figure, *unit), shown, units, |value| unit.convert(value, shown))
        }
        // As in every list: two roundings of one quantity would look like two quantities.
        Value::Volume(figure, unit) if units.is_for_files => {
            let value = figure.to_f64();
            format!("{value:.*} {}", usize::from(value.abs() < 100.0), unit.symbol())
        }
        Value::Volume(figure, unit) => plain_volume(figure.to_f64(), *unit),
        Value::Time(time) if units.is_for_files => time.to_string(),
        Value::Time(time) => at_most(*time),
        Value::At(at) if units.is_for_files => format!("{} {}", zone.date(*at), zone.clock(*at)),
        Value::At(at) => format!("{} {}", zone.date(*at), time_of_day(zone, *at)),
        Value::Count(many) if units.is_for_files => many.to_string(),
        Value::Count(many) => count(*many as usize),
        Value::Percent(figure) if units.is_for_files => format!("{figure} %"),
        Value::Percent(figure) => format!("{} %", recorded(*figure)),
        Value::Word(word) => word.clone(),
        Value::Place(place) => format!("{} line {}", place.file, place.line),
    }
}

/// A figure recorded in a unit, shown in `shown`.
fn in_unit<U: Unit>(
    (figure, unit): (Decimal, U),
    shown: U,
    units: DisplayUnits,
    convert: impl Fn(f64) -> f64,
) -> String {
    let text = if unit != shown {
        decimal_places(convert(figure.to_f64()), usize::from(figure.scale().min(3)) + 1)
    } else if units.is_for_files {
        figure.to_string()
    } else {
        recorded(figure)
    };
    format!("{text} {}", shown.symbol())
}

/// Fills a template: `{name}` is a figure, a part in square brackets is left out when a figure in
/// it is missing, and what stands behind a bar in it takes its place. What a figure says is never looked at, so that a word of the record may hold
/// brackets of its own.
pub(crate) fn fill(template: &str, figure: impl Fn(&str) -> Option<String>) -> String {
    let mut text = String::with_capacity(template.len() * 2);
    let mut rest = template;
    while let Some(at) = rest.find(['{', '[']) {
        let (before, from) = rest.split_at(at);
        text.push_str(before);
        rest = from;
        if let Some((optional, after)) = between(from, '[', ']') {
            let (with, without) = optional.split_once('|').unwrap_or((optional, ""));
            text.push_str(&part(with, &figure).unwrap_or_else(|| without.to_owned()));
            rest = after;
        } else if let Some((name, after)) = between(from, '{', '}') {
            text.push_str(&figure(name).unwrap_or_else(|| NOT_KNOWN.to_owned()));
            rest = after;
        } else {
            // A bracket that is never closed: nothing but text.
            break;
        }
    }
    text.push_str(rest);
    text
}

/// An optional part; `None` when it has a figure that is missing.
fn part(template: &str, figure: &impl Fn(&str) -> Option<String>) -> Option<String> {
    let mut text = String::new();
    let mut rest = template;
    while let Some(at) = rest.find('{') {
        let (before, from) = rest.split_at(at);
        text.push_str(before);
        rest = from;
        let Some((name, after)) = between(from, '{', '}') else { break };
        text.push_str(&figure(name)?);
        rest = after;
    }
    text.push_str(rest);
    Some(text)
}

/// What stands between the bracket that `text` begins with and the one that closes it, and what
/// follows.
fn between(text: &str, open: char, close: char) -> Option<(&str, &str)> {
    text.strip_prefix(open)?.split_once(close)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::observation_kinds;
    use proptest::prelude::*;
    use trace::{
        Definition, Duration, FigureKind, Instant, ObservationKind, Rank, SourcePosition,
        VolumeUnit,
    };

    /// The names of the figures in a template.
    fn names(template: &'static str) -> Vec<&'static str> {
        let parts = template.split('{').skip(1);
        parts.filter_map(|part| part.split_once('}')).map(|(name, _)| name).collect()
    }

    /// They are read in a narrow pane at six in the morning.
    #[test]
    fn every_kind_says_in_short_sentences_why_it_matters_and_what_to_do() {
        for kind in observation_kinds() {
            for text in [kind.why(), kind.what_to_do()] {
                assert!(text.chars().next().is_some_and(char::is_uppercase), "{kind:?}: {text}");
                assert!(text.ends_with('.') && !text.contains("  "), "{kind:?}: {text}");
                assert!(text.matches(". ").count() <= 1, "two sentences at most: {text}");
                assert!(text.chars().count() <= 180, "{kind:?}: {text}");
            }
        }
    }

    fn values() -> Vec<Value> {
        vec![
            Value::Temperature(Decimal::new(1609, 1), TemperatureUnit::Fahrenheit),
            Value::TemperatureDifference(Decimal::new(-12, 1), TemperatureUnit::Celsius),
            Value::Pressure(Decimal::new(199, 2), PressureUnit::Psi),
            Value::Flow(Decimal::whole(50), FlowUnit::GallonPerMinute),
            Value::Volume(Decimal::new(19_005, 1), VolumeUnit::Gallon),
            Value::Time(Duration::from_milliseconds(1500)),
            Value::At(Instant::from_unix_milliseconds(1_772_625_600_000)),
            Value::Count(3),
            Value::Percent(Decimal::new(885, 1)),
            Value::Word("milk".to_owned()),
            Value::Place(SourcePosition { file: "day.csv".into(), line: 7 }),
        ]
    }

    fn observation(kind: ObservationKind, figures: &[(&'static str, Value)]) -> Observation {
        let empty =
            Observation { kind, interval: None, position: None, count: 1, figures: Vec::new() };
        figures.iter().fold(empty, |one, (name, value)| one.with(name, value.clone()))
    }

    fn is_whole(text: &str) -> bool {
        !text.contains(['{', '}', '[', ']'])
            && text.ends_with('.')
            && text.chars().next().is_some_and(|first| !first.is_lowercase())
    }

    #[test]
    fn every_kind_makes_sentences_of_all_its_figures() {
        for kind in observation_kinds() {
            let names = names(kind.sentence());
            for value in values() {
                let figures: Vec<_> = names.iter().map(|name| (*name, value.clone())).collect();
                let told = observation(kind, &figures);
                let shown = quantity(&value, Zone::UTC, DisplayUnits::RECORDED);
                let text = sentence(&told, Zone::UTC, DisplayUnits::RECORDED);
                assert!(is_whole(&text), "{kind:?}: {text}");
                // A figure at the begin of the sentence may have got a capital.
                let (text, shown) = (text.to_lowercase(), shown.to_lowercase());
                assert!(text.matches(&shown).count() >= names.len(), "{kind:?}: {text}");
            }
        }
    }

    #[test]
    fn every_kind_bears_missing_figures() {
        for kind in observation_kinds() {
            let text = sentence(&observation(kind, &[]), Zone::UTC, DisplayUnits::RECORDED);
            assert!(text.is_empty() || is_whole(&text), "{kind:?}: {text}");
        }
    }

    static KIND: Definition = Definition {
        key: "test",
        title: "test",
        rank: Rank::Note,
        figures: &[
            ("least", FigureKind::Temperature),
            ("limit", FigureKind::Temperature),
            ("lot", FigureKind::Word),
        ],
        sentence: "down to {least}[, lot {lot}]; the limit is {limit}",
        about: &[],
        why: "It matters.",
        what_to_do: "Look.",
        source: "none: made up",
    };

    fn told(figures: &[(&'static str, Value)], units: DisplayUnits) -> String {
        sentence(&observation(ObservationKind::new(&KIND), figures), Zone::UTC, units)
    }

    #[test]
    fn figures_are_shown_as_recorded_or_converted_with_one_digit_more() {
        let least =
            ("least", Value::Temperature(Decimal::new(1600, 1), TemperatureUnit::Fahrenheit));
        let limit = ("limit", Value::Temperature(Decimal::whole(161), TemperatureUnit::Fahrenheit));
        let lot = ("lot", Value::Word("A [1] {x}".to_owned()));
        let figures = [least, limit];
        assert_eq!(
            told(&figures, DisplayUnits::RECORDED),
            "Down to 160.0 °F; the limit is 161 °F."
        );
        let celsius =
            DisplayUnits { temperature: Some(TemperatureUnit::Celsius), ..DisplayUnits::RECORDED };
        // (160 − 32)/1.8 = 71.111, (161 − 32)/1.8 = 71.667.
        assert_eq!(told(&figures, celsius), "Down to 71.11 °C; the limit is 71.7 °C.");
        let [least, limit] = figures;
        assert_eq!(
            told(&[least, limit, lot], DisplayUnits::RECORDED),
            "Down to 160.0 °F, lot A [1] {x}; the limit is 161 °F."
        );
        assert_eq!(told(&[], DisplayUnits::RECORDED), "Down to not known; the limit is not known.");
    }

    #[test]
    fn differences_pressures_and_flows_are_converted_by_their_scale() {
        let units = DisplayUnits {
            temperature: Some(TemperatureUnit::Celsius),
            pressure: Some(PressureUnit::Kilopascal),
            flow: Some(FlowUnit::LitrePerMinute),
            ..DisplayUnits::RECORDED
        };
        for (value, shown) in [
            // 1.8/1.8: a difference has no offset of 32.
            (
                Value::TemperatureDifference(Decimal::new(18, 1), TemperatureUnit::Fahrenheit),
                "1.00 °C",
            ),
            // 2 × 6.894757 (NIST SP 811 (2008), App. B.8).
            (Value::Pressure(Decimal::new(20, 1), PressureUnit::Psi), "13.79 kPa"),
            // 3.785411784 L to the gallon.
            (Value::Flow(Decimal::whole(10), FlowUnit::GallonPerMinute), "37.9 L/min"),
            (Value::Pressure(Decimal::new(140, 1), PressureUnit::Kilopascal), "14.0 kPa"),
        ] {
            assert_eq!(quantity(&value, Zone::UTC, units), shown);
        }
    }

    #[test]
    fn what_is_summed_up_says_how_many_more() {
        assert_eq!(
            told(&[("more", Value::Count(12))], DisplayUnits::RECORDED),
            "12 more of this kind in this interval."
        );
    }

    #[test]
    fn instants_are_on_the_clock_of_the_plant() {
        let zone: Zone = "America/Chicago".parse().unwrap_or(Zone::UTC);
        // 2026-03-04T12:00:00Z; Chicago is six hours behind.
        let at = Value::At(Instant::from_unix_milliseconds(1_772_625_600_000));
        assert_eq!(quantity(&at, zone, DisplayUnits::RECORDED), "2026-03-04 06:00:00");
    }

    proptest! {
        #[test]
        fn words_of_the_record_come_through_whatever_they_hold(word in "\\PC{0,20}") {
            let figures = [("lot", Value::Word(word.clone())), ("limit", Value::Word(word.clone()))];
            let text = told(&figures, DisplayUnits::RECORDED);
            let expected = format!("Down to not known, lot {word}; the limit is {word}");
            prop_assert!(text.starts_with(expected.trim_end()), "{text}");
        }

        #[test]
        fn no_template_is_too_broken(template in "[a{}\\[\\]]{0,12}") {
            let filled = fill(&template, |name| Some(format!("<{name}>")));
            let letters = |text: &str| text.matches('a').count();
            prop_assert_eq!(letters(&filled), letters(&template), "{}", filled);
        }
    }
}
