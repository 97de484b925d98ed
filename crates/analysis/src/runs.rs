//! Verdicts on single samples, and maximal runs of samples that share one.

use crate::limits::{DifferentialLimit, LimitSpan};
use crate::residence::{self, Held, Residence};
use plant::Plant;
use trace::{Channel, Instant, Interval, PressureUnit, RunRecord, TemperatureUnit, ValveState};

/// A run of consecutive samples: the first and the last, no gap inside.
pub(crate) type Run = (usize, usize);

const TEMPERATURE_SHORT: u8 = 1;
const TEMPERATURE_UNKNOWN: u8 = 1 << 1;
const DIFFERENTIAL_SHORT: u8 = 1 << 2;
const DIFFERENTIAL_UNKNOWN: u8 = 1 << 3;
const TIME_SHORT: u8 = 1 << 4;
const TIME_UNKNOWN: u8 = 1 << 5;
const GAP_AFTER: u8 = 1 << 7;

const SHORT: u8 = TEMPERATURE_SHORT | DIFFERENTIAL_SHORT | TIME_SHORT;
const UNKNOWN: u8 = TEMPERATURE_UNKNOWN | DIFFERENTIAL_UNKNOWN | TIME_UNKNOWN;
const OF_READINGS: u8 =
    TEMPERATURE_SHORT | TEMPERATURE_UNKNOWN | DIFFERENTIAL_SHORT | DIFFERENTIAL_UNKNOWN;

/// What each rule says of each sample, whatever the valve's position, and where gaps are.
pub(crate) struct Verdicts<'a> {
    flags: Vec<u8>,
    instants: &'a [Instant],
    valve: &'a [ValveState],
}

/// One of the rules that compare a reading with a limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Reading {
    Temperature,
    Differential,
}

impl Reading {
    const fn short(self) -> u8 {
        match self {
            Self::Temperature => TEMPERATURE_SHORT,
            Self::Differential => DIFFERENTIAL_SHORT,
        }
    }

    const fn unknown(self) -> u8 {
        match self {
            Self::Temperature => TEMPERATURE_UNKNOWN,
            Self::Differential => DIFFERENTIAL_UNKNOWN,
        }
    }
}

impl<'a> Verdicts<'a> {
    /// One pass over each channel.
    pub fn judge(
        record: &'a RunRecord,
        spans: &[LimitSpan],
        floor: DifferentialLimit,
        gaps: &[usize],
    ) -> Self {
        let temperature = record.holding_temperature().mantissas();
        let mut flags = vec![0_u8; record.samples()];
        for span in spans {
            let range = span.first..=span.last;
            for (flag, &mantissa) in flags[range.clone()].iter_mut().zip(&temperature[range]) {
                if !Channel::<TemperatureUnit>::is_valid(mantissa) {
                    *flag |= TEMPERATURE_UNKNOWN;
                } else if mantissa < span.threshold {
                    *flag |= TEMPERATURE_SHORT;
                }
            }
        }
        for (flag, &mantissa) in flags.iter_mut().zip(record.differential().mantissas()) {
            if !Channel::<PressureUnit>::is_valid(mantissa) {
                *flag |= DIFFERENTIAL_UNKNOWN;
            } else if mantissa < floor.threshold {
                *flag |= DIFFERENTIAL_SHORT;
            }
        }
        for &sample in gaps {
            flags[sample] |= GAP_AFTER;
        }
        Self { flags, instants: record.instants(), valve: record.valve() }
    }

    /// Adds what the holding time rule says.
    pub fn judge_time(
        &mut self,
        record: &RunRecord,
        plant: &Plant,
        spans: &[LimitSpan],
    ) -> Option<Residence> {
        let flags = std::cell::RefCell::new(&mut self.flags);
        let gap_after = |sample: usize| flags.borrow()[sample] & GAP_AFTER != 0;
        residence::judge(record, plant, spans, gap_after, |sample, held| match held {
            Held::Legal => {}
            Held::Short => flags.borrow_mut()[sample] |= TIME_SHORT,
            Held::Unknown => flags.borrow_mut()[sample] |= TIME_UNKNOWN,
        })
    }

