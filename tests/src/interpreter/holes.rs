//! Gaps and holes (section 3).

use super::{Day, Sample, limits, number};
use plant::Plant;
use trace::{RunRecord, ValveState};

/// No legal HTST holding time is shorter, so whole parcels would pass unseen in a longer step.
const GREATEST_GAP_LIMIT: i64 = 15_000;

/// Gaps that are near one another, as one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hole {
    /// The sample before and the sample after.
    pub samples: (usize, usize),
    /// Whether product may have gone forward at an end, inside, or in an unplaced row.
    pub exposed: bool,
    /// The rows without a place in it, and how many of them show forward flow short of a limit.
    pub unplaced: Option<(usize, usize)>,
}

/// The lower median.
pub(super) fn median(mut steps: Vec<i64>) -> i64 {
    steps.sort_unstable();
    if steps.is_empty() { 0 } else { steps[(steps.len() - 1) / 2] }
}

pub(super) fn steps(samples: &[Sample]) -> Vec<i64> {
    samples.windows(2).map(|pair| pair[1].at - pair[0].at).collect()
}

/// The gap limit, and for each step whether it is a gap.
pub(super) fn gaps(record: &RunRecord, plant: &Plant, samples: &[Sample]) -> (i64, Vec<bool>) {
    let built_in = (3 * median(steps(samples))).min(GREATEST_GAP_LIMIT);
    let limit = plant.limits.gap.map_or(built_in, trace::Duration::milliseconds);
    let is_gap = |pair: &[Sample]| {
        let (from, to) = (pair[0].at, pair[1].at);
        // Between the placed rows around unplaced ones every step is a gap.
        let around_unplaced = record.unplaced().iter().any(|unplaced| {
            unplaced.interval.start().unix_milliseconds() <= from
                && to <= unplaced.interval.end().unix_milliseconds()
        });
        to - from > limit || around_unplaced
    };
    (limit, samples.windows(2).map(is_gap).collect())
}

impl Day<'_> {
    /// Whether the step is longer than one and a half sampling intervals and no gap.
    pub(super) fn is_missing_after(&self, sample: usize) -> bool {
        let interval = median(steps(&self.samples));
        let step = self.samples[sample + 1].at - self.samples[sample].at;
        2 * step > 3 * interval && !self.gap_after[sample]
    }

    pub(super) fn find_holes(&self) -> Vec<Hole> {
        let mut gaps: Vec<(usize, usize)> = (0..self.gap_after.len())
            .filter(|&sample| self.gap_after[sample])
            .map(|sample| (sample, sample + 1))
            .collect();
        // Unplaced rows before the first row of the record, or after its last, have no step: a
        // hole of no length at the border, so that they are judged all the same.
        for unplaced in self.record.unplaced() {
            if unplaced.interval.start() == unplaced.interval.end() {
                let at = unplaced.interval.start().unix_milliseconds();
                gaps.extend(self.samples_in((at, at)).map(|sample| (sample, sample)));
            }
        }
        gaps.sort_unstable();
        let mut spans: Vec<(usize, usize)> = Vec::new();
        for gap in gaps {
            match spans.last_mut() {
                Some(hole)
                    if hole.1 >= gap.0
                        || self.samples[gap.0].at - self.samples[hole.1].at < self.gap_limit =>
                {
                    hole.1 = hole.1.max(gap.1);
                }
                _ => spans.push(gap),
            }
        }
        spans.into_iter().map(|span| self.hole(span)).collect()
    }

    fn hole(&self, samples: (usize, usize)) -> Hole {
        let (from, to) = (self.samples[samples.0].at, self.samples[samples.1].at);
        let mut exposed = self.samples[samples.0..=samples.1].iter().any(Sample::exposed);
        let (mut rows, mut short) = (0, 0);
        for unplaced in self.record.unplaced() {
            let inside = from <= unplaced.interval.start().unix_milliseconds()
                && unplaced.interval.end().unix_milliseconds() <= to;
            if !inside {
                continue;
            }
            for row in &unplaced.rows {
                rows += 1;
                exposed |= row.valve != ValveState::Divert;
                let around = &self.samples[samples.0..=samples.1];
                let around = around.iter().map(|sample| sample.limit.figure);
                let limit = limits::of_unplaced(self.record, self.plant, &row.product, around);
                let cold = number(row.temperature).is_some_and(|reading| reading < limit);
                let floor = self.samples[0].differential_limit;
                let low = number(row.differential).is_some_and(|reading| reading < floor);
                if row.valve == ValveState::Forward && (cold || low) {
                    short += 1;
                }
            }
        }
        Hole { samples, exposed, unplaced: (rows > 0).then_some((rows, short)) }
    }

    /// Whether a hole between diverted samples is short enough to be an observation only.
    pub(super) fn is_harmless(&self, hole: &Hole) -> bool {
        let longest = self.plant.limits.diverted_hole.milliseconds();
        !hole.exposed && self.span_of(hole.samples) <= longest
    }
}
