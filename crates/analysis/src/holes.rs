//! Holes: stretches of time of which the record shows nothing (method, section 3).
//!
//! A step longer than the gap limit is a gap, and so is every step that rows without a place may
//! belong to. Gaps that are separated by less than the gap limit are one hole.

use crate::limits::{DifferentialLimit, LimitSpan, limit_of};
use plant::Plant;
use trace::{Duration, Interval, Ratio, Reading, RunRecord, Unplaced, UnplacedRow, ValveState};

/// A stretch of time of which the record shows nothing, or too little.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hole {
    /// The first sample before it and the last after it; one sample where rows without a place
    /// stand at the border of the record.
    pub samples: (usize, usize),
    /// From the first of these samples to the last.
    pub interval: Interval,
    /// Whether product may have gone forward in it: not every sample at its ends and in it, and
    /// not every row without a place, shows the device diverted.
    pub exposed: bool,
    /// The rows without a place that belong to it.
    pub unplaced: UnplacedCount,
}

/// Rows that were recorded in a hole and have no place in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct UnplacedCount {
    /// How many.
    pub rows: u64,
    /// How many of them show forward flow short of the temperature or the differential limit.
    pub short: u64,
}

/// The samples after which a gap follows, in order.
pub(crate) fn gaps(record: &RunRecord, gap_limit: Duration) -> Vec<usize> {
    let instants = record.instants();
    let long = |&sample: &usize| instants[sample + 1].since(instants[sample]) > gap_limit;
    let mut gaps: Vec<usize> = (0..instants.len() - 1).filter(long).collect();
    if record.unplaced().is_empty() {
        return gaps;
    }
    for group in record.unplaced() {
        let (first, last) = samples_of(record, group);
        gaps.extend(first..last);
    }
    gaps.sort_unstable();
    gaps.dedup();
    gaps
}

/// The samples at the ends of the interval of rows without a place.
fn samples_of(record: &RunRecord, group: &Unplaced) -> (usize, usize) {
    let first = record.sample_at(group.interval.start()).unwrap_or(0);
    let last = record.instants().partition_point(|&at| at < group.interval.end());
    (first, last.min(record.samples() - 1).max(first))
}

/// The holes, in order.
pub(crate) fn holes(
    record: &RunRecord,
    plant: &Plant,
    gaps: &[usize],
    gap_limit: Duration,
    spans: &[LimitSpan],
    floor: DifferentialLimit,
) -> Vec<Hole> {
    let instants = record.instants();
    let groups: Vec<((usize, usize), &Unplaced)> =
        record.unplaced().iter().map(|group| (samples_of(record, group), group)).collect();
    // Rows at the border of the record have no step of their own, and still a place in the list.
    let mut parts: Vec<(usize, usize)> = gaps.iter().map(|&gap| (gap, gap + 1)).collect();
    parts.extend(groups.iter().map(|&(samples, _)| samples));
    parts.sort_unstable();
    let mut merged: Vec<(usize, usize)> = Vec::new();
    for part in parts {
        match merged.last_mut() {
            Some(last)
                if part.0 <= last.1 || instants[part.0].since(instants[last.1]) < gap_limit =>
            {
                last.1 = last.1.max(part.1);
            }
            _ => merged.push(part),
        }
    }
    let mut groups = groups.into_iter().peekable();
    merged
        .into_iter()
        .map(|(first, last)| {
            let mut unplaced = UnplacedCount::default();
            let before = spans.partition_point(|span| span.last < first);
            let after = spans.partition_point(|span| span.first <= last);
            // Many rows may stand in one hole, and many products around it.
            let highest = spans[before..after]
                .iter()
                .map(|span| span.exact)
                .reduce(|one, other| if other.is_above(one) { other } else { one });
            let mut exposed =
                record.valve()[first..=last].iter().any(|&valve| valve != ValveState::Divert);
            while let Some((_, group)) = groups.next_if(|(samples, _)| samples.1 <= last) {
                for row in &group.rows {
                    unplaced.rows += 1;
                    exposed |= row.valve != ValveState::Divert;
                    unplaced.short += u64::from(is_short(record, plant, row, highest, floor));
                }
            }
            Hole {
                samples: (first, last),
                interval: Interval::between(instants[first], instants[last]),
                exposed,
                unplaced,
            }
        })
        .collect()
}

