//! Small records written out by hand, for checks whose answer is known without any program.

use crate::specimen::{Equipment, Layout, Row, Specimen};
use plant::{Plant, PlantFile};
use trace::{Decimal, Invalid, PressureUnit, Reading, TemperatureUnit, ValveState};

/// The units of a simple record.
pub type Units = (TemperatureUnit, PressureUnit);

/// °F and psi.
pub const US: Units = (TemperatureUnit::Fahrenheit, PressureUnit::Psi);

/// °C and kPa.
pub const METRIC: Units = (TemperatureUnit::Celsius, PressureUnit::Kilopascal);

/// The plant file of small records in °F and psi.
pub const PLANT_FILE: &str = r#"schema = 1
plant = "Made up"
unit = "HTST"
zone = "UTC"
# Rows of good milk are all alike here.
[limits]
repeated = "10 min"
[columns]
time = "Time"
valve = { column = "FDD", forward = ["FWD"], divert = ["DIV"], travel = ["TRV"] }
holding_temperature = { column = "Hold", unit = "degF" }
raw_pressure = { column = "Raw", unit = "psi" }
pasteurized_pressure = { column = "Past", unit = "psi" }
"#;

/// A plant that has a file and sets nothing: milk at 161 °F / 72 °C for 15 s, 2 psi / 14 kPa.
pub fn plant() -> Plant {
    let file = PlantFile { name: String::from("made-up.toml"), sha256: [0; 32] };
    Plant { file: Some(file), ..Plant::assumed() }
}

/// A cell as a logger writes it: a decimal, or `-` for one that is blank.
pub fn cell(text: &str) -> Reading {
    match text.parse::<Decimal>() {
        Ok(value) => Reading::Valid(value),
        Err(_not_a_decimal) => Reading::Invalid(Invalid::Blank),
    }
}

/// A row of a record with a direct differential.
pub fn row(step: i64, valve: ValveState, temperature: Reading, differential: Reading) -> Row {
    Row {
        equipment: Equipment::NONE,
        step,
        valve,
        temperature,
        pressure: differential,
        pasteurized: Reading::Invalid(Invalid::Blank),
        recorder: Reading::Invalid(Invalid::Blank),
        flow: Reading::Invalid(Invalid::Blank),
        raw_temperature: Reading::Invalid(Invalid::Blank),
        regenerated: Reading::Invalid(Invalid::Blank),
        heating_water: Reading::Invalid(Invalid::Blank),
        cooled: Reading::Invalid(Invalid::Blank),
        leak: None,
        pump: None,
        product: "",
        lot: "",
        mode: "",
    }
}

/// A record with a direct differential and nothing else but the valve and the temperature.
pub fn specimen(units: Units, plant: Plant, rows: Vec<Row>) -> Specimen {
    Specimen::plain(0, Layout::plain(units.0, units.1), plant, rows)
}

/// A valve position by its letter: F, D, T or U for forward, divert, travel and unknown.
///
/// # Panics
/// When it is another.
pub fn valve(letter: &str) -> ValveState {
    match letter {
        "F" => ValveState::Forward,
        "D" => ValveState::Divert,
        "T" => ValveState::Travel,
        "U" => ValveState::Unknown,
        other => panic!("{other:?} is no valve position"),
    }
}

/// A record written as lines of `seconds valve temperature differential`.
///
/// # Panics
/// When a line is not of that form.
pub fn written(units: Units, plant: Plant, text: &str) -> Specimen {
    columns(units, plant, "seconds valve temperature differential", text)
}

/// A record written as lines with a cell for each of the named columns; the first instant is the
/// first line's, a cell `-` is blank, and the first letters of `on` and `off` do.
///
/// # Panics
/// When a column is not known or a line has not one cell for each.
pub fn columns(units: Units, plant: Plant, names: &str, text: &str) -> Specimen {
    let blank = Reading::Invalid(Invalid::Blank);
    let names: Vec<&str> = names.split_whitespace().collect();
    let mut specimen = specimen(units, plant, Vec::new());
    let mut last = 0;
    for line in text.lines().map(str::trim).filter(|line| !line.is_empty()) {
        let cells: Vec<&'static str> =
            line.split_whitespace().map(|cell| &*cell.to_owned().leak()).collect();
        assert_eq!(cells.len(), names.len(), "{line:?} has a cell for each of {names:?}");
        let mut row = row(0, ValveState::Unknown, blank, blank);
        let layout = &mut specimen.layout;
        for (name, text) in names.iter().zip(cells) {
            let state = match text {
                "on" => Some(true),
                "off" => Some(false),
                _ => None,
            };
            let word = if text == "-" { "" } else { text };
            match *name {
                "seconds" => {
                    let Ok(seconds) = text.parse::<f64>() else { panic!("{text:?} is no time") };
                    let at = (seconds * 1000.0).round() as i64;
                    row.step = at - last;
                    last = at;
                }
                "valve" => row.valve = valve(text),
                "temperature" => row.temperature = cell(text),
                "differential" => row.pressure = cell(text),
                "recorder" => (layout.recorder, row.recorder) = (true, cell(text)),
                "flow" => {
                    layout.flow = layout.flow.or(Some(trace::FlowUnit::LitrePerHour));
                    row.flow = cell(text);
                }
                "raw" => (layout.raw_temperature, row.raw_temperature) = (true, cell(text)),
                "regenerated" => (layout.regenerated, row.regenerated) = (true, cell(text)),
                "water" => (layout.heating_water, row.heating_water) = (true, cell(text)),
                "cooled" => (layout.cooled, row.cooled) = (true, cell(text)),
                "leak" => (layout.leak, row.leak) = (true, state),
                "pump" => (layout.pump, row.pump) = (true, state),
                "product" => (layout.product, row.product) = (true, word),
                "lot" => (layout.lot, row.lot) = (true, word),
                "mode" => (layout.mode, row.mode) = (true, word),
                other => panic!("{other:?} is no column"),
            }
        }
        specimen.rows.push(row);
    }
    specimen
}
