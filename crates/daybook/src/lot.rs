//! Everything that touches one lot: its runs, the exceptions, what of it passed while they lasted,
//! what was decided, the holes beside its records, and the records that say so.

use crate::day::{Amount, ExceptionRow, RunRow};
use crate::entry::Entry;
use crate::json::{hole_closed, resolution, signature};
use review::HoleBefore;
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::path::Path;

/// A lot over all records.
#[derive(Debug, Clone, PartialEq)]
pub struct LotTrace<'a> {
    /// The lot, as it was asked for.
    pub lot: String,
    /// The records that name it, in order.
    pub records: Vec<&'a Entry>,
    /// Its runs with their records.
    pub runs: Vec<(&'a Entry, &'a RunRow)>,
    /// The exceptions that touched it, with their records.
    pub exceptions: Vec<(&'a Entry, &'a ExceptionRow)>,
    /// What of it passed while exceptions lasted, a record each.
    pub passed: Vec<(&'a Entry, &'a Amount)>,
    /// The holes before and after its records, each with the later record: it may have run in them.
    pub holes: Vec<(&'a Entry, &'a HoleBefore)>,
    /// Records that can't be read, so that they may hold it.
    pub unreadable: Vec<&'a Entry>,
    /// How many records name no lot at all.
    pub unnamed: usize,
}

/// Whether a name in a record is the one that was asked for: letter by letter, but for spaces around
/// it and the case, so that a slip of the keyboard hides nothing.
pub(crate) fn is_same(name: &str, wanted: &str) -> bool {
    name.trim().to_lowercase() == wanted.trim().to_lowercase()
}

/// Traces a lot, its name compared letter by letter but for spaces around it and the case.
pub fn lot<'a>(entries: &'a [Entry], wanted: &str) -> LotTrace<'a> {
    let wanted = wanted.trim();
    let is_it = |lot: &str| is_same(lot, wanted);
    let mut found = LotTrace {
        lot: wanted.to_owned(),
        records: Vec::new(),
        runs: Vec::new(),
        exceptions: Vec::new(),
        passed: Vec::new(),
        holes: Vec::new(),
        unreadable: Vec::new(),
        unnamed: 0,
    };
    for entry in entries {
        let Ok(day) = &entry.day else {
            found.unreadable.push(entry);
            continue;
        };
        if day.runs.iter().all(|run| run.lot.is_empty()) {
            found.unnamed += 1;
        }
        let before = found.runs.len() + found.exceptions.len();
        found.runs.extend(day.runs.iter().filter(|run| is_it(&run.lot)).map(|run| (entry, run)));
        for one in &day.exceptions {
            if one.lots.iter().any(|lot| is_it(lot)) {
                found.exceptions.push((entry, one));
            }
        }
        let lots = day.lots.iter().filter(|(lot, _)| is_it(lot));
        found.passed.extend(lots.map(|(_, amount)| (entry, amount)));
        if found.runs.len() + found.exceptions.len() > before {
            found.records.push(entry);
        }
    }
    let naming: BTreeSet<&Path> = found.records.iter().map(|entry| &*entry.record).collect();
    for entry in entries {
        let (Some(before), Some(hole)) = (&entry.before, entry.hole()) else { continue };
        if naming.contains(&*entry.record) || naming.contains(&*before.record) {
            found.holes.push((entry, hole));
        }
    }
    found
}

impl LotTrace<'_> {
    /// All of it for a program.
    pub fn json(&self) -> Value {
        let runs = self.runs.iter().map(|(entry, run)| json!({"record": entry.name(), "run": run}));
        let exceptions = self.exceptions.iter().map(|(entry, one)| {
            let decision = resolution(entry.review.resolution(&one.id));
            json!({"record": entry.name(), "exception": one, "decision": decision})
        });
        let passed = self
            .passed
            .iter()
            .map(|(entry, amount)| json!({"record": entry.name(), "passed": amount}));
        let holes = self.holes.iter().map(|(entry, hole)| {
            json!({"record": entry.name(), "hole": hole, "closed": hole_closed(entry)})
        });
        let records = self.records.iter().map(|entry| {
            json!({
                "record": entry.name(),
                "date": entry.date(),
                "unit": entry.unit(),
                "stage": entry.review.stage.key(),
                "signatures":
                    entry.review.signatures().iter().map(signature).collect::<Vec<_>>(),
                "faults": entry.review.faults,
            })
        });
        json!({
            "schema": 2,
            "caution": case::CAUTION,
            "lot": self.lot,
            "records": records.collect::<Vec<_>>(),
            "runs": runs.collect::<Vec<_>>(),
            "exceptions": exceptions.collect::<Vec<_>>(),
            "passed": passed.collect::<Vec<_>>(),
            "holes_between_records": holes.collect::<Vec<_>>(),
            "records_that_cannot_be_read":
                self.unreadable.iter().map(|entry| entry.name()).collect::<Vec<_>>(),
            "records_that_name_no_lot": self.unnamed,
        })
    }
}
