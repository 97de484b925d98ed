//! The first lines of a file: a preamble, the line with the column names, and what stands below
//! it that is not yet a reading.
//!
//! The header is the line that names most of the wanted columns, apart by comma, semicolon or
//! tab; a line that names all of them ends the search at once.

use crate::cells::{Cells, DELIMITERS, Splitter, unwrapped};
use crate::input::text;
use crate::recognise::{Fitness, fitness, is_same, long_form};
use crate::shape::{Shape, shape};
use plant::Plant;
use std::collections::VecDeque;

/// A header is looked for in so many lines …
pub(crate) const MOST_LINES: usize = 200;
/// … and so many bytes.
pub(crate) const MOST_BYTES: usize = 256 * 1024;

/// A line kept for later.
#[derive(Debug, Clone)]
pub(crate) struct Kept {
    pub(crate) number: u64,
    pub(crate) bytes: Vec<u8>,
    pub(crate) ended: bool,
}

/// The line with the column names.
#[derive(Debug, Clone, Default)]
pub(crate) struct Header {
    pub(crate) line: u64,
    pub(crate) delimiter: u8,
    /// Without blanks around them.
    pub(crate) names: Vec<String>,
    /// The number of columns without nameless ones at the end.
    pub(crate) width: usize,
    /// As it stands in the file, to know it again further down.
    pub(crate) bytes: Vec<u8>,
    /// The lines above it.
    pub(crate) above: Vec<Vec<u8>>,
}

/// Collects lines until the header is known.
#[derive(Debug, Default)]
pub(crate) struct Head {
    lines: VecDeque<Kept>,
    bytes: usize,
    /// The best header so far: its first and last line by index, and its delimiter.
    best: Option<(Fitness, (usize, usize), u8)>,
    /// The line by index in which a quote was opened that no line so far closes.
    open: Option<usize>,
    /// The first line that is a header of the long form: its number, and its columns of names and readings.
    long_form: Option<(u64, String, String)>,
    splitter: Splitter,
}

/// A header goes over at most so many lines.
const MOST_HEADER_LINES: usize = 10;

impl Head {
    /// Takes one more line; `true` when the search should end.
    pub(crate) fn add(&mut self, line: Kept, plant: &Plant) -> bool {
        let index = self.lines.len();
        self.bytes += line.bytes.len();
        let mut complete = self.look_at(&line.bytes, (index, index), plant);
        if self.long_form.is_none() {
            let long = DELIMITERS.into_iter().find_map(|delimiter| {
                long_form(&names(&mut self.splitter, &line.bytes, delimiter)?)
            });
            self.long_form = long.map(|(tag, value)| (line.number, tag, value));
        }
        let opens = |splitter: &mut Splitter, bytes: &[u8]| {
            DELIMITERS.into_iter().any(|delimiter| splitter.split(bytes, delimiter).is_err())
        };
        self.lines.push_back(line);
        // A name in quotes may go on in the next line.
        let open = self.open.filter(|open| index - open < MOST_HEADER_LINES);
        let joined = self.joined(open.unwrap_or(index), index);
        if open.is_some() {
            complete |= self.look_at(&joined, (open.unwrap_or(index), index), plant);
        }
        self.open = opens(&mut self.splitter, &joined).then_some(open.unwrap_or(index));
        complete || self.lines.len() >= MOST_LINES || self.bytes >= MOST_BYTES
    }

    /// Whether a line, or several as one, has all that can be wanted; keeps the best one.
    fn look_at(&mut self, bytes: &[u8], lines: (usize, usize), plant: &Plant) -> bool {
        let mut complete = false;
        for delimiter in DELIMITERS {
            let Some(names) = names(&mut self.splitter, bytes, delimiter) else { continue };
            let fitness = fitness(&names, plant);
            if fitness.found > 0 && self.best.is_none_or(|(best, ..)| fitness > best) {
                self.best = Some((fitness, lines, delimiter));
            }
            complete |= fitness.complete;
        }
        complete
    }

    /// The header by its shape. Where columns are bound, a line that names fewer of them is none.
    fn by_shape(&mut self, plant: &Plant) -> Option<((usize, usize), u8)> {
        let lines: Vec<&[u8]> = self.lines.iter().map(|line| line.bytes.as_slice()).collect();
        let Shape { header, delimiter, names, .. } = shape(&lines, &mut self.splitter)?;
        let is_best = || self.best.is_none_or(|(best, ..)| best <= fitness(&names, plant));
        (!plant.columns.is_bound() || is_best()).then_some(((header, header), delimiter))
    }

    fn joined(&self, first: usize, last: usize) -> Vec<u8> {
        let lines: Vec<&[u8]> =
            self.lines.range(first..=last).map(|line| line.bytes.as_slice()).collect();
        lines.join(&b'\n')
    }

