//! What the finders share, and how what they find is kept a list that a person can read: of an
//! unbroken stretch of cleaning at most one of each kind, and what is more than a hundred of a kind
//! in one.

use crate::amounts::Amounts;
use crate::between_cleanings::BetweenCleanings;
use crate::cleaning_cycles::CleaningCycle;
use crate::context::Context;
use crate::diverts::Divert;
use crate::entries::{Check, CheckedEntry};
use crate::exception::Exception;
use crate::rules::Rule;
use crate::transitions::{Side, Transition};
use crate::trend::SETTLING;
use crate::verdicts::Run;
use crate::zero_check::ZeroCheck;
use plant::Mode;
use std::cmp::Ordering;
use std::collections::BTreeMap;
use trace::{Decimal, Interval, Observation, ObservationKind, Value, ValveState};

/// What the finders share.
pub(crate) struct Look<'a> {
    pub context: &'a Context<'a>,
    pub exceptions: &'a [Exception],
    pub transitions: &'a [Transition],
    pub diverts: &'a [Divert],
    pub entries: &'a [CheckedEntry],
    pub zero_checks: &'a [ZeroCheck],
    /// The unbroken stretches of cleaning.
    pub cleaning: &'a [Run],
    /// The same as cleanings.
    pub cycles: &'a [CleaningCycle],
    pub between: &'a [BetweenCleanings],
    pub amounts: &'a Amounts,
}

/// How many observations of one kind are told one by one; the rest is summed up in one more.
const MOST_OF_A_KIND: usize = 100;

/// Collects the observations of one kind.
pub(crate) struct Found<'a> {
    kind: ObservationKind,
    look: &'a Look<'a>,
    told: Vec<Observation>,
    /// For each stretch of cleaning with one told the place of that one.
    in_cleaning: BTreeMap<usize, usize>,
    more: Option<(u64, Interval)>,
}

impl<'a> Found<'a> {
    pub fn new(kind: ObservationKind, look: &'a Look<'a>) -> Self {
        Self { kind, look, told: Vec::new(), in_cleaning: BTreeMap::new(), more: None }
    }

    /// Takes one in; `figures` completes it, and is not asked for one beyond the most of a kind. In
    /// cleaning, the furthest figures of the stretch are kept.
    pub fn add(
        &mut self,
        interval: Interval,
        count: usize,
        figures: impl FnOnce(Observation) -> Observation,
    ) {
        let cleaning = self.stretch_of(interval);
        let held = cleaning.and_then(|stretch| self.in_cleaning.get(&stretch));
        if let Some(held) = held.and_then(|&place| self.told.get_mut(place)) {
            held.interval = held.interval.map(|so_far| so_far.hull(interval));
            held.count += count as u64;
            let one = figures(Observation::over(self.kind, interval, count));
            if is_worse(&one, held) {
                held.figures = one.figures;
            }
        } else if self.told.len() < MOST_OF_A_KIND {
            if let Some(stretch) = cleaning {
                self.in_cleaning.insert(stretch, self.told.len());
            }
            self.told.push(figures(Observation::over(self.kind, interval, count)));
        } else {
            let (more, hull) = self.more.unwrap_or((0, interval));
            self.more = Some((more + 1, hull.hull(interval)));
        }
    }

    fn stretch_of(&self, interval: Interval) -> Option<usize> {
        let instants = self.look.context.record.instants();
        let cleaning = self.look.cleaning;
        let index = cleaning.partition_point(|&(_, last)| instants[last] < interval.start());
        let &(first, last) = cleaning.get(index)?;
        (instants[first] <= interval.start() && interval.end() <= instants[last]).then_some(index)
    }

    pub fn finish(mut self) -> Vec<Observation> {
        if let Some((more, interval)) = self.more {
            let one = Observation { count: more, ..Observation::over(self.kind, interval, 1) };
            self.told.push(one.with("more", Value::Count(more)));
        }
        self.told
    }
}

/// Whether one observation's extreme goes further than another's of the same kind, so that "down to"
/// and "up to" stay true when the two become one.
fn is_worse(one: &Observation, other: &Observation) -> bool {
    let beyond = |name: &str, worse: Ordering| {
        let order = one.figure(name).zip(other.figure(name)).and_then(|pair| match pair {
            (Value::Temperature(one, _), Value::Temperature(other, _))
            | (Value::TemperatureDifference(one, _), Value::TemperatureDifference(other, _))
            | (Value::Pressure(one, _), Value::Pressure(other, _))
            | (Value::Percent(one), Value::Percent(other)) => Some(one.cmp(other)),
            _ => None,
        });
        order == Some(worse)
    };
    beyond("least", Ordering::Less)
        || beyond("most", Ordering::Greater)
        || beyond("difference", Ordering::Greater)
}

