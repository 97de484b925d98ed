//! A figure of a record that is no sample any more, and the units in which a person wants to see it.
//! Tables and the pages to file carry figures as they were recorded.

use serde::{Deserialize, Serialize};
use trace::{PressureUnit, TemperatureUnit, Unit as _};

/// A figure with the symbol of its unit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Figure {
    /// The figure.
    pub value: f64,
    /// The symbol of its unit.
    pub unit: String,
}

/// What a figure is, as far as another unit makes a difference.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A temperature or a pressure.
    Reading,
    /// How far two of them are apart, or a change: degrees without their zero.
    Difference,
}

/// The units in which figures are shown; `None` as they were recorded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct ShownIn {
    /// For temperatures.
    pub temperature: Option<TemperatureUnit>,
    /// For pressures.
    pub pressure: Option<PressureUnit>,
}

impl ShownIn {
    /// A value in the unit of a symbol as it is shown, and the symbol shown.
    pub fn convert(self, value: f64, symbol: &str, kind: Kind) -> (f64, &str) {
        let temperature = TemperatureUnit::from_word(symbol).zip(self.temperature);
        let pressure = PressureUnit::from_word(symbol).zip(self.pressure);
        match (temperature, pressure) {
            (Some((from, to)), _) => {
                let converted = match kind {
                    Kind::Reading => from.convert(value, to),
                    Kind::Difference => from.convert_difference(value, to),
                };
                (converted, to.symbol())
            }
            (None, Some((from, to))) => (from.convert(value, to), to.symbol()),
            (None, None) => (value, symbol),
        }
    }
}

impl Figure {
    pub(crate) fn new(value: f64, unit: &str) -> Self {
        Self { value, unit: unit.to_owned() }
    }

    /// The same as it is shown.
    pub fn shown_in(&self, units: ShownIn, kind: Kind) -> Self {
        let (value, unit) = units.convert(self.value, &self.unit, kind);
        Self::new(value, unit)
    }

    /// The figure with its sign and unit: `+2.1 °F`.
    pub fn signed(&self) -> String {
        format!("{} {}", case::signed(self.value, digits(&self.unit)), self.unit)
    }
}

/// So many decimal places that a tenth of a degree or of a psi shows.
pub(crate) fn digits(symbol: &str) -> usize {
    match PressureUnit::from_word(symbol) {
        Some(PressureUnit::Bar) => 2,
        Some(PressureUnit::Megapascal) => 4,
        Some(PressureUnit::Psi | PressureUnit::Kilopascal | PressureUnit::Millibar) | None => 1,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Degrees and degrees apart differ by the zero: NIST SP 811 (2008), App. B.8; 1 psi is 6.894 757
    /// kPa there (both from memory, high confidence).
    #[test]
    fn a_difference_has_no_zero() {
        let metric = ShownIn {
            temperature: Some(TemperatureUnit::Celsius),
            pressure: Some(PressureUnit::Kilopascal),
        };
        for (value, symbol, kind, shown) in [
            (161.6, "°F", Kind::Reading, "+72.0 °C"),
            (-11.7, "°F", Kind::Difference, "\u{2212}6.5 °C"),
            (-6.5, "°C", Kind::Difference, "\u{2212}6.5 °C"),
            (2.0, "psi", Kind::Difference, "+13.8 kPa"),
            (0.14, "bar", Kind::Reading, "+14.0 kPa"),
            (88.7, "%", Kind::Reading, "+88.7 %"),
        ] {
            let figure = Figure::new(value, symbol);
            assert_eq!(figure.shown_in(metric, kind).signed(), shown, "{value} {symbol}");
            assert_eq!(figure.shown_in(ShownIn::default(), kind), figure, "as recorded");
        }
        let back = ShownIn { temperature: Some(TemperatureUnit::Fahrenheit), pressure: None };
        let figure = Figure::new(-6.5, "°C").shown_in(back, Kind::Difference);
        assert_eq!(figure.signed(), "\u{2212}11.7 °F");
    }

    /// 0.02 bar short of 0.14 bar is 0.3 psi, and was printed as nothing.
    #[test]
    fn a_tenth_of_a_psi_shows_in_every_unit() {
        for (value, symbol, shown) in [
            (-0.02, "bar", "\u{2212}0.02 bar"),
            (-0.0021, "MPa", "\u{2212}0.0021 MPa"),
            (-0.3, "psi", "\u{2212}0.3 psi"),
        ] {
            assert_eq!(Figure::new(value, symbol).signed(), shown);
        }
    }
}
