//! What the audit observes beside the exceptions: instruments, sampling, transitions, modes
//! (method, section 8).

use crate::exception::{Cause, Exception};
use crate::exceptions::Context;
use crate::runs::{Reading, Run};
use crate::transitions::{Side, Transition};
use crate::trend::regeneration;
use plant::{Mode, PressureLimit};
use trace::{
    ChannelView, Decimal, Duration, Interval, Observation, ObservationKind, PressureUnit, Ratio,
    Role, RunRecord, TemperatureUnit, Unit, ValveState, power_of_ten,
};

/// How many observations of one kind are told one by one; the rest is summed up in one more.
const MOST_OF_A_KIND: usize = 100;

/// Collects the observations of one kind, and sums up what is more than a person will read.
struct Kind {
    kind: ObservationKind,
    told: Vec<Observation>,
    more: Option<(u64, Interval)>,
}

impl Kind {
    const fn new(kind: ObservationKind) -> Self {
        Self { kind, told: Vec::new(), more: None }
    }

    fn add(&mut self, interval: Interval, count: usize, message: impl FnOnce() -> String) {
        if self.told.len() < MOST_OF_A_KIND {
            self.told.push(Observation {
                kind: self.kind,
                interval: Some(interval),
                position: None,
                count: count as u64,
                message: message(),
            });
        } else {
            let (more, hull) = self.more.unwrap_or((0, interval));
            self.more = Some((more + 1, hull.hull(interval)));
        }
    }

    fn finish(mut self, observations: &mut Vec<Observation>) {
        if let Some((more, interval)) = self.more {
            self.told.push(Observation {
                kind: self.kind,
                interval: Some(interval),
                position: None,
                count: more,
                message: format!("{more} more of the same kind in this interval"),
            });
        }
        observations.append(&mut self.told);
    }
}

/// All observations of the audit, kind by kind.
pub(crate) fn find(
    context: &Context<'_>,
    gaps: &[usize],
    exceptions: &[Exception],
    transitions: &[Transition],
) -> Vec<Observation> {
    let mut observations = Vec::new();
    recorder(context, &mut observations);
    cut_in_and_out(context, transitions, &mut observations);
    slow_response(context, exceptions, &mut observations);
    low_while_not_forward(context, &mut observations);
    slow_sampling(context, &mut observations);
    sensors(context, &mut observations);
    outside_production(context, &mut observations);
    unknown_products(context, &mut observations);
    gaps_while_diverted(context, gaps, &mut observations);
    too_warm(context, &mut observations);
    low_regeneration(context, &mut observations);
    leaks(context, &mut observations);
    holding_tube(context, &mut observations);
    run_sheet(context, &mut observations);
    observations
}

/// Temperatures of two channels as integers on one common scale.
struct CommonScale {
    unit: TemperatureUnit,
    scale: u8,
    /// What a whole degree counts beside the power of ten.
    degree: i128,
    convert: bool,
}

/// A channel's way onto the common scale: mantissa times `factor` plus `zero`.
struct Placed {
    factor: i128,
    zero: i128,
}

impl Placed {
    fn at(&self, mantissa: i64) -> i128 {
        i128::from(mantissa) * self.factor + self.zero
    }
}

impl CommonScale {
    fn of(one: &trace::Channel<TemperatureUnit>, other: &trace::Channel<TemperatureUnit>) -> Self {
        let convert = one.unit() != other.unit();
        Self {
            unit: if convert { TemperatureUnit::Fahrenheit } else { one.unit() },
            scale: one.scale().max(other.scale()),
            // Fifths of a degree Fahrenheit hold every decimal of a degree Celsius exactly.
            degree: if convert { 5 } else { 1 },
            convert,
        }
    }

    fn place(&self, channel: &trace::Channel<TemperatureUnit>) -> Placed {
        let power = i128::from(power_of_ten(self.scale - channel.scale()));
        match channel.unit() {
            TemperatureUnit::Celsius if self.convert => {
                Placed { factor: 9 * power, zero: 160 * i128::from(power_of_ten(self.scale)) }
            }
            _ => Placed { factor: self.degree * power, zero: 0 },
        }
    }

