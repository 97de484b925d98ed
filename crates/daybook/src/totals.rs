//! The sums over the records of a range.

use crate::range::{Counted, HoleRow};
use chrono::NaiveDate;
use review::{Meaning, ProductHold, Settlement, Stage};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};
use trace::median;

/// How often, and for how long.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub struct Count {
    /// How many.
    pub count: usize,
    /// The sum of their estimates, in milliseconds.
    pub duration_ms: i64,
    /// The sum of what each can have lasted at most, in milliseconds.
    pub at_most_ms: i64,
}

/// The product that passed while exceptions lasted, in one unit.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Passed {
    /// The best guess.
    pub value: f64,
    /// It cannot have been more, unknown volumes aside.
    pub at_most: f64,
    /// How many volumes are unknown, and so not in the sums.
    pub unknown: usize,
}

/// How long something took after the end of the record.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Waited {
    /// Of how many records it is known.
    pub records: usize,
    /// The median, in hours; 0 without records.
    pub median_hours: f64,
    /// The longest, in hours; 0 without records.
    pub longest_hours: f64,
}

/// The signatures of a range.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub struct Signatures {
    /// All, superseded ones too.
    pub given: usize,
    /// Those that nothing has superseded.
    pub standing: usize,
    /// Those that do not hold.
    pub failing: usize,
}

/// The sums over the records of a range.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Totals {
    /// How many records.
    pub records: usize,
    /// How many of them can't be read.
    pub unreadable: usize,
    /// On how many dates there is a record.
    pub days: usize,
    /// On how many dates there was forward flow.
    pub days_produced: usize,
    /// How long the records last, in milliseconds.
    pub recorded_ms: i64,
    /// How long there was forward flow, in milliseconds.
    pub forward_ms: i64,
    /// How long it was not within limits or is not verifiable, in milliseconds, whatever the
    /// product.
    pub exception_ms: i64,
    /// The product in forward flow, by the symbol of its unit.
    pub volume: BTreeMap<String, f64>,
    /// In how many records the volume is too small, as readings of the meter or the meter itself
    /// were missing.
    pub volume_incomplete: usize,
    /// The product that passed while exceptions lasted, by the symbol of its unit.
    pub passed: BTreeMap<String, Passed>,
    /// How many exceptions, those outside production not counted.
    pub exceptions: usize,
    /// How many of them are resolved.
    pub resolved: usize,
    /// How many exceptions lie wholly in cleaning.
    pub outside_production: usize,
    /// In how many cleanings.
    pub cleanings: usize,
    /// How many observations are to be closed one by one.
    pub to_close: usize,
    /// How many of them are closed.
    pub closed: usize,
    /// The lots to hold: of exceptions that are not resolved, or whose product is held.
    pub hold_lots: Vec<String>,
    /// The tanks to hold, likewise.
    pub hold_tanks: Vec<String>,
    /// How many such exceptions name neither lot nor tank.
    pub hold_unnamed: usize,
    /// How many holes between records are to be closed.
    pub holes: usize,
    /// How many of them are closed.
    pub holes_closed: usize,
    /// How long they last, in milliseconds.
    pub holes_ms: i64,
    /// By the key of the rule.
    pub by_rule: BTreeMap<String, Count>,
    /// By the cause that was decided; blank for those that are not resolved.
    pub by_cause: BTreeMap<String, Count>,
    /// By the disposition that was decided; blank for those that are not resolved.
    pub by_disposition: BTreeMap<String, Count>,
    /// Records by the stage of their review.
    pub by_stage: BTreeMap<&'static str, usize>,
    /// Records still to be reviewed after their last day for it.
    pub overdue: usize,
    /// From the end of a record to its review.
    pub to_review: Waited,
    /// From the end of a record to its approval.
    pub to_sign: Waited,
    /// How many items the plants' lists ask for.
    pub required: usize,
    /// How many of them neither the records hold nor people entered.
    pub missing: usize,
    /// The signatures.
    pub signatures: Signatures,
}

/// A count as a column's number.
pub(crate) fn count(count: usize) -> i64 {
    i64::try_from(count).unwrap_or(i64::MAX)
}

