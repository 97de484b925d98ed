//! The product that went forward in any interval of a record that was audited.

use crate::audit::Audit;
use crate::exception::{Basis, Volume};
use crate::volume::{passed, unit};
use plant::Plant;
use trace::{Interval, RunRecord, ValveState};

/// The product that went forward within an interval; the outer volume is the same.
///
/// A step between a forward sample and another one counts to its midpoint, and over a gap as a whole
/// (method, section 9).
pub fn forward_volume(
    record: &RunRecord,
    plant: &Plant,
    audit: &Audit,
    interval: Interval,
) -> Volume {
    let unit = unit(record, plant);
    if record.flow_rate().is_none() && plant.nominal_flow.is_none() {
        return Volume { value: None, outer_value: None, unit, basis: Basis::Unknown };
    }
    let is_gap = |sample: usize| audit.gaps.binary_search(&sample).is_ok();
    let is_usable = |sample: usize| {
        let after = audit.unusable_flow.partition_point(|&(_, last)| last < sample);
        audit.unusable_flow.get(after).is_none_or(|&(first, _)| sample < first)
    };
    let (instants, valve) = (record.instants(), record.valve());
    let is_forward = |sample: usize| valve[sample] == ValveState::Forward;
    let mut forward: Vec<Interval> = Vec::new();
    let first = record.sample_at(interval.start()).unwrap_or(0);
    for step in first..instants.len().saturating_sub(1) {
        let (start, end) = (instants[step], instants[step + 1]);
        if start >= interval.end() {
            break;
        }
        let (from, to) = match (is_forward(step), is_forward(step + 1)) {
            (true, true) => (start, end),
            (true, false) | (false, true) if is_gap(step) => (start, end),
            (true, false) => (start, start.midpoint(end)),
            (false, true) => (start.midpoint(end), end),
            (false, false) => continue,
        };
        let (from, to) = (from.max(interval.start()), to.min(interval.end()));
        if from < to {
            match forward.last_mut() {
                Some(last) if last.end() == from => *last = Interval::between(last.start(), to),
                _ => forward.push(Interval::between(from, to)),
            }
        }
    }
    let (mut sum, mut basis) = (Some(0.0), Basis::Metered);
    for interval in forward {
        let (value, on) = passed(record, plant, (is_usable, is_gap), interval);
        sum = sum.zip(value).map(|(sum, value)| sum + value);
        basis = basis.max(on);
    }
    Volume { value: sum, outer_value: sum, unit, basis }
}
