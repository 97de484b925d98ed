//! Steps longer than one and a half sampling intervals that are no gaps.

use super::look::{Found, Look};
use trace::{FigureKind, Definition, Duration, Interval, Rank, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "missing_samples",
    title: "missing samples",
    rank: Rank::Note,
    figures: &[("count", FigureKind::Count), ("interval", FigureKind::Time), ("longest", FigureKind::Time)],
    sentence: "{count} steps between samples are longer than one and a half sampling intervals ({interval}), the longest {longest}",
    about: &[],
    why: "Samples are missing, though never for as long as a gap, and a short excursion can hide \
          between two of them.",
    what_to_do: "Have the logger and its connection checked.",
    source: "method, section 3: Holdtrace's own choice",
};

pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    let context = look.context;
    let instants = context.record.instants();
    let interval = context.record.sampling_interval();
    let mut longest = Duration::ZERO;
    let (mut count, mut hull): (usize, Option<Interval>) = (0, None);
    for sample in 1..instants.len() {
        let step = instants[sample].since(instants[sample - 1]);
        if step.milliseconds() * 2 > interval.milliseconds() * 3
            && !context.verdicts.gap_after(sample - 1)
        {
            let here = Interval::between(instants[sample - 1], instants[sample]);
            count += 1;
            longest = longest.max(step);
            hull = Some(hull.map_or(here, |held| held.hull(here)));
        }
    }
    if let Some(hull) = hull {
        found.add(hull, count, |one| {
            one.with("count", Value::Count(count as u64))
                .with("interval", Value::Time(interval))
                .with("longest", Value::Time(longest))
        });
    }
}

#[cfg(test)]
mod tests {
    use crate::specimen::{day, observed};

    #[test]
    fn one_and_a_half_intervals_are_allowed() {
        let of = |step: i64| observed(&day("D*6").step(2, step).audit(), "missing_samples");
        assert_eq!(of(1500), [""; 0]);
        assert_eq!(
            of(1501),
            ["2000..3501 n=1 count=1 interval=1000 ms longest=1501 ms"]
        );
        assert_eq!(of(3000).len(), 1);
        // More is a gap.
        assert_eq!(of(3001), [""; 0]);
    }

    #[test]
    fn all_of_a_record_are_one_observation() {
        let audit = day("D*9").step(1, 2000).step(5, 3000).step(7, 9000).audit();
        // Samples at 0, 1, 3, 4, 5, 6, 9, 10, 19 s.
        assert_eq!(
            observed(&audit, "missing_samples"),
            ["1000..9000 n=2 count=2 interval=1000 ms longest=3000 ms"]
        );
    }
}
