//! A second audit, written from the method alone and as plainly as possible: one sample at a time,
//! exact fractions, no attention to speed. It shares with the product the nouns of `trace` and
//! `plant` and the labels of `analysis` (rule, cause, class), and no arithmetic.
//!
//! Where the method is silent, it follows the choices that the project's method page states.

use crate::exact::Exact;
use analysis::{Basis, Cause, Class, Rule, Side};
use plant::{Mode, Plant, PressureLimit, Product, TemperatureLimit};
use std::collections::{BTreeMap, BTreeSet};
use trace::{
    ChannelView, Decimal, FlowUnit, ObservationKind, PressureUnit, Reading, Role, RunRecord,
    TemperatureUnit, ValveState,
};

/// A stretch of time in milliseconds, from and to.
pub type Span = (i64, i64);

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
    /// The cause.
    pub cause: Cause,
    /// First and last sample.
    pub samples: (usize, usize),
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
    /// The products that the run touched.
    pub products: Vec<String>,
    /// The lots that the run touched.
    pub lots: Vec<String>,
    /// The mode when the run began.
    pub mode: Mode,
    /// Whether the device acted in time.
    pub within_response: bool,
    /// The number of the episode.
    pub episode: usize,
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
    pub samples: (usize, usize),
}

/// The limit that a sample is held to.
#[derive(Debug, Clone, PartialEq)]
pub struct SampleLimit {
    /// The figure in the unit of the channel.
    pub figure: Exact,
    /// Whose limit it is.
    pub product: String,
    /// The least holding time in milliseconds.
    pub minimum_time: i64,
    /// What the tube's volume is multiplied by.
    pub factor: Exact,
    /// Whether it was taken because the product is not known.
    pub unknown: bool,
}

/// The whole second audit.
#[derive(Debug, Clone)]
pub struct Interpretation {
    /// The exceptions, in order of estimate, rule, samples.
    pub findings: Vec<Finding>,
    /// The stretches of the accounting.
    pub timeline: Vec<(Span, Class)>,
    /// The time of each class.
    pub by_class: BTreeMap<Class, i64>,
    /// The passages.
    pub passages: Vec<Passage>,
    /// The least margin of the temperature.
    pub temperature_margin: Option<Margin>,
    /// The least margin of the differential.
    pub differential_margin: Option<Margin>,
    /// For how many whole milliseconds the parcel at each sample was held, where that is known, and
    /// whether it was too short.
    pub residence: Vec<Option<(i64, bool)>>,
    /// The limit of each sample.
    pub limits: Vec<SampleLimit>,
    /// The floor of the differential.
    pub differential_limit: Exact,
    /// The gap limit.
    pub gap_limit: i64,
    /// The samples after which a gap follows.
    pub gaps: Vec<usize>,
    /// The volume that passed while any exception lasted, and while any can have lasted.
    pub in_doubt: (Option<f64>, Option<f64>),
    /// For each kind of observation the samples it speaks of.
    pub looks: BTreeMap<ObservationKind, BTreeSet<usize>>,
}

/// What a rule says of a sample.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Answer {
    Legal,
    Short,
    Unknown,
}

struct Sample {
    at: i64,
    valve: ValveState,
    temperature: Option<Exact>,
    temperature_limit: Exact,
    differential: Option<Exact>,
    differential_limit: Exact,
    flow: Option<Exact>,
    /// What the holding time rule says, and for how many milliseconds the parcel was held.
    held: (Answer, Option<i64>),
    minimum_time: i64,
    mode: Mode,
}

impl Sample {
    fn reading(&self, rule: Rule) -> Option<Exact> {
        if rule == Rule::Temperature { self.temperature } else { self.differential }
    }

    fn limit(&self, rule: Rule) -> Exact {
        if rule == Rule::Temperature { self.temperature_limit } else { self.differential_limit }
    }

    fn answer(&self, rule: Rule) -> Answer {
        if rule == Rule::HoldingTime {
            return self.held.0;
        }
        match self.reading(rule) {
            None => Answer::Unknown,
            Some(reading) if reading < self.limit(rule) => Answer::Short,
            Some(_) => Answer::Legal,
        }
    }

    fn forward(&self) -> bool {
        self.valve == ValveState::Forward
    }

    fn is_short(&self, rule: Rule) -> bool {
        self.forward() && self.answer(rule) == Answer::Short
    }

    fn answers(&self) -> [Answer; 3] {
        [Rule::Temperature, Rule::Differential, Rule::HoldingTime].map(|rule| self.answer(rule))
    }

    fn is_forward_unverifiable(&self) -> bool {
        let answers = self.answers();
        self.forward() && answers.contains(&Answer::Unknown) && !answers.contains(&Answer::Short)
    }

