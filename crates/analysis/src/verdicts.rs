//! Verdicts on single samples, and maximal runs of samples that share one (method, section 4).

use crate::exception::Cause;
use crate::limits::{DifferentialLimit, LimitSpan};
use crate::residence::{self, Held, Residence};
use plant::Plant;
use trace::{Channel, Instant, Interval, PressureUnit, RunRecord, TemperatureUnit, ValveState};

/// A run of consecutive samples: the first and the last, no gap inside.
pub(crate) type Run = (usize, usize);

const TEMPERATURE_SHORT: u16 = 1;
const TEMPERATURE_INVALID: u16 = 1 << 1;
const TEMPERATURE_CONTRADICTED: u16 = 1 << 2;
const TEMPERATURE_FROZEN: u16 = 1 << 3;
const DIFFERENTIAL_SHORT: u16 = 1 << 4;
const DIFFERENTIAL_INVALID: u16 = 1 << 5;
const DIFFERENTIAL_FROZEN: u16 = 1 << 6;
const REPEATED: u16 = 1 << 7;
const TIME_SHORT: u16 = 1 << 8;
const TIME_UNKNOWN: u16 = 1 << 9;
const FLOW_UNUSABLE: u16 = 1 << 10;
const GAP_AFTER: u16 = 1 << 15;

const SHORT: u16 = TEMPERATURE_SHORT | DIFFERENTIAL_SHORT | TIME_SHORT;
const INVALID: u16 = TEMPERATURE_INVALID | DIFFERENTIAL_INVALID;
const FROZEN: u16 = TEMPERATURE_FROZEN | DIFFERENTIAL_FROZEN;
const UNKNOWN: u16 = INVALID | TEMPERATURE_CONTRADICTED | FROZEN | REPEATED | TIME_UNKNOWN;

/// Which flags stand for which cause of an unknown answer.
const UNKNOWN_CAUSES: [(u16, Cause); 5] = [
    (INVALID, Cause::InvalidReading),
    (TEMPERATURE_CONTRADICTED, Cause::Contradicted),
    (FROZEN, Cause::Frozen),
    (REPEATED, Cause::Repeated),
    (TIME_UNKNOWN, Cause::FlowUnusable),
];

/// A set of causes of unknown answers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct CauseSet(u8);

impl CauseSet {
    pub const fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// The causes, in order.
    pub fn causes(self) -> Vec<Cause> {
        let has = |bit: &usize| self.0 >> bit & 1 == 1;
        (0..UNKNOWN_CAUSES.len()).filter(has).map(|bit| UNKNOWN_CAUSES[bit].1).collect()
    }
}

/// What each rule says of each sample, whatever the device's position, and where gaps are.
pub(crate) struct Verdicts<'a> {
    flags: Vec<u16>,
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
    const fn short(self) -> u16 {
        match self {
            Self::Temperature => TEMPERATURE_SHORT,
            Self::Differential => DIFFERENTIAL_SHORT,
        }
    }

    const fn unknown(self) -> u16 {
        match self {
            Self::Temperature => {
                TEMPERATURE_INVALID | TEMPERATURE_CONTRADICTED | TEMPERATURE_FROZEN | REPEATED
            }
            Self::Differential => DIFFERENTIAL_INVALID | DIFFERENTIAL_FROZEN | REPEATED,
        }
    }
}

/// Why a reading that stands in the record proves nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Doubt {
    TemperatureContradicted,
    TemperatureFrozen,
    DifferentialFrozen,
    Repeated,
    FlowUnusable,
}

