//! A tank across days: what all run sheets of a folder say went into it, from one emptying to the next. A tank
//! may be filled on one day and emptied on the next, and from several pasteurizers: what passed in an exception
//! mixed with all of it (method, section 10).

use crate::day::{SheetRow, sheet_rows};
use crate::entry::Entry;
use crate::lot::at;
use case::{Case, is_one_tank, named, plural};
use chrono::NaiveDate;
use review::ProductHold;

/// What the run sheet of a record says of tanks: what an account over many records is made of.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TankSheet {
    /// The record: the name of its first file.
    pub record: String,
    /// The pasteurizer; blank where it is not known.
    pub unit: String,
    /// The date of the record, where it is known.
    pub date: Option<NaiveDate>,
    /// The runs that name a tank; `None` where the record can't be read.
    pub runs: Option<Vec<SheetRow>>,
}

impl TankSheet {
    /// That of a record of a folder.
    pub fn of(entry: &Entry) -> Self {
        Self {
            record: entry.name(),
            unit: entry.unit().to_owned(),
            date: entry.date(),
            runs: entry.day.as_ref().ok().map(|day| day.sheet.clone()),
        }
    }

    /// That of a record that is open.
    pub fn of_case(case: &Case) -> Self {
        let (record, plant) = (case.record(), case.plant());
        let first = record.sources().first();
        Self {
            record: first.map_or("", |source| trace::file_name(&source.name)).to_owned(),
            unit: record.unit().to_owned(),
            date: Some(plant.zone.local(record.interval().start()).date_naive()),
            runs: Some(sheet_rows(record, plant.zone)),
        }
    }
}

/// A run of a sheet, and the record that it lies beside.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TankRun {
    /// The record: the name of its first file.
    pub record: String,
    /// Its pasteurizer.
    pub unit: String,
    /// Whether it is the record that the account is asked of.
    pub is_own: bool,
    /// The run.
    pub run: SheetRow,
}

impl TankRun {
    /// From when to when, the date once where both have it: `2026-03-13 06:00 to 06:01`.
    pub fn times(&self) -> String {
        let SheetRow { start, end, .. } = &self.run;
        let end = match (start.split_once(' '), end.split_once(' ')) {
            (Some((date, _)), Some((same, time))) if date == same => time,
            _ => end,
        };
        format!("{start} to {end}")
    }

    /// Whether it shares an instant with a span, Unix milliseconds, the ends of both included.
    pub(crate) const fn touches(&self, (start, end): (i64, i64)) -> bool {
        let (from, to) = self.run.ends_ms;
        from <= end && start <= to
    }
}

/// A tank from one emptying to the next, as far as the run sheets tell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TankAccount {
    /// The tank.
    pub tank: String,
    /// What went into it, in order of time; at least one.
    pub runs: Vec<TankRun>,
    /// When it was emptied, Unix milliseconds; `None` where no sheet says it.
    pub emptied_ms: Option<i64>,
    /// Whether a sheet says that it was empty before the first of them.
    pub was_empty: bool,
}

impl TankAccount {
    /// All fills of a tank, in order; each sheet with whether it is that of the record asked about.
    pub(crate) fn fills(sheets: &[(bool, &TankSheet)], tank: &str) -> Vec<Self> {
        let of_sheet = |&(is_own, sheet): &(bool, &TankSheet)| {
            let runs = sheet.runs.iter().flatten().filter(|run| is_one_tank(&run.tank, tank));
            let whole = |run: &SheetRow| TankRun {
                record: sheet.record.clone(),
                unit: sheet.unit.clone(),
                is_own,
                run: run.clone(),
            };
            runs.map(whole).collect::<Vec<_>>()
        };
        let mut runs: Vec<TankRun> = sheets.iter().flat_map(of_sheet).collect();
        runs.sort_by_key(|one| one.run.ends_ms);
        let mut fills: Vec<Self> = Vec::new();
        for one in runs {
            let was_empty = fills.last().is_some_and(|fill| fill.emptied_ms.is_some());
            // What began before the tank was empty was in it.
            let begins = one.run.ends_ms.0;
            match fills.last_mut().filter(|fill| fill.emptied_ms.is_none_or(|at| begins < at)) {
                Some(fill) => {
                    fill.emptied_ms = fill.emptied_ms.max(one.run.emptied_ms);
                    fill.runs.push(one);
                }
                None => fills.push(Self {
                    tank: tank.trim().to_owned(),
                    emptied_ms: one.run.emptied_ms,
                    runs: vec![one],
                    was_empty,
                }),
            }
        }
        fills
    }

