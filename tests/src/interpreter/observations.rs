//! What needs a look and is no exception (section 8), and the passages.
//!
//! How many samples one observation speaks of is part of the method for the kinds in `told`; for the
//! others it is which samples are spoken of. Where the method leaves even that open, a kind has a
//! narrow reading that must be observed and a wide one that may be.

use super::holes::{median, steps};
use super::{Answer, Day, Divert, Finding, Passage, Pump, Run, Sample, limits, number};
use crate::exact::Exact;
use analysis::{Cause, DivertReason, PassageReason, Rule, Side};
use plant::{Mode, Tube};
use std::collections::{BTreeMap, BTreeSet};
use trace::{ChannelView, Rank, Role, TemperatureUnit, ValveState};

/// The kinds of the method with their ranks, those of reading files included.
pub const RANKS: [(&str, Rank); 44] = [
    ("amount_disagrees", Rank::Close),
    ("alarm_without_divert", Rank::Close),
    ("booster_out_of_turn", Rank::Close),
    ("flow_without_alarm", Rank::Close),
    ("zero_check", Rank::Close),
    ("medium_above_product", Rank::Close),
    ("cleaning_too_short", Rank::Close),
    ("production_without_cleaning", Rank::Close),
    ("divert_without_cause", Rank::Close),
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
    ("entry_disagrees", Rank::Close),
    ("entry_not_comparable", Rank::Note),
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
        let pump = |sample: &Sample| sample.timing_pump == Pump::Stands || sample.flow_is_low();
        let mut may = Vec::new();
        for (shown, reason) in [
            (any(&|one| below(one, Rule::TEMPERATURE)), PassageReason::Temperature),
            (any(&|one| below(one, Rule::DIFFERENTIAL)), PassageReason::Differential),
            (any(&flow), PassageReason::Flow),
            (any(&pump), PassageReason::PumpStopped),
        ] {
            if shown {
                may.push(reason);
            }
        }
        let shows =
            |sample: &Sample| below(sample, Rule::TEMPERATURE) || below(sample, Rule::DIFFERENTIAL);
        let shown = samples.first().is_some_and(shows) || samples.last().is_some_and(shows);
        Reasons { may, shown }
    }

    /// The observations of section 8 that the audit itself makes.
    pub(super) fn looks(
        &self,
        findings: &[Finding],
        (passages, diverts): (&[Passage], &[Divert]),
        cold: &BTreeSet<usize>,
    ) -> BTreeMap<&'static str, Look> {
        let mut looks = Looks(BTreeMap::new());
        for (index, sample) in self.samples.iter().enumerate() {
            Self::look_at(&mut looks, index, sample);
        }
        for &sample in cold {
            looks.must("cleaning_looks_like_product", sample);
        }
        for passage in passages {
            let (kind, forward) = match passage.to {
                Side::Forward => ("cut_in_below_limit", passage.samples.1),
                Side::Divert => ("cut_out_below_limit", passage.samples.0),
            };
            if self.samples[forward].answer(Rule::TEMPERATURE) == Answer::Short {
                looks.must(kind, forward);
            }
        }
        for divert in diverts.iter().filter(|one| one.reason == DivertReason::NotInRecord) {
            for sample in self.samples_in((divert.observed.0, divert.observed.0)) {
                looks.must("divert_without_cause", sample);
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
    fn look_at(looks: &mut Looks, index: usize, sample: &Sample) {
        if !sample.forward() && !sample.standing() {
            if sample.answer(Rule::DIFFERENTIAL) == Answer::Short {
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
        if sample.limit.sheet_disagrees {
            looks.must("run_sheet_disagrees", index);
        }
        if sample.forward() && sample.mode != Mode::Production {
            looks.must("forward_not_production", index);
        }
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

    /// Steps that no sensor can make, readings that stand still.
    fn look_at_channels(&self, looks: &mut Looks) {
        let slew = self.plant.limits.slew;
        for (role, channel) in self.measuring() {
            let readings: Vec<Option<Exact>> =
                (0..self.samples.len()).map(|sample| number(channel.reading(sample))).collect();
            // The fastest change a second.
            let fastest = match channel {
                ChannelView::Temperature(channel) => {
                    let celsius = Exact::decimal(slew.celsius_per_second);
                    Some(match channel.unit() {
                        TemperatureUnit::Celsius => celsius,
                        TemperatureUnit::Fahrenheit => celsius * Exact::new(9, 5),
                    })
                }
                ChannelView::Pressure(channel) => {
                    let unit = limits::kilopascals(channel.unit());
                    Some(Exact::decimal(slew.kilopascal_per_second).over(unit))
                }
                ChannelView::Flow(_) => None,
            };
            if let Some(fastest) = fastest {
                self.look_at_steps(looks, &readings, fastest);
            }
            if self.is_needed(role) {
                continue;
            }
            let limit = self.frozen_limit(channel);
            let runs = self.runs_that_continue(
                // The return of a cleaning stands empty while product runs.
                |sample| {
                    !self.samples[sample].standing()
                        && readings[sample].is_some()
                        && (role != Role::CleaningReturnTemperature
                            || self.samples[sample].mode == Mode::Cleaning)
                },
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
