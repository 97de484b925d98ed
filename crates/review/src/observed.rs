//! The identifiers of observations that are closed one by one: an observation has the same wherever
//! and however often the record is audited, so that a journal can name it.

use analysis::Audit;
use journal::Digest;
use std::collections::BTreeMap;
use trace::{Decimal, Figure, Observation, Rank, SourcePosition, Unit, Value, file_name};

/// How many hexadecimal digits an identifier has: 48 bits, as those of exceptions.
const DIGITS: usize = 12;

/// The identifier of each observation of an audit, in the audit's order; `None` for one that is
/// acknowledged by kind.
pub fn closing_ids(audit: &Audit) -> Vec<Option<String>> {
    ids(&audit.observations)
}

fn ids(observations: &[Observation]) -> Vec<Option<String>> {
    let mut seen: BTreeMap<String, u64> = BTreeMap::new();
    let mut id = |observation: &Observation| {
        if observation.kind.rank() != Rank::Close {
            return None;
        }
        let mut content = content(observation);
        // Two that say the same can't be told apart, but both are to be closed.
        let before = seen.entry(content.clone()).or_default();
        if *before > 0 {
            put(&mut content, &[&before.to_string()]);
        }
        *before += 1;
        Some(Digest::of(content.as_bytes()).to_string().chars().take(DIGITS).collect())
    };
    observations.iter().map(&mut id).collect()
}

/// What an identifier is made of: kind, interval, place and figures, the figures in the order of
/// their names. Quantities are decimals without trailing zeros and integer milliseconds; the folder
/// that a file lies in does not count. Each text is put with its length, so that no two contents
/// read the same.
fn content(observation: &Observation) -> String {
    let Observation { kind, interval, position, count: _, figures } = observation;
    let mut content = String::new();
    put(&mut content, &[kind.key()]);
    match interval {
        Some(interval) => put(
            &mut content,
            &[
                &interval.start().unix_milliseconds().to_string(),
                &interval.end().unix_milliseconds().to_string(),
            ],
        ),
        None => put(&mut content, &["", ""]),
    }
    match position {
        Some(position) => put_place(&mut content, position),
        None => put(&mut content, &["", ""]),
    }
    let mut figures: Vec<&Figure> = figures.iter().collect();
    figures.sort_by_key(|figure| figure.name);
    for Figure { name, value } in figures {
        put(&mut content, &[name]);
        put_value(&mut content, value);
    }
    content
}

fn put_value(content: &mut String, value: &Value) {
    match value {
        Value::Temperature(value, unit) => put_quantity(content, "temperature", *value, *unit),
        Value::TemperatureDifference(value, unit) => {
            put_quantity(content, "temperature_difference", *value, *unit);
        }
        Value::Pressure(value, unit) => put_quantity(content, "pressure", *value, *unit),
        Value::Flow(value, unit) => put_quantity(content, "flow", *value, *unit),
        Value::Volume(value, unit) => {
            put(content, &["volume", &value.trimmed().to_string(), unit.symbol()]);
        }
        Value::Time(time) => put(content, &["time", &time.milliseconds().to_string()]),
        Value::At(at) => put(content, &["at", &at.unix_milliseconds().to_string()]),
        Value::Count(count) => put(content, &["count", &count.to_string()]),
        Value::Percent(value) => put(content, &["percent", &value.trimmed().to_string()]),
        Value::Word(word) => put(content, &["word", word]),
        Value::Place(place) => {
            put(content, &["place"]);
            put_place(content, place);
        }
    }
}

fn put_quantity(content: &mut String, what: &str, value: Decimal, unit: impl Unit) {
    put(content, &[what, &value.trimmed().to_string(), unit.symbol()]);
}

fn put_place(content: &mut String, SourcePosition { file, line }: &SourcePosition) {
    put(content, &[file_name(file), &line.to_string()]);
}

