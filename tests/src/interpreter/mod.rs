//! A second audit, written from the method alone and as plainly as possible: one sample at a time,
//! exact fractions, no attention to speed. It shares with the product the nouns of `trace` and
//! `plant` and the labels of `analysis` (rule, cause, class, side, basis), and no arithmetic.
//!
//! Each module follows one section of the method: `limits` the sections 2 and 6, `holes` section 3,
//! `rules`, `doubt` and `exceptions` the sections 4 and 5, `residence` section 7, `diverts`, `cleanings`, `amounts`,
//! `entries`, `observations`
//! and `told` section 8, `accounting` section 9. Where the method is silent a comment says what was chosen and why it
//! protects the consumer.

mod accounting;
mod amounts;
mod cleanings;
mod diverts;
mod doubt;
mod entries;
mod exceptions;
mod holes;
mod limits;
mod observations;
mod residence;
mod rules;
mod told;
mod volume;

use crate::exact::Exact;
use analysis::{Basis, Cause, Class, Rule, Side};
use plant::{Mode, Plant};
use std::collections::{BTreeMap, BTreeSet};
use trace::{Channel, Decimal, Reading, Role, RunRecord, TemperatureUnit, Unit, ValveState};

pub use amounts::Changed;
pub use cleanings::{Cleaned, Produced};
pub use diverts::Divert;
pub use doubt::Stretch;
pub use entries::Held;
pub use holes::Hole;
pub use limits::SampleLimit;
pub use observations::{Look, RANKS};
pub use rules::Answers;
pub use told::{EXACT, Told};

/// A stretch of time in milliseconds, from and to.
pub type Span = (i64, i64);

/// First and last sample of something.
pub type Run = (usize, usize);

/// The worst reading of a run.
#[derive(Debug, Clone, PartialEq)]
pub struct Worst {
    /// The reading.
    pub value: Exact,
    /// Its limit.
    pub limit: Exact,
    /// When.
    pub at: i64,
}

/// An exception as the interpreter sees it.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// The rule.
    pub rule: Rule,
    /// The causes, in order; `[Short]` for the named rules.
    pub causes: Vec<Cause>,
    /// First and last sample.
    pub samples: Run,
    /// What the samples show.
    pub observed: Span,
    /// The event cannot have been longer.
    pub outer: Span,
    /// The best guess.
    pub estimate: Span,
    /// The worst reading of a named rule.
    pub worst: Option<Worst>,
    /// Unit-seconds below the limit, of a reading.
    pub shortfall: Option<f64>,
    /// The volume over the estimate, in the unit of the flow meter, or of the nominal flow.
    pub volume: Option<f64>,
    /// The volume over the outer interval.
    pub outer_volume: Option<f64>,
    /// What both rest on; `None` where the outer interval is one instant and there is nothing that
    /// a volume could rest on.
    pub basis: Option<Basis>,
    /// The products of the outer interval, by logger and run sheet.
    pub products: BTreeSet<String>,
    /// Its lots.
    pub lots: BTreeSet<String>,
    /// The tanks to which it went, by the run sheet.
    pub tanks: BTreeSet<String>,
    /// The positions of the device, in order of first appearance.
    pub positions: Vec<ValveState>,
    /// The mode when the run began.
    pub mode: Mode,
    /// How long the device took, at least, about and at most, where it diverted next.
    pub response: Option<(i64, i64, i64)>,
    /// Whether the device acted in time.
    pub within_response: bool,
    /// Whether all of it lies in cleaning and no product evidently ran.
    pub outside_production: bool,
    /// The number of its bundle of cleaning.
    pub cleaning: Option<usize>,
    /// The number of the episode.
    pub episode: usize,
    /// Of a hole with unplaced rows: how many rows, and how many of them show forward flow short of
    /// a limit.
    pub unplaced: Option<(usize, usize)>,
}

/// The least margin of one rule.
#[derive(Debug, Clone, PartialEq)]
pub struct Margin {
    /// The sample.
    pub sample: usize,
    /// Reading minus limit.
    pub margin: Exact,
}

/// A passage between diverted and forward flow.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Passage {
    /// The new position.
    pub to: Side,
    /// The last sample in the old position, the first in the new one.
    pub samples: Run,
}