    fn degrees(&self, figure: i128) -> f64 {
        figure as f64 / (self.degree as f64 * power_of_ten(self.scale) as f64)
    }
}

/// The recording thermometer against the indicating one.
fn recorder(context: &Context<'_>, observations: &mut Vec<Observation>) {
    let record = context.record;
    let Some(recorder) = record.recorder_temperature() else {
        return;
    };
    let indicating = record.holding_temperature();
    let common = CommonScale::of(recorder, indicating);
    let allowed = context.plant.limits.recorder_difference.figure(common.unit);
    let most = i128::from(allowed.ceiling_mantissa(common.scale)) * common.degree;

    let (recorded, indicated) = (common.place(recorder), common.place(indicating));

    let mut above = Aggregate::default();
    let mut apart = Aggregate::default();
    let pairs = recorder.mantissas().iter().zip(indicating.mantissas());
    for (sample, (&one, &other)) in pairs.enumerate() {
        if !ChannelView::is_valid(one) || !ChannelView::is_valid(other) {
            continue;
        }
        let over = recorded.at(one) - indicated.at(other);
        if over > 0 {
            above.add(sample, over);
        }
        if over.abs() > most {
            apart.add(sample, over.abs());
        }
    }
    let unit = common.unit.symbol();
    let zone = context.plant.zone;
    for (kind, aggregate, what) in [
        (
            ObservationKind::RecorderAboveIndicating,
            above,
            "the recorder reads above the indicating thermometer, which is the official one",
        ),
        (
            ObservationKind::RecorderDisagrees,
            apart,
            "recorder and indicating thermometer differ by more than allowed",
        ),
    ] {
        let Some((first, last, worst, most)) = aggregate.found else {
            continue;
        };
        let instants = record.instants();
        observations.push(Observation {
            kind,
            interval: Some(Interval::between(instants[first], instants[last])),
            position: None,
            count: aggregate.count,
            message: format!(
                "{what}, in {} samples, by up to {:.2} {unit} at {}; compare and adjust the recorder",
                aggregate.count,
                common.degrees(most),
                zone.clock(instants[worst])
            ),
        });
    }
}

/// First and last sample of something that comes and goes, and the sample where it was greatest.
#[derive(Default)]
struct Aggregate {
    count: u64,
    found: Option<(usize, usize, usize, i128)>,
}

impl Aggregate {
    fn add(&mut self, sample: usize, figure: i128) {
        self.count += 1;
        self.found = Some(match self.found {
            Some((first, _, worst, most)) if figure <= most => (first, sample, worst, most),
            Some((first, ..)) => (first, sample, sample, figure),
            None => (sample, sample, sample, figure),
        });
    }
}

fn cut_in_and_out(
    context: &Context<'_>,
    transitions: &[Transition],
    observations: &mut Vec<Observation>,
) {
    let mut cut_in = Kind::new(ObservationKind::CutInBelowLimit);
    let mut cut_out = Kind::new(ObservationKind::CutOutBelowLimit);
    let unit = context.record.holding_temperature().unit().symbol();
    for transition in transitions {
        let (before, after) = transition.samples;
        let interval = Interval::between(context.record.instants()[before], transition.at);
        let (kind, sample, reading, what) = match transition.to {
            Side::Forward => {
                (&mut cut_in, after, transition.temperature_after, "the device went forward at")
            }
            Side::Divert => {
                (&mut cut_out, before, transition.temperature_before, "the device diverted only at")
            }
        };
        if let Some(reading) = reading
            && context.verdicts.is_short(sample, Reading::Temperature)
        {
            let limit = context.span(sample).limit;
            kind.add(interval, 1, || {
                format!("{what} {reading} {unit}; the limit is {limit} {unit}")
            });
        }
    }
    cut_in.finish(observations);
    cut_out.finish(observations);
}

