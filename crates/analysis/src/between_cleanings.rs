//! How long product went forward from one cleaning to the next (method, section 8, "cleanings").

use crate::cleaning_cycles::{CleaningCycle, is_production};
use crate::context::Context;
use trace::Interval;

/// What lies between two cleanings, or between one and an end of the record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BetweenCleanings {
    /// From the first sample at which product may go forward to the last, whatever lies between.
    pub interval: Interval,
    /// At how many samples product may go forward.
    pub samples: usize,
    /// Whether a cleaning that counts stands before it. Else it may have begun before the record.
    pub after_cleaning: bool,
    /// Whether one stands behind it. Else it may go on after the record.
    pub before_cleaning: bool,
    /// How many cleanings in it don't count: shorter than the plant asks, or not shown to be one.
    pub not_counted: usize,
}

/// The stretches of production, in order; each ends at the next cleaning that counts.
pub(crate) fn between_cleanings(
    context: &Context<'_>,
    cycles: &[CleaningCycle],
) -> Vec<BetweenCleanings> {
    let instants = context.record.instants();
    let mut found: Vec<BetweenCleanings> = Vec::new();
    let mut open: Option<BetweenCleanings> = None;
    let mut cycles = cycles.iter().peekable();
    let (mut after_cleaning, mut not_counted) = (false, 0);
    for sample in (0..instants.len()).filter(|&sample| is_production(context, sample)) {
        let at = instants[sample];
        while let Some(cycle) = cycles.next_if(|cycle| cycle.interval.start() < at) {
            if cycle.counts {
                let ended =
                    open.take().map(|one| BetweenCleanings { before_cleaning: true, ..one });
                found.extend(ended);
                (after_cleaning, not_counted) = (true, 0);
            } else {
                not_counted += 1;
            }
        }
        let one = open.get_or_insert_with(|| {
            not_counted = 0;
            BetweenCleanings {
                interval: Interval::at(at),
                samples: 0,
                after_cleaning,
                before_cleaning: false,
                not_counted: 0,
            }
        });
        one.interval = one.interval.hull(Interval::at(at));
        one.samples += 1;
        one.not_counted += std::mem::take(&mut not_counted);
    }
    found.extend(
        open.map(|one| BetweenCleanings {
            before_cleaning: cycles.any(|cycle| cycle.counts),
            ..one
        }),
    );
    found
}

#[cfg(test)]
mod tests {
    use crate::specimen::{Specimen, day, span};
    use plant::TemperatureLimit;
    use proptest::prelude::*;
    use trace::{Decimal, Duration, Interval, TemperatureUnit};

    /// From, to; whether a cleaning stands before and behind; how many between don't count.
    type Told = (Interval, (bool, bool), usize);

    fn told(specimen: Specimen) -> Vec<Told> {
        let found = specimen.audit().between_cleanings;
        let one = |one: &super::BetweenCleanings| {
            (one.interval, (one.after_cleaning, one.before_cleaning), one.not_counted)
        };
        found.iter().map(one).collect()
    }

    #[test]
    fn a_stretch_goes_from_the_first_product_to_the_last_before_a_cleaning() {
        assert_eq!(
            told(
                day("D F*2 D*2 F*2 D*3 F*2 D F D*2")
                    .mode("production*7 water cip*2 production*3 water cip production")
            ),
            [(span(1000, 6000), (false, true), 0), (span(10_000, 11_000), (true, true), 0)]
        );
        // Neither a night nor water ends it, and what is not diverted may be product.
        assert_eq!(
            told(day("F D*50 U").mode("production*10 water*30 production")),
            [(span(0, 51_000), (false, false), 0)]
        );
        assert_eq!(told(day("F*9").mode("water")), []);
        assert_eq!(told(day("F D F")), [(span(0, 2000), (false, false), 0)]);
    }

    /// A cleaning that is too short for the plant, in which nothing flowed or product ran ends
    /// nothing.
    #[test]
    fn a_cleaning_that_does_not_count_ends_nothing() {
        let day = |hot: usize| {
            let hot = format!("165 170*{hot} 150");
            day("F D*5 F D").mode("production cip*5 production").holding(&hot).set(|plant| {
                let limit =
                    TemperatureLimit::Single(Decimal::whole(168), TemperatureUnit::Fahrenheit);
                plant.cleaning.temperature = Some(limit);
                plant.cleaning.minimum_time = Some(Duration::from_seconds(3));
            })
        };
        assert_eq!(
            told(day(4)),
            [(span(0, 0), (false, true), 0), (span(6000, 6000), (true, false), 0)]
        );
        assert_eq!(told(day(3)), [(span(0, 6000), (false, false), 1)]);
        assert_eq!(told(day(4).flow("0")), [(span(0, 6000), (false, false), 1)]);
    }

    proptest! {
        /// Each sample at which product may go forward is counted in exactly one stretch.
        #[test]
        fn every_product_sample_is_in_one(steps in proptest::collection::vec((0..3_usize, 0..3_usize), 2..40)) {
            let valve: Vec<_> = steps.iter().map(|&(one, _)| ["F", "D", "V"][one]).collect();
            let mode: Vec<_> =
                steps.iter().map(|&(_, one)| ["production", "water", "cip"][one]).collect();
            let found = day(&valve.join(" ")).mode(&mode.join(" ")).audit().between_cleanings;
            let product = steps.iter().filter(|&&(valve, mode)| valve != 1 && mode == 0).count();
            prop_assert_eq!(found.iter().map(|one| one.samples).sum::<usize>(), product);
            for pair in found.windows(2) {
                prop_assert!(pair[0].interval.end() < pair[1].interval.start());
                prop_assert!(pair[0].before_cleaning && pair[1].after_cleaning);
            }
        }
    }
}
