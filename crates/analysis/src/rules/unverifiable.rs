//! The rule `unverifiable`: what the record does not show (method, section 5).

use crate::context::{Context, Found};
use crate::exception::{Cause, Exception};
use crate::holes::{Hole, UnplacedCount};
use crate::rule::{Rule, RuleDefinition};
use crate::verdicts::Run;
use trace::{Interval, ValveState};

pub(super) const DEFINITION: RuleDefinition = RuleDefinition {
    key: "unverifiable",
    name: "not verifiable",
    short_name: "not verifiable",
    code: "?",
    class: ("unverifiable", "not verifiable"),
    reads: &[],
    section: "5",
    asks: "The record shows by itself that forward flow met every rule.",
    why: "Nothing shows that it was safe, and anything in doubt is never counted as safe.",
    what_to_do: "Look for other evidence: the recorder's chart, another logger, the operator. \
                 Without it decide as if it had been short.",
    source: "Holdtrace's own rule (method, section 5)",
    happened: "the record does not show that {what} was safe: {causes}; {passed} may have passed",
    asked: "Forward flow that is not verifiable is treated as unsafe until shown otherwise \
            (method, section 5)",
};

pub(super) fn find(rule: Rule, context: &Context<'_>) -> Vec<Exception> {
    let mut found = doubtful_runs(rule, context);
    found.extend(unknown_positions(rule, context));
    // The exception of an exposed hole stands for the lone samples in it: a log on change would make
    // one of each (ours). A short sample in a hole is an exception of its own rule.
    found.retain(|one| !is_inside_exposed_hole(context, one.samples));
    found.extend(context.holes.iter().filter_map(|hole| of_hole(rule, context, hole)));
    found.extend(double_spans(rule, context));
    found
}

/// Whether a run lies between the two samples at the ends of a hole in which product may have gone
/// forward.
fn is_inside_exposed_hole(context: &Context<'_>, (first, last): Run) -> bool {
    let index = context.holes.partition_point(|hole| hole.samples.1 <= first);
    context
        .holes
        .get(index)
        .is_some_and(|hole| hole.exposed && hole.samples.0 < first && last < hole.samples.1)
}

fn over_samples(rule: Rule, context: &Context<'_>, run: Run, causes: Vec<Cause>) -> Exception {
    let verdicts = context.verdicts;
    context.complete(Found {
        rule,
        causes,
        samples: run,
        observed: verdicts.observed(run),
        outer: verdicts.outer(run),
        estimate: verdicts.between_midpoints(run),
        worst: None,
        shortfall: None,
        within_response: false,
        unplaced: UnplacedCount::default(),
    })
}

fn over_time(
    rule: Rule,
    context: &Context<'_>,
    samples: Run,
    interval: Interval,
    cause: Cause,
    unplaced: UnplacedCount,
) -> Exception {
    context.complete(Found {
        rule,
        causes: vec![cause],
        samples,
        observed: interval,
        outer: interval,
        estimate: interval,
        worst: None,
        shortfall: None,
        within_response: false,
        unplaced,
    })
}

/// Maximal runs of judged samples where a rule is unknown and none is short, split by their causes.
/// Whether one is long enough is asked of the whole: a device that lingers while nothing is shown does
/// not do so for less time because there is more than one cause (ours).
fn doubtful_runs(rule: Rule, context: &Context<'_>) -> Vec<Exception> {
    let verdicts = context.verdicts;
    let is_doubtful =
        |sample: usize| verdicts.is_judged(sample) && !verdicts.unknown(sample).is_empty();
    let mut found = Vec::new();
    for (first, last) in verdicts.runs(is_doubtful) {
        if !context.is_long_enough((first, last)) {
            continue;
        }
        let mut begin = first;
        for sample in first..=last {
            let set = verdicts.unknown(sample);
            if sample == last || verdicts.unknown(sample + 1) != set {
                found.push(over_samples(rule, context, (begin, sample), set.causes()));
                begin = sample + 1;
            }
        }
    }
    found
}

