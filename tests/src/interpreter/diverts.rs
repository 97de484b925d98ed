//! The diverts and their reasons (section 8).

use super::{Answer, Day, Passage, Pump, Run, Sample, Span, half_way};
use crate::exact::Exact;
use analysis::{DivertReason, Rule, Side};
use plant::Mode;

/// A divert as the interpreter sees it.
#[derive(Debug, Clone, PartialEq)]
pub struct Divert {
    /// From the first diverted sample to the last.
    pub observed: Span,
    /// From the last forward sample to the next, or the end.
    pub outer: Span,
    /// From half way to half way.
    pub estimate: Span,
    /// Whether forward flow came back.
    pub is_over: bool,
    /// Why, as far as the record shows it.
    pub reason: DivertReason,
    /// Whether every reading of the meter that matters is there.
    pub is_metered: bool,
}

const LAG: i64 = 5_000;
const AFTERWARDS: i64 = 60_000;
const ENDED: i64 = 600_000;

impl Day<'_> {
    /// The diverts among the passages, in order.
    pub(super) fn diverts(&self, passages: &[Passage]) -> Vec<Divert> {
        let mut diverts = Vec::new();
        for (place, passage) in passages.iter().enumerate() {
            let (last, first) = passage.samples;
            let cleaned = [last, first].iter().all(|&one| self.samples[one].mode == Mode::Cleaning);
            if passage.to == Side::Forward || cleaned {
                continue;
            }
            let next = passages.get(place + 1).map(|next| next.samples.1);
            let until = (first..next.unwrap_or(self.samples.len()))
                .filter(|&one| !self.samples[one].exposed())
                .max()
                .unwrap_or(first);
            let at = |sample: usize| self.samples[sample].at;
            let before = self.before(first).unwrap_or(first);
            let after = self.after(until).unwrap_or(until);
            // A half of a millisecond is rounded up, and then nothing of the step before lies in it.
            let start = half_way(at(before), at(first));
            let begin = if start == at(first) { first } else { before };
            let touched = begin..=after;
            let gap = touched.clone().take(after - begin).any(|step| self.gap_after[step]);
            diverts.push(Divert {
                observed: (at(first), at(until)),
                outer: (at(last), at(next.unwrap_or(self.last()))),
                estimate: (start, half_way(at(until), at(after))),
                is_over: next.is_some(),
                reason: self.reason(passage.samples, next),
                is_metered: !gap && touched.clone().all(|one| self.samples[one].flow.is_some()),
            });
        }
        diverts
    }

    /// Why the device left forward flow between two samples; `next` is the next forward one.
    pub(super) fn reason(&self, (last, first): Run, next: Option<usize>) -> DivertReason {
        let moment: Vec<usize> = (last..=first).collect();
        let mut afterwards = vec![first];
        while let Some(sample) = self.after(afterwards[afterwards.len() - 1]) {
            if Some(sample) == next {
                break;
            }
            afterwards.push(sample);
        }
        let since = |sample: usize| self.samples[sample].at - self.samples[first].at;
        let within = |time: i64| afterwards.iter().copied().filter(move |&one| since(one) <= time);
        let is_short = |rule| {
            let short = |one: &usize| self.samples[*one].answer(rule) == Answer::Short;
            moment.iter().any(short)
        };
        let stopped = |one: usize| {
            self.samples[one].timing_pump == Pump::Stands || self.samples[one].flow_is_low()
        };
        let word = |one: usize| self.record.product().map_or("", |channel| channel.word(one));
        let off = |one: usize| self.samples[one].mode != Mode::Production;
        let changed = |one: usize| word(one) != word(last);
        if moment.iter().any(|&one| Self::reads_cold(&self.samples[one])) {
            DivertReason::Temperature
        } else if is_short(Rule::DIFFERENTIAL) {
            DivertReason::Differential
        } else if is_short(Rule::HOLDING_TIME) || moment.iter().any(|&one| self.is_fast(one)) {
            DivertReason::Flow
        } else if moment.iter().any(|&one| self.samples[one].alarms.contains(&Some(true))) {
            DivertReason::FlowAlarm
        } else if moment.iter().any(|&one| self.is_turned(last, one)) {
            DivertReason::ModeSwitch
        } else if moment.iter().any(|&one| stopped(one)) {
            DivertReason::PumpStopped
        } else if within(LAG).any(|one| Self::reads_cold(&self.samples[one])) {
            DivertReason::Temperature
        } else if within(AFTERWARDS).any(stopped) {
            DivertReason::PumpStopped
        } else if moment.iter().any(|&one| off(one)) || within(AFTERWARDS).any(off) {
            DivertReason::OffProduct
        } else if within(AFTERWARDS).chain(next).any(changed) {
            DivertReason::ProductChange
        } else if next.is_none() && since(self.last()) >= ENDED {
            DivertReason::EndOfProduction
        } else if (last..first).any(|one| self.gap_after[one]) {
            DivertReason::Gap
        } else {
            DivertReason::NotInRecord
        }
    }

    /// A thermometer at the end of the tube is below the limit.
    fn reads_cold(sample: &Sample) -> bool {
        let limit = sample.limit.recorder_figure;
        sample.answer(Rule::TEMPERATURE) == Answer::Short
            || sample.recorder.is_some_and(|recorder| recorder.value < limit)
    }

    /// The mode switch has another position than at the last forward sample; a blank tells nothing.
    fn is_turned(&self, last: usize, sample: usize) -> bool {
        let [before, after] = [last, sample].map(|one| &self.samples[one].mode_switch);
        !before.is_empty() && !after.is_empty() && before != after
    }

    /// A steady flow like this would pass the tube in less than the minimum.
    fn is_fast(&self, sample: usize) -> bool {
        let minimum = Exact::whole(self.samples[sample].limit.minimum_time);
        let volume = self.volume_of_tube(sample).filter(|_| self.judges_time());
        let flow = self.samples[sample].flow;
        flow.zip(volume).is_some_and(|(flow, volume)| flow.max(Exact::ZERO) * minimum > volume)
    }
}
