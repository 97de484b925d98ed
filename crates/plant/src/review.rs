//! What the plant says of its reviews: its own words for causes, actions and dispositions, who may
//! approve, how soon, and how long the records are kept.

use crate::limit::{Provenance, Source};
use chrono::{Days, Months, NaiveDate};
use std::fmt;

/// The `[review]` section of a plant file.
#[derive(Debug, Clone, PartialEq, Eq)]
#[expect(clippy::struct_excessive_bools, reason = "each is a switch of the plant file")]
pub struct Review {
    /// Causes that are offered; free text is always possible.
    pub causes: Vec<String>,
    /// Corrective actions that are offered.
    pub actions: Vec<String>,
    /// Product dispositions that are offered beside the built-in ones.
    pub dispositions: Vec<String>,
    /// Whether the person who reviewed may approve as well; not unless the plant says so.
    pub same_person_may_approve: bool,
    /// Whether a technician may end a hold; only a supervisor unless the plant says so.
    pub technician_ends_holds: bool,
    /// Whether product is released from a hold only once the record is approved.
    pub release_after_approval: bool,
    /// Whether a corrective action is entered in its parts.
    pub corrective_action_in_parts: bool,
    /// Within how many working days of its making a record is reviewed.
    pub within_working_days: u32,
    /// Who asks for that.
    pub within_source: Source,
}

impl Default for Review {
    fn default() -> Self {
        Self {
            causes: Vec::new(),
            actions: Vec::new(),
            dispositions: Vec::new(),
            same_person_may_approve: false,
            technician_ends_holds: false,
            release_after_approval: false,
            corrective_action_in_parts: false,
            within_working_days: 7,
            within_source: Source::new("21 CFR 117.165(a)(4)(i)", Provenance::Memory),
        }
    }
}

/// How long the plant keeps its records.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Retention {
    /// How many of the unit, greater than 0.
    pub count: u32,
    /// Days, months or years.
    pub unit: RetentionUnit,
    /// Who asks for it, in the plant's words.
    pub source: Source,
}

/// The unit of a retention time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RetentionUnit {
    /// Days of the calendar.
    Days,
    /// Months of the calendar.
    Months,
    /// Years of the calendar.
    Years,
}

impl RetentionUnit {
    /// The unit that a word names, in the singular or the plural.
    pub fn from_word(word: &str) -> Option<Self> {
        match word {
            "day" | "days" => Some(Self::Days),
            "month" | "months" => Some(Self::Months),
            "year" | "years" => Some(Self::Years),
            _ => None,
        }
    }
}

impl Retention {
    /// The first date on which a record of `date` need not be kept any more; `None` beyond the
    /// calendar.
    pub fn ends(&self, date: NaiveDate) -> Option<NaiveDate> {
        match self.unit {
            RetentionUnit::Days => date.checked_add_days(Days::new(u64::from(self.count))),
            RetentionUnit::Months => date.checked_add_months(Months::new(self.count)),
            RetentionUnit::Years => {
                date.checked_add_months(Months::new(self.count.checked_mul(12)?))
            }
        }
    }
}

impl fmt::Display for Retention {
    /// `2 years`
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let unit = match self.unit {
            RetentionUnit::Days => "day",
            RetentionUnit::Months => "month",
            RetentionUnit::Years => "year",
        };
        let plural = if self.count == 1 { "" } else { "s" };
        write!(formatter, "{} {unit}{plural}", self.count)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_retention_ends_by_the_calendar() {
        let date = |year, month, day| NaiveDate::from_ymd_opt(year, month, day);
        for (count, unit, words, ends) in [
            (1, RetentionUnit::Years, "1 year", date(2029, 2, 28)),
            (2, RetentionUnit::Years, "2 years", date(2030, 2, 28)),
            (3, RetentionUnit::Months, "3 months", date(2028, 5, 29)),
            (180, RetentionUnit::Days, "180 days", date(2028, 8, 27)),
            (u32::MAX, RetentionUnit::Years, "4294967295 years", None),
        ] {
            let retention = Retention { count, unit, source: Source::plant() };
            assert_eq!(retention.to_string(), words);
            assert_eq!(date(2028, 2, 29).and_then(|day| retention.ends(day)), ends, "{words}");
        }
    }
}
