//! The product account: each run of a product and lot with its volumes and least margins, and for
//! each lot what passed while an exception lasted, each litre counted once (method, section 7).

use crate::context::Context;
use crate::exception::{Exception, Volume};
use crate::volume::Meter;
use plant::Mode;
use std::collections::BTreeMap;
use trace::{
    Channel, Decimal, Duration, Instant, Interval, PressureUnit, RunRecord, TemperatureUnit,
    ValveState, VolumeUnit,
};

/// A stretch of samples with one product and one lot.
#[derive(Debug, Clone, PartialEq)]
pub struct ProductRun {
    /// The product, as recorded; empty when blank.
    pub product: String,
    /// The lot, as recorded; empty when blank.
    pub lot: String,
    /// From its first sample to the first of the next run, or the last of the record.
    pub interval: Interval,
    /// From the first to the last sample in forward flow in production; `None` where there is none.
    pub forward_flow: Option<Interval>,
    /// The time in forward flow.
    pub forward_time: Duration,
    /// What the meter saw in forward flow; `None` without a meter.
    pub forward: Option<f64>,
    /// What the meter saw while diverted; `None` without a meter.
    pub diverted: Option<f64>,
    /// The unit of both.
    pub unit: VolumeUnit,
    /// Whether a reading of the meter was missing in the run, so that both are too small.
    pub incomplete: bool,
    /// The lowest holding temperature in forward flow, and when it was read first.
    pub lowest: Option<(Decimal, Instant)>,
    /// The least holding temperature in forward flow above its limit, in the channel's unit.
    pub temperature_margin: Option<f64>,
    /// The least differential in forward flow above its limit, in the channel's unit.
    pub differential_margin: Option<f64>,
    /// The tank that the run sheet names; blank without one.
    pub tank: String,
    /// The quantity that the run sheet states.
    pub stated: Option<(Decimal, VolumeUnit)>,
    /// How many exceptions touched it.
    pub exceptions: usize,
}

/// A lot over the whole record.
#[derive(Debug, Clone, PartialEq)]
pub struct LotAccount {
    /// The lot.
    pub lot: String,
    /// How many exceptions touched it.
    pub exceptions: usize,
    /// The volume over the union of their intervals.
    pub passed: Volume,
}

/// The runs in order; empty when the record names neither product nor lot.
pub(crate) fn product_runs(context: &Context<'_>, exceptions: &[Exception]) -> Vec<ProductRun> {
    let record = context.record;
    if !names_runs(record) {
        return Vec::new();
    }
    let code = |sample: usize| {
        let of = |text: Option<&trace::TextChannel>| text.map_or(0, |text| text.codes()[sample]);
        (of(record.product()), of(record.lot()))
    };
    let mut runs = Vec::new();
    let mut first = 0;
    for sample in 1..=record.samples() {
        if sample == record.samples() || code(sample) != code(first) {
            runs.push((first, sample - 1));
            first = sample;
        }
    }
    // An exception touches the runs from that of its first sample to that of its last.
    let mut touching = vec![0_isize; runs.len() + 1];
    for exception in exceptions {
        let run_of = |sample: usize| runs.partition_point(|&(_, last)| last < sample);
        touching[run_of(exception.samples.0)] += 1;
        touching[run_of(exception.samples.1) + 1] -= 1;
    }
    let mut touched = 0;
    runs.iter()
        .zip(touching)
        .map(|(&(first, last), change)| {
            touched += change;
            product_run(context, touched.unsigned_abs(), first, last)
        })
        .collect()
}

/// Whether the record names products or lots, so that it has runs.
fn names_runs(record: &RunRecord) -> bool {
    record.product().is_some() || record.lot().is_some()
}

/// The whole record as one run, where it names neither product nor lot.
pub(crate) fn unnamed_run(context: &Context<'_>, exceptions: &[Exception]) -> Option<ProductRun> {
    let last = context.record.samples().checked_sub(1)?;
    (!names_runs(context.record)).then(|| product_run(context, exceptions.len(), 0, last))
}

