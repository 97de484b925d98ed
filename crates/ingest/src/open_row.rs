//! Rows whose quoted cells hold line breaks (RFC 4180), such as an operator's note.
//!
//! A stray quote opens a cell as well, and must not swallow the rows below it: lines are put together
//! only as long as none of them could be a row by itself, and only where the whole then has as many
//! cells as the rows of the file. Otherwise each line is a row of its own, the one with the quote
//! without usable readings.

use crate::lines::{LONGEST_LINE, Line};

/// No cell goes over more lines.
const MOST_LINES: usize = 50;

/// A row with a quote that is open at the end of its line, and the lines that may belong to it.
#[derive(Debug)]
pub(crate) struct OpenRow {
    /// The number of its first line.
    line: u64,
    lines: Vec<Vec<u8>>,
    bytes: usize,
    /// Whether the file goes on after the last of them.
    ended: bool,
}

impl OpenRow {
    pub(crate) fn new(line: Line<'_>) -> Self {
        let lines = vec![line.bytes.to_vec()];
        Self { line: line.number, lines, bytes: line.bytes.len(), ended: line.ended }
    }

    /// Takes the line below; `false` when it is one too many.
    pub(crate) fn add(&mut self, line: Line<'_>) -> bool {
        if self.lines.len() >= MOST_LINES || self.bytes + line.bytes.len() + 1 > LONGEST_LINE {
            return false;
        }
        self.bytes += line.bytes.len() + 1;
        self.lines.push(line.bytes.to_vec());
        self.ended = line.ended;
        true
    }

    /// All lines as one.
    pub(crate) fn joined(&self) -> Vec<u8> {
        self.lines.join(&b'\n')
    }

    /// That one, for the reader of rows.
    pub(crate) fn line<'a>(&self, joined: &'a [u8]) -> Line<'a> {
        Line { number: self.line, bytes: joined, ended: self.ended }
    }

    /// Each line by itself.
    pub(crate) fn each(&self) -> impl Iterator<Item = Line<'_>> {
        let last = self.lines.len() - 1;
        self.lines.iter().enumerate().map(move |(index, bytes)| Line {
            number: self.line + index as u64,
            bytes,
            ended: self.ended || index < last,
        })
    }
}
