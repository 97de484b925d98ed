//! The rule `temperature`: the holding temperature meets the limit of the product at that instant
//! (method, sections 4 and 6).

use super::compared::Compared;
use crate::context::Context;
use crate::exception::Exception;
use crate::limits::LimitSpan;
use crate::rule::{Rule, RuleDefinition};
use crate::verdicts::Verdicts;
use trace::{Role, RunRecord};

pub(super) const DEFINITION: RuleDefinition = RuleDefinition {
    key: "temperature",
    name: "temperature",
    short_name: "temperature",
    code: "T",
    class: ("forward_temperature", "forward, temperature too low"),
    reads: &[Role::HoldingTemperature],
    section: "4",
    asks: "The holding temperature is at least the limit of the product in the line.",
    why: "Below its limit pathogens may survive, and what goes forward is not pasteurized.",
    what_to_do: "Hold the lots and tanks that it went into, find the cause, and decide about the \
                 product.",
    source: "21 CFR 1240.61(b) and the other rows of the method, section 6, each with its source",
    happened: "{what} {went} below the minimum pasteurization temperature[, down to {worst}]; \
               {passed} passed",
    asked: "The limit for {product} is {temperature limit}: {product source}",
};

pub(super) fn judge(
    rule: Rule,
    verdicts: &mut Verdicts<'_>,
    record: &RunRecord,
    spans: &[LimitSpan],
) {
    let mantissas = record.holding_temperature().mantissas();
    for span in spans {
        verdicts.compare(rule, span.first..=span.last, mantissas, span.threshold);
    }
}

pub(super) fn find(rule: Rule, context: &Context<'_>) -> Vec<Exception> {
    let channel = context.record.holding_temperature();
    Compared::new(rule, channel, |context, sample| context.span(sample).exact).exceptions(context)
}

#[cfg(test)]
mod tests {
    use crate::specimen::{at, day, only, span, told};
    use crate::{Class, Rule};
    use trace::{Decimal, ValveState};

    #[test]
    fn equal_is_legal_and_the_last_digit_counts() {
        for (cells, expected) in
            [("163 161 161.0 163", vec![]), ("163 161 160.99 163", vec!["temperature short 2..2"])]
        {
            assert_eq!(told(&day("F*4").holding(cells).audit()), expected, "{cells}");
        }
    }

    /// 72 °C is printed beside 161 °F: 71.9 °C is 161.42 °F, and short all the same.
    #[test]
    fn the_printed_figure_of_the_channels_unit_holds() {
        let audit = day("F*4").metric().holding("74 72 71.9 74").differential("30~").audit();
        let found = only(&audit);
        assert_eq!((found.rule, found.samples), (Rule::TEMPERATURE, (2, 2)));
        // 72 → 71.9 meets 72 at its first sample; 71.9 → 74 after 0.1/2.1 of a second, 47.6 ms.
        assert_eq!(found.estimate, span(1000, 2048));
    }

    #[test]
    fn nothing_is_judged_while_diverted() {
        assert_eq!(told(&day("D*5").holding("150").audit()), [""; 0]);
    }

    /// Passing through is no exception, lingering with cold milk is: equal to the allowance of one
    /// second is allowed.
    #[test]
    fn cold_travel_is_short_when_the_device_lingers() {
        assert_eq!(told(&day("F V*2 D").holding("163 150").audit()), [""; 0]);
        let audit = day("F V*3 D").holding("163 150").audit();
        let found = only(&audit);
        assert_eq!(
            (found.samples, found.positions.as_slice()),
            ((1, 3), &[ValveState::Travel][..])
        );
        // 163 → 150 meets 161 after 2/13 of a second, 153.8 ms; to divert the midpoint.
        assert_eq!((found.observed, found.outer), (span(1000, 3000), span(0, 4000)));
        assert_eq!(found.estimate, span(154, 3500));
        assert!(!found.within_response);
        // 0.154 of a second of forward flow, and what followed it.
        assert_eq!(audit.accounting.time(Class::Exception(Rule::TEMPERATURE)).milliseconds(), 3346);
    }

    /// Four seconds in travel, two diverted, and so on: each time more than the allowance.
    #[test]
    fn a_device_that_chatters_over_cold_milk_is_one_episode() {
        let audit = day("D V*5 D*2 V*5 D").holding("150").audit();
        assert_eq!(told(&audit), ["temperature short 1..5", "temperature short 8..12"]);
        assert_eq!(audit.episodes.len(), 1);
        // D→V 500, V→D 5500; D→V 7500, V→D 12500.
        let estimates: Vec<_> = audit.exceptions.iter().map(|one| one.estimate).collect();
        assert_eq!(estimates, [span(500, 5500), span(7500, 12_500)]);
    }

    #[test]
    fn one_forward_sample_and_four_seconds_of_travel_are_no_moment() {
        let audit = day("D F V*4 D").holding("150").audit();
        let found = only(&audit);
        assert_eq!((found.samples, found.estimate), ((1, 5), span(500, 5500)));
        assert_eq!(found.positions, [ValveState::Forward, ValveState::Travel]);
        assert!(!found.within_response);
    }

