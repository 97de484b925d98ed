//! What is asked for of many records, and what of each counts.

use crate::day::{Amount, Day, ExceptionRow, RunRow};
use crate::entry::Entry;
use crate::lot::is_same;
use chrono::{DateTime, NaiveDate};
use review::{HoleBefore, Made, Meaning};
use std::collections::{BTreeMap, BTreeSet};

/// What is asked for; what is `None` is not narrowed down.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Range {
    /// The first date.
    pub from: Option<NaiveDate>,
    /// The last date.
    pub to: Option<NaiveDate>,
    /// The pasteurizer.
    pub unit: Option<String>,
    /// The product.
    pub product: Option<String>,
    /// The lot.
    pub lot: Option<String>,
}

impl Range {
    /// Whether a record falls into it. One that can't be read is only left out by its date, and one
    /// without a date never: it might hold anything.
    pub(crate) fn holds(&self, entry: &Entry) -> bool {
        let in_time = entry.date().is_none_or(|date| {
            self.from.is_none_or(|from| from <= date) && self.to.is_none_or(|to| date <= to)
        });
        let unit = entry.unit();
        let of_unit =
            unit.is_empty() || self.unit.as_ref().is_none_or(|wanted| is_same(unit, wanted));
        let of_product = entry.day.as_ref().map_or(true, |day| {
            self.is_whole()
                || day.runs.iter().any(|run| self.takes_run(run))
                || day.exceptions.iter().any(|one| self.takes_exception(one))
        });
        in_time && of_unit && of_product
    }

    /// Whether all of a record counts, whatever its products and lots.
    const fn is_whole(&self) -> bool {
        self.product.is_none() && self.lot.is_none()
    }

    pub(crate) fn takes_run(&self, run: &RunRow) -> bool {
        self.product.as_ref().is_none_or(|product| is_same(&run.product, product))
            && self.lot.as_ref().is_none_or(|lot| is_same(&run.lot, lot))
    }

    /// Whether a product is asked for and the record names none, or a lot and it names none.
    pub(crate) fn can_not_be_told(&self, day: &Day) -> bool {
        (self.product.is_some() && day.runs.iter().all(|run| run.product.is_empty()))
            || (self.lot.is_some() && day.runs.iter().all(|run| run.lot.is_empty()))
    }

    /// Whether an exception touched the product and the lot.
    fn takes_exception(&self, one: &ExceptionRow) -> bool {
        let any = |names: &[String], wanted: &str| names.iter().any(|name| is_same(name, wanted));
        self.product.as_ref().is_none_or(|product| any(&one.products, product))
            && self.lot.as_ref().is_none_or(|lot| any(&one.lots, lot))
    }
}

/// What of one record counts in a range.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Counted<'a> {
    pub entry: &'a Entry,
    pub day: Option<&'a Day>,
    pub forward_ms: i64,
    /// By the symbol of the unit.
    pub forward: BTreeMap<String, f64>,
    /// Whether readings of the meter were missing, or there was none.
    pub incomplete: bool,
    pub passed: Vec<Amount>,
    pub exceptions: Vec<&'a ExceptionRow>,
}

impl<'a> Counted<'a> {
    /// The pasteurizer; `None` for a record that can't be read and has no journal.
    pub fn unit(&self) -> Option<String> {
        Some(self.entry.unit().to_owned()).filter(|unit| !unit.is_empty())
    }

    pub fn of(entry: &'a Entry, range: &Range) -> Self {
        let Ok(day) = &entry.day else {
            return Self {
                entry,
                day: None,
                forward_ms: 0,
                forward: BTreeMap::new(),
                incomplete: true,
                passed: Vec::new(),
                exceptions: Vec::new(),
            };
        };
        let runs = || day.runs.iter().filter(|run| range.takes_run(run));
        let exceptions: Vec<&ExceptionRow> =
            day.exceptions.iter().filter(|one| range.takes_exception(one)).collect();
        let mut forward = BTreeMap::new();
        for run in runs() {
            if let Some(volume) = run.forward {
                *forward.entry(run.unit.clone()).or_insert(0.0) += volume;
            }
        }
        // A record may write the lot in more than one way.
        let of_lot: Vec<Amount> = range.lot.as_ref().map_or_else(Vec::new, |wanted| {
            let lots = day.lots.iter().filter(|(lot, _)| is_same(lot, wanted));
            lots.map(|(_, amount)| amount.clone()).collect()
        });
        let passed = if exceptions.is_empty() {
            Vec::new()
        } else if range.is_whole() {
            // Each litre once, as the audit reckons it.
            vec![day.passed.clone()]
        } else if !of_lot.is_empty() {
            of_lot
        } else {
            // Exceptions may overlap, so this may count a litre twice, never less than once.
            exceptions.iter().map(|one| one.volume.clone()).collect()
        };
        Self {
            entry,
            day: Some(day),
            forward_ms: if range.is_whole() {
                day.forward_ms
            } else {
                runs().map(|run| run.forward_ms).sum()
            },
            incomplete: runs().any(|run| run.incomplete || run.forward.is_none())
                || (day.runs.is_empty() && day.forward_ms > 0),
            forward,
            passed,
            exceptions,
        }
    }
}

