//! Limits with their printed figures and their source.
//!
//! 161 °F is 71.67 °C, yet the regulation prints 72 °C beside it: a reading of 71.8 °C passes the
//! one and fails the other. So a limit from a regulation keeps each printed figure and uses the
//! one for the channel's unit; only a limit that has a single figure is converted, exactly.

use trace::{Decimal, PressureUnit, Ratio, TemperatureUnit};

/// How well a source is known to the people who entered it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Provenance {
    /// The text was read when the figure was entered.
    Seen,
    /// A text that reproduces or cites it was read.
    SeenSecondary,
    /// Entered from memory; nobody has compared it with its source.
    Memory,
    /// A fact of the trade without a single source.
    CommonPractice,
    /// A choice of this program, where neither law nor trade gives a figure.
    Ours,
    /// The plant's own figure.
    Plant,
}

impl Provenance {
    /// A few words that follow a citation.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Seen => "text read",
            Self::SeenSecondary => "read in a secondary text",
            Self::Memory => "not verified",
            Self::CommonPractice => "common practice",
            Self::Ours => "chosen by this program",
            Self::Plant => "set by the plant",
        }
    }
}

/// Where a limit comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Source {
    /// The citation.
    pub citation: String,
    /// How well it is known.
    pub provenance: Provenance,
}

impl Source {
    /// A source from its two parts.
    pub fn new(citation: impl Into<String>, provenance: Provenance) -> Self {
        Self { citation: citation.into(), provenance }
    }

    /// What a plant sets without saying who asks for it.
    pub fn plant() -> Self {
        Self::new("", Provenance::Plant)
    }

    /// Citation and provenance as they are printed beside a limit.
    ///
    /// A plant's own figure is always said to be the plant's, so that a citation that looks like
    /// a built-in one is never read as if the code said the figure.
    pub fn in_words(&self) -> String {
        let Self { citation, provenance } = self;
        match (provenance, citation.trim()) {
            (Provenance::Plant, "") => provenance.name().to_owned(),
            (Provenance::Plant, cited) => format!("{}, which cites: {cited}", provenance.name()),
            (_, "") => format!("built in; {}", provenance.name()),
            (_, cited) => format!("{cited} (built in; {})", provenance.name()),
        }
    }
}

/// A floor for the holding temperature.
///
/// Each channel is compared in its own unit, with the figure that the regulation prints for it:
///
/// ```
/// use plant::TemperatureLimit;
/// use trace::{Decimal, Ratio, TemperatureUnit};
///
/// let milk = TemperatureLimit::Printed {
///     fahrenheit: Decimal::whole(161),
///     celsius: Decimal::whole(72),
/// };
/// assert_eq!(milk.figure(TemperatureUnit::Celsius).decimal_not_below(2), Decimal::whole(72));
/// // A plant's own figure is converted exactly: 161 °F is 71.666… °C.
/// let own = TemperatureLimit::Single(Decimal::whole(161), TemperatureUnit::Fahrenheit);
/// assert_eq!(own.figure(TemperatureUnit::Celsius).decimal_not_below(2), Decimal::new(7167, 2));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TemperatureLimit {
    /// A regulation that prints both figures.
    Printed {
        /// °F as printed.
        fahrenheit: Decimal,
        /// °C as printed.
        celsius: Decimal,
    },
    /// One figure in one unit; the other unit is an exact conversion.
    Single(Decimal, TemperatureUnit),
}

impl TemperatureLimit {
    /// The figure that holds for a channel in `unit`.
    pub fn figure(self, unit: TemperatureUnit) -> Ratio {
        match (self, unit) {
            (Self::Printed { fahrenheit, .. }, TemperatureUnit::Fahrenheit) => fahrenheit.into(),
            (Self::Printed { celsius, .. }, TemperatureUnit::Celsius) => celsius.into(),
            (Self::Single(value, own), unit) => own.convert_exactly(value.into(), unit),
        }
    }
}

/// A floor for pasteurized minus raw.
///
/// ```
/// use plant::PressureLimit;
/// use trace::{Decimal, PressureUnit};
///
/// let limit =
///     PressureLimit::Printed { psi: Decimal::whole(2), kilopascal: Decimal::whole(14) };
/// assert_eq!(limit.figure(PressureUnit::Bar).decimal_not_below(2), Decimal::new(14, 2));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PressureLimit {
    /// A text that prints both figures.
    Printed {
        /// psi as printed.
        psi: Decimal,
        /// kPa as printed; in bar, mbar and MPa the same figure with the mark moved.
        kilopascal: Decimal,
    },
    /// One figure in one unit; the other units are exact conversions.
    Single(Decimal, PressureUnit),
}

impl PressureLimit {
    /// The figure that holds for a channel in `unit`.
    pub fn figure(self, unit: PressureUnit) -> Ratio {
        match (self, unit) {
            (Self::Printed { psi, .. }, PressureUnit::Psi) => psi.into(),
            (Self::Printed { kilopascal, .. }, unit) => {
                PressureUnit::Kilopascal.convert_exactly(kilopascal.into(), unit)
            }
            (Self::Single(value, own), unit) => own.convert_exactly(value.into(), unit),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn printed_figures_are_used_as_printed() {
        // 21 CFR 1240.61(b): 161 °F (72 °C).
        let milk = TemperatureLimit::Printed {
            fahrenheit: Decimal::whole(161),
            celsius: Decimal::whole(72),
        };
        assert_eq!(milk.figure(TemperatureUnit::Fahrenheit).floor_mantissa(1), 1610);
        assert_eq!(milk.figure(TemperatureUnit::Celsius).floor_mantissa(1), 720);
    }

    #[test]
    fn single_figures_are_converted_exactly() {
        let own = TemperatureLimit::Single(Decimal::whole(160), TemperatureUnit::Fahrenheit);
        // 71.1 °C is 159.98 °F and short; 71.2 °C is 160.16 °F and legal.
        assert_eq!(own.figure(TemperatureUnit::Celsius).floor_mantissa(1), 712);
        let metric = TemperatureLimit::Single(Decimal::new(725, 1), TemperatureUnit::Celsius);
        // 72.5 × 1.8 + 32 = 162.5, exactly.
        assert_eq!(metric.figure(TemperatureUnit::Fahrenheit).floor_mantissa(1), 1625);
    }

    #[test]
    fn pressures_move_the_mark_or_convert() {
        let printed =
            PressureLimit::Printed { psi: Decimal::whole(2), kilopascal: Decimal::whole(14) };
        for (unit, scale, mantissa) in [
            (PressureUnit::Psi, 1, 20),
            (PressureUnit::Kilopascal, 1, 140),
            (PressureUnit::Bar, 2, 14),
            (PressureUnit::Millibar, 0, 140),
            (PressureUnit::Megapascal, 3, 14),
        ] {
            assert_eq!(printed.figure(unit).floor_mantissa(scale), mantissa, "{unit:?}");
        }
        let own = PressureLimit::Single(Decimal::whole(2), PressureUnit::Psi);
        // 2 × 6.894757 = 13.789514.
        assert_eq!(own.figure(PressureUnit::Kilopascal).floor_mantissa(6), 13_789_514);
        let own = PressureLimit::Single(Decimal::new(14, 2), PressureUnit::Bar);
        // 14/6.894757 = 2.0305…
        assert_eq!(own.figure(PressureUnit::Psi).floor_mantissa(3), 2031);
    }
}
