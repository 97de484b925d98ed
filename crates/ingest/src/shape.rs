//! Where the header and the rows of a table are, by shape and not by words: the header is the first line,
//! right above the rows, that has as many cells as they have and no reading in it.

use crate::cells::{DELIMITERS, Splitter};
use crate::input::text;
use crate::recognise::any_unit;
use crate::stamp::StampReader;
use std::collections::{BTreeMap, BTreeSet};
use trace::{Decimal, DecimalMark, Toward};

/// The number of a cell with either mark.
pub(crate) fn number(cell: &[u8]) -> Option<(f64, Option<DecimalMark>)> {
    let read = |mark| Decimal::parse(cell, mark, Toward::Down).ok();
    let marked = |mark: DecimalMark, sign| cell.contains(&sign).then_some(mark);
    if let Some(value) = read(DecimalMark::Dot) {
        return Some((value.to_f64(), marked(DecimalMark::Dot, b'.')));
    }
    let value = read(DecimalMark::Comma)?;
    Some((value.to_f64(), marked(DecimalMark::Comma, b',')))
}

/// Where the header and the rows are.
pub(crate) struct Shape {
    pub(crate) delimiter: u8,
    /// The header's line by index.
    pub(crate) header: usize,
    /// The first row's line by index.
    pub(crate) first_row: usize,
    pub(crate) names: Vec<String>,
    /// The words of a row of units, if there is one.
    pub(crate) units: Vec<String>,
}

/// The delimiter by which most lines fall into the same number of cells, and there the header.
pub(crate) fn shape(head: &[&[u8]], splitter: &mut Splitter) -> Option<Shape> {
    let mut best: Option<(usize, Shape)> = None;
    for delimiter in DELIMITERS {
        let table: Vec<Vec<String>> = head
            .iter()
            .map(|line| match splitter.split(line, delimiter) {
                Ok(cells) => cells.iter().map(|cell| text(cell).trim().to_owned()).collect(),
                Err(_unclosed) => Vec::new(),
            })
            .collect();
        let mut widths: BTreeMap<usize, usize> = BTreeMap::new();
        for row in table.iter().filter(|row| row.len() > 1) {
            *widths.entry(row.len()).or_default() += 1;
        }
        let Some((&width, &lines)) = widths.iter().max_by_key(|&(width, lines)| (lines, width))
        else {
            continue;
        };
        // A comment may have as many cells as the names; some loggers begin the names themselves like one.
        let shape = below_header(&table, width, delimiter, true)
            .or_else(|| below_header(&table, width, delimiter, false));
        let Some(shape) = shape else { continue };
        if best.as_ref().is_none_or(|(before, _)| lines * width > *before) {
            best = Some((lines * width, shape));
        }
    }
    best.map(|(_, shape)| shape)
}

/// Whether a row has readings: a stamp, or more numbers than words. No name reads as a stamp.
fn has_readings(row: &[String]) -> bool {
    let mut stamps = StampReader::default();
    let mut is_stamp = |cell: &String| {
        !cell.bytes().all(|byte| byte.is_ascii_digit())
            && (stamps.date_and_time(cell.as_bytes(), b"00:00", 1).is_some()
                || stamps.date_and_time(b"2026-01-01", cell.as_bytes(), 1).is_some())
    };
    if row.iter().any(&mut is_stamp) {
        return true;
    }
    let numbers = row.iter().filter(|cell| number(cell.as_bytes()).is_some()).count();
    let words = row.iter().filter(|cell| {
        cell.chars().any(char::is_alphabetic) && !cell.chars().any(|one| one.is_ascii_digit())
    });
    numbers > 0 && numbers >= words.count()
}

fn below_header(
    table: &[Vec<String>],
    width: usize,
    delimiter: u8,
    without_comments: bool,
) -> Option<Shape> {
    let first_row = table.iter().position(|row| row.len() == width && has_readings(row))?;
    let above = table.get(..first_row)?;
    // Names may be fewer than cells where each row ends with a delimiter, or the other way round.
    let is_comment = |row: &[String]| row.first().is_some_and(|cell| cell.starts_with('#'));
    let is_wide = |row: &Vec<String>| {
        row.len().abs_diff(width) <= 1 && row.len() > 1 && !(without_comments && is_comment(row))
    };
    let from = above.iter().rposition(|row| !is_wide(row) && row.len() > 1).map_or(0, |at| at + 1);
    let named = |row: &Vec<String>| {
        let distinct: BTreeSet<&String> = row.iter().filter(|name| !name.is_empty()).collect();
        distinct.len()
    };
    let block = above.get(from..)?;
    let most = block.iter().filter(|row| is_wide(row)).map(named).max()?;
    let header = block.iter().position(|row| is_wide(row) && 10 * named(row) >= 8 * most)?;
    let mut names = block.get(header)?.clone();
    while names.last().is_some_and(String::is_empty) {
        names.pop();
    }
    let below = block.get(header + 1..)?;
    let units = below.iter().find(|row| row.iter().any(|word| any_unit(word).is_some()));
    let units = units.cloned().unwrap_or_default();
    Some(Shape { delimiter, header: from + header, first_row, names, units })
}
