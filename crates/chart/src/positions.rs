//! Runs of states along the axis of time: the positions of the flow diversion device, the products.

use crate::curves::Curves;
use crate::states::StateRun;
use case::Case;
use std::ops::Range;
use trace::{Interval, ValveState};

/// The samples that may touch `shown`.
pub fn samples(case: &Case, shown: Interval) -> Range<usize> {
    let instants = case.record().instants();
    let first = instants.partition_point(|&instant| instant < shown.start()).saturating_sub(1);
    let end = instants.partition_point(|&instant| instant <= shown.end());
    first..(end + 1).min(instants.len())
}

/// When the samples `first` to `last` stand for the state: half a step longer on each side, unless a
/// gap lies there, over which nothing is known.
pub fn lasting(case: &Case, first: usize, last: usize) -> Interval {
    let instants = case.record().instants();
    let is_gap = |sample: usize| case.audit().gaps.binary_search(&sample).is_ok();
    let from = match first.checked_sub(1) {
        Some(before) if !is_gap(before) => instants[before].midpoint(instants[first]),
        _ => instants[first],
    };
    let to = match instants.get(last + 1) {
        Some(&after) if !is_gap(last) => instants[last].midpoint(after),
        _ => instants[last],
    };
    Interval::between(from, to)
}

/// The positions that touch `shown`, in order; one that holds a gap is told in pieces.
pub fn positions(
    case: &Case,
    curves: &Curves,
    shown: Interval,
) -> impl Iterator<Item = (ValveState, Interval)> {
    let gaps = &case.audit().gaps;
    let pieces = move |run: &StateRun<ValveState>| {
        let (mut first, last, state) = (run.first, run.last, run.state);
        let inside = gaps.partition_point(|&gap| gap < first);
        let within = gaps.get(inside..).unwrap_or_default().iter().copied();
        let ends = within.take_while(move |&gap| gap < last).chain([last]);
        ends.map(move |last| {
            let interval = lasting(case, first, last);
            first = last + 1;
            (state, interval)
        })
    };
    curves
        .valve()
        .visible(samples(case, shown))
        .iter()
        .flat_map(pieces)
        .filter(move |(_, one)| one.start() <= shown.end() && shown.start() <= one.end())
}
