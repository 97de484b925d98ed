//! Verdicts on single samples, and maximal runs of samples that share one (method, section 4).

use crate::exception::Cause;
use crate::rule::Rule;
use std::ops::RangeInclusive;
use trace::{ChannelView, Instant, Interval, RunRecord, ValveState};

/// A run of consecutive samples: the first and the last, no gap inside.
pub(crate) type Run = (usize, usize);

// Of each sample: by the places of the rules which are short and which are unknown, then why any is
// unknown, in the order of causes.
const UNKNOWN_AT: usize = MOST_RULES;
const CAUSES_AT: usize = 2 * MOST_RULES;
const FLOW_UNUSABLE: u32 = 1 << 30;
const GAP_AFTER: u32 = 1 << 31;

const SHORT: u32 = (1 << MOST_RULES) - 1;
const UNKNOWN: u32 = SHORT << UNKNOWN_AT;
const CAUSES: u32 = (1 << Cause::ALL.len()) - 1;

/// There is room for the verdicts of this many rules.
pub(crate) const MOST_RULES: usize = 8;

/// A set of causes of unknown answers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct CauseSet(u32);

impl CauseSet {
    pub const fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// The causes, in order.
    pub fn causes(self) -> Vec<Cause> {
        Cause::ALL.into_iter().filter(|&cause| self.0 >> cause as u32 & 1 == 1).collect()
    }
}

/// What each rule says of each sample, whatever the device's position, and where gaps are.
pub(crate) struct Verdicts<'a> {
    flags: Vec<u32>,
    instants: &'a [Instant],
    valve: &'a [ValveState],
}

/// What is said of a sample.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Verdict(u32);

impl Verdict {
    /// The flow there proves nothing.
    pub const FLOW_UNUSABLE: Self = Self(FLOW_UNUSABLE);

    /// The rule is not met.
    pub const fn short(rule: Rule) -> Self {
        Self(1 << rule.place())
    }

    /// Nothing proves that the rule is met. One that is short stays short.
    pub const fn unknown(rule: Rule, cause: Cause) -> Self {
        Self(1 << (UNKNOWN_AT + rule.place()) | 1 << (CAUSES_AT + cause as usize))
    }
}

impl<'a> Verdicts<'a> {
    /// Before any rule is judged: where gaps are, and where the flow can't be read.
    pub fn new(record: &'a RunRecord, gaps: &[usize]) -> Self {
        let mut flags = vec![0; record.samples()];
        for &sample in gaps {
            flags[sample] = GAP_AFTER;
        }
        if let Some(flow) = record.flow_rate() {
            for (flag, &mantissa) in flags.iter_mut().zip(flow.mantissas()) {
                if !ChannelView::is_valid(mantissa) {
                    *flag |= FLOW_UNUSABLE;
                }
            }
        }
        Self { flags, instants: record.instants(), valve: record.valve() }
    }

    /// Adds what is said of a stretch of samples.
    pub fn mark(&mut self, samples: RangeInclusive<usize>, verdict: Verdict) {
        for flag in &mut self.flags[samples] {
            *flag |= verdict.0;
        }
    }

    /// Adds what a rule says by its readings: less than `threshold` is short.
    pub fn compare(
        &mut self,
        rule: Rule,
        samples: RangeInclusive<usize>,
        mantissas: &[i64],
        threshold: i64,
    ) {
        let short = Verdict::short(rule).0;
        let invalid = Verdict::unknown(rule, Cause::InvalidReading).0;
        for (flag, &mantissa) in self.flags[samples.clone()].iter_mut().zip(&mantissas[samples]) {
            if !ChannelView::is_valid(mantissa) {
                *flag |= invalid;
            } else if mantissa < threshold {
                *flag |= short;
            }
        }
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

    pub fn is_short(&self, sample: usize, rule: Rule) -> bool {
        self.flags[sample] & (1 << rule.place()) != 0
    }

    /// Whether the rule's own reading is valid, beyond doubt and not below its limit.
    pub fn is_legal_for(&self, sample: usize, rule: Rule) -> bool {
        self.flags[sample] & ((1 | 1 << UNKNOWN_AT) << rule.place()) == 0
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
        CauseSet(flags >> CAUSES_AT & CAUSES)
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
