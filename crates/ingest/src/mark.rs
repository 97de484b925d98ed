//! The decimal mark of one file and the reading of its numbers.
//!
//! `1,234` can be a decimal or grouped thousands, `72,5` only a decimal. A mark is known from the
//! plant file or from the first number that can be read in one way; until then a doubtful number
//! only lets presume one. Should a later number contradict the presumption, the file is refused,
//! because readings before it may be wrong by a factor of a thousand.

use crate::thousands::{may_be_thousands, plain_number};
use std::borrow::Cow;
use trace::{Decimal, DecimalMark, Invalid, NotADecimal, Reading, Toward};

/// What is known of a file's decimal mark.
#[derive(Debug)]
pub(crate) struct Mark {
    known: Option<DecimalMark>,
    presumed: Option<Presumed>,
    /// Commas also part the cells, so a comma within a cell was quoted.
    commas_part_cells: bool,
}

#[derive(Debug)]
struct Presumed {
    mark: DecimalMark,
    line: u64,
    text: String,
}

/// Two numbers that can't both be decimals with one mark: line and text of each.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Contradiction {
    pub(crate) first: (u64, String),
    pub(crate) other: (u64, String),
}

impl Mark {
    pub(crate) const fn new(stated: Option<DecimalMark>, delimiter: u8) -> Self {
        Self { known: stated, presumed: None, commas_part_cells: delimiter == b',' }
    }

    /// The mark, where nothing can contradict it any more.
    pub(crate) const fn known(&self) -> Option<DecimalMark> {
        self.known
    }

    /// The mark that the file turned out to have.
    pub(crate) fn found(&self) -> Option<DecimalMark> {
        self.known.or(self.presumed.as_ref().map(|presumed| presumed.mark))
    }

    /// The reading in a cell.
    #[inline]
    pub(crate) fn read(
        &mut self,
        cell: &[u8],
        toward: Toward,
        line: u64,
    ) -> Result<Reading, Contradiction> {
        let read = match self.known {
            Some(mark) => reading(Decimal::parse(cell, mark, toward)),
            None => self.read_unsure(cell, toward, line)?,
        };
        match read {
            Reading::Invalid(Invalid::NotANumber) => self.read_plain(cell, toward, line),
            read => Ok(read),
        }
    }

    /// The reading in a cell that a spreadsheet wrote, or that has a minus sign of its own (U+2212).
    #[cold]
    fn read_plain(
        &mut self,
        cell: &[u8],
        toward: Toward,
        line: u64,
    ) -> Result<Reading, Contradiction> {
        match plain_number(cell) {
            Cow::Borrowed(plain) if plain.len() == cell.len() => {
                Ok(Reading::Invalid(Invalid::NotANumber))
            }
            plain => self.read(&plain, toward, line),
        }
    }

    fn read_unsure(
        &mut self,
        cell: &[u8],
        toward: Toward,
        line: u64,
    ) -> Result<Reading, Contradiction> {
        if let Some(presumed) = &self.presumed
            && let Ok(decimal) = Decimal::parse(cell, presumed.mark, toward)
        {
            // Thousands are grouped by three, so any other count of digits is a decimal's.
            if !matches!(decimal.scale(), 0 | 3) {
                self.known = Some(presumed.mark);
            }
            return Ok(Reading::Valid(decimal));
        }
        let mut marks = cell.iter().filter(|byte| matches!(byte, b'.' | b','));
        let mark = match (marks.next(), marks.next()) {
            (None, _) => return Ok(reading(Decimal::parse(cell, DecimalMark::Dot, toward))),
            (Some(b','), None) => DecimalMark::Comma,
            (Some(_), None) => DecimalMark::Dot,
            (Some(_), Some(_)) => return Ok(Reading::Invalid(Invalid::NotANumber)),
        };
        let decimal = match Decimal::parse(cell, mark, toward) {
            Ok(decimal) => decimal,
            Err(reason) => return Ok(reading(Err(reason))),
        };
        let text = || String::from_utf8_lossy(cell.trim_ascii()).into_owned();
        if let Some(presumed) = &self.presumed {
            // Not readable with the presumed mark, but with the other one.
            let first = (presumed.line, presumed.text.clone());
            return Err(Contradiction { first, other: (line, text()) });
        }
        if may_be_thousands(cell) {
            if mark == DecimalMark::Comma && self.commas_part_cells {
                return Ok(Reading::Invalid(Invalid::NotANumber));
            }
            self.presumed = Some(Presumed { mark, line, text: text() });
        } else {
            self.known = Some(mark);
        }
        Ok(Reading::Valid(decimal))
    }
}

fn reading(parsed: Result<Decimal, NotADecimal>) -> Reading {
    match parsed {
        Ok(decimal) => Reading::Valid(decimal),
        Err(NotADecimal::Blank) => Reading::Invalid(Invalid::Blank),
        Err(NotADecimal::NotANumber) => Reading::Invalid(Invalid::NotANumber),
        Err(NotADecimal::TooLarge) => Reading::Invalid(Invalid::OutOfRange),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The readings of cells as printed, or the contradiction.
    fn read(stated: Option<DecimalMark>, delimiter: u8, cells: &[&str]) -> String {
        let mut mark = Mark::new(stated, delimiter);
        let mut shown = Vec::new();
        for (line, cell) in cells.iter().enumerate() {
            match mark.read(cell.as_bytes(), Toward::Down, line as u64 + 1) {
                Ok(Reading::Valid(decimal)) => shown.push(decimal.to_string()),
                Ok(Reading::Invalid(reason)) => shown.push(reason.name().to_owned()),
                Err(clash) => shown.push(format!("{} against {}", clash.other.1, clash.first.1)),
            }
        }
        shown.join(" | ")
    }

    #[test]
    fn the_mark_is_found() {
        for (delimiter, cells, expected) in [
            (b',', vec!["161", "161.2", "161,2"], "161 | 161.2 | not a number"),
            (b';', vec!["72,5", "72.5", "BAD"], "72.5 | not a number | not a number"),
            (b',', vec!["72,5", "1,234"], "72.5 | 1.234"),
            (b';', vec!["24,312", "24,400"], "24.312 | 24.400"),
            (b';', vec!["24,312", "72,5", "72.5"], "24.312 | 72.5 | not a number"),
            (b'\t', vec!["0,312", "72.5"], "0.312 | not a number"),
            (b',', vec!["6,000", "161.2"], "not a number | 161.2"),
            (b';', vec!["6.000", "72,5"], "6.000 | 72,5 against 6.000"),
            (b';', vec!["1.234,5", "72,5"], "not a number | 72.5"),
            (b';', vec!["", "---", "1e2", "1,5e1"], "blank | not a number | 100 | 15"),
            (b';', vec!["1e999"], "out of range"),
            (b',', vec!["\u{2212}2.7", "=\"161.2\"", "'3.5'"], "-2.7 | 161.2 | 3.5"),
            (
                b',',
                vec!["2.7", "\u{2212}2.7", "=\"161,2\"", "=A1"],
                "2.7 | -2.7 | not a number | not a number",
            ),
            (b';', vec!["=\"1,234\"", "72,5"], "1.234 | 72.5"),
        ] {
            assert_eq!(read(None, delimiter, &cells), expected, "{cells:?}");
        }
    }

    #[test]
    fn the_plant_file_is_believed() {
        assert_eq!(read(Some(DecimalMark::Dot), b';', &["6.000", "72,5"]), "6.000 | not a number");
        assert_eq!(
            read(Some(DecimalMark::Comma), b',', &["6,000", "72.5"]),
            "6.000 | not a number"
        );
    }
}