/// A stretch of cleaning with exceptions that are outside production.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bundle {
    /// From 1.
    pub number: usize,
    /// The stretch of cleaning.
    pub interval: Span,
    /// The indices of its exceptions in [`Interpretation::findings`].
    pub findings: Vec<usize>,
}

/// What is known of the residence of the parcel at a sample.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Residence {
    /// It can't be told.
    Unknown,
    /// Between so many whole milliseconds and one more, and whether that is too short.
    Known(i64, bool),
    /// Too short by all that the record shows since its start, though not how long.
    ShortAnyhow,
}

/// The whole second audit.
#[derive(Debug, Clone)]
pub struct Interpretation {
    /// The exceptions, in order of estimate, rule, samples, causes.
    pub findings: Vec<Finding>,
    /// The bundles of cleaning.
    pub bundles: Vec<Bundle>,
    /// The stretches of the accounting.
    pub timeline: Vec<(Span, Class)>,
    /// The time of each class.
    pub by_class: BTreeMap<Class, i64>,
    /// The passages.
    pub passages: Vec<Passage>,
    /// For each passage out of forward flow what may have caused it.
    pub reasons: Vec<observations::Reasons>,
    /// The diverts.
    pub diverts: Vec<Divert>,
    /// What the record says of each of the operators' entries.
    pub entries: Vec<Held>,
    /// The cleanings.
    pub cleaned: Vec<Cleaned>,
    /// What went forward in each run of the sheet.
    pub amounts: Vec<Option<f64>>,
    /// The changes of the product.
    pub changed: Vec<Changed>,
    /// The productions between them.
    pub produced: Vec<Produced>,
    /// The least margin of the temperature.
    pub temperature_margin: Option<Margin>,
    /// The least margin of the differential.
    pub differential_margin: Option<Margin>,
    /// The residence of the parcel at each sample.
    pub residence: Vec<Residence>,
    /// What temperature, differential and holding time say of each sample; legal where time is not
    /// judged.
    pub answers: Vec<Answers>,
    /// The stretches that are contradicted, frozen or repeated.
    pub stretches: Vec<Stretch>,
    /// The limit of each sample.
    pub limits: Vec<SampleLimit>,
    /// The floor of the differential.
    pub differential_limit: Exact,
    /// The gap limit.
    pub gap_limit: i64,
    /// The samples after which a gap follows.
    pub gaps: Vec<usize>,
    /// The holes.
    pub holes: Vec<Hole>,
    /// The volume that passed while any exception lasted, and while any can have lasted.
    pub passed: (Option<f64>, Option<f64>),
    /// The lots to hold.
    pub hold_lots: BTreeSet<String>,
    /// The tanks to hold.
    pub hold_tanks: BTreeSet<String>,
    /// The unbroken stretches of cleaning.
    pub cleaning: Vec<Run>,
    /// For each kind of observation, by key, what it speaks of.
    pub looks: BTreeMap<&'static str, Look>,
    /// For each of the kinds in [`EXACT`] its observations, in order.
    pub told: BTreeMap<&'static str, Vec<Told>>,
}

/// What a rule says of a sample.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Answer {
    /// The record shows that it was within the limit.
    Legal,
    /// The record shows that it was not.
    Short,
    /// The record does not show it.
    Unknown,
}

/// A thermometer's reading, in the unit in which it was recorded.
#[derive(Debug, Clone, Copy)]
struct Degrees {
    value: Exact,
    unit: TemperatureUnit,
}

impl Degrees {
    /// 1 °F is 5/9 °C, 32 °F is 0 °C (NIST SP 811, App. B.8).
    fn into(self, unit: TemperatureUnit) -> Exact {
        match (self.unit, unit) {
            (TemperatureUnit::Fahrenheit, TemperatureUnit::Celsius) => {
                (self.value - Exact::whole(32)) * Exact::new(5, 9)
            }
            (TemperatureUnit::Celsius, TemperatureUnit::Fahrenheit) => {
                self.value * Exact::new(9, 5) + Exact::whole(32)
            }
            _ => self.value,
        }
    }
}