    fn all_legal(&self) -> bool {
        self.answers() == [Answer::Legal; 3]
    }

    /// Whether either position of the valve would do.
    fn readings_legal(&self) -> bool {
        self.answer(Rule::Temperature) == Answer::Legal
            && self.answer(Rule::Differential) == Answer::Legal
    }
}

fn number(reading: Reading) -> Option<Exact> {
    reading.valid().map(Exact::decimal)
}

/// 1 °F is 5/9 °C, 32 °F is 0 °C (NIST SP 811, App. B.8).
fn temperature_in(value: Exact, from: TemperatureUnit, to: TemperatureUnit) -> Exact {
    match (from, to) {
        (TemperatureUnit::Fahrenheit, TemperatureUnit::Celsius) => {
            (value - Exact::whole(32)) * Exact::new(5, 9)
        }
        (TemperatureUnit::Celsius, TemperatureUnit::Fahrenheit) => {
            value * Exact::new(9, 5) + Exact::whole(32)
        }
        _ => value,
    }
}

/// The printed figure of the channel's unit, or the plant's one figure converted.
fn temperature_limit(limit: TemperatureLimit, unit: TemperatureUnit) -> Exact {
    match limit {
        TemperatureLimit::Printed { fahrenheit, celsius } => match unit {
            TemperatureUnit::Fahrenheit => Exact::decimal(fahrenheit),
            TemperatureUnit::Celsius => Exact::decimal(celsius),
        },
        TemperatureLimit::Single(value, own) => temperature_in(Exact::decimal(value), own, unit),
    }
}

/// One such unit in kilopascals; 1 psi = 6.894757 kPa (NIST SP 811, App. B.8).
fn kilopascals(unit: PressureUnit) -> Exact {
    match unit {
        PressureUnit::Psi => Exact::new(6_894_757, 1_000_000),
        PressureUnit::Kilopascal => Exact::whole(1),
        PressureUnit::Bar => Exact::whole(100),
        PressureUnit::Millibar => Exact::new(1, 10),
        PressureUnit::Megapascal => Exact::whole(1000),
    }
}

fn pressure_limit(limit: PressureLimit, unit: PressureUnit) -> Exact {
    match limit {
        PressureLimit::Printed { psi, kilopascal } => {
            if unit == PressureUnit::Psi {
                Exact::decimal(psi)
            } else {
                Exact::decimal(kilopascal).over(kilopascals(unit))
            }
        }
        PressureLimit::Single(value, own) => {
            if own == unit {
                Exact::decimal(value)
            } else {
                (Exact::decimal(value) * kilopascals(own)).over(kilopascals(unit))
            }
        }
    }
}

/// How many litres (or US gallons) pass in a millisecond at one unit of flow.
fn per_millisecond(unit: FlowUnit) -> f64 {
    match unit {
        FlowUnit::LitrePerHour | FlowUnit::GallonPerHour => 1.0 / 3_600_000.0,
        FlowUnit::LitrePerMinute | FlowUnit::GallonPerMinute => 1.0 / 60_000.0,
        FlowUnit::CubicMetrePerHour => 1.0 / 3600.0,
    }
}

fn in_gallons(unit: FlowUnit) -> bool {
    matches!(unit, FlowUnit::GallonPerHour | FlowUnit::GallonPerMinute)
}

/// The lower median.
fn median(mut steps: Vec<i64>) -> i64 {
    steps.sort_unstable();
    if steps.is_empty() { 0 } else { steps[(steps.len() - 1) / 2] }
}

fn half_way(one: i64, other: i64) -> i64 {
    Exact::new(i128::from(one) + i128::from(other), 2).rounded_half_up()
}

/// The words of the samples, distinct, in order, without blanks.
fn touched(channel: Option<&trace::TextChannel>, samples: (usize, usize)) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    if let Some(channel) = channel {
        for sample in samples.0..=samples.1 {
            let word = channel.word(sample).to_owned();
            if !word.is_empty() && !words.contains(&word) {
                words.push(word);
            }
        }
    }
    words
}

