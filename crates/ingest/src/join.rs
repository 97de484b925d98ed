//! The readings of another logger, joined to the rows of the record.
//!
//! A row takes what the other logger read since the row before it, and where it read nothing at the
//! very instant of the row, the first reading after it as well; where it read nothing since the row
//! before, its last reading counts. One of them lies no further from the row than the tolerance that the plant
//! file states, or the row has no reading. Of rows that are so near that no gap is told between them all
//! readings since the row before count then: one that is too far away to vouch for a row can still tell that
//! something was short between two of them. Of several the worst counts, by the rule for rows of one instant (`merge`): what stood
//! between two readings is not known, so the milk gets neither the better of the two nor a figure in between,
//! and a short reading between two rows is not lost. Where there is none the row has no reading.

use crate::merge::{Groups, merge};
use crate::part::Part;
use crate::stamp::Stamp;
use crate::store::Store;
use plant::{AnyUnit, LONGEST_GAP, Logger, Plant};
use trace::{Duration, Instant, Interval, Unplaced, ValveState};

/// What could not be joined.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) struct Left {
    /// Rows of the record without a reading of the logger.
    pub(crate) rows: u64,
    /// Readings of the logger that belong to no row.
    pub(crate) unused: u64,
}

/// The samples of another logger as columns beside the rows of the record.
pub(crate) fn join(
    store: Store,
    (rows, readings): (&[Instant], &[Instant]),
    tolerance: Duration,
    plant: &Plant,
) -> (Store, Left) {
    // Rows further apart than this have a gap between them, which is told by itself.
    let longest = plant.limits.gap.unwrap_or_default().max(LONGEST_GAP);
    let (groups, left) = groups((rows, readings), tolerance, longest);
    (merge(store, &groups, plant), left)
}

/// Which readings belong to each row; of rows no more than `longest` apart all between them.
fn groups(
    (rows, readings): (&[Instant], &[Instant]),
    tolerance: Duration,
    longest: Duration,
) -> (Groups, Left) {
    let mut groups = Vec::with_capacity(rows.len());
    let mut rows_without = 0;
    let mut taken = vec![false; readings.len()];
    // Where the readings after the row before begin.
    let mut since = 0;
    let is_near = |reading: usize, row: Instant| {
        readings.get(reading).is_some_and(|&at| {
            let apart = if at > row { at.since(row) } else { row.since(at) };
            apart <= tolerance
        })
    };
    let mut before = None;
    for &row in rows {
        let upto = since
            + readings.get(since..).unwrap_or_default().partition_point(|&reading| reading <= row);
        let first = (since..upto).find(|&reading| is_near(reading, row)).unwrap_or(upto);
        let start = match first.checked_sub(1) {
            Some(before) if first == upto && is_near(before, row) => before,
            _ => first,
        };
        let is_exact = upto.checked_sub(1).is_some_and(|last| readings.get(last) == Some(&row));
        let end = if !is_exact && is_near(upto, row) { upto + 1 } else { upto };
        let is_step = before.replace(row).is_some_and(|before| row.since(before) <= longest);
        let start = if is_step && start < end { start.min(since) } else { start };
        rows_without += u64::from(start == end);
        taken.get_mut(start..end).unwrap_or_default().fill(true);
        groups.push(start as u32..end as u32);
        since = upto;
    }
    let unused = taken.iter().filter(|&&taken| !taken).count() as u64;
    (Groups::of(groups), Left { rows: rows_without, unused })
}

/// The columns of a logger whose files are missing.
pub(crate) fn absent(logger: &Logger, rows: usize) -> Store {
    let mut store = Store { stamps: vec![Stamp::UNREADABLE; rows], ..Store::default() };
    for (&role, binding) in &logger.columns.roles {
        let unit = binding.unit.as_deref().and_then(|word| AnyUnit::from_word(role, word));
        if let Some(unit) = unit {
            let range = binding.range.unwrap_or_else(|| unit.physical_range(role));
            // There is no other channel whose unit could differ.
            store.open(role, unit, range).unwrap_or_default();
        }
        store.open_switch(role);
    }
    store
}

