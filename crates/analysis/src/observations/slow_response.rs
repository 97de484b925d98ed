//! An exception that ended in divert later than the device's response may take.

use super::look::{Found, Look};
use crate::exception::Cause;
use trace::{Definition, FigureKind, Rank, Role, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "slow_response",
    title: "slow response of the flow diversion device",
    rank: Rank::Close,
    figures: &[("time", FigureKind::Time), ("rule", FigureKind::Word), ("limit", FigureKind::Time)],
    sentence: "fully diverted about {time} after the {rule} fell short; allowed is {limit}",
    about: &[Role::HoldingTemperature, Role::DifferentialPressure, Role::FlowRate],
    why: "Until the device is fully diverted, product that was too cold or held too briefly goes \
          forward.",
    what_to_do: "Resolve the exception that goes with it, and have the response time of the device \
                 tested before the next run.",
    source: "1 s: PMO App. I, test 5.6 (name read, figure not verified)",
};

pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    let verdicts = look.context.verdicts;
    let allowance = look.context.plant.limits.response_allowance;
    for exception in look.exceptions.iter().filter(|one| one.causes == [Cause::Short]) {
        let time = exception.estimate.duration();
        let diverted =
            verdicts.after(exception.samples.1).is_some_and(|after| !verdicts.is_exposed(after));
        if diverted && time > allowance {
            found.add(exception.estimate, 1, |one| {
                one.with("time", Value::Time(time))
                    .with("rule", Value::Word(exception.rule.name().to_owned()))
                    .with("limit", Value::Time(allowance))
            });
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::specimen::{Specimen, day, observed};

    /// 165 → 160 meets 161 after 0.8 s; the midpoint to divert is at 2500.
    #[test]
    fn more_than_the_allowance_until_divert_is_slow() {
        let of = |specimen: Specimen| observed(&specimen.audit(), "slow_response");
        assert_eq!(
            of(day("F*3 D").holding("165 160*3")),
            ["800..2500 n=1 time=1700 ms rule=\"temperature\" limit=1000 ms"]
        );
        // 161.5 → 160.5 at 500, divert at 1500: exactly the allowed second.
        assert_eq!(of(day("F*2 D").holding("161.5 160.5 160")), [""; 0]);
        // Divert does not follow: it got warm again, or a legal sample in travel lies between.
        assert_eq!(of(day("F*5").holding("165 160*3 165")), [""; 0]);
        assert_eq!(of(day("F*3 V D").holding("165 160*2 165 160")), [""; 0]);
        // Not what can't be verified.
        assert_eq!(of(day("F*5 D").holding("165 _*4 160")), [""; 0]);
    }

    #[test]
    fn every_rule_that_compares_has_a_response() {
        let audit = day("D*20 F*5 D").tube(20, 16_000).flow("22").audit();
        assert_eq!(
            observed(&audit, "slow_response"),
            ["19500..24500 n=1 time=5000 ms rule=\"holding time\" limit=1000 ms"]
        );
    }
}