/// The limit of each sample (method, section 6).
fn sample_limits(record: &RunRecord, plant: &Plant) -> Vec<SampleLimit> {
    let unit = record.holding_temperature().unit();
    let held = |product: &Product, unknown| SampleLimit {
        figure: temperature_limit(product.limit, unit),
        product: product.name.clone(),
        minimum_time: product.minimum_time.milliseconds(),
        factor: Exact::decimal(product.factor),
        unknown,
    };
    let names_some = record.product().is_some_and(|channel| {
        (0..record.samples()).any(|sample| !channel.word(sample).is_empty())
    });
    let mut strictest = held(plant.products.default_product(), true);
    for (index, product) in plant.products.iter().enumerate() {
        if index == 0 || temperature_limit(product.limit, unit) > strictest.figure {
            strictest = held(product, true);
        }
    }
    // The longest time and the least volume of all as well.
    for product in plant.products.iter() {
        strictest.minimum_time = strictest.minimum_time.max(product.minimum_time.milliseconds());
        strictest.factor = strictest.factor.min(Exact::decimal(product.factor));
    }
    let mut limits = Vec::new();
    for sample in 0..record.samples() {
        let word = record.product().map_or("", |channel| channel.word(sample));
        let known = plant
            .products
            .iter()
            .find(|product| product.name.trim().to_lowercase() == word.trim().to_lowercase());
        limits.push(if !names_some {
            held(plant.products.default_product(), false)
        } else if let Some(product) = known {
            held(product, false)
        } else {
            strictest.clone()
        });
    }
    limits
}

fn read_samples(record: &RunRecord, plant: &Plant, limits: &[SampleLimit]) -> Vec<Sample> {
    let differential_limit =
        pressure_limit(plant.limits.differential, record.differential().unit());
    let mut samples = Vec::new();
    for (index, limit) in limits.iter().enumerate() {
        let differential = match record.pressures() {
            None => number(record.differential().reading(index)),
            Some((raw, pasteurized)) => {
                match (number(pasteurized.reading(index)), number(raw.reading(index))) {
                    (Some(pasteurized), Some(raw)) => Some(pasteurized - raw),
                    _ => None,
                }
            }
        };
        samples.push(Sample {
            at: record.instants()[index].unix_milliseconds(),
            valve: record.valve()[index],
            temperature: number(record.holding_temperature().reading(index)),
            temperature_limit: limit.figure,
            differential,
            differential_limit,
            flow: record.flow_rate().and_then(|channel| number(channel.reading(index))),
            held: (Answer::Legal, None),
            minimum_time: limit.minimum_time,
            mode: record.mode().map_or(Mode::Production, |channel| {
                plant.columns.mode_words.mode(channel.word(index))
            }),
        });
    }
    samples
}

/// One such unit in litres an hour; 1 US gallon is 231 cubic inches of 2.54 cm.
fn litres_per_hour(unit: FlowUnit) -> Exact {
    let gallon = Exact::new(3_785_411_784, 1_000_000_000);
    match unit {
        FlowUnit::LitrePerHour => Exact::whole(1),
        FlowUnit::LitrePerMinute => Exact::whole(60),
        FlowUnit::CubicMetrePerHour => Exact::whole(1000),
        FlowUnit::GallonPerMinute => Exact::whole(60) * gallon,
        FlowUnit::GallonPerHour => gallon,
    }
}

/// What flowed from `from` to `to`, straight lines between the samples, in units of flow times
/// milliseconds. A flow below zero is none.
fn passed(samples: &[Sample], from: i64, to: i64) -> Exact {
    let zero = Exact::whole(0);
    let mut sum = zero;
    for pair in samples.windows(2) {
        let part = (from.max(pair[0].at), to.min(pair[1].at));
        let (Some(start), Some(end)) = (pair[0].flow, pair[1].flow) else { continue };
        if part.0 >= part.1 {
            continue;
        }
        let (start, end) = (start.max(zero), end.max(zero));
        let at = |at: i64| {
            let way = Exact::new(i128::from(at - pair[0].at), i128::from(pair[1].at - pair[0].at));
            start + (end - start) * way
        };
        sum = sum + (at(part.0) + at(part.1)) * Exact::new(i128::from(part.1 - part.0), 2);
    }
    sum
}

