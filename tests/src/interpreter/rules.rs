//! The rules (section 4): what each reads, and what it says of a sample.

use super::{Answer, Day, Run, Sample, Worst};
use crate::exact::Exact;
use analysis::{Cause, Rule};
use std::collections::BTreeSet;
use trace::Role;

/// The rules that compare a reading with a limit.
pub(super) const READINGS: [Rule; 2] = [Rule::TEMPERATURE, Rule::DIFFERENTIAL];
/// The rules that can be short.
pub(super) const NAMED: [Rule; 3] = [Rule::TEMPERATURE, Rule::DIFFERENTIAL, Rule::HOLDING_TIME];

/// What the rules that can be short say of a sample.
pub type Answers = [Answer; NAMED.len()];

/// The rule that needs a channel, if any.
pub(super) const fn needs(role: Role) -> Option<Rule> {
    match role {
        Role::HoldingTemperature => Some(Rule::TEMPERATURE),
        Role::RawPressure | Role::PasteurizedPressure | Role::DifferentialPressure => {
            Some(Rule::DIFFERENTIAL)
        }
        Role::FlowRate => Some(Rule::HOLDING_TIME),
        _ => None,
    }
}

impl Sample {
    pub(super) fn reading(&self, rule: Rule) -> Option<Exact> {
        if rule == Rule::TEMPERATURE { self.temperature } else { self.differential }
    }

    pub(super) fn limit(&self, rule: Rule) -> Exact {
        if rule == Rule::TEMPERATURE { self.limit.figure } else { self.differential_limit }
    }

    /// Whether another thermometer contradicts the reading of a rule.
    fn is_contradicted(&self, rule: Rule) -> bool {
        rule == Rule::TEMPERATURE && self.doubts.contradicted
    }

    /// Whether the recorder had to show the product's limit as well, and did not.
    fn is_unshown_by_recorder(&self, rule: Rule) -> bool {
        let shown = self.recorder.is_some_and(|one| one.value >= self.limit.recorder_figure);
        rule == Rule::TEMPERATURE && self.limit.judged_by_recorder && !shown
    }

    /// A short reading stays short, however doubtful; a doubt turns legal into unknown.
    pub(super) fn answer(&self, rule: Rule) -> Answer {
        if rule == Rule::HOLDING_TIME {
            return self.held;
        }
        let doubts = &self.doubts;
        match self.reading(rule) {
            None => Answer::Unknown,
            Some(reading) if reading < self.limit(rule) => Answer::Short,
            Some(_)
                if doubts.repeated
                    || doubts.frozen.contains(&rule)
                    || self.is_contradicted(rule)
                    || self.is_unshown_by_recorder(rule) =>
            {
                Answer::Unknown
            }
            Some(_) => Answer::Legal,
        }
    }

    pub(super) fn answers(&self) -> Answers {
        NAMED.map(|rule| self.answer(rule))
    }

    pub(super) fn all_legal(&self) -> bool {
        self.answers() == [Answer::Legal; NAMED.len()]
    }

    /// Why a forward or travelling sample can't be verified: what makes each rule unknown, where none
    /// is short.
    pub(super) fn causes(&self) -> BTreeSet<Cause> {
        let mut causes = BTreeSet::new();
        if !self.judged() || self.answers().contains(&Answer::Short) {
            return causes;
        }
        for rule in READINGS {
            if self.answer(rule) != Answer::Unknown {
                continue;
            }
            let invalid = self.reading(rule).is_none();
            // A reading that is not there is not contradicted, frozen or repeated. Of a pair of
            // pressures one may be invalid and the other frozen: both are why.
            for (holds, cause) in [
                (invalid, Cause::InvalidReading),
                (self.is_contradicted(rule), Cause::Contradicted),
                (self.is_unshown_by_recorder(rule) && !invalid, Cause::RecorderShort),
                (self.doubts.frozen.contains(&rule), Cause::Frozen),
                (self.doubts.repeated && !invalid, Cause::Repeated),
            ] {
                if holds {
                    causes.insert(cause);
                }
            }
        }
        if self.held == Answer::Unknown {
            causes.insert(Cause::FlowUnusable);
        }
        causes
    }
}

impl Day<'_> {
    /// What of a run was furthest below the limit of a rule.
    pub(super) fn furthest(&self, rule: Rule, run: Run) -> Option<Worst> {
        match rule {
            rule if rule == Rule::HOLDING_TIME => self.shortest(run),
            rule if READINGS.contains(&rule) => self.worst(rule, run),
            _ => None,
        }
    }
}
