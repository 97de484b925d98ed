//! What needs a look and is no exception (section 8), and the passages.
//!
//! How many samples one observation speaks of is not part of the method; which samples are spoken
//! of is. Where the method leaves even that open ("steady", "a minute"), a kind has a narrow
//! reading that must be observed and a wide one that may be.

use super::doubt::RECORDER_TIME;
use super::holes::{median, steps};
use super::{Answer, Day, Degrees, Finding, Passage, Run, Sample, limits, number};
use crate::exact::Exact;
use analysis::{Cause, PassageReason, Rule, Side};
use plant::{Mode, Tube};
use std::collections::{BTreeMap, BTreeSet};
use trace::{ChannelView, PressureUnit, Rank, TemperatureUnit, ValveState};

/// The kinds of the method with their ranks, those of reading files included.
pub const RANKS: [(&str, Rank); 33] = [
    ("differential_reversed", Rank::Close),
    ("leak_detected", Rank::Close),
    ("recorder_disagrees", Rank::Close),
    ("cut_in_below_limit", Rank::Close),
    ("cut_out_below_limit", Rank::Close),
    ("slow_response", Rank::Close),
    ("run_sheet_disagrees", Rank::Close),
    ("unknown_product", Rank::Close),
    ("clock_set_back", Rank::Close),
    ("unplaced_rows", Rank::Close),
    ("never_forward_in_production", Rank::Close),
    ("impossible_step", Rank::Close),
    ("switches_disagree", Rank::Close),
    ("cleaning_looks_like_product", Rank::Close),
    ("recorder_above_indicating", Rank::Note),
    ("differential_low_not_forward", Rank::Note),
    ("slow_sampling", Rank::Note),
    ("averaged_readings", Rank::Note),
    ("coarse_reading", Rank::Note),
    ("frozen_reading", Rank::Note),
    ("missing_samples", Rank::Note),
    ("begins_in_forward_flow", Rank::Note),
    ("ends_in_forward_flow", Rank::Note),
    ("raw_too_warm", Rank::Note),
    ("cooled_too_warm", Rank::Note),
    ("low_regeneration", Rank::Note),
    ("slow_travel", Rank::Note),
    ("certificate_old", Rank::Note),
    ("tube_by_measures", Rank::Note),
    ("single_position_switch", Rank::Note),
    ("forward_not_production", Rank::Note),
    ("gap_diverted", Rank::Note),
    ("duplicate_stamp", Rank::Note),
];

/// A minute, of which the median is taken.
const MINUTE: i64 = 60_000;
/// The line settles for so long after a cut-in.
const SETTLING: i64 = 300_000;
/// So long nobody sees forward flow in production before it is observed.
const NEVER_FORWARD: i64 = 600_000;

/// What a kind of observation speaks of.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Look {
    /// Each of these samples must lie in an observation.
    pub must: BTreeSet<usize>,
    /// In each of these runs some observation must lie.
    pub within: Vec<Run>,
    /// Each observation must hold one of these samples.
    pub may: BTreeSet<usize>,
}

/// What may have moved the device out of forward flow.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reasons {
    /// The reasons that the record allows.
    pub may: Vec<PassageReason>,
    /// Whether the record shows one on one of both sides, so that it may not be called unknown.
    pub shown: bool,
}