/// What of a record is still to hold, a word of two exceptions twice.
fn add_to_hold(counted: &Counted<'_>, totals: &mut Totals) {
    for one in counted.in_production() {
        let state = counted.entry.review.state.as_ref();
        let is_open = counted.entry.review.resolution(&one.id).is_none();
        let is_held =
            state.and_then(|state| state.hold_of(&one.id)).is_some_and(ProductHold::is_open);
        if !is_open && !is_held {
            continue;
        }
        for (from, to) in [(&one.lots, &mut totals.hold_lots), (&one.tanks, &mut totals.hold_tanks)]
        {
            to.extend_from_slice(from);
        }
        totals.hold_unnamed += usize::from(one.lots.is_empty() && one.tanks.is_empty());
    }
}

/// Leaves the first of equal words.
fn once(words: &mut Vec<String>) {
    let mut seen = BTreeSet::new();
    words.retain(|word| seen.insert(word.clone()));
}

/// The sums.
pub(crate) fn total(counted: &[Counted<'_>], holes: &[HoleRow<'_>], today: NaiveDate) -> Totals {
    let mut totals = Totals { records: counted.len(), ..Totals::default() };
    let (mut dates, mut produced) = (BTreeSet::new(), BTreeSet::new());
    for stage in Stage::ALL {
        totals.by_stage.insert(stage.key(), 0);
    }
    for one in counted {
        let review = &one.entry.review;
        dates.extend(one.entry.date());
        *totals.by_stage.entry(review.stage.key()).or_default() += 1;
        totals.overdue += usize::from(one.entry.due().is_some_and(|due| due < today));
        for signed in review.signatures() {
            totals.signatures.given += 1;
            totals.signatures.standing += usize::from(signed.stands());
            totals.signatures.failing += usize::from(!signed.verdict.holds());
        }
        totals.volume_incomplete += usize::from(one.incomplete);
        let Some(day) = one.day else {
            totals.unreadable += 1;
            continue;
        };
        if one.forward_ms > 0 {
            produced.insert(day.date);
        }
        totals.recorded_ms += day.recorded_ms;
        totals.forward_ms += one.forward_ms;
        totals.exception_ms += day.exception_ms;
        totals.required += day.required;
        totals.missing += one.still_missing(day);
        for (unit, volume) in &one.forward {
            *totals.volume.entry(unit.clone()).or_default() += volume;
        }
        for amount in &one.passed {
            let sum = totals.passed.entry(amount.unit.clone()).or_default();
            match (amount.value, amount.at_most) {
                (Some(value), Some(at_most)) => {
                    sum.value += value;
                    sum.at_most += at_most;
                }
                _ => sum.unknown += 1,
            }
        }
        totals.exceptions += one.in_production().count();
        totals.resolved += one.resolved();
        let (outside, cleanings) = one.outside_production();
        totals.outside_production += outside;
        totals.cleanings += cleanings;
        let (closed, to_close) = one.entry.closed();
        totals.to_close += to_close;
        totals.closed += closed;
        add_to_hold(one, &mut totals);
        for exception in one.in_production() {
            let (cause, disposition) = review
                .resolution(&exception.id)
                .map(|(Settlement { cause, disposition, .. }, _)| {
                    (cause.clone(), disposition.clone())
                })
                .unwrap_or_default();
            for (by, key) in [
                (&mut totals.by_rule, exception.rule.clone()),
                (&mut totals.by_cause, cause),
                (&mut totals.by_disposition, disposition),
            ] {
                let sum = by.entry(key).or_default();
                sum.count += 1;
                sum.duration_ms += exception.duration_ms;
                sum.at_most_ms += exception.at_most_ms;
            }
        }
    }
    once(&mut totals.hold_lots);
    once(&mut totals.hold_tanks);
    totals.holes = holes.len();
    totals.holes_closed = holes.iter().filter(|one| one.closing().is_some()).count();
    totals.holes_ms = holes.iter().map(|one| one.hole.length_ms).sum();
    totals.days = dates.len();
    totals.days_produced = produced.len();
    totals.to_review = waited(counted.iter().map(|one| one.hours_to(Meaning::Reviewed)));
    totals.to_sign = waited(counted.iter().map(|one| one.hours_to(Meaning::Approved)));
    totals
}

fn waited(hours: impl Iterator<Item = Option<f64>>) -> Waited {
    let mut hours: Vec<f64> = hours.flatten().collect();
    let Some(median_hours) = median::upper(&mut hours, f64::total_cmp) else {
        return Waited::default();
    };
    let longest_hours = hours.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    Waited { records: hours.len(), median_hours, longest_hours }
}
