//! The product that passed in an interval: the trapezoid of the recorded flow, straight lines
//! between samples; the plant's nominal flow where there is no usable reading (method, section 4).

use crate::crossing::on_line;
use crate::exception::{Basis, Exception, Volume};
use crate::verdicts::Verdicts;
use plant::Plant;
use std::collections::BTreeMap;
use trace::{Interval, RunRecord, VolumeUnit};

/// The volume over an estimate and over the outer interval around it.
pub(crate) fn volume(
    record: &RunRecord,
    plant: &Plant,
    verdicts: &Verdicts<'_>,
    estimate: Interval,
    outer: Interval,
) -> Volume {
    let (value, basis) = passed(record, plant, judged(verdicts), estimate);
    let (outer_value, outer_basis) = passed(record, plant, judged(verdicts), outer);
    Volume { value, outer_value, unit: unit(record, plant), basis: basis.max(outer_basis) }
}

/// What the verdicts say of the flow and of gaps.
fn judged(verdicts: &Verdicts<'_>) -> (impl Fn(usize) -> bool, impl Fn(usize) -> bool) {
    (|sample| verdicts.is_flow_usable(sample), |sample| verdicts.gap_after(sample))
}

pub(crate) fn unit(record: &RunRecord, plant: &Plant) -> VolumeUnit {
    match (record.flow_rate(), plant.nominal_flow) {
        (Some(channel), _) => channel.unit().volume(),
        (None, Some(nominal)) => nominal.unit.volume(),
        (None, None) => VolumeUnit::Litre,
    }
}

/// What the meter saw in an interval; `None` where a reading or a part of the record is missing in it.
pub(crate) fn metered(
    record: &RunRecord,
    plant: &Plant,
    verdicts: &Verdicts<'_>,
    interval: Interval,
) -> Option<f64> {
    let flow = record.flow_rate()?;
    let is_read = |sample: usize| flow.reading(sample).valid().is_some();
    let found = passed(record, plant, (is_read, |sample| verdicts.gap_after(sample)), interval);
    found.0.filter(|_| found.1 == Basis::Metered)
}

/// What passed over sets of exceptions. One exception may touch a hundred thousand lots, so what
/// passed in an interval is summed up once and not for each of them.
pub(crate) struct Meter<'a> {
    record: &'a RunRecord,
    plant: &'a Plant,
    verdicts: &'a Verdicts<'a>,
    known: BTreeMap<Interval, (Option<f64>, Basis)>,
}

impl<'a> Meter<'a> {
    pub const fn new(record: &'a RunRecord, plant: &'a Plant, verdicts: &'a Verdicts<'a>) -> Self {
        Self { record, plant, verdicts, known: BTreeMap::new() }
    }

    /// The volume over the union of the exceptions' estimates, and over that of their outer
    /// intervals: each litre once.
    pub fn passed<'e>(
        &mut self,
        exceptions: impl Iterator<Item = &'e Exception> + Clone,
    ) -> Volume {
        let (value, basis) = self.sum(exceptions.clone().map(|one| one.estimate).collect());
        let (outer_value, outer_basis) = self.sum(exceptions.map(|one| one.outer).collect());
        let unit = unit(self.record, self.plant);
        Volume { value, outer_value, unit, basis: basis.max(outer_basis) }
    }

    fn sum(&mut self, intervals: Vec<Interval>) -> (Option<f64>, Basis) {
        let mut sum = Some(0.0);
        let mut basis = Basis::Metered;
        for interval in union(intervals) {
            let (value, on) = *self.known.entry(interval).or_insert_with(|| {
                passed(self.record, self.plant, judged(self.verdicts), interval)
            });
            sum = sum.zip(value).map(|(sum, value)| sum + value);
            basis = basis.max(on);
        }
        (sum, basis)
    }
}