impl Doubt {
    const fn flag(self) -> u16 {
        match self {
            Self::TemperatureContradicted => TEMPERATURE_CONTRADICTED,
            Self::TemperatureFrozen => TEMPERATURE_FROZEN,
            Self::DifferentialFrozen => DIFFERENTIAL_FROZEN,
            Self::Repeated => REPEATED,
            Self::FlowUnusable => FLOW_UNUSABLE,
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
        let mut flags = vec![0_u16; record.samples()];
        for span in spans {
            let range = span.first..=span.last;
            for (flag, &mantissa) in flags[range.clone()].iter_mut().zip(&temperature[range]) {
                if !Channel::<TemperatureUnit>::is_valid(mantissa) {
                    *flag |= TEMPERATURE_INVALID;
                } else if mantissa < span.threshold {
                    *flag |= TEMPERATURE_SHORT;
                }
            }
        }
        for (flag, &mantissa) in flags.iter_mut().zip(record.differential().mantissas()) {
            if !Channel::<PressureUnit>::is_valid(mantissa) {
                *flag |= DIFFERENTIAL_INVALID;
            } else if mantissa < floor.threshold {
                *flag |= DIFFERENTIAL_SHORT;
            }
        }
        for &sample in gaps {
            flags[sample] |= GAP_AFTER;
        }
        if let Some(flow) = record.flow_rate() {
            for (flag, &mantissa) in flags.iter_mut().zip(flow.mantissas()) {
                if !Channel::<PressureUnit>::is_valid(mantissa) {
                    *flag |= FLOW_UNUSABLE;
                }
            }
        }
        Self { flags, instants: record.instants(), valve: record.valve() }
    }

    /// Writes a doubt into a stretch of samples.
    pub fn mark(&mut self, samples: std::ops::RangeInclusive<usize>, doubt: Doubt) {
        for flag in &mut self.flags[samples] {
            *flag |= doubt.flag();
        }
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
        let usable = |sample: usize| flags.borrow()[sample] & FLOW_UNUSABLE == 0;
        residence::judge(record, plant, spans, gap_after, usable, |sample, held| match held {
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

    /// Whether product may go forward: everything but diverted.
    pub fn is_exposed(&self, sample: usize) -> bool {
        self.valve[sample] != ValveState::Divert
    }

    /// Whether the rules judge a sample: forward, or on the way.
    pub fn is_judged(&self, sample: usize) -> bool {
        matches!(self.valve[sample], ValveState::Forward | ValveState::Travel)
    }

    /// Whether every rule that is judged is met, and every reading that it needs proves it.
    pub fn is_legal(&self, sample: usize) -> bool {
        self.flags[sample] & (SHORT | UNKNOWN) == 0
    }

    pub fn is_held_short(&self, sample: usize) -> bool {
        self.flags[sample] & TIME_SHORT != 0
    }

    pub fn is_short(&self, sample: usize, rule: Reading) -> bool {
        self.flags[sample] & rule.short() != 0
    }

    /// Whether the rule's own reading is valid, beyond doubt and not below its limit.
    pub fn is_legal_for(&self, sample: usize, rule: Reading) -> bool {
        self.flags[sample] & (rule.short() | rule.unknown()) == 0
    }

    /// Stretches of samples, first and last, whose flow can't be reckoned with; none without a meter.
    pub fn unusable_flow(&self) -> Vec<(usize, usize)> {
        let mut stretches: Vec<(usize, usize)> = Vec::new();
        for sample in (0..self.flags.len()).filter(|&sample| !self.is_flow_usable(sample)) {
            match stretches.last_mut() {
                Some((_, last)) if *last + 1 == sample => *last = sample,
                _ => stretches.push((sample, sample)),
            }
        }
        stretches
    }

    /// Whether the flow at a sample can be reckoned with.
    pub fn is_flow_usable(&self, sample: usize) -> bool {
        self.flags[sample] & FLOW_UNUSABLE == 0
    }

    /// Why a rule is unknown at a sample where none is short; empty where all are known or one is
    /// short.
    pub fn unknown(&self, sample: usize) -> CauseSet {
        let flags = self.flags[sample];
        if flags & UNKNOWN == 0 || flags & SHORT != 0 {
            return CauseSet(0);
        }
        let mut set = 0;
        for (bit, (of_cause, _)) in UNKNOWN_CAUSES.iter().enumerate() {
            set |= u8::from(flags & of_cause != 0) << bit;
        }
        CauseSet(set)
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
