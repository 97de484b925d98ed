//! The rules: one file each, and the one list of them that everything else walks.
//!
//! A rule's file holds its key, its name, its letter on bands and its finder. The order of
//! [`Rule::ALL`] is that of verdicts and reports. `unverifiable` stands last: what no rule could
//! decide.

mod compared;
mod differential;
mod holding_time;
mod temperature;
mod unverifiable;

use crate::context::Context;
use crate::exception::Exception;

/// What there is to say of a rule.
#[derive(Debug, PartialEq, Eq)]
pub struct RuleDefinition {
    /// The key in JSON and CSV.
    pub key: &'static str,
    /// The name for a person, in lower case.
    pub name: &'static str,
    /// The letters on bands, badges and paper.
    pub code: &'static str,
    /// Where the method page defines it.
    pub section: &'static str,
    /// What it asks for, in one sentence.
    pub asks: &'static str,
}

macro_rules! rules {
    ($($(#[$doc:meta])* $rule:ident = $module:ident;)*) => {
        /// The rule that an exception is one of, in the order of reports.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Rule { $($(#[$doc])* $rule,)* }

        impl Rule {
            /// All rules, in order.
            pub const ALL: &[Self] = &[$(Self::$rule),*];

            /// What there is to say of it.
            pub const fn definition(self) -> &'static RuleDefinition {
                match self { $(Self::$rule => &$module::DEFINITION,)* }
            }

            fn find(self, context: &Context<'_>) -> Vec<Exception> {
                match self { $(Self::$rule => $module::find(context),)* }
            }
        }
    };
}

rules! {
    /// The holding temperature was below the product's limit.
    Temperature = temperature;
    /// Pasteurized minus raw was below the limit.
    Differential = differential;
    /// The residence time was below the product's minimum.
    HoldingTime = holding_time;
    /// The record does not show whether the flow was safe.
    Unverifiable = unverifiable;
}

impl Rule {
    /// The key in JSON and CSV.
    pub const fn key(self) -> &'static str {
        self.definition().key
    }

    /// The name for a person, in lower case.
    pub const fn name(self) -> &'static str {
        self.definition().name
    }

    /// The letters on bands, badges and paper.
    pub const fn code(self) -> &'static str {
        self.definition().code
    }
}

/// The exceptions of all rules, in order of their estimates' starts, then of their rules.
pub(crate) fn find(context: &Context<'_>) -> Vec<Exception> {
    let mut found: Vec<Exception> = Rule::ALL.iter().flat_map(|rule| rule.find(context)).collect();
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
            let mut words: Vec<_> = Rule::ALL.iter().map(|&rule| of(rule)).collect();
            words.sort_unstable();
            words.dedup();
            assert_eq!(words.len(), Rule::ALL.len(), "{words:?}");
        }
    }
}
