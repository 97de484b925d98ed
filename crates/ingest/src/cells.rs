//! A line to cells.
//!
//! The plain case finds delimiters and copies nothing. Only a line that holds a quote is read
//! with the rules of RFC 4180 (quoted cells, doubled quotes); a quote that is not closed on its
//! line is an error of that line.

use crate::bounds::FILLED_COLUMNS;
use memchr::memchr;

/// What may stand between two cells.
pub(crate) const DELIMITERS: [u8; 4] = [b',', b';', b'\t', b'|'];

/// Buffers that are used again for every line.
#[derive(Debug, Default)]
pub(crate) struct Splitter {
    ends: Vec<u32>,
    text: Vec<u8>,
}

/// The cells of one line.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Cells<'a> {
    text: &'a [u8],
    /// Where each cell ends; the next begins one byte later.
    ends: &'a [u32],
}

/// A quote is not closed on its line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct UnclosedQuote;

impl<'a> Cells<'a> {
    /// The number of cells, at least 1.
    pub(crate) fn len(self) -> usize {
        self.ends.len()
    }

    /// The cell at index `cell`, blanks around it included.
    pub(crate) fn get(self, cell: usize) -> Option<&'a [u8]> {
        let end = *self.ends.get(cell)? as usize;
        let start = match cell.checked_sub(1) {
            Some(before) => *self.ends.get(before)? as usize + 1,
            None => 0,
        };
        self.text.get(start..end)
    }

    /// All cells.
    pub(crate) fn iter(self) -> impl Iterator<Item = &'a [u8]> {
        (0..self.len()).map(move |cell| self.get(cell).unwrap_or_default())
    }

    /// The number of cells without the blank ones at the end.
    pub(crate) fn filled(self) -> usize {
        let mut filled = self.len();
        while filled > 0 && self.get(filled - 1).is_none_or(|cell| cell.trim_ascii().is_empty()) {
            filled -= 1;
        }
        filled
    }
}

/// Whether a cell of these bytes needs no quotes, whatever the delimiter.
pub(crate) fn is_plain(bytes: &[u8]) -> bool {
    !bytes.iter().any(|byte| matches!(byte, b'"' | b'\r' | b'\n' | b',' | b';' | b'\t' | b'|'))
}

/// What stands in a cell without what some exports put around it: a byte order mark at the beginning of each
/// line, `="…"` and `'…'` against the guesses of spreadsheets.
#[inline]
pub(crate) fn unwrapped(cell: &[u8]) -> &[u8] {
    match cell.first() {
        Some(b'=' | b'\'' | 0xef) => without_wrapping(cell),
        _ => cell,
    }
}

#[cold]
fn without_wrapping(cell: &[u8]) -> &[u8] {
    let cell = cell.strip_prefix(b"\xef\xbb\xbf").unwrap_or(cell);
    let between = |start: &[u8], end: &[u8]| cell.strip_prefix(start)?.strip_suffix(end);
    between(b"=\"", b"\"").or_else(|| between(b"'", b"'")).unwrap_or(cell)
}

/// Without what stands around it: blanks, quotes of spreadsheets; some systems put a narrow or hard space before AM and PM.
pub(crate) fn trim(mut cell: &[u8]) -> &[u8] {
    loop {
        cell = unwrapped(cell.trim_ascii());
        let Some(rest) = cell.strip_prefix(b"\xe2\x80\xaf").or(cell.strip_prefix(b"\xc2\xa0"))
        else {
            return cell;
        };
        cell = rest;
    }
}