    /// What went into the tanks of a hold, of all the sheets at hand: a fill for each tank that a run sheet
    /// knows. Where no run touches its exceptions, it is the fill that was in the tank then.
    pub fn of_hold((entry, hold): (&Entry, &ProductHold), sheets: &[TankSheet]) -> Vec<Self> {
        let own = TankSheet::of(entry);
        let sheets: Vec<_> = sheets.iter().map(|sheet| (*sheet == own, sheet)).collect();
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
                fill.runs.iter().any(|one| spans.iter().any(|span| one.touches(*span)))
            };
            let was_there = |fill: &Self| {
                let begins = fill.runs.first().map_or(i64::MAX, |one| one.run.ends_ms.0);
                let until = fill.emptied_ms.unwrap_or(i64::MAX);
                spans.iter().any(|span| begins <= span.1 && span.0 <= until)
            };
            let fills = Self::fills(&sheets, tank);
            let is_any_touched = fills.iter().any(is_touched);
            let holds =
                |fill: &Self| if is_any_touched { is_touched(fill) } else { was_there(fill) };
            accounts.extend(fills.into_iter().filter(holds));
        }
        accounts
    }

    /// What went into it and until when, in a sentence without a full stop.
    pub fn in_words(&self) -> String {
        let units: Vec<&str> = self.runs.iter().map(|one| one.unit.as_str()).collect();
        let are_several = units.iter().any(|unit| Some(unit) != units.first());
        let runs = self.runs.iter().map(|TankRun { unit, run, .. }| {
            let lot = match run.lot.as_str() {
                "" => "no lot named".to_owned(),
                lot => format!("lot {lot}"),
            };
            let unit = if are_several { format!(", {unit}") } else { String::new() };
            let stated = if run.stated.is_empty() {
                String::new()
            } else {
                format!(", {} stated", run.stated)
            };
            format!("{lot} ({}, {} to {}{unit}{stated})", run.product, run.start, run.end)
        });
        let runs: Vec<String> = runs.collect();
        format!("{}, all of it: {}; {}", named("tank", &self.tank), runs.join(", "), self.until())
    }

    /// The lots that went into it, so many of them by name, and until when: in few words, without a full stop.
    pub fn briefly(&self, most: usize) -> String {
        let mut lots: Vec<&str> = Vec::new();
        for lot in self.runs.iter().map(|one| one.run.lot.as_str()).filter(|lot| !lot.is_empty()) {
            if !lots.contains(&lot) {
                lots.push(lot);
            }
        }
        let mut parts = Vec::new();
        if !lots.is_empty() {
            let (named, more) = lots.split_at(lots.len().min(most));
            let kind = if lots.len() == 1 { "lot" } else { "lots" };
            parts.push(format!("{kind} {}", named.join(", ")));
            if !more.is_empty() {
                parts.push(format!("{} more", more.len()));
            }
        }
        match self.runs.iter().filter(|one| one.run.lot.is_empty()).count() {
            0 => {}
            unnamed => parts.push(format!("{} with no lot named", plural(unnamed, "run"))),
        }
        format!("{}: {}; {}", named("tank", &self.tank), parts.join(" and "), self.until())
    }

    /// When it was emptied, and whether it is known what was in it before.
    pub fn until(&self) -> String {
        let emptied = self.runs.iter().filter(|one| one.run.emptied_ms == self.emptied_ms);
        let emptied = emptied.filter_map(|one| one.run.emptied.as_deref()).next_back();
        let until = emptied.map_or_else(
            || "when it was emptied is in no run sheet".to_owned(),
            |emptied| format!("emptied {emptied}"),
        );
        let before = if self.was_empty { "" } else { "; what was in it before is in no run sheet" };
        format!("{until}{before}")
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