fn slow_response(
    context: &Context<'_>,
    exceptions: &[Exception],
    observations: &mut Vec<Observation>,
) {
    let mut slow = Kind::new(ObservationKind::SlowResponse);
    let allowance = context.plant.limits.response_allowance;
    for exception in exceptions {
        let diverted = context
            .verdicts
            .after(exception.samples.1)
            .is_some_and(|after| !context.verdicts.is_forward(after));
        let slower = exception.estimate.duration() > allowance;
        if exception.cause == Cause::Short && diverted && slower {
            slow.add(exception.estimate, 1, || {
                format!(
                    "the device left forward flow {} after the {} fell short; allowed is {allowance}",
                    exception.estimate.duration(),
                    exception.rule.name(),
                )
            });
        }
    }
    slow.finish(observations);
}

fn low_while_not_forward(context: &Context<'_>, observations: &mut Vec<Observation>) {
    let verdicts = context.verdicts;
    let mut low = Kind::new(ObservationKind::DifferentialLowNotForward);
    let differential = context.record.differential();
    let unit = differential.unit().symbol();
    let runs = verdicts.runs(|sample| {
        !verdicts.is_forward(sample) && verdicts.is_short(sample, Reading::Differential)
    });
    for run in runs {
        low.add(verdicts.observed(run), run.1 - run.0 + 1, || {
            let least = differential.mantissas()[run.0..=run.1].iter().min().copied();
            let least = Decimal::new(least.unwrap_or_default(), differential.scale());
            format!(
                "differential pressure down to {least} {unit} while not forward; raw milk could \
                 reach the pasteurized side through a leak"
            )
        });
    }
    low.finish(observations);
}

fn slow_sampling(context: &Context<'_>, observations: &mut Vec<Observation>) {
    let (median, asked) =
        (context.record.sampling_interval(), context.plant.limits.record_interval);
    if median > asked {
        observations.push(Observation {
            kind: ObservationKind::SlowSampling,
            interval: Some(context.record.interval()),
            position: None,
            count: 1,
            message: format!(
                "one sample every {median}; the plant file asks for one every {asked} or faster"
            ),
        });
    }
}

/// The channels that the logger recorded: a difference that was worked out is none.
fn recorded(record: &RunRecord) -> Vec<(Role, ChannelView<'_>)> {
    let mut channels = record.channels();
    if record.pressures().is_some() {
        channels.retain(|(role, _)| *role != Role::DifferentialPressure);
    }
    channels
}

/// Frozen readings and impossible steps, in one pass over each channel.
fn sensors(context: &Context<'_>, observations: &mut Vec<Observation>) {
    let mut frozen = Kind::new(ObservationKind::FrozenReading);
    let mut steps = Kind::new(ObservationKind::ImpossibleStep);
    let instants = context.record.instants();
    let verdicts = context.verdicts;
    let frozen_after = context.plant.limits.frozen_after;
    for (role, channel) in recorded(context.record) {
        let mantissas = channel.mantissas();
        let (scale, unit) = (channel.scale(), channel.symbol());
        let slew = slew_per_second(context, channel)
            .map(|slew| slew.ceiling_mantissa(scale))
            .map_or(i64::MAX, |slew| slew.max(0));
        let mut still = |first: usize, last: usize| {
            let interval = Interval::between(instants[first], instants[last]);
            if ChannelView::is_valid(mantissas[first]) && interval.duration() > frozen_after {
                frozen.add(interval, last - first + 1, || {
                    format!(
                        "{} stood at exactly {} {unit} for {}; check that the sensor is alive",
                        role.name(),
                        Decimal::new(mantissas[first], scale),
                        interval.duration()
                    )
                });
            }
        };
        let mut first = 0;
        let pairs = mantissas.windows(2).zip(instants.windows(2)).enumerate();
        for (sample, (readings, stamps)) in pairs {
            let (one, other) = (readings[0], readings[1]);
            let gap = verdicts.gap_after(sample);
            if one == other && !gap {
                continue;
            }
            if first < sample {
                still(first, sample);
            }
            first = sample + 1;
            let watched = slew < i64::MAX && !gap;
            if !watched || !ChannelView::is_valid(one) || !ChannelView::is_valid(other) {
                continue;
            }
            let milliseconds = stamps[1].since(stamps[0]).milliseconds();
            let change = i128::from(one.abs_diff(other)) * 1000;
            if change > i128::from(slew) * i128::from(milliseconds) {
                let interval = Interval::between(stamps[0], stamps[1]);
                steps.add(interval, 1, || {
                    format!(
                        "{} went from {} to {} {unit} in {}, faster than the sensor can; check its \
                         wiring",
                        role.name(),
                        Decimal::new(one, scale),
                        Decimal::new(other, scale),
                        interval.duration()
                    )
                });
            }
        }
        still(first, mantissas.len() - 1);
    }
    frozen.finish(observations);
    steps.finish(observations);
}

