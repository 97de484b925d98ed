//! How records of one pasteurizer follow one another: what belongs together, and the holes between
//! them (method, many records).
//!
//! Every record is put beside the one before it, whatever their dates. Where product may have gone
//! forward at an end of the hole between two, nobody knows what passed in it: it is told, and closed
//! with a reason in the review of the later record.

use crate::before::{Before, Follows};
use crate::day::Day;
use crate::entry::Entry;
use chrono::NaiveDate;
use review::HoleBefore;
use std::collections::BTreeMap;

/// The end of all that was recorded of one pasteurizer so far.
struct End<'a> {
    entry: &'a Entry,
    day: &'a Day,
}

impl<'a> End<'a> {
    /// Of two the later end; of equal ends the one that is not diverted.
    fn later(self, entry: &'a Entry, day: &'a Day) -> Self {
        let rank = |day: &Day| (day.ends_ms.1, day.end_positions.1 != "divert");
        if rank(self.day) < rank(day) { Self { entry, day } } else { self }
    }
}

/// Puts every record beside the one before it of the same pasteurizer: the one that ends last among
/// those that begin no later.
pub fn join(entries: &mut [Entry]) {
    let mut found: Vec<Option<Before>> = entries.iter().map(|_| None).collect();
    for indices in by_pasteurizer(entries).into_values() {
        let mut end: Option<End<'_>> = None;
        for index in indices {
            let Some((entry, Ok(day))) = entries.get(index).map(|entry| (entry, &entry.day)) else {
                continue;
            };
            end = Some(match end {
                None => End { entry, day },
                Some(end) => {
                    if let Some(found) = found.get_mut(index) {
                        *found = Some(before(&end, day));
                    }
                    end.later(entry, day)
                }
            });
        }
    }
    for (entry, before) in entries.iter_mut().zip(found) {
        entry.before = before;
    }
}

/// The records that can be read by pasteurizer, each in order of time. A name is the same with
/// other letters in capitals, or with blanks around it.
fn by_pasteurizer(entries: &[Entry]) -> BTreeMap<String, Vec<usize>> {
    let mut units: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    for (index, entry) in entries.iter().enumerate().filter(|(_, entry)| entry.day.is_ok()) {
        units.entry(entry.unit().trim().to_lowercase()).or_default().push(index);
    }
    for indices in units.values_mut() {
        // Of records that begin at once the first is put beside the one before: one that is not
        // diverted, if there is one.
        indices.sort_by_key(|&index| {
            let (day, record) =
                entries.get(index).map(|one| (one.day.as_ref().ok(), &one.record)).unzip();
            let begin = day
                .flatten()
                .map(|day| (day.ends_ms.0, day.end_positions.0 == "divert", day.ends_ms.1));
            (begin, record)
        });
    }
    units
}

fn before(end: &End<'_>, day: &Day) -> Before {
    let after = day.ends_ms.0.saturating_sub(end.day.ends_ms.1);
    // The shorter of the two limits: neither record would have let a longer step pass.
    let limit = day.gap_limit_ms.min(end.day.gap_limit_ms);
    let follows = if after < 0 {
        let until = day.ends_ms.1.min(end.day.ends_ms.1);
        Follows::Overlaps { by_ms: until.saturating_sub(day.ends_ms.0) }
    } else if after <= limit {
        Follows::Continues { after_ms: after }
    } else {
        Follows::Hole {
            hole: HoleBefore {
                record: end.entry.name(),
                from: end.day.subject.end.clone(),
                position_before: end.day.end_positions.1.clone(),
                to: day.subject.start.clone(),
                position_after: day.end_positions.0.clone(),
                length_ms: after,
            },
        }
    };
    let same_date = end.day.date == day.date;
    Before { record: end.entry.record.clone(), name: end.entry.name(), same_date, follows }
}

/// What one pasteurizer made on one date: the records that begin on it, in order of time.
#[derive(Debug, Clone, PartialEq)]
pub struct ProductionDay<'a> {
    /// The date.
    pub date: NaiveDate,
    /// The pasteurizer.
    pub unit: String,
    /// The records; at least one.
    pub records: Vec<&'a Entry>,
}

/// The production days of all records that can be read, in order of date and pasteurizer.
pub fn production_days<'a>(entries: impl Iterator<Item = &'a Entry>) -> Vec<ProductionDay<'a>> {
    let mut days: BTreeMap<(NaiveDate, String), Vec<&Entry>> = BTreeMap::new();
    for entry in entries {
        if let Ok(day) = &entry.day {
            let unit = entry.unit().trim().to_lowercase();
            days.entry((day.date, unit)).or_default().push(entry);
        }
    }
    let ends = |entry: &Entry| entry.day.as_ref().map(|day| day.ends_ms).ok();
    let days = days.into_iter().map(|((date, _), mut records)| {
        records.sort_by_key(|entry| (ends(entry), &entry.record));
        let unit = records.first().map_or_else(String::new, |entry| entry.unit().to_owned());
        ProductionDay { date, unit, records }
    });
    days.collect()
}
