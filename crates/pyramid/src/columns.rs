//! Which samples fall into which column of pixels.

use crate::pyramid::LOWEST;
use std::ops::Range;
use trace::{Duration, Instant, Interval};

/// From this many samples a column on, borders between columns lie where blocks of the pyramid
/// begin: less than a thirtieth of a pixel earlier, and no block is read in parts.
const DENSE: i64 = 32 * LOWEST as i64;

/// The visible samples by column of pixels: worked out once a frame for all channels of a record,
/// in a buffer that can be filled again for the next frame.
#[derive(Debug, Clone, Default)]
pub struct Columns {
    /// The first sample of each column, and at the end the first beyond the last column. A sample
    /// on the border of two columns belongs to the later one, as do the few before it that belong
    /// to the same block where columns are dense.
    borders: Vec<usize>,
    /// The visible samples and one beyond each side.
    outer: Range<usize>,
}

impl Columns {
    /// No column yet.
    pub fn new() -> Self {
        Self::default()
    }

    /// Divides `range` into `count` columns of pixels, at least one.
    pub fn set(&mut self, instants: &[Instant], range: Interval, count: usize) {
        let first = instants.partition_point(|&instant| instant < range.start());
        let end = instants.partition_point(|&instant| instant <= range.end());
        self.outer = first.saturating_sub(1)..(end + 1).min(instants.len());
        self.borders.clear();
        self.borders.push(first);
        let count = count.max(1) as i64;
        let (mut start, mut width) = (first, 0);
        let is_dense = (end - first) as i64 / count >= DENSE;
        for column in 1..count {
            let border = start_of_column(range, column, count);
            // Sampling is regular for most of a record, so a column is as wide as the one before.
            let next = first_not_before(&instants[start..end], border, width) + start;
            width = next - start;
            start = next;
            let snapped = if is_dense { start / LOWEST * LOWEST } else { start };
            self.borders.push(snapped.max(first));
        }
        self.borders.push(end);
    }

    /// The number of columns.
    pub fn len(&self) -> usize {
        self.borders.len().saturating_sub(1)
    }

    /// Whether no column has been set.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The samples of each column, from left to right.
    pub fn samples(&self) -> impl Iterator<Item = Range<usize>> {
        self.borders.windows(2).map(|pair| pair[0]..pair[1])
    }

    /// The visible samples and one beyond each side.
    pub(crate) fn outer(&self) -> Range<usize> {
        self.outer.clone()
    }
}

/// Where column `column` of `count` begins, rounded down to the millisecond.
fn start_of_column(range: Interval, column: i64, count: i64) -> Instant {
    let span = i128::from(range.duration().milliseconds());
    let offset = span * i128::from(column) / i128::from(count);
    range.start() + Duration::from_milliseconds(offset as i64)
}

/// The index of the first instant that is not before `border`. The search widens around `guess`,
/// so that a good guess touches little of a long record.
fn first_not_before(instants: &[Instant], border: Instant, guess: usize) -> usize {
    let is_before = |index: usize| instants.get(index).is_some_and(|&instant| instant < border);
    let (mut low, mut high) = (guess.min(instants.len()), guess.min(instants.len()));
    let mut reach = 1;
    while low > 0 && !is_before(low - 1) {
        high = low - 1;
        low = low.saturating_sub(reach);
        reach *= 2;
    }
    reach = 1;
    while is_before(high) {
        low = high + 1;
        high = (high + reach).min(instants.len());
        reach *= 2;
    }
    low + instants[low..high].partition_point(|&instant| instant < border)
}
