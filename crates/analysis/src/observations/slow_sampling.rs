//! Fewer samples than asked for.

use super::look::{Found, Look};
use trace::{FigureKind, Definition, Rank, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "slow_sampling",
    title: "slow sampling",
    rank: Rank::Note,
    figures: &[("interval", FigureKind::Time), ("limit", FigureKind::Time)],
    sentence: "one sample every {interval}; asked for is one every {limit} or faster",
    about: &[],
    why: "A short excursion can pass unseen between two samples that lie so far apart.",
    what_to_do: "Set the logger to record more often, or ask the authority of the plant whether \
                 the interval is accepted.",
    source: "5 s: Holdtrace's own figure; the plant's authority decides",
};

pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    let record = look.context.record;
    let (interval, asked) =
        (record.sampling_interval(), look.context.plant.limits.record_interval);
    if interval > asked {
        found.add(record.interval(), 1, |one| {
            one.with("interval", Value::Time(interval)).with("limit", Value::Time(asked))
        });
    }
}

#[cfg(test)]
mod tests {
    use crate::specimen::{day, observed};

    #[test]
    fn five_seconds_are_asked_for() {
        let of = |every: i64| observed(&day("D*3").every(every).audit(), "slow_sampling");
        assert_eq!(of(5000), [""; 0]);
        assert_eq!(of(5001), ["0..10002 n=1 interval=5001 ms limit=5000 ms"]);
    }
}
