//! Certificate and measures of the holding tube contradict each other.

use super::look::{Found, Look};
use trace::{FigureKind, Definition, Duration, Rank, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "tube_contradiction",
    title: "holding tube contradicts its certificate",
    rank: Rank::Note,
    figures: &[("measured", FigureKind::Time), ("certified", FigureKind::Time)],
    sentence: "at the test flow the tube's measures give {measured}, its certificate {certified}; the certificate is used, check both",
    about: &[],
    why: "Dimensions and certificate of the tube give holding times that differ by more than a tenth, so one of the two is wrong.",
    what_to_do: "Measure the tube again, look at the certificate, and correct the plant file.",
    source: "a tenth: Holdtrace's own figure",
};

/// How far certificate and measures may be apart: a tenth (ours).
const TOLERANCE: f64 = 0.1;

pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    let Some(plant::Tube::Both(certificate, geometry)) = &look.context.plant.tube else { return };
    let litres_per_hour = certificate.test_flow.in_unit(trace::FlowUnit::LitrePerHour);
    let measured = geometry.effective_litres(litres_per_hour) / litres_per_hour * 3600.0;
    let certified = certificate.test_time;
    if (measured - certified.seconds()).abs() > TOLERANCE * certified.seconds() {
        found.add(look.context.record.interval(), 1, |one| {
            let measured = Duration::from_milliseconds((measured * 10.0).floor() as i64 * 100);
            one.with("measured", Value::Time(measured)).with("certified", Value::Time(certified))
        });
    }
}

#[cfg(test)]
mod tests {
    use crate::specimen::{day, observed};
    use trace::Duration;

    /// 62.609 L, fastest particle 50.087 L: at 10 000 L/h 18.031 s. A certificate of 16.3 s is more
    /// than a tenth away (1.731 > 1.63), one of 16.4 s is not (1.631 < 1.64).
    #[test]
    fn more_than_a_tenth_apart_is_told() {
        let of = |milliseconds: i64| {
            let geometry = plant::Geometry {
                length_metres: 15.0,
                inner_diameter_metres: 0.0729,
                density_kilograms_per_cubic_metre: 1004.0,
                viscosity_pascal_seconds: 0.0006,
            };
            let certificate = plant::Certificate {
                test_flow: plant::Flow {
                    value: trace::Decimal::whole(10_000),
                    unit: trace::FlowUnit::LitrePerHour,
                },
                test_time: Duration::from_milliseconds(milliseconds),
                tested_on: None,
                tested_by: None,
            };
            let tube = plant::Tube::Both(certificate, geometry);
            observed(&day("D F").set(|plant| plant.tube = Some(tube)).audit(), "tube_contradiction")
        };
        assert_eq!(of(16_300), ["0..1000 n=1 measured=18000 ms certified=16300 ms"]);
        assert_eq!(of(16_400), [""; 0]);
        assert_eq!(observed(&day("F").tube(20, 16_000).audit(), "tube_contradiction"), [""; 0]);
    }
}
