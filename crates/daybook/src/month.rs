//! The calendar of a month: every date with the records that begin on it.

use crate::entry::Entry;
use chrono::{Datelike as _, Months, NaiveDate};
use review::HoleBefore;

/// One date of a month.
#[derive(Debug, Clone, PartialEq)]
pub struct Cell<'a> {
    /// The date.
    pub date: NaiveDate,
    /// The records that begin on it, in the folder's order; empty where there is none.
    pub entries: Vec<&'a Entry>,
}

impl Cell<'_> {
    /// The records of the date with a hole before them that nobody has closed yet.
    pub fn open_holes(&self) -> impl Iterator<Item = (&Entry, &HoleBefore)> {
        self.entries.iter().filter_map(|entry| Some((*entry, entry.open_hole()?)))
    }
}

/// A month, from its first date to its last.
#[derive(Debug, Clone, PartialEq)]
pub struct Month<'a> {
    /// Its first date.
    pub first: NaiveDate,
    /// How many places before the first date stay empty in weeks that begin on Monday (ISO 8601).
    pub offset: usize,
    /// Every date.
    pub cells: Vec<Cell<'a>>,
}

/// The month that holds `date`.
pub fn month(entries: &[Entry], date: NaiveDate) -> Month<'_> {
    let first = date.with_day(1).unwrap_or(date);
    let end = first.checked_add_months(Months::new(1)).unwrap_or(first);
    let dates = first.iter_days().take_while(|date| *date < end);
    let mut cells: Vec<Cell<'_>> = dates.map(|date| Cell { date, entries: Vec::new() }).collect();
    for entry in entries {
        let Some(date) = entry.date() else { continue };
        if let Ok(index) = usize::try_from((date - first).num_days())
            && let Some(cell) = cells.get_mut(index)
        {
            cell.entries.push(entry);
        }
    }
    Month { first, offset: first.weekday().num_days_from_monday() as usize, cells }
}