fn put(content: &mut String, texts: &[&str]) {
    for text in texts {
        content.extend([text.len().to_string().as_str(), ":", text, ","]);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;
    use std::sync::Arc;
    use trace::{
        Definition, FigureKind, Instant, Interval, ObservationKind, PressureUnit, SourcePosition,
        TemperatureUnit,
    };

    static LEAK: Definition = Definition {
        key: "leak_detected",
        title: "leak detected",
        rank: Rank::Close,
        figures: &[("limit", FigureKind::Pressure), ("low", FigureKind::Temperature)],
        sentence: "",
        about: &[],
        why: "It matters.",
        what_to_do: "Look.",
        source: "none: made up",
    };

    fn leak(file: &str) -> Observation {
        let at = Instant::from_unix_milliseconds;
        let interval = Interval::between(at(1000), at(3000));
        let mut one = Observation::over(ObservationKind::new(&LEAK), interval, 3)
            .with("limit", Value::Pressure(Decimal::new(20, 1), PressureUnit::Psi))
            .with("low", Value::Temperature(Decimal::whole(40), TemperatureUnit::Fahrenheit));
        one.position = Some(SourcePosition { file: Arc::from(file), line: 7 });
        one
    }

    #[test]
    fn the_content_is_that_of_the_documentation() {
        assert_eq!(
            content(&leak("day.csv")),
            "13:leak_detected,4:1000,4:3000,7:day.csv,1:7,\
             5:limit,8:pressure,1:2,3:psi,3:low,11:temperature,2:40,3:\u{b0}F,"
        );
    }

    #[test]
    fn folder_order_of_figures_and_trailing_zeros_do_not_count() {
        let one = content(&leak("day.csv"));
        let mut other = leak("C:/logs/../records/day.csv");
        other.figures.reverse();
        other.figures[1].value = Value::Pressure(Decimal::whole(2), PressureUnit::Psi);
        assert_eq!(content(&other), one);
    }

    #[test]
    fn only_what_is_to_be_closed_has_an_identifier_and_each_its_own() {
        static NOTE: Definition = Definition {
            key: "slow_travel",
            title: "",
            rank: Rank::Note,
            figures: LEAK.figures,
            sentence: "",
            about: &[],
            why: "It matters.",
            what_to_do: "Look.",
            source: "none: made up",
        };
        let note = Observation { kind: ObservationKind::new(&NOTE), ..leak("day.csv") };
        let ids = ids(&[leak("day.csv"), note, leak("day.csv"), leak("other.csv")]);
        // As `printf '13:leak_detected,…' | sha256sum` gives it.
        assert_eq!(ids[0].as_deref(), Some("ded46930999b"));
        assert_eq!(ids[1], None);
        let different: BTreeSet<_> = ids.iter().flatten().collect();
        assert_eq!(different.len(), 3, "two that say the same are two: {ids:?}");
        assert!(ids.iter().flatten().all(|id| id.len() == 12));
    }

    #[test]
    fn everything_else_counts() {
        let one = content(&leak("day.csv"));
        let mut others = vec![leak("other.csv"), leak("day.csv").with("more", Value::Count(1))];
        let mut later = leak("day.csv");
        later.interval = None;
        others.push(later);
        let mut unit = leak("day.csv");
        unit.figures[0].value = Value::Pressure(Decimal::whole(2), PressureUnit::Kilopascal);
        others.push(unit);
        let mut line = leak("day.csv");
        line.position = Some(SourcePosition { file: Arc::from("day.csv"), line: 8 });
        others.push(line);
        for other in others {
            assert_ne!(content(&other), one, "{other:?}");
        }
        // A word can't pass for two figures.
        let word = leak("day.csv").with("a", Value::Word("1,1:b,4:word,1:2".to_owned()));
        let two = leak("day.csv")
            .with("a", Value::Word("1".to_owned()))
            .with("b", Value::Word("2".to_owned()));
        assert_ne!(content(&word), content(&two));
    }
}
