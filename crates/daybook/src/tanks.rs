//! A tank across days: what all run sheets of a folder say went into it, from one emptying to the next. A tank
//! may be filled on one day and emptied on the next, and from several pasteurizers: what passed in an exception
//! mixed with all of it (method, section 10).

use crate::day::SheetRow;
use crate::entry::Entry;
use crate::lot::at;
use case::named;
use review::ProductHold;

/// A run of a sheet, and the record that it lies beside.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TankRun<'a> {
    /// The record.
    pub entry: &'a Entry,
    /// The run.
    pub run: &'a SheetRow,
}

/// A tank from one emptying to the next, as far as the run sheets tell.
#[derive(Debug, Clone, PartialEq)]
pub struct TankAccount<'a> {
    /// The tank.
    pub tank: String,
    /// What went into it, in order of time; at least one.
    pub runs: Vec<TankRun<'a>>,
    /// When it was emptied, Unix milliseconds; `None` where no sheet says it.
    pub emptied_ms: Option<i64>,
    /// Whether a sheet says that it was empty before the first of them.
    pub was_empty: bool,
}

/// Whether two names are of one tank: blanks around them, capitals and the word tank before them aside.
fn is_one_tank(one: &str, other: &str) -> bool {
    let bare = |name: &str| {
        let name = name.trim().to_lowercase();
        name.strip_prefix("tank ").map_or_else(|| name.clone(), |rest| rest.trim().to_owned())
    };
    bare(one) == bare(other)
}

impl<'a> TankAccount<'a> {
    /// All fills of a tank, in order.
    fn fills(entries: &[&'a Entry], tank: &str) -> Vec<Self> {
        let of_entry = |entry: &&'a Entry| {
            let entry: &'a Entry = entry;
            let sheet = entry.day.as_ref().map_or(&[][..], |day| day.sheet.as_slice());
            sheet.iter().map(move |run| TankRun { entry, run })
        };
        let mut runs: Vec<TankRun<'a>> = entries
            .iter()
            .flat_map(of_entry)
            .filter(|one| is_one_tank(&one.run.tank, tank))
            .collect();
        runs.sort_by_key(|one| one.run.ends_ms);
        let mut fills: Vec<Self> = Vec::new();
        for one in runs {
            let was_empty = fills.last().is_some_and(|fill| fill.emptied_ms.is_some());
            // What began before the tank was empty was in it.
            let begins = one.run.ends_ms.0;
            match fills.last_mut().filter(|fill| fill.emptied_ms.is_none_or(|at| begins < at)) {
                Some(fill) => {
                    fill.runs.push(one);
                    fill.emptied_ms = fill.emptied_ms.max(one.run.emptied_ms);
                }
                None => fills.push(Self {
                    tank: tank.trim().to_owned(),
                    runs: vec![one],
                    emptied_ms: one.run.emptied_ms,
                    was_empty,
                }),
            }
        }
        fills
    }

    /// What went into the tanks of a hold, of all the records at hand: a fill for each tank that a run sheet
    /// knows. Where no run of the hold's record touches its exceptions, it is the fill that was in the tank then.
    pub fn of_hold(
        (entry, hold): (&Entry, &ProductHold),
        entries: impl Iterator<Item = &'a Entry>,
    ) -> Vec<Self> {
        let entries: Vec<&Entry> = entries.collect();
        let spans = spans(entry, hold);
        let tanks = hold.tanks().into_iter().flat_map(|tank| tank.split(','));
        let mut told: Vec<&str> = Vec::new();
        let mut accounts = Vec::new();
        for tank in tanks.map(str::trim).filter(|tank| !tank.is_empty()) {
            if told.iter().any(|other| is_one_tank(other, tank)) {
                continue;
            }
            told.push(tank);
            let is_touched = |fill: &Self| {
                fill.runs.iter().any(|one| {
                    let (from, to) = one.run.ends_ms;
                    spans.iter().any(|span| from <= span.1 && span.0 <= to)
                })
            };
            let was_there = |fill: &Self| {
                let begins = fill.runs.first().map_or(i64::MAX, |one| one.run.ends_ms.0);
                let until = fill.emptied_ms.unwrap_or(i64::MAX);
                spans.iter().any(|span| begins <= span.1 && span.0 <= until)
            };
            let fills = Self::fills(&entries, tank);
            let is_any_touched = fills.iter().any(is_touched);
            let holds =
                |fill: &Self| if is_any_touched { is_touched(fill) } else { was_there(fill) };
            accounts.extend(fills.into_iter().filter(holds));
        }
        accounts
    }

    /// What went into it and until when, in a sentence without a full stop.
    pub fn in_words(&self) -> String {
        let units: Vec<&str> = self.runs.iter().map(|one| one.entry.unit()).collect();
        let are_several = units.iter().any(|unit| Some(unit) != units.first());
        let runs = self.runs.iter().map(|TankRun { entry, run }| {
            let lot = match run.lot.as_str() {
                "" => "no lot named".to_owned(),
                lot => format!("lot {lot}"),
            };
            let unit = if are_several { format!(", {}", entry.unit()) } else { String::new() };
            let stated = if run.stated.is_empty() {
                String::new()
            } else {
                format!(", {} stated", run.stated)
            };
            format!("{lot} ({}, {} to {}{unit}{stated})", run.product, run.start, run.end)
        });
        let runs: Vec<String> = runs.collect();
        let emptied = self.runs.iter().filter(|one| one.run.emptied_ms == self.emptied_ms);
        let emptied = emptied.filter_map(|one| one.run.emptied.as_deref()).next_back();
        let until = emptied.map_or_else(
            || "when it was emptied is in no run sheet".to_owned(),
            |emptied| format!("emptied {emptied}"),
        );
        let before = if self.was_empty { "" } else { "; what was in it before is in no run sheet" };
        format!("{}, all of it: {}; {until}{before}", named("tank", &self.tank), runs.join(", "))
    }
}

/// The exceptions of a hold, Unix milliseconds; of a record that can't be read any more what its journal says.
fn spans(entry: &Entry, hold: &ProductHold) -> Vec<(i64, i64)> {
    let subject = match &entry.day {
        Ok(day) => Some(&day.subject),
        Err(_) => entry.reviewed.as_ref(),
    };
    let at = |text: &str| at(text).map(|at| at.timestamp_millis());
    let parts = hold.parts.iter().filter_map(|part| {
        let item = subject?.exceptions.iter().find(|item| item.id == part.exception)?;
        at(&item.start).zip(at(&item.end))
    });
    parts.collect()
}
