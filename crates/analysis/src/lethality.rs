//! Lethality: what the heat did, for information. It never excuses an exception.
//!
//! Kessler's P* compares a time at a temperature with 15 s at 72 °C; log₁₀ reductions follow from
//! an organism's decimal reduction time D and its z (method, section 7).

use crate::context::Context;
use plant::{Plant, Provenance};
use trace::{Duration, FlowUnit, Instant, RunRecord, TemperatureUnit};

/// The sentence that stands wherever lethality is shown.
pub const LETHALITY_CAUTION: &str = "Lethality informs; it never excuses an exception. The legal pairs of time and temperature decide.";

/// An organism's heat resistance in milk.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Organism {
    /// The name.
    pub name: &'static str,
    /// The decimal reduction time in seconds.
    pub d_seconds: f64,
    /// The temperature in °C at which it was found.
    pub at_celsius: f64,
    /// The rise in °C that makes D ten times shorter; `None` where the source gives none, and D
    /// is used unchanged above its temperature only.
    pub z_celsius: Option<f64>,
    /// Where the figures come from.
    pub source: &'static str,
    /// How well the source is known.
    pub provenance: Provenance,
}

/// The organisms that are reported.
pub const ORGANISMS: &[Organism] = &[
    Organism {
        name: "Coxiella burnetii",
        d_seconds: 1.99,
        at_celsius: 71.7,
        z_celsius: None,
        source: "IAFP 2016 abstract: D 1.99 ± 0.21 s at 71.7 °C in bovine milk",
        provenance: Provenance::Seen,
    },
    Organism {
        name: "Listeria monocytogenes",
        d_seconds: 0.9,
        at_celsius: 71.7,
        z_celsius: Some(6.3),
        source: "Bradshaw et al. 1985, J. Food Prot. 48:743–745",
        provenance: Provenance::Seen,
    },
    Organism {
        name: "Mycobacterium avium ssp. paratuberculosis",
        d_seconds: 5.9,
        at_celsius: 66.0,
        z_celsius: Some(8.6),
        source: "Pearce et al. 2001, Appl. Environ. Microbiol. 67:3964–3969",
        provenance: Provenance::Seen,
    },
];

impl Organism {
    /// D in seconds at a temperature; `None` below the only temperature that the source gives.
    pub fn d_at(&self, celsius: f64) -> Option<f64> {
        match self.z_celsius {
            Some(z) => Some(self.d_seconds * ten_to((self.at_celsius - celsius) / z)),
            None => (celsius >= self.at_celsius).then_some(self.d_seconds),
        }
    }

    /// The log₁₀ reduction after a time at a temperature; where D is known at one temperature only,
    /// at least so much.
    pub fn log_reduction(&self, celsius: f64, seconds: f64) -> Option<f64> {
        self.d_at(celsius).map(|d| seconds / d)
    }
}

/// Ten to the power `exponent`, the same on every machine.
fn ten_to(exponent: f64) -> f64 {
    libm::exp10(exponent)
}

/// The rise that makes the rate of Kessler's P* ten times faster.
const KESSLER_Z_CELSIUS: f64 = 8.0;

/// P* = (τ/15 s) · 10^((T − 72 °C)/8 °C): 1 is 15 s at 72 °C (Kessler 1981, from memory, high
/// confidence).
pub fn pasteurization_units(celsius: f64, seconds: f64) -> f64 {
    seconds / 15.0 * ten_to((celsius - 72.0) / KESSLER_Z_CELSIUS)
}

/// The parcel that received the least heat.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lethality {
    /// Its P*.
    pub pasteurization_units: f64,
    /// The holding temperature at which it left, in °C.
    pub celsius: f64,
    /// How long it was held.
    pub held: Duration,
    /// Whether `held` was reckoned from the nominal flow, not from the recorded one.
    pub nominal: bool,
    /// When it left.
    pub at: Instant,
}

impl Lethality {
    /// Each organism with its log₁₀ reduction, where one can be given.
    pub fn reductions(&self) -> impl Iterator<Item = (&'static Organism, Option<f64>)> + use<> {
        let (celsius, seconds) = (self.celsius, self.held.seconds());
        ORGANISMS.iter().map(move |organism| (organism, organism.log_reduction(celsius, seconds)))
    }
}

/// The holding time at the plant's nominal flow.
pub(crate) fn nominal_time(plant: &Plant) -> Option<Duration> {
    let flow = plant.nominal_flow?.in_unit(FlowUnit::LitrePerHour);
    let litres_per_hour_seconds = match plant.tube.as_ref()? {
        plant::Tube::Certified(certificate) | plant::Tube::Both(certificate, _) => {
            certificate.test_flow.in_unit(FlowUnit::LitrePerHour) * certificate.test_time.seconds()
        }
        plant::Tube::Measured(geometry) => geometry.effective_litres(flow) * 3600.0,
    };
    let milliseconds = (litres_per_hour_seconds / flow * 1000.0).floor();
    Some(Duration::from_milliseconds(milliseconds as i64))
}