impl Look<'_> {
    /// The passages to a side at which the forward sample next to them is below the temperature
    /// limit.
    pub fn passages_below_limit(&self, to: Side, found: &mut Found<'_>) {
        let context = self.context;
        let channel = context.record.holding_temperature();
        for transition in self.transitions.iter().filter(|one| one.to == to) {
            let (sample, reading) = match to {
                Side::Forward => (transition.samples.1, transition.temperature_after),
                Side::Divert => (transition.samples.0, transition.temperature_before),
            };
            let Some(reading) = reading else { continue };
            if !context.verdicts.is_short(sample, Rule::TEMPERATURE) {
                continue;
            }
            let from = context.record.instants()[transition.samples.0];
            found.add(Interval::between(from, transition.at), 1, |one| {
                let limit = context.span(sample).exact.decimal_not_below(channel.scale());
                one.with("temperature", Value::Temperature(reading, channel.unit()))
                    .with("limit", Value::Temperature(limit, channel.unit()))
            });
        }
    }

    /// The differential where it is too low, though not in forward flow and not standing, with its
    /// least reading.
    pub fn low_differential(&self, found: &mut Found<'_>, is_low: impl Fn(usize) -> bool) {
        let context = self.context;
        let verdicts = context.verdicts;
        let differential = context.record.differential();
        let runs = verdicts.runs(|sample| {
            !verdicts.is_forward(sample) && is_low(sample) && !context.is_standing(sample)
        });
        for run in self.joined(runs) {
            found.add(run.interval, run.count(), |one| {
                let (least, _) = run.extremes(differential.mantissas());
                let least = Decimal::new(least, differential.scale());
                let limit = context.floor.exact.decimal_not_below(differential.scale());
                one.with("least", Value::Pressure(least, differential.unit()))
                    .with("limit", Value::Pressure(limit, differential.unit()))
            });
        }
    }

    /// The entries of which there is something to tell, each with what.
    pub fn told_of_entries(&self, found: &mut Found<'_>, told: impl Fn(&Check) -> Option<&String>) {
        for one in self.entries {
            let Some(told) = told(&one.check) else { continue };
            found.add(one.meant(), 1, |observation| {
                let text = format!("{}, entered by {}", one.in_words(), one.entry.by);
                observation
                    .with("text", Value::Word(text))
                    .with("reason", Value::Word(told.clone()))
            });
        }
    }

    /// For each sample whether it is forward, and long enough after the last cut-in for the line to
    /// have its temperatures. A cut-in is a passage from divert: one that was not seen is none, so
    /// that a record that begins in forward flow is taken for settled.
    pub fn settled(&self) -> Vec<bool> {
        let instants = self.context.record.instants();
        let mut since = instants[0];
        let mut diverted = false;
        let mut settled = Vec::with_capacity(instants.len());
        for (sample, &at) in instants.iter().enumerate() {
            match self.context.verdicts.valve(sample) {
                ValveState::Divert => diverted = true,
                ValveState::Forward if diverted => {
                    since = at + SETTLING;
                    diverted = false;
                }
                ValveState::Forward | ValveState::Travel | ValveState::Unknown => {}
            }
            settled.push(self.context.verdicts.is_forward(sample) && at >= since);
        }
        settled
    }

    /// The runs of samples outside cleaning that last longer than the device may take to respond, near ones as
    /// one.
    pub fn lasting(&self, belongs: impl Fn(usize) -> bool) -> Vec<Joined> {
        let Context { verdicts, plant, .. } = self.context;
        let mut runs = verdicts
            .runs(|sample| belongs(sample) && self.context.mode_at(sample) != Mode::Cleaning);
        runs.retain(|&run| verdicts.observed(run).duration() > plant.limits.response_allowance);
        self.joined(runs)
    }

    /// Runs less than the merge time apart as one: a reading that creeps across a limit flickers.
    pub fn joined(&self, runs: Vec<Run>) -> Vec<Joined> {
        let instants = self.context.record.instants();
        let merge_time = self.context.plant.limits.merge_time;
        let mut joined: Vec<Joined> = Vec::new();
        for run in runs {
            match joined.last_mut() {
                Some(last) if instants[run.0].since(last.interval.end()) < merge_time => {
                    last.interval = last.interval.hull(self.context.verdicts.observed(run));
                    last.runs.push(run);
                }
                _ => joined.push(Joined {
                    interval: self.context.verdicts.observed(run),
                    runs: vec![run],
                }),
            }
        }
        joined
    }
}

