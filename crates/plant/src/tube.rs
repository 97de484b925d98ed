//! The holding tube: certified by a test, known by its geometry, or both.
//!
//! A certificate says that at the test flow the holding time was so long; the product of the two
//! is the tube's effective volume, which already accounts for the fastest particle. A geometry
//! gives the same by way of the Reynolds number and the ratio of the greatest to the mean
//! velocity.

use chrono::NaiveDate;
use std::cmp::Ordering;
use trace::{Decimal, Duration, FlowUnit, Ratio, Unit, power_of_ten};

/// A volume flow with its unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Flow {
    /// The figure, greater than 0.
    pub value: Decimal,
    /// Its unit.
    pub unit: FlowUnit,
}

impl Flow {
    /// The flow in `unit`, as the nearest binary number.
    pub fn in_unit(self, unit: FlowUnit) -> f64 {
        self.unit.convert(self.value.to_f64(), unit)
    }

    /// The flow in `unit`, exactly.
    pub fn exactly_in(self, unit: FlowUnit) -> Ratio {
        let value = Ratio::from(self.value);
        if self.unit == unit {
            return value;
        }
        let (own, other) = (self.unit.litres_per_hour(), unit.litres_per_hour());
        // The two units first and in lowest terms: their product with nine digits and a scale of
        // 18 then still fits.
        let factor = lowest_terms(
            own.numerator() * other.denominator(),
            own.denominator() * other.numerator(),
        );
        Ratio::new(
            value.numerator() * factor.numerator(),
            value.denominator() * factor.denominator(),
        )
    }
}

/// The fraction with nothing left to cancel; both figures are greater than 0.
fn lowest_terms(numerator: i128, denominator: i128) -> Ratio {
    let (mut divisor, mut rest) = (numerator, denominator);
    while rest != 0 {
        (divisor, rest) = (rest, divisor % rest);
    }
    Ratio::new(numerator / divisor, denominator / divisor)
}

/// A holding tube certified by a test: at `test_flow` the holding time was `test_time`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Certificate {
    /// The flow during the test.
    pub test_flow: Flow,
    /// The holding time that the test found, greater than 0.
    pub test_time: Duration,
    /// The date of the test, as the plant writes it.
    pub tested_on: Option<String>,
    /// Who tested.
    pub tested_by: Option<String>,
}

impl Certificate {
    /// The date of the test; `None` where the plant does not state it as a date.
    pub fn tested_date(&self) -> Option<NaiveDate> {
        NaiveDate::parse_from_str(self.tested_on.as_deref()?.trim(), "%Y-%m-%d").ok()
    }

    /// What the test found, as it is written in a register of tests: `16.2 s at 50 gal/min`.
    pub fn figure(&self) -> String {
        let (mut seconds, mut scale) = (self.test_time.milliseconds(), 3);
        while scale > 0 && seconds % 10 == 0 {
            (seconds, scale) = (seconds / 10, scale - 1);
        }
        let Flow { value, unit } = self.test_flow;
        format!("{} s at {value} {}", Decimal::new(seconds, scale), unit.symbol())
    }

    /// What is written so; `None` of any other text, as of one that does not say the flow.
    pub fn read(figure: &str) -> Option<Self> {
        let (time, flow) = figure.split_once(" at ")?;
        let (seconds, word) = number_and_word(time)?;
        let divisor = power_of_ten(seconds.scale());
        let scaled = seconds.mantissa() * 1000;
        if word != "s" || scaled % divisor != 0 {
            return None;
        }
        let (value, word) = number_and_word(flow)?;
        let test_flow = Flow { value, unit: FlowUnit::from_word(word)? };
        let test_time = Duration::from_milliseconds(scaled / divisor);
        Some(Self { test_flow, test_time, tested_on: None, tested_by: None })
    }

    /// Whether the tube holds product for less time by this test than by another, at any flow: the volumes are
    /// compared.
    pub fn holds_against(&self, other: &Self) -> Ordering {
        let volume = |one: &Self| {
            let flow = one.test_flow.exactly_in(FlowUnit::LitrePerHour);
            let time = i128::from(one.test_time.milliseconds());
            flow.numerator().saturating_mul(time) / flow.denominator()
        };
        volume(self).cmp(&volume(other))
    }
}

/// A figure above 0 of at most nine digits, and the word behind it.
fn number_and_word(text: &str) -> Option<(Decimal, &str)> {
    let text = text.trim();
    let end = text.find(|one: char| !(one.is_ascii_digit() || one == '.'))?;
    let value: Decimal = text[..end].parse().ok()?;
    let is_usual = Decimal::ZERO < value && value.mantissa() < 1_000_000_000 && value.scale() <= 9;
    is_usual.then(|| (value, text[end..].trim()))
}

