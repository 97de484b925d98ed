//! Which samples fall into which column of pixels.

use crate::pyramid::{FACTOR, LOWEST};
use std::ops::Range;
use trace::{Duration, Instant, Interval};

/// Where columns hold so many blocks of a level of the pyramid and more, borders between columns
/// lie where such blocks begin: at most this part of a pixel earlier, and no block of that level
/// or below is read in parts.
const BLOCKS: usize = 16;

/// The visible samples by column of pixels: worked out once a frame for all channels of a record,
/// in a buffer that can be filled again for the next frame.
#[derive(Debug, Clone, Default)]
pub struct Columns {
    /// The first sample of each column, and at the end the first beyond the last column. A sample
    /// on the border of two columns belongs to the later one, as do the few before it that belong
    /// to the same block where columns are dense and that lie less than a sixteenth of a column
    /// before the border.
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
        let block = block_of((end - first) / count as usize);
        let part = range.duration().milliseconds() / count / BLOCKS as i64;
        for column in 1..count {
            let border = start_of_column(range, column, count);
            // Sampling is regular for most of a record, so a column is as wide as the one before.
            let next = first_not_before(&instants[start..end], border, width) + start;
            width = next - start;
            start = next;
            // Before a gap, or where samples are rarer than elsewhere, a block would reach far.
            let snapped = (start / block * block).max(first);
            let near = border - Duration::from_milliseconds(part);
            let is_near = snapped < start && instants.get(snapped).is_some_and(|&at| at >= near);
            self.borders.push(if is_near { snapped } else { start });
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

    /// The first sample of a column; where the column is empty, that of the next one.
    pub fn first_of(&self, column: usize) -> Option<usize> {
        self.borders.get(column).copied().filter(|_| column < self.len())
    }

    /// The first sample of each column, and the first beyond the last column.
    pub(crate) fn borders(&self) -> &[usize] {
        &self.borders
    }

    /// The visible samples and one beyond each side.
    pub(crate) fn outer(&self) -> Range<usize> {
        self.outer.clone()
    }
}

/// How many samples the largest blocks hold of which so many samples are [`BLOCKS`] or more.
fn block_of(samples: usize) -> usize {
    let (mut block, mut next) = (1, LOWEST);
    while samples >= next * BLOCKS {
        (block, next) = (next, next * FACTOR);
    }
    block
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
