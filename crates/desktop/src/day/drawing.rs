//! What is kept from one frame to the next: the columns of pixels and the decimated lines stay the
//! same while the window of time and its width do, for instance while the pointer moves.

use crate::day::overview;
use crate::day::series::Series;
use chart::{Columns, Polylines};
use trace::{Instant, Interval, Role};

/// What was drawn last.
#[derive(Debug, Default)]
pub struct Drawing {
    columns: Columns,
    /// What the columns were set for.
    set_for: Option<(Interval, usize)>,
    lines: Vec<Line>,
    pub(super) overview: Option<overview::Kept>,
}

/// The line of a channel, or of the residence time.
#[derive(Debug)]
struct Line {
    of: Option<Role>,
    /// Whether it was filled for the columns that are set.
    is_filled: bool,
    line: Polylines,
}

impl Drawing {
    /// Divides `shown` into `count` columns of pixels.
    pub fn set(&mut self, instants: &[Instant], shown: Interval, count: usize) {
        if self.set_for == Some((shown, count)) {
            return;
        }
        self.set_for = Some((shown, count));
        self.columns.set(instants, shown, count);
        for line in &mut self.lines {
            line.is_filled = false;
        }
    }

    /// The columns of pixels.
    pub const fn columns(&self) -> &Columns {
        &self.columns
    }

    /// Makes sure that the lines of `series` are there.
    pub fn fill(&mut self, series: &[Series<'_>]) {
        for one in series {
            let place = self.lines.iter().position(|line| line.of == one.series.role());
            let place = place.unwrap_or_else(|| {
                let line = Line { of: one.series.role(), is_filled: false, line: Polylines::new() };
                self.lines.push(line);
                self.lines.len() - 1
            });
            if let Some(line) = self.lines.get_mut(place).filter(|line| !line.is_filled) {
                one.series.curve().visible(&self.columns, &mut line.line);
                line.is_filled = true;
            }
        }
    }

    /// The line that was filled last for a series.
    pub fn line(&self, series: &Series<'_>) -> Option<&Polylines> {
        let line = self.lines.iter().find(|line| line.of == series.series.role());
        line.map(|line| &line.line)
    }
}