/// The date so many calendar months after another; `None` beyond the calendar.
pub fn months_after(date: NaiveDate, months: u32) -> Option<NaiveDate> {
    date.checked_add_months(chrono::Months::new(months))
}

/// A straight round holding tube and the product in it. All figures are greater than 0.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Geometry {
    /// Length in metres.
    pub length_metres: f64,
    /// Inner diameter in metres.
    pub inner_diameter_metres: f64,
    /// Density of the product in kg/m³ at holding temperature.
    pub density_kilograms_per_cubic_metre: f64,
    /// Dynamic viscosity of the product in Pa·s at holding temperature.
    pub viscosity_pascal_seconds: f64,
}

impl Geometry {
    /// The tube's volume in litres.
    pub fn litres(&self) -> f64 {
        self.area() * self.length_metres * 1000.0
    }

    /// The tube's cross section in m².
    fn area(&self) -> f64 {
        std::f64::consts::PI / 4.0 * self.inner_diameter_metres * self.inner_diameter_metres
    }

    /// The mean velocity in m/s at a flow in L/h.
    pub fn mean_velocity(&self, litres_per_hour: f64) -> f64 {
        litres_per_hour / 3_600_000.0 / self.area()
    }

    /// Re = ρ v D / μ at a flow in L/h.
    pub fn reynolds(&self, litres_per_hour: f64) -> f64 {
        self.density_kilograms_per_cubic_metre
            * self.mean_velocity(litres_per_hour)
            * self.inner_diameter_metres
            / self.viscosity_pascal_seconds
    }

    /// The volume in litres that passes while the fastest particle is in the tube, at a flow in
    /// L/h: the tube's volume over the ratio of greatest to mean velocity.
    pub fn effective_litres(&self, litres_per_hour: f64) -> f64 {
        self.litres() / velocity_ratio(self.reynolds(litres_per_hour))
    }
}

/// The ratio of the greatest to the mean velocity in a tube: 2.0 when laminar, below Re 4000;
/// 1.33 at Re 4000, falling to 1.25 at Re 20 000 and staying there, a straight line between.
///
/// Source: a dairy heat-treatment criteria document of unconfirmed origin (excerpt seen).
pub fn velocity_ratio(reynolds: f64) -> f64 {
    if reynolds < 4000.0 {
        2.0
    } else if reynolds < 20_000.0 {
        1.33 + (1.25 - 1.33) * (reynolds - 4000.0) / 16_000.0
    } else {
        1.25
    }
}

/// What the plant knows of its holding tube.
///
/// ```
/// use plant::{Certificate, Flow, Tube};
/// use trace::{Decimal, Duration, FlowUnit};
///
/// let test_flow = Flow { value: Decimal::whole(50), unit: FlowUnit::GallonPerMinute };
/// let tube = Tube::Certified(Certificate {
///     test_flow,
///     test_time: Duration::from_milliseconds(16_200),
///     tested_on: Some("2026-01-12".to_owned()),
///     tested_by: None,
/// });
/// // At the flow of the test product stays as long as the test found: 13.5 gallons fit.
/// let certificate = tube.certificate().expect("it was tested");
/// let gallons = certificate.test_flow.in_unit(FlowUnit::GallonPerMinute) / 60.0
///     * certificate.test_time.seconds();
/// assert!((gallons - 13.5).abs() < 1e-9);
/// assert!(tube.geometry().is_none(), "nobody measured it");
/// ```
#[derive(Debug, Clone, PartialEq)]
pub enum Tube {
    /// A test.
    Certified(Certificate),
    /// Its measures.
    Measured(Geometry),
    /// Both: the certificate holds, the measures are compared with it.
    Both(Certificate, Geometry),
}

impl Tube {
    /// The certificate, where there is one.
    pub const fn certificate(&self) -> Option<&Certificate> {
        match self {
            Self::Certified(certificate) | Self::Both(certificate, _) => Some(certificate),
            Self::Measured(_) => None,
        }
    }