/// The fastest change a second in the channel's unit; none for flow, which a pump can stop at once.
fn slew_per_second(context: &Context<'_>, channel: ChannelView<'_>) -> Option<Ratio> {
    let slew = context.plant.limits.slew;
    match channel {
        ChannelView::Temperature(channel) => {
            let celsius = Ratio::from(slew.celsius_per_second);
            Some(match channel.unit() {
                TemperatureUnit::Celsius => celsius,
                TemperatureUnit::Fahrenheit => {
                    Ratio::new(celsius.numerator() * 9, celsius.denominator() * 5)
                }
            })
        }
        ChannelView::Pressure(channel) => Some(
            PressureLimit::Single(slew.kilopascal_per_second, PressureUnit::Kilopascal)
                .figure(channel.unit()),
        ),
        ChannelView::Flow(_) => None,
    }
}

fn outside_production(context: &Context<'_>, observations: &mut Vec<Observation>) {
    let Some(text) = context.record.mode() else {
        return;
    };
    let modes: Vec<Mode> = text.words().iter().map(|word| context.mode(word)).collect();
    let mode = |sample: usize| modes[text.codes()[sample] as usize];
    let mut outside = Kind::new(ObservationKind::ForwardNotProduction);
    for which in [Mode::Water, Mode::Cleaning] {
        let runs = context
            .verdicts
            .runs(|sample| context.verdicts.is_forward(sample) && mode(sample) == which);
        for run in runs {
            outside.add(context.verdicts.observed(run), run.1 - run.0 + 1, || {
                format!(
                    "forward flow while the mode is {}; it is judged like product and told apart",
                    which.name()
                )
            });
        }
    }
    outside.finish(observations);
}

fn unknown_products(context: &Context<'_>, observations: &mut Vec<Observation>) {
    let mut unknown = Kind::new(ObservationKind::UnknownProduct);
    let instants = context.record.instants();
    let unit = context.record.holding_temperature().unit().symbol();
    for span in context.spans.iter().filter(|span| span.unknown_product) {
        let interval = Interval::between(instants[span.first], instants[span.last]);
        let word = context.record.product().map_or("", |text| text.word(span.first));
        unknown.add(interval, span.last - span.first + 1, || {
            let what = if word.is_empty() {
                "the product cell is blank".to_owned()
            } else {
                format!("the product {word:?} is not in the plant file")
            };
            format!(
                "{what}; the strictest limit, {} {unit} of {}, is applied",
                span.limit, span.product
            )
        });
    }
    unknown.finish(observations);
}

fn gaps_while_diverted(context: &Context<'_>, gaps: &[usize], observations: &mut Vec<Observation>) {
    let mut diverted = Kind::new(ObservationKind::GapDiverted);
    for &before in gaps {
        let both = [before, before + 1]
            .iter()
            .all(|&sample| context.verdicts.valve(sample) == ValveState::Divert);
        if both {
            let interval = context.verdicts.observed((before, before + 1));
            let length: Duration = interval.duration();
            diverted.add(interval, 1, || {
                format!("no sample for {length}, with the device diverted at both ends")
            });
        }
    }
    diverted.finish(observations);
}

