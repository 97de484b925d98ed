//! Whose every millisecond is (section 9).

use super::{Day, Finding, Span, half_way};
use analysis::{Class, Rule};
use std::collections::BTreeSet;
use trace::ValveState;

impl Day<'_> {
    /// The class of the time between two neighbouring cuts, by asking everybody who has a say.
    fn class(&self, findings: &[Finding], piece: Span) -> Class {
        let rules: BTreeSet<Rule> = findings
            .iter()
            .filter(|finding| finding.estimate.0 <= piece.0 && piece.1 <= finding.estimate.1)
            .map(|finding| finding.rule)
            .collect();
        let named: Vec<Rule> =
            rules.iter().copied().filter(|&rule| rule != Rule::UNVERIFIABLE).collect();
        match named.as_slice() {
            [rule] => return Class::Exception(*rule),
            [_, _, ..] => return Class::ForwardMultiple,
            [] if !rules.is_empty() => return Class::Exception(Rule::UNVERIFIABLE),
            [] => {}
        }
        // A hole is a hole from its first sample to its last, whatever the samples in it show.
        let in_harmless_hole = self.holes.iter().any(|hole| {
            let (from, to) = (self.samples[hole.samples.0].at, self.samples[hole.samples.1].at);
            self.is_harmless(hole) && from <= piece.0 && piece.1 <= to
        });
        if in_harmless_hole {
            return Class::GapDiverted;
        }
        for step in self.samples.windows(2) {
            let (from, to) = (&step[0], &step[1]);
            if piece.0 < from.at || to.at < piece.1 {
                continue;
            }
            let nearer = if piece.1 <= half_way(from.at, to.at) { from } else { to };
            return match nearer.valve {
                ValveState::Forward => Class::ForwardLegal,
                ValveState::Divert => Class::Divert,
                ValveState::Travel | ValveState::Unknown => Class::Travel,
            };
        }
        Class::Travel
    }

    /// Every instant at which the class can change, then the class of each piece between two.
    pub(super) fn timeline(&self, findings: &[Finding]) -> Vec<(Span, Class)> {
        let mut cuts = BTreeSet::new();
        for sample in &self.samples {
            cuts.insert(sample.at);
        }
        for step in self.samples.windows(2) {
            cuts.insert(half_way(step[0].at, step[1].at));
        }
        let record = (self.samples[0].at, self.samples[self.last()].at);
        for finding in findings {
            for end in [finding.estimate.0, finding.estimate.1] {
                cuts.insert(end.clamp(record.0, record.1));
            }
        }
        let cuts: Vec<i64> = cuts.into_iter().collect();
        let mut timeline: Vec<(Span, Class)> = Vec::new();
        for pair in cuts.windows(2) {
            let class = self.class(findings, (pair[0], pair[1]));
            match timeline.last_mut() {
                Some((span, last)) if *last == class => span.1 = pair[1],
                _ => timeline.push(((pair[0], pair[1]), class)),
            }
        }
        timeline
    }
}
