//! The exceptions as bands through all plots: the outer bound, and what was observed within it.

use analysis::{Exception, Rule};
use trace::{Instant, Interval};

/// An exception's place along the axis of time, in the units of the drawing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// Its place in the audit's list.
    pub index: usize,
    /// Its rule.
    pub rule: Rule,
    /// The outer bound, from and to.
    pub outer: (f32, f32),
    /// What was observed, from and to.
    pub observed: (f32, f32),
}

/// How bands are drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grain {
    /// The least width of a band: what is shorter is drawn as wide, about its middle.
    pub least: f32,
    /// A band that reaches no further than this beyond one of the same rule would not be seen.
    pub apart: f32,
}

/// The bands that touch `shown`, in order of time; of those of one rule that would lie on the same
/// place only the first, and that of the exception `keep`.
pub fn bands(
    exceptions: &[Exception],
    shown: Interval,
    x: impl Fn(Instant) -> f32,
    grain: Grain,
    keep: Option<usize>,
) -> Vec<Band> {
    let mut bands: Vec<Band> = Vec::new();
    let mut reach = [f32::NEG_INFINITY; Rule::ALL.len()];
    for (index, exception) in exceptions.iter().enumerate() {
        let outer = exception.outer;
        if outer.end() < shown.start() || outer.start() > shown.end() {
            continue;
        }
        let wide = |interval: Interval| {
            let (from, to) = (x(interval.start()), x(interval.end()));
            let more = (grain.least - (to - from)).max(0.0) / 2.0;
            (from - more, to + more)
        };
        let band = Band {
            index,
            rule: exception.rule,
            outer: wide(outer),
            observed: wide(exception.observed),
        };
        let reach = &mut reach[exception.rule.place()];
        if band.outer.1 > *reach + grain.apart || keep == Some(index) {
            *reach = band.outer.1;
            bands.push(band);
        }
    }
    bands
}
