//! The amounts of the run sheet, and the changes of the product (section 8).

use super::told::Told;
use super::{Day, Sample, Span, half_way};
use crate::exact::Exact;
use analysis::Basis;
use trace::{SheetRun, ValveState, VolumeUnit};

/// A change of the product as the interpreter sees it.
#[derive(Debug, Clone, PartialEq)]
pub struct Changed {
    /// From the last sample of the one to the first of the other.
    pub span: Span,
    /// Whether product could go forward.
    pub is_forward: bool,
    /// The least temperature and the limit of the stricter product, where they are told.
    pub temperature: Option<(Exact, Exact)>,
    /// The greatest flow, where it is told.
    pub flow: Option<Exact>,
}

impl Day<'_> {
    /// What the meter saw in forward flow in each run of the sheet, in its own unit.
    pub(super) fn amounts(&self) -> Vec<Option<f64>> {
        let runs = self.record.run_sheet().map_or(&[][..], trace::RunSheet::runs);
        runs.iter().map(|run| self.amount(run, runs)).collect()
    }

    fn amount(&self, run: &SheetRun, runs: &[SheetRun]) -> Option<f64> {
        let own = span_of(run);
        let share = |one: Span, other: Span| one.0 < other.1 && other.0 < one.1;
        let is_claimed =
            runs.iter().any(|other| !std::ptr::eq(other, run) && share(span_of(other), own));
        let is_doubled = self.record.double_spans().iter().any(|span| {
            share((span.start().unix_milliseconds(), span.end().unix_milliseconds()), own)
        });
        let is_inside = self.samples[0].at - own.0 <= self.gap_limit
            && own.1 - self.samples[self.last()].at <= self.gap_limit;
        if self.record.flow_rate().is_none() || is_claimed || is_doubled || !is_inside {
            return None;
        }
        let mut sum = 0.0;
        for step in 0..self.last() {
            let (one, other) = (&self.samples[step], &self.samples[step + 1]);
            if one.at >= own.1 || other.at <= own.0 {
                continue;
            }
            let is_unknown = |sample: &Sample| sample.valve == ValveState::Unknown;
            if self.gap_after[step] || is_unknown(one) || is_unknown(other) {
                return None;
            }
            let middle = half_way(one.at, other.at);
            let begin = if one.forward() { one.at } else { middle };
            let end = if other.forward() { other.at } else { middle };
            let part = (begin.max(own.0), end.min(own.1));
            if !(one.forward() || other.forward()) || part.0 >= part.1 {
                continue;
            }
            match self.volume(part) {
                (Some(volume), Some(Basis::Metered)) => sum += volume,
                _ => return None,
            }
        }
        Some(sum)
    }

    /// Runs of which the metered amount is too far from the stated one.
    pub(super) fn amount_disagrees(&self) -> Vec<Told> {
        let Some(sheet) = self.record.run_sheet() else { return Vec::new() };
        let meter = self.record.flow_rate().map(|flow| flow.unit().volume());
        let tolerance = self.plant.amount_tolerance.map_or(3.0, trace::Decimal::to_f64);
        let mut told = Vec::new();
        for (run, amount) in sheet.runs().iter().zip(self.amounts()) {
            let (Some(amount), Some((stated, unit)), Some(meter)) = (amount, run.quantity, meter)
            else {
                continue;
            };
            // 231 cubic inches of 2.54 cm.
            let litres = |unit| if unit == VolumeUnit::Gallon { 3.785_411_784 } else { 1.0 };
            let amount = amount * litres(meter) / litres(unit);
            let stated = stated.to_f64();
            if (amount - stated).abs() > tolerance / 100.0 * stated {
                told.push(Told { span: span_of(run), count: 1 });
            }
        }
        told.sort_unstable();
        told
    }

    /// The changes of the product, in order; what is blank in between is neither.
    pub(super) fn changed(&self) -> Vec<Changed> {
        let word = |sample: usize| {
            let word = self.record.product().map_or("", |channel| channel.word(sample));
            word.trim().to_lowercase()
        };
        let named: Vec<usize> =
            (0..self.samples.len()).filter(|&one| !word(one).is_empty()).collect();
        let mut changed = Vec::new();
        for pair in named.windows(2) {
            let [last, first] = [pair[0], pair[1]];
            if word(last) == word(first) {
                continue;
            }
            let (one, other) = (&self.samples[last].limit, &self.samples[first].limit);
            let until = self.samples[first].at + one.minimum_time.max(other.minimum_time);
            let at_change: Vec<usize> = (last..self.samples.len())
                .filter(|&sample| sample <= first || self.samples[sample].at <= until)
                .collect();
            let end = at_change[at_change.len() - 1];
            let is_gap = |step: usize| step < self.last() && self.gap_after[step];
            let is_whole = (last..=end).all(|step| !is_gap(step) || self.samples[step].at >= until);
            let exposed: Vec<&Sample> = at_change
                .iter()
                .map(|&sample| &self.samples[sample])
                .filter(|sample| sample.exposed())
                .collect();
            let all = |of: fn(&Sample) -> Option<Exact>| {
                let readings: Option<Vec<Exact>> = exposed.iter().map(|one| of(one)).collect();
                readings.filter(|readings| is_whole && !readings.is_empty())
            };
            let coldest = all(|one| one.temperature).and_then(|all| all.into_iter().min());
            let fastest = all(|one| one.flow).and_then(|all| all.into_iter().max());
            changed.push(Changed {
                span: (self.samples[last].at, self.samples[first].at),
                is_forward: !exposed.is_empty(),
                temperature: coldest.map(|least| (least, one.figure.max(other.figure))),
                flow: fastest.filter(|_| self.plant.tube.is_some()),
            });
        }
        changed
    }
}

fn span_of(run: &SheetRun) -> Span {
    (run.interval.start().unix_milliseconds(), run.interval.end().unix_milliseconds())
}