/// All that the record shows at one instant, and what was made of it so far.
struct Sample {
    at: i64,
    valve: ValveState,
    mode: Mode,
    temperature: Option<Exact>,
    differential: Option<Exact>,
    flow: Option<Exact>,
    recorder: Option<Degrees>,
    heating_water: Option<Degrees>,
    raw_temperature: Option<Degrees>,
    regenerated: Option<Degrees>,
    cooled: Option<Degrees>,
    timing_pump: Pump,
    booster: Pump,
    /// The high-flow and the low-flow alarm: `None` where there is none, else whether it is shown to be on.
    alarms: [Option<bool>; 2],
    mode_switch: String,
    /// Pasteurized product above the heating and the cooling medium.
    over_media: [Option<Exact>; 2],
    leak: bool,
    limit: SampleLimit,
    differential_limit: Exact,
    /// The flow below which the meter proves nothing.
    low_flow: Option<Exact>,
    /// Whether there are a meter and a tube.
    time_is_judged: bool,
    doubts: doubt::Doubts,
    /// What the holding time rule says; legal where time is not judged.
    held: Answer,
    residence: Residence,
}

/// What is known of a pump.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Pump {
    None,
    Runs,
    Stands,
    NotShown,
}

impl Sample {
    fn forward(&self) -> bool {
        self.valve == ValveState::Forward
    }

    /// Whether product may go forward.
    fn exposed(&self) -> bool {
        self.valve != ValveState::Divert
    }

    /// Whether the rules are asked: forward or travel.
    fn judged(&self) -> bool {
        matches!(self.valve, ValveState::Forward | ValveState::Travel)
    }

    /// Below the low-flow limit. Where none is known and time is judged all the same, no flow at
    /// all: that proves no holding either.
    fn flow_is_low(&self) -> bool {
        self.flow.is_some_and(|flow| match self.low_flow {
            Some(limit) => flow < limit,
            None => self.time_is_judged && flow <= Exact::ZERO,
        })
    }

    /// Section 7: invalid, frozen or repeated, and at exposed samples below the low-flow limit.
    fn flow_is_usable(&self) -> bool {
        let doubtful = self.doubts.frozen.contains(&Rule::HOLDING_TIME) || self.doubts.repeated;
        let lost = self.exposed() && self.flow_is_low();
        self.flow.is_some() && !doubtful && !lost
    }

    /// Section 8: diverted, and the timing pump is stopped or the flow is below the low-flow limit.
    fn standing(&self) -> bool {
        self.valve == ValveState::Divert && (self.timing_pump == Pump::Stands || self.flow_is_low())
    }
}

fn number(reading: Reading) -> Option<Exact> {
    reading.valid().map(Exact::decimal)
}

/// The reading of a channel that may not be recorded.
fn recorded<U: Unit>(channel: Option<&Channel<U>>, sample: usize) -> Option<(Exact, U)> {
    let channel = channel?;
    Some((number(channel.reading(sample))?, channel.unit()))
}

fn half_way(one: i64, other: i64) -> i64 {
    Exact::new(i128::from(one) + i128::from(other), 2).rounded_half_up()
}