impl Splitter {
    /// The cells of `line`, which is at most [`crate::lines::LONGEST_LINE`] long.
    pub(crate) fn split<'a>(
        &'a mut self,
        line: &'a [u8],
        delimiter: u8,
    ) -> Result<Cells<'a>, UnclosedQuote> {
        self.ends.clear();
        if self.find_ends(line, delimiter) {
            self.ends.clear();
            self.split_quoted(line, delimiter)?;
            return Ok(Cells { text: &self.text, ends: &self.ends });
        }
        self.ends.push(line.len() as u32);
        Ok(Cells { text: line, ends: &self.ends })
    }

    /// The cells of the line split last that stand before the quote that is not closed.
    pub(crate) fn before_quote(&self) -> Cells<'_> {
        Cells { text: &self.text, ends: &self.ends }
    }

    /// Notes the delimiters, eight bytes at a time: cells are so short that a call for each would
    /// cost more than the search. `true` as soon as there is a quote.
    fn find_ends(&mut self, line: &[u8], delimiter: u8) -> bool {
        let delimiters = u64::from_ne_bytes([delimiter; 8]);
        let quotes = u64::from_ne_bytes([b'"'; 8]);
        let (words, rest) = line.as_chunks::<8>();
        let mut at = 0;
        for word in words {
            let word = u64::from_le_bytes(*word);
            if zero_bytes(word ^ quotes) != 0 {
                return true;
            }
            let mut found = zero_bytes(word ^ delimiters);
            while found != 0 {
                self.ends.push(at + found.trailing_zeros() / 8);
                found &= found - 1;
            }
            at += 8;
        }
        for &byte in rest {
            if byte == b'"' {
                return true;
            }
            if byte == delimiter {
                self.ends.push(at);
            }
            at += 1;
        }
        false
    }

    fn split_quoted(&mut self, line: &[u8], delimiter: u8) -> Result<(), UnclosedQuote> {
        self.text.clear();
        let mut rest = line;
        loop {
            // Blanks before a quote do not make it a letter of the cell.
            let blanks = rest
                .iter()
                .take_while(|&&byte| byte != delimiter && matches!(byte, b' ' | b'\t'))
                .count();
            if rest.get(blanks) == Some(&b'"') {
                rest = rest.get(blanks + 1..).unwrap_or_default();
                loop {
                    let close = memchr(b'"', rest).ok_or(UnclosedQuote)?;
                    self.text.extend_from_slice(&rest[..close]);
                    rest = &rest[close + 1..];
                    if rest.first() != Some(&b'"') {
                        break;
                    }
                    self.text.push(b'"');
                    rest = &rest[1..];
                }
            }
            let end = memchr(delimiter, rest).unwrap_or(rest.len());
            self.text.extend_from_slice(&rest[..end]);
            self.ends.push(self.text.len() as u32);
            if end == rest.len() {
                return Ok(());
            }
            self.text.push(delimiter);
            rest = &rest[end + 1..];
        }
    }
}

/// The highest bit of each byte that is zero.
const fn zero_bytes(word: u64) -> u64 {
    const LOW: u64 = 0x7f7f_7f7f_7f7f_7f7f;
    // No carry leaves its byte, so there are no false finds.
    !(((word & LOW) + LOW) | word | LOW)
}

/// Writes a cell and a delimiter, with the quotes of RFC 4180 where they are needed.
pub(crate) fn write_cell(bytes: &mut Vec<u8>, cell: &[u8], delimiter: u8) {
    if cell.iter().any(|&byte| byte == delimiter || matches!(byte, b'"' | b'\n' | b'\r')) {
        bytes.push(b'"');
        for &byte in cell {
            if byte == b'"' {
                bytes.push(b'"');
            }
            bytes.push(byte);
        }
        bytes.push(b'"');
    } else {
        bytes.extend_from_slice(cell);
    }
    bytes.push(delimiter);
}