/// Runs less than the merge time apart as one: a reading that creeps across a limit flickers.
fn joined(context: &Context<'_>, runs: Vec<Run>) -> Vec<Run> {
    let instants = context.record.instants();
    let mut joined: Vec<Run> = Vec::new();
    for run in runs {
        match joined.last_mut() {
            Some(last)
                if instants[run.0].since(instants[last.1]) < context.plant.limits.merge_time =>
            {
                last.1 = run.1;
            }
            _ => joined.push(run),
        }
    }
    joined
}

/// Raw milk and cooled product above their limits in forward flow.
fn too_warm(context: &Context<'_>, observations: &mut Vec<Observation>) {
    let limits = &context.plant.limits;
    for (role, maximum, kind) in [
        (Role::RawTemperature, limits.raw_maximum, ObservationKind::RawTooWarm),
        (Role::CooledTemperature, limits.cooled_maximum, ObservationKind::CooledTooWarm),
    ] {
        let Some(ChannelView::Temperature(channel)) = context.record.channel(role) else {
            continue;
        };
        let figure = maximum.figure(channel.unit());
        let most = figure.ceiling_mantissa(channel.scale());
        let mantissas = channel.mantissas();
        let unit = channel.unit().symbol();
        let mut warm = Kind::new(kind);
        // An invalid reading is the least of integers, and so never above. Water is no milk.
        let runs = context.verdicts.runs(|sample| {
            context.verdicts.is_forward(sample)
                && mantissas[sample] > most
                && context.mode_at(sample) == Mode::Production
        });
        for run in joined(context, runs) {
            let interval = context.verdicts.observed(run);
            warm.add(interval, run.1 - run.0 + 1, || {
                let warmest = mantissas[run.0..=run.1].iter().max().copied();
                format!(
                    "{} up to {} {unit} within {} of forward flow; the limit is {} {unit}",
                    role.name(),
                    Decimal::new(warmest.unwrap_or_default(), channel.scale()),
                    interval.duration(),
                    figure.to_f64()
                )
            });
        }
        warm.finish(observations);
    }
}

/// Regeneration efficiency below the plant's floor, where it has one.
fn low_regeneration(context: &Context<'_>, observations: &mut Vec<Observation>) {
    let Some(minimum) = context.plant.limits.regeneration_minimum else { return };
    let record = context.record;
    let unit = record.holding_temperature().unit();
    let value = |role: Role, sample: usize| match record.channel(role)? {
        ChannelView::Temperature(channel) => {
            channel.value(sample).map(|value| channel.unit().convert(value, unit))
        }
        ChannelView::Pressure(_) | ChannelView::Flow(_) => None,
    };
    let percent = |sample: usize| {
        regeneration(
            value(Role::RawTemperature, sample)?,
            value(Role::RegeneratedTemperature, sample)?,
            value(Role::HoldingTemperature, sample)?,
        )
        .map(|fraction| fraction * 100.0)
    };
    let floor = minimum.to_f64();
    let mut low = Kind::new(ObservationKind::LowRegeneration);
    let runs = context.verdicts.runs(|sample| {
        context.verdicts.is_forward(sample) && percent(sample).is_some_and(|found| found < floor)
    });
    for run in runs {
        low.add(context.verdicts.observed(run), run.1 - run.0 + 1, || {
            let least = (run.0..=run.1).filter_map(percent).fold(f64::INFINITY, f64::min);
            format!(
                "regeneration efficiency down to {least:.1} %; the plant's floor is {minimum} %"
            )
        });
    }
    low.finish(observations);
}

