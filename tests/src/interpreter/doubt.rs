//! When a reading that is legal proves nothing: contradicted, frozen, repeated (section 4).

use super::rules::needs;
use super::{Day, Run, Sample, number};
use crate::exact::Exact;
use crate::interpreter::limits;
use analysis::{Cause, Rule};
use std::collections::BTreeSet;
use trace::{ChannelView, Role, TemperatureUnit};

/// The recorder contradicts after more than so long.
pub(super) const RECORDER_TIME: i64 = 10_000;
/// The heating water contradicts after more than so long.
const HEATING_WATER_TIME: i64 = 60_000;

/// A stretch of samples that its length makes doubtful, its first sample included.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stretch {
    /// Contradicted, frozen or repeated.
    pub doubt: Cause,
    /// From its first sample to its last.
    pub samples: Run,
    /// Those of its samples at which a reading that it rests on is invalid.
    pub invalid: Vec<usize>,
    /// It is longer than so many milliseconds.
    pub longer_than: i64,
}

/// What makes the readings of a sample doubtful.
#[derive(Debug, Clone, Default)]
pub(super) struct Doubts {
    /// The holding temperature is contradicted by the recorder or by the heating water.
    pub contradicted: bool,
    /// The rules that need a channel which is frozen.
    pub frozen: BTreeSet<Rule>,
    /// All measuring channels are repeated.
    pub repeated: bool,
}

