//! The words of state columns: each distinct word is understood once and counted.

use crate::bounds::MOST_WORDS;
use crate::cells::{is_plain, unwrapped};
use crate::input::text;
use std::collections::HashMap;

/// The distinct words of one column.
#[derive(Debug)]
pub(crate) struct Words<T> {
    seen: Vec<Word<T>>,
    index: HashMap<Vec<u8>, usize>,
    /// The word of the row before: words repeat for hours.
    last: usize,
}

/// A distinct word.
#[derive(Debug)]
pub(crate) struct Word<T> {
    bytes: Vec<u8>,
    /// Whether it can stand in a cell without quotes.
    is_plain: bool,
    /// Decoded, without blanks around it.
    pub(crate) text: String,
    /// `None` when it is not mapped to anything.
    pub(crate) meaning: Option<T>,
    pub(crate) rows: RowTally,
}

/// How many rows, and the first and last of them.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct RowTally {
    pub(crate) count: u64,
    pub(crate) first_line: u64,
    pub(crate) first_row: usize,
    pub(crate) last_row: usize,
}

impl RowTally {
    pub(crate) fn add(&mut self, row: usize, line: u64) {
        if self.count == 0 {
            self.first_line = line;
            self.first_row = row;
        }
        self.count += 1;
        self.last_row = row;
    }
}

impl<T> Default for Words<T> {
    fn default() -> Self {
        Self { seen: Vec::new(), index: HashMap::new(), last: 0 }
    }
}

impl<T: Copy> Words<T> {
    /// What the word in `cell` stands for.
    pub(crate) fn read(
        &mut self,
        cell: &[u8],
        (row, line): (usize, u64),
        meaning: impl FnOnce(&str) -> Option<T>,
    ) -> Option<T> {
        let cell = cell.trim_ascii();
        if self.seen.get(self.last).is_none_or(|word| word.bytes != cell) {
            self.last = match self.index.get(cell) {
                Some(&at) => at,
                None => {
                    let text = text(unwrapped(cell)).trim().to_owned();
                    let meaning = meaning(&text);
                    let rows = RowTally::default();
                    let is_plain = is_plain(cell);
                    self.seen.push(Word { bytes: cell.to_vec(), is_plain, text, meaning, rows });
                    self.index.insert(cell.to_vec(), self.seen.len() - 1);
                    self.seen.len() - 1
                }
            };
        }
        let word = self.seen.get_mut(self.last)?;
        word.rows.add(row, line);
        word.meaning
    }

    /// The word of the row before and its place, where it can stand in a cell without quotes.
    #[inline]
    pub(crate) fn last(&self) -> Option<(usize, &[u8])> {
        let word = self.seen.get(self.last).filter(|word| word.is_plain)?;
        Some((self.last, &word.bytes))
    }

    /// The place of a word, without the blanks around it, that a row before had.
    pub(crate) fn place(&self, word: &[u8]) -> Option<usize> {
        self.index.get(word).copied()
    }

    /// What the word in a place stands for.
    #[inline]
    pub(crate) fn meaning(&self, place: usize) -> Option<T> {
        self.seen.get(place)?.meaning
    }

    /// Counts the word in a place once more.
    #[inline]
    pub(crate) fn again(&mut self, place: usize, (row, line): (usize, u64)) -> Option<T> {
        let word = self.seen.get_mut(place)?;
        self.last = place;
        word.rows.add(row, line);
        word.meaning
    }

    /// Whether a row before had this word.
    pub(crate) fn has_seen(&self, cell: &[u8]) -> bool {
        self.index.contains_key(cell.trim_ascii())
    }

    /// Whether there are more than any column has.
    #[inline]
    pub(crate) fn are_too_many(&self) -> bool {
        self.seen.len() > MOST_WORDS
    }

    /// All distinct words, in the order of their first appearance.
    pub(crate) fn seen(&self) -> &[Word<T>] {
        &self.seen
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_understood_once_and_counted() {
        let mut words = Words::default();
        let mut asked = 0;
        for (row, cell) in ["FWD", " FWD ", "DIV", "FWD", "", "?", "?"].iter().enumerate() {
            words.read(cell.as_bytes(), (row, row as u64 + 2), |word| {
                asked += 1;
                (word == "FWD").then_some(true)
            });
        }
        assert_eq!(asked, 4);
        let seen: Vec<_> = words
            .seen()
            .iter()
            .map(|word| (word.text.as_str(), word.meaning, word.rows.count, word.rows.first_line))
            .collect();
        assert_eq!(
            seen,
            [("FWD", Some(true), 3, 2), ("DIV", None, 1, 4), ("", None, 1, 6), ("?", None, 2, 7)]
        );
    }
}
