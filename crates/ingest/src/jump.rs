//! A file that goes on after more than a day.
//!
//! A logger whose clock was never set begins in the year 2000 and goes on today when somebody sets it.
//! That is no record of 26 years with one hole: the samples before have no time that can be trusted.
//! What lies between two files is a hole as any other: somebody put them side by side.

use crate::body::FileRows;
use crate::error::Error;
use crate::merge::Groups;
use crate::place::{NOWHERE, Placed};
use crate::stamp::DAY;
use plant::Zone;
use trace::{Instant, SourcePosition};

/// Refuses rows of a file that are more than a day apart, though none lies between.
pub(crate) fn check_jumps(
    files: &[FileRows],
    placed: &Placed,
    groups: Option<&Groups>,
    zone: Zone,
) -> Result<(), Error> {
    let at = |row: u32| placed.instants.get(row as usize).copied().unwrap_or(NOWHERE);
    let file_of = |row: u32| files.iter().position(|file| file.rows.contains(&(row as usize)));
    let is_jump = |from: u32, to: u32| at(to) - at(from) > DAY && file_of(from) == file_of(to);
    let jump = match groups {
        None => {
            let wide = |pair: &[i64]| matches!(pair, &[one, other] if other - one > DAY);
            let steps = (0..).zip(placed.instants.windows(2));
            let mut wide = steps.filter(|(_, pair)| wide(pair)).map(|(row, _)| (row, row + 1));
            wide.find(|&(from, to)| is_jump(from, to))
        }
        Some(groups) => {
            let mut before: Option<u32> = None;
            groups.iter().filter_map(|rows| rows.first().copied()).find_map(|row| {
                let before = before.replace(row)?;
                is_jump(before, row).then_some((before, row))
            })
        }
    };
    let Some((from, to)) = jump else { return Ok(()) };
    let place = |row: u32| {
        let file = files.iter().find(|file| file.rows.contains(&(row as usize)));
        let line = |file: &FileRows| file.lines.of(row as usize - file.rows.start);
        let position = SourcePosition {
            file: file.map_or_else(|| "".into(), |file| file.name.clone()),
            line: file.map_or(1, line),
        };
        let instant = Instant::from_unix_milliseconds(at(row));
        Box::new((position, format!("{} {}", zone.date(instant), zone.clock(instant))))
    };
    Err(Error::Jump { from: place(from), to: place(to) })
}
