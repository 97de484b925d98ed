//! Observations of which the method says what each one spans and counts (section 8).

use super::doubt::RECORDER_TIME;
use super::{Day, Degrees, Pump, Run, Sample, Span, limits};
use crate::exact::Exact;
use plant::Mode;
use std::collections::BTreeMap;
use trace::{ChannelView, PressureUnit, TemperatureUnit, ValveState};

/// The kinds that are compared observation by observation.
pub const EXACT: [&str; 18] = [
    "alarm_without_divert",
    "amount_disagrees",
    "booster_out_of_turn",
    "cleaning_too_short",
    "coarse_reading",
    "cooled_too_warm",
    "entry_disagrees",
    "entry_not_comparable",
    "flow_without_alarm",
    "low_regeneration",
    "medium_above_product",
    "never_forward_in_production",
    "production_without_cleaning",
    "raw_too_warm",
    "recorder_above_indicating",
    "recorder_disagrees",
    "unknown_product",
    "zero_check",
];

/// A minute, of which the median is taken.
const MINUTE: i64 = 60_000;
/// The line settles for so long after a cut-in.
const SETTLING: i64 = 300_000;
/// So long nobody sees forward flow in production before it is observed.
const NEVER_FORWARD: i64 = 600_000;

/// One observation.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Told {
    /// From its first sample to its last.
    pub span: Span,
    /// What it counts.
    pub count: usize,
}