/// Runs of samples that are told as one.
pub(crate) struct Joined {
    /// From the first sample of the first run to the last of the last.
    pub interval: Interval,
    runs: Vec<Run>,
}

impl Joined {
    /// The samples of the runs, without those between them.
    pub fn samples(&self) -> impl Iterator<Item = usize> {
        self.runs.iter().flat_map(|&(first, last)| first..=last)
    }

    pub fn count(&self) -> usize {
        self.runs.iter().map(|&(first, last)| last - first + 1).sum()
    }

    /// The least and the greatest valid reading of a channel over its samples.
    pub fn extremes(&self, mantissas: &[i64]) -> (i64, i64) {
        let valid = || self.samples().map(|sample| mantissas[sample]).filter(|&one| is_valid(one));
        (valid().min().unwrap_or_default(), valid().max().unwrap_or_default())
    }
}

/// Where something may reach beyond the record, in words.
pub(crate) const fn beyond_the_record(begins_before: bool, goes_on: bool) -> Option<&'static str> {
    match (begins_before, goes_on) {
        (true, true) => Some("it may have begun before the record and go on after it"),
        (true, false) => Some("it may have begun before the record"),
        (false, true) => Some("it may go on after the record"),
        (false, false) => None,
    }
}

pub(crate) const fn is_valid(mantissa: i64) -> bool {
    trace::ChannelView::is_valid(mantissa)
}

#[cfg(test)]
mod tests {
    use crate::specimen::{day, observed, seen};

    /// Two channels stand still in each of two cleanings; each cleaning tells it once.
    #[test]
    fn of_two_channels_in_two_cleanings_each_cleaning_tells_one() {
        let audit = day("D*1410")
            .mode("cip*700 production*10 cip")
            .raw("100.0*700 99.0*10 100.0")
            .cooled("90.0*700 89.0*10 90.0")
            .audit();
        assert_eq!(
            observed(&audit, "frozen_reading"),
            [
                "0..699000 n=1400 channel=\"raw milk temperature\" reading=100.0 °F time=699000 ms",
                "710000..1409000 n=1400 channel=\"raw milk temperature\" reading=100.0 °F \
                 time=699000 ms",
            ]
        );
    }

    /// Two spans more than the merge time apart are one in a cleaning, down to the lower of the
    /// two; in production they are two.
    #[test]
    fn the_furthest_figure_of_a_cleaning_is_kept() {
        let low = || day("D*120").differential("5 1.5 5*98 0.5 5");
        assert_eq!(
            observed(&low().mode("cip").audit(), "differential_low_not_forward"),
            ["1000..100000 n=2 least=0.5 psi limit=2 psi"]
        );
        assert_eq!(
            observed(&low().audit(), "differential_low_not_forward"),
            [
                "1000..1000 n=1 least=1.5 psi limit=2 psi",
                "100000..100000 n=1 least=0.5 psi limit=2 psi",
            ]
        );
    }

    /// What lies between two spans that are told as one is not counted, nor its readings.
    #[test]
    fn what_lies_between_joined_spans_is_not_told() {
        let audit = day("D*5 F*20 D*5").differential("-1*5 -5*20 -2").audit();
        assert_eq!(
            observed(&audit, "differential_reversed"),
            ["0..29000 n=10 least=-2 psi limit=2 psi"]
        );
    }

    /// Exactly the merge time apart are two.
    #[test]
    fn spans_of_exactly_the_merge_time_apart_are_two() {
        for (between, count) in [(58, 1), (59, 2)] {
            let audit = day("D*100").differential(&format!("-1 5*{between} -1 5")).audit();
            assert_eq!(seen(&audit, "differential_reversed").len(), count, "{between}");
        }
    }

    #[test]
    fn more_than_a_hundred_of_a_kind_are_summed_up() {
        let audit = day("D*300").leak(&"on off ".repeat(150)).audit();
        let found = seen(&audit, "leak_detected");
        assert_eq!(found.len(), 101);
        // 150 − 100; they began at samples 200, 202, … 298.
        assert_eq!(
            observed(&audit, "leak_detected").iter().filter(|one| one.contains("more")).count(),
            1
        );
        assert!(
            observed(&audit, "leak_detected").contains(&"200000..298000 n=50 more=50".to_owned())
        );
    }
}
