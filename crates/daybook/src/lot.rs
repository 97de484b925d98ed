//! Everything that touches one lot: its runs, the exceptions, what of it passed while they lasted,
//! what was decided, the holes beside its records, and the records that say so.

use crate::day::{Amount, ExceptionRow, RunRow};
use crate::entry::Entry;
use crate::json::{hole_closed, resolution, signature};
use chrono::{DateTime, FixedOffset};
use review::HoleBefore;
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::path::Path;
use trace::{Instant, Interval};

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
    key(name) == key(wanted)
}

/// What makes two names one.
pub(crate) fn key(name: &str) -> String {
    name.trim().to_lowercase()
}

/// The instant that a row of a day states.
pub(crate) fn at(stated: &str) -> Option<DateTime<FixedOffset>> {
    DateTime::parse_from_rfc3339(stated).ok()
}

/// A stated time without its seconds and its offset.
pub fn minute(stated: &str) -> String {
    at(stated).map_or_else(|| stated.to_owned(), |at| at.format("%Y-%m-%d %H:%M").to_string())
}

/// A run of a lot or an exception that touched it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LotEvent<'a> {
    /// Its record.
    pub entry: &'a Entry,
    /// What it is.
    pub what: LotEventKind<'a>,
}

/// What there is of a lot in a record.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum LotEventKind<'a> {
    /// A run.
    Run(&'a RunRow),
    /// An exception.
    Exception(&'a ExceptionRow),
}

impl LotEvent<'_> {
    /// When it begins and ends, RFC 3339.
    pub fn span(&self) -> (&str, &str) {
        match self.what {
            LotEventKind::Run(run) => (&run.start, &run.end),
            LotEventKind::Exception(one) => (&one.start, &one.end),
        }
    }

    /// The same as instants.
    pub fn interval(&self) -> Option<Interval> {
        let (start, end) = self.span();
        let instant =
            |stated| at(stated).map(|at| Instant::from_unix_milliseconds(at.timestamp_millis()));
        Some(Interval::between(instant(start)?, instant(end)?))
    }

    /// What it is, in words.
    pub fn name(&self) -> String {
        match self.what {
            LotEventKind::Run(run) if run.product.is_empty() => "run".to_owned(),
            LotEventKind::Run(run) => format!("run of {}", run.product),
            LotEventKind::Exception(one) => format!("exception: {}", one.rule_name()),
        }
    }

    /// The tanks that took what went forward.
    pub fn tanks(&self) -> String {
        match self.what {
            LotEventKind::Run(run) => run.tank.clone(),
            LotEventKind::Exception(one) => one.tanks.join(", "),
        }
    }

    /// What went forward in the run, or passed while the exception lasted.
    pub fn volume(&self) -> String {
        match self.what {
            LotEventKind::Run(run) => run.volume(),
            LotEventKind::Exception(one) => one.volume.words(),
        }
    }

    /// What became of the product of an exception; blank for a run.
    pub fn disposition(&self) -> String {
        match self.what {
            LotEventKind::Run(_) => String::new(),
            LotEventKind::Exception(one) => match self.entry.review.resolution(&one.id) {
                Some((made, _)) => made.disposition_in_words(),
                None => "not resolved".to_owned(),
            },
        }
    }
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

impl<'a> LotTrace<'a> {
    /// Its runs and exceptions on one line of time.
    pub fn events(&self) -> Vec<LotEvent<'a>> {
        let runs =
            self.runs.iter().map(|&(entry, run)| LotEvent { entry, what: LotEventKind::Run(run) });
        let exceptions = self
            .exceptions
            .iter()
            .map(|&(entry, one)| LotEvent { entry, what: LotEventKind::Exception(one) });
        let mut events: Vec<LotEvent<'a>> = runs.chain(exceptions).collect();
        events.sort_by_key(|event| at(event.span().0));
        events
    }
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
