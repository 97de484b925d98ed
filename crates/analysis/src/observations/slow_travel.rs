//! The device between its positions for too long.

use super::look::{Found, Look};
use trace::{FigureKind, Definition, Rank, Value, ValveState};

pub(super) const DEFINITION: Definition = Definition {
    key: "slow_travel",
    title: "slow travel of the flow diversion device",
    rank: Rank::Note,
    figures: &[("time", FigureKind::Time), ("limit", FigureKind::Time)],
    sentence: "the flow diversion device was between its positions for {time}; allowed is {limit}",
    about: &[],
    why: "While the device is between its positions product can pass both ways, and a slow device \
          may be about to stick.",
    what_to_do: "Have air supply, actuator and gaskets of the device inspected.",
    source: "5 s: Holdtrace's own figure",
};

pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    let verdicts = look.context.verdicts;
    let limit = look.context.plant.limits.travel_allowance;
    for run in verdicts.runs(|sample| verdicts.valve(sample) == ValveState::Travel) {
        let observed = verdicts.observed(run);
        if observed.duration() > limit {
            found.add(observed, run.1 - run.0 + 1, |one| {
                one.with("time", Value::Time(observed.duration()))
                    .with("limit", Value::Time(limit))
            });
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::specimen::{day, observed};

    /// Six samples are five seconds, which is allowed.
    #[test]
    fn travel_for_more_than_five_seconds_is_told() {
        let of = |valve: &str| observed(&day(valve).audit(), "slow_travel");
        assert_eq!(of("D V*6 F"), [""; 0]);
        assert_eq!(of("D V*7 F"), ["1000..7000 n=7 time=6000 ms limit=5000 ms"]);
        assert_eq!(of("D U*7 F"), [""; 0]);
    }
}