impl Day<'_> {
    /// The channels that measure, with their roles. A differential that was worked out from a pair
    /// of pressures is none.
    pub(super) fn measuring(&self) -> Vec<(Role, ChannelView<'_>)> {
        let mut channels = self.record.channels();
        let worked_out = self.record.pressures().is_some();
        channels.retain(|(role, _)| !(worked_out && *role == Role::DifferentialPressure));
        channels
    }

    /// Whether time is judged: there are a flow and a tube.
    pub(super) fn judges_time(&self) -> bool {
        self.record.flow_rate().is_some() && self.plant.tube.is_some()
    }

    /// Whether the rules need a channel.
    pub(super) fn is_needed(&self, role: Role) -> bool {
        needs(role).is_some_and(|rule| rule != Rule::HOLDING_TIME || self.judges_time())
    }

    /// The frozen limit of a channel: longer where none of its readings prints a decimal.
    pub(super) fn frozen_limit(&self, channel: ChannelView<'_>) -> i64 {
        let built_in = if channel.scale() > 0 { 600_000 } else { 3_600_000 };
        self.plant.limits.frozen.map_or(built_in, trace::Duration::milliseconds)
    }

    pub(super) fn doubt(&mut self) {
        self.contradict();
        for (role, channel) in self.record.channels() {
            if self.is_needed(role) && self.measuring().iter().any(|(own, _)| *own == role) {
                self.freeze(role, channel);
            }
        }
        self.repeat();
    }

    /// The samples from `first` on with which a stretch may go on: exposed, and no gap between.
    fn exposed_from(&self, first: usize) -> Run {
        let mut last = first;
        while let Some(next) = self.after(last).filter(|&next| self.samples[next].exposed()) {
            last = next;
        }
        (first, last)
    }

    /// Takes note of a stretch, unless it is part of one that was found before.
    fn note(&mut self, stretch: Stretch) {
        let part = |held: &Stretch| {
            let (own, of_held) = (stretch.samples, held.samples);
            held.doubt == stretch.doubt && of_held.0 <= own.0 && own.1 <= of_held.1
        };
        if !self.stretches.iter().any(part) {
            self.stretches.push(stretch);
        }
    }

    fn contradict(&mut self) {
        let unit = self.record.holding_temperature().unit();
        let allowed = limits::temperature(self.plant.limits.recorder_difference, unit);
        // The figures of the method for the heating water, whatever difference the plant allows.
        let colder = match unit {
            TemperatureUnit::Fahrenheit => Exact::whole(1),
            TemperatureUnit::Celsius => Exact::new(1, 2),
        };
        let words = |of: &dyn Fn(&Sample) -> Says| self.samples.iter().map(of).collect::<Vec<_>>();
        let by_recorder = words(&|sample| {
            let Some(recorder) = sample.recorder else { return Says::Nothing };
            if recorder.value >= sample.limit.recorder_figure {
                return Says::Yes;
            }
            match sample.temperature {
                None => Says::Perhaps,
                Some(holding) if holding - recorder.into(unit) > allowed => Says::No,
                Some(_) => Says::Yes,
            }
        });
        let by_water = words(&|sample| match (sample.heating_water, sample.temperature) {
            (None, _) => Says::Nothing,
            (Some(_), None) => Says::Perhaps,
            (Some(water), Some(holding)) if holding - water.into(unit) > colder => Says::No,
            _ => Says::Yes,
        });
        for (words, time) in [(by_recorder, RECORDER_TIME), (by_water, HEATING_WATER_TIME)] {
            self.contradicted_by(&words, time);
        }
    }

    /// From each sample that counts to the last that does before the two agree.
    fn contradicted_by(&mut self, words: &[Says], time: i64) {
        let counts = |sample: usize| matches!(words[sample], Says::No | Says::Perhaps);
        for first in 0..words.len() {
            if !self.samples[first].exposed() || !counts(first) {
                continue;
            }
            let (_, end) = self.exposed_from(first);
            let agree = (first..=end).find(|&sample| words[sample] == Says::Yes);
            let last = (first..agree.unwrap_or(end + 1)).rev().find(|&sample| counts(sample));
            let run = (first, last.unwrap_or(first));
            if self.span_of(run) <= time || !words[run.0..=run.1].contains(&Says::No) {
                continue;
            }
            let there = |sample: &usize| matches!(words[*sample], Says::No | Says::Yes);
            let invalid = (run.0..=run.1).filter(|sample| !there(sample)).collect();
            let doubt = Cause::Contradicted;
            self.note(Stretch { doubt, samples: run, invalid, longer_than: time });
            for sample in &mut self.samples[run.0..=run.1] {
                sample.doubts.contradicted |= sample.temperature.is_some();
            }
        }
    }

    /// The longest run from `first` on in which no channel shows two different valid readings.
    fn still_from(&self, first: usize, channels: &[Vec<Option<Exact>>]) -> Run {
        let (_, end) = self.exposed_from(first);
        let moves = |channel: &Vec<Option<Exact>>, last: usize| {
            let shown: Vec<Exact> = channel[first..=last].iter().copied().flatten().collect();
            shown.windows(2).any(|pair| pair[0] != pair[1])
        };
        let still = |last: usize| !channels.iter().any(|channel| moves(channel, last));
        (first, (first..=end).take_while(|&last| still(last)).last().unwrap_or(first))
    }

    fn freeze(&mut self, role: Role, channel: ChannelView<'_>) {
        let limit = self.frozen_limit(channel);
        let readings = [self.readings(channel)];
        for first in 0..self.samples.len() {
            let doubtful = self.would_be_doubtful(first, &readings);
            let Some(samples) = self.long_enough(&doubtful, limit) else { continue };
            let is_invalid = |&sample: &usize| readings[0][sample].is_none();
            let invalid = (samples.0..=samples.1).filter(is_invalid).collect();
            self.note(Stretch { doubt: Cause::Frozen, samples, invalid, longer_than: limit });
            for sample in doubtful {
                self.samples[sample].doubts.frozen.extend(needs(role));
            }
        }
    }

    /// The samples with a valid reading of the stretch that begins at `first`, but for that one.
    fn would_be_doubtful(&self, first: usize, channels: &[Vec<Option<Exact>>]) -> Vec<usize> {
        if !self.samples[first].exposed() {
            return Vec::new();
        }
        let shows = |&sample: &usize| channels.iter().any(|channel| channel[sample].is_some());
        (first + 1..=self.still_from(first, channels).1).filter(shows).collect()
    }

    /// From the sample before the first of them to the last, if that is longer than the limit.
    fn long_enough(&self, doubtful: &[usize], limit: i64) -> Option<Run> {
        let run = (doubtful.first()? - 1, *doubtful.last()?);
        (self.span_of(run) > limit).then_some(run)
    }

    fn readings(&self, channel: ChannelView<'_>) -> Vec<Option<Exact>> {
        (0..self.samples.len()).map(|sample| number(channel.reading(sample))).collect()
    }

    fn repeat(&mut self) {
        let readings: Vec<Vec<Option<Exact>>> =
            self.measuring().iter().map(|(_, channel)| self.readings(*channel)).collect();
        let limit = self.plant.limits.repeated_after.milliseconds();
        for first in 0..self.samples.len() {
            let doubtful = self.would_be_doubtful(first, &readings);
            let Some(samples) = self.long_enough(&doubtful, limit) else { continue };
            let shows = |channel: &&Vec<Option<Exact>>| {
                doubtful.iter().any(|&sample| channel[sample].is_some())
            };
            let showing: Vec<&Vec<Option<Exact>>> = readings.iter().filter(shows).collect();
            if showing.len() < 3 {
                continue;
            }
            let is_invalid = |&sample: &usize| showing.iter().any(|one| one[sample].is_none());
            let invalid = (samples.0..=samples.1).filter(is_invalid).collect();
            self.note(Stretch { doubt: Cause::Repeated, samples, invalid, longer_than: limit });
            for sample in samples.0 + 1..=samples.1 {
                self.samples[sample].doubts.repeated = true;
            }
        }
    }
}

/// Whether another thermometer lets the holding temperature stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Says {
    Yes,
    No,
    /// The holding temperature is invalid; a legal one would be contradicted.
    Perhaps,
    /// The other one is invalid.
    Nothing,
}
