//! Small records written out by hand, for checks whose answer is known without any program.

use crate::specimen::{Layout, Row, Specimen};
use plant::Plant;
use trace::{Decimal, Invalid, PressureUnit, Reading, TemperatureUnit, ValveState};

/// The units of a simple record.
pub type Units = (TemperatureUnit, PressureUnit);

/// °F and psi.
pub const US: Units = (TemperatureUnit::Fahrenheit, PressureUnit::Psi);

/// °C and kPa.
pub const METRIC: Units = (TemperatureUnit::Celsius, PressureUnit::Kilopascal);

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
        step,
        valve,
        temperature,
        pressure: differential,
        pasteurized: Reading::Invalid(Invalid::Blank),
        recorder: Reading::Invalid(Invalid::Blank),
        flow: Reading::Invalid(Invalid::Blank),
        product: "",
        lot: "",
        mode: "",
    }
}

/// A record with a direct differential and nothing else but the valve and the temperature.
pub fn specimen(units: Units, plant: Plant, rows: Vec<Row>) -> Specimen {
    let layout = Layout {
        temperature: units.0,
        pressure: units.1,
        pair: false,
        recorder: false,
        flow: None,
        product: false,
        lot: false,
        mode: false,
    };
    Specimen { start: 0, layout, plant, rows }
}

/// A record written as lines of `seconds valve temperature differential`, the valve as F, D, T
/// or U for forward, divert, travel and unknown; the first line is at 0 s.
///
/// # Panics
/// When a line is not of that form.
pub fn written(units: Units, plant: Plant, text: &str) -> Specimen {
    let mut rows = Vec::new();
    let mut last = 0;
    for line in text.lines().map(str::trim).filter(|line| !line.is_empty()) {
        let cells: Vec<&str> = line.split_whitespace().collect();
        let [seconds, valve, temperature, differential] = cells.as_slice() else {
            panic!("{line:?} is not seconds, valve, temperature, differential")
        };
        let valve = match *valve {
            "F" => ValveState::Forward,
            "D" => ValveState::Divert,
            "T" => ValveState::Travel,
            "U" => ValveState::Unknown,
            other => panic!("{other:?} is no valve position"),
        };
        let Ok(seconds) = seconds.parse::<f64>() else { panic!("{seconds:?} is no time") };
        let at = (seconds * 1000.0).round() as i64;
        rows.push(row(at - last, valve, cell(temperature), cell(differential)));
        last = at;
    }
    specimen(units, plant, rows)
}