fn read_samples(record: &RunRecord, plant: &Plant) -> Vec<Sample> {
    let limits = limits::of_samples(record, plant);
    let differential_limit =
        limits::pressure(plant.limits.differential, record.differential().unit());
    let low_flow = record.flow_rate().and_then(|meter| limits::low_flow(plant, meter.unit()));
    let degrees = |channel: Option<&Channel<TemperatureUnit>>, sample| {
        recorded(channel, sample).map(|(value, unit)| Degrees { value, unit })
    };
    let temperatures = |role| match record.channel(role) {
        Some(trace::ChannelView::Temperature(channel)) => Some(channel),
        _ => None,
    };
    let mut samples = Vec::new();
    for (index, limit) in limits.into_iter().enumerate() {
        let pump = |role| {
            record.switch(role).map_or(Pump::None, |pump| match pump[index] {
                Some(true) => Pump::Runs,
                Some(false) => Pump::Stands,
                None => Pump::NotShown,
            })
        };
        samples.push(Sample {
            at: record.instants()[index].unix_milliseconds(),
            valve: record.valve()[index],
            mode: record.mode().map_or(Mode::Production, |channel| {
                plant.columns.mode_words.mode(channel.word(index))
            }),
            temperature: number(record.holding_temperature().reading(index)),
            differential: differential_reading(record, index),
            flow: recorded(record.flow_rate(), index).map(|(flow, _)| flow),
            recorder: degrees(record.recorder_temperature(), index),
            heating_water: degrees(temperatures(Role::HeatingWaterTemperature), index),
            raw_temperature: degrees(temperatures(Role::RawTemperature), index),
            regenerated: degrees(temperatures(Role::RegeneratedTemperature), index),
            cooled: degrees(temperatures(Role::CooledTemperature), index),
            timing_pump: pump(Role::TimingPump),
            booster: pump(Role::BoosterPump),
            alarms: [Role::HighFlowAlarm, Role::LowFlowAlarm]
                .map(|role| record.switch(role).map(|alarm| alarm[index] == Some(true))),
            mode_switch: record
                .text(Role::ModeSwitch)
                .map_or_else(String::new, |channel| channel.word(index).to_owned()),
            over_media: [Role::HeatingMediumPressure, Role::CoolingMediumPressure]
                .map(|role| over_medium(record, role, index)),
            leak: record.leak_detect().is_some_and(|leak| leak[index] == Some(true)),
            limit,
            differential_limit,
            low_flow,
            time_is_judged: record.flow_rate().is_some() && plant.tube.is_some(),
            doubts: doubt::Doubts::default(),
            held: Answer::Legal,
            residence: Residence::Unknown,
        });
    }
    samples
}

/// Pasteurized product above a medium, in the unit of the product.
fn over_medium(record: &RunRecord, role: Role, sample: usize) -> Option<Exact> {
    let (_, product) = record.pressures()?;
    let Some(trace::ChannelView::Pressure(medium)) = record.channel(role) else { return None };
    let unit = limits::kilopascals(medium.unit()).over(limits::kilopascals(product.unit()));
    Some(number(product.reading(sample))? - number(medium.reading(sample))? * unit)
}

/// All that the rules need to look around a sample.
struct Day<'a> {
    record: &'a RunRecord,
    plant: &'a Plant,
    samples: Vec<Sample>,
    gap_limit: i64,
    /// For each sample but the last whether a gap follows.
    gap_after: Vec<bool>,
    holes: Vec<Hole>,
    /// What its length makes doubtful.
    stretches: Vec<Stretch>,
}

impl Day<'_> {
    fn last(&self) -> usize {
        self.samples.len() - 1
    }

    /// The sample before, if it is there and no gap lies between.
    fn before(&self, sample: usize) -> Option<usize> {
        if sample == 0 || self.gap_after[sample - 1] { None } else { Some(sample - 1) }
    }

    /// The sample after, if it is there and no gap lies between.
    fn after(&self, sample: usize) -> Option<usize> {
        if sample == self.last() || self.gap_after[sample] { None } else { Some(sample + 1) }
    }

    /// From the first sample of a run to its last, in milliseconds.
    fn span_of(&self, run: Run) -> i64 {
        self.samples[run.1].at - self.samples[run.0].at
    }

    /// Maximal runs of neighbouring samples that `belong`, no gap inside, in which each sample but
    /// the first `continues` the one before.
    fn runs_that_continue(
        &self,
        belongs: impl Fn(usize) -> bool,
        continues: impl Fn(usize, usize) -> bool,
    ) -> Vec<Run> {
        let mut runs: Vec<Run> = Vec::new();
        for sample in 0..self.samples.len() {
            if !belongs(sample) {
                continue;
            }
            match runs.last_mut() {
                Some(run) if self.before(sample) == Some(run.1) && continues(run.1, sample) => {
                    run.1 = sample;
                }
                _ => runs.push((sample, sample)),
            }
        }
        runs
    }

    /// Maximal runs of neighbouring samples that `belong`, no gap inside.
    fn runs(&self, belongs: impl Fn(&Sample) -> bool) -> Vec<Run> {
        self.runs_that_continue(|sample| belongs(&self.samples[sample]), |_, _| true)
    }

    /// The samples of which the instants lie in a span, ends included.
    fn samples_in(&self, span: Span) -> impl Iterator<Item = usize> + '_ {
        (0..self.samples.len())
            .filter(move |&sample| (span.0..=span.1).contains(&self.samples[sample].at))
    }

    /// The least margin among the forward samples at which every rule is legal.
    fn margin(&self, rule: Rule) -> Option<Margin> {
        let mut least: Option<Margin> = None;
        for (index, sample) in self.samples.iter().enumerate() {
            if !sample.forward() || !sample.all_legal() {
                continue;
            }
            if let Some(reading) = sample.reading(rule) {
                let margin = reading - sample.limit(rule);
                if least.as_ref().is_none_or(|least| margin < least.margin) {
                    least = Some(Margin { sample: index, margin });
                }
            }
        }
        least
    }
}

