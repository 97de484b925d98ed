//! The device left forward flow, and nothing in the record shows why.

use super::look::{Found, Look};
use crate::reason::DivertReason;
use trace::{Definition, FigureKind, Rank, Role, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "divert_without_cause",
    title: "divert without a cause in the record",
    rank: Rank::Close,
    figures: &[("temperature", FigureKind::Temperature), ("time", FigureKind::Time)],
    sentence: "diverted for about {time}[, at {temperature}]: nothing in the record shows why. Enter \
               the reason",
    about: &[Role::HoldingTemperature, Role::DifferentialPressure, Role::FlowRate],
    why: "A device that diverts for no recorded cause was moved by hand or lost a signal; next \
          time it may fail to divert.",
    what_to_do: "Ask the operator, and enter the reason. If nobody knows it, have controller and \
                 device checked before the next run.",
    source: "unusual circumstances are recorded: ATCP 65.66(3)(i) (text read)",
};

pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    let unit = look.context.record.holding_temperature().unit();
    for divert in look.diverts.iter().filter(|one| one.reason == DivertReason::NotInRecord) {
        found.add(divert.observed, 1, |one| {
            let one = one.with("time", Value::Time(divert.estimate.duration()));
            match divert.temperature {
                Some(reading) => one.with("temperature", Value::Temperature(reading, unit)),
                None => one,
            }
        });
    }
}

#[cfg(test)]
mod tests {
    use crate::specimen::{Specimen, day, observed};

    fn told(specimen: Specimen) -> Vec<String> {
        observed(&specimen.audit(), "divert_without_cause")
    }

    #[test]
    fn only_a_divert_that_nothing_explains_is_told() {
        assert_eq!(
            told(day("F*3 D*5 F*3")),
            ["3000..7000 n=1 time=5000 ms temperature=165.0 \u{b0}F"]
        );
        assert_eq!(told(day("F*3 D*5 F*3").holding("165*3 160*5 165")), [""; 0]);
        assert_eq!(told(day("F*3 D*5 F*3").pump("on*3 off*5 on")), [""; 0]);
        assert_eq!(told(day("F*3 D*5 F*3").mode("cip")), [""; 0]);
    }
}