/// How long the parcel that leaves at each sample was held (method, section 7).
fn held(
    record: &RunRecord,
    plant: &Plant,
    samples: &[Sample],
    limits: &[SampleLimit],
    gap_limit: i64,
) -> Vec<(Answer, Option<i64>)> {
    let tube = plant.tube.as_ref().and_then(|tube| tube.certificate());
    let (Some(tube), Some(meter)) = (tube, record.flow_rate()) else {
        return vec![(Answer::Legal, None); samples.len()];
    };
    let certified = Exact::decimal(tube.test_flow.value)
        * litres_per_hour(tube.test_flow.unit).over(litres_per_hour(meter.unit()))
        * Exact::whole(tube.test_time.milliseconds());
    let mut held = Vec::new();
    // The first sample of the unbroken record of the flow.
    let mut since = 0;
    for (index, sample) in samples.iter().enumerate() {
        let hole = |index: usize| {
            samples[index].flow.is_none()
                || index > 0 && samples[index - 1].flow.is_none()
                || index > 0 && samples[index].at - samples[index - 1].at > gap_limit
        };
        if hole(index) {
            since = index;
        }
        if sample.flow.is_none() {
            held.push((Answer::Unknown, None));
            continue;
        }
        let limit = &limits[index];
        let volume = certified * limit.factor;
        let stretch = &samples[since..=index];
        let passed_in = |time: i64| passed(stretch, sample.at - time, sample.at);
        let longest = sample.at - samples[since].at;
        if passed_in(longest) >= volume {
            let short = longest < limit.minimum_time || passed_in(limit.minimum_time) > volume;
            // The whole milliseconds of it: halve the search until one is left.
            let (mut too_little, mut enough) = (0, longest);
            while enough - too_little > 1 {
                let middle = i64::midpoint(too_little, enough);
                if passed_in(middle) >= volume {
                    enough = middle;
                } else {
                    too_little = middle;
                }
            }
            let whole = if passed_in(enough) == volume { enough } else { too_little };
            held.push((if short { Answer::Short } else { Answer::Legal }, Some(whole)));
        } else if since == 0 && !hole(0) {
            // The record is too young: the greatest flow so far decides.
            let zero = Exact::whole(0);
            let greatest = stretch.iter().filter_map(|sample| sample.flow).fold(zero, Exact::max);
            let short = greatest * Exact::whole(limit.minimum_time) > volume;
            held.push((if short { Answer::Short } else { Answer::Legal }, None));
        } else {
            held.push((Answer::Unknown, None));
        }
    }
    held
}

/// All that the rules need to look around a sample.
struct Day<'a> {
    record: &'a RunRecord,
    plant: &'a Plant,
    samples: Vec<Sample>,
    gap_limit: i64,
}