impl Counted<'_> {
    /// The exceptions that count and lie in production.
    pub fn in_production(&self) -> impl Iterator<Item = &ExceptionRow> {
        self.exceptions.iter().copied().filter(|one| !one.outside_production)
    }

    /// How many of the exceptions in production that count are resolved.
    pub fn resolved(&self) -> usize {
        let review = &self.entry.review;
        self.in_production().filter(|one| review.resolution(&one.id).is_some()).count()
    }

    /// How many of the exceptions that count lie wholly in cleaning, and in how many cleanings.
    pub fn outside_production(&self) -> (usize, usize) {
        let outside = self.exceptions.iter().filter(|one| one.outside_production);
        let cleanings: BTreeSet<Option<usize>> = outside.clone().map(|one| one.cleaning).collect();
        (outside.count(), cleanings.len())
    }

    /// How many items of the plant's list neither the record holds nor somebody entered.
    pub fn still_missing(&self, day: &Day) -> usize {
        let state = self.entry.review.state.as_ref();
        let entered = |item: &&String| state.is_some_and(|state| state.entered(item).is_some());
        day.missing.iter().filter(|item| !entered(item)).count()
    }

    /// The hours from the record's end to when standing signatures of a meaning covered it.
    pub fn hours_to(&self, meaning: Meaning) -> Option<f64> {
        let end = DateTime::parse_from_rfc3339(&self.day?.subject.end).ok()?;
        let at = self.entry.covered_at(meaning)?;
        let waited = at.unix_milliseconds() - end.timestamp_millis();
        Some(waited as f64 / 3_600_000.0)
    }
}

/// A hole between two records of one pasteurizer, with product perhaps going forward at an end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HoleRow<'a> {
    /// The later record: in its review the hole is closed.
    pub entry: &'a Entry,
    /// The hole.
    pub hole: &'a HoleBefore,
}

impl<'a> HoleRow<'a> {
    pub(crate) fn of(entry: &'a Entry) -> Option<Self> {
        Some(Self { entry, hole: entry.hole()? })
    }

    /// How it was closed; `None` while it is open.
    pub fn closing(&self) -> Option<&'a Made> {
        self.entry.hole_closed()
    }

    /// Whether a range touches it: it counts to every date from the end of the one record to the
    /// begin of the other.
    pub(crate) fn is_in(&self, range: &Range) -> bool {
        let date =
            |stamp: &str| DateTime::parse_from_rfc3339(stamp).ok().map(|stamp| stamp.date_naive());
        let unit = self.entry.unit();
        let of_unit = range.unit.as_ref().is_none_or(|wanted| is_same(unit, wanted));
        let begins = date(&self.hole.from);
        let ends = date(&self.hole.to);
        let in_time = range.from.is_none_or(|from| ends.is_none_or(|ends| from <= ends))
            && range.to.is_none_or(|to| begins.is_none_or(|begins| begins <= to));
        of_unit && in_time
    }

    /// The hole and whether it is closed, in a line.
    pub fn in_words(&self) -> String {
        let Self { entry, hole } = self;
        let standing = match self.closing() {
            Some(Made { value, mark, .. }) => {
                format!("closed by {}: {value}", entry.review.name_of(&mark.by))
            }
            None => format!("not closed; give the reason in the review of {}", entry.name()),
        };
        format!("{}: {}; {standing}", entry.unit(), hole.in_words())
    }
}
