//! When a reading that is legal proves nothing: contradicted, frozen, repeated (section 4).

use super::{Day, Degrees, number};
use crate::exact::Exact;
use crate::interpreter::limits;
use trace::{ChannelView, Reading, Role, TemperatureUnit};

/// The recorder contradicts after more than so long.
pub(super) const RECORDER_TIME: i64 = 10_000;
/// The heating water contradicts after more than so long.
const HEATING_WATER_TIME: i64 = 60_000;

/// What makes the readings of a sample doubtful.
#[expect(clippy::struct_excessive_bools, reason = "each doubt is there or not, on its own")]
#[derive(Debug, Clone, Default)]
pub(super) struct Doubts {
    /// The holding temperature is contradicted by the recorder or by the heating water.
    pub contradicted: bool,
    /// The holding temperature is frozen.
    pub frozen_temperature: bool,
    /// The differential, or one pressure of the pair, is frozen.
    pub frozen_differential: bool,
    /// The flow is frozen, and time is judged.
    pub frozen_flow: bool,
    /// All measuring channels are repeated.
    pub repeated: bool,
}

impl Doubts {
    pub(super) const fn any(&self) -> bool {
        self.contradicted
            || self.frozen_temperature
            || self.frozen_differential
            || self.frozen_flow
            || self.repeated
    }
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
        match role {
            Role::HoldingTemperature
            | Role::RawPressure
            | Role::PasteurizedPressure
            | Role::DifferentialPressure => true,
            Role::FlowRate => self.judges_time(),
            _ => false,
        }
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

    fn contradict(&mut self) {
        let unit = self.record.holding_temperature().unit();
        let allowed = limits::temperature(self.plant.limits.recorder_difference, unit);
        // The figures of the method for the heating water, whatever difference the plant allows.
        let colder = match unit {
            TemperatureUnit::Fahrenheit => Exact::whole(1),
            TemperatureUnit::Celsius => Exact::new(1, 2),
        };
        let below = |other: Option<Degrees>, sample: usize| {
            let holding = self.samples[sample].temperature?;
            Some(holding - other?.into(unit))
        };
        let by_recorder = |sample: usize| {
            let this = &self.samples[sample];
            let short =
                this.recorder.is_some_and(|recorder| recorder.value < this.limit.recorder_figure);
            let apart = below(this.recorder, sample).is_some_and(|below| below > allowed);
            this.exposed() && short && apart
        };
        let by_heating_water = |sample: usize| {
            let this = &self.samples[sample];
            this.exposed() && below(this.heating_water, sample).is_some_and(|below| below > colder)
        };
        let mut contradicted = Vec::new();
        for (runs, longest) in [
            (self.runs_that_continue(by_recorder, |_, _| true), RECORDER_TIME),
            (self.runs_that_continue(by_heating_water, |_, _| true), HEATING_WATER_TIME),
        ] {
            contradicted.extend(runs.into_iter().filter(|&run| self.span_of(run) > longest));
        }
        for (first, last) in contradicted {
            for sample in &mut self.samples[first..=last] {
                sample.doubts.contradicted = true;
            }
        }
    }

    fn freeze(&mut self, role: Role, channel: ChannelView<'_>) {
        let limit = self.frozen_limit(channel);
        let reading = |sample: usize| number(channel.reading(sample));
        let runs = self.runs_that_continue(
            |sample| self.samples[sample].exposed() && reading(sample).is_some(),
            |one, other| reading(one) == reading(other),
        );
        for (first, last) in runs {
            if self.span_of((first, last)) <= limit {
                continue;
            }
            for sample in &mut self.samples[first + 1..=last] {
                match role {
                    Role::HoldingTemperature => sample.doubts.frozen_temperature = true,
                    Role::FlowRate => sample.doubts.frozen_flow = true,
                    _ => sample.doubts.frozen_differential = true,
                }
            }
        }
    }

    fn repeat(&mut self) {
        let readings: Vec<Vec<Option<Exact>>> = self
            .measuring()
            .iter()
            .map(|(_, channel)| {
                let read = |sample| -> Reading { channel.reading(sample) };
                (0..self.samples.len()).map(|sample| number(read(sample))).collect()
            })
            .collect();
        if readings.len() < 3 {
            return;
        }
        let runs = self.runs_that_continue(
            |sample| {
                self.samples[sample].exposed()
                    && readings.iter().all(|channel| channel[sample].is_some())
            },
            |one, other| readings.iter().all(|channel| channel[one] == channel[other]),
        );
        for (first, last) in runs {
            if self.span_of((first, last)) > self.plant.limits.repeated_after.milliseconds() {
                for sample in &mut self.samples[first + 1..=last] {
                    sample.doubts.repeated = true;
                }
            }
        }
    }
}