impl Day<'_> {
    fn is_gap_after(&self, sample: usize) -> bool {
        self.samples[sample + 1].at - self.samples[sample].at > self.gap_limit
    }

    /// The sample before, if it is there and no gap lies between.
    fn before(&self, sample: usize) -> Option<usize> {
        if sample == 0 || self.is_gap_after(sample - 1) { None } else { Some(sample - 1) }
    }

    fn after(&self, sample: usize) -> Option<usize> {
        if sample + 1 == self.samples.len() || self.is_gap_after(sample) {
            None
        } else {
            Some(sample + 1)
        }
    }

    /// Maximal runs of neighbouring samples that `belong`, no gap inside.
    fn runs(&self, belongs: impl Fn(&Sample) -> bool) -> Vec<(usize, usize)> {
        let mut runs = Vec::new();
        for first in 0..self.samples.len() {
            if !belongs(&self.samples[first]) {
                continue;
            }
            if self.before(first).is_some_and(|before| belongs(&self.samples[before])) {
                continue;
            }
            let mut last = first;
            while let Some(next) = self.after(last)
                && belongs(&self.samples[next])
            {
                last = next;
            }
            runs.push((first, last));
        }
        runs
    }

    /// Where the run's edge between `inside` and its neighbour `outside` is estimated.
    fn edge(&self, rule: Rule, inside: usize, outside: Option<usize>) -> i64 {
        let Some(outside) = outside else { return self.samples[inside].at };
        let (inside, outside) = (&self.samples[inside], &self.samples[outside]);
        let middle = half_way(inside.at, outside.at);
        let halved = [Rule::HoldingTime, Rule::Unverifiable].contains(&rule);
        if halved || !outside.forward() || outside.answer(rule) != Answer::Legal {
            return middle;
        }
        let limit = inside.limit(rule);
        match (inside.reading(rule), outside.reading(rule)) {
            (Some(short), Some(legal)) if legal >= limit => {
                let part = (legal - limit).over(legal - short);
                let step = Exact::whole(inside.at - outside.at);
                (Exact::whole(outside.at) + step * part).rounded_half_up()
            }
            _ => middle,
        }
    }

    fn outer(&self, run: (usize, usize)) -> Span {
        (
            self.samples[self.before(run.0).unwrap_or(run.0)].at,
            self.samples[self.after(run.1).unwrap_or(run.1)].at,
        )
    }

    fn finding(&self, rule: Rule, cause: Cause, run: (usize, usize)) -> Finding {
        let observed = (self.samples[run.0].at, self.samples[run.1].at);
        let (outer, estimate) = if cause == Cause::Gap {
            (observed, observed)
        } else {
            (
                self.outer(run),
                (
                    self.edge(rule, run.0, self.before(run.0)),
                    self.edge(rule, run.1, self.after(run.1)),
                ),
            )
        };
        let of_reading = cause == Cause::Short && rule != Rule::HoldingTime;
        let allowance = self.plant.limits.response_allowance.milliseconds();
        let acted = self.after(run.1).is_some_and(|next| !self.samples[next].forward());
        let (volume, _) = self.volume(estimate);
        let (outer_volume, basis) = self.volume(outer);
        Finding {
            rule,
            cause,
            samples: run,
            observed,
            outer,
            estimate,
            worst: match rule {
                Rule::Unverifiable => None,
                Rule::HoldingTime => self.shortest(run),
                Rule::Temperature | Rule::Differential => self.worst(rule, run),
            },
            shortfall: of_reading.then(|| self.shortfall(rule, run, estimate)),
            volume,
            outer_volume,
            basis,
            products: touched(self.record.product(), run),
            lots: touched(self.record.lot(), run),
            mode: self.samples[run.0].mode,
            within_response: of_reading && acted && estimate.1 - estimate.0 <= allowance,
            episode: 0,
        }
    }

    fn worst(&self, rule: Rule, run: (usize, usize)) -> Option<Worst> {
        let mut worst: Option<Worst> = None;
        for sample in &self.samples[run.0..=run.1] {
            let (Some(value), limit) = (sample.reading(rule), sample.limit(rule)) else { continue };
            if worst.as_ref().is_none_or(|worst| limit - value > worst.limit - worst.value) {
                worst = Some(Worst { value, limit, at: sample.at });
            }
        }
        worst
    }

    /// The residence time furthest below its minimum, in seconds.
    fn shortest(&self, run: (usize, usize)) -> Option<Worst> {
        let mut worst: Option<(i64, Worst)> = None;
        for sample in &self.samples[run.0..=run.1] {
            let Some(held) = sample.held.1 else { continue };
            let short = sample.minimum_time - held;
            if worst.as_ref().is_none_or(|(most, _)| short > *most) {
                let value = Exact::new(i128::from(held), 1000);
                let limit = Exact::new(i128::from(sample.minimum_time), 1000);
                worst = Some((short, Worst { value, limit, at: sample.at }));
            }
        }
        worst.map(|(_, worst)| worst)
    }

    /// Limit minus reading, integrated over the estimate where it is positive, in unit-seconds.
    fn shortfall(&self, rule: Rule, run: (usize, usize), estimate: Span) -> f64 {
        let mut sum = 0.0;
        let last_step = (run.1 + 1).min(self.samples.len() - 1);
        for step in run.0.saturating_sub(1)..last_step {
            let (from, to) = (&self.samples[step], &self.samples[step + 1]);
            let part = (estimate.0.max(from.at), estimate.1.min(to.at));
            if part.0 >= part.1 {
                continue;
            }
            let held_to = if step < run.0 { to } else { from };
            let limit = held_to.limit(rule);
            // A neighbour that can't be read leaves the run's own reading to stand.
            let (start, end) = match (from.reading(rule), to.reading(rule)) {
                (Some(start), Some(end)) => (start, end),
                (Some(only), None) | (None, Some(only)) => (only, only),
                (None, None) => continue,
            };
            let below = |at: i64| {
                let way = Exact::new(i128::from(at - from.at), i128::from(to.at - from.at));
                limit - (start + (end - start) * way)
            };
            let zero = Exact::whole(0);
            let (below_start, below_end) = (below(part.0), below(part.1));
            let (one, other) = (below_start.max(below_end), below_start.min(below_end));
            let width = (part.1 - part.0) as f64;
            if other >= zero {
                sum += f64::midpoint(one.to_f64(), other.to_f64()) * width;
            } else if one > zero {
                // A triangle up to where the line meets the limit.
                sum += one.to_f64() / 2.0 * width * one.over(one - other).to_f64();
            }
        }
        sum / 1000.0
    }

    /// What passed in `span`, and what that rests on.
    fn volume(&self, span: Span) -> (Option<f64>, Option<Basis>) {
        let meter = self.record.flow_rate().map(trace::Channel::unit);
        let nominal = self.plant.nominal_flow.map(|flow| {
            let own = Exact::decimal(flow.value).to_f64() * per_millisecond(flow.unit);
            // 1 US gallon is 231 cubic inches of 2.54 cm.
            let litres_in_gallon = 231.0 * 2.54 * 2.54 * 2.54 / 1000.0;
            match (in_gallons(flow.unit), meter.map(in_gallons)) {
                (true, Some(false)) => own * litres_in_gallon,
                (false, Some(true)) => own / litres_in_gallon,
                _ => own,
            }
        });
        let mut sum = Some(0.0);
        let mut basis = None;
        for step in 0..self.samples.len() - 1 {
            let (from, to) = (&self.samples[step], &self.samples[step + 1]);
            let part = (span.0.max(from.at), span.1.min(to.at));
            if part.0 >= part.1 {
                continue;
            }
            let width = (part.1 - part.0) as f64;
            let (passed, rests_on) = match (meter, from.flow, to.flow, nominal) {
                (Some(unit), Some(start), Some(end), _) if !self.is_gap_after(step) => {
                    let flow = |at: i64| {
                        let way = (at - from.at) as f64 / (to.at - from.at) as f64;
                        start.to_f64() + (end.to_f64() - start.to_f64()) * way
                    };
                    let mean = f64::midpoint(flow(part.0), flow(part.1));
                    (Some(mean * per_millisecond(unit) * width), Basis::Metered)
                }
                (_, _, _, Some(nominal)) => (Some(nominal * width), Basis::Nominal),
                _ => (None, Basis::Unknown),
            };
            sum = sum.zip(passed).map(|(sum, passed)| sum + passed);
            basis = basis.max(Some(rests_on));
        }
        (sum, basis)
    }

    /// What passed in at least one of the spans: piece by piece between any two ends of spans.
    fn volume_of_union(&self, spans: impl Iterator<Item = Span>) -> Option<f64> {
        let spans: Vec<Span> = spans.collect();
        let cuts: BTreeSet<i64> = spans.iter().flat_map(|span| [span.0, span.1]).collect();
        let cuts: Vec<i64> = cuts.into_iter().collect();
        let mut sum = Some(0.0);
        for piece in cuts.windows(2) {
            if spans.iter().any(|span| span.0 <= piece[0] && piece[1] <= span.1) {
                let passed = self.volume((piece[0], piece[1])).0;
                sum = sum.zip(passed).map(|(sum, passed)| sum + passed);
            }
        }
        sum
    }

    fn findings(&self) -> Vec<Finding> {
        let mut findings = Vec::new();
        for rule in [Rule::Temperature, Rule::Differential] {
            for run in self.runs(|sample| sample.is_short(rule)) {
                findings.push(self.finding(rule, Cause::Short, run));
            }
        }
        for run in self.runs(|sample| sample.is_short(Rule::HoldingTime)) {
            findings.push(self.finding(Rule::HoldingTime, Cause::Short, run));
        }
        for run in self.runs(Sample::is_forward_unverifiable) {
            findings.push(self.finding(Rule::Unverifiable, Cause::InvalidReading, run));
        }
        let travel_allowance = self.plant.limits.travel_allowance.milliseconds();
        for (valve, cause) in
            [(ValveState::Unknown, Cause::ValveUnknown), (ValveState::Travel, Cause::Travel)]
        {
            for run in self.runs(|sample| sample.valve == valve) {
                let outer = self.outer(run);
                let harmless = self.samples[run.0..=run.1].iter().all(Sample::readings_legal);
                let brief = cause == Cause::Travel && outer.1 - outer.0 <= travel_allowance;
                if !harmless && !brief {
                    findings.push(self.finding(Rule::Unverifiable, cause, run));
                }
            }
        }
        for sample in 0..self.samples.len() - 1 {
            if self.is_gap_after(sample) && !self.is_diverted_gap(sample) {
                findings.push(self.finding(Rule::Unverifiable, Cause::Gap, (sample, sample + 1)));
            }
        }
        findings.sort_by_key(|finding| (finding.estimate.0, finding.rule, finding.samples));
        self.number_episodes(&mut findings);
        findings
    }

    fn is_diverted_gap(&self, sample: usize) -> bool {
        self.is_gap_after(sample)
            && self.samples[sample].valve == ValveState::Divert
            && self.samples[sample + 1].valve == ValveState::Divert
    }

    /// Two findings are in one episode when less than the merge time lies between their
    /// estimates, or others link them.
    fn number_episodes(&self, findings: &mut [Finding]) {
        let merge = self.plant.limits.merge_time.milliseconds();
        let mut episode = 0;
        for index in 0..findings.len() {
            let near_one_before = findings[..index]
                .iter()
                .any(|before| findings[index].estimate.0 - before.estimate.1 < merge);
            if !near_one_before {
                episode += 1;
            }
            findings[index].episode = episode;
        }
    }

    /// The class of the time between two neighbouring `cuts`, by asking everybody who has a say.
    fn class(&self, findings: &[Finding], piece: Span) -> Class {
        let rules: BTreeSet<Rule> = findings
            .iter()
            .filter(|finding| finding.estimate.0 <= piece.0 && piece.1 <= finding.estimate.1)
            .map(|finding| finding.rule)
            .collect();
        let named: Vec<Rule> =
            rules.iter().copied().filter(|&rule| rule != Rule::Unverifiable).collect();
        match named.as_slice() {
            [Rule::Temperature] => return Class::ForwardTemperature,
            [Rule::Differential] => return Class::ForwardDifferential,
            [_] => return Class::ForwardHoldingTime,
            [_, _, ..] => return Class::ForwardMultiple,
            [] if !rules.is_empty() => return Class::Unverifiable,
            [] => {}
        }
        for step in 0..self.samples.len() - 1 {
            let (from, to) = (&self.samples[step], &self.samples[step + 1]);
            if piece.0 < from.at || to.at < piece.1 {
                continue;
            }
            if self.is_diverted_gap(step) {
                return Class::GapDiverted;
            }
            let nearer = if piece.1 <= half_way(from.at, to.at) { from } else { to };
            return match nearer.valve {
                ValveState::Forward => Class::ForwardCompliant,
                ValveState::Divert => Class::Divert,
                ValveState::Travel | ValveState::Unknown => Class::Travel,
            };
        }
        Class::Travel
    }

    /// Every instant at which the class can change, then the class of each piece between two.
    fn timeline(&self, findings: &[Finding]) -> Vec<(Span, Class)> {
        let mut cuts = BTreeSet::new();
        for sample in &self.samples {
            cuts.insert(sample.at);
        }
        for step in self.samples.windows(2) {
            cuts.insert(half_way(step[0].at, step[1].at));
        }
        for finding in findings {
            cuts.insert(finding.estimate.0);
            cuts.insert(finding.estimate.1);
        }
        let cuts: Vec<i64> = cuts.into_iter().collect();
        let mut timeline: Vec<(Span, Class)> = Vec::new();
        for pair in cuts.windows(2) {
            let class = self.class(findings, (pair[0], pair[1]));
            match timeline.last_mut() {
                Some((span, last)) if *last == class => span.1 = pair[1],
                _ => timeline.push(((pair[0], pair[1]), class)),
            }
        }
        timeline
    }

    fn passages(&self) -> Vec<Passage> {
        let mut passages = Vec::new();
        let mut position: Option<usize> = None;
        for (index, sample) in self.samples.iter().enumerate() {
            let to = match sample.valve {
                ValveState::Forward => Side::Forward,
                ValveState::Divert => Side::Divert,
                ValveState::Travel | ValveState::Unknown => continue,
            };
            if let Some(last) = position
                && self.samples[last].valve != sample.valve
            {
                passages.push(Passage { to, samples: (last, index) });
            }
            position = Some(index);
        }
        passages
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

    fn steps(&self) -> Vec<i64> {
        self.samples.windows(2).map(|pair| pair[1].at - pair[0].at).collect()
    }

    /// Each sensor's readings, and the fastest change that is possible in its unit a second, where
    /// there is such a limit.
    fn sensors(&self) -> Vec<(Option<Exact>, Vec<Option<Exact>>)> {
        let slew = self.plant.limits.slew;
        let mut sensors = Vec::new();
        for (role, channel) in self.record.channels() {
            if role == Role::DifferentialPressure && self.record.pressures().is_some() {
                // Worked out, no sensor of its own.
                continue;
            }
            let slew = match channel {
                ChannelView::Temperature(channel) => {
                    let celsius = Exact::decimal(slew.celsius_per_second);
                    Some(match channel.unit() {
                        TemperatureUnit::Celsius => celsius,
                        TemperatureUnit::Fahrenheit => celsius * Exact::new(9, 5),
                    })
                }
                ChannelView::Pressure(channel) => Some(
                    Exact::decimal(slew.kilopascal_per_second).over(kilopascals(channel.unit())),
                ),
                ChannelView::Flow(_) => None,
            };
            let readings =
                (0..self.samples.len()).map(|sample| number(channel.reading(sample))).collect();
            sensors.push((slew, readings));
        }
        sensors
    }

    /// The observations of section 8 that need the required channels or the recorder.
    fn looks(
        &self,
        findings: &[Finding],
        passages: &[Passage],
        limits: &[SampleLimit],
    ) -> BTreeMap<ObservationKind, BTreeSet<usize>> {
        let mut looks: BTreeMap<ObservationKind, BTreeSet<usize>> = BTreeMap::new();
        let mut look = |kind, sample| {
            looks.entry(kind).or_default().insert(sample);
        };
        let unit = self.record.holding_temperature().unit();
        let allowed = temperature_limit(self.plant.limits.recorder_difference, unit);
        for (index, sample) in self.samples.iter().enumerate() {
            if let Some(channel) = self.record.recorder_temperature()
                && let Some(recorder) = number(channel.reading(index))
                && let Some(indicating) = sample.temperature
            {
                let over = temperature_in(recorder, channel.unit(), unit) - indicating;
                if over > Exact::whole(0) {
                    look(ObservationKind::RecorderAboveIndicating, index);
                }
                if over.max(Exact::whole(0) - over) > allowed {
                    look(ObservationKind::RecorderDisagrees, index);
                }
            }
            if !sample.forward() && sample.answer(Rule::Differential) == Answer::Short {
                look(ObservationKind::DifferentialLowNotForward, index);
            }
            if sample.forward() && sample.mode != Mode::Production {
                look(ObservationKind::ForwardNotProduction, index);
            }
            if limits[index].unknown {
                look(ObservationKind::UnknownProduct, index);
            }
            if index + 1 < self.samples.len() && self.is_diverted_gap(index) {
                look(ObservationKind::GapDiverted, index);
            }
        }
        if median(self.steps()) > self.plant.limits.record_interval.milliseconds() {
            look(ObservationKind::SlowSampling, 0);
        }
        for (slew, readings) in self.sensors() {
            for first in 0..readings.len() {
                let Some(reading) = readings[first] else { continue };
                if let Some(next) = self.after(first)
                    && let Some(other) = readings[next]
                {
                    let change = (other - reading).max(reading - other);
                    let step = Exact::new(
                        i128::from(self.samples[next].at - self.samples[first].at),
                        1000,
                    );
                    if slew.is_some_and(|slew| change > slew * step) {
                        look(ObservationKind::ImpossibleStep, next);
                    }
                }
                let mut last = first;
                while let Some(next) = self.after(last)
                    && readings[next] == Some(reading)
                {
                    last = next;
                }
                let lasted = self.samples[last].at - self.samples[first].at;
                if lasted > self.plant.limits.frozen_after.milliseconds() {
                    look(ObservationKind::FrozenReading, first);
                }
            }
        }
        for passage in passages {
            let (kind, forward) = match passage.to {
                Side::Forward => (ObservationKind::CutInBelowLimit, passage.samples.1),
                Side::Divert => (ObservationKind::CutOutBelowLimit, passage.samples.0),
            };
            if self.samples[forward].answer(Rule::Temperature) == Answer::Short {
                look(kind, forward);
            }
        }
        for finding in findings {
            let acted =
                self.after(finding.samples.1).is_some_and(|next| !self.samples[next].forward());
            let lasted = finding.estimate.1 - finding.estimate.0;
            let slow = lasted > self.plant.limits.response_allowance.milliseconds();
            if finding.cause == Cause::Short && acted && slow {
                look(ObservationKind::SlowResponse, finding.samples.0);
            }
        }
        looks
    }
}