fn product_run(context: &Context<'_>, exceptions: usize, first: usize, last: usize) -> ProductRun {
    let record = context.record;
    let instants = record.instants();
    let verdicts = context.verdicts;
    let word =
        |text: Option<&trace::TextChannel>| text.map_or("", |text| text.word(first)).to_owned();
    let written = record.run_sheet().and_then(|sheet| sheet.run_at(instants[first]));
    let next = (last + 1).min(record.samples() - 1);
    let mut run = ProductRun {
        product: word(record.product()),
        lot: word(record.lot()),
        interval: Interval::between(instants[first], instants[next]),
        forward_flow: None,
        forward_time: Duration::ZERO,
        forward: record.flow_rate().map(|_| 0.0),
        diverted: record.flow_rate().map(|_| 0.0),
        unit: record.flow_rate().map_or(VolumeUnit::Litre, |flow| flow.unit().volume()),
        incomplete: false,
        lowest: None,
        temperature_margin: None,
        differential_margin: None,
        tank: written.map_or_else(String::new, |run| run.tank.clone()),
        stated: written.and_then(|run| run.quantity),
        exceptions,
    };
    let flow = record.flow_rate();
    let value = |sample: usize| flow.and_then(|flow| flow.value(sample));
    let factor = flow.map_or(0.0, |flow| flow.unit().volume_per_millisecond());
    let mut ahead = value(first);
    for sample in first..next {
        let readings = ahead;
        ahead = value(sample + 1);
        if verdicts.gap_after(sample) {
            run.incomplete = true;
            continue;
        }
        let step = instants[sample + 1].since(instants[sample]);
        let here = verdicts.valve(sample);
        let there = verdicts.valve(sample + 1);
        // Up to the midpoint the position of the first sample, then that of the second.
        let half = instants[sample].midpoint(instants[sample + 1]).since(instants[sample]);
        let halves = [(here, half), (there, step - half)];
        let parts = if here == there { &[(here, step)][..] } else { &halves };
        for &(valve, time) in parts {
            if valve == ValveState::Forward {
                run.forward_time = run.forward_time + time;
            }
        }
        if flow.is_none() {
            continue;
        }
        let Some((one, other)) = readings.zip(ahead) else {
            run.incomplete = true;
            continue;
        };
        let slope = (other - one) / step.milliseconds() as f64;
        let mut from = one;
        for &(valve, time) in parts {
            let milliseconds = time.milliseconds() as f64;
            let to = from + slope * milliseconds;
            let volume = f64::midpoint(from, to) * milliseconds * factor;
            from = to;
            let sum = match valve {
                ValveState::Forward => &mut run.forward,
                ValveState::Divert => &mut run.diverted,
                ValveState::Travel | ValveState::Unknown => continue,
            };
            if let Some(sum) = sum {
                *sum += volume;
            }
        }
    }
    run.forward_flow = forward_flow(context, first, last);
    margins(context, &mut run, first, last);
    run
}

/// From the first to the last sample in forward flow in production: the seats of the device are pulsed in cleaning.
fn forward_flow(context: &Context<'_>, first: usize, last: usize) -> Option<Interval> {
    let is_made = |sample: &usize| {
        context.verdicts.is_forward(*sample) && context.mode_at(*sample) == Mode::Production
    };
    let begins = (first..=last).find(is_made)?;
    let ends = (begins..=last).rev().find(is_made)?;
    let instants = context.record.instants();
    Some(Interval::between(instants[begins], instants[ends]))
}

/// The least margins in forward flow, short ones included.
fn margins(context: &Context<'_>, run: &mut ProductRun, first: usize, last: usize) {
    let record = context.record;
    let (temperature, differential) = (record.holding_temperature(), record.differential());
    let mut coldest: Option<(i64, usize)> = None;
    let mut tightest: Option<i64> = None;
    for sample in first..=last {
        if !context.verdicts.is_forward(sample) {
            continue;
        }
        let (degrees, pressure) =
            (temperature.mantissas()[sample], differential.mantissas()[sample]);
        if Channel::<TemperatureUnit>::is_valid(degrees) {
            coldest = Some(coldest.map_or((degrees, sample), |held| held.min((degrees, sample))));
        }
        if Channel::<PressureUnit>::is_valid(pressure) {
            tightest = Some(tightest.map_or(pressure, |held| held.min(pressure)));
        }
    }
    let over = |mantissa: i64, scale: u8, limit: trace::Ratio| {
        let power = i128::from(trace::power_of_ten(scale));
        let over = i128::from(mantissa) * limit.denominator() - limit.numerator() * power;
        trace::Ratio::new(over, limit.denominator() * power).to_f64()
    };
    // One product, one limit throughout the run.
    run.temperature_margin =
        coldest.map(|(least, _)| over(least, temperature.scale(), context.span(first).exact));
    run.lowest = coldest.map(|(least, sample)| {
        (Decimal::new(least, temperature.scale()), record.instants()[sample])
    });
    run.differential_margin =
        tightest.map(|least| over(least, differential.scale(), context.floor.exact));
}

/// The lots that exceptions touched, in order of their names.
pub(crate) fn lots(meter: &mut Meter<'_>, exceptions: &[Exception]) -> Vec<LotAccount> {
    let mut touched: BTreeMap<&str, Vec<&Exception>> = BTreeMap::new();
    for exception in exceptions {
        for lot in &exception.lots {
            touched.entry(lot).or_default().push(exception);
        }
    }
    touched
        .into_iter()
        .map(|(lot, exceptions)| LotAccount {
            lot: lot.to_owned(),
            exceptions: exceptions.len(),
            passed: meter.passed(exceptions.iter().copied()),
        })
        .collect()
}
