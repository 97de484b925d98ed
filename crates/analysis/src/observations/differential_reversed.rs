//! Raw above pasteurized while not forward: a leak would let raw milk pass.

use super::look::{Found, Look};
use plant::Mode;
use trace::{ChannelView, Definition, FigureKind, Rank, Role};

pub(super) const DEFINITION: Definition = Definition {
    key: "differential_reversed",
    title: "raw above pasteurized",
    rank: Rank::Close,
    figures: &[("least", FigureKind::Pressure), ("limit", FigureKind::Pressure)],
    sentence: "the raw side of the regenerator stood above the pasteurized side while not in forward flow; the differential was down to {least}; raw milk could pass through a leak",
    about: &[Role::DifferentialPressure, Role::RawPressure, Role::PasteurizedPressure],
    why: "With the raw side higher, raw milk can pass through a pinhole into the pasteurized side \
          and go forward at the next cut-in.",
    what_to_do: "Find out why the raw side was higher, and have the plates tested for leaks if in \
                 doubt.",
    source: "7 Pa. Code § 59.216c(a)(1): pasteurized above raw at all times (text read)",
};

pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    let mantissas = look.context.record.differential().mantissas();
    look.low_differential(found, |sample| {
        ChannelView::is_valid(mantissas[sample])
            && mantissas[sample] < 0
            && look.context.mode_at(sample) != Mode::Cleaning
    });
}

#[cfg(test)]
mod tests {
    use crate::specimen::{Specimen, day, observed};

    fn told(specimen: Specimen) -> Vec<String> {
        observed(&specimen.audit(), "differential_reversed")
    }

    /// Equal pressures are not reversed: 24.3 over 24.3; a tenth less is.
    #[test]
    fn raw_above_pasteurized_while_not_forward() {
        assert_eq!(
            told(day("D*4").pressures("24.3", "24.3 24.2 24.1 24.3")),
            ["1000..2000 n=2 least=-0.2 psi limit=2 psi"]
        );
        assert_eq!(told(day("D*4").pressures("24.3", "24.3")), [""; 0]);
        for valve in ["V*3", "U*3"] {
            assert_eq!(told(day(valve).differential("-1")).len(), 1, "{valve}");
        }
    }

    #[test]
    fn forward_flow_cleaning_and_a_standing_line_are_silent() {
        assert_eq!(told(day("F*3").differential("-1")), [""; 0]);
        assert_eq!(told(day("D*3").differential("-1").mode("cip")), [""; 0]);
        assert_eq!(told(day("D*3").differential("-1").mode("water")).len(), 1);
        assert_eq!(told(day("D*3").differential("-1").pump("off")), [""; 0]);
        // What can't be read does not show that the pump stands.
        assert_eq!(told(day("D*3").differential("-1").pump("?")).len(), 1);
    }
}