/// Leak-detect hits, with their lot.
fn leaks(context: &Context<'_>, observations: &mut Vec<Observation>) {
    let Some(leak) = context.record.leak_detect() else { return };
    let mut found = Kind::new(ObservationKind::LeakDetected);
    for run in context.verdicts.runs(|sample| leak[sample] == Some(true)) {
        found.add(context.verdicts.observed(run), run.1 - run.0 + 1, || {
            let lot = context.record.lot().map_or("", |lot| lot.word(run.0));
            let lot = if lot.is_empty() { String::new() } else { format!(", lot {lot}") };
            let valve = context.verdicts.valve(run.0).name();
            format!("the leak sensor answered, valve {valve}{lot}")
        });
    }
    found.finish(observations);
}

/// How far certificate and measures may be apart: a tenth (our choice).
const TUBE_TOLERANCE: f64 = 0.1;

/// The third leg: time can only be judged with a flow meter and a tube.
fn holding_tube(context: &Context<'_>, observations: &mut Vec<Observation>) {
    let whole = Some(context.record.interval());
    if context.residence.is_none() {
        let missing = match (context.record.flow_rate(), &context.plant.tube) {
            (None, None) => "no flow is recorded and the plant file describes no holding tube",
            (None, Some(_)) => "no flow is recorded",
            (Some(_), _) => "the plant file describes no holding tube",
        };
        observations.push(Observation {
            kind: ObservationKind::HoldingTimeNotJudged,
            interval: whole,
            position: None,
            count: 1,
            message: format!(
                "{missing}; only temperature and differential pressure were judged, not the time"
            ),
        });
    }
    let Some(plant::Tube::Both(certificate, geometry)) = &context.plant.tube else { return };
    let litres_per_hour = certificate.test_flow.in_unit(trace::FlowUnit::LitrePerHour);
    let measured = geometry.effective_litres(litres_per_hour) / litres_per_hour * 3600.0;
    let certified = certificate.test_time.seconds();
    if (measured - certified).abs() > TUBE_TOLERANCE * certified {
        observations.push(Observation {
            kind: ObservationKind::TubeContradiction,
            interval: whole,
            position: None,
            count: 1,
            message: format!(
                "at the test flow the tube's measures give {measured:.1} s, its certificate \
                 {certified} s; the certificate is used, check both"
            ),
        });
    }
}

/// A run sheet that overlaps itself, or leaves forward flow uncovered.
fn run_sheet(context: &Context<'_>, observations: &mut Vec<Observation>) {
    let Some(sheet) = context.record.run_sheet() else { return };
    let position =
        |line: u64| Some(trace::SourcePosition { file: std::sync::Arc::clone(sheet.file()), line });
    let mut until: Option<(trace::Instant, u64)> = None;
    for run in sheet.runs() {
        if let Some((end, line)) = until
            && run.interval.start() < end
        {
            observations.push(Observation {
                kind: ObservationKind::RunSheetOverlap,
                interval: Some(Interval::between(run.interval.start(), end.min(run.interval.end()))),
                position: position(run.line),
                count: 1,
                message: format!(
                    "this run begins before that of line {line} ends; whose milk it was is not known"
                ),
            });
        }
        if until.is_none_or(|(end, _)| end < run.interval.end()) {
            until = Some((run.interval.end(), run.line));
        }
    }
    let mut uncovered = Kind::new(ObservationKind::RunSheetUncovered);
    let instants = context.record.instants();
    let covered = |sample: usize| {
        let at = instants[sample];
        sheet.runs().iter().any(|run| run.interval.start() <= at && at < run.interval.end())
    };
    let runs = context.verdicts.runs(|sample| {
        context.verdicts.is_forward(sample)
            && context.mode_at(sample) == Mode::Production
            && !covered(sample)
    });
    for run in runs {
        uncovered.add(context.verdicts.observed(run), run.1 - run.0 + 1, || {
            "forward flow that no run of the sheet covers; complete the sheet".to_owned()
        });
    }
    uncovered.finish(observations);
}
