//! A short hole with the device diverted throughout.

use super::look::{Found, Look};
use trace::{FigureKind, Definition, Rank, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "gap_diverted",
    title: "gap while diverted",
    rank: Rank::Note,
    figures: &[("time", FigureKind::Time)],
    sentence: "no sample for {time}, with the flow diversion device diverted at both ends",
    about: &[],
    why: "Nothing was recorded for that time. The device was diverted at both ends, and the gap is too short for it to go forward and divert again unnoticed.",
    what_to_do: "Have the logger and its connection checked if it comes back.",
    source: "60 s: Holdtrace's own figure (method, section 5)",
};

pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    let most = look.context.plant.limits.diverted_hole;
    for hole in look.context.holes {
        let time = hole.interval.duration();
        if !hole.exposed && time <= most {
            found.add(hole.interval, 1, |one| one.with("time", Value::Time(time)));
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::specimen::{day, observed, told};

    /// Sixty seconds are an observation, more an exception.
    #[test]
    fn a_short_diverted_hole_is_told() {
        let of = |step: i64| observed(&day("D*4").step(1, step).audit(), "gap_diverted");
        assert_eq!(of(3000), [""; 0]);
        assert_eq!(of(3001), ["1000..4001 n=1 time=3001 ms"]);
        assert_eq!(of(60_000), ["1000..61000 n=1 time=60000 ms"]);
        assert_eq!(of(60_001), [""; 0]);
    }

    #[test]
    fn an_exposed_hole_is_an_exception() {
        assert_eq!(observed(&day("D*2 F*2").step(1, 9000).audit(), "gap_diverted"), [""; 0]);
    }

    #[test]
    fn a_plant_may_allow_less() {
        let day = day("D*4").step(1, 9000).set(|plant| {
            plant.limits.diverted_hole = trace::Duration::from_seconds(8);
        });
        let audit = day.audit();
        assert_eq!(observed(&audit, "gap_diverted"), [""; 0]);
        assert_eq!(told(&audit), ["unverifiable gap_diverted 1..2"]);
    }
}
