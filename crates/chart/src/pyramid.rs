//! The extremes of a channel over blocks, blocks of blocks and so on, and its valid stretches.
//!
//! Invalid readings take part in nothing. Of equal readings the earliest is the extreme. The
//! readings themselves stay with the channel; whoever asks hands in the same readings that the
//! pyramid was built from.

use std::ops::Range;
use trace::ChannelView;

/// How many readings a block of the lowest level holds.
pub(crate) const LOWEST: usize = 32;
/// How many blocks a block of the next level holds.
pub(crate) const FACTOR: usize = 8;
/// More levels than a record of as many samples as can be numbered has.
const LEVELS: usize = 12;
/// So many levels, from the lowest, are too long to lie in the processor's caches.
const FAR: usize = 3;
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
    /// Any reading is below this least and above this greatest: a channel keeps its mantissas
    /// well within 64 bits.
    const EMPTY: Self =
        Self { least: i64::MAX, greatest: i64::MIN, least_at: NOWHERE, greatest_at: NOWHERE };

    /// The extremes of consecutive readings, the first of which is sample `first`.
    fn of_readings(mantissas: &[i64], first: usize) -> Self {
        let mut block = Self::EMPTY;
        for (sample, &mantissa) in (first as u32..).zip(mantissas) {
            let valid = ChannelView::is_valid(mantissa);
            // Selections without branches: whether a reading is an extreme can't be predicted.
            let (least, greatest) =
                (valid && mantissa < block.least, valid && mantissa > block.greatest);
            block.least = if least { mantissa } else { block.least };
            block.least_at = if least { sample } else { block.least_at };
            block.greatest = if greatest { mantissa } else { block.greatest };
            block.greatest_at = if greatest { sample } else { block.greatest_at };
        }
        block
    }

    /// The extremes of consecutive blocks.
    fn of_blocks(blocks: &[Self]) -> Self {
        Self::EMPTY.and_then(blocks)
    }

    /// The extremes of this block and of blocks that follow it. Without branches as well: the
    /// processor then fetches many blocks at a time instead of guessing which are needed.
    fn and_then(mut self, blocks: &[Self]) -> Self {
        for other in blocks {
            let (least, greatest) = (other.least < self.least, other.greatest > self.greatest);
            self.least = if least { other.least } else { self.least };
            self.least_at = if least { other.least_at } else { self.least_at };
            self.greatest = if greatest { other.greatest } else { self.greatest };
            self.greatest_at = if greatest { other.greatest_at } else { self.greatest_at };
        }
        self
    }

    fn is_lower(self, other: Self) -> bool {
        (self.least, self.least_at) < (other.least, other.least_at)
    }

    fn is_higher(self, other: Self) -> bool {
        self.greatest > other.greatest
            || (self.greatest == other.greatest && self.greatest_at < other.greatest_at)
    }

    fn grows_by(self, other: Self) -> bool {
        other.is_lower(self) || other.is_higher(self)
    }

    /// Adds a block from anywhere.
    fn take(&mut self, other: Self) {
        if other.is_lower(*self) {
            (self.least, self.least_at) = (other.least, other.least_at);
        }
        if other.is_higher(*self) {
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
        let lowest: Vec<Block> = mantissas
            .chunks(LOWEST)
            .enumerate()
            .map(|(index, chunk)| Block::of_readings(chunk, index * LOWEST))
            .collect();
        let mut levels = vec![lowest];
        while let Some(below) = levels.last()
            && below.len() > 1
        {
            let level = below.chunks(FACTOR).map(Block::of_blocks).collect();
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
        let (least, greatest) = self.least_and_greatest(mantissas, samples)?;
        Some(Extremes { least: least.0, greatest: greatest.0 })
    }

    /// The same, each sample with its reading.
    pub(crate) fn least_and_greatest(
        &self,
        mantissas: &[i64],
        samples: Range<usize>,
    ) -> Option<((usize, i64), (usize, i64))> {
        let end = samples.end.min(self.samples).min(mantissas.len());
        let start = samples.start.min(end);
        let found = self.gather(mantissas, start..end);
        let least = (found.least_at as usize, found.least);
        let greatest = (found.greatest_at as usize, found.greatest);
        (found.least_at != NOWHERE).then_some((least, greatest))
    }

    /// Looks at all that the extremes on either side of some borders will be read from, and gives
    /// a figure that means nothing. The looks don't depend on one another, so the processor
    /// fetches many at a time; in a long record each one alone would wait for the memory.
    pub(crate) fn look_ahead(&self, mantissas: &[i64], borders: &[usize]) -> i64 {
        let mut seen = 0;
        for &border in borders {
            for sample in [border.saturating_sub(1), border] {
                seen ^= mantissas.get(sample).copied().unwrap_or_default();
            }
            let mut block = border / LOWEST;
            for level in self.levels.iter().take(FAR) {
                let group = block / FACTOR * FACTOR;
                if block != group {
                    // A line of a cache holds three blocks at most.
                    for block in (group..group + FACTOR).step_by(2) {
                        seen ^= level.get(block).map_or(0, |block| block.least);
                    }
                }
                block /= FACTOR;
            }
        }
        seen
    }

    /// The extremes of `samples`.
    ///
    /// Whole blocks come first. The rest at either end is read only if the block around it holds
    /// something beyond what was found; mostly it does not, and a look into the record is saved.
    fn gather(&self, mantissas: &[i64], samples: Range<usize>) -> Block {
        let head = samples.start.next_multiple_of(LOWEST).min(samples.end);
        let tail = (samples.end / LOWEST * LOWEST).max(head);
        let mut found = self.whole_blocks(head.div_ceil(LOWEST)..tail / LOWEST);
        for rest in [samples.start..head, tail..samples.end] {
            let around = self.levels.first().and_then(|blocks| blocks.get(rest.start / LOWEST));
            if !rest.is_empty() && around.is_none_or(|&around| found.grows_by(around)) {
                found.take(Block::of_readings(&mantissas[rest.clone()], rest.start));
            }
        }
        found
    }

    /// The extremes of whole blocks of the lowest level, from left to right: up the levels as long
    /// as fewer blocks of the next one do, and down again.
    fn whole_blocks(&self, mut blocks: Range<usize>) -> Block {
        let mut found = Block::EMPTY;
        let mut tails = [const { 0..0 }; LEVELS];
        for (level, rest) in self.levels.iter().zip(&mut tails) {
            let head = blocks.start.next_multiple_of(FACTOR).min(blocks.end);
            let tail = (blocks.end / FACTOR * FACTOR).max(head);
            found = found.and_then(level.get(blocks.start..head).unwrap_or(&[]));
            *rest = tail..blocks.end;
            if head >= tail {
                break;
            }
            blocks = head / FACTOR..tail / FACTOR;
        }
        for (level, rest) in self.levels.iter().zip(tails).rev() {
            found = found.and_then(level.get(rest).unwrap_or(&[]));
        }
        found
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