/// The looks at one day, by kind.
struct Looks(BTreeMap<&'static str, Look>);

impl Looks {
    fn of(&mut self, kind: &'static str) -> &mut Look {
        self.0.entry(kind).or_default()
    }

    fn must(&mut self, kind: &'static str, sample: usize) {
        self.of(kind).must.insert(sample);
        self.of(kind).may.insert(sample);
    }

    fn may(&mut self, kind: &'static str, sample: usize) {
        self.of(kind).may.insert(sample);
    }

    fn within(&mut self, kind: &'static str, run: Run) {
        self.of(kind).within.push(run);
        self.of(kind).may.extend(run.0..=run.1);
    }
}

impl Day<'_> {
    pub(super) fn passages(&self) -> Vec<Passage> {
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

    /// What the samples of a passage show that may have caused it.
    pub(super) fn reasons(&self, passage: &Passage) -> Reasons {
        let samples = &self.samples[passage.samples.0..=passage.samples.1];
        let below = |sample: &Sample, rule| sample.answer(rule) == Answer::Short;
        let any = |shows: &dyn Fn(&Sample) -> bool| samples.iter().any(shows);
        let flow = |sample: &Sample| sample.flow_is_low() || sample.held != Answer::Legal;
        // A meter that shows next to nothing may mean the pump.
        let pump = |sample: &Sample| sample.pump_stopped || sample.flow_is_low();
        let mut may = Vec::new();
        for (shown, reason) in [
            (any(&|one| below(one, Rule::Temperature)), PassageReason::Temperature),
            (any(&|one| below(one, Rule::Differential)), PassageReason::Differential),
            (any(&flow), PassageReason::Flow),
            (any(&pump), PassageReason::PumpStopped),
        ] {
            if shown {
                may.push(reason);
            }
        }
        let shows =
            |sample: &Sample| below(sample, Rule::Temperature) || below(sample, Rule::Differential);
        let shown = samples.first().is_some_and(shows) || samples.last().is_some_and(shows);
        Reasons { may, shown }
    }

    /// The observations of section 8 that the audit itself makes.
    pub(super) fn looks(
        &self,
        findings: &[Finding],
        passages: &[Passage],
        cold: &BTreeSet<usize>,
    ) -> BTreeMap<&'static str, Look> {
        let mut looks = Looks(BTreeMap::new());
        for (index, sample) in self.samples.iter().enumerate() {
            self.look_at(&mut looks, index, sample);
        }
        for &sample in cold {
            looks.must("cleaning_looks_like_product", sample);
        }
        for passage in passages {
            let (kind, forward) = match passage.to {
                Side::Forward => ("cut_in_below_limit", passage.samples.1),
                Side::Divert => ("cut_out_below_limit", passage.samples.0),
            };
            if self.samples[forward].answer(Rule::Temperature) == Answer::Short {
                looks.must(kind, forward);
            }
        }
        let allowance = self.plant.limits.response_allowance.milliseconds();
        for finding in findings {
            let slow = finding.response.is_some_and(|(_, about, _)| about > allowance);
            if slow && finding.causes == [Cause::Short] {
                looks.must("slow_response", finding.samples.0);
            }
        }
        self.look_at_time(&mut looks);
        self.look_at_channels(&mut looks);
        self.look_at_recorder(&mut looks);
        self.look_for_forward_flow(&mut looks);
        self.look_at_tube(&mut looks);
        // Of a whole stretch of cleaning at most one observation of each kind.
        let stretches = self.stretches_of_cleaning();
        for look in looks.0.values_mut() {
            for &stretch in &stretches {
                let inside = |sample: &usize| (stretch.0..=stretch.1).contains(sample);
                if look.must.iter().any(inside) {
                    look.must.retain(|sample| !inside(sample));
                    look.within.push(stretch);
                }
            }
        }
        looks.0.retain(|_, look| *look != Look::default());
        looks.0
    }

    /// What one sample shows by itself.
    fn look_at(&self, looks: &mut Looks, index: usize, sample: &Sample) {
        let unit = self.record.holding_temperature().unit();
        if !sample.forward() && !sample.standing() {
            if sample.answer(Rule::Differential) == Answer::Short {
                looks.must("differential_low_not_forward", index);
            }
            let reversed = sample.differential.is_some_and(|one| one < Exact::ZERO);
            if reversed && sample.mode != Mode::Cleaning {
                looks.must("differential_reversed", index);
            }
        }
        if sample.leak {
            looks.must("leak_detected", index);
        }
        if let (Some(recorder), Some(holding)) = (sample.recorder, sample.temperature) {
            let apart = (recorder.into(unit) - holding).size();
            let allowed = limits::temperature(self.plant.limits.recorder_difference, unit);
            if apart > allowed && !sample.standing() {
                looks.may("recorder_disagrees", index);
            }
        }
        if sample.limit.sheet_disagrees {
            looks.must("run_sheet_disagrees", index);
        }
        // What is diverted is held to nothing.
        if sample.limit.unknown && sample.exposed() {
            looks.must("unknown_product", index);
        } else if sample.limit.unknown {
            looks.may("unknown_product", index);
        }
        if sample.forward() && sample.mode != Mode::Production {
            looks.must("forward_not_production", index);
        }
        let settled = self.settled(index);
        let steady = self.runs(Sample::forward).into_iter().any(|run| {
            run.0 <= index && index <= run.1 && self.span_of((run.0, index)) >= SETTLING
        });
        let made = sample.forward() && sample.mode == Mode::Production;
        // Forward flow of production is meant; all that is not standing may be.
        let mut warm = |kind, is: bool, settled: Option<bool>| {
            if is && made && settled == Some(true) {
                looks.must(kind, index);
            } else if is && !sample.standing() && settled != Some(false) {
                looks.may(kind, index);
            }
        };
        let above = |degrees: Option<Degrees>, limit| {
            degrees.is_some_and(|one| one.value > limits::temperature(limit, one.unit))
        };
        let raw = above(sample.raw_temperature, self.plant.limits.raw_maximum);
        warm("raw_too_warm", raw, settled.or(Some(true)).filter(|settled| *settled));
        let cooled = above(sample.cooled, self.plant.limits.cooled_maximum);
        let settled = settled.filter(|settled| !settled || steady);
        let (by_logger, by_both) = sample.limit.cooled_exempt;
        let settled = settled.filter(|settled| !settled || !by_logger);
        warm("cooled_too_warm", cooled && !by_both, settled);
        let regained = self.regained(sample).is_some_and(|percent| {
            self.plant
                .limits
                .regeneration_minimum
                .is_some_and(|least| percent < Exact::decimal(least))
        });
        // The method does not say whether a device that travels in between begins anew.
        warm("low_regeneration", regained, steady.then_some(true));
    }

    /// Whether five minutes have passed since the last cut-in; not known where the record shows
    /// none, or a gap since.
    fn settled(&self, sample: usize) -> Option<bool> {
        let passages = self.passages();
        let cut_in = passages
            .iter()
            .filter(|passage| passage.to == Side::Forward && passage.samples.1 <= sample)
            .map(|passage| passage.samples.1)
            .next_back()?;
        let long_ago = self.samples[sample].at - self.samples[cut_in].at >= SETTLING;
        let gap = self.gap_after[cut_in..sample].contains(&true);
        if long_ago && gap { None } else { Some(long_ago) }
    }

    /// The efficiency of the regenerator in percent.
    fn regained(&self, sample: &Sample) -> Option<Exact> {
        let unit = self.record.holding_temperature().unit();
        let raw = sample.raw_temperature?.into(unit);
        let (gained, all) = (sample.regenerated?.into(unit) - raw, sample.temperature? - raw);
        (all > Exact::ZERO).then(|| (gained * Exact::whole(100)).over(all))
    }

    /// Sampling, gaps, travel, the ends of the record.
    fn look_at_time(&self, looks: &mut Looks) {
        if median(steps(&self.samples)) > self.plant.limits.record_interval.milliseconds() {
            looks.within("slow_sampling", (0, self.last()));
        }
        for step in 0..self.last() {
            if self.is_missing_after(step) {
                looks.within("missing_samples", (step, step + 1));
            }
        }
        for hole in &self.holes {
            if self.is_harmless(hole) {
                looks.within("gap_diverted", hole.samples);
            }
        }
        // That a row is unplaced, and that a clock was set back, is seen when files are read.
        let allowance = self.plant.limits.travel_allowance.milliseconds();
        for run in self.runs(|sample| sample.valve == ValveState::Travel) {
            let outer = (self.before(run.0).unwrap_or(run.0), self.after(run.1).unwrap_or(run.1));
            if self.span_of(run) > allowance {
                looks.within("slow_travel", run);
            } else if self.span_of(outer) > allowance {
                for sample in run.0..=run.1 {
                    looks.may("slow_travel", sample);
                }
            }
        }
        if self.samples[0].forward() {
            looks.must("begins_in_forward_flow", 0);
        }
        if self.samples[self.last()].forward() {
            looks.must("ends_in_forward_flow", self.last());
        }
    }

    /// Steps that no sensor can make, readings that stand still, readings without fine digits.
    fn look_at_channels(&self, looks: &mut Looks) {
        let slew = self.plant.limits.slew;
        for (role, channel) in self.measuring() {
            let readings: Vec<Option<Exact>> =
                (0..self.samples.len()).map(|sample| number(channel.reading(sample))).collect();
            // The fastest change a second, and the step than which a fine reading is finer.
            let (fastest, coarse) = match channel {
                ChannelView::Temperature(channel) => {
                    let celsius = Exact::decimal(slew.celsius_per_second);
                    match channel.unit() {
                        TemperatureUnit::Celsius => (celsius, Exact::new(1, 2)),
                        TemperatureUnit::Fahrenheit => {
                            (celsius * Exact::new(9, 5), Exact::whole(1))
                        }
                    }
                }
                ChannelView::Pressure(channel) => {
                    let unit = limits::kilopascals(channel.unit());
                    let coarse = if channel.unit() == PressureUnit::Psi {
                        Exact::whole(1)
                    } else {
                        Exact::whole(10).over(unit)
                    };
                    (Exact::decimal(slew.kilopascal_per_second).over(unit), coarse)
                }
                ChannelView::Flow(_) => (Exact::ZERO, Exact::ZERO),
            };
            if !matches!(channel, ChannelView::Flow(_)) {
                self.look_at_steps(looks, &readings, fastest);
                let whole = |reading: &Exact| reading.over(coarse).is_whole();
                // One reading that stands still shows no resolution.
                let valid: Vec<Exact> = (0..=self.last())
                    .filter(|&sample| !self.samples[sample].standing())
                    .filter_map(|sample| readings[sample])
                    .collect();
                let mut distinct = valid.clone();
                distinct.sort_unstable();
                distinct.dedup();
                if !valid.is_empty() && valid.iter().all(whole) {
                    if distinct.len() >= 3 && valid.len() >= 30 {
                        looks.within("coarse_reading", (0, self.last()));
                    }
                    looks.may("coarse_reading", 0);
                }
            }
            if self.is_needed(role) {
                continue;
            }
            let limit = self.frozen_limit(channel);
            let runs = self.runs_that_continue(
                |sample| !self.samples[sample].standing() && readings[sample].is_some(),
                |one, other| readings[one] == readings[other],
            );
            for run in runs.into_iter().filter(|&run| self.span_of(run) > limit) {
                looks.within("frozen_reading", run);
            }
        }
    }

    fn look_at_steps(&self, looks: &mut Looks, readings: &[Option<Exact>], fastest: Exact) {
        for first in 0..readings.len() {
            let Some(next) = self.after(first) else { continue };
            let (Some(one), Some(other)) = (readings[first], readings[next]) else { continue };
            let step = self.samples[next].at - self.samples[first].at;
            if (other - one).size() > fastest * Exact::new(i128::from(step), 1000) {
                match (self.samples[first].standing(), self.samples[next].standing()) {
                    (false, false) => looks.must("impossible_step", next),
                    (true, true) => {}
                    _ => looks.may("impossible_step", next),
                }
            }
        }
    }

    /// A recorder above the indicating thermometer. Where every reading of two minutes of unbroken
    /// forward flow is above by more than the coarser display step, so is each median of a minute;
    /// where no reading is above by the finer one, no median is.
    fn look_at_recorder(&self, looks: &mut Looks) {
        let Some(recorder) = self.record.recorder_temperature() else { return };
        let holding = self.record.holding_temperature();
        let step = |scale: u8| Exact::new(1, 10_i128.pow(u32::from(scale)));
        let in_unit = |step: Exact| match (recorder.unit(), holding.unit()) {
            (TemperatureUnit::Fahrenheit, TemperatureUnit::Celsius) => step * Exact::new(5, 9),
            (TemperatureUnit::Celsius, TemperatureUnit::Fahrenheit) => step * Exact::new(9, 5),
            _ => step,
        };
        let (one, other) = (step(holding.scale()), in_unit(step(recorder.scale())));
        let above = |sample: &Sample, by: Exact| {
            let (Some(recorder), Some(holding_reading)) = (sample.recorder, sample.temperature)
            else {
                return false;
            };
            sample.forward() && recorder.into(holding.unit()) - holding_reading > by
        };
        for run in self.runs(|sample| above(sample, one.max(other))) {
            if self.span_of(run) > 2 * MINUTE {
                looks.within("recorder_above_indicating", run);
            }
        }
        for (index, sample) in self.samples.iter().enumerate() {
            if above(sample, one.min(other)) {
                looks.may("recorder_above_indicating", index);
            }
        }
        // A recorder may lag behind for a moment; for as long as would contradict, it disagrees.
        let apart = looks.of("recorder_disagrees").may.clone();
        for run in self.runs_that_continue(|sample| apart.contains(&sample), |_, _| true) {
            if self.span_of(run) > RECORDER_TIME {
                looks.within("recorder_disagrees", run);
            }
        }
    }

    /// No forward flow in all the record, though the mode is production or a flow was metered.
    fn look_for_forward_flow(&self, looks: &mut Looks) {
        if self.samples.iter().any(Sample::forward) {
            return;
        }
        let metered = |sample: &Sample| {
            sample.flow.is_some_and(|flow| match sample.low_flow {
                Some(limit) => flow > limit,
                None => flow > Exact::ZERO,
            })
        };
        // Whether a mode is recorded in words, or only nothing that says otherwise.
        let says_so = |index: usize| {
            self.record.mode().is_some_and(|channel| !channel.word(index).is_empty())
        };
        let production = |index: usize| self.samples[index].mode == Mode::Production;
        let kind = "never_forward_in_production";
        let plainly =
            |index: usize| metered(&self.samples[index]) || production(index) && says_so(index);
        let runs = self.runs_that_continue(plainly, |_, _| true);
        if runs.into_iter().any(|run| self.span_of(run) > NEVER_FORWARD) {
            looks.within(kind, (0, self.last()));
        }
        let all: Vec<usize> = (0..=self.last())
            .filter(|&index| metered(&self.samples[index]) || production(index))
            .collect();
        if let (Some(&first), Some(&last)) = (all.first(), all.last())
            && self.span_of((first, last)) > NEVER_FORWARD
        {
            for sample in all {
                looks.may(kind, sample);
            }
        }
    }

    /// What is known of the tube. A test without a date is not shown to be of the last six months.
    fn look_at_tube(&self, looks: &mut Looks) {
        let whole = (0, self.last());
        match &self.plant.tube {
            None => {}
            // Where time is judged by it; else it proves nothing, and may be observed.
            Some(Tube::Measured(_)) if self.judges_time() => {
                looks.within("tube_by_measures", whole);
            }
            Some(Tube::Measured(_)) => looks.may("tube_by_measures", 0),
            Some(Tube::Certified(test) | Tube::Both(test, _)) => {
                let day = |sample: usize| {
                    self.plant.zone.local(self.record.instants()[sample]).date_naive()
                };
                let six_months = chrono::Months::new(6);
                let until = test.tested_date().and_then(|date| date.checked_add_months(six_months));
                match until {
                    Some(until) if day(self.last()) <= until => {}
                    Some(until) if day(0) <= until => looks.may("certificate_old", 0),
                    _ => looks.within("certificate_old", whole),
                }
            }
        }
    }
}
