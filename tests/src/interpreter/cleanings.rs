//! The cleanings, and the productions between them (section 8).

use super::told::Told;
use super::{Day, Sample, Span, limits, number};
use crate::exact::Exact;
use plant::Mode;
use trace::{ChannelView, Role, TemperatureUnit};

/// A cleaning as the interpreter sees it.
#[derive(Debug, Clone, PartialEq)]
pub struct Cleaned {
    /// From its first sample to its last.
    pub span: Span,
    /// `seen`, `gap` or `record`: what lies before it and behind it.
    pub borders: (&'static str, &'static str),
    /// The least and the greatest return temperature.
    pub temperatures: Option<(Exact, Exact)>,
    /// The hot time, where the plant sets a temperature.
    pub hot: Option<i64>,
    /// Whether it is one, and not only called so.
    pub is_one: bool,
    /// Whether it counts.
    pub counts: bool,
    /// What followed, and when.
    pub followed: (&'static str, Option<i64>),
}

/// A production between cleanings as the interpreter sees it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Produced {
    /// From the first sample at which product may go forward to the last.
    pub span: Span,
    /// At how many it may.
    pub count: usize,
    /// Whether a cleaning that counts stands before it, and behind it.
    pub between: (bool, bool),
}

impl Day<'_> {
    /// Whether something flows, where that is known.
    fn flows(&self, index: usize) -> Option<bool> {
        let sample = &self.samples[index];
        if self.record.flow_rate().is_some() {
            let is_enough = |flow: Exact| match sample.low_flow {
                Some(limit) => flow >= limit,
                None => flow > Exact::ZERO,
            };
            return Some(sample.flow.is_some_and(is_enough));
        }
        let pump = self.record.timing_pump()?;
        Some(pump[index] == Some(true))
    }

    fn may_be_product(sample: &Sample) -> bool {
        sample.exposed() && sample.mode == Mode::Production
    }

    fn is_cold_product(sample: &Sample) -> bool {
        sample.forward()
            && sample.cooled.is_some_and(|cooled| {
                cooled.value
                    < match cooled.unit {
                        TemperatureUnit::Fahrenheit => Exact::whole(45),
                        TemperatureUnit::Celsius => Exact::whole(7),
                    }
            })
    }

    /// All cleanings, in order.
    pub(super) fn cleaned(&self) -> Vec<Cleaned> {
        let plan = self.plant.cleaning;
        // The thermometer in the return, else the one at the device.
        let own = self.record.channel(Role::CleaningReturnTemperature);
        let unit = match own {
            Some(ChannelView::Temperature(channel)) => channel.unit(),
            _ => self.record.holding_temperature().unit(),
        };
        let returning = |index: usize| match own {
            Some(channel) => number(channel.reading(index)),
            None => self.samples[index].temperature,
        };
        let runs = self.stretches_of_cleaning();
        let mut cleaned = Vec::new();
        for (place, &(first, last)) in runs.iter().enumerate() {
            let next = runs.get(place + 1).map(|run| run.0);
            let may_flow = |index: usize| self.flows(index).unwrap_or(true);
            let mut readings: Vec<Exact> =
                (first..=last).filter(|&index| may_flow(index)).filter_map(returning).collect();
            readings.sort_unstable();
            let hot = plan.temperature.map(|limit| {
                let limit = limits::temperature(limit, unit);
                let is_hot = |index: usize| {
                    may_flow(index) && returning(index).is_some_and(|reading| reading >= limit)
                };
                let hot = (first..last).filter(|&index| is_hot(index) && is_hot(index + 1));
                hot.map(|index| self.span_of((index, index + 1))).sum::<i64>()
            });
            let is_one = (first..=last).any(may_flow)
                && !(first..=last).any(|index| Self::is_cold_product(&self.samples[index]));
            let is_long = plan
                .minimum_time
                .is_none_or(|asked| hot.is_some_and(|hot| hot >= asked.milliseconds()));
            let product = (last + 1..next.unwrap_or(self.samples.len()))
                .find(|&index| Self::may_be_product(&self.samples[index]));
            let at = |index: usize| self.samples[index].at;
            let beyond = |is_border: bool, is_gap: bool| match (is_border, is_gap) {
                (true, _) => "record",
                (false, true) => "gap",
                (false, false) => "seen",
            };
            cleaned.push(Cleaned {
                span: (at(first), at(last)),
                borders: (
                    beyond(first == 0, self.before(first).is_none()),
                    beyond(last == self.last(), self.after(last).is_none()),
                ),
                temperatures: readings.first().copied().zip(readings.last().copied()),
                hot,
                is_one,
                counts: is_one && is_long,
                followed: match (product, next) {
                    (Some(index), _) => ("production", Some(at(index))),
                    (None, Some(index)) => ("cleaning", Some(at(index))),
                    (None, None) => ("nothing", None),
                },
            });
        }
        cleaned
    }

    /// All productions between cleanings, in order: from one cleaning that counts to the next.
    pub(super) fn produced(&self) -> Vec<Produced> {
        let counted: Vec<Span> =
            self.cleaned().iter().filter(|one| one.counts).map(|one| one.span).collect();
        let mut produced = Vec::new();
        for place in 0..=counted.len() {
            let after = place.checked_sub(1).map(|before| counted[before].1);
            let before = counted.get(place).map(|next| next.0);
            let inside: Vec<i64> = self
                .samples
                .iter()
                .filter(|sample| Self::may_be_product(sample))
                .map(|sample| sample.at)
                .filter(|&at| after.is_none_or(|end| at > end))
                .filter(|&at| before.is_none_or(|begin| at < begin))
                .collect();
            if let (Some(&first), Some(&last)) = (inside.first(), inside.last()) {
                produced.push(Produced {
                    span: (first, last),
                    count: inside.len(),
                    between: (after.is_some(), before.is_some()),
                });
            }
        }
        produced
    }

    /// Cleanings that follow one another are one; it is too short when none of them counts.
    pub(super) fn cleaning_too_short(&self) -> Vec<Told> {
        let plan = self.plant.cleaning;
        if plan.temperature.is_none() || plan.minimum_time.is_none() {
            return Vec::new();
        }
        let mut told = Vec::new();
        let mut parts: Vec<Cleaned> = Vec::new();
        for one in self.cleaned() {
            let goes_on = one.followed.0 == "cleaning";
            parts.push(one);
            if goes_on {
                continue;
            }
            if parts.iter().all(|part| !part.counts) {
                let span = (parts[0].span.0, parts[parts.len() - 1].span.1);
                told.push(Told { span, count: parts.len() });
            }
            parts.clear();
        }
        told
    }

    /// Those that are longer than the plant allows.
    pub(super) fn production_without_cleaning(&self) -> Vec<Told> {
        let Some(longest) = self.plant.cleaning.longest_production_run else { return Vec::new() };
        let too_long = |one: &Produced| one.span.1 - one.span.0 > longest.milliseconds();
        self.produced()
            .into_iter()
            .filter(too_long)
            .map(|one| Told { span: one.span, count: one.count })
            .collect()
    }
}
