//! What is on hold across days and pasteurizers, and what became of what was: one list, the oldest
//! that is still on hold first.

use crate::entry::Entry;
use crate::range::Counted;
use crate::tanks::{TankAccount, TankSheet};
use case::{Builder, CAUTION, Table, plural};
use chrono::{DateTime, NaiveDate};
use plant::Zone;
use review::{Ended, Mark, ProductHold, Stage};
use serde_json::{Value, json};
use trace::Lines;

/// Product that is or was on hold, with the record of the exception.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeldRow<'a> {
    /// The record.
    pub entry: &'a Entry,
    /// The hold.
    pub hold: &'a ProductHold,
}

/// All holds of a folder.
#[derive(Debug, Clone, PartialEq)]
pub struct Held<'a> {
    rows: Vec<HeldRow<'a>>,
    /// What the run sheets of all records say of tanks.
    sheets: Vec<TankSheet>,
    /// The records whose journals can't be followed, so that there may be more.
    pub unreadable: Vec<&'a Entry>,
}

impl<'a> HeldRow<'a> {
    /// The holds of a record, in the order in which they began.
    pub fn of(entry: &'a Entry) -> impl Iterator<Item = Self> {
        entry.review.holds().iter().map(move |hold| Self { entry, hold })
    }

    /// How many whole days it has been on hold, or was.
    pub fn days(&self, today: NaiveDate) -> i64 {
        let until = self.hold.ended.as_ref().filter(|_| !self.hold.is_open());
        let until = until.map_or(Some(today), |ended| date(&ended.mark));
        let days =
            date(&self.hold.since).zip(until).map(|(since, until)| (until - since).num_days());
        days.unwrap_or_default().max(0)
    }

    /// Where it stands: since when, or what ended it.
    pub fn standing(&self) -> String {
        self.entry.review.hold_standing(self.hold)
    }

    /// The hold in a line.
    pub fn in_words(&self, today: NaiveDate) -> String {
        let days = usize::try_from(self.days(today)).unwrap_or(0);
        let line = self.entry.review.hold_in_words(self.hold);
        if self.hold.is_open() { format!("{line} ({})", plural(days, "day")) } else { line }
    }
}

fn date(mark: &Mark) -> Option<NaiveDate> {
    DateTime::parse_from_rfc3339(&mark.at.to_string()).ok().map(|at| at.date_naive())
}

