//! The two pressures read apart while nothing was pumped.

use super::look::{Found, Look};
use trace::{Decimal, Definition, FigureKind, Rank, Role, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "zero_check",
    title: "pressures differ at a standstill (zero check)",
    rank: Rank::Close,
    figures: &[("reading", FigureKind::Pressure), ("limit", FigureKind::Pressure)],
    sentence: "with the pumps standing pasteurized minus raw read {reading} (the median); the plant allows {limit} \
               either way",
    about: &[Role::DifferentialPressure, Role::PasteurizedPressure, Role::RawPressure],
    why: "With the pumps stopped both gauges should read the same; any difference is an error in every differential of the day.",
    what_to_do: "Have both gauges checked and set to zero, and see how close the differentials of \
                 the day came to the limit.",
    source: "the plant's own check of its gauges (common practice)",
};

pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    let Some(limit) = look.context.plant.limits.zero_check else { return };
    for check in look.zero_checks {
        let scale = check.median.scale();
        let allowed = limit.figure(check.unit);
        let most = allowed.ceiling_mantissa(scale);
        if check.median.mantissa().abs() > most {
            found.add(check.interval, check.samples, |one| {
                one.with("reading", Value::Pressure(check.median, check.unit))
                    .with("limit", Value::Pressure(Decimal::new(most, scale), check.unit))
            });
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::audit::Audit;
    use crate::specimen::{Specimen, day, observed};
    use plant::PressureLimit;
    use trace::{Decimal, PressureUnit};

    /// A plant that allows 0.5 psi.
    fn checked(specimen: Specimen) -> Audit {
        let limit = PressureLimit::Single(Decimal::new(5, 1), PressureUnit::Psi);
        specimen.set(|plant| plant.limits.zero_check = Some(limit)).audit()
    }

    fn told(specimen: Specimen) -> Vec<String> {
        observed(&checked(specimen), "zero_check")
    }

    /// Forward, then two minutes and a sample at a standstill, with these differentials.
    fn stop(standing: &str) -> Specimen {
        day("F*10 D*121").pump("on*10 off").differential(&format!("5.0*10 {standing}"))
    }

    #[test]
    fn gauges_that_read_apart_at_a_standstill_are_told() {
        assert_eq!(told(stop("0.6")), ["70000..130000 n=61 reading=0.6 psi limit=0.5 psi"]);
        assert_eq!(told(stop("-0.6")).len(), 1, "either way");
        assert_eq!(told(stop("0.5")), [""; 0], "equal is allowed");
        assert_eq!(checked(stop("0.5")).instruments.zero_checks.len(), 1);
    }

    /// What still falls, what moves on, a line that is not shown to stand, a cleaning, and a plant that does
    /// not check so.
    #[test]
    fn a_line_that_settles_or_runs_is_silent() {
        assert_eq!(told(stop("9.0*60 0.0")), [""; 0]);
        assert_eq!(told(day("F*10 D*120").pump("on*10 off").differential("5.0*10 9.0")), [""; 0]);
        assert_eq!(told(stop("9.0").booster("on")), [""; 0]);
        assert_eq!(told(stop("9.0").booster("_")), [""; 0]);
        assert_eq!(told(stop("9.0").booster("off")).len(), 1);
        assert_eq!(told(stop("9.0").mode("cip")), [""; 0]);
        assert_eq!(told(day("D*200").differential("9.0")), [""; 0]);
        assert_eq!(told(stop("_")), [""; 0]);
        assert_eq!(observed(&stop("9.0").audit(), "zero_check"), [""; 0]);
    }

    /// Each standstill is one check, and a median is not moved by a knock in the pipe.
    #[test]
    fn each_standstill_is_checked_by_its_median() {
        let twice = day("D*130 F*5 D*130").pump("off*130 on*5 off").differential("0.7*130 5.0*5 0.1");
        assert_eq!(told(twice).len(), 1);
        assert_eq!(told(stop("0.2*70 40.0*20 0.2")), [""; 0]);
    }
}
