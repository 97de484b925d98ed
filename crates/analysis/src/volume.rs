//! The product that passed in an interval: the trapezoid of the recorded flow, straight lines
//! between samples; the plant's nominal flow where there is no usable reading (method, section 4).

use crate::crossing::on_line;
use crate::exception::{Basis, Exception, Volume};
use crate::runs::Verdicts;
use plant::Plant;
use trace::{Interval, RunRecord, VolumeUnit};

/// The volume over an estimate and over the outer interval around it.
pub(crate) fn volume(
    record: &RunRecord,
    plant: &Plant,
    verdicts: &Verdicts<'_>,
    estimate: Interval,
    outer: Interval,
) -> Volume {
    let (value, basis) = passed(record, plant, verdicts, estimate);
    let (outer_value, outer_basis) = passed(record, plant, verdicts, outer);
    Volume { value, outer_value, unit: unit(record, plant), basis: basis.max(outer_basis) }
}

fn unit(record: &RunRecord, plant: &Plant) -> VolumeUnit {
    match (record.flow_rate(), plant.nominal_flow) {
        (Some(channel), _) => channel.unit().volume(),
        (None, Some(nominal)) => nominal.unit.volume(),
        (None, None) => VolumeUnit::Litre,
    }
}

/// The volume over the union of the exceptions' estimates, and over that of their outer intervals.
pub(crate) fn volume_in_doubt(
    record: &RunRecord,
    plant: &Plant,
    verdicts: &Verdicts<'_>,
    exceptions: &[Exception],
) -> Volume {
    let sum = |intervals: Vec<Interval>| {
        let mut sum = Some(0.0);
        let mut basis = Basis::Metered;
        for interval in union(intervals) {
            let (value, on) = passed(record, plant, verdicts, interval);
            sum = sum.zip(value).map(|(sum, value)| sum + value);
            basis = basis.max(on);
        }
        (sum, basis)
    };
    let (value, basis) = sum(exceptions.iter().map(|one| one.estimate).collect());
    let (outer_value, outer_basis) = sum(exceptions.iter().map(|one| one.outer).collect());
    Volume { value, outer_value, unit: unit(record, plant), basis: basis.max(outer_basis) }
}

/// The same instants in as few intervals as possible, in order.
fn union(mut intervals: Vec<Interval>) -> Vec<Interval> {
    intervals.sort_unstable();
    let mut union: Vec<Interval> = Vec::with_capacity(intervals.len());
    for interval in intervals {
        match union.last_mut() {
            Some(last) if interval.start() <= last.end() => *last = last.hull(interval),
            _ => union.push(interval),
        }
    }
    union
}

/// The volume over one interval, and what it rests on.
fn passed(
    record: &RunRecord,
    plant: &Plant,
    verdicts: &Verdicts<'_>,
    interval: Interval,
) -> (Option<f64>, Basis) {
    let Some(channel) = record.flow_rate() else {
        let nominal = plant.nominal_flow.map(|nominal| {
            nominal.value.to_f64()
                * nominal.unit.volume_per_millisecond()
                * interval.duration().milliseconds() as f64
        });
        return (nominal, if nominal.is_some() { Basis::Nominal } else { Basis::Unknown });
    };
    let nominal = plant.nominal_flow.map(|nominal| nominal.in_unit(channel.unit()));
    let instants = record.instants();
    let mut basis = Basis::Metered;
    let mut flow_milliseconds = 0.0;
    let mut step = record.sample_at(interval.start()).unwrap_or(0);
    if interval.start() == interval.end() && channel.value(step).is_none() {
        // Nothing passed in no time, but the reading there can't vouch for it.
        basis = if nominal.is_some() { Basis::Nominal } else { Basis::Unknown };
    }
    while step + 1 < instants.len() && instants[step] < interval.end() {
        let (start, end) = (instants[step], instants[step + 1]);
        let from = start.max(interval.start());
        let to = end.min(interval.end());
        let milliseconds = to.since(from).milliseconds().max(0) as f64;
        if milliseconds > 0.0 {
            let readings = if verdicts.gap_after(step) {
                None
            } else {
                channel.value(step).zip(channel.value(step + 1))
            };
            let mean = match (readings, nominal) {
                (Some((first, last)), _) => {
                    let at_from = on_line(start, end, first, last, from);
                    let at_to = on_line(start, end, first, last, to);
                    f64::midpoint(at_from, at_to)
                }
                (None, Some(nominal)) => {
                    basis = basis.max(Basis::Nominal);
                    nominal
                }
                (None, None) => {
                    basis = Basis::Unknown;
                    0.0
                }
            };
            flow_milliseconds += mean * milliseconds;
        }
        step += 1;
    }
    let value = flow_milliseconds * channel.unit().volume_per_millisecond();
    ((basis != Basis::Unknown).then_some(value), basis)
}
