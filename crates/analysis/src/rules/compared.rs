//! What the rules that compare a reading with a limit share: the three intervals of a short run,
//! its worst reading and its shortfall (method, section 4).

use crate::context::{Context, Found};
use crate::crossing::{Point, area_below, crossing, on_line};
use crate::exception::{Cause, Exception, Shortfall, Worst};
use crate::holes::UnplacedCount;
use crate::limits::shortfall_symbol;
use crate::rule::Rule;
use crate::verdicts::Run;
use std::cmp::Ordering;
use trace::{Channel, Decimal, Instant, Interval, Ratio, Unit, ValveState, power_of_ten};

/// A rule's channel, whatever its unit, and the limit that holds at a sample.
pub(super) struct Compared<'a> {
    rule: Rule,
    limit: fn(&Context<'_>, usize) -> Ratio,
    mantissas: &'a [i64],
    scale: u8,
    symbol: &'static str,
    shortfall_symbol: &'static str,
}

impl<'a> Compared<'a> {
    pub fn new<U: Unit>(
        rule: Rule,
        channel: &'a Channel<U>,
        limit: fn(&Context<'_>, usize) -> Ratio,
    ) -> Self {
        Self {
            rule,
            limit,
            mantissas: channel.mantissas(),
            scale: channel.scale(),
            symbol: channel.unit().symbol(),
            shortfall_symbol: shortfall_symbol(channel.unit()),
        }
    }

    /// The exceptions of the rule.
    pub fn exceptions(&self, context: &Context<'_>) -> Vec<Exception> {
        let runs = context.judged_runs(|sample| context.verdicts.is_short(sample, self.rule));
        runs.into_iter().map(|run| self.exception(context, run)).collect()
    }
}

impl Compared<'_> {
    fn exception(&self, context: &Context<'_>, run: Run) -> Exception {
        let verdicts = context.verdicts;
        let estimate = Interval::between(
            self.edge(context, run.0, verdicts.before(run.0)),
            self.edge(context, run.1, verdicts.after(run.1)),
        );
        // The allowance ends where the device is fully diverted, not where it leaves forward.
        let within_response = estimate.duration() <= context.plant.limits.response_allowance
            && verdicts
                .after(run.1)
                .is_some_and(|after| verdicts.valve(after) == ValveState::Divert);
        context.complete(Found {
            rule: self.rule,
            causes: vec![Cause::Short],
            samples: run,
            observed: verdicts.observed(run),
            outer: verdicts.outer(run),
            estimate,
            worst: Some(self.worst(context, run)),
            shortfall: Some(self.shortfall(context, run, estimate)),
            within_response,
            unplaced: UnplacedCount::default(),
        })
    }

    fn point(&self, context: &Context<'_>, sample: usize) -> Point {
        Point { at: context.record.instants()[sample], mantissa: self.mantissas[sample] }
    }

    fn value(&self, sample: usize) -> f64 {
        Decimal::new(self.mantissas[sample], self.scale).to_f64()
    }

    /// The estimated end of a run on the side of `neighbour`.
    fn edge(&self, context: &Context<'_>, sample: usize, neighbour: Option<usize>) -> Instant {
        let own = self.point(context, sample);
        let Some(neighbour) = neighbour else {
            return own.at;
        };
        let verdicts = context.verdicts;
        let other = self.point(context, neighbour);
        let limit = (self.limit)(context, sample);
        let crosses = verdicts.is_judged(neighbour)
            && verdicts.is_legal_for(neighbour, self.rule)
            && other.mantissa >= limit.floor_mantissa(self.scale);
        if !crosses {
            // Diverted, unknown, doubtful, or legal only for another product's limit.
            return own.at.midpoint(other.at);
        }
        if other.at < own.at {
            crossing(other, own, self.scale, limit)
        } else {
            crossing(own, other, self.scale, limit)
        }
    }

    fn worst(&self, context: &Context<'_>, (first, last): Run) -> Worst {
        let short_of = |sample: usize| {
            let limit = (self.limit)(context, sample);
            let mantissa = i128::from(self.mantissas[sample]) * limit.denominator();
            Ratio::new(
                limit.numerator() * i128::from(power_of_ten(self.scale)) - mantissa,
                limit.denominator(),
            )
        };
        let mut worst = first;
        let mut greatest: Option<Ratio> = None;
        let mut sample = first;
        while sample <= last {
            // Within a span the limit is one, and the least reading the worst.
            let end = context.span(sample).last.min(last);
            let least = (sample..=end).min_by_key(|&sample| self.mantissas[sample]).unwrap_or(end);
            let short = short_of(least);
            if greatest.is_none_or(|held| compare(short, held) == Ordering::Greater) {
                greatest = Some(short);
                worst = least;
            }
            sample = end + 1;
        }
        Worst {
            value: Decimal::new(self.mantissas[worst], self.scale),
            limit: (self.limit)(context, worst).to_f64(),
            unit: self.symbol,
            at: context.record.instants()[worst],
        }
    }

    /// The area between the limit and the readings. On a step between two samples of the run the
    /// limit of the first one holds; beyond the run's ends the line to a valid neighbour is
    /// followed, and the last reading is held where there is none.
    fn shortfall(&self, context: &Context<'_>, run: Run, estimate: Interval) -> Shortfall {
        let instants = context.record.instants();
        let (first, last) = run;
        let mut area = 0.0;
        for sample in first..last {
            area += area_below(
                instants[sample],
                instants[sample + 1],
                self.value(sample),
                self.value(sample + 1),
                (self.limit)(context, sample).to_f64(),
            );
        }
        let valid =
            |sample: usize| trace::ChannelView::is_valid(self.mantissas[sample]).then_some(sample);
        let edge = |sample: usize, neighbour: Option<usize>, end: Instant| {
            let own = self.value(sample);
            let at_end = neighbour.and_then(valid).map_or(own, |neighbour| {
                on_line(instants[sample], instants[neighbour], own, self.value(neighbour), end)
            });
            let part = Interval::between(instants[sample], end);
            let limit = (self.limit)(context, sample).to_f64();
            // The area does not depend on the direction in time.
            area_below(part.start(), part.end(), own, at_end, limit)
        };
        area += edge(first, context.verdicts.before(first), estimate.start());
        area += edge(last, context.verdicts.after(last), estimate.end());
        Shortfall { value: area, unit: self.shortfall_symbol }
    }
}

fn compare(one: Ratio, other: Ratio) -> Ordering {
    let exact = one
        .numerator()
        .checked_mul(other.denominator())
        .zip(other.numerator().checked_mul(one.denominator()));
    match exact {
        Some((left, right)) => left.cmp(&right),
        None => one.to_f64().total_cmp(&other.to_f64()),
    }
}
