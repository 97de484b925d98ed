//! A column of words: product, lot or mode, each distinct word stored once.

use std::collections::BTreeMap;

/// A column of words. A blank cell is the empty word.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct TextChannel {
    words: Vec<String>,
    index: BTreeMap<String, u32>,
    codes: Vec<u32>,
    /// The code of the cell before: words repeat for hours.
    last: u32,
}

/// Stands between the words of two rows that became one sample: two products at one instant.
pub const BOTH: &str = " + ";

impl TextChannel {
    /// An empty column.
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds a cell; blanks around the word do not count.
    #[inline]
    pub fn push(&mut self, word: &str) {
        let word = word.trim();
        if self.words.get(self.last as usize).is_none_or(|last| last != word) {
            self.last = match self.index.get(word) {
                Some(&code) => code,
                None => {
                    let code = self.words.len() as u32;
                    self.words.push(word.to_owned());
                    self.index.insert(word.to_owned(), code);
                    code
                }
            };
        }
        self.codes.push(self.last);
    }

    /// Adds a cell with the word of the cell before; a blank one to an empty column.
    #[inline]
    pub fn push_again(&mut self) {
        if self.words.is_empty() {
            self.push("");
        } else {
            self.codes.push(self.last);
        }
    }

    /// The number of cells.
    #[inline]
    pub fn len(&self) -> usize {
        self.codes.len()
    }

    /// Whether there is no cell.
    #[inline]
    pub fn is_empty(&self) -> bool {
        self.codes.is_empty()
    }

    /// The word of sample `sample`; empty for a blank cell and beyond the last.
    #[inline]
    pub fn word(&self, sample: usize) -> &str {
        self.codes
            .get(sample)
            .and_then(|&code| self.words.get(code as usize))
            .map_or("", String::as_str)
    }

    /// For each sample the index of its word in [`Self::words`].
    #[inline]
    pub fn codes(&self) -> &[u32] {
        &self.codes
    }

    /// The distinct words, in the order of their first appearance.
    #[inline]
    pub fn words(&self) -> &[String] {
        &self.words
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_stored_once() {
        let mut channel = TextChannel::new();
        for word in ["", "whole milk", " whole milk ", "", "cream"] {
            channel.push(word);
        }
        assert_eq!(channel.words(), ["", "whole milk", "cream"]);
        assert_eq!(channel.codes(), [0, 1, 1, 0, 2]);
        assert_eq!(channel.word(4), "cream");
        assert_eq!(channel.word(5), "");
    }
}
