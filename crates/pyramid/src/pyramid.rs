//! The extremes of a channel over blocks, blocks of blocks and so on, and its valid stretches.
//!
//! Invalid readings take part in nothing. Of equal readings the earliest is the extreme. The
//! readings themselves stay with the channel; whoever asks hands in the same readings that the
//! pyramid was built from.

use std::ops::Range;
use trace::ChannelView;

/// How many readings a block of the lowest level holds.
const LOWEST: usize = 32;
/// How many blocks a block of the next level holds.
const FACTOR: usize = 16;
/// No sample has this index.
const NOWHERE: u32 = u32::MAX;

/// The least and the greatest valid reading of a stretch of samples, by their indices.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Extremes {
    /// The sample with the least reading, the first of equals.
    pub least: usize,
    /// The sample with the greatest reading, the first of equals.
    pub greatest: usize,
}

/// The values stand beside the indices so that a query does not jump about in the channel.
#[derive(Debug, Clone, Copy)]
struct Block {
    least: i64,
    greatest: i64,
    least_at: u32,
    greatest_at: u32,
}

impl Block {
    const EMPTY: Self =
        Self { least: i64::MAX, greatest: i64::MIN, least_at: NOWHERE, greatest_at: NOWHERE };

    fn take_reading(&mut self, mantissa: i64, sample: usize) {
        if ChannelView::is_valid(mantissa) {
            let at = sample as u32;
            self.take(Self { least: mantissa, greatest: mantissa, least_at: at, greatest_at: at });
        }
    }

    fn take(&mut self, other: Self) {
        if (other.least, other.least_at) < (self.least, self.least_at) {
            (self.least, self.least_at) = (other.least, other.least_at);
        }
        if other.greatest > self.greatest
            || (other.greatest == self.greatest && other.greatest_at < self.greatest_at)
        {
            (self.greatest, self.greatest_at) = (other.greatest, other.greatest_at);
        }
    }
}

/// A stretch of valid readings with an invalid one, or the record's end, on either side.
#[derive(Debug, Clone, Copy)]
struct Stretch {
    start: u32,
    end: u32,
}

/// The pyramid of one channel: about a tenth of the channel's own size.
#[derive(Debug, Clone)]
pub struct Pyramid {
    samples: usize,
    levels: Vec<Vec<Block>>,
    valid: Vec<Stretch>,
}

impl Pyramid {
    /// The pyramid of a channel's [`trace::Channel::mantissas`].
    pub fn build(mantissas: &[i64]) -> Self {
        let samples = mantissas.len().min(NOWHERE as usize);
        let mantissas = &mantissas[..samples];
        let mut lowest = Vec::with_capacity(samples.div_ceil(LOWEST));
        for (index, chunk) in mantissas.chunks(LOWEST).enumerate() {
            let mut block = Block::EMPTY;
            for (offset, &mantissa) in chunk.iter().enumerate() {
                block.take_reading(mantissa, index * LOWEST + offset);
            }
            lowest.push(block);
        }
        let mut levels = vec![lowest];
        while let Some(below) = levels.last()
            && below.len() > 1
        {
            let gather = |blocks: &[Block]| {
                let mut block = Block::EMPTY;
                for &other in blocks {
                    block.take(other);
                }
                block
            };
            let level = below.chunks(FACTOR).map(gather).collect();
            levels.push(level);
        }
        let mut valid = Vec::new();
        let mut next = 0;
        while let Some(start) = first_where(mantissas, next, ChannelView::is_valid) {
            let end = first_where(mantissas, start, |mantissa| !ChannelView::is_valid(mantissa))
                .unwrap_or(samples);
            valid.push(Stretch { start: start as u32, end: end as u32 });
            next = end;
        }
        valid.shrink_to_fit();
        Self { samples, levels, valid }
    }

    /// The number of readings it was built from.
    pub const fn samples(&self) -> usize {
        self.samples
    }

    /// How many bytes it takes.
    pub fn bytes(&self) -> usize {
        let blocks: usize = self.levels.iter().map(Vec::capacity).sum();
        blocks * size_of::<Block>() + self.valid.capacity() * size_of::<Stretch>()
    }

    /// The least and the greatest valid reading among `samples`; `None` where none is valid.
    ///
    /// `mantissas` are those that the pyramid was built from. The cost grows with the logarithm
    /// of the number of samples.
    pub fn extremes(&self, mantissas: &[i64], samples: Range<usize>) -> Option<Extremes> {
        let end = samples.end.min(self.samples).min(mantissas.len());
        let start = samples.start.min(end);
        let mut found = Block::EMPTY;
        let (head, tail) = whole_blocks(start..end, LOWEST);
        for part in [start..head, tail..end] {
            for (sample, &mantissa) in part.clone().zip(&mantissas[part]) {
                found.take_reading(mantissa, sample);
            }
        }
        let (mut start, mut end) = (head / LOWEST, tail / LOWEST);
        for level in &self.levels {
            if start >= end {
                break;
            }
            let (head, tail) = whole_blocks(start..end, FACTOR);
            for part in [start..head, tail..end] {
                level.get(part).into_iter().flatten().for_each(|&block| found.take(block));
            }
            (start, end) = (head / FACTOR, tail / FACTOR);
        }
        (found.least_at != NOWHERE).then_some(Extremes {
            least: found.least_at as usize,
            greatest: found.greatest_at as usize,
        })
    }

    /// The first valid sample that is not before `sample`.
    pub(crate) fn next_valid(&self, sample: usize) -> Option<usize> {
        let after = self.valid.partition_point(|stretch| stretch.end as usize <= sample);
        self.valid.get(after).map(|stretch| sample.max(stretch.start as usize))
    }

    /// The last valid sample before `end`.
    pub(crate) fn last_valid(&self, end: usize) -> Option<usize> {
        let after = self.valid.partition_point(|stretch| (stretch.start as usize) < end);
        let stretch = self.valid.get(after.checked_sub(1)?)?;
        end.min(stretch.end as usize).checked_sub(1)
    }

    /// The stretch of valid samples around the valid sample `sample`.
    pub(crate) fn stretch(&self, sample: usize) -> Range<usize> {
        let after = self.valid.partition_point(|stretch| stretch.end as usize <= sample);
        self.valid
            .get(after)
            .map_or(sample..sample + 1, |stretch| stretch.start as usize..stretch.end as usize)
    }
}

/// The first index from `from` on whose mantissa answers `is`.
fn first_where(mantissas: &[i64], from: usize, is: impl Fn(i64) -> bool) -> Option<usize> {
    let rest = mantissas.get(from..)?;
    rest.iter().position(|&mantissa| is(mantissa)).map(|offset| from + offset)
}

/// Where the blocks of `size` that lie wholly inside the range begin and end.
fn whole_blocks(range: Range<usize>, size: usize) -> (usize, usize) {
    let head = range.start.next_multiple_of(size).min(range.end);
    (head, (range.end / size * size).max(head))
}
