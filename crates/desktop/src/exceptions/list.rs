//! What the user made of the list of exceptions: its filter, its order, what is folded.

use super::column::Column;
use super::row;
use crate::day::Day;
use analysis::{Exception, Rule};
use std::collections::BTreeSet;

/// A row of the list.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Row {
    /// The heading of an episode of several exceptions, by its place in the audit.
    Episode(usize),
    /// The heading of a cleaning with exceptions, by its place in the audit.
    Cleaning(usize),
    /// An exception, by its place in the audit, and whether it stands below a heading.
    Exception(usize, bool),
}

/// What the user made of the list.
#[derive(Debug)]
pub struct List {
    /// Only rows that hold these words are shown.
    pub filter: String,
    /// The rules that are hidden.
    pub hidden: BTreeSet<Rule>,
    /// The column that sorts, and whether the greatest is first.
    pub sort: (Column, bool),
    /// The episodes, by number, that are folded.
    pub folded: BTreeSet<usize>,
    /// The cleanings, by number, that are unfolded: they are no production, and folded at first.
    pub unfolded: BTreeSet<usize>,
    /// Whether the filter is to get the keyboard.
    pub focus_filter: bool,
    /// The exception to scroll to.
    pub scroll_to: Option<usize>,
    /// The exception whose row is to get the keyboard.
    pub focus: Option<usize>,
}

impl Default for List {
    fn default() -> Self {
        Self {
            filter: String::new(),
            hidden: BTreeSet::new(),
            sort: (Column::Start, false),
            folded: BTreeSet::new(),
            unfolded: BTreeSet::new(),
            focus_filter: false,
            scroll_to: None,
            focus: None,
        }
    }
}

impl List {
    /// Folds all episodes, or unfolds them when all are folded.
    pub fn fold_all(&mut self, day: &Day) {
        let several: BTreeSet<usize> = day
            .case
            .audit()
            .episodes
            .iter()
            .filter(|episode| episode.exceptions.len() > 1)
            .map(|episode| episode.number)
            .collect();
        if several.is_subset(&self.folded) {
            self.folded.clear();
        } else {
            self.folded = several;
        }
    }

    /// Shows an exception: unfolds its episode and scrolls to it.
    pub fn reveal(&mut self, day: &Day, index: usize) {
        if let Some(exception) = day.case.audit().exceptions.get(index) {
            self.folded.remove(&exception.episode);
            self.unfolded.extend(exception.cleaning);
            self.scroll_to = Some(index);
        }
    }

    fn passes(&self, day: &Day, index: usize) -> bool {
        let Some(exception) = day.case.audit().exceptions.get(index) else { return false };
        if self.hidden.contains(&exception.rule) {
            return false;
        }
        let words = self.filter.to_lowercase();
        if words.trim().is_empty() {
            return true;
        }
        let text = searchable(day, exception);
        words.split_whitespace().all(|word| text.contains(word))
    }

    /// The exceptions that are listed, in their order: those below a folded heading too, but for what lies in
    /// a cleaning that is folded away, which is no production.
    pub fn listed(&self, day: &Day) -> Vec<usize> {
        let audit = day.case.audit();
        let mut listed = Vec::new();
        for row in self.rows(day) {
            match row {
                Row::Exception(index, _) => listed.push(index),
                Row::Episode(place) => {
                    let Some(episode) = audit.episodes.get(place) else { continue };
                    if self.folded.contains(&episode.number) {
                        let inside = episode.exceptions.iter().copied().filter(|&index| {
                            let one = audit.exceptions.get(index);
                            one.is_some_and(|one| one.cleaning.is_none()) && self.passes(day, index)
                        });
                        listed.extend(inside);
                    }
                }
                Row::Cleaning(_) => {}
            }
        }
        listed
    }

    /// The exceptions from one to another as they are listed; none where one of them is not.
    pub fn between(&self, day: &Day, one: usize, other: usize) -> BTreeSet<usize> {
        let listed = self.listed(day);
        let place = |wanted: usize| listed.iter().position(|&index| index == wanted);
        let (Some(one), Some(other)) = (place(one), place(other)) else { return BTreeSet::new() };
        listed.get(one.min(other)..=one.max(other)).unwrap_or_default().iter().copied().collect()
    }

    /// The exception that is listed so many places after one.
    pub fn step(&self, day: &Day, from: usize, step: isize) -> Option<usize> {
        let listed = self.listed(day);
        let place = listed.iter().position(|&index| index == from)?;
        listed.get(place.checked_add_signed(step)?).copied()
    }

    /// The rows in their order.
    pub fn rows(&self, day: &Day) -> Vec<Row> {
        let exceptions = &day.case.audit().exceptions;
        if self.sort == (Column::Start, false) {
            let shown = |members: &[usize]| -> Vec<usize> {
                members.iter().copied().filter(|&index| self.passes(day, index)).collect()
            };
            // Episodes and cleanings in order of time.
            let mut parts: Vec<(trace::Interval, Vec<Row>)> = Vec::new();
            for (place, episode) in day.case.audit().episodes.iter().enumerate() {
                let produced: Vec<usize> = episode
                    .exceptions
                    .iter()
                    .copied()
                    .filter(|&index| {
                        exceptions.get(index).is_some_and(|one| one.cleaning.is_none())
                    })
                    .collect();
                let inside = shown(&produced);
                let several = produced.len() > 1;
                let mut rows = Vec::new();
                if several && !inside.is_empty() {
                    rows.push(Row::Episode(place));
                }
                if !(several && self.folded.contains(&episode.number)) {
                    rows.extend(inside.into_iter().map(|index| Row::Exception(index, several)));
                }
                parts.push((episode.interval, rows));
            }
            for (place, cleaning) in day.case.audit().cleanings.iter().enumerate() {
                let inside = shown(&cleaning.exceptions);
                let mut rows = Vec::new();
                if !inside.is_empty() {
                    rows.push(Row::Cleaning(place));
                }
                if self.unfolded.contains(&cleaning.number) {
                    rows.extend(inside.into_iter().map(|index| Row::Exception(index, true)));
                }
                parts.push((cleaning.interval, rows));
            }
            parts.sort_by_key(|(interval, _)| *interval);
            let rows = parts.into_iter().flat_map(|(_, rows)| rows).collect();
            return rows;
        }
        let mut order: Vec<usize> =
            (0..exceptions.len()).filter(|&index| self.passes(day, index)).collect();
        let (column, descending) = self.sort;
        order.sort_by(|&one, &other| {
            let standing = |index: usize| day.review.mark(&exceptions[index].id);
            let order = row::compare(column, &exceptions[one], &exceptions[other]);
            let order = if column == Column::Review {
                standing(one).cmp(&standing(other)).then(order)
            } else {
                order
            };
            if descending { order.reverse() } else { order }
        });
        order.into_iter().map(|index| Row::Exception(index, false)).collect()
    }
}

fn searchable(day: &Day, exception: &Exception) -> String {
    let mut text = format!(
        "{} {} {} {} {} {}",
        exception.rule.name(),
        day.review.word_of(&exception.id),
        exception.causes.iter().map(|cause| cause.name()).collect::<Vec<_>>().join(" "),
        day.case.clock(exception.estimate.start()),
        exception.shift.as_deref().unwrap_or(""),
        exception.id,
    );
    for word in exception.products.iter().chain(&exception.lots).chain(&exception.tanks) {
        text.push(' ');
        text.push_str(word);
    }
    text.to_lowercase()
}