impl Part {
    /// Takes rows of another logger that have no place in time. What it read then is not known at the rows
    /// of the record between its rows around them; the position is the worst that these rows have.
    pub(crate) fn take_unplaced(&mut self, unplaced: Vec<Unplaced>) {
        for mut group in unplaced {
            let (start, end) = (group.interval.start(), group.interval.end());
            let from = self.instants.partition_point(|&row| row <= start).saturating_sub(1);
            let to = self.instants.partition_point(|&row| row < end);
            let to = to.min(self.instants.len().saturating_sub(1)).max(from);
            let (Some(&first), Some(&last)) = (self.instants.get(from), self.instants.get(to))
            else {
                continue;
            };
            group.interval = Interval::between(first, last);
            let positions = self.store.valve.get(from..=to).unwrap_or_default();
            let worst = positions.iter().copied().max().unwrap_or(ValveState::Unknown);
            for row in &mut group.rows {
                row.valve = worst;
            }
            self.unplaced.push(group);
        }
        self.unplaced.sort_by(|one, other| {
            one.interval.cmp(&other.interval).then_with(|| one.position.cmp(&other.position))
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn seconds(seconds: &[i64]) -> Vec<Instant> {
        seconds.iter().map(|one| Instant::from_unix_milliseconds(one * 1000)).collect()
    }

    /// The readings of each row, with what is left.
    fn taken(rows: &[i64], readings: &[i64], tolerance: i64) -> (Vec<Vec<u32>>, Left) {
        let (rows, readings) = (seconds(rows), seconds(readings));
        let (groups, left) =
            groups((&rows, &readings), Duration::from_seconds(tolerance), LONGEST_GAP);
        (groups.iter().map(<[u32]>::to_vec).collect(), left)
    }

    #[test]
    fn equal_stamps_are_joined_one_to_one() {
        let (groups, left) = taken(&[1, 2, 3], &[1, 2, 3], 1);
        assert_eq!(groups, [vec![0], vec![1], vec![2]]);
        assert_eq!(left, Left::default());
    }

    #[test]
    fn a_row_between_two_readings_takes_both() {
        let (groups, left) = taken(&[10, 20, 30], &[8, 18, 28, 32], 2);
        assert_eq!(groups, [vec![0], vec![1], vec![2, 3]]);
        assert_eq!(left, Left::default());
        // Nothing since the row before: the last reading counts, as long as it is near.
        let (groups, left) = taken(&[10, 11, 12, 13], &[10, 14], 2);
        assert_eq!(groups, [vec![0], vec![0], vec![0, 1], vec![1]]);
        assert_eq!(left, Left::default());
    }

    #[test]
    fn no_reading_between_two_rows_is_lost() {
        let (groups, left) = taken(&[10, 15], &[10, 11, 12, 13, 14, 15], 5);
        assert_eq!(groups, [vec![0], vec![1, 2, 3, 4, 5]]);
        assert_eq!(left, Left::default());
    }

    /// A reading between two rows that vouches for neither tells all the same that something was short.
    #[test]
    fn no_reading_between_two_near_rows_is_lost_to_the_tolerance() {
        let readings: Vec<i64> = (10..=40).collect();
        let (groups, left) = taken(&[10, 20, 40], &readings, 2);
        assert_eq!(groups[1], (1..=10).collect::<Vec<u32>>());
        // Twenty seconds apart there is a gap, which is told by itself.
        assert_eq!(groups[2], [28, 29, 30]);
        assert_eq!(left, Left { rows: 0, unused: 17 });
        // Without any within the tolerance there is no reading at all.
        let (groups, left) = taken(&[10, 20], &[10, 13, 15], 2);
        assert_eq!((groups, left), (vec![vec![0], vec![]], Left { rows: 1, unused: 2 }));
    }

    #[test]
    fn what_is_further_away_belongs_to_no_row() {
        let (groups, left) = taken(&[10, 20, 30], &[1, 10, 15, 26, 40], 2);
        assert_eq!(groups, [vec![1], vec![], vec![]]);
        assert_eq!(left, Left { rows: 2, unused: 4 });
        let (groups, left) = taken(&[10], &[], 2);
        assert_eq!((groups, left), (vec![vec![]], Left { rows: 1, unused: 0 }));
    }
}