    /// From 161.5 to 160.5 the limit is met half way; the midpoint to the diverted sample is half
    /// way too: exactly the one second that the device is allowed.
    #[test]
    fn a_divert_within_the_allowance_is_told_apart_and_stays() {
        let audit = day("F*2 D*2").holding("161.5 160.5 160 159").audit();
        let found = only(&audit);
        assert_eq!(found.estimate, span(500, 1500));
        assert!(found.within_response);
    }

    #[test]
    fn within_the_response_ends_at_divert_and_not_at_travel_or_a_gap() {
        // A legal sample in travel follows, and only then divert.
        let travel = day("F*2 V D").holding("161.5 160.5 161.5 159").audit();
        let found = only(&travel);
        assert_eq!((found.samples, found.estimate), ((1, 1), span(500, 1500)));
        assert!(!found.within_response);
        // Four seconds are a gap at one sample a second: what the device did is not shown.
        let gap = day("F*2 D").step(1, 4000).holding("161.5 160.5 160").audit();
        let found = gap.exceptions.iter().find(|one| one.rule == Rule::TEMPERATURE);
        assert_eq!(
            found.map(|one| (one.estimate, one.within_response)),
            Some((span(500, 1000), false))
        );
        // A millisecond more than allowed: 161.0 is the limit itself, so 0..1500.
        let late = day("F*2 D").holding("161.0 160.5 160").audit();
        assert_eq!((only(&late).estimate, only(&late).within_response), (span(0, 1500), false));
    }

    #[test]
    fn a_plant_may_allow_less_time_for_the_response() {
        let audit = day("F*2 D*2")
            .holding("161.5 160.5 160 159")
            .set(|plant| {
                plant.limits.response_allowance = trace::Duration::from_milliseconds(999);
            })
            .audit();
        assert!(!only(&audit).within_response);
    }

    /// The new limit holds from the first sample of the new product; the neighbour is legal only
    /// for milk's lower limit, so that the line to it crosses nothing: the midpoint.
    #[test]
    fn a_change_of_product_changes_the_limit_at_its_first_sample() {
        let audit = day("F*4")
            .products(&[("milk", "us-milk-15s"), ("cream", "us-rich-15s")])
            .product("milk*2 cream")
            .holding("165.9 165.5 165.9")
            .audit();
        let found = only(&audit);
        assert_eq!((found.samples, found.estimate), ((2, 3), span(1500, 3000)));
        assert_eq!(found.worst.map(|worst| worst.limit), Some(166.0));
        // Half of the step before was still milk's.
        assert_eq!(found.products, ["milk", "cream"]);
    }

    /// Milk at 150 is 11 °F below 161, cream at 154 is 12 °F below 166.
    #[test]
    fn the_worst_reading_is_the_furthest_below_its_own_limit() {
        let audit = day("F*4")
            .products(&[("milk", "us-milk-15s"), ("cream", "us-rich-15s")])
            .product("milk*2 cream")
            .holding("150 151 154.5 154")
            .audit();
        let worst = only(&audit).worst.map(|worst| (worst.value, worst.limit, worst.at));
        assert_eq!(worst, Some((Decimal::whole(154), 166.0, at(3000))));
    }

    /// Of equally bad readings the first.
    #[test]
    fn the_first_of_equally_bad_readings_is_told() {
        let audit = day("F*4").holding("163 160 160 163").audit();
        assert_eq!(only(&audit).worst.map(|worst| worst.at), Some(at(1000)));
    }

    /// A doubtful or invalid neighbour proves nothing: the midpoint, where the other run begins.
    #[test]
    fn an_invalid_neighbour_gives_the_midpoint() {
        let audit = day("F*4").holding("163 BAD 160 163").audit();
        assert_eq!(told(&audit), ["unverifiable invalid_reading 1..1", "temperature short 2..2"]);
        let [first, second] = audit.exceptions.as_slice() else { panic!("{audit:#?}") };
        // 160 → 163 meets 161 after a third of a second.
        assert_eq!((first.estimate, second.estimate), (span(500, 1500), span(1500, 2333)));
    }

    /// The recorder contradicts samples 0 to 12, so that the line from 164 to 160 proves nothing: the
    /// midpoint, and not three quarters of the step.
    #[test]
    fn a_contradicted_neighbour_gives_the_midpoint() {
        let audit = day("F*20").holding("164*13 160").recorder("158").audit();
        assert_eq!(told(&audit), ["unverifiable contradicted 0..12", "temperature short 13..19"]);
        let starts: Vec<_> = audit.exceptions.iter().map(|one| one.estimate.start()).collect();
        assert_eq!(starts, [at(0), at(12_500)]);
    }

    #[test]
    fn an_unknown_position_does_not_join_two_runs() {
        let audit = day("F U F").holding("160").audit();
        assert_eq!(
            told(&audit),
            [
                "temperature short 0..0",
                "unverifiable position_unknown 1..1",
                "temperature short 2..2",
            ]
        );
    }
}
