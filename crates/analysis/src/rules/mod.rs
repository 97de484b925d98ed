//! The rules: one file each, and the one list of them that everything else walks.
//!
//! A rule's file holds its definition, its verdict on every sample and its finder. The order of
//! [`Rule::ALL`] is that of verdicts and reports. `unverifiable` stands last: what no rule could
//! decide.

mod compared;
mod differential;
mod holding_time;
mod temperature;
mod unverifiable;

use crate::context::Context;
use crate::exception::Exception;
use crate::limits::{DifferentialLimit, LimitSpan};
use crate::residence::Residence;
pub use crate::rule::{Rule, RuleDefinition};
use crate::verdicts::{MOST_RULES, Verdicts};
use plant::Plant;
use trace::RunRecord;

impl Rule {
    /// The holding temperature was below the product's limit.
    pub const TEMPERATURE: Self = Self::new(0, &temperature::DEFINITION);
    /// Pasteurized minus raw was below the limit.
    pub const DIFFERENTIAL: Self = Self::new(1, &differential::DEFINITION);
    /// The residence time was below the product's minimum.
    pub const HOLDING_TIME: Self = Self::new(2, &holding_time::DEFINITION);
    /// The record does not show whether the flow was safe.
    pub const UNVERIFIABLE: Self = Self::new(3, &unverifiable::DEFINITION);

    /// All rules, in order.
    pub const ALL: &[Self] =
        &[Self::TEMPERATURE, Self::DIFFERENTIAL, Self::HOLDING_TIME, Self::UNVERIFIABLE];
}

const _: () = assert!(Rule::ALL.len() <= MOST_RULES);

/// What each rule says of each sample, whatever the device's position. The residence time that one
/// of them works out is kept.
pub(crate) fn judge(
    verdicts: &mut Verdicts<'_>,
    record: &RunRecord,
    plant: &Plant,
    spans: &[LimitSpan],
    floor: DifferentialLimit,
) -> Option<Residence> {
    temperature::judge(Rule::TEMPERATURE, verdicts, record, spans);
    differential::judge(Rule::DIFFERENTIAL, verdicts, record, floor);
    holding_time::judge(Rule::HOLDING_TIME, verdicts, record, plant, spans)
}

/// The exceptions of all rules, in order of their estimates' starts, then of their rules.
pub(crate) fn find(context: &Context<'_>) -> Vec<Exception> {
    let mut found = temperature::find(Rule::TEMPERATURE, context);
    found.extend(differential::find(Rule::DIFFERENTIAL, context));
    found.extend(holding_time::find(Rule::HOLDING_TIME, context));
    found.extend(unverifiable::find(Rule::UNVERIFIABLE, context));
    found.sort_by(|one, other| {
        let key = |one: &Exception| (one.estimate.start(), one.rule, one.samples);
        key(one)
            .cmp(&key(other))
            .then_with(|| one.estimate.end().cmp(&other.estimate.end()))
            .then_with(|| one.causes.cmp(&other.causes))
    });
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_and_codes_are_unique() {
        for of in [Rule::key as fn(Rule) -> &'static str, Rule::code, Rule::name] {
            let mut words: Vec<_> = Rule::ALL.iter().copied().map(of).collect();
            words.sort_unstable();
            words.dedup();
            assert_eq!(words.len(), Rule::ALL.len(), "{words:?}");
        }
    }

    #[test]
    fn every_rule_says_what_it_asks_why_what_to_do_and_whence() {
        for rule in Rule::ALL {
            let RuleDefinition { asks, why, what_to_do, source, .. } = rule.definition();
            for text in [asks, why, what_to_do] {
                assert!(text.ends_with('.') && text.matches(". ").count() <= 1, "{rule:?}: {text}");
            }
            assert!(!source.is_empty() && !source.ends_with('.'), "{rule:?}: {source}");
        }
    }

    #[test]
    fn the_last_rule_is_what_no_other_could_decide() {
        assert!(Rule::ALL.iter().enumerate().all(|(place, rule)| rule.place() == place));
        assert_eq!(Rule::ALL.last(), Some(&Rule::UNVERIFIABLE));
    }
}
