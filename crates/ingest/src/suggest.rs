//! What a message offers to copy into the plant file.

use crate::cells::{Cells, Splitter};
use crate::input::text;
use crate::stamp::{StampReader, is_date, is_time_of_day};

/// Where the stamp of a row stands: one cell, or a date and a time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum StampCells {
    Whole(usize),
    Apart { date: usize, time: usize },
}

/// The cells of a row that hold its stamp, as far as their look tells.
pub(crate) fn stamp_cells(cells: Cells<'_>) -> Option<StampCells> {
    let find = |holds: &dyn Fn(&[u8]) -> bool| cells.iter().position(holds);
    // Numbers alone may be seconds since the epoch, or anything.
    let is_number = |cell: &[u8]| cell.trim_ascii().iter().all(u8::is_ascii_digit);
    let whole = find(&|cell| !is_number(cell) && StampReader::default().stamp(cell, 1).is_some());
    whole.map(StampCells::Whole).or_else(|| {
        let date = find(&|cell| !is_number(cell) && is_date(cell))?;
        let time = find(&|cell| !is_number(cell) && is_time_of_day(cell))?;
        Some(StampCells::Apart { date, time })
    })
}

/// The lines of a plant file that bind date and time, by the first row below a header that has a stamp.
pub(crate) fn time_keys<'a>(
    names: &[String],
    mut below: impl Iterator<Item = &'a [u8]>,
    delimiter: u8,
) -> Option<String> {
    let mut splitter = Splitter::default();
    let name = |column: usize| names.get(column).map_or("", String::as_str);
    let found = below.find_map(|line| stamp_cells(splitter.split(line, delimiter).ok()?))?;
    Some(match found {
        StampCells::Whole(time) => format!("time = {:?}", name(time)),
        StampCells::Apart { date, time } => {
            format!("date = {:?} and time = {:?}", name(date), name(time))
        }
    })
}

/// What a stamp looks like that can't be read, where that tells what to do.
pub(crate) fn odd_stamp(cell: &[u8]) -> Option<&'static str> {
    let shown = text(cell);
    let day: f64 = shown.trim().replace(',', ".").parse().ok()?;
    // From 1954 to 2119 in the one epoch, four years later in the other.
    (20_000.0..80_000.0).contains(&day).then_some(
        "; a number like this is a spreadsheet's count of days, which begins in 1900 or in 1904: give the \
         column a format of date and time there before exporting",
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stamps_are_known_by_their_look() {
        let mut splitter = Splitter::default();
        for (row, expected) in [
            ("1,2026-03-10 06:00:00,FWD", Some(StampCells::Whole(1))),
            ("10.03.2026,06:00:00,FWD", Some(StampCells::Apart { date: 0, time: 1 })),
            ("06:00:00,10/03/2026,FWD", Some(StampCells::Apart { date: 1, time: 0 })),
            ("Date,Time,FDV", None),
            ("1772949600,161,24", None),
            ("06:00:00,161.2,24.3", None),
        ] {
            let cells = splitter.split(row.as_bytes(), b',');
            assert_eq!(cells.ok().and_then(stamp_cells), expected, "{row}");
        }
    }
}
