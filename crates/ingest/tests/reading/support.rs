//! Short ways to read a text and to look at what came of it.

use ingest::{Ingested, Input, Progress, read};
use plant::Plant;
use std::fmt::Write as _;
use trace::{Observation, ObservationKind, Reading, RunRecord, Value};

/// A header whose columns are recognised by their names.
pub const HEADER: &str = "Time,FDV,Hold Temp (°F),Raw (psi),Past (psi)\n";

/// A plant file with these lines below its head.
pub fn plant(rest: &str) -> Plant {
    plant_in("UTC", rest)
}

/// The same in a time zone.
pub fn plant_in(zone: &str, rest: &str) -> Plant {
    let text = format!("schema = 1\nplant = \"P\"\nunit = \"U\"\nzone = \"{zone}\"\n{rest}");
    Plant::parse("plant.toml", &text).unwrap_or_else(|error| panic!("{error}"))
}

pub fn input(name: &str, bytes: impl AsRef<[u8]>) -> Input {
    Input::Bytes { name: name.to_owned(), bytes: bytes.as_ref().to_vec() }
}

pub fn read_all(inputs: &[Input], plant: &Plant) -> Ingested {
    read(inputs, plant, &Progress::default()).unwrap_or_else(|error| panic!("{error}"))
}

/// Reads one file.
pub fn read_one(bytes: impl AsRef<[u8]>, plant: &Plant) -> Ingested {
    read_all(&[input("a.csv", bytes)], plant)
}

/// The message of the error that reading one file ends with.
pub fn error(bytes: impl AsRef<[u8]>, plant: &Plant) -> String {
    match read(&[input("a.csv", bytes)], plant, &Progress::default()) {
        Ok(ingested) => panic!("no error, but {}", show(&ingested.record)),
        Err(error) => error.to_string(),
    }
}

/// All samples, one a line, every channel.
pub fn show(record: &RunRecord) -> String {
    let mut shown = String::new();
    let stamps = record.instants().iter().zip(record.valve());
    for (sample, (instant, valve)) in stamps.enumerate() {
        write!(shown, "{}", plant::Zone::UTC.rfc3339(*instant).trim_end_matches("+00:00"))
            .and_then(|()| write!(shown, " {}", valve.name()))
            .unwrap_or_default();
        for (role, channel) in record.channels() {
            let reading = match channel.reading(sample) {
                Reading::Valid(decimal) => decimal.to_string(),
                Reading::Invalid(reason) => reason.name().to_owned(),
            };
            write!(shown, " {}={reading}{}", role.key(), channel.symbol()).unwrap_or_default();
        }
        for (name, states) in [("leak", record.leak_detect()), ("pump", record.timing_pump())] {
            if let Some(states) = states {
                write!(shown, " {name}={:?}", states.get(sample)).unwrap_or_default();
            }
        }
        for (name, text) in
            [("product", record.product()), ("lot", record.lot()), ("mode", record.mode())]
        {
            if let Some(text) = text {
                write!(shown, " {name}={:?}", text.word(sample)).unwrap_or_default();
            }
        }
        shown.push('\n');
    }
    shown
}

/// The times of day of all samples, in UTC.
pub fn times(record: &RunRecord) -> Vec<String> {
    record.instants().iter().map(|&instant| plant::Zone::UTC.clock(instant)).collect()
}

/// Kind, line and count of all observations, which carry figures as their kinds define them.
pub fn observed(ingested: &Ingested) -> Vec<(ObservationKind, u64, u64)> {
    for one in &ingested.observations {
        assert!(one.is_as_defined(), "a figure that its kind does not define: {one:?}");
    }
    ingested
        .observations
        .iter()
        .map(|one| (one.kind, one.position.as_ref().map_or(0, |position| position.line), one.count))
        .collect()
}

/// The sentences of all observations of a kind.
pub fn messages(ingested: &Ingested, kind: ObservationKind) -> Vec<String> {
    ingested.observations.iter().filter(|one| one.kind == kind).map(sentence).collect()
}

/// The sentence of an observation, made as its template says.
pub fn sentence(observation: &Observation) -> String {
    let mut shown = String::new();
    for part in observation.kind.sentence().split_inclusive(']') {
        let (plain, optional) = match part.split_once('[') {
            Some((plain, rest)) => (plain, rest.strip_suffix(']')),
            None => (part, None),
        };
        let filled = filled(plain, observation);
        shown += &filled.unwrap_or_else(|| panic!("{:?} lacks a figure", observation.kind));
        shown += &optional.and_then(|text| self::filled(text, observation)).unwrap_or_default();
    }
    shown
}

fn filled(text: &str, observation: &Observation) -> Option<String> {
    let mut shown = String::new();
    for part in text.split_inclusive('}') {
        let (plain, name) = part
            .split_once('{')
            .map_or((part, None), |(plain, name)| (plain, name.strip_suffix('}')));
        shown += plain;
        let Some(name) = name else { continue };
        let value = match observation.figure(name)? {
            Value::Time(duration) => duration.to_string(),
            Value::Count(count) => count.to_string(),
            Value::Word(word) => word.clone(),
            Value::Place(place) => format!("{}:{}", place.file, place.line),
            other => panic!("{other:?}"),
        };
        shown += &value;
    }
    Some(shown)
}