impl<'a> Held<'a> {
    /// The holds of all records.
    pub fn of(entries: impl Iterator<Item = &'a Entry> + Clone) -> Self {
        let mut rows: Vec<_> = entries.clone().flat_map(HeldRow::of).collect();
        rows.sort_by_key(|row| (!row.hold.is_open(), row.hold.since.at.instant()));
        let is_lost = |entry: &&'a Entry| {
            entry.review.state.is_none() && entry.review.stage == Stage::ChangedSinceSigning
        };
        let unreadable = entries.clone().filter(is_lost).collect();
        // Without a hold nobody asks for them.
        let sheets =
            if rows.is_empty() { Vec::new() } else { entries.map(TankSheet::of).collect() };
        Self { rows, sheets, unreadable }
    }

    /// What is on hold, the oldest first, then what was.
    pub fn all(&self) -> impl Iterator<Item = HeldRow<'a>> {
        self.rows.iter().copied()
    }

    /// What is on hold, the oldest first.
    pub fn open(&self) -> impl Iterator<Item = HeldRow<'a>> {
        self.rows.iter().copied().filter(|row| row.hold.is_open())
    }

    /// What was on hold.
    pub fn ended(&self) -> impl Iterator<Item = HeldRow<'a>> {
        self.rows.iter().copied().filter(|row| !row.hold.is_open())
    }

    /// What went into the tanks of a hold, over the days of the folder.
    pub fn tanks(&self, row: &HeldRow<'_>) -> Vec<TankAccount> {
        TankAccount::of_hold((row.entry, row.hold), &self.sheets)
    }

    /// Whether nothing is on hold, as far as the journals can be followed.
    pub fn is_clean(&self) -> bool {
        self.open().next().is_none() && self.unreadable.is_empty()
    }

    /// What is on hold for a person; `all` tells what was as well.
    pub fn text(&self, today: NaiveDate, all: bool) -> Lines {
        let mut text = Lines::new();
        let mut line = |row: HeldRow<'_>| {
            let entry = row.entry;
            let date = entry.date().map_or("no date".to_owned(), |date| date.to_string());
            text.line(format_args!("{date}  {}  {}", entry.unit(), row.in_words(today)));
            text.line(format_args!("    record {}: {}", entry.name(), entry.review.stage.name()));
            for account in self.tanks(&row) {
                text.line(format_args!("    {}", account.in_words()));
            }
        };
        self.open().for_each(&mut line);
        if all {
            self.ended().for_each(&mut line);
        }
        if self.open().next().is_none() {
            text.line(format_args!("Nothing is on hold."));
        }
        for entry in &self.unreadable {
            text.line(format_args!(
                "The journal of {} can't be read: there may be more on hold.",
                entry.name()
            ));
        }
        text.end();
        text.line(format_args!("{CAUTION}"));
        text
    }

    /// One row a hold. The columns are described in `docs/file-formats.md`.
    pub fn table(&self, today: NaiveDate) -> Table {
        let list = |words: Vec<&str>| Some(words.join(", ")).filter(|text| !text.is_empty());
        let ended =
            |of: fn(&Ended) -> String| move |row: &HeldRow<'_>| row.hold.ended.as_ref().map(of);
        Builder::of(&self.rows, Zone::UTC)
            .text("hold", |row| Some(row.hold.name.clone()))
            .truth("open", |row| row.hold.is_open())
            .text("date", |row| row.entry.date().map(|date| date.to_string()))
            .text("unit", |row| Some(row.entry.unit().to_owned()))
            .text("record", |row| Some(row.entry.name()))
            .text("stage", |row| Some(row.entry.review.stage.key().to_owned()))
            .text("quantity", |row| Some(row.hold.quantity()))
            .text("lot", |row| list(row.hold.lots()))
            .text("tank", |row| list(row.hold.tanks()))
            .text("exceptions", |row| {
                list(row.hold.parts.iter().map(|part| part.exception.as_str()).collect())
            })
            .text("since", |row| Some(row.hold.since.at.to_string()))
            .text("by", |row| Some(row.hold.since.by.clone()))
            .text("name", |row| Some(row.entry.review.name_of(&row.hold.since.by).to_owned()))
            .integer("days", |row| Some(row.days(today)))
            .text("outcome", ended(|ended| ended.ending.outcome.key().to_owned()))
            .text("reason", ended(|ended| ended.ending.reason.clone()))
            .text("evidence", ended(|ended| ended.ending.evidence.in_words()))
            .text("ended", ended(|ended| ended.mark.at.to_string()))
            .text("ended_by", ended(|ended| ended.mark.by.clone()))
            .text("ended_name", |row| {
                let by = &row.hold.ended.as_ref()?.mark.by;
                Some(row.entry.review.name_of(by).to_owned())
            })
            .done()
    }

    /// All of it for a program.
    pub fn json(&self, today: NaiveDate) -> Value {
        json!({
            "schema": 1,
            "caution": CAUTION,
            "holds": self.table(today).json(),
            "tanks": self.all().flat_map(|row| self.tanks(&row).into_iter().map(move |one| json!({
                "hold": row.hold.name,
                "record": row.entry.name(),
                "tank": one.tank,
                "account": one.in_words(),
                "emptied_ms": one.emptied_ms,
            }))).collect::<Vec<_>>(),
            "unreadable": self.unreadable.iter().map(|entry| entry.name()).collect::<Vec<_>>(),
        })
    }
}

impl Entry {
    /// How many holds of the record are open.
    pub fn open_holds(&self) -> usize {
        HeldRow::of(self).filter(|row| row.hold.is_open()).count()
    }
}

/// The holds that are open in a range, in words; `None` where there was none in it.
pub(crate) fn in_words(counted: &[Counted<'_>]) -> Option<String> {
    let rows: Vec<HeldRow<'_>> = counted.iter().flat_map(|one| HeldRow::of(one.entry)).collect();
    let open: Vec<String> = rows
        .iter()
        .filter(|row| row.hold.is_open())
        .map(|row| format!("{} ({})", row.hold.name, row.hold.what()))
        .collect();
    let ended = rows.len() - open.len();
    match (open.len(), ended) {
        (0, 0) => None,
        (0, ended) => Some(format!("nothing any more; {} ended", plural(ended, "hold"))),
        (_, 0) => Some(open.join(", ")),
        (_, ended) => Some(format!("{}; {} ended", open.join(", "), plural(ended, "hold"))),
    }
}
