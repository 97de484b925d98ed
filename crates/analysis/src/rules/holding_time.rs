//! The rule `holding_time`: the parcel that leaves the tube was held for at least the product's
//! minimum time (method, sections 4 and 7). Its intervals go from midpoint to midpoint.

use crate::context::{Context, Found};
use crate::exception::{Cause, Exception, Worst};
use crate::holes::UnplacedCount;
use crate::limits::LimitSpan;
use crate::residence::{self, Held, Residence};
use crate::rule::{Rule, RuleDefinition};
use crate::verdicts::{Run, Verdict, Verdicts};
use plant::Plant;
use std::cell::RefCell;
use trace::{Decimal, Role, RunRecord};

pub(super) const DEFINITION: RuleDefinition = RuleDefinition {
    key: "holding_time",
    name: "holding time",
    short_name: "holding time",
    code: "HT",
    class: ("forward_holding_time", "forward, residence time too short"),
    reads: &[Role::FlowRate],
    section: "7",
    asks: "The parcel that leaves the holding tube was in it for at least the product's time.",
    why: "Milk that was hot enough but held too briefly is not pasteurized.",
    what_to_do: "Hold the lots and tanks that it went into, find out why the flow was high, and \
                 decide about the product.",
    source: "21 CFR 1240.61(b) and the other rows of the method, section 6, each with its source",
    happened: "{what} {went} before its holding time was over[; residence time down to {worst}]; \
               {passed} passed",
    asked: "The minimum holding time for {product} is {holding time}: {product source}",
};

pub(super) fn judge(
    rule: Rule,
    verdicts: &mut Verdicts<'_>,
    record: &RunRecord,
    plant: &Plant,
    spans: &[LimitSpan],
) -> Option<Residence> {
    let verdicts = RefCell::new(verdicts);
    let gap_after = |sample: usize| verdicts.borrow().gap_after(sample);
    let usable = |sample: usize| verdicts.borrow().is_flow_usable(sample);
    residence::judge(record, plant, spans, gap_after, usable, |sample, held| {
        let verdict = match held {
            Held::Legal => return,
            Held::Short => Verdict::short(rule),
            Held::Unknown => Verdict::unknown(rule, Cause::FlowUnusable),
        };
        verdicts.borrow_mut().mark(sample..=sample, verdict);
    })
}

pub(super) fn find(rule: Rule, context: &Context<'_>) -> Vec<Exception> {
    let verdicts = context.verdicts;
    context
        .judged_runs(|sample| verdicts.is_short(sample, rule))
        .into_iter()
        .map(|run| {
            context.complete(Found {
                rule,
                causes: vec![Cause::Short],
                samples: run,
                observed: verdicts.observed(run),
                outer: verdicts.outer(run),
                estimate: verdicts.between_midpoints(run),
                worst: shortest(context, run),
                shortfall: None,
                within_response: false,
                unplaced: UnplacedCount::default(),
            })
        })
        .collect()
}

/// The residence time furthest below its minimum; `None` where none is known, at start-up.
fn shortest(context: &Context<'_>, (first, last): Run) -> Option<Worst> {
    let residence = context.residence?;
    let mut worst: Option<(i64, usize)> = None;
    for sample in first..=last {
        let Some(held) = residence.at(sample) else { continue };
        let short = (context.span(sample).minimum_time.milliseconds()) - held.milliseconds();
        if worst.is_none_or(|(most, _)| short > most) {
            worst = Some((short, sample));
        }
    }
    let (_, sample) = worst?;
    let held = residence.at(sample)?;
    Some(Worst {
        value: Decimal::new(held.milliseconds(), 3),
        limit: context.span(sample).minimum_time.seconds(),
        unit: "s",
        at: context.record.instants()[sample],
    })
}

#[cfg(test)]
mod tests {
    use crate::Rule;
    use crate::specimen::{at, day, only, span, told};
    use trace::Decimal;

    /// A tube of 20 gal/min × 15 s: at 20 gal/min the parcel is held for exactly the minimum.
    #[test]
    fn exactly_the_minimum_is_legal() {
        assert_eq!(told(&day("F*40").tube(20, 15_000).flow("20").audit()), [""; 0]);
        let short = day("F*40").tube(20, 15_000).flow("20.1").audit();
        assert_eq!(told(&short), ["holding_time short 0..39"]);
    }

    /// 20 gal/min × 16 s at 22 gal/min: 320/22 = 14.5454… s. The start of the record is judged by
    /// the flow; the first sample with a whole window is that of second 15.
    #[test]
    fn intervals_go_from_midpoint_to_midpoint() {
        let audit = day("D*20 F*20").tube(20, 16_000).flow("22").audit();
        let found = only(&audit);
        assert_eq!((found.rule, found.samples), (Rule::HOLDING_TIME, (20, 39)));
        assert_eq!((found.observed, found.outer), (span(20_000, 39_000), span(19_000, 39_000)));
        assert_eq!(found.estimate, span(19_500, 39_000));
        let worst = found.worst.map(|worst| (worst.value, worst.limit, worst.unit, worst.at));
        assert_eq!(worst, Some((Decimal::new(14_545, 3), 15.0, "s", at(20_000))));
        assert!(found.shortfall.is_none() && !found.within_response);
        // 22 gal/min over 19.5 s and over 20 s.
        let volume = found.volume;
        assert!(volume.value.is_some_and(|value| (value - 22.0 * 19.5 / 60.0).abs() < 1e-9));
        assert!(volume.outer_value.is_some_and(|value| (value - 22.0 * 20.0 / 60.0).abs() < 1e-9));
    }

    #[test]
    fn without_flow_or_tube_the_time_is_not_judged() {
        assert_eq!(told(&day("F*40").tube(20, 16_000).audit()), [""; 0]);
        assert_eq!(told(&day("F*40").flow("100").audit()), [""; 0]);
    }

    /// The device is allowed no moment of too short a time: the parcel passed all the same.
    #[test]
    fn a_divert_after_a_second_is_not_within_the_response() {
        let audit = day("D*20 F D*3").tube(20, 16_000).flow("22").audit();
        let found = only(&audit);
        assert_eq!((found.estimate, found.within_response), (span(19_500, 20_500), false));
    }

    /// A factor below 1: 0.9 × 16 s is 14.4 s at the test flow.
    #[test]
    fn a_factor_shortens_the_tube() {
        let viscous = day("F*40").tube(20, 16_000).flow("20").set(|plant| {
            let mut product = plant.products.default_product().clone();
            product.factor = Decimal::new(9, 1);
            plant.products = plant::Products::new(product, Vec::new(), 0);
        });
        assert_eq!(told(&viscous.audit()), ["holding_time short 0..39"]);
        assert_eq!(told(&day("F*40").tube(20, 16_000).flow("20").audit()), [""; 0]);
    }
}
