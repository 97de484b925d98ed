//! What to draw of one channel over the visible columns of pixels.
//!
//! A piece is a stretch of valid samples without a gap inside. Within a column of pixels the
//! first piece, which may come in from the left, and the last, which may go out to the right, each
//! give their first, last, least and greatest sample. Of everything in between, be it a thousand
//! pieces, the least and the greatest sample are kept, joined only when they are of one piece. So
//! the number of points is bounded, and the least and greatest of each column are always there.

use crate::columns::Columns;
use crate::polylines::Polylines;
use crate::pyramid::Pyramid;
use std::hint::black_box;
use std::ops::Range;

/// A column of pixels gives no more samples than this.
pub const POINTS_PER_COLUMN: usize = 10;

/// With up to this many samples a column, all are drawn: about as many would be kept anyway.
const ALL_BELOW: usize = 4;

/// For so many columns at a time what they are drawn from is fetched before it is used.
const AHEAD: usize = 128;
/// So many samples of a channel lie in the processor's caches anyway.
const SHORT: usize = 1 << 17;

/// A channel, ready to be drawn.
#[derive(Debug, Clone, Copy)]
pub struct Curve<'a> {
    /// The channel's readings.
    pub mantissas: &'a [i64],
    /// The samples after which a gap follows, in order.
    pub gaps: &'a [usize],
    /// Built from `mantissas`.
    pub pyramid: &'a Pyramid,
}

impl Curve<'_> {
    /// Fills `lines` with what to draw on `columns`: real valid samples only, and one beyond each
    /// side, so that lines run off the edge.
    pub fn visible(&self, columns: &Columns, lines: &mut Polylines) {
        lines.clear();
        let outer = columns.outer();
        let mut pen = Pen { curve: self, lines, last: None, piece_end: 0 };
        if outer.len() <= columns.len().saturating_mul(ALL_BELOW) {
            pen.draw_all(outer);
            return;
        }
        // Before the first column stands the sample beyond the left edge, if there is one.
        let mut end = outer.start;
        let is_long = outer.len() > SHORT;
        for borders in columns.borders().chunks(AHEAD) {
            if is_long {
                black_box(self.pyramid.look_ahead(self.mantissas, borders));
            }
            for &border in borders {
                pen.draw_column(end..border);
                end = border;
            }
        }
        pen.draw_column(end..outer.end);
    }

    /// The piece around the valid sample `sample`.
    fn piece(&self, sample: usize) -> Range<usize> {
        let stretch = self.pyramid.stretch(sample);
        let next_gap = self.gaps.partition_point(|&gap| gap < sample);
        let last_gap = next_gap.checked_sub(1).and_then(|index| self.gaps.get(index));
        let start = last_gap.map_or(stretch.start, |gap| stretch.start.max(gap + 1));
        let end = self.gaps.get(next_gap).map_or(stretch.end, |gap| stretch.end.min(gap + 1));
        start..end
    }
}

/// Puts samples down from left to right and lifts where a piece ends.
struct Pen<'a, 'b> {
    curve: &'a Curve<'a>,
    lines: &'b mut Polylines,
    last: Option<usize>,
    /// Where the piece of the last sample ends.
    piece_end: usize,
}

impl Pen<'_, '_> {
    /// Draws to a valid sample that is not before the last one.
    fn draw(&mut self, sample: usize) {
        if let Some(&mantissa) = self.curve.mantissas.get(sample) {
            self.draw_known(sample, mantissa);
        }
    }

    /// The same with the sample's reading at hand.
    fn draw_known(&mut self, sample: usize, mantissa: i64) {
        if self.last == Some(sample) {
            return;
        }
        let begins = sample >= self.piece_end;
        if begins {
            self.piece_end = self.curve.piece(sample).end;
        }
        self.lines.push(sample, mantissa, begins);
        self.last = Some(sample);
    }

    fn draw_extremes(&mut self, samples: Range<usize>) {
        let extremes = self.curve.pyramid.least_and_greatest(self.curve.mantissas, samples);
        if let Some((least, greatest)) = extremes {
            let (first, last) =
                if least.0 <= greatest.0 { (least, greatest) } else { (greatest, least) };
            self.draw_known(first.0, first.1);
            self.draw_known(last.0, last.1);
        }
    }

    /// The first valid sample of some that are not before the last drawn one.
    fn first_valid(&self, samples: Range<usize>) -> Option<usize> {
        if samples.start < self.piece_end {
            return (!samples.is_empty()).then_some(samples.start);
        }
        self.curve.pyramid.next_valid(samples.start).filter(|&sample| sample < samples.end)
    }

    /// Every valid sample.
    fn draw_all(&mut self, samples: Range<usize>) {
        let mut next = self.first_valid(samples.clone());
        while let Some(sample) = next {
            self.draw(sample);
            let end = self.piece_end.min(samples.end);
            for sample in sample + 1..end {
                self.draw(sample);
            }
            next = self.first_valid(end..samples.end);
        }
    }

    /// The samples that count of one column of pixels.
    fn draw_column(&mut self, samples: Range<usize>) {
        let Some(first) = self.first_valid(samples.clone()) else {
            return;
        };
        self.draw(first);
        let head_end = self.piece_end.min(samples.end);
        self.draw_extremes(first..head_end);
        self.draw(head_end - 1);
        if head_end == samples.end {
            return;
        }
        let last = self.curve.pyramid.last_valid(samples.end);
        if let Some(last) = last.filter(|&last| last >= head_end) {
            let tail_start = self.curve.piece(last).start.max(head_end);
            self.draw_extremes(head_end..tail_start);
            self.draw(tail_start);
            self.draw_extremes(tail_start..last + 1);
            self.draw(last);
        }
    }
}
