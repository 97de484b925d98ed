//! What passed (section 4).

use super::{Day, Span};
use crate::exact::Exact;
use crate::interpreter::limits::flow_in;
use analysis::Basis;
use std::collections::BTreeSet;
use trace::FlowUnit;

/// How many litres (or US gallons) pass in a millisecond at one unit of flow.
fn per_millisecond(unit: FlowUnit) -> f64 {
    match unit {
        FlowUnit::LitrePerHour | FlowUnit::GallonPerHour => 1.0 / 3_600_000.0,
        FlowUnit::LitrePerMinute | FlowUnit::GallonPerMinute => 1.0 / 60_000.0,
        FlowUnit::CubicMetrePerHour => 1.0 / 3600.0,
    }
}

impl Day<'_> {
    /// What passes in a millisecond at the nominal flow, in the meter's unit of volume if there is
    /// a meter.
    fn nominal(&self) -> Option<f64> {
        let nominal = self.plant.nominal_flow?;
        let gallons = |unit| matches!(unit, FlowUnit::GallonPerHour | FlowUnit::GallonPerMinute);
        let meter = self.record.flow_rate().map_or(nominal.unit, trace::Channel::unit);
        let unit = if gallons(meter) { FlowUnit::GallonPerHour } else { FlowUnit::LitrePerHour };
        Some(flow_in(nominal, unit).to_f64() * per_millisecond(unit))
    }

    /// What passed in `span`, and what that rests on. A flow below zero is the meter's drift, and
    /// takes nothing back.
    pub(super) fn volume(&self, span: Span) -> (Option<f64>, Option<Basis>) {
        let meter = self.record.flow_rate().map(trace::Channel::unit);
        let mut sum = Some(0.0);
        let mut basis = None;
        for step in 0..self.last() {
            let (from, to) = (&self.samples[step], &self.samples[step + 1]);
            let part = (span.0.max(from.at), span.1.min(to.at));
            if part.0 >= part.1 {
                continue;
            }
            let width = (part.1 - part.0) as f64;
            let usable = from.flow_is_usable() && to.flow_is_usable() && !self.gap_after[step];
            let (passed, rests_on) = match (meter, from.flow, to.flow, self.nominal()) {
                (Some(unit), Some(start), Some(end), _) if usable => {
                    let zero = Exact::ZERO;
                    let (start, end) = (start.max(zero).to_f64(), end.max(zero).to_f64());
                    let flow = |at: i64| {
                        let way = (at - from.at) as f64 / (to.at - from.at) as f64;
                        start + (end - start) * way
                    };
                    let mean = f64::midpoint(flow(part.0), flow(part.1));
                    (Some(mean * per_millisecond(unit) * width), Basis::Metered)
                }
                (_, _, _, Some(nominal)) => (Some(nominal * width), Basis::Nominal),
                _ => (None, Basis::Unknown),
            };
            sum = sum.zip(passed).map(|(sum, passed)| sum + passed);
            basis = basis.max(Some(rests_on));
        }
        (sum, basis)
    }

    /// What passed in at least one of the spans: piece by piece between any two ends of spans.
    pub(super) fn volume_of_union(&self, spans: impl Iterator<Item = Span>) -> Option<f64> {
        let spans: Vec<Span> = spans.collect();
        let cuts: BTreeSet<i64> = spans.iter().flat_map(|span| [span.0, span.1]).collect();
        let cuts: Vec<i64> = cuts.into_iter().collect();
        let mut sum = Some(0.0);
        for piece in cuts.windows(2) {
            if spans.iter().any(|span| span.0 <= piece[0] && piece[1] <= span.1) {
                let passed = self.volume((piece[0], piece[1])).0;
                sum = sum.zip(passed).map(|(sum, passed)| sum + passed);
            }
        }
        sum
    }
}