    pub fn samples(&self) -> usize {
        self.flags.len()
    }

    pub fn valve(&self, sample: usize) -> ValveState {
        self.valve[sample]
    }

    pub fn is_forward(&self, sample: usize) -> bool {
        self.valve[sample] == ValveState::Forward
    }

    /// Whether every rule is met, and every reading that a rule needs is valid.
    pub fn is_legal(&self, sample: usize) -> bool {
        self.flags[sample] & (SHORT | UNKNOWN) == 0
    }

    /// Whether temperature and differential are valid and meet their limits.
    pub fn has_legal_readings(&self, sample: usize) -> bool {
        self.flags[sample] & OF_READINGS == 0
    }

    pub fn is_held_short(&self, sample: usize) -> bool {
        self.flags[sample] & TIME_SHORT != 0
    }

    pub fn is_short(&self, sample: usize, rule: Reading) -> bool {
        self.flags[sample] & rule.short() != 0
    }

    /// Whether the rule's own reading is valid and not below its limit.
    pub fn is_legal_for(&self, sample: usize, rule: Reading) -> bool {
        self.flags[sample] & (rule.short() | rule.unknown()) == 0
    }

    /// Whether a reading that a rule needs is invalid and no rule is short.
    pub fn is_unknown(&self, sample: usize) -> bool {
        self.flags[sample] & UNKNOWN != 0 && self.flags[sample] & SHORT == 0
    }

    pub fn gap_after(&self, sample: usize) -> bool {
        self.flags[sample] & GAP_AFTER != 0
    }

    /// The sample before, unless there is none or a gap lies between.
    pub fn before(&self, sample: usize) -> Option<usize> {
        sample.checked_sub(1).filter(|&before| !self.gap_after(before))
    }

    /// The sample after, unless there is none or a gap lies between.
    pub fn after(&self, sample: usize) -> Option<usize> {
        (sample + 1 < self.samples() && !self.gap_after(sample)).then_some(sample + 1)
    }

    /// The maximal runs of samples for which `holds`, with no gap inside.
    pub fn runs(&self, holds: impl Fn(usize) -> bool) -> Vec<Run> {
        let mut runs = Vec::new();
        let mut first = None;
        for sample in 0..self.samples() {
            if holds(sample) {
                let begin = *first.get_or_insert(sample);
                if self.gap_after(sample) {
                    runs.push((begin, sample));
                    first = None;
                }
            } else if let Some(begin) = first.take() {
                runs.push((begin, sample - 1));
            }
        }
        runs.extend(first.map(|begin| (begin, self.samples() - 1)));
        runs
    }

    /// What the samples of a run show themselves.
    pub fn observed(&self, (first, last): Run) -> Interval {
        Interval::between(self.instants[first], self.instants[last])
    }

    /// From the sample before to the sample after: the event cannot have been longer.
    pub fn outer(&self, (first, last): Run) -> Interval {
        let start = self.before(first).unwrap_or(first);
        let end = self.after(last).unwrap_or(last);
        Interval::between(self.instants[start], self.instants[end])
    }

    /// From midpoint to midpoint.
    pub fn between_midpoints(&self, (first, last): Run) -> Interval {
        Interval::between(self.midpoint_before(first), self.midpoint_after(last))
    }

    /// Half way from the sample before; the sample itself where there is none within the gap
    /// limit.
    pub fn midpoint_before(&self, sample: usize) -> Instant {
        let before = self.before(sample).unwrap_or(sample);
        self.instants[before].midpoint(self.instants[sample])
    }

    /// Half way to the sample after; the sample itself where there is none within the gap limit.
    pub fn midpoint_after(&self, sample: usize) -> Instant {
        let after = self.after(sample).unwrap_or(sample);
        self.instants[sample].midpoint(self.instants[after])
    }
}