/// Whether a row shows forward flow short of a limit: of its own product's where it names one. A row
/// without a word is unknown where the record names others, and else held to the highest limit of
/// the samples around and in its hole.
fn is_short(
    record: &RunRecord,
    plant: &Plant,
    row: &UnplacedRow,
    highest: Option<Ratio>,
    floor: DifferentialLimit,
) -> bool {
    let unit = record.holding_temperature().unit();
    let names_some =
        record.product().is_some_and(|text| text.words().iter().any(|word| !word.is_empty()));
    // A blank word is none of the plant's products.
    let of_word = || limit_of(plant, unit, &row.product);
    let limit = if row.product.is_empty() && !names_some {
        highest.unwrap_or_else(of_word)
    } else {
        of_word()
    };
    let below = |reading: Reading, limit: Ratio| match reading {
        Reading::Valid(value) => value.mantissa() < limit.floor_mantissa(value.scale()),
        Reading::Invalid(_) => false,
    };
    row.valve == ValveState::Forward
        && (below(row.temperature, limit) || below(row.differential, floor.exact))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::specimen::{Specimen, day, span};

    fn holes_of(specimen: Specimen) -> Vec<Hole> {
        specimen.audit().holes
    }

    fn places(specimen: Specimen) -> Vec<((usize, usize), bool)> {
        holes_of(specimen).iter().map(|hole| (hole.samples, hole.exposed)).collect()
    }

    /// Three sampling intervals, and equal to the limit is no gap.
    #[test]
    fn a_step_of_exactly_the_gap_limit_is_no_gap() {
        assert_eq!(places(day("F*5").step(2, 3000)), []);
        assert_eq!(places(day("F*5").step(2, 3001)), [((2, 3), true)]);
    }

    /// A sample every ten seconds would allow thirty; no more than fifteen are allowed.
    #[test]
    fn the_gap_limit_is_never_more_than_fifteen_seconds() {
        assert_eq!(places(day("F*5").every(10_000).step(2, 15_000)), []);
        assert_eq!(places(day("F*5").every(10_000).step(2, 15_001)), [((2, 3), true)]);
        // One sample a minute shows nothing of what happens between: one hole.
        assert_eq!(places(day("F*5").every(60_000)), [((0, 4), true)]);
    }

    /// Two gaps with two seconds of samples between them are one hole, with three they are two.
    #[test]
    fn gaps_less_than_the_gap_limit_apart_are_one_hole() {
        let near = holes_of(day("D*8").step(1, 5000).step(4, 5000));
        assert_eq!(near.iter().map(|hole| hole.samples).collect::<Vec<_>>(), [(1, 5)]);
        assert_eq!(near.first().map(|hole| hole.interval), Some(span(1000, 13_000)));
        let apart = holes_of(day("D*9").step(1, 5000).step(5, 5000));
        assert_eq!(apart.iter().map(|hole| hole.samples).collect::<Vec<_>>(), [(1, 2), (5, 6)]);
    }

    /// The ends are diverted, one sample between the two gaps is not.
    #[test]
    fn one_exposed_sample_inside_exposes_the_whole_hole() {
        assert_eq!(places(day("D*3 F D*3").step(2, 5000).step(3, 5000)), [((2, 4), true)]);
        assert_eq!(places(day("D*7").step(2, 5000).step(3, 5000)), [((2, 4), false)]);
    }

    /// Two diverted minutes of which a forward row without a place is all that is known.
    #[test]
    fn one_exposed_row_without_a_place_exposes_the_whole_hole() {
        for (valve, exposed) in [("D", false), ("F", true), ("V", true), ("U", true)] {
            let specimen = day("D*4")
                .unplaced(span(1000, 2000), &[("D", "163", "5", ""), (valve, "163", "5", "")]);
            assert_eq!(places(specimen), [((1, 2), exposed)], "{valve}");
        }
    }

    /// Rows between two samples that lie apart: every step between them is a gap.
    #[test]
    fn every_step_that_rows_without_a_place_may_belong_to_is_a_gap() {
        let audit = day("F*6").unplaced(span(1000, 4000), &[("F", "163", "5", "")]).audit();
        assert_eq!(audit.gaps, [1, 2, 3]);
        assert_eq!(audit.holes.len(), 1);
        assert_eq!(audit.holes.first().map(|hole| hole.samples), Some((1, 4)));
    }

    /// At the border of the record there is no step, and still there were rows.
    #[test]
    fn rows_before_the_first_sample_are_not_forgotten() {
        let row = [("F", "150", "5", "")];
        for (at, sample) in [(0, 0), (3000, 3)] {
            let audit = day("D*4").unplaced(span(at, at), &row).audit();
            assert_eq!(audit.gaps, []);
            let hole = audit.holes.first().map(|hole| (hole.samples, hole.exposed, hole.unplaced));
            let count = UnplacedCount { rows: 1, short: 1 };
            assert_eq!(hole, Some(((sample, sample), true, count)));
            assert_eq!(audit.exceptions.len(), 1);
        }
    }

    /// A row is short of its own product's limit; a word that the plant does not know, and none where
    /// the logger names others, of the rich row's 166 °F.
    #[test]
    fn a_row_without_a_place_is_held_to_its_own_product() {
        for (product, degrees, short) in [
            ("milk", "161", 0),
            ("milk", "160.9", 1),
            ("cream", "165.9", 1),
            ("cream", "166", 0),
            ("eggnog", "165.9", 1),
            ("eggnog", "166", 0),
            ("cream + milk", "165.9", 1),
            ("cream + milk", "166", 0),
            ("", "165.9", 1),
            ("", "166", 0),
        ] {
            let audit = day("F*4")
                .products(&[("milk", "us-milk-15s"), ("cream", "us-rich-15s")])
                .product("milk")
                .unplaced(span(1000, 2000), &[("F", degrees, "5", product)])
                .audit();
            let found = audit.holes.first().map(|hole| hole.unplaced.short);
            assert_eq!(found, Some(short), "{product} {degrees}");
        }
    }

    /// The sheet names milk, and no row says whether the lost one was milk too.
    #[test]
    fn a_row_without_a_word_is_unknown_where_the_record_names_products() {
        for (degrees, short) in [("165.9", 1), ("166", 0)] {
            let audit = day("F*4")
                .products(&[("milk", "us-milk-15s"), ("cream", "us-rich-15s")])
                .run((0, 9000), "milk", "", "")
                .unplaced(span(1000, 2000), &[("F", degrees, "5", "")])
                .audit();
            let found = audit.holes.first().map(|hole| hole.unplaced.short);
            assert_eq!(found, Some(short), "{degrees}");
        }
        // Without any name the default product's.
        let audit = day("F*4").unplaced(span(1000, 2000), &[("F", "161", "5", "")]).audit();
        assert_eq!(audit.holes.first().map(|hole| hole.unplaced.short), Some(0));
    }

    /// What has no reading shows nothing short; the differential's limit is the floor.
    #[test]
    fn a_row_without_a_reading_is_counted_and_not_short() {
        let rows = [
            ("F", "_", "_", ""),
            ("F", "_", "1.9", ""),
            ("F", "_", "2", ""),
            ("U", "150", "5", ""),
        ];
        let audit = day("F*4").unplaced(span(1000, 2000), &rows).audit();
        let hole = audit.holes.first().map(|hole| hole.unplaced);
        assert_eq!(hole, Some(UnplacedCount { rows: 4, short: 1 }));
    }
}
