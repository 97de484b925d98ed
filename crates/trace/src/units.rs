//! The units in which loggers record, as types: a pressure can't be in degrees.
//!
//! Words are recognised generously (`°F`, `degF`, `F`). The factors between units stand here and
//! nowhere else: a reading is compared in the unit in which it was recorded, so limits are converted,
//! exactly (`convert_exactly`), and only what is shown is converted in binary (`convert`).

use crate::decimal::Ratio;
use std::fmt;

/// What the unit types have in common.
pub trait Unit: Copy + Eq + fmt::Debug + Send + Sync + 'static {
    /// The symbol, as printed: `°F`, `psi`, `L/h`.
    fn symbol(self) -> &'static str;

    /// The word at the end of a column's name, which [`Unit::from_word`] understands: `degf`, `psi`,
    /// `lph`.
    fn column_word(self) -> &'static str;

    /// The unit that a word names, whatever its case and surrounding brackets or blanks.
    fn from_word(word: &str) -> Option<Self>;
}

/// Lower case, without blanks and the usual brackets, so that `[ Deg F ]` is `degf`.
fn bare(word: &str) -> String {
    word.chars()
        .filter(|character| !character.is_whitespace() && !"[](){}.".contains(*character))
        .flat_map(char::to_lowercase)
        .collect()
}

/// Degrees Fahrenheit or Celsius.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum TemperatureUnit {
    /// °F
    Fahrenheit,
    /// °C
    Celsius,
}

impl Unit for TemperatureUnit {
    fn symbol(self) -> &'static str {
        match self {
            Self::Fahrenheit => "°F",
            Self::Celsius => "°C",
        }
    }

    fn column_word(self) -> &'static str {
        match self {
            Self::Fahrenheit => "degf",
            Self::Celsius => "degc",
        }
    }

    fn from_word(word: &str) -> Option<Self> {
        match bare(word).as_str() {
            // U+00BA, the ordinal sign, stands for the degree sign in many exports.
            "°f" | "\u{ba}f" | "degf" | "deg_f" | "f" | "fahrenheit" => Some(Self::Fahrenheit),
            "°c" | "\u{ba}c" | "degc" | "deg_c" | "c" | "celsius" => Some(Self::Celsius),
            _ => None,
        }
    }
}

impl TemperatureUnit {
    /// One degree and the zero of this unit in fifths of a degree Fahrenheit, which hold the decimals
    /// of both units exactly: (°F − 32)/1.8 = °C by definition (NIST SP 811 (2008), App. B.8).
    pub const fn in_fifths_of_fahrenheit(self) -> (i128, i128) {
        match self {
            Self::Fahrenheit => (5, 0),
            Self::Celsius => (9, 160),
        }
    }

    /// One degree of this unit, as a difference, in degrees of `other`.
    pub const fn per_degree(self, other: Self) -> Ratio {
        Ratio::new(self.in_fifths_of_fahrenheit().0, other.in_fifths_of_fahrenheit().0)
    }

    /// A temperature in this unit, exactly, in `other`.
    pub fn convert_exactly(self, value: Ratio, other: Self) -> Ratio {
        if self == other {
            return value;
        }
        let (degree, zero) = self.in_fifths_of_fahrenheit();
        let (other_degree, other_zero) = other.in_fifths_of_fahrenheit();
        let (numerator, denominator) = (value.numerator(), value.denominator());
        Ratio::new(
            numerator * degree + (zero - other_zero) * denominator,
            denominator * other_degree,
        )
    }

    /// A temperature in this unit, for display in `other`.
    pub fn convert(self, value: f64, other: Self) -> f64 {
        match (self, other) {
            (Self::Fahrenheit, Self::Celsius) => (value - 32.0) / 1.8,
            (Self::Celsius, Self::Fahrenheit) => value * 1.8 + 32.0,
            _ => value,
        }
    }

    /// A difference of two temperatures in this unit, for display in `other`: without the zero.
    pub fn convert_difference(self, value: f64, other: Self) -> f64 {
        self.convert(value, other) - self.convert(0.0, other)
    }
}

/// Pounds per square inch, or a metric unit that is a power of ten of the kilopascal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum PressureUnit {
    /// psi
    Psi,
    /// kPa
    Kilopascal,
    /// bar: 100 kPa
    Bar,
    /// mbar: 0.1 kPa
    Millibar,
    /// MPa: 1000 kPa
    Megapascal,
}

