//! The accounting: every millisecond between the first and the last sample belongs to exactly
//! one class (method, section 9).

use crate::exception::{Exception, Rule};
use trace::{Duration, Instant, Interval, RunRecord, ValveState};

/// What a stretch of the record was.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Class {
    /// Forward flow that met every rule.
    ForwardCompliant,
    /// Forward flow below the temperature limit.
    ForwardTemperature,
    /// Forward flow below the differential limit.
    ForwardDifferential,
    /// Forward flow held too short.
    ForwardHoldingTime,
    /// Forward flow that broke two or more rules at once.
    ForwardMultiple,
    /// Flow that the record cannot vouch for.
    Unverifiable,
    /// Diverted flow.
    Divert,
    /// The device between its positions, or unknown and harmless.
    Travel,
    /// A gap with the device diverted at both ends.
    GapDiverted,
}

impl Class {
    /// All classes, in order.
    pub const ALL: [Self; 9] = [
        Self::ForwardCompliant,
        Self::ForwardTemperature,
        Self::ForwardDifferential,
        Self::ForwardHoldingTime,
        Self::ForwardMultiple,
        Self::Unverifiable,
        Self::Divert,
        Self::Travel,
        Self::GapDiverted,
    ];

    /// The key in JSON and CSV.
    pub const fn key(self) -> &'static str {
        match self {
            Self::ForwardCompliant => "forward_compliant",
            Self::ForwardTemperature => "forward_temperature",
            Self::ForwardDifferential => "forward_differential",
            Self::ForwardHoldingTime => "forward_holding_time",
            Self::ForwardMultiple => "forward_multiple",
            Self::Unverifiable => "unverifiable",
            Self::Divert => "divert",
            Self::Travel => "travel",
            Self::GapDiverted => "gap_diverted",
        }
    }

    /// The name for a person.
    pub const fn name(self) -> &'static str {
        match self {
            Self::ForwardCompliant => "forward, compliant",
            Self::ForwardTemperature => "forward, temperature short",
            Self::ForwardDifferential => "forward, differential short",
            Self::ForwardHoldingTime => "forward, holding time short",
            Self::ForwardMultiple => "forward, two or more rules short",
            Self::Unverifiable => "cannot be verified",
            Self::Divert => "diverted",
            Self::Travel => "valve in travel",
            Self::GapDiverted => "gap while diverted",
        }
    }

    /// Whether product went forward without being shown safe.
    pub const fn is_in_doubt(self) -> bool {
        match self {
            Self::ForwardTemperature
            | Self::ForwardDifferential
            | Self::ForwardHoldingTime
            | Self::ForwardMultiple
            | Self::Unverifiable => true,
            Self::ForwardCompliant | Self::Divert | Self::Travel | Self::GapDiverted => false,
        }
    }
}

/// A stretch of one class.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stretch {
    /// From and to.
    pub interval: Interval,
    /// What it was.
    pub class: Class,
}

/// How much of the record each class takes, and in which order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Accounting {
    timeline: Vec<Stretch>,
    by_class: [Duration; Class::ALL.len()],
}

impl Accounting {
    /// The stretches in order; each begins where the one before ends, none is empty.
    pub fn timeline(&self) -> &[Stretch] {
        &self.timeline
    }

    /// The time of one class.
    pub const fn time(&self, class: Class) -> Duration {
        self.by_class[class as usize]
    }

    /// The time of all classes: the length of the record.
    pub fn total(&self) -> Duration {
        self.by_class.iter().fold(Duration::ZERO, |sum, &time| sum + time)
    }

    /// The time in forward flow of whichever class, without what can't be verified.
    pub fn forward(&self) -> Duration {
        [
            Class::ForwardCompliant,
            Class::ForwardTemperature,
            Class::ForwardDifferential,
            Class::ForwardHoldingTime,
            Class::ForwardMultiple,
        ]
        .into_iter()
        .fold(Duration::ZERO, |sum, class| sum + self.time(class))
    }

    /// The time in doubt: short of a rule or not verifiable.
    pub fn in_doubt(&self) -> Duration {
        Class::ALL
            .into_iter()
            .filter(|class| class.is_in_doubt())
            .fold(Duration::ZERO, |sum, class| sum + self.time(class))
    }
}

/// A painter's canvas over time: later layers cover earlier ones.
struct Timeline {
    stretches: Vec<Stretch>,
}

impl Timeline {
    fn push(&mut self, interval: Interval, class: Class) {
        if interval.duration() == Duration::ZERO {
            return;
        }
        match self.stretches.last_mut() {
            Some(last) if last.class == class && last.interval.end() == interval.start() => {
                last.interval = last.interval.hull(interval);
            }
            _ => self.stretches.push(Stretch { interval, class }),
        }
    }

