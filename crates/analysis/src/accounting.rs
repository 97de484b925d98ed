//! The accounting: every millisecond between the first and the last sample belongs to exactly
//! one class (method, section 9).

use crate::exception::Exception;
use crate::holes::Hole;
use crate::rules::Rule;
use crate::volume::union;
use std::collections::BTreeMap;
use trace::{Duration, Instant, Interval, RunRecord, ValveState};

/// What a stretch of the record was.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Class {
    /// Forward flow that met every rule.
    ForwardLegal,
    /// An exception of one rule.
    Exception(Rule),
    /// Forward flow that broke two or more rules at once.
    ForwardMultiple,
    /// Diverted flow.
    Divert,
    /// The device between its positions, or unknown and harmless.
    Travel,
    /// A gap with the device diverted at both ends.
    GapDiverted,
}

impl Class {
    /// All classes, in order.
    pub const ALL: [Self; Rule::ALL.len() + 5] = {
        use Class::{Divert, Exception, ForwardLegal, ForwardMultiple, GapDiverted, Travel};
        let last = Rule::ALL.len();
        let mut all = [ForwardLegal; Rule::ALL.len() + 5];
        let mut place = 0;
        while place < last {
            all[1 + place] = Exception(Rule::ALL[place]);
            place += 1;
        }
        // What breaks two of the rules stands before what can't be verified.
        (all[last], all[last + 1]) = (ForwardMultiple, Exception(Rule::UNVERIFIABLE));
        (all[last + 2], all[last + 3], all[last + 4]) = (Divert, Travel, GapDiverted);
        all
    };

    /// The key in JSON and CSV.
    pub const fn key(self) -> &'static str {
        match self {
            Self::ForwardLegal => "forward_legal",
            Self::Exception(rule) => rule.definition().class.0,
            Self::ForwardMultiple => "forward_multiple",
            Self::Divert => "divert",
            Self::Travel => "travel",
            Self::GapDiverted => "gap_diverted",
        }
    }

    /// The name for a person.
    pub const fn name(self) -> &'static str {
        match self {
            Self::ForwardLegal => "forward, within limits as recorded",
            Self::Exception(rule) => rule.definition().class.1,
            Self::ForwardMultiple => "forward, two or more limits missed",
            Self::Divert => "diverted",
            Self::Travel => "FDD in travel",
            Self::GapDiverted => "gap while diverted",
        }
    }

    /// Whether product went forward without being shown safe.
    pub const fn is_in_doubt(self) -> bool {
        matches!(self, Self::Exception(_) | Self::ForwardMultiple)
    }

    /// Whether the record shows a rule short.
    fn is_short(self) -> bool {
        self.is_in_doubt() && self != Self::Exception(Rule::UNVERIFIABLE)
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
    by_class: BTreeMap<Class, Duration>,
}

impl Accounting {
    /// The stretches in order; each begins where the one before ends, none is empty.
    pub fn timeline(&self) -> &[Stretch] {
        &self.timeline
    }

    /// The time of one class.
    pub fn time(&self, class: Class) -> Duration {
        self.by_class.get(&class).copied().unwrap_or(Duration::ZERO)
    }

    /// The time of all classes: the length of the record.
    pub fn total(&self) -> Duration {
        self.sum(|_| true)
    }

    /// The time in forward flow of whichever class, without what can't be verified.
    pub fn forward(&self) -> Duration {
        self.sum(|class| class == Class::ForwardLegal || class.is_short())
    }

    /// The time in doubt: short of a rule or not verifiable.
    pub fn in_doubt(&self) -> Duration {
        self.sum(Class::is_in_doubt)
    }

    fn sum(&self, counts: impl Fn(Class) -> bool) -> Duration {
        let counted = self.by_class.iter().filter(|(class, _)| counts(**class));
        counted.fold(Duration::ZERO, |sum, (_, &time)| sum + time)
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
        ValveState::Forward => Class::ForwardLegal,
        ValveState::Divert => Class::Divert,
        ValveState::Travel | ValveState::Unknown => Class::Travel,
    }
}

/// The accounting of a record whose exceptions are known.
pub(crate) fn account(record: &RunRecord, holes: &[Hole], exceptions: &[Exception]) -> Accounting {
    let mut timeline = valve_timeline(record);
    let diverted: Vec<Stretch> = holes
        .iter()
        .filter(|hole| !hole.exposed)
        .map(|hole| Stretch { interval: hole.interval, class: Class::GapDiverted })
        .collect();
    timeline = Timeline::painted(&timeline.stretches, &diverted, |_below, above| above);
    // What is shown to be short covers what can't be verified, which stands last.
    for &rule in Rule::ALL.iter().rev() {
        let class = Class::Exception(rule);
        // A hole may lie in a double span.
        let broken = exceptions.iter().filter(|exception| exception.rule == rule);
        let intervals = union(broken.map(|exception| exception.estimate).collect());
        let layer: Vec<Stretch> =
            intervals.into_iter().map(|interval| Stretch { interval, class }).collect();
        timeline = Timeline::painted(&timeline.stretches, &layer, |below, above| {
            if below.is_short() { Class::ForwardMultiple } else { above }
        });
    }
    let mut by_class = BTreeMap::new();
    for stretch in &timeline.stretches {
        let time = by_class.entry(stretch.class).or_insert(Duration::ZERO);
        *time = *time + stretch.interval.duration();
    }
    Accounting { timeline: timeline.stretches, by_class }
}

