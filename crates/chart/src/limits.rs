//! The limits in a plot, step by step: a limit changes with the product.

use crate::plot_kind::PlotKind;
use analysis::{LimitSpan, Rule};
use case::Case;
use trace::{Decimal, Instant, Interval};

/// A limit while it is in force.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LimitStep<'a> {
    /// When.
    pub interval: Interval,
    /// The rule that it is of.
    pub rule: Rule,
    /// The figure, in the unit of the channel, or in seconds.
    pub figure: f64,
    /// The product's span; `None` for the differential, which is the same for all.
    pub span: Option<&'a LimitSpan>,
}

/// The limits of a plot that are in force while `shown`, in order of time.
pub fn limits(kind: PlotKind, case: &Case, shown: Interval) -> Vec<LimitStep<'_>> {
    let of: fn(&LimitSpan) -> (Rule, f64) = match kind {
        PlotKind::Holding => |span| (Rule::TEMPERATURE, span.limit),
        PlotKind::Residence => |span| {
            let least = Decimal::new(span.minimum_time.milliseconds(), 3);
            (Rule::HOLDING_TIME, least.to_f64())
        },
        PlotKind::Differential => {
            let (interval, figure) = (case.record().interval(), case.audit().differential_limit);
            return vec![LimitStep { interval, rule: Rule::DIFFERENTIAL, figure, span: None }];
        }
        PlotKind::Pressures | PlotKind::Flow | PlotKind::Process => return Vec::new(),
    };
    let instants = case.record().instants();
    let at = |sample: usize| -> Instant { instants.get(sample).copied().unwrap_or_default() };
    let end = |span: &LimitSpan| at((span.last + 1).min(instants.len() - 1));
    let spans = &case.audit().temperature_limits;
    // They are in order of time, without a hole.
    let first = spans.partition_point(|span| end(span) < shown.start());
    let spans = spans.get(first..).unwrap_or_default().iter();
    let spans = spans.take_while(|span| at(span.first) <= shown.end());
    spans
        .map(|span| {
            let (rule, figure) = of(span);
            let interval = Interval::between(at(span.first), end(span));
            LimitStep { interval, rule, figure, span: Some(span) }
        })
        .collect()
}

/// The same with a figure that goes on for another product as one step, which is all that can be seen.
pub fn merged(steps: Vec<LimitStep<'_>>) -> Vec<LimitStep<'_>> {
    let mut merged: Vec<LimitStep<'_>> = Vec::with_capacity(steps.len());
    for step in steps {
        match merged.last_mut() {
            Some(last) if (last.figure - step.figure).abs() < 1e-9 => {
                last.interval = last.interval.hull(step.interval);
            }
            _ => merged.push(step),
        }
    }
    merged
}