/// The same instants in as few intervals as possible, in order.
pub(crate) fn union(mut intervals: Vec<Interval>) -> Vec<Interval> {
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

/// The volume over one interval, and what it rests on. The functions say of a sample whether its flow
/// can be reckoned with, and whether a gap follows.
pub(crate) fn passed(
    record: &RunRecord,
    plant: &Plant,
    (is_flow_usable, gap_after): (impl Fn(usize) -> bool, impl Fn(usize) -> bool),
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
    if interval.start() == interval.end() && !is_flow_usable(step) {
        // Nothing passed in no time, but the reading there can't vouch for it.
        basis = if nominal.is_some() { Basis::Nominal } else { Basis::Unknown };
    }
    while step + 1 < instants.len() && instants[step] < interval.end() {
        let (start, end) = (instants[step], instants[step + 1]);
        let from = start.max(interval.start());
        let to = end.min(interval.end());
        let milliseconds = to.since(from).milliseconds().max(0) as f64;
        if milliseconds > 0.0 {
            let usable = is_flow_usable(step) && is_flow_usable(step + 1);
            let readings = if gap_after(step) || !usable {
                None
            } else {
                // A flow below zero is the meter's zero drift; parcels do not run back.
                let flow = |sample: usize| channel.value(sample).map(|value| value.max(0.0));
                flow(step).zip(flow(step + 1))
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::specimen::{Specimen, day, only};
    use plant::Flow;
    use trace::{Decimal, FlowUnit};

    /// Thirty gallons a minute: half a gallon a second.
    fn nominal(day: Specimen) -> Specimen {
        day.set(|plant| {
            let value = Decimal::whole(30);
            plant.nominal_flow = Some(Flow { value, unit: FlowUnit::GallonPerMinute });
        })
    }

    fn is(found: Option<f64>, expected: f64) -> bool {
        found.is_some_and(|found| (found - expected).abs() < 1e-9)
    }

    /// 163 → blank → 163: 500 to 1500. The flow goes 30 → 40 → 30 there, 35 on the average over a
    /// second; over the outer two seconds it is 30.
    #[test]
    fn the_trapezoid_of_the_flow_between_the_ends() {
        let audit = day("F*3").holding("163 BAD 163").flow("20 40 20").audit();
        let volume = only(&audit).volume;
        assert!(is(volume.value, 35.0 / 60.0) && is(volume.outer_value, 1.0), "{volume:?}");
        assert_eq!((volume.basis, volume.unit), (Basis::Metered, VolumeUnit::Gallon));
    }

    /// A blank flow makes both steps beside it unusable; without a nominal flow nothing is known.
    #[test]
    fn without_a_usable_flow_the_nominal_one_counts() {
        let short = || day("F*5").holding("150").flow("20*3 _ 20");
        let volume = only(&nominal(short()).audit()).volume;
        // Two steps at 20, two at 30.
        assert!(is(volume.value, 100.0 / 60.0), "{volume:?}");
        assert_eq!(volume.basis, Basis::Nominal);
        let volume = only(&short().audit()).volume;
        assert_eq!((volume.value, volume.basis), (None, Basis::Unknown));
        // Nor without a meter.
        let volume = only(&nominal(day("F*5").holding("150")).audit()).volume;
        assert!(is(volume.value, 2.0) && volume.basis == Basis::Nominal, "{volume:?}");
    }

    #[test]
    fn the_flow_in_a_gap_is_not_known() {
        let audit = nominal(day("F*4").step(1, 60_000).flow("20")).audit();
        let volume = only(&audit).volume;
        assert!(is(volume.value, 30.0) && volume.basis == Basis::Nominal, "{volume:?}");
    }

    /// Two rules short at once over the same four seconds.
    #[test]
    fn each_gallon_passed_once() {
        let audit = day("F*5").holding("150").differential("1").flow("30").audit();
        assert_eq!(audit.exceptions.len(), 2);
        assert!(is(audit.passed.value, 2.0), "{:?}", audit.passed);
    }

    /// One exception over a hundred lots: two intervals are summed up, not two hundred.
    #[test]
    fn what_passed_in_an_interval_is_summed_up_once() {
        let (record, plant) = day("F*100").holding("150").flow("30").finish();
        let audit = crate::audit(&record, &plant, Vec::new());
        let verdicts = Verdicts::new(&record, &[]);
        let mut meter = Meter::new(&record, &plant, &verdicts);
        for _lot in 0..100 {
            assert_eq!(meter.passed(audit.exceptions.iter()), audit.passed);
        }
        assert!(meter.known.len() <= 2, "{:?}", meter.known);
    }

    #[test]
    fn nothing_passed_on_a_quiet_day() {
        let audit = day("F*5").flow("30").audit();
        assert!(is(audit.passed.value, 0.0) && is(audit.passed.outer_value, 0.0));
    }
}
