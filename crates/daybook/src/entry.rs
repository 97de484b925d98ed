//! One record of a folder: its row, or why there is none, and where its review stands.

use crate::before::Before;
use crate::day::{Day, ExceptionRow};
use crate::deadline::review_due;
use chrono::{DateTime, NaiveDate};
use review::{HoleBefore, Made, Meaning, Reviewed, Stage, Subject, TubeOnDay};
use signers::TestStanding;
use std::path::PathBuf;
use trace::Instant;

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
    pub review: Reviewed,
    /// How it follows the record before it of the same pasteurizer; `None` where there is none.
    pub before: Option<Before>,
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
        let (created, within) = match &self.day {
            Ok(day) => (day.created, day.review_within),
            Err(_) => (self.date()?, plant::Review::default().within_working_days),
        };
        let is_due = is_due(self.review.stage, || self.covered_at(Meaning::Reviewed));
        is_due.then(|| review_due(created, within))
    }

    /// When standing signatures of a meaning first covered the whole record.
    pub(crate) fn covered_at(&self, meaning: Meaning) -> Option<Instant> {
        self.review.state.as_ref()?.covered_at(meaning)
    }

    /// The hole before it that is to be closed, closed or not; `None` where there is none.
    pub fn hole(&self) -> Option<&HoleBefore> {
        self.before.as_ref().and_then(Before::exposed)
    }

    /// The hole before it that nobody has closed yet.
    pub fn open_hole(&self) -> Option<&HoleBefore> {
        self.hole().filter(|_| self.hole_closed().is_none())
    }

    /// How the hole before it was closed; `None` where it is open, or where there is none.
    pub fn hole_closed(&self) -> Option<&Made> {
        self.review.state.as_ref()?.hole_closed(self.hole()?)
    }

    /// What is wanting of the equipment on the record's day, in sentences: tests that are overdue, failed
    /// or were never entered, and seals that were broken.
    pub fn equipment(&self) -> Vec<String> {
        let Ok(day) = &self.day else { return Vec::new() };
        let equipment = &self.review.equipment;
        let standings = equipment.standings(&day.subject.unit, day.date, &day.tests);
        let wanting = standings.iter().filter(|one| one.is_wanting).map(TestStanding::in_words);
        let at = Instant::from_unix_milliseconds;
        let (from, to) = day.ends_ms;
        let broken = equipment.broken_between(&day.subject.unit, at(from), at(to));
        let of = (day.subject.unit.as_str(), day.date);
        let tube = TubeOnDay::of(equipment, of, day.subject.tube.as_ref());
        let tube = tube.filter(TubeOnDay::is_wanting).map(|tube| tube.words);
        let state = self.review.state.as_ref();
        let broken = broken.into_iter().map(|seal| {
            let noted = state.and_then(|state| state.seal_noted(&seal.sealed.seal));
            let noted = noted.map_or("not noted yet", |made| made.value.as_str());
            format!("{}; {noted}", seal.in_words())
        });
        wanting.chain(tube).chain(broken).collect()
    }

    /// How many observations are closed, and how many there are to close; for a record that can't be
    /// read what its journal says.
    pub fn closed(&self) -> (usize, usize) {
        let state = self.review.state.as_ref();
        let Ok(day) = &self.day else { return state.map_or((0, 0), |one| one.progress().closed) };
        // One that the journal does not know yet is not closed.
        let is_closed = |id: &str| state.is_some_and(|state| state.closed(id).is_some());
        let items = &day.subject.to_close;
        (items.iter().filter(|item| is_closed(&item.id)).count(), items.len())
    }

    /// How many exceptions in production are resolved, and how many there are; for a record that
    /// can't be read what its journal says.
    pub fn resolved(&self) -> (usize, usize) {
        match &self.day {
            Ok(day) => self.resolved_of(day.in_production()),
            Err(_) => {
                self.review.state.as_ref().map_or((0, 0), |state| state.progress().exceptions)
            }
        }
    }

    /// The same of all exceptions.
    pub fn resolved_in_all(&self) -> (usize, usize) {
        let ((done, all), (done_outside, outside)) =
            (self.resolved(), self.resolved_outside_production());
        (done + done_outside, all + outside)
    }

    /// The same of the exceptions outside production.
    pub fn resolved_outside_production(&self) -> (usize, usize) {
        self.day.as_ref().map_or((0, 0), |day| {
            self.resolved_of(day.exceptions.iter().filter(|one| one.outside_production))
        })
    }

    fn resolved_of<'a>(&self, all: impl Iterator<Item = &'a ExceptionRow>) -> (usize, usize) {
        let is_resolved = |one: &ExceptionRow| self.review.resolution(&one.id).is_some();
        all.fold((0, 0), |(done, all), one| (done + usize::from(is_resolved(one)), all + 1))
    }
}

/// Whether a record is still to be reviewed: on an audit by an older version of the method it was
/// reviewed when its signatures say.
fn is_due(stage: Stage, reviewed_at: impl FnOnce() -> Option<Instant>) -> bool {
    stage.is_to_review() && (stage != Stage::MethodChanged || reviewed_at().is_none())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A new version of the method does not make what was reviewed in its time overdue.
    #[test]
    fn what_was_reviewed_before_the_method_changed_is_not_due_again() {
        let at = Some(Instant::from_unix_milliseconds(1_773_411_600_000));
        assert!(!is_due(Stage::MethodChanged, || at));
        for (stage, reviewed_at) in [
            (Stage::MethodChanged, None),
            (Stage::ChangedSinceSigning, at),
            (Stage::BeingReviewed, None),
        ] {
            assert!(is_due(stage, || reviewed_at), "{stage:?}");
        }
        assert!(!is_due(Stage::Signed, || at));
    }
}