impl Unit for PressureUnit {
    fn symbol(self) -> &'static str {
        match self {
            Self::Psi => "psi",
            Self::Kilopascal => "kPa",
            Self::Bar => "bar",
            Self::Millibar => "mbar",
            Self::Megapascal => "MPa",
        }
    }

    fn column_word(self) -> &'static str {
        match self {
            Self::Psi => "psi",
            Self::Kilopascal => "kpa",
            Self::Bar => "bar",
            Self::Millibar => "mbar",
            Self::Megapascal => "mpa",
        }
    }

    fn from_word(word: &str) -> Option<Self> {
        match bare(word).as_str() {
            "psi" | "psig" | "psid" | "lb/in2" | "lb/in²" | "lbf/in2" => Some(Self::Psi),
            "kpa" | "kpag" => Some(Self::Kilopascal),
            "bar" | "barg" => Some(Self::Bar),
            "mbar" => Some(Self::Millibar),
            "mpa" => Some(Self::Megapascal),
            _ => None,
        }
    }
}

impl PressureUnit {
    /// One unit in kilopascals. 1 psi = 6.894757 kPa as printed in NIST SP 811 (2008), App. B.8
    /// (value from memory, high confidence), taken as exact.
    const fn kilopascals(self) -> Ratio {
        match self {
            Self::Psi => Ratio::new(6_894_757, 1_000_000),
            Self::Kilopascal => Ratio::new(1, 1),
            Self::Bar => Ratio::new(100, 1),
            Self::Millibar => Ratio::new(1, 10),
            Self::Megapascal => Ratio::new(1000, 1),
        }
    }

    /// A pressure in this unit, exactly, in `other`.
    pub fn convert_exactly(self, value: Ratio, other: Self) -> Ratio {
        if self == other {
            value
        } else {
            value.times(self.kilopascals()).over(other.kilopascals())
        }
    }

    /// A pressure in this unit, for display in `other`.
    pub fn convert(self, value: f64, other: Self) -> f64 {
        if self == other {
            return value;
        }
        value * self.kilopascals().to_f64() / other.kilopascals().to_f64()
    }
}

/// Volume flow.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum FlowUnit {
    /// L/h
    LitrePerHour,
    /// L/min
    LitrePerMinute,
    /// m³/h
    CubicMetrePerHour,
    /// US gallons a minute
    GallonPerMinute,
    /// US gallons an hour
    GallonPerHour,
}

/// 1 US gallon in litres: 231 in³ at 2.54 cm to the inch, exact.
const LITRE_PER_GALLON: (i128, i128) = (3_785_411_784, 1_000_000_000);

impl Unit for FlowUnit {
    fn symbol(self) -> &'static str {
        match self {
            Self::LitrePerHour => "L/h",
            Self::LitrePerMinute => "L/min",
            Self::CubicMetrePerHour => "m³/h",
            Self::GallonPerMinute => "gal/min",
            Self::GallonPerHour => "gal/h",
        }
    }

    fn column_word(self) -> &'static str {
        match self {
            Self::LitrePerHour => "lph",
            Self::LitrePerMinute => "lpm",
            Self::CubicMetrePerHour => "cmh",
            Self::GallonPerMinute => "gpm",
            Self::GallonPerHour => "gph",
        }
    }

    fn from_word(word: &str) -> Option<Self> {
        match bare(word).as_str() {
            "l/h" | "lph" | "l/hr" | "litre/h" | "liter/h" => Some(Self::LitrePerHour),
            "l/min" | "lpm" => Some(Self::LitrePerMinute),
            "m³/h" | "m3/h" | "m^3/h" | "cmh" => Some(Self::CubicMetrePerHour),
            "gal/min" | "gpm" | "usgpm" => Some(Self::GallonPerMinute),
            "gal/h" | "gph" | "gal/hr" => Some(Self::GallonPerHour),
            _ => None,
        }
    }
}

impl FlowUnit {
    /// The unit in which volumes that passed at this flow are reported.
    pub const fn volume(self) -> VolumeUnit {
        match self {
            Self::LitrePerHour | Self::LitrePerMinute | Self::CubicMetrePerHour => {
                VolumeUnit::Litre
            }
            Self::GallonPerMinute | Self::GallonPerHour => VolumeUnit::Gallon,
        }
    }

