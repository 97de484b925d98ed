//! One record of a folder: its row, or why there is none, and where its review stands.

use crate::day::Day;
use crate::deadline::review_due;
use crate::standing::Review;
use chrono::{DateTime, NaiveDate};
use review::Subject;
use std::path::PathBuf;

/// One record of a folder.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// Its first file.
    pub record: PathBuf,
    /// All its logger files, in order.
    pub files: Vec<PathBuf>,
    /// Its row; a sentence where the record can't be read.
    pub day: Result<Day, String>,
    /// Where its review stands.
    pub review: Review,
    /// What the journal says was reviewed, for a record that can't be read any more.
    pub reviewed: Option<Subject>,
    /// Whether the row was kept from an earlier reading of the same files.
    pub kept: bool,
}

impl Entry {
    /// The date on the plant's clock; for a record that can't be read the date that its journal
    /// gives, or else that its name begins with.
    pub fn date(&self) -> Option<NaiveDate> {
        if let Ok(day) = &self.day {
            return Some(day.date);
        }
        let start = self.reviewed.as_ref().map(|subject| subject.start.as_str());
        let start = start.and_then(|start| DateTime::parse_from_rfc3339(start).ok());
        start.map(|start| start.date_naive()).or_else(|| {
            let name = self.record.file_name()?.to_str()?;
            name.get(..10)?.parse().ok()
        })
    }

    /// The pasteurizer; blank for a record that can't be read and has no journal.
    pub fn unit(&self) -> &str {
        match (&self.day, &self.reviewed) {
            (Ok(day), _) => &day.subject.unit,
            (Err(_), Some(subject)) => &subject.unit,
            (Err(_), None) => "",
        }
    }

    /// The file's name.
    pub fn name(&self) -> String {
        self.record.file_name().unwrap_or_default().to_string_lossy().into_owned()
    }

    /// The last day for its review, while it is still to be reviewed.
    pub fn due(&self) -> Option<NaiveDate> {
        let created = self.day.as_ref().map_or(self.date(), |day| Some(day.created))?;
        self.review.stage.is_to_review().then(|| review_due(created))
    }
}