/// The record by the device alone: steps between samples of different class split at the midpoint.
fn valve_timeline(record: &RunRecord) -> Timeline {
    let instants = record.instants();
    let valve = record.valve();
    let mut timeline = Timeline { stretches: Vec::new() };
    let mut from: Instant = record.interval().start();
    for sample in 1..instants.len() {
        let (class, next) = (class_of_valve(valve[sample - 1]), class_of_valve(valve[sample]));
        if class != next {
            let middle = instants[sample - 1].midpoint(instants[sample]);
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
    use crate::specimen::{Specimen, day, span};

    fn stretch(from: i64, to: i64, class: Class) -> Stretch {
        let at = Instant::from_unix_milliseconds;
        Stretch { interval: Interval::between(at(from), at(to)), class }
    }

    #[test]
    fn a_layer_covers_and_the_rest_stays() {
        let base = [stretch(0, 10, Class::Divert), stretch(10, 30, Class::ForwardLegal)];
        let layer = [
            stretch(12, 15, Class::Exception(Rule::TEMPERATURE)),
            stretch(15, 18, Class::Exception(Rule::TEMPERATURE)),
        ];
        let painted = Timeline::painted(&base, &layer, |_below, above| above);
        assert_eq!(
            painted.stretches,
            [
                stretch(0, 10, Class::Divert),
                stretch(10, 12, Class::ForwardLegal),
                stretch(12, 18, Class::Exception(Rule::TEMPERATURE)),
                stretch(18, 30, Class::ForwardLegal),
            ]
        );
    }

    /// The stretches of a day, with what each was.
    fn told(specimen: Specimen) -> Vec<(i64, i64, &'static str)> {
        let accounting = specimen.audit().accounting;
        let end = accounting.timeline().last().map(|last| last.interval.end());
        let sum = accounting.total().milliseconds();
        assert_eq!(end.map(Instant::unix_milliseconds), Some(sum), "the classes add up");
        accounting
            .timeline()
            .iter()
            .map(|one| {
                let (from, to) = (one.interval.start(), one.interval.end());
                (from.unix_milliseconds(), to.unix_milliseconds(), one.class.key())
            })
            .collect()
    }

    /// Each step between two positions is split in the middle; a position that is unknown and
    /// harmless counts as travel.
    #[test]
    fn positions_share_the_step_between_them() {
        assert_eq!(
            told(day("D F V U D")),
            [
                (0, 500, "divert"),
                (500, 1500, "forward_legal"),
                (1500, 3500, "travel"),
                (3500, 4000, "divert"),
            ]
        );
        // An odd millisecond goes to the earlier half.
        assert_eq!(
            told(day("D F").every(1001)),
            [(0, 501, "divert"), (501, 1001, "forward_legal")]
        );
    }

    /// 165 → 150 meets 161 after 4/15 of a second, 266.7 ms, and back 733.3 ms after the sample.
    #[test]
    fn what_is_short_covers_what_cannot_be_verified() {
        // A clock's double span from 1000 to 4000 over a shortfall at sample 2.
        assert_eq!(
            told(day("F*6").holding("165*2 150 165").double(span(1000, 4000))),
            [
                (0, 1000, "forward_legal"),
                (1000, 1267, "unverifiable"),
                (1267, 2733, "forward_temperature"),
                (2733, 4000, "unverifiable"),
                (4000, 5000, "forward_legal"),
            ]
        );
    }

    #[test]
    fn every_named_rule_has_a_class_and_two_are_multiple() {
        // 5 → 1 psi meets 2 after 0.75 s, back after 0.25 s.
        assert_eq!(
            told(day("F*3").differential("5 1 5")),
            [
                (0, 750, "forward_legal"),
                (750, 1250, "forward_differential"),
                (1250, 2000, "forward_legal")
            ]
        );
        assert_eq!(
            told(day("D*20 F*3 D").tube(20, 16_000).flow("22").differential("5*21 1 5")),
            [
                (0, 19_500, "divert"),
                (19_500, 20_750, "forward_holding_time"),
                (20_750, 21_250, "forward_multiple"),
                (21_250, 22_500, "forward_holding_time"),
                (22_500, 23_000, "divert"),
            ]
        );
    }

    /// A whole hole that is not exposed is accounted as such; one beyond the minute can't be
    /// verified.
    #[test]
    fn diverted_holes_have_a_class_of_their_own() {
        assert_eq!(
            told(day("D*4").step(1, 9000)),
            [(0, 1000, "divert"), (1000, 10_000, "gap_diverted"), (10_000, 11_000, "divert")]
        );
        assert_eq!(
            told(day("D*4").step(1, 90_000)),
            [(0, 1000, "divert"), (1000, 91_000, "unverifiable"), (91_000, 92_000, "divert")]
        );
    }

    #[test]
    fn sums_over_classes() {
        let accounting = day("D*3 F*4").holding("165*5 150 165").audit().accounting;
        // Divert up to 2500; 733 ms before and after sample 5 short.
        assert_eq!(accounting.time(Class::Divert).milliseconds(), 2500);
        assert_eq!(accounting.time(Class::Exception(Rule::TEMPERATURE)).milliseconds(), 1466);
        assert_eq!(accounting.forward().milliseconds(), 3500);
        assert_eq!(accounting.in_doubt().milliseconds(), 1466);
    }

    #[test]
    fn a_record_of_one_sample_has_no_time() {
        assert_eq!(day("F").audit().accounting.total(), Duration::ZERO);
    }
}
