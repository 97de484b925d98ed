//! The span measured between two instants: its length, the least, greatest and mean valid reading
//! of each channel, and the product that passed.
//!
//! Samples on both ends count. The product is the trapezoid of the recorded flow, straight lines
//! between samples, while the valve was forward; a step between a forward sample and another one
//! counts to its midpoint (method, sections 4 and 9). Where there is no usable reading the plant's
//! nominal flow stands in and is marked; without one the volume is unknown.

use crate::day::Curves;
use analysis::Basis;
use plant::Plant;
use trace::{Instant, Interval, Reading, Role, RunRecord, ValveState, VolumeUnit};

/// What was measured.
#[derive(Debug, Clone, PartialEq)]
pub struct Measured {
    /// The span.
    pub interval: Interval,
    /// How many samples lie in it.
    pub samples: usize,
    /// Each channel that has a valid reading in the span.
    pub channels: Vec<ChannelSpan>,
    /// What went forward; `None` when unknown.
    pub volume: Option<f64>,
    /// The unit of the volume.
    pub unit: VolumeUnit,
    /// What the volume rests on.
    pub basis: Basis,
}

/// One channel over the span, in its recorded unit.
#[derive(Debug, Clone, PartialEq)]
pub struct ChannelSpan {
    /// Which.
    pub role: Role,
    /// The sample with the least reading.
    pub least: usize,
    /// The sample with the greatest reading.
    pub greatest: usize,
    /// The mean of the valid readings.
    pub mean: f64,
    /// How many samples of the span are not valid.
    pub invalid: u64,
}

/// Measures a span.
pub fn measure(
    record: &RunRecord,
    plant: &Plant,
    curves: &Curves,
    gaps: &[usize],
    interval: Interval,
) -> Measured {
    let instants = record.instants();
    let first = instants.partition_point(|&instant| instant < interval.start());
    let end = instants.partition_point(|&instant| instant <= interval.end());
    let samples = end.saturating_sub(first);
    let channels = record
        .channels()
        .into_iter()
        .filter_map(|(role, channel)| {
            let extremes = curves.pyramid(role)?.extremes(channel.mantissas(), first..end)?;
            let (mean, readings) = curves.mean(role, channel, first..end)?;
            Some(ChannelSpan {
                role,
                least: extremes.least,
                greatest: extremes.greatest,
                mean,
                invalid: samples as u64 - readings,
            })
        })
        .collect();
    let (volume, unit, basis) = forward_volume(record, plant, gaps, interval);
    Measured { interval, samples, channels, volume, unit, basis }
}

fn forward_volume(
    record: &RunRecord,
    plant: &Plant,
    gaps: &[usize],
    interval: Interval,
) -> (Option<f64>, VolumeUnit, Basis) {
    let flow = record.flow_rate();
    let (flow_unit, nominal) = match (flow, plant.nominal_flow) {
        (Some(channel), nominal) => {
            (channel.unit(), nominal.map(|nominal| nominal.in_unit(channel.unit())))
        }
        (None, Some(nominal)) => (nominal.unit, Some(nominal.value.to_f64())),
        (None, None) => return (None, VolumeUnit::Litre, Basis::Unknown),
    };
    let instants = record.instants();
    let valve = record.valve();
    let value = |sample: usize| match flow.map(|channel| channel.reading(sample)) {
        Some(Reading::Valid(decimal)) => Some(decimal.to_f64()),
        _ => None,
    };
    let mut basis = Basis::Metered;
    let mut total = 0.0;
    let mut step = record.sample_at(interval.start()).unwrap_or(0);
    while step + 1 < instants.len() && instants[step] < interval.end() {
        let (start, end) = (instants[step], instants[step + 1]);
        let gap = gaps.binary_search(&step).is_ok();
        let (opens, closes) = forward_part(valve[step], valve[step + 1], start, end, gap);
        let from = opens.max(interval.start());
        let to = closes.min(interval.end());
        let milliseconds = to.since(from).milliseconds();
        if milliseconds > 0 {
            let readings = if gap { None } else { value(step).zip(value(step + 1)) };
            let mean = match (readings, nominal) {
                (Some((first, last)), _) => {
                    let span = end.since(start).milliseconds() as f64;
                    let share = |at: Instant| at.since(start).milliseconds() as f64 / span;
                    let middle = f64::midpoint(share(from), share(to));
                    first + (last - first) * middle
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
            total += mean * milliseconds as f64;
        }
        step += 1;
    }
    let volume = total * flow_unit.volume_per_millisecond();
    ((basis != Basis::Unknown).then_some(volume), flow_unit.volume(), basis)
}

/// The part of a step that counts as forward. Across a gap any doubt counts.
fn forward_part(
    before: ValveState,
    after: ValveState,
    start: Instant,
    end: Instant,
    gap: bool,
) -> (Instant, Instant) {
    let forward = ValveState::Forward;
    match (before == forward, after == forward) {
        (true, true) => (start, end),
        (true, false) | (false, true) if gap => (start, end),
        (true, false) => (start, start.midpoint(end)),
        (false, true) => (start.midpoint(end), end),
        (false, false) => (start, start),
    }
}
