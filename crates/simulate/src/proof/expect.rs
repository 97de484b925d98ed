//! What an audit must say of a day, in the keys of its JSON, written down from the method before
//! any program is asked.

use crate::truth::TruthRule;
use std::ops::RangeInclusive;
use trace::{Duration, Interval};

/// What the program must do with a day.
#[derive(Debug, Clone, PartialEq)]
pub enum Must {
    /// Refuse the input: exit status 2, nothing on standard output, and a complaint in which each
    /// of these texts stands.
    Refuse(&'static [&'static str]),
    /// Audit it.
    Audit(Box<Answer>),
}

/// What an audit must say.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Answer {
    /// The exit status (method, section 10).
    pub status: i32,
    /// Every exception belongs to the first of these that it fits; one that fits none is too much.
    pub exceptions: Vec<Expected>,
    /// What the outer intervals of exceptions, whatever their rule, must cover: above all the times
    /// when milk went forward that was not safe.
    pub covered: Vec<Interval>,
    /// The number of episodes.
    pub episodes: Option<usize>,
    /// The number of bundles of cleaning.
    pub cleanings: usize,
    /// Kinds of observation to close that must be there.
    pub close: &'static [&'static str],
    /// Kinds to close that may be there as well; any other is too much.
    pub perhaps_close: &'static [&'static str],
    /// Kinds to note that must be there.
    pub note: &'static [&'static str],
    /// Kinds of either rank that must not be there.
    pub silent: &'static [&'static str],
    /// Whether there is nothing at all to observe.
    pub nothing_observed: bool,
    /// A stretch in which no kind may be observed more than once.
    pub once_each: Option<Interval>,
    /// The lots to hold, all of them, where that matters.
    pub lots: Option<&'static [&'static str]>,
    /// The tanks to hold, all of them, where that matters.
    pub tanks: Option<&'static [&'static str]>,
    /// Texts that must stand in the sentence at the top, whatever their case.
    pub verdict: &'static [&'static str],
    /// Texts that must stand in the output for a person and in the JSON.
    pub says: &'static [&'static str],
    /// Texts that must stand nowhere.
    pub never_says: &'static [&'static str],
}

impl Answer {
    /// Exceptions, and with them the exit status 1.
    pub(super) fn with(exceptions: Vec<Expected>) -> Self {
        Self { status: 1, exceptions, ..Self::default() }
    }

    /// No exception, nothing to close, exit status 0.
    pub(super) fn quiet() -> Self {
        Self::default()
    }

    pub(super) fn close(mut self, kinds: &'static [&'static str]) -> Self {
        self.close = kinds;
        self
    }

    pub(super) fn perhaps_close(mut self, kinds: &'static [&'static str]) -> Self {
        self.perhaps_close = kinds;
        self
    }

    pub(super) fn note(mut self, kinds: &'static [&'static str]) -> Self {
        self.note = kinds;
        self
    }

    pub(super) fn silent(mut self, kinds: &'static [&'static str]) -> Self {
        self.silent = kinds;
        self
    }

    pub(super) fn covered(mut self, intervals: Vec<Interval>) -> Self {
        self.covered = intervals;
        self
    }

    pub(super) fn episodes(mut self, number: usize) -> Self {
        self.episodes = Some(number);
        self
    }

    pub(super) fn lots(mut self, lots: &'static [&'static str]) -> Self {
        self.lots = Some(lots);
        self
    }

    pub(super) fn tanks(mut self, tanks: &'static [&'static str]) -> Self {
        self.tanks = Some(tanks);
        self
    }

    pub(super) fn verdict(mut self, texts: &'static [&'static str]) -> Self {
        self.verdict = texts;
        self
    }

    pub(super) fn says(mut self, texts: &'static [&'static str]) -> Self {
        self.says = texts;
        self
    }

    pub(super) fn never_says(mut self, texts: &'static [&'static str]) -> Self {
        self.never_says = texts;
        self
    }

    pub(super) fn must(self) -> Must {
        Must::Audit(Box::new(self))
    }
}

/// One exception, or several that belong together.
#[derive(Debug, Clone, PartialEq)]
pub struct Expected {
    /// The rule.
    pub rule: TruthRule,
    /// The causes, all of which must be named.
    pub causes: &'static [&'static str],
    /// Causes that may be named as well.
    pub perhaps_causes: &'static [&'static str],
    /// No estimate may reach out of this.
    pub within: Interval,
    /// The outer intervals together must cover this.
    pub covers: Option<Interval>,
    /// How many.
    pub count: RangeInclusive<usize>,
    /// The estimates added up, with the error that is allowed.
    pub together: Option<(Duration, Duration)>,
    /// Whether they are marked `outside_production`.
    pub outside_production: bool,
    /// The limit that the worst reading is compared with, as printed.
    pub limit: Option<&'static str>,
    /// Rows without a place in time: how many, and how many of them show forward flow short of a
    /// limit.
    pub unplaced: Option<(u64, u64)>,
}

/// By how much an end may be off where nothing finer is said: a sample to either side, and the
/// second that noise may shift a crossing.
const SLACK: Duration = Duration::from_seconds(2);

impl Expected {
    /// One exception over an interval, to [`SLACK`] at either end.
    pub(super) fn one(rule: TruthRule, causes: &'static [&'static str], over: Interval) -> Self {
        let within = Interval::between(over.start() - SLACK, over.end() + SLACK);
        let covers = (over.duration() > SLACK.times(2))
            .then(|| Interval::between(over.start() + SLACK, over.end() - SLACK));
        Self { covers, count: 1..=1, ..Self::some(rule, causes, within, 1..=1) }
    }

    /// One of a named rule.
    pub(super) fn short(rule: TruthRule, over: Interval) -> Self {
        Self::one(rule, &["short"], over)
    }

    /// One of the rule `unverifiable`.
    pub(super) fn unknown(causes: &'static [&'static str], over: Interval) -> Self {
        Self::one(TruthRule::Unverifiable, causes, over)
    }

    /// Several within an interval.
    pub(super) const fn some(
        rule: TruthRule,
        causes: &'static [&'static str],
        within: Interval,
        count: RangeInclusive<usize>,
    ) -> Self {
        Self {
            rule,
            causes,
            perhaps_causes: &[],
            within,
            covers: None,
            count,
            together: None,
            outside_production: false,
            limit: None,
            unplaced: None,
        }
    }
}