/// Runs of samples of unknown position, unless every rule is legal throughout: either position would
/// then be legal.
fn unknown_positions(rule: Rule, context: &Context<'_>) -> Vec<Exception> {
    let verdicts = context.verdicts;
    verdicts
        .runs(|sample| verdicts.valve(sample) == ValveState::Unknown)
        .into_iter()
        .filter(|&(first, last)| !(first..=last).all(|sample| verdicts.is_legal(sample)))
        .map(|run| over_samples(rule, context, run, vec![Cause::PositionUnknown]))
        .collect()
}

fn of_hole(rule: Rule, context: &Context<'_>, hole: &Hole) -> Option<Exception> {
    let cause = if hole.exposed {
        if hole.unplaced.rows > 0 { Cause::UnplacedRows } else { Cause::Gap }
    } else if hole.interval.duration() > context.plant.limits.diverted_hole {
        Cause::GapDiverted
    } else {
        return None;
    };
    Some(over_time(rule, context, hole.samples, hole.interval, cause, hole.unplaced))
}

/// Spans that two passes of a clock claim, with a sample in them at which product may have gone
/// forward.
fn double_spans(rule: Rule, context: &Context<'_>) -> Vec<Exception> {
    let instants = context.record.instants();
    context
        .record
        .double_spans()
        .iter()
        .filter_map(|&span| {
            let first = instants.partition_point(|&at| at < span.start());
            let after = instants.partition_point(|&at| at <= span.end());
            let exposed = (first..after).any(|sample| context.verdicts.is_exposed(sample));
            exposed.then(|| {
                let samples = (first, after - 1);
                over_time(rule, context, samples, span, Cause::Clock, UnplacedCount::default())
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use crate::specimen::{day, observed, only, span, told};
    use crate::{Class, Exception, Rule};
    use trace::Interval;

    fn estimates(exceptions: &[Exception]) -> Vec<Interval> {
        exceptions.iter().map(|one| one.estimate).collect()
    }

    #[test]
    fn an_invalid_reading_in_forward_flow() {
        let audit = day("F*3").holding("163 BAD 163").audit();
        assert_eq!(told(&audit), ["unverifiable invalid_reading 1..1"]);
        let found = only(&audit);
        assert_eq!((found.observed, found.outer), (span(1000, 1000), span(0, 2000)));
        assert_eq!(found.estimate, span(500, 1500));
        assert!(found.worst.is_none() && found.shortfall.is_none());
        // Either pressure may be the one that is missing.
        let audit = day("F*3").pressures("10 _ 10", "15").audit();
        assert_eq!(told(&audit), ["unverifiable invalid_reading 1..1"]);
    }

    #[test]
    fn an_invalid_reading_while_diverted_proves_nothing_and_need_not() {
        assert_eq!(told(&day("D*3").holding("163 BAD 163").audit()), [""; 0]);
    }

    /// Two samples in travel are one second, which is allowed; three are two seconds.
    #[test]
    fn an_invalid_reading_in_travel_counts_when_the_device_lingers() {
        assert_eq!(told(&day("F V*2 D").holding("163 BAD*2 163").audit()), [""; 0]);
        let audit = day("F V*3 D").holding("163 BAD*3 163").audit();
        assert_eq!(told(&audit), ["unverifiable invalid_reading 1..3"]);
        assert_eq!(only(&audit).estimate, span(500, 3500));
    }

    /// Three samples in travel, two seconds in all: one without a temperature, then two without a
    /// residence time.
    #[test]
    fn a_device_that_lingers_does_so_whatever_the_causes() {
        let of = |valve: &str| {
            let day = day(valve).tube(20, 15_000).flow("20*3 _ 20");
            told(&day.holding("163*2 BAD 163").audit())
        };
        assert_eq!(
            of("F*2 V*3 D"),
            ["unverifiable invalid_reading 2..2", "unverifiable flow_unusable 3..4"]
        );
        assert_eq!(of("F*2 V*2 D*2"), [""; 0]);
    }

    #[test]
    fn where_another_rule_is_short_the_short_one_is_told() {
        let audit = day("F*3").holding("163 BAD 163").differential("5 1 5").audit();
        assert_eq!(told(&audit), ["differential short 1..1"]);
    }

    /// The flow is blank at sample 2, and until 300 gal·s/min have passed since.
    #[test]
    fn runs_of_different_causes_touch_and_stay_apart() {
        let audit =
            day("F*4").tube(20, 15_000).flow("20 20 _ 20").holding("163 BAD BAD 163").audit();
        assert_eq!(
            told(&audit),
            [
                "unverifiable invalid_reading 1..1",
                "unverifiable invalid_reading+flow_unusable 2..2",
                "unverifiable flow_unusable 3..3",
            ]
        );
        let expected = [span(500, 1500), span(1500, 2500), span(2500, 3000)];
        assert_eq!(estimates(&audit.exceptions), expected);
        assert_eq!(audit.episodes.len(), 1);
    }

    #[test]
    fn an_unknown_position_is_harmless_only_when_every_rule_is_legal() {
        for (name, specimen, expected) in [
            ("legal", day("D U D").holding("163"), None),
            ("cold", day("D U D").holding("163 150 163"), Some(span(500, 1500))),
            ("no temperature", day("D U D").holding("163 _ 163"), Some(span(500, 1500))),
            ("low differential", day("D U D").differential("5 1.9 5"), Some(span(500, 1500))),
            // A run of U is as doubtful as its worst sample.
            ("cold once", day("D U*3 D").holding("163 163 150 163 163"), Some(span(500, 3500))),
        ] {
            let audit = specimen.audit();
            assert_eq!(audit.exceptions.first().map(|one| one.estimate), expected, "{name}");
            assert!(told(&audit).iter().all(|one| one.contains("position_unknown")), "{name}");
        }
    }

    /// The device's cell is blank for five minutes while the pump runs at twice its flow.
    #[test]
    fn an_unknown_position_is_not_harmless_when_the_time_is_short() {
        let audit = day("D*20 U*300 D*20").tube(20, 16_000).flow("20*20 40~*300 20").audit();
        assert_eq!(told(&audit), ["unverifiable position_unknown 20..319"]);
        assert_eq!(only(&audit).estimate, span(19_500, 319_500));
        let slow = day("D*20 U*300 D*20").tube(20, 16_000).flow("20.0~").audit();
        assert_eq!(told(&slow), [""; 0]);
        assert_eq!(slow.accounting.time(Class::Travel).milliseconds(), 300_000);
    }

    #[test]
    fn a_gap_in_forward_flow_is_an_exception_as_a_whole() {
        let audit = day("F*5").step(2, 7000).audit();
        assert_eq!(told(&audit), ["unverifiable gap 2..3"]);
        let found = only(&audit);
        let whole = span(2000, 9000);
        assert_eq!((found.observed, found.outer, found.estimate), (whole, whole, whole));
        assert_eq!(
            audit.accounting.time(Class::Exception(Rule::UNVERIFIABLE)).milliseconds(),
            7000
        );
        assert_eq!(audit.accounting.total().milliseconds(), 10_000);
    }

    /// One end is enough, and travel or an unknown position is no proof of divert.
    #[test]
    fn a_gap_is_exposed_unless_both_ends_are_diverted() {
        for valve in ["F D", "D F", "V D", "D V", "U D", "D U"] {
            let audit = day(valve).step(0, 15_001).audit();
            assert_eq!(told(&audit), ["unverifiable gap 0..1"], "{valve}");
        }
    }

    #[test]
    fn a_diverted_hole_counts_when_it_is_longer_than_a_minute() {
        // A third sample, so that the step is not the sampling interval itself.
        let hole = |time| day("D*4").step(1, time).audit();
        let audit = hole(60_000);
        assert_eq!(told(&audit), [""; 0]);
        assert_eq!(observed(&audit, "gap_diverted"), ["1000..61000 n=1 time=60000 ms"]);
        assert_eq!(audit.accounting.time(Class::GapDiverted).milliseconds(), 60_000);

        let audit = hole(60_001);
        assert_eq!(told(&audit), ["unverifiable gap_diverted 1..2"]);
        assert_eq!(only(&audit).estimate, span(1000, 61_001));
        assert_eq!(observed(&audit, "gap_diverted"), [""; 0]);
        assert_eq!(
            audit.accounting.time(Class::Exception(Rule::UNVERIFIABLE)).milliseconds(),
            60_001
        );
        assert_eq!(audit.accounting.time(Class::GapDiverted).milliseconds(), 0);
    }

    /// The logger hung for nine hours while diverted.
    #[test]
    fn nine_hours_of_nothing_are_not_shown_to_be_diverted() {
        let audit = day("D*4").step(1, 9 * 3_600_000).audit();
        assert_eq!(told(&audit), ["unverifiable gap_diverted 1..2"]);
        assert!(!audit.is_clean());
    }

    /// A step of one second is a gap when rows without a place may belong to it.
    #[test]
    fn rows_without_a_place_make_a_hole_of_any_step() {
        let rows = [
            ("F", "150", "5", ""),
            ("F", "163", "1.9", ""),
            ("F", "163", "5", ""),
            ("D", "150", "1", ""),
        ];
        let audit = day("D*4").unplaced(span(1000, 2000), &rows).audit();
        assert_eq!(told(&audit), ["unverifiable unplaced_rows 1..2"]);
        let found = only(&audit);
        assert_eq!(found.estimate, span(1000, 2000));
        // Forward and cold, forward and without differential; what is diverted is not short.
        assert_eq!((found.unplaced.rows, found.unplaced.short), (4, 2));
    }

    #[test]
    fn rows_without_a_place_that_are_all_diverted_are_a_short_diverted_hole() {
        let audit = day("D*4").unplaced(span(1000, 2000), &[("D", "150", "1", "")]).audit();
        assert_eq!(told(&audit), [""; 0]);
        assert_eq!(observed(&audit, "gap_diverted"), ["1000..2000 n=1 time=1000 ms"]);
    }

    /// The skipped hour of spring: an hour of rows, five minutes of them cold and forward.
    #[test]
    fn a_lost_hour_tells_how_many_of_its_rows_were_short() {
        let mut rows = vec![("F", "165", "5", ""); 3300];
        rows.extend(vec![("F", "150", "5", ""); 300]);
        let audit = day("F*10").step(4, 3_600_000).unplaced(span(4000, 3_604_000), &rows).audit();
        assert_eq!(told(&audit), ["unverifiable unplaced_rows 4..5"]);
        assert_eq!(only(&audit).unplaced.short, 300);
    }

    #[test]
    fn a_clock_that_was_set_back_is_in_doubt_where_product_may_have_passed() {
        let audit = day("D*3 F*4 D*3").double(span(1000, 5000)).audit();
        assert_eq!(told(&audit), ["unverifiable clock 1..5"]);
        assert_eq!(only(&audit).estimate, span(1000, 5000));
        // One exposed sample at the very end is enough; none is none.
        let edge = day("D*3 F*4 D*3").double(span(1000, 3000)).audit();
        assert_eq!(told(&edge), ["unverifiable clock 1..3"]);
        assert_eq!(told(&day("D*3 F*4 D*3").double(span(0, 2000)).audit()), [""; 0]);
    }

    /// An event within a double span stays one event, and is told beside it.
    #[test]
    fn a_shortfall_in_a_double_span_is_one_exception_more() {
        let audit = day("F*10").holding("163*4 150*3 163").double(span(2000, 8000)).audit();
        assert_eq!(told(&audit), ["unverifiable clock 2..8", "temperature short 4..6"]);
        assert_eq!(audit.episodes.len(), 1);
    }
}
