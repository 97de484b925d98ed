//! Operators' entries in words.

use crate::Case;
use analysis::{Check, CheckedEntry};

/// What the record says of an entry, in words.
pub fn entry_check(one: &CheckedEntry) -> String {
    match &one.check {
        Check::Agrees(shown) => format!("agrees: {shown}"),
        Check::Disagrees(shown) => format!("does not agree: {shown}"),
        Check::NotComparable(why) => format!("not comparable: {why}"),
        Check::Words => String::new(),
    }
}

/// The key of what became of an entry.
pub(crate) const fn check_key(check: &Check) -> &'static str {
    match check {
        Check::Agrees(_) => "agrees",
        Check::Disagrees(_) => "disagrees",
        Check::NotComparable(_) => "not_comparable",
        Check::Words => "words",
    }
}

impl Case {
    /// When an entry was made: the date and the time, to the minute where it was written so.
    pub fn entry_time(&self, one: &CheckedEntry) -> String {
        let (zone, at) = (self.plant.zone, one.entry.at);
        let clock = zone.clock(at);
        let clock = if one.entry.to_the_minute { clock.get(..5).unwrap_or(&clock) } else { &clock };
        format!("{} {clock}", zone.date(at))
    }

    /// An entry in a line: when, what, by whom, and what the record says of it.
    pub fn entry_line(&self, one: &CheckedEntry) -> String {
        let check = entry_check(one);
        let check = if check.is_empty() { check } else { format!("; {check}") };
        format!("{}  {}, {}{check}", self.entry_time(one), one.in_words(), one.entry.by)
    }
}