    /// How many [`Self::volume`] units pass in a millisecond at one unit of this flow.
    pub fn volume_per_millisecond(self) -> f64 {
        match self {
            Self::LitrePerHour | Self::GallonPerHour => 1.0 / 3_600_000.0,
            Self::LitrePerMinute | Self::GallonPerMinute => 1.0 / 60_000.0,
            Self::CubicMetrePerHour => 1000.0 / 3_600_000.0,
        }
    }

    /// One unit of this flow in litres an hour, exactly.
    pub const fn litres_per_hour(self) -> Ratio {
        match self {
            Self::LitrePerHour => Ratio::new(1, 1),
            Self::LitrePerMinute => Ratio::new(60, 1),
            Self::CubicMetrePerHour => Ratio::new(1000, 1),
            Self::GallonPerMinute => Ratio::new(60 * LITRE_PER_GALLON.0, LITRE_PER_GALLON.1),
            Self::GallonPerHour => Ratio::new(LITRE_PER_GALLON.0, LITRE_PER_GALLON.1),
        }
    }

    /// A flow in this unit, for display or for comparison with a figure in `other`.
    pub fn convert(self, value: f64, other: Self) -> f64 {
        if self == other {
            return value;
        }
        value * self.litres_per_hour().to_f64() / other.litres_per_hour().to_f64()
    }
}

/// Volume of product.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum VolumeUnit {
    /// L
    Litre,
    /// US gallon
    Gallon,
}

impl VolumeUnit {
    /// The symbol, as printed.
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Litre => "L",
            Self::Gallon => "gal",
        }
    }

    /// A volume in this unit, for display or for comparison with a figure in `other`.
    pub fn convert(self, value: f64, other: Self) -> f64 {
        let litres = LITRE_PER_GALLON.0 as f64 / LITRE_PER_GALLON.1 as f64;
        match (self, other) {
            (Self::Gallon, Self::Litre) => value * litres,
            (Self::Litre, Self::Gallon) => value / litres,
            _ => value,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_of_loggers_are_recognised() {
        for word in ["°F", "degF", "(Deg F)", "f", "[ºF]"] {
            assert_eq!(
                TemperatureUnit::from_word(word),
                Some(TemperatureUnit::Fahrenheit),
                "{word}"
            );
        }
        assert_eq!(PressureUnit::from_word(" PSIG "), Some(PressureUnit::Psi));
        assert_eq!(FlowUnit::from_word("m³/h"), Some(FlowUnit::CubicMetrePerHour));
        assert_eq!(PressureUnit::from_word("°F"), None);
    }

    #[test]
    fn words_of_columns_are_recognised() {
        fn comes_back<U: Unit>(units: &[U]) {
            for &unit in units {
                assert_eq!(U::from_word(unit.column_word()), Some(unit));
            }
        }
        comes_back(&[TemperatureUnit::Fahrenheit, TemperatureUnit::Celsius]);
        comes_back(&[
            PressureUnit::Psi,
            PressureUnit::Kilopascal,
            PressureUnit::Bar,
            PressureUnit::Millibar,
            PressureUnit::Megapascal,
        ]);
        comes_back(&[
            FlowUnit::LitrePerHour,
            FlowUnit::LitrePerMinute,
            FlowUnit::CubicMetrePerHour,
            FlowUnit::GallonPerMinute,
            FlowUnit::GallonPerHour,
        ]);
    }

    #[test]
    fn display_conversions_go_both_ways() {
        assert!(
            (TemperatureUnit::Fahrenheit.convert(161.0, TemperatureUnit::Celsius) - 71.6667).abs()
                < 1e-4
        );
        assert!(
            (PressureUnit::Psi.convert(2.0, PressureUnit::Kilopascal) - 13.789_514).abs() < 1e-9
        );
        assert!(
            (FlowUnit::GallonPerMinute.convert(1.0, FlowUnit::LitrePerMinute) - 3.785_411_784)
                .abs()
                < 1e-12
        );
        assert!((VolumeUnit::Litre.convert(3.785_411_784, VolumeUnit::Gallon) - 1.0).abs() < 1e-12);
        assert!((VolumeUnit::Gallon.convert(2.0, VolumeUnit::Litre) - 7.570_823_568).abs() < 1e-9);
        assert!(
            (FlowUnit::CubicMetrePerHour.convert(6.0, FlowUnit::LitrePerHour) - 6000.0).abs()
                < 1e-9
        );
    }
}
