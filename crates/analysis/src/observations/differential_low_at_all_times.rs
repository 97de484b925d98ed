//! The differential below its limit while not forward, where the plant's text asks for it at all stages (`differential_at_all_times`).

use super::look::{Found, Look};
use crate::rules::Rule;
use trace::{Definition, FigureKind, Rank, Role};

pub(super) const DEFINITION: Definition = Definition {
    key: "differential_low_at_all_times",
    title: "differential low, required at all times",
    rank: Rank::Close,
    figures: &[("least", FigureKind::Pressure), ("limit", FigureKind::Pressure)],
    sentence: "the differential was down to {least} while not in forward flow; this plant has to keep {limit} at all stages",
    about: &[Role::DifferentialPressure, Role::RawPressure, Role::PasteurizedPressure],
    why: "Raw milk that passes through a leak while the device is diverted is in the pasteurized \
          side at the next cut-in.",
    what_to_do: "Find out why the pressure fell: a start, a stop, a pump, air in the line. Have \
                 the plates tested for leaks if it comes back.",
    source: "Québec P-29 r. 1 s. 11.7.7 (text read); CFIA DEIM App. 19-6 (archived guidance, text read)",
};

pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    let verdicts = look.context.verdicts;
    if look.context.plant.limits.differential_at_all_times {
        look.low_differential(found, |sample| verdicts.is_short(sample, Rule::DIFFERENTIAL));
    }
}

#[cfg(test)]
mod tests {
    use crate::specimen::{Specimen, day, observed};

    fn told(specimen: Specimen) -> Vec<String> {
        let day = specimen.set(|plant| plant.limits.differential_at_all_times = true);
        observed(&day.audit(), "differential_low_at_all_times")
    }

    #[test]
    fn only_a_plant_that_has_to_keep_it_at_all_times_is_told() {
        let day = || day("D*3").differential("5 1.9 5");
        assert_eq!(told(day()), ["1000..1000 n=1 least=1.9 psi limit=2 psi"]);
        assert_eq!(observed(&day().audit(), "differential_low_at_all_times"), [""; 0]);
    }

    #[test]
    fn equal_is_legal_and_forward_flow_has_its_own_rule() {
        assert_eq!(told(day("D*3").differential("5 2.0 5")), [""; 0]);
        assert_eq!(told(day("F*3").differential("1")), [""; 0]);
        assert_eq!(told(day("V*3").differential("1")), ["0..2000 n=3 least=1 psi limit=2 psi"]);
        assert_eq!(told(day("D*3").differential("1").pump("off")), [""; 0]);
    }
}
