//! All lots that records name, so that one is found without knowing how it is written.

use crate::day::RunRow;
use crate::entry::Entry;
use crate::lot::{at, key, minute};
use case::{CAUTION, plural};
use serde::Serialize;
use serde_json::{Value, json};
use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};
use trace::Lines;

/// A lot over all records.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LotRow {
    /// As the first record writes it.
    pub lot: String,
    /// Its products, each once.
    pub products: BTreeSet<String>,
    /// The tanks that took it, each once.
    pub tanks: BTreeSet<String>,
    /// The pasteurizers.
    pub units: BTreeSet<String>,
    /// When its first run begins, or the first exception that names it.
    pub first: String,
    /// When its last run ends, or the last exception that names it.
    pub last: String,
    /// What went forward, by the symbol of the unit.
    pub forward: BTreeMap<String, f64>,
    /// Whether readings of the meter were missing.
    pub incomplete: bool,
    /// The exceptions that touched it.
    pub exceptions: usize,
    /// How many of those are not resolved.
    pub open: usize,
}

/// All lots, the latest first.
pub fn lots(entries: &[Entry]) -> Vec<LotRow> {
    let mut found: BTreeMap<String, LotRow> = BTreeMap::new();
    for entry in entries {
        let Ok(day) = &entry.day else { continue };
        for run in day.runs.iter().filter(|run| !run.lot.trim().is_empty()) {
            let row = of(&mut found, &run.lot, (&run.start, &run.end), entry);
            row.take(run);
        }
        for one in &day.exceptions {
            let is_open = entry.review.resolution(&one.id).is_none();
            for lot in one.lots.iter().filter(|lot| !lot.trim().is_empty()) {
                let row = of(&mut found, lot, (&one.start, &one.end), entry);
                row.exceptions += 1;
                row.open += usize::from(is_open);
                row.products.extend(one.products.iter().filter(|one| !one.is_empty()).cloned());
                row.tanks.extend(one.tanks.iter().filter(|one| !one.is_empty()).cloned());
            }
        }
    }
    let mut rows: Vec<LotRow> = found.into_values().collect();
    rows.sort_by_key(|row| (Reverse(at(&row.first)), row.lot.clone()));
    rows
}

/// The list for a person.
pub fn lots_text(lots: &[LotRow]) -> Lines {
    let mut text = Lines::new();
    if lots.is_empty() {
        text.line(format_args!("No record names a lot."));
    }
    for lot in lots {
        text.line(format_args!("{}", lot.in_words()));
    }
    text.end();
    text.line(format_args!("{CAUTION}"));
    text
}

/// The list for a program.
pub fn lots_json(lots: &[LotRow]) -> Value {
    json!({ "schema": 1, "caution": CAUTION, "lots": lots })
}

/// The row of a lot, which reaches at least over a span.
fn of<'a>(
    found: &'a mut BTreeMap<String, LotRow>,
    lot: &str,
    (start, end): (&str, &str),
    entry: &Entry,
) -> &'a mut LotRow {
    let row = found.entry(key(lot)).or_insert_with(|| LotRow {
        lot: lot.trim().to_owned(),
        products: BTreeSet::new(),
        tanks: BTreeSet::new(),
        units: BTreeSet::new(),
        first: start.to_owned(),
        last: end.to_owned(),
        forward: BTreeMap::new(),
        incomplete: false,
        exceptions: 0,
        open: 0,
    });
    if at(start) < at(&row.first) {
        start.clone_into(&mut row.first);
    }
    if at(end) > at(&row.last) {
        end.clone_into(&mut row.last);
    }
    row.units.insert(entry.unit().to_owned());
    row
}

impl LotRow {
    fn take(&mut self, run: &RunRow) {
        self.products.extend((!run.product.is_empty()).then(|| run.product.clone()));
        self.tanks.extend((!run.tank.is_empty()).then(|| run.tank.clone()));
        match run.forward {
            Some(volume) => *self.forward.entry(run.unit.clone()).or_insert(0.0) += volume,
            None => self.incomplete = true,
        }
        self.incomplete |= run.incomplete;
    }

    /// Whether the lot, one of its products or one of its tanks has a part in its name.
    pub fn matches(&self, part: &str) -> bool {
        let part = key(part);
        let mut names =
            std::iter::once(&self.lot).chain(&self.products).chain(&self.tanks).map(|one| key(one));
        names.any(|name| name.contains(&part))
    }

    /// What went forward.
    pub fn volume(&self) -> String {
        if self.forward.is_empty() {
            return "not metered".to_owned();
        }
        let least = if self.incomplete { "at least " } else { "" };
        let volumes = self.forward.iter().map(|(unit, volume)| case::amount(*volume, unit));
        format!("{least}{}", volumes.collect::<Vec<_>>().join(" and "))
    }

    /// The exceptions that touched it, and how many are open.
    pub fn standing(&self) -> String {
        match (self.exceptions, self.open) {
            (0, _) => "no exceptions".to_owned(),
            (all, 0) => format!("{}, resolved", plural(all, "exception")),
            (all, open) => format!("{}, {open} open", plural(all, "exception")),
        }
    }

    /// Names in a row.
    pub fn listed(names: &BTreeSet<String>) -> String {
        names.iter().map(String::as_str).collect::<Vec<_>>().join(", ")
    }

    /// All of it in a line.
    pub fn in_words(&self) -> String {
        let tanks = if self.tanks.is_empty() {
            "no tank named".to_owned()
        } else {
            Self::listed(&self.tanks)
        };
        format!(
            "{}  {}, {tanks}, {} to {}: {}, {}",
            self.lot,
            Self::listed(&self.products),
            minute(&self.first),
            minute(&self.last),
            self.volume(),
            self.standing()
        )
    }
}