    /// Whether the file has one reading a row: its header, where no other line is a better one, or where
    /// the plant file takes the column of all readings for a channel.
    pub(crate) fn long_form(&self, plant: &Plant) -> Option<(u64, String, String)> {
        let complete = self.best.is_some_and(|(fitness, ..)| fitness.complete);
        self.long_form.clone().filter(|(_, _, value)| {
            let value = value.to_lowercase();
            let mut bound = plant.columns.roles.values();
            !complete || bound.any(|binding| is_same(binding.column.trim(), &value))
        })
    }

    /// The header and the lines below it; `None` when no line can be one.
    pub(crate) fn finish(mut self, plant: &Plant) -> Option<(Header, VecDeque<Kept>)> {
        let complete = self.best.filter(|(fitness, ..)| fitness.complete);
        let best = complete.map(|(_, lines, delimiter)| (lines, delimiter));
        // No line has all that is wanted: a message shows the one above the rows, or the best one, or the
        // first one with several cells.
        let found = best
            .or_else(|| self.by_shape(plant))
            .or_else(|| self.best.map(|(_, lines, delimiter)| (lines, delimiter)));
        let ((first, last), delimiter) = match found {
            Some(found) => found,
            None => self.lines.iter().enumerate().find_map(|(index, line)| {
                let splitter = &mut self.splitter;
                DELIMITERS.into_iter().find_map(|delimiter| {
                    names(splitter, &line.bytes, delimiter)
                        .filter(|names| names.len() > 2)
                        .map(|_names| ((index, index), delimiter))
                })
            })?,
        };
        let rest = self.lines.split_off(last + 1);
        let (line, bytes) = (self.lines.get(first)?.number, self.joined(first, last));
        let mut names = names(&mut self.splitter, &bytes, delimiter)?;
        while names.last().is_some_and(String::is_empty) {
            names.pop();
        }
        let width = names.len();
        let above = self.lines.drain(..first).map(|line| line.bytes).collect();
        let header = Header { line, delimiter, names, width, bytes, above };
        Some((header, rest))
    }
}

/// The cells of a line as names; `None` when the delimiter does not part it.
pub(crate) fn names(splitter: &mut Splitter, line: &[u8], delimiter: u8) -> Option<Vec<String>> {
    let cells = splitter.split(line, delimiter).ok().filter(|cells| cells.len() > 1)?;
    // A data row is no header however long it is; a few thousand columns are beyond any logger.
    Some(
        cells
            .iter()
            .take(4096)
            .map(|cell| text(unwrapped(cell.trim_ascii())).trim().replace('\n', " "))
            .collect(),
    )
}

/// The words of a row below the header.
pub(crate) fn descriptions(cells: Cells<'_>) -> Vec<String> {
    cells.iter().map(|cell| text(cell).trim().to_owned()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn find(file: &str) -> Option<(u64, char, Vec<String>, usize)> {
        let mut head = Head::default();
        let plant = Plant::assumed();
        for (number, line) in file.lines().enumerate() {
            let kept =
                Kept { number: number as u64 + 1, bytes: line.as_bytes().to_vec(), ended: true };
            if head.add(kept, &plant) {
                break;
            }
        }
        head.finish(&plant).map(|(header, rest)| {
            (header.line, char::from(header.delimiter), header.names, rest.len())
        })
    }

    #[test]
    fn headers_are_found_below_preambles() {
        let names = ["Time", "FDV", "Hold Temp (°F)", "dP (psi)"];
        let data = "2026-03-08 06:00:00";
        for (delimiter, preamble) in [
            (',', ""),
            (';', "Logger 7\nExported: 2026-03-08, by hand\n\n"),
            ('\t', "Unit;HTST 1\nValve;Time\n"),
            ('|', "a,b,c,d,e\n"),
            (',', "\"Report of the day\n"),
        ] {
            let header = names.join(&delimiter.to_string());
            let file = format!("{preamble}{header}\n{data}\n");
            let expected_line = preamble.lines().count() as u64 + 1;
            let found = find(&file);
            let expected = names.map(ToOwned::to_owned).to_vec();
            assert_eq!(found, Some((expected_line, delimiter, expected, 0)), "{file}");
        }
    }

    #[test]
    fn names_in_quotes_may_hold_line_breaks() {
        let found = find("Logger 7\nTime,\"FDV\nposition\",\"Hold Temp\n(°F)\",dP (psi)\nrow");
        let names = ["Time", "FDV position", "Hold Temp (°F)", "dP (psi)"];
        assert_eq!(found, Some((2, ',', names.map(ToOwned::to_owned).to_vec(), 0)));
    }

    #[test]
    fn without_known_names_the_first_row_of_cells_is_shown() {
        assert_eq!(
            find("a note\nx;y;z\n1;2;3").map(|found| (found.0, found.1, found.2)),
            Some((2, ';', vec!["x".to_owned(), "y".to_owned(), "z".to_owned()]))
        );
        assert_eq!(find("nothing\nat all"), None);
    }
}
