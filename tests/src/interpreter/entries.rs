//! The operators' entries, each held to the record at its time (section 8).

use super::told::Told;
use super::{Day, Passage, Span, limits, number};
use crate::exact::Exact;
use analysis::Side;
use plant::Thermometer;
use trace::{Channel, EntryKind, OperatorEntry, TemperatureUnit, ValveState};

/// Clocks on the wall differ.
const MINUTE: i64 = 60_000;
/// A test is one at which the temperature moves.
const MOVING: i64 = 10_000;

/// What the record says of an entry.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Held {
    /// It shows it.
    Agrees,
    /// It does not.
    Disagrees,
    /// No channel could.
    NotComparable,
    /// There is nothing to compare.
    Words,
}

impl From<bool> for Held {
    fn from(agrees: bool) -> Self {
        if agrees { Self::Agrees } else { Self::Disagrees }
    }
}

/// A temperature in a unit, and its neighbourhood.
struct Near {
    value: Exact,
    allowed: Exact,
}

impl Near {
    fn holds(&self, least: Exact, most: Exact) -> bool {
        self.value + self.allowed >= least && self.value <= most + self.allowed
    }
}

impl Day<'_> {
    fn entries(&self) -> &[OperatorEntry] {
        self.record.operator_entries().map_or(&[], |entries| entries.entries())
    }

    /// What the record says of each.
    pub(super) fn held(&self, passages: &[Passage]) -> Vec<Held> {
        self.entries().iter().map(|entry| self.held_to(entry, passages)).collect()
    }

    fn held_to(&self, entry: &OperatorEntry, passages: &[Passage]) -> Held {
        let holding = self.record.holding_temperature();
        let recorder = match (self.record.recorder_temperature(), self.plant.thermometer) {
            (Some(recorder), _) => Some(recorder),
            // There is one thermometer, and it is the recorder's.
            (None, Thermometer::Recorder) => Some(holding),
            (None, Thermometer::Indicating) => None,
        };
        match entry.kind {
            EntryKind::Occurrence | EntryKind::Seals => Held::Words,
            EntryKind::Indicating => self.read(entry, holding).into(),
            EntryKind::Recorder => match recorder {
                Some(recorder) => self.read(entry, recorder).into(),
                None => Held::NotComparable,
            },
            EntryKind::CutIn => self.tested(entry, passages, Side::Forward).into(),
            EntryKind::CutOut => self.tested(entry, passages, Side::Divert).into(),
            EntryKind::Alarm => {
                let (from, to) = meant(entry);
                let is_shown = |index: usize| {
                    let sample = &self.samples[index];
                    sample.valve == ValveState::Divert || sample.alarms.contains(&Some(true))
                };
                self.seen((from - MINUTE, to + MINUTE)).into_iter().any(is_shown).into()
            }
        }
    }

    /// The samples of a time, its end left out; where there is none the nearest on each side, no further away
    /// than the record's usual step.
    fn seen(&self, (from, to): Span) -> Vec<usize> {
        let at = |index: usize| self.samples[index].at;
        let all = 0..self.samples.len();
        let inside: Vec<usize> =
            all.clone().filter(|&index| from <= at(index) && at(index) < to).collect();
        if !inside.is_empty() {
            return inside;
        }
        let step = self.record.sampling_interval().milliseconds();
        let before = all.clone().filter(|&index| at(index) < from).max();
        let after = all.filter(|&index| at(index) >= to).min();
        let is_near = |&index: &usize| from - at(index) <= step && at(index) - to <= step;
        before.into_iter().chain(after).filter(is_near).collect()
    }

    fn near(&self, entry: &OperatorEntry, unit: TemperatureUnit) -> Option<Near> {
        let (value, own) = entry.reading?;
        let value = super::Degrees { value: Exact::decimal(value), unit: own }.into(unit);
        Some(Near {
            value,
            allowed: limits::temperature(self.plant.limits.recorder_difference, unit),
        })
    }

    /// Between the least and the greatest reading of its time, give or take what is allowed.
    fn read(&self, entry: &OperatorEntry, channel: &Channel<TemperatureUnit>) -> bool {
        let Some(near) = self.near(entry, channel.unit()) else { return false };
        let seen = self.seen(meant(entry)).into_iter();
        let seen: Vec<Exact> = seen.filter_map(|index| number(channel.reading(index))).collect();
        match (seen.iter().min(), seen.iter().max()) {
            (Some(&least), Some(&most)) => near.holds(least, most),
            _ => false,
        }
    }

    /// Whether a passage shows a test: near in time, at about the temperature, which moved towards it.
    fn tested(&self, entry: &OperatorEntry, passages: &[Passage], to: Side) -> bool {
        let unit = self.record.holding_temperature().unit();
        let Some(near) = self.near(entry, unit) else { return false };
        let (from, until) = meant(entry);
        passages.iter().filter(|passage| passage.to == to).any(|passage| {
            let at = self.samples[passage.samples.1].at;
            let index = if to == Side::Forward { passage.samples.1 } else { passage.samples.0 };
            let is_near = from - MINUTE <= at && at <= until + MINUTE;
            let shown = self.samples[index].temperature;
            is_near && shown.is_some_and(|shown| near.holds(shown, shown)) && self.moved(index, to)
        })
    }

    /// Whether the temperature rose to a sample, or fell to it, over the ten seconds before or a little more.
    fn moved(&self, index: usize, to: Side) -> bool {
        let mut first = index;
        while self.samples[index].at - self.samples[first].at < MOVING {
            match self.before(first) {
                Some(before) => first = before,
                None => return false,
            }
        }
        match (self.samples[first].temperature, self.samples[index].temperature) {
            (Some(then), Some(now)) if to == Side::Forward => then < now,
            (Some(then), Some(now)) => then > now,
            _ => false,
        }
    }

    fn entries_that(&self, passages: &[Passage], held: Held) -> Vec<Told> {
        let all = self.entries().iter().zip(self.held(passages));
        let of_them = all.filter(|(_, found)| *found == held);
        of_them.map(|(entry, _)| Told { span: meant(entry), count: 1 }).collect()
    }

    /// Those that the record does not show.
    pub(super) fn entry_disagrees(&self) -> Vec<Told> {
        self.entries_that(&self.passages(), Held::Disagrees)
    }

    /// Those that nothing in the record can show.
    pub(super) fn entry_not_comparable(&self) -> Vec<Told> {
        self.entries_that(&self.passages(), Held::NotComparable)
    }
}

/// A time without seconds means the whole minute.
fn meant(entry: &OperatorEntry) -> Span {
    let at = entry.at.unix_milliseconds();
    (at, at + if entry.to_the_minute { MINUTE } else { 1000 })
}