fn celsius(record: &RunRecord, sample: usize) -> Option<f64> {
    let channel = record.holding_temperature();
    channel.value(sample).map(|value| channel.unit().convert(value, TemperatureUnit::Celsius))
}

/// The parcel of least lethality among the given samples; `None` where no time or no temperature
/// is known.
pub(crate) fn least(
    context: &Context<'_>,
    samples: impl Iterator<Item = usize>,
) -> Option<Lethality> {
    let record = context.record;
    let nominal = if context.residence.is_none() { nominal_time(context.plant) } else { None };
    let mut least: Option<Lethality> = None;
    for sample in samples {
        let Some(celsius) = celsius(record, sample) else { continue };
        let time = context.residence.map_or(nominal, |residence| residence.at(sample));
        let Some(held) = time else { continue };
        // 10^x is never below its tangent 1 + x ln 10, which spares most samples the power.
        if least.is_some_and(|least| {
            let tangent =
                1.0 + std::f64::consts::LN_10 * (celsius - least.celsius) / KESSLER_Z_CELSIUS;
            held.seconds() * tangent > least.held.seconds() * (1.0 + 1e-9)
        }) {
            continue;
        }
        let units = pasteurization_units(celsius, held.seconds());
        if least.is_none_or(|least| units < least.pasteurization_units) {
            least = Some(Lethality {
                pasteurization_units: units,
                celsius,
                held,
                nominal: nominal.is_some(),
                at: record.instants()[sample],
            });
        }
    }
    least
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Kessler 1981 (from memory, high confidence; figures arithmetic).
    #[test]
    fn pasteurization_units_by_arithmetic() {
        for (celsius, seconds, units, digits) in [
            (72.0, 15.0, 1.0, 3),
            (72.0, 16.0, 1.067, 3),
            (71.7, 15.0, 0.917, 3),
            (70.0, 15.0, 0.562, 3),
            (74.0, 15.0, 1.778, 3),
            (75.0, 16.0, 2.529, 3),
            (80.0, 25.0, 16.67, 2),
            (63.0, 1800.0, 9.0, 1),
        ] {
            let found = pasteurization_units(celsius, seconds);
            let half = 0.5 * ten_to(-f64::from(digits));
            assert!((found - units).abs() <= half + 1e-9, "{celsius} {seconds}: {found}");
        }
        // 5 s each at 70, 72 and 74 °C: 1.114, and still no legal pass.
        let sum: f64 =
            [70.0, 72.0, 74.0].map(|celsius| pasteurization_units(celsius, 5.0)).iter().sum();
        assert!((sum - 1.114).abs() < 5e-4);
        // The rate relative to 72 °C with z 8 °C.
        for (celsius, rate) in [
            (68.0, 0.3162),
            (70.0, 0.5623),
            (71.0, 0.7499),
            (73.0, 1.3335),
            (75.0, 2.3714),
            (80.0, 10.0),
        ] {
            assert!((pasteurization_units(celsius, 15.0) - rate).abs() < 5e-5, "{celsius}");
        }
    }

    /// Pearce et al. 2001: D 15.0 s at 63 °C, 5.9 s at 66 °C, below 2.03 s at 72 °C, z 8.6 °C.
    #[test]
    fn paratuberculosis_at_the_other_temperatures() {
        let organism = &ORGANISMS[2];
        let d = |celsius| organism.d_at(celsius).unwrap_or(f64::NAN);
        assert!((d(66.0) - 5.9).abs() < 1e-12);
        // One z line does not go through all three points; it comes within a fifth of 15.0 s.
        assert!((d(63.0) - 15.0).abs() < 3.0, "{}", d(63.0));
        assert!(d(72.0) < 2.03);
    }

    /// Pearce et al. 2012, J. Dairy Sci. 95:20–35 (abstract seen): 15 s at 65.5 °C gave more than 6.9
    /// log₁₀ of *L. monocytogenes*; the D and z of 1985 give less, so they do not flatter.
    #[test]
    fn listeria_is_not_flattered() {
        let reduction = ORGANISMS[1].log_reduction(65.5, 15.0);
        assert!(reduction.is_some_and(|reduction| reduction < 6.9), "{reduction:?}");
        let at_limit = ORGANISMS[1].log_reduction(71.7, 15.0);
        assert!(at_limit.is_some_and(|reduction| (reduction - 16.67).abs() < 0.01));
    }

    #[test]
    fn coxiella_is_silent_below_its_only_temperature() {
        assert_eq!(ORGANISMS[0].log_reduction(71.0, 15.0), None);
        assert!(ORGANISMS[0].log_reduction(72.0, 15.0).is_some_and(|reduction| reduction > 7.5));
    }
}