impl Day<'_> {
    /// The observations of each of the kinds.
    pub(super) fn told(&self) -> BTreeMap<&'static str, Vec<Told>> {
        let kinds = [
            ("amount_disagrees", self.amount_disagrees()),
            ("alarm_without_divert", self.alarm_without_divert()),
            ("booster_out_of_turn", self.booster_out_of_turn()),
            ("cleaning_too_short", self.cleaning_too_short()),
            ("coarse_reading", self.coarse()),
            ("cooled_too_warm", self.cooled_too_warm()),
            ("entry_disagrees", self.entry_disagrees()),
            ("entry_not_comparable", self.entry_not_comparable()),
            ("flow_without_alarm", self.flow_without_alarm()),
            ("low_regeneration", self.low_regeneration()),
            ("medium_above_product", self.medium_above_product()),
            ("never_forward_in_production", self.never_forward()),
            ("production_without_cleaning", self.production_without_cleaning()),
            ("raw_too_warm", self.raw_too_warm()),
            ("recorder_above_indicating", self.recorder_above()),
            ("recorder_disagrees", self.recorder_disagrees()),
            ("unknown_product", self.unknown_product()),
            ("zero_check", self.zero_check()),
        ];
        kinds.into_iter().map(|(kind, told)| (kind, self.one_a_cleaning(told))).collect()
    }

    /// Of a whole stretch of cleaning one observation of a kind, which spans and counts them all.
    fn one_a_cleaning(&self, all: Vec<Told>) -> Vec<Told> {
        let stretches = self.stretches_of_cleaning();
        let cleaning = |one: &Told| {
            stretches.iter().position(|stretch| {
                self.samples[stretch.0].at <= one.span.0 && one.span.1 <= self.samples[stretch.1].at
            })
        };
        let mut told: Vec<(Option<usize>, Told)> = Vec::new();
        for one in all {
            let stretch = cleaning(&one);
            match told.iter_mut().find(|held| stretch.is_some() && held.0 == stretch) {
                Some((_, held)) => {
                    held.span = (held.span.0.min(one.span.0), held.span.1.max(one.span.1));
                    held.count += one.count;
                }
                None => told.push((stretch, one)),
            }
        }
        let mut told: Vec<Told> = told.into_iter().map(|(_, one)| one).collect();
        told.sort_unstable();
        told
    }

    fn whole(&self, count: usize) -> Told {
        Told { span: (self.samples[0].at, self.samples[self.last()].at), count }
    }

    /// Runs less than the merge time apart are told as one, which counts their own samples.
    fn joined(&self, runs: Vec<Run>) -> Vec<Told> {
        let merge = self.plant.limits.merge_time.milliseconds();
        let mut told: Vec<Told> = Vec::new();
        for run in runs {
            let (from, to) = (self.samples[run.0].at, self.samples[run.1].at);
            let count = run.1 - run.0 + 1;
            match told.last_mut() {
                Some(last) if from - last.span.1 < merge => {
                    last.span.1 = to;
                    last.count += count;
                }
                _ => told.push(Told { span: (from, to), count }),
            }
        }
        told
    }

    /// Five minutes after the first forward sample since the device was diverted; a line of which
    /// no cut-in was seen is taken for settled.
    fn settled(&self, sample: usize) -> bool {
        let diverted = (0..sample).rev().find(|&one| self.samples[one].valve == ValveState::Divert);
        let Some(diverted) = diverted else { return true };
        let cut_in = (diverted..=sample).find(|&one| self.samples[one].forward());
        cut_in.is_some_and(|one| self.samples[sample].at - self.samples[one].at >= SETTLING)
    }

    /// A reading of the holding temperature or a pressure while the line was not standing, and each
    /// of them whole steps: one observation a channel.
    fn coarse(&self) -> Vec<Told> {
        let mut told = Vec::new();
        for (role, channel) in self.measuring() {
            let step = match channel {
                ChannelView::Temperature(channel) => match channel.unit() {
                    TemperatureUnit::Fahrenheit => Exact::whole(1),
                    TemperatureUnit::Celsius => Exact::new(1, 2),
                },
                ChannelView::Pressure(channel) if channel.unit() == PressureUnit::Psi => {
                    Exact::whole(1)
                }
                ChannelView::Pressure(channel) => {
                    Exact::whole(10).over(limits::kilopascals(channel.unit()))
                }
                ChannelView::Flow(_) => continue,
            };
            let valid: Vec<Exact> = (0..=self.last())
                .filter(|&sample| !self.samples[sample].standing())
                .filter_map(|sample| super::number(channel.reading(sample)))
                .collect();
            let whole = valid.iter().all(|reading| reading.over(step).is_whole());
            if self.is_needed(role) && !valid.is_empty() && whole {
                told.push(self.whole(1));
            }
        }
        told
    }

    /// Runs outside cleaning that last longer than the response, near ones as one.
    fn lasting(&self, belongs: impl Fn(&Sample) -> bool) -> Vec<Told> {
        let allowance = self.plant.limits.response_allowance.milliseconds();
        let mut runs = self.runs(|sample| belongs(sample) && sample.mode != Mode::Cleaning);
        runs.retain(|&run| self.span_of(run) > allowance);
        self.joined(runs)
    }

    fn alarm_without_divert(&self) -> Vec<Told> {
        let of = |alarm: usize| {
            self.lasting(|sample| sample.forward() && sample.alarms[alarm] == Some(true))
        };
        let mut told = of(0);
        told.extend(of(1));
        told
    }

    fn booster_out_of_turn(&self) -> Vec<Told> {
        let unit = self.record.differential().unit();
        let floor = limits::pressure(self.plant.limits.booster_differential, unit);
        self.lasting(|sample| {
            let may = sample.forward()
                && matches!(sample.timing_pump, Pump::None | Pump::Runs)
                && sample.differential.is_some_and(|differential| differential >= floor);
            sample.booster == Pump::Runs && !may
        })
    }

    /// Over each minute and more of standstill that follows a minute of it, the lower of the two middle
    /// differentials.
    fn zero_check(&self) -> Vec<Told> {
        let unit = self.record.differential().unit();
        let Some(limit) = self.plant.limits.zero_check.map(|limit| limits::pressure(limit, unit))
        else {
            return Vec::new();
        };
        let mut told = Vec::new();
        for (first, last) in self.runs(|sample| {
            let booster_stands = matches!(sample.booster, Pump::None | Pump::Stands);
            sample.standing() && booster_stands && sample.mode != Mode::Cleaning
        }) {
            let counts = (first..=last).skip_while(|&at| self.span_of((first, at)) < MINUTE);
            let counts: Vec<usize> = counts.collect();
            let mut readings: Vec<Exact> =
                counts.iter().filter_map(|&at| self.samples[at].differential).collect();
            readings.sort();
            let (Some(&from), false) = (counts.first(), readings.is_empty()) else { continue };
            let middle = readings[(readings.len() - 1) / 2];
            let apart = middle > limit || middle < Exact::ZERO - limit;
            if apart && self.span_of((from, last)) >= MINUTE {
                let span = (self.samples[from].at, self.samples[last].at);
                told.push(Told { span, count: readings.len() });
            }
        }
        told
    }

    fn flow_without_alarm(&self) -> Vec<Told> {
        let Some(unit) = self.record.flow_rate().map(trace::Channel::unit) else {
            return Vec::new();
        };
        let (high, low) = self.plant.limits.flow_alarms;
        let mut told = Vec::new();
        if let Some(high) = high.map(|high| limits::flow_in(high, unit)) {
            told.extend(self.lasting(|sample| {
                let fast = sample.flow.is_some_and(|flow| flow > high);
                sample.exposed() && sample.alarms[0] == Some(false) && fast
            }));
        }
        if let Some(low) = low.map(|low| limits::flow_in(low, unit)) {
            told.extend(self.lasting(|sample| {
                let slow = sample.flow.is_some_and(|flow| flow < low);
                sample.exposed() && sample.alarms[1] == Some(false) && slow
            }));
        }
        told
    }

    /// By more than nothing, or by the floor where the plant asks for it at all times.
    fn medium_above_product(&self) -> Vec<Told> {
        let unit = self.record.differential().unit();
        let limits = &self.plant.limits;
        let floor =
            limits.differential_at_all_times.then(|| limits::pressure(limits.differential, unit));
        let mut told = Vec::new();
        for medium in [0, 1] {
            let runs = self.runs(|sample| {
                let low = sample.over_media[medium].is_some_and(|over| match floor {
                    Some(floor) => over < floor,
                    None => over <= Exact::ZERO,
                });
                low && sample.mode != Mode::Cleaning
            });
            told.extend(self.joined(runs));
        }
        told
    }

    fn made(sample: &Sample) -> bool {
        sample.forward() && sample.mode == Mode::Production
    }

    fn cooled_too_warm(&self) -> Vec<Told> {
        let limit = self.plant.limits.cooled_maximum;
        let runs = self.runs_that_continue(
            |index| {
                let sample = &self.samples[index];
                Self::made(sample)
                    && self.settled(index)
                    && !sample.limit.cooled_exempt
                    && is_above(sample.cooled, limit)
            },
            |_, _| true,
        );
        self.joined(runs)
    }

    fn raw_too_warm(&self) -> Vec<Told> {
        let limit = self.plant.limits.raw_maximum;
        self.joined(
            self.runs(|sample| Self::made(sample) && is_above(sample.raw_temperature, limit)),
        )
    }

    /// In percent; nothing where the milk is not at least a degree warmer than it came.
    fn regained(&self, sample: &Sample) -> Option<Exact> {
        let unit = self.record.holding_temperature().unit();
        let raw = sample.raw_temperature?.into(unit);
        let (gained, all) = (sample.regenerated?.into(unit) - raw, sample.temperature? - raw);
        (all >= Exact::whole(1)).then(|| (gained * Exact::whole(100)).over(all))
    }

    fn low_regeneration(&self) -> Vec<Told> {
        let Some(floor) = self.plant.limits.regeneration_minimum.map(Exact::decimal) else {
            return Vec::new();
        };
        let runs = self.runs_that_continue(
            |index| {
                let sample = &self.samples[index];
                let low = self.regained(sample).is_some_and(|percent| percent < floor);
                low && sample.forward() && self.settled(index)
            },
            |_, _| true,
        );
        self.joined(runs)
    }

    /// The steps, but for gaps, of which both samples say in words that the mode is production, or
    /// meter more than the low flow, add up to more than ten minutes.
    fn never_forward(&self) -> Vec<Told> {
        if self.samples.iter().any(Sample::forward) {
            return Vec::new();
        }
        let runs = |index: usize| {
            let sample = &self.samples[index];
            let mode = self.record.mode().map_or("", |channel| channel.word(index));
            let metered =
                sample.flow.is_some_and(|flow| flow > sample.low_flow.unwrap_or(Exact::ZERO));
            metered || (!mode.is_empty() && sample.mode == Mode::Production)
        };
        let steps = (0..self.last())
            .filter(|&one| !self.gap_after[one] && runs(one) && runs(one + 1))
            .map(|one| self.span_of((one, one + 1)));
        if steps.sum::<i64>() > NEVER_FORWARD { vec![self.whole(1)] } else { Vec::new() }
    }

    /// The whole minutes of each unbroken stretch of forward flow, but for its first, whose median
    /// is too high: one observation from the first to the last, which counts them.
    fn recorder_above(&self) -> Vec<Told> {
        let Some(recorder) = self.record.recorder_temperature() else { return Vec::new() };
        let holding = self.record.holding_temperature();
        let step = |scale: u8| Exact::new(1, 10_i128.pow(u32::from(scale)));
        let of_recorder = match (recorder.unit(), holding.unit()) {
            (TemperatureUnit::Fahrenheit, TemperatureUnit::Celsius) => Exact::new(5, 9),
            (TemperatureUnit::Celsius, TemperatureUnit::Fahrenheit) => Exact::new(9, 5),
            _ => Exact::whole(1),
        };
        let allowed = step(holding.scale()).max(step(recorder.scale()) * of_recorder);
        let mut minutes: Vec<Span> = Vec::new();
        for run in self.runs(Sample::forward) {
            let end_of_run = self.samples[run.1].at;
            let mut begin = self.samples[run.0].at + MINUTE;
            while begin + MINUTE <= end_of_run {
                let inside: Vec<&Sample> = self.samples[run.0..=run.1]
                    .iter()
                    .filter(|sample| (begin..begin + MINUTE).contains(&sample.at))
                    .collect();
                let mut above: Vec<Exact> = inside
                    .iter()
                    .filter_map(|sample| {
                        Some(sample.recorder?.into(holding.unit()) - sample.temperature?)
                    })
                    .collect();
                above.sort_unstable();
                // The lower of the two in the middle of an even number.
                let median = above.get(above.len().saturating_sub(1) / 2);
                if let (Some(first), Some(last)) = (inside.first(), inside.last())
                    && median.is_some_and(|&median| median > allowed)
                {
                    minutes.push((first.at, last.at));
                }
                begin += MINUTE;
            }
        }
        match (minutes.first(), minutes.last()) {
            (Some(first), Some(last)) => {
                vec![Told { span: (first.0, last.1), count: minutes.len() }]
            }
            _ => Vec::new(),
        }
    }

    /// Apart either way for as long as would contradict, while not standing.
    fn recorder_disagrees(&self) -> Vec<Told> {
        let unit = self.record.holding_temperature().unit();
        let allowed = limits::temperature(self.plant.limits.recorder_difference, unit);
        let apart = |sample: &Sample| {
            let difference = |recorder: Degrees| Some(recorder.into(unit) - sample.temperature?);
            let difference = sample.recorder.and_then(difference);
            !sample.standing() && difference.is_some_and(|difference| difference.size() > allowed)
        };
        let mut runs = self.runs(apart);
        runs.retain(|&run| self.span_of(run) > RECORDER_TIME);
        self.joined(runs)
    }

    /// Each stretch of samples of one word that are held alike, gap or not, unless all of it is
    /// diverted.
    fn unknown_product(&self) -> Vec<Told> {
        let word = |sample: usize| self.record.product().map_or("", |channel| channel.word(sample));
        let mut told = Vec::new();
        let mut first = 0;
        for sample in 0..=self.last() {
            let goes_on = sample < self.last()
                && word(sample) == word(sample + 1)
                && self.samples[sample].limit == self.samples[sample + 1].limit;
            if goes_on {
                continue;
            }
            let stretch = &self.samples[first..=sample];
            if stretch[0].limit.unknown && stretch.iter().any(Sample::exposed) {
                let span = (stretch[0].at, self.samples[sample].at);
                told.push(Told { span, count: stretch.len() });
            }
            first = sample + 1;
        }
        told
    }
}

/// Above a limit, in the thermometer's own unit.
fn is_above(degrees: Option<Degrees>, limit: plant::TemperatureLimit) -> bool {
    degrees.is_some_and(|one| one.value > limits::temperature(limit, one.unit))
}