    /// What `base` shows after `layer` was painted over it. Both are in order, the stretches of
    /// each do not overlap; `mix` says what class results where both are.
    fn painted(base: &[Stretch], layer: &[Stretch], mix: impl Fn(Class, Class) -> Class) -> Self {
        let mut result = Self { stretches: Vec::with_capacity(base.len() + 2 * layer.len()) };
        let mut upcoming = layer;
        for below in base {
            let mut from = below.interval.start();
            let end = below.interval.end();
            while from < end {
                while let Some((first, rest)) = upcoming.split_first()
                    && first.interval.end() <= from
                {
                    upcoming = rest;
                }
                match upcoming.first() {
                    Some(above) if above.interval.start() <= from => {
                        let to = end.min(above.interval.end());
                        result.push(Interval::between(from, to), mix(below.class, above.class));
                        from = to;
                    }
                    next => {
                        let to = next.map_or(end, |above| end.min(above.interval.start()));
                        result.push(Interval::between(from, to), below.class);
                        from = to;
                    }
                }
            }
        }
        result
    }
}

const fn class_of_valve(valve: ValveState) -> Class {
    match valve {
        ValveState::Forward => Class::ForwardCompliant,
        ValveState::Divert => Class::Divert,
        ValveState::Travel | ValveState::Unknown => Class::Travel,
    }
}

/// The accounting of a record whose exceptions are known.
pub(crate) fn account(
    record: &RunRecord,
    gap_limit: Duration,
    exceptions: &[Exception],
) -> Accounting {
    let mut timeline = valve_timeline(record, gap_limit);
    let layers: [(Rule, Class); 4] = [
        (Rule::Unverifiable, Class::Unverifiable),
        (Rule::Temperature, Class::ForwardTemperature),
        (Rule::Differential, Class::ForwardDifferential),
        (Rule::HoldingTime, Class::ForwardHoldingTime),
    ];
    for (rule, class) in layers {
        let layer: Vec<Stretch> = exceptions
            .iter()
            .filter(|exception| exception.rule == rule)
            .map(|exception| Stretch { interval: exception.estimate, class })
            .collect();
        timeline = Timeline::painted(&timeline.stretches, &layer, |below, above| match below {
            Class::ForwardTemperature
            | Class::ForwardDifferential
            | Class::ForwardHoldingTime
            | Class::ForwardMultiple => Class::ForwardMultiple,
            Class::ForwardCompliant
            | Class::Unverifiable
            | Class::Divert
            | Class::Travel
            | Class::GapDiverted => above,
        });
    }
    let mut by_class = [Duration::ZERO; Class::ALL.len()];
    for stretch in &timeline.stretches {
        let time = &mut by_class[stretch.class as usize];
        *time = *time + stretch.interval.duration();
    }
    Accounting { timeline: timeline.stretches, by_class }
}

/// The record by the valve alone: steps between samples of different class split at the midpoint,
/// gaps whole.
fn valve_timeline(record: &RunRecord, gap_limit: Duration) -> Timeline {
    let instants = record.instants();
    let valve = record.valve();
    let mut timeline = Timeline { stretches: Vec::new() };
    let mut from: Instant = record.interval().start();
    for sample in 1..instants.len() {
        let (before, after) = (valve[sample - 1], valve[sample]);
        let (start, end) = (instants[sample - 1], instants[sample]);
        let gap = end.since(start) > gap_limit;
        let (class, next) = (class_of_valve(before), class_of_valve(after));
        if gap {
            timeline.push(Interval::between(from, start), class);
            let harmless = before == ValveState::Divert && after == ValveState::Divert;
            let class = if harmless { Class::GapDiverted } else { Class::Unverifiable };
            timeline.push(Interval::between(start, end), class);
            from = end;
        } else if class != next {
            let middle = start.midpoint(end);
            timeline.push(Interval::between(from, middle), class);
            from = middle;
        }
    }
    if let (Some(&last), Some(&valve)) = (instants.last(), valve.last()) {
        timeline.push(Interval::between(from, last), class_of_valve(valve));
    }
    timeline
}

#[cfg(test)]
mod tests {
    use super::*;

    fn stretch(from: i64, to: i64, class: Class) -> Stretch {
        let at = Instant::from_unix_milliseconds;
        Stretch { interval: Interval::between(at(from), at(to)), class }
    }

    #[test]
    fn a_layer_covers_and_the_rest_stays() {
        let base = [stretch(0, 10, Class::Divert), stretch(10, 30, Class::ForwardCompliant)];
        let layer = [
            stretch(12, 15, Class::ForwardTemperature),
            stretch(15, 18, Class::ForwardTemperature),
        ];
        let painted = Timeline::painted(&base, &layer, |_below, above| above);
        assert_eq!(
            painted.stretches,
            [
                stretch(0, 10, Class::Divert),
                stretch(10, 12, Class::ForwardCompliant),
                stretch(12, 18, Class::ForwardTemperature),
                stretch(18, 30, Class::ForwardCompliant),
            ]
        );
    }
}