    /// The measures, where they are known.
    pub const fn geometry(&self) -> Option<&Geometry> {
        match self {
            Self::Measured(geometry) | Self::Both(_, geometry) => Some(geometry),
            Self::Certified(_) => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Arithmetic: 10 000 L/h, inner 72.9 mm, 15 m, 1004 kg/m³, 0.6 mPa·s give 0.6655 m/s,
    /// Re 81 200, mean 22.5 s, fastest 18.0 s.
    #[test]
    fn the_worked_case() {
        let tube = Geometry {
            length_metres: 15.0,
            inner_diameter_metres: 0.0729,
            density_kilograms_per_cubic_metre: 1004.0,
            viscosity_pascal_seconds: 0.0006,
        };
        let flow = 10_000.0;
        assert!((tube.mean_velocity(flow) - 0.6655).abs() < 5e-5);
        assert!((tube.reynolds(flow) - 81_200.0).abs() < 50.0);
        let seconds = |litres: f64| litres / flow * 3600.0;
        assert!((seconds(tube.litres()) - 22.5).abs() < 0.05);
        assert!((seconds(tube.effective_litres(flow)) - 18.0).abs() < 0.05);
    }

    #[test]
    fn a_date_that_is_none_is_not_known() {
        for (text, known) in [
            (Some("2026-01-14"), true),
            (Some(" 2026-01-14 "), true),
            (Some("14.1.2026"), false),
            (None, false),
        ] {
            let certificate = Certificate {
                test_flow: Flow { value: Decimal::whole(1), unit: FlowUnit::LitrePerHour },
                test_time: Duration::from_seconds(16),
                tested_on: text.map(str::to_owned),
                tested_by: None,
            };
            let expected = if known { NaiveDate::from_ymd_opt(2026, 1, 14) } else { None };
            assert_eq!(certificate.tested_date(), expected, "{text:?}");
        }
    }

    #[test]
    fn the_figure_of_a_test_is_a_time_and_its_flow() {
        for (text, written) in [
            ("16.2 s at 50 gal/min", "16.2 s at 50 gal/min"),
            (" 16.20s at 11356 L/h ", "16.2 s at 11356 L/h"),
            ("75 s at 0.5 m3/h", "75 s at 0.5 m\u{b3}/h"),
        ] {
            assert_eq!(Certificate::read(text).map(|one| one.figure()).as_deref(), Some(written));
        }
        for text in [
            "",
            "16.2 s",
            "16.2 s at",
            "16,2 s at 50 gal/min",
            "0 s at 50 gal/min",
            "1 s at 0 L/h",
            "16.2 min at 50 gal/min",
            "16.2 s at 50 psi",
            "1.0001 s at 50 L/h",
            "-1 s at 50 L/h",
        ] {
            assert_eq!(Certificate::read(text), None, "{text}");
        }
    }

    #[test]
    fn two_tests_are_compared_by_the_volume_that_they_found() {
        let of = |one: &str, other: &str| match (Certificate::read(one), Certificate::read(other)) {
            (Some(one), Some(other)) => one.holds_against(&other),
            _ => panic!("{one}, {other}"),
        };
        assert_eq!(of("16.2 s at 50 gal/min", "32.4 s at 25 gal/min"), Ordering::Equal);
        assert_eq!(of("16.199 s at 50 gal/min", "16.2 s at 50 gal/min"), Ordering::Less);
        assert_eq!(of("16.2 s at 50.01 gal/min", "16.2 s at 50 gal/min"), Ordering::Greater);
        // 50 gal/min is 11356.2 L/h.
        assert_eq!(of("16.2 s at 11356 L/h", "16.2 s at 50 gal/min"), Ordering::Less);
        assert_eq!(of("16.2 s at 11357 L/h", "16.2 s at 50 gal/min"), Ordering::Greater);
    }

    /// The velocity ratios as printed in the criteria document (excerpt seen).
    #[test]
    fn the_printed_velocity_ratios() {
        for (reynolds, ratio) in
            [(3999.0, 2.0), (4000.0, 1.33), (12_000.0, 1.29), (20_000.0, 1.25), (1e6, 1.25)]
        {
            assert!((velocity_ratio(reynolds) - ratio).abs() < 1e-12, "{reynolds}");
        }
    }

    /// PMO Appendix I, test 11.3 (not verified): 1 gal/s for 1 s needs 168.0, 105.0
    /// and 71.4 in of 2, 2.5 and 3 in tube (inner 1.87, 2.37, 2.87 in) in laminar flow. Arithmetic
    /// gives 168.1, 104.7 and 71.4, so the printed figures hold within half an inch.
    #[test]
    fn the_laminar_lengths() {
        let inch = 0.0254;
        for (inner, length) in [(1.87, 168.0), (2.37, 105.0), (2.87, 71.4)] {
            let tube = Geometry {
                length_metres: length * inch,
                inner_diameter_metres: inner * inch,
                density_kilograms_per_cubic_metre: 1000.0,
                // Thick enough to be laminar.
                viscosity_pascal_seconds: 10.0,
            };
            let flow = FlowUnit::GallonPerHour.convert(3600.0, FlowUnit::LitrePerHour);
            let seconds = tube.effective_litres(flow) / flow * 3600.0;
            assert!((seconds - 1.0).abs() < 0.5 / length, "{inner}: {seconds}");
        }
    }
}
