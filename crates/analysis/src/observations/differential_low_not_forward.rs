//! The differential below its limit while not forward.

use super::look::{Found, Look};
use crate::rules::Rule;
use trace::{Definition, FigureKind, Rank, Role};

pub(super) const DEFINITION: Definition = Definition {
    key: "differential_low_not_forward",
    title: "differential low while not forward",
    rank: Rank::Note,
    figures: &[("least", FigureKind::Pressure), ("limit", FigureKind::Pressure)],
    sentence: "the differential was down to {least} while not in forward flow; the limit in forward flow is {limit}",
    about: &[Role::DifferentialPressure, Role::RawPressure, Role::PasteurizedPressure],
    why: "Raw milk that passes through a leak while the device is diverted is in the pasteurized \
          side at the next cut-in.",
    what_to_do: "See whether it was a start or a stop. Tell maintenance if it comes back day after \
                 day.",
    source: "7 Pa. Code § 59.216c(a)(1): pasteurized above raw at all times (text read)",
};

pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    let verdicts = look.context.verdicts;
    look.low_differential(found, |sample| verdicts.is_short(sample, Rule::DIFFERENTIAL));
}

#[cfg(test)]
mod tests {
    use crate::specimen::{Specimen, day, observed};

    fn told(specimen: Specimen) -> Vec<String> {
        observed(&specimen.audit(), "differential_low_not_forward")
    }

    #[test]
    fn equal_to_the_limit_is_enough() {
        assert_eq!(
            told(day("D*4").differential("5 1.9 1.5 5")),
            ["1000..2000 n=2 least=1.5 psi limit=2 psi"]
        );
        assert_eq!(told(day("D*3").differential("5 2.0 5")), [""; 0]);
    }

    /// In forward flow it is an exception.
    #[test]
    fn forward_flow_and_a_standing_line_are_silent() {
        assert_eq!(told(day("F*3").differential("1")), [""; 0]);
        assert_eq!(told(day("D*3").differential("1").pump("off")), [""; 0]);
        assert_eq!(told(day("D*3").differential("1").pump("on")).len(), 1);
        // Less than a tenth of the tube's test flow is no flow; a tenth is one.
        assert_eq!(told(day("D*3").differential("1").tube(20, 16_000).flow("1.9")), [""; 0]);
        assert_eq!(told(day("D*3").differential("1").tube(20, 16_000).flow("2.0")).len(), 1);
        // A device in travel does not stand, whatever the pump says.
        assert_eq!(told(day("V*3").differential("1").pump("off")).len(), 1);
    }

    #[test]
    fn no_reading_is_not_low() {
        assert_eq!(told(day("D*3").differential("_")), [""; 0]);
    }
}