/// Ends a row of a sheet, each of whose cells was written with a delimiter. A sheet does not store the blank cells
/// at the end of a row; the widest row so far tells how many there are. `widest` becomes that of this one.
pub(crate) fn end_sheet_row(line: &mut Vec<u8>, cells: usize, widest: &mut usize) {
    let blank = if *widest <= FILLED_COLUMNS { widest.saturating_sub(cells) } else { 0 };
    if cells > 0 {
        // No delimiter behind the last cell.
        line.pop();
        line.resize(line.len() + blank, b'\t');
    }
    line.push(b'\n');
    *widest = cells.max(*widest);
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn split(line: &str) -> Result<Vec<String>, UnclosedQuote> {
        let mut splitter = Splitter::default();
        let cells = splitter.split(line.as_bytes(), b',')?;
        Ok(cells.iter().map(|cell| String::from_utf8_lossy(cell).into_owned()).collect())
    }

    #[test]
    fn cells_and_quotes() {
        for (line, cells) in [
            ("a,b", vec!["a", "b"]),
            ("", vec![""]),
            (",", vec!["", ""]),
            ("\"72,5\",b", vec!["72,5", "b"]),
            ("\"say \"\"hi\"\"\",b", vec!["say \"hi\"", "b"]),
            ("a, \"b,c\"", vec!["a", "b,c"]),
            ("5\" pipe,b", vec!["5\" pipe", "b"]),
            ("\"\",\"\"", vec!["", ""]),
            ("\"a\"b,c", vec!["ab", "c"]),
        ] {
            assert_eq!(split(line), Ok(cells.iter().map(ToString::to_string).collect()), "{line}");
        }
        for line in ["\"", "a,\"b", "a,\"b\"\"", "\"a,b\nc"] {
            assert_eq!(split(line), Err(UnclosedQuote), "{line}");
        }
    }

    #[test]
    fn what_spreadsheets_put_around_a_cell_is_taken_off() {
        for (cell, expected) in [
            ("=\"161.2\"", "161.2"),
            ("'FWD'", "FWD"),
            ("\u{feff}2026-03-08", "2026-03-08"),
            ("\u{feff}=\"a\"", "a"),
            ("=A1", "=A1"),
            ("'a", "'a"),
            ("'", "'"),
            ("", ""),
        ] {
            assert_eq!(unwrapped(cell.as_bytes()), expected.as_bytes(), "{cell}");
        }
    }

    #[test]
    fn cells_before_an_open_quote_are_kept() {
        let mut splitter = Splitter::default();
        assert!(splitter.split(b"06:00,\"a,b\",\"162,3", b',').is_err());
        let cells: Vec<_> = splitter.before_quote().iter().collect();
        assert_eq!(cells, [b"06:00".as_slice(), b"a,b"]);
    }

    #[test]
    fn filled_cells_are_counted_without_blank_ones_at_the_end() {
        for (line, filled) in [("a,b", 2), ("a,b,", 2), ("a,,b, ,", 3), (",,", 0), ("", 0)] {
            let mut splitter = Splitter::default();
            let cells = splitter.split(line.as_bytes(), b',');
            assert_eq!(cells.map(Cells::filled), Ok(filled), "{line}");
        }
    }

    proptest! {
        #[test]
        fn delimiters_are_found_in_any_bytes(line in proptest::collection::vec(any::<u8>(), 0..70), delimiter in any::<u8>()) {
            prop_assume!(!line.contains(&b'"') && delimiter != b'"');
            let mut splitter = Splitter::default();
            let Ok(cells) = splitter.split(&line, delimiter) else { panic!("no quote is open") };
            let expected: Vec<&[u8]> = line.split(|&byte| byte == delimiter).collect();
            prop_assert_eq!(cells.iter().collect::<Vec<_>>(), expected);
        }

        // The csv crate is the independent judge of what a line's cells are.
        #[test]
        fn the_csv_crate_finds_the_same_cells(line in r#"[ab,"]{1,30}"#) {
            if let Ok(cells) = split(&line) {
                let mut reader = csv::ReaderBuilder::new()
                    .has_headers(false)
                    .flexible(true)
                    .from_reader(line.as_bytes());
                let mut record = csv::ByteRecord::new();
                prop_assert!(matches!(reader.read_byte_record(&mut record), Ok(true)));
                let theirs: Vec<_> =
                    record.iter().map(|cell| String::from_utf8_lossy(cell).into_owned()).collect();
                prop_assert_eq!(cells, theirs);
            }
        }
    }
}
