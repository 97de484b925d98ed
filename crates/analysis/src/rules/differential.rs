//! The rule `differential`: the pasteurized side of the regenerator is far enough above the raw
//! side (method, sections 2 and 4).

use super::compared::Compared;
use crate::context::Context;
use crate::exception::Exception;
use crate::limits::DifferentialLimit;
use crate::rule::{Rule, RuleDefinition};
use crate::verdicts::Verdicts;
use trace::{Role, RunRecord};

pub(super) const DEFINITION: RuleDefinition = RuleDefinition {
    key: "differential",
    name: "differential pressure",
    short_name: "differential",
    code: "\u{394}P",
    class: ("forward_differential", "forward, differential too low"),
    reads: &[Role::DifferentialPressure],
    section: "4",
    asks: "The regenerator pressure differential (pasteurized over raw) is at least the limit.",
    why: "Where the pasteurized side is not higher, raw milk can pass through a leak in \
          the regenerator into milk that is not heated again.",
    what_to_do: "Find out why the pressures came close, have the plates tested for leaks if in \
                 doubt, and decide about the product.",
    source: "14 kPa (2 psi): CFIA Dairy Establishment Inspection Manual, App. 19-6 (archived \
             guidance, text read)",
    happened: "{what} {went} while the pasteurized side of the regenerator was not far enough \
               above the raw side[, down to {worst}]; {passed} passed",
    asked: "The limit is {differential limit}: {differential source}",
};

pub(super) fn judge(
    rule: Rule,
    verdicts: &mut Verdicts<'_>,
    record: &RunRecord,
    floor: DifferentialLimit,
) {
    let mantissas = record.differential().mantissas();
    verdicts.compare(rule, 0..=record.samples() - 1, mantissas, floor.threshold);
}

pub(super) fn find(rule: Rule, context: &Context<'_>) -> Vec<Exception> {
    let channel = context.record.differential();
    Compared::new(rule, channel, |context, _| context.floor.exact).exceptions(context)
}

#[cfg(test)]
mod tests {
    use crate::Rule;
    use crate::specimen::{day, only, span, told};
    use trace::{Decimal, PressureUnit};

    /// 26.3 − 24.3 is exactly 2.0 and legal, 26.2 − 24.3 is 1.9.
    #[test]
    fn the_difference_is_that_of_a_pencil() {
        let audit = day("F*3").pressures("24.3", "26.3 26.2 26.3").audit();
        let found = only(&audit);
        assert_eq!((found.rule, found.samples), (Rule::DIFFERENTIAL, (1, 1)));
        // 2.0 is the limit itself: from the sample before to the sample after.
        assert_eq!(found.estimate, span(0, 2000));
        let worst = found.worst.map(|worst| (worst.value, worst.limit, worst.unit));
        assert_eq!(worst, Some((Decimal::new(19, 1), 2.0, "psi")));
        // Two triangles of 1 s × 0.1 psi / 2.
        let shortfall = found.shortfall.map(|one| (one.value, one.unit));
        assert!(shortfall.is_some_and(|(area, unit)| (area - 0.1).abs() < 1e-9 && unit == "psi·s"));
    }

    /// 14 kPa is printed beside 2 psi; in bar and mbar the mark moves. 13.9 kPa is above 2 psi
    /// (13.79 kPa), and short all the same.
    #[test]
    fn the_printed_figure_of_the_channels_unit_holds() {
        for (unit, legal, short) in [
            (PressureUnit::Psi, "2.0", "1.9"),
            (PressureUnit::Kilopascal, "14.0", "13.9"),
            (PressureUnit::Bar, "0.140", "0.139"),
            (PressureUnit::Millibar, "140", "139"),
            (PressureUnit::Megapascal, "0.0140", "0.0139"),
        ] {
            let of = |cell: &str| told(&day("F*3").pressure_in(unit).differential(cell).audit());
            assert_eq!(of(legal), [""; 0], "{legal} {unit:?}");
            assert_eq!(of(short), ["differential short 0..2"], "{short} {unit:?}");
        }
    }

    #[test]
    fn a_low_differential_while_diverted_is_no_exception() {
        assert_eq!(told(&day("D*5").differential("-3").audit()), [""; 0]);
    }

    /// The regenerator answers in travel as in forward flow: three samples are two seconds.
    #[test]
    fn a_device_that_lingers_is_judged_for_its_differential_too() {
        let audit = day("D V*3 D").differential("1").audit();
        assert_eq!(told(&audit), ["differential short 1..3"]);
        assert_eq!(only(&audit).estimate, span(500, 3500));
        assert_eq!(told(&day("D V*2 D").differential("1").audit()), [""; 0]);
    }

    /// 3 → 1 psi meets 2 half way, 500 ms; the midpoint to divert is at 1500: the allowed second.
    #[test]
    fn a_divert_within_the_allowance_is_told_apart() {
        let audit = day("F*2 D").differential("3 1 1").audit();
        assert_eq!((only(&audit).estimate, only(&audit).within_response), (span(500, 1500), true));
    }
}
