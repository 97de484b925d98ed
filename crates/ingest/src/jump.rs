//! A record that goes on after more than a day.
//!
//! A logger whose clock was never set begins in the year 2000 and goes on today when somebody sets it.
//! That is no record of 26 years with one hole: the samples before have no time that can be trusted.

use crate::error::Error;
use crate::file::FileRows;
use crate::merge::Groups;
use crate::place::{NOWHERE, Placed};
use crate::stamp::DAY;
use plant::Zone;
use trace::{Instant, SourcePosition};

/// Refuses rows that are more than a day apart, though none lies between.
pub(crate) fn check_jumps(
    files: &[FileRows],
    placed: &Placed,
    groups: Option<&Groups>,
    zone: Zone,
) -> Result<(), Error> {
    let at = |row: u32| placed.instants.get(row as usize).copied().unwrap_or(NOWHERE);
    let jump = match groups {
        None => {
            let wide = |pair: &[i64]| matches!(pair, &[one, other] if other - one > DAY);
            placed.instants.windows(2).position(wide).map(|row| (row as u32, row as u32 + 1))
        }
        Some(groups) => {
            let mut before: Option<u32> = None;
            groups.iter().filter_map(|rows| rows.first().copied()).find_map(|row| {
                let before = before.replace(row)?;
                (at(row) - at(before) > DAY).then_some((before, row))
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