/// Audits a record the long way.
pub fn interpret(record: &RunRecord, plant: &Plant) -> Interpretation {
    let limits = sample_limits(record, plant);
    let mut samples = read_samples(record, plant, &limits);
    let steps = samples.windows(2).map(|pair| pair[1].at - pair[0].at).collect();
    let gap_limit =
        plant.limits.gap.map_or_else(|| 3 * median(steps), trace::Duration::milliseconds);
    let held = held(record, plant, &samples, &limits, gap_limit);
    for (sample, held) in samples.iter_mut().zip(held) {
        sample.held = held;
    }
    let day = Day { record, plant, samples, gap_limit };
    let findings = day.findings();
    let timeline = day.timeline(&findings);
    let mut by_class: BTreeMap<Class, i64> = BTreeMap::new();
    for (span, class) in &timeline {
        *by_class.entry(*class).or_default() += span.1 - span.0;
    }
    let passages = day.passages();
    let in_doubt = (
        day.volume_of_union(findings.iter().map(|finding| finding.estimate)),
        day.volume_of_union(findings.iter().map(|finding| finding.outer)),
    );
    Interpretation {
        looks: day.looks(&findings, &passages, &limits),
        timeline,
        by_class,
        in_doubt,
        passages,
        residence: day
            .samples
            .iter()
            .map(|sample| sample.held.1.map(|time| (time, sample.held.0 == Answer::Short)))
            .collect(),
        temperature_margin: day.margin(Rule::Temperature),
        differential_margin: day.margin(Rule::Differential),
        differential_limit: pressure_limit(plant.limits.differential, record.differential().unit()),
        gap_limit,
        gaps: (0..day.samples.len() - 1).filter(|&sample| day.is_gap_after(sample)).collect(),
        findings,
        limits,
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