/// Audits a record the long way.
pub fn interpret(record: &RunRecord, plant: &Plant) -> Interpretation {
    let samples = read_samples(record, plant);
    let (gap_limit, gap_after) = holes::gaps(record, plant, &samples);
    let (holes, stretches) = (Vec::new(), Vec::new());
    let mut day = Day { record, plant, samples, gap_limit, gap_after, holes, stretches };
    day.holes = day.find_holes();
    day.doubt();
    day.hold();
    let mut findings = day.findings();
    let cleaning = day.stretches_of_cleaning();
    let (bundles, cold) = day.bundle(&mut findings, &cleaning);
    let timeline = day.timeline(&findings);
    let mut by_class: BTreeMap<Class, i64> = BTreeMap::new();
    for (span, class) in &timeline {
        *by_class.entry(*class).or_default() += span.1 - span.0;
    }
    let passages = day.passages();
    let diverts = day.diverts(&passages);
    let passed = (
        day.volume_of_union(findings.iter().map(|finding| finding.estimate)),
        day.volume_of_union(findings.iter().map(|finding| finding.outer)),
    );
    // Nothing that was made while the line was cleaned is in a lot or a tank; everything else
    // that an exception touches is to be held, in time or not.
    let to_hold = || findings.iter().filter(|finding| !finding.outside_production);
    Interpretation {
        looks: day.looks(&findings, (&passages, &diverts), &cold),
        told: day.told(),
        entries: day.held(&passages),
        cleaned: day.cleaned(),
        amounts: day.amounts(),
        changed: day.changed(),
        produced: day.produced(),
        hold_lots: to_hold().flat_map(|finding| finding.lots.iter().cloned()).collect(),
        hold_tanks: to_hold().flat_map(|finding| finding.tanks.iter().cloned()).collect(),
        cleaning,
        timeline,
        by_class,
        passed,
        reasons: passages.iter().map(|passage| day.reasons(passage)).collect(),
        diverts,
        passages,
        residence: day.samples.iter().map(|sample| sample.residence).collect(),
        temperature_margin: day.margin(Rule::TEMPERATURE),
        differential_margin: day.margin(Rule::DIFFERENTIAL),
        differential_limit: limits::pressure(
            plant.limits.differential,
            record.differential().unit(),
        ),
        gap_limit,
        gaps: (0..day.gap_after.len()).filter(|&sample| day.gap_after[sample]).collect(),
        answers: day.samples.iter().map(Sample::answers).collect(),
        stretches: day.stretches,
        limits: day.samples.iter().map(|sample| sample.limit.clone()).collect(),
        holes: day.holes,
        bundles,
        findings,
    }
}

/// The reading of a pair or a direct differential as a decimal, for comparison with transitions.
pub fn differential_reading(record: &RunRecord, sample: usize) -> Option<Exact> {
    match record.pressures() {
        None => number(record.differential().reading(sample)),
        Some((raw, pasteurized)) => {
            let pasteurized = number(pasteurized.reading(sample))?;
            Some(pasteurized - number(raw.reading(sample))?)
        }
    }
}

/// The holding temperature at a sample.
pub fn temperature_reading(record: &RunRecord, sample: usize) -> Option<Decimal> {
    record.holding_temperature().reading(sample).valid()
}
