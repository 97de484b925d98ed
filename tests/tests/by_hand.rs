//! Small records worked out with a pencil from the method. Both audits must give these figures:
//! a mistake that the two share would not show when they are only compared with one another.

use analysis::{Audit, Cause, Class, Exception, Rule};
use plant::{Certificate, Flow, Plant, Tube};
use tests::compare::compare;
use tests::good;
use tests::interpreter::interpret;
use tests::simple::{METRIC, US, Units, cell, columns, plant, valve, written};
use tests::specimen::{Lost, Specimen, Written};
use trace::{Decimal, Duration, FlowUnit, Interval};

fn audit(specimen: &Specimen) -> Audit {
    let record = specimen.record();
    let audit = analysis::audit(&record, &specimen.plant, Vec::new());
    if let Err(difference) = compare(&record, &audit, &interpret(&record, &specimen.plant)) {
        panic!("{difference}\n{specimen}");
    }
    audit
}

fn audit_of(units: Units, text: &str) -> Audit {
    audit(&written(units, plant(), text))
}

fn milliseconds(interval: Interval) -> (i64, i64) {
    (interval.start().unix_milliseconds(), interval.end().unix_milliseconds())
}

/// Rule, samples, observed, outer and estimate of each exception.
type Told = (Rule, (usize, usize), (i64, i64), (i64, i64), (i64, i64));

fn told(audit: &Audit) -> Vec<Told> {
    let one = |one: &Exception| {
        let (observed, outer) = (milliseconds(one.observed), milliseconds(one.outer));
        (one.rule, one.samples, observed, outer, milliseconds(one.estimate))
    };
    audit.exceptions.iter().map(one).collect()
}

/// Causes and samples of each exception.
fn why(audit: &Audit) -> Vec<(Vec<Cause>, (usize, usize))> {
    audit.exceptions.iter().map(|one| (one.causes.clone(), one.samples)).collect()
}

/// The kinds observed, each once, in order.
fn kinds(audit: &Audit) -> Vec<&'static str> {
    let mut kinds: Vec<&'static str> =
        audit.observations.iter().map(|one| one.kind.key()).collect();
    kinds.sort_unstable();
    kinds.dedup();
    kinds
}

fn classes(audit: &Audit) -> Vec<(Class, i64)> {
    Class::ALL
        .into_iter()
        .map(|class| (class, audit.accounting.time(class).milliseconds()))
        .filter(|(_, time)| *time > 0)
        .collect()
}

fn close(value: f64, expected: f64) {
    assert!((value - expected).abs() <= 1e-12 * expected.abs().max(1.0), "{value} {expected}");
}

/// Lines of a record, one a step of `step` seconds.
fn lines(step: i64, count: i64, cells: impl Fn(i64) -> String) -> String {
    (0..count).map(|index| format!("{} {}\n", index * step, cells(index))).collect()
}

/// A tube that holds for `seconds` at a flow in L/h.
fn tube(flow: i64, seconds: i64) -> Tube {
    Tube::Certified(Certificate {
        test_flow: Flow { value: Decimal::whole(flow), unit: FlowUnit::LitrePerHour },
        test_time: Duration::from_seconds(seconds),
        tested_on: Some(String::from("1970-01-01")),
        tested_by: None,
    })
}

#[test]
fn a_dip_is_bounded_by_its_crossings() {
    // Down: 162 to 160 in 1 s meets 161 after 0.5 s. Up: 160.5 to 162.5 meets 161 after 0.25 s.
    let audit =
        audit_of(US, "0 F 163 9\n1 F 162 9\n2 F 160 9\n3 F 160.5 9\n4 F 162.5 9\n5 F 163 9");
    assert_eq!(
        told(&audit),
        [(Rule::TEMPERATURE, (2, 3), (2000, 3000), (1000, 4000), (1500, 3250))]
    );
    assert_eq!(
        classes(&audit),
        [(Class::ForwardLegal, 3250), (Class::Exception(Rule::TEMPERATURE), 1750)]
    );
    let dip = &audit.exceptions[0];
    let worst = dip.worst.map(|worst| (worst.value, worst.at.unix_milliseconds()));
    assert_eq!(worst, Some((Decimal::whole(160), 2000)));
    // Triangle 0.5 s × 1 °F / 2, trapezoid 1 s × (1 + 0.5) / 2, triangle 0.25 s × 0.5 / 2.
    let shortfall = dip.shortfall.map(|shortfall| (shortfall.value, shortfall.unit));
    close(shortfall.map_or(f64::NAN, |shortfall| shortfall.0), 0.25 + 0.75 + 0.0625);
    assert_eq!(shortfall.map(|shortfall| shortfall.1), Some("°F·s"));
    assert!(!dip.within_response);
    // The margin: 162.0 at 1 s is 1 °F above the limit.
    let margin = audit.margins.temperature.map(|margin| margin.at.unix_milliseconds());
    assert_eq!(margin, Some(1000));
}

#[test]
fn equal_to_the_limit_is_legal_and_bounds_the_dip() {
    let audit =
        audit_of(METRIC, "0 F 72 14\n1 F 71.99 14\n2 F 72.00 14.0\n3 F 73 13.99\n4 F 73 14");
    assert_eq!(
        told(&audit),
        [
            (Rule::TEMPERATURE, (1, 1), (1000, 1000), (0, 2000), (0, 2000)),
            (Rule::DIFFERENTIAL, (3, 3), (3000, 3000), (2000, 4000), (2000, 4000)),
        ]
    );
}

#[test]
fn a_step_to_or_from_another_position_is_halved() {
    // 161.5 is legal, but diverted: the middle of the step, not the crossing. An odd step's
    // middle is rounded to the later millisecond. Travel is judged like forward flow.
    let audit = audit_of(US, "0 D 161.5 9\n1.001 F 160 9\n2 F 160 9\n3 T 160 9\n4 D 160 9");
    assert_eq!(told(&audit), [(Rule::TEMPERATURE, (1, 3), (1001, 3000), (0, 4000), (501, 3500))]);
    assert_eq!(
        classes(&audit),
        [(Class::Exception(Rule::TEMPERATURE), 2999), (Class::Divert, 501 + 500)]
    );
    let transitions: Vec<_> = audit.transitions.iter().map(|one| one.samples).collect();
    assert_eq!(transitions, [(0, 1), (2, 4)]);
    let response = audit.instruments.cuts[1].response;
    let response = response.map(|one| [one.least, one.about, one.most].map(Duration::milliseconds));
    assert_eq!(response, Some([1999, 2999, 4000]));
    assert_eq!(audit.exceptions[0].positions, [valve("F"), valve("T")]);
    assert!(!audit.exceptions[0].within_response);
}

#[test]
fn a_reading_that_is_missing_is_not_safe() {
    let audit = audit_of(US, "0 F 163 9\n1 F - 9\n2 F 163 -\n3 F 163 9\n4 D - -\n5 F - 1");
    assert_eq!(
        told(&audit),
        [
            (Rule::UNVERIFIABLE, (1, 2), (1000, 2000), (0, 3000), (500, 2500)),
            // Short of one rule: the other's missing reading adds nothing.
            (Rule::DIFFERENTIAL, (5, 5), (5000, 5000), (4000, 5000), (4500, 5000)),
        ]
    );
    assert_eq!(
        classes(&audit),
        [
            (Class::ForwardLegal, 500 + 1000),
            (Class::Exception(Rule::DIFFERENTIAL), 500),
            (Class::Exception(Rule::UNVERIFIABLE), 2000),
            (Class::Divert, 1000),
        ]
    );
}

#[test]
fn two_rules_at_once() {
    let audit = audit_of(US, "0 F 163 3\n1 F 160 1\n2 F 163 1\n3 F 163 3");
    // Temperature: 163 to 160 meets 161 after 2/3 s, back after 1/3 s. Differential: half way.
    assert_eq!(
        told(&audit),
        [
            (Rule::DIFFERENTIAL, (1, 2), (1000, 2000), (0, 3000), (500, 2500)),
            (Rule::TEMPERATURE, (1, 1), (1000, 1000), (0, 2000), (667, 1333)),
        ]
    );
    assert_eq!(
        classes(&audit),
        [
            (Class::ForwardLegal, 1000),
            (Class::Exception(Rule::DIFFERENTIAL), 2000 - 666),
            (Class::ForwardMultiple, 666),
        ]
    );
    let numbers: Vec<_> = audit.exceptions.iter().map(|one| one.episode).collect();
    assert_eq!(numbers, [1, 1]);
}

#[test]
fn gaps_are_judged_by_their_ends() {
    // Steps of 1 s: a step of 3 s is none, 3.001 s is a gap.
    let quiet = "0 D 150 9\n1 D 150 9\n2 D 150 9\n5.001 D 150 9\n6.001 D 150 9\n9.001 D 150 9";
    let audit = audit_of(US, quiet);
    assert_eq!(told(&audit), []);
    assert_eq!(audit.gaps, [2]);
    assert_eq!(classes(&audit), [(Class::Divert, 6000), (Class::GapDiverted, 3001)]);
    let audit = audit_of(US, "0 F 163 9\n1 F 163 9\n2 F 160 9\n12 D 163 9\n13 D 163 9\n14 D 163 9");
    assert_eq!(
        told(&audit),
        [
            // The gap takes over where the record stops: the dip's own end is its last sample.
            (Rule::TEMPERATURE, (2, 2), (2000, 2000), (1000, 2000), (1667, 2000)),
            (Rule::UNVERIFIABLE, (2, 3), (2000, 12_000), (2000, 12_000), (2000, 12_000)),
        ]
    );
    assert!(!audit.exceptions[0].within_response, "what came next is not known");
}

#[test]
fn an_unknown_valve_is_harmless_only_when_all_is_legal() {
    let legal = audit_of(US, "0 D 163 9\n1 U 161 2\n2 U 163 9\n3 D 163 9");
    assert_eq!(told(&legal), []);
    assert_eq!(classes(&legal), [(Class::Divert, 1000), (Class::Travel, 2000)]);
    for doubtful in ["160.9 2", "161 1.9", "- 2", "161 -"] {
        let audit = audit_of(US, &format!("0 D 163 9\n1 U {doubtful}\n2 U 163 9\n3 D 163 9"));
        let expected = (Rule::UNVERIFIABLE, (1, 2), (1000, 2000), (0, 3000), (500, 2500));
        assert_eq!(told(&audit), [expected], "{doubtful}");
    }
}

#[test]
fn a_device_that_lingers_in_travel_while_the_milk_is_cold() {
    // One sample of it, or samples that span the allowance of 1 s, pass; more is an exception.
    let audit = audit_of(US, "0 F 163 9\n1 T 150 9\n2 D 150 9\n3 D 150 9");
    assert_eq!(told(&audit), []);
    assert_eq!(
        classes(&audit),
        [(Class::ForwardLegal, 500), (Class::Divert, 1500), (Class::Travel, 1000)]
    );
    let audit = audit_of(US, "0 F 163 9\n1 T 150 9\n2 T 150 9\n3 D 150 9");
    assert_eq!(told(&audit), []);
    let audit = audit_of(US, "0 F 163 9\n1 T 150 9\n2.001 T 150 9\n3 D 150 9");
    // Down from 163 to 150: 161 is met after 2/13 s, and the end is half way to the diverted.
    assert_eq!(told(&audit), [(Rule::TEMPERATURE, (1, 2), (1000, 2001), (0, 3000), (154, 2501))]);
    // A single sample of it that belongs to a run with forward flow belongs to the exception.
    let audit = audit_of(US, "0 F 163 9\n1 F 150 9\n2 T 150 9\n3 D 150 9");
    assert_eq!(told(&audit)[0].1, (1, 2));
    // The same for what can't be read.
    let audit = audit_of(US, "0 F 163 9\n1 T - 9\n2.001 T - 9\n3 D 150 9");
    assert_eq!(told(&audit), [(Rule::UNVERIFIABLE, (1, 2), (1000, 2001), (0, 3000), (500, 2501))]);
}

#[test]
fn in_time_only_when_diverted_next() {
    // Down from 163 to 160.5 in 1 s meets 161 after 0.8 s; the end is half way: 0.7 s.
    let in_time = audit_of(US, "0 F 163 9\n1 F 160.5 9\n2 D 160 9");
    assert_eq!(told(&in_time)[0].4, (800, 1500));
    assert!(in_time.exceptions[0].within_response);
    for next in ["T 162", "F 162", "U 160"] {
        let audit = audit_of(US, &format!("0 F 163 9\n1 F 160.5 9\n2 {next} 9\n3 D 160 9"));
        assert!(!audit.exceptions[0].within_response, "{next}");
    }
}

#[test]
fn the_recorder_contradicts_for_more_than_ten_seconds() {
    // 164 shown, 160 recorded: more than 1 °F lower, and below 161.
    let names = "seconds valve temperature differential recorder";
    let of = |count: i64, recorder: &str, position: &str| {
        let text = lines(1, 20, |index| {
            let recorded = if (5..5 + count).contains(&index) { recorder } else { "163.5" };
            let position = if index == 10 { position } else { "F" };
            format!("{position} 164 9 {recorded}")
        });
        audit(&columns(US, plant(), names, &text))
    };
    assert_eq!(why(&of(11, "160", "F")), [], "ten seconds from first to last");
    assert_eq!(why(&of(12, "160", "F")), [(vec![Cause::Contradicted], (5, 16))]);
    assert_eq!(told(&of(12, "160", "F"))[0].4, (4500, 16_500));
    assert_eq!(why(&of(12, "161", "F")), [], "not below the limit");
    assert_eq!(why(&of(12, "160", "D")), [], "not exposed in between");
    // A reading of an unknown position is contradicted too; then the position is not harmless.
    assert_eq!(
        why(&of(12, "160", "U")),
        [
            (vec![Cause::Contradicted], (5, 9)),
            (vec![Cause::PositionUnknown], (10, 10)),
            (vec![Cause::Contradicted], (11, 16)),
        ]
    );
    // 161 shown, 160 recorded: exactly 1 °F apart.
    let text = lines(1, 20, |_| String::from("F 161 9 160"));
    assert_eq!(why(&audit(&columns(US, plant(), names, &text))), []);
}

#[test]
fn heating_water_that_is_colder_than_the_milk_for_more_than_a_minute() {
    let names = "seconds valve temperature differential water";
    let of = |count: i64, water: &str| {
        let text = lines(5, 20, |index| {
            format!("F 73 {} {}", 20 + index % 2, if index < count { water } else { "75" })
        });
        audit(&columns(METRIC, plant(), names, &text))
    };
    assert_eq!(why(&of(13, "72.4")), [], "60 s from first to last");
    assert_eq!(why(&of(14, "72.4")), [(vec![Cause::Contradicted], (0, 13))]);
    assert_eq!(why(&of(14, "72.5")), [], "exactly 0.5 °C colder");
}

#[test]
fn a_channel_that_stands_still_is_frozen_but_for_its_first_sample() {
    // Steps of 10 s, and 600 s are not yet too long.
    let of = |last: i64, decimals: &str| {
        let text = lines(10, 70, |index| {
            let temperature = if (1..=last).contains(&index) {
                format!("163{decimals}")
            } else {
                format!("{}{decimals}", 164 + index % 2)
            };
            format!("F {temperature} {}", 9 + index % 2)
        });
        audit_of(US, &text)
    };
    assert_eq!(why(&of(61, ".0")), [], "600 s from the second sample to the last of them");
    assert_eq!(why(&of(62, ".0")), [(vec![Cause::Frozen], (2, 62))]);
    // Without decimals it may stand still for an hour.
    assert_eq!(why(&of(62, "")), []);
    // Short stays short, however long it stands still.
    let text = lines(10, 70, |index| format!("F 160.5 {}", 9 + index % 2));
    let found = audit_of(US, &text);
    assert_eq!(why(&found), [(vec![Cause::Short], (0, 69))]);
    // Not while diverted.
    let text = lines(10, 70, |index| {
        format!("{} 163.0 {}", if index == 30 { "D" } else { "F" }, 9 + index % 2)
    });
    assert_eq!(why(&audit_of(US, &text)), []);
}

#[test]
fn a_logger_that_repeats_its_last_row() {
    let names = "seconds valve temperature differential recorder";
    let of = |last: i64, names: &str, drop: bool| {
        let text = lines(2, 40, |index| {
            let other = if (1..=last).contains(&index) { 0 } else { 1 + index % 2 };
            let cells = format!("F {} {} {}", 164 + other, 9 + other, 163 + other);
            if drop { cells[..cells.len() - 4].to_owned() } else { cells }
        });
        audit(&columns(US, plant(), names, &text))
    };
    assert_eq!(why(&of(31, names, false)), [], "60 s from first to last");
    assert_eq!(why(&of(32, names, false)), [(vec![Cause::Repeated], (2, 32))]);
    // Two channels are too few to tell.
    assert_eq!(why(&of(32, "seconds valve temperature differential", true)), []);
}

#[test]
fn a_gap_limit_is_never_longer_than_the_shortest_holding_time() {
    let quiet = |second: &str| {
        audit_of(US, &format!("0 D 150 9\n10 D 150 9\n20 D 150 9\n{second} D 150 9"))
    };
    assert_eq!(quiet("35").gap_limit.milliseconds(), 15_000);
    assert!(quiet("35").gaps.is_empty());
    assert_eq!(quiet("35.001").gaps, [2]);
}

#[test]
fn a_diverted_hole_that_is_long_enough_to_go_forward_unseen() {
    let of = |seconds: &str| {
        audit_of(US, &format!("0 D 150 9\n1 D 150 9\n2 D 150 9\n{seconds} D 150 9"))
    };
    let harmless = of("62");
    assert_eq!(why(&harmless), []);
    assert_eq!(classes(&harmless), [(Class::Divert, 2000), (Class::GapDiverted, 60_000)]);
    assert!(kinds(&harmless).contains(&"gap_diverted"));
    let found = of("62.001");
    assert_eq!(
        told(&found),
        [(Rule::UNVERIFIABLE, (2, 3), (2000, 62_001), (2000, 62_001), (2000, 62_001))]
    );
    assert_eq!(found.exceptions[0].causes, [Cause::GapDiverted]);
    assert_eq!(
        classes(&found),
        [(Class::Exception(Rule::UNVERIFIABLE), 60_001), (Class::Divert, 2000)]
    );
}

#[test]
fn gaps_near_one_another_are_one_hole() {
    // Steps of 1 s, gaps of 4 s; 2.999 s lie between the two.
    let of = |next: &str| {
        let text = format!(
            "0 D 150 9\n1 D 150 9\n2 D 150 9\n6 D 150 9\n7 D 150 9\n8 D 150 9\n{next} D 150 9\n\
             13 F 163 9\n14 F 163 9\n15 F 163 9"
        );
        audit_of(US, &text)
    };
    let one = of("8.999");
    assert_eq!(one.gaps, [2, 6]);
    assert_eq!(why(&one), [(vec![Cause::Gap], (2, 7))]);
    assert_eq!(milliseconds(one.exceptions[0].outer), (2000, 13_000));
    let two = of("9");
    assert_eq!(why(&two), [(vec![Cause::Gap], (6, 7))]);
    assert_eq!(two.holes.len(), 2);
}

#[test]
fn rows_without_a_place_make_a_gap_of_every_step() {
    let row = |position: &str, temperature: &str| {
        (valve(position), cell(temperature), cell("9"), ["", ""])
    };
    let of = |rows: Vec<_>| {
        let text = lines(1, 8, |_| String::from("D 150 9"));
        let mut specimen = written(US, plant(), &text);
        specimen.lost = vec![Lost { from: 2000, to: 4000, rows }];
        audit(&specimen)
    };
    // All of them diverted: a hole, and harmless.
    assert_eq!(why(&of(vec![row("D", "150")])), []);
    let found = of(vec![row("D", "150"), row("F", "160.9"), row("F", "161"), row("T", "150")]);
    assert_eq!(why(&found), [(vec![Cause::UnplacedRows], (2, 4))]);
    assert_eq!(found.gaps, [2, 3]);
    let count = found.exceptions[0].unplaced;
    assert_eq!((count.rows, count.short), (4, 1));
}

#[test]
fn a_span_that_two_passes_of_the_clock_claim() {
    let of = |position: &str| {
        let text =
            lines(1, 8, |index| format!("{} 163 9", if index == 4 { position } else { "D" }));
        let mut specimen = written(US, plant(), &text);
        specimen.doubles = vec![(2500, 5000)];
        audit(&specimen)
    };
    assert_eq!(told(&of("D")), []);
    for position in ["F", "T", "U"] {
        let found = of(position);
        let span = (2500, 5000);
        assert_eq!(told(&found), [(Rule::UNVERIFIABLE, (3, 5), span, span, span)], "{position}");
        assert_eq!(found.exceptions[0].causes, [Cause::Clock]);
    }
}

#[test]
fn a_cleaning_is_one_bundle_unless_product_ran() {
    let names = "seconds valve temperature differential cooled lot mode";
    let of = |cooled: &str| {
        let text = format!(
            "0 F 163 9 38 L1 production\n1 D 150 9 90 L1 CIP\n2 F 150 9 90 L1 CIP\n3 D 150 9 90 L1 CIP\n\
             4 F 150 9 {cooled} L1 CIP\n5 D 150 9 90 L1 CIP\n6 F 163 9 38 L1 production"
        );
        audit(&columns(US, plant(), names, &text))
    };
    let cleaning = of("90");
    assert_eq!(why(&cleaning), [(vec![Cause::Short], (2, 2)), (vec![Cause::Short], (4, 4))]);
    assert_eq!(cleaning.cleanings.len(), 1);
    assert_eq!(cleaning.cleanings[0].exceptions, [0, 1]);
    assert_eq!(cleaning.hold.lots, Vec::<String>::new());
    // 45 °F is not below 45 °F.
    assert_eq!(of("45").cleanings[0].exceptions, [0, 1]);
    let product = of("44.9");
    let outside: Vec<bool> =
        product.exceptions.iter().map(|exception| exception.outside_production).collect();
    assert_eq!(outside, [true, false]);
    assert!(kinds(&product).contains(&"cleaning_looks_like_product"));
    assert_eq!(product.hold.lots, ["L1"]);
}

#[test]
fn a_flow_that_is_lost_proves_no_holding() {
    // Q₀ = 6000 L/h for 15 s: at 6000 L/h it takes 15 s, a tenth is 600 L/h.
    let mut plant = plant();
    plant.tube = Some(tube(6000, 15));
    let names = "seconds valve temperature differential flow";
    let of = |flow: &dyn Fn(i64) -> i64| {
        let text = lines(1, 60, |index| format!("F 163 9 {}", flow(index)));
        audit(&columns(US, plant.clone(), names, &text))
    };
    // The jitter keeps the meter from being frozen.
    assert_eq!(why(&of(&|index| 5990 + index % 2)), []);
    let at = |audit: &Audit, sample| {
        audit
            .residence
            .as_ref()
            .and_then(|residence| residence.at(sample))
            .map(Duration::milliseconds)
    };
    assert_eq!(at(&of(&|_| 6000), 30), Some(15_000));
    // 6001 L/h are too much from the first sample on, though the record has just begun.
    assert_eq!(why(&of(&|_| 6001)), [(vec![Cause::Short], (0, 59))]);
    // One sample of no flow at 20 s: nothing is known from there until the tube has been filled
    // since the next, at 21 s and 15 s more.
    let lost = of(&|index| if index == 20 { 599 } else { 6000 });
    assert_eq!(why(&lost), [(vec![Cause::FlowUnusable], (20, 35))]);
    assert_eq!((at(&lost, 35), at(&lost, 36)), (None, Some(15_000)));
    assert_eq!(why(&of(&|index| if index == 20 { 600 } else { 6000 })), []);
}

#[test]
fn the_flow_of_a_diverted_line_may_be_low() {
    let mut plant = plant();
    plant.tube = Some(tube(6000, 15));
    let names = "seconds valve temperature differential flow";
    // At rest until 9 s, then forward: were the flow at rest unusable, nothing would be known until
    // 25 s. The parcel at 24 s has 14.5 s of full flow behind it since the record's start, and no
    // flow was above 6000 L/h; the one at 25 s was held for 15 s.
    let text = lines(1, 40, |index| {
        if index < 10 { String::from("D 163 9 0") } else { String::from("F 163 9 6000") }
    });
    let found = audit(&columns(US, plant, names, &text));
    assert_eq!(why(&found), []);
    let at = |sample| found.residence.as_ref().and_then(|residence| residence.at(sample));
    assert_eq!((at(24), at(25)), (None, Some(Duration::from_seconds(15))));
}

#[test]
fn what_nobody_knows_is_held_to_the_rich_row() {
    let names = "seconds valve temperature differential product mode";
    for (cells, short) in [
        ("165.9 9 Butter -", true),
        ("166 9 Butter -", false),
        ("165.9 9 - -", true),
        // In water a blank is the default product.
        ("161 9 - water", false),
        ("160.9 9 - water", true),
        ("165.9 9 Butter water", true),
    ] {
        let text = format!("0 F 170 9 milk production\n1 F {cells}\n2 F 170 9 milk production");
        let found = audit(&columns(US, plant(), names, &text));
        assert_eq!(why(&found).len(), usize::from(short), "{cells}");
    }
    // In °C the figure that is printed: 75.
    for (temperature, short) in [("74.9", true), ("75", false)] {
        let text = format!("0 F 80 20 milk production\n1 F {temperature} 20 Butter production");
        let found = audit(&columns(METRIC, plant(), names, &text));
        assert_eq!(why(&found).len(), usize::from(short), "{temperature}");
        assert!(kinds(&found).contains(&"unknown_product"));
    }
}

fn two_products() -> Plant {
    let text = "schema = 1\nplant = \"Made up\"\nunit = \"HTST\"\nzone = \"UTC\"\n\
                [[products]]\nname = \"Milk\"\nrow = \"us-milk-15s\"\n\
                [[products]]\nname = \"Cream\"\nrow = \"us-rich-15s\"\n";
    good(Plant::parse("plant.toml", text))
}

#[test]
fn of_two_products_at_once_the_stricter_limit_holds() {
    let names = "seconds valve temperature differential product";
    for (word, short) in [("milk", false), ("cream", true)] {
        let text = format!("0 F 163 9 {word}\n1 F 163 9 {word}");
        let found = audit(&columns(US, two_products(), names, &text));
        assert_eq!(why(&found).len(), usize::from(short), "{word}");
    }
    // Two rows of one instant.
    let mut joined = columns(US, two_products(), names, "0 F 163 9 milk\n1 F 163 9 milk");
    joined.rows[1].product = "cream + milk";
    assert_eq!(why(&audit(&joined)), [(vec![Cause::Short], (1, 1))]);
    // The sheet against the logger, one run from 1 s on.
    let mut sheet = columns(US, two_products(), names, "0 F 163 9 milk\n1 F 163 9 milk");
    sheet.sheet =
        Some(vec![Written { from: 1000, to: 9000, words: ["Cream", "L7", "T3"], quantity: None }]);
    let found = audit(&sheet);
    assert_eq!(why(&found), [(vec![Cause::Short], (1, 1))]);
    assert!(kinds(&found).contains(&"run_sheet_disagrees"));
    assert_eq!(
        (&*found.hold.lots, &*found.hold.tanks),
        (&["L7".to_owned()][..], &["T3".to_owned()][..])
    );
}

#[test]
fn nothing_is_observed_of_a_line_that_stands() {
    let names = "seconds valve temperature differential recorder pump";
    let of = |pump: &str| {
        let text = lines(1, 20, |_| format!("D 120 -3 80 {pump}"));
        kinds(&audit(&columns(US, plant(), names, &text)))
    };
    let quiet = of("off");
    for kind in ["differential_reversed", "differential_low_not_forward", "recorder_disagrees"] {
        assert!(!quiet.contains(&kind), "{quiet:?}");
        assert!(of("on").contains(&kind), "{kind}");
        assert!(of("-").contains(&kind), "{kind}: not known to stand");
    }
}

#[test]
fn a_valve_that_never_shows_forward_while_product_is_made() {
    let names = "seconds valve temperature differential mode";
    let of = |count: i64, mode: &str| {
        let text = lines(10, count, |index| format!("D {} 9 {mode}", 150 + index % 3));
        kinds(&audit(&columns(US, plant(), names, &text))).contains(&"never_forward_in_production")
    };
    assert!(!of(61, "production"), "ten minutes");
    assert!(of(62, "production"));
    assert!(!of(62, "CIP"));
}

#[test]
fn steps_that_are_long_but_no_gap_are_counted() {
    let of = |last: &str| {
        kinds(&audit_of(US, &format!("0 F 163 9\n1 F 163.1 9\n2 F 163 9\n{last} F 163.1 9")))
            .contains(&"missing_samples")
    };
    assert!(!of("3.5"));
    assert!(of("3.501"));
    assert!(!of("5.001"), "a gap");
}

#[test]
fn episodes_are_less_than_the_merge_time_apart() {
    // Dips at 10 s and later, their estimates 1 s to either side: with 60 s between the ends it
    // is a new episode, with 59.999 s it is not.
    for (second, numbers) in [(72.0, [1, 2]), (71.999, [1, 1])] {
        let line = |at: f64, temperature: &str| format!("{at} F {temperature} 9\n");
        let mut text = line(9.0, "161") + &line(10.0, "160") + &line(11.0, "161");
        for between in 12..71 {
            text += &line(f64::from(between), "162");
        }
        text += &(line(second - 1.0, "161") + &line(second, "160") + &line(second + 1.0, "161"));
        let audit = audit_of(US, &text);
        let episodes: Vec<_> = audit.exceptions.iter().map(|one| one.episode).collect();
        assert_eq!(episodes, numbers, "{second}");
    }
}

#[test]
fn volumes_are_trapezoids_of_the_flow() {
    // Diverted, 2 s forward and too cold, diverted: the estimate is 0.5 s to 3.5 s.
    let text = "0 D 150 9\n1 F 150 9\n2 F 150 9\n3 F 150 9\n4 D 150 9";
    let mut specimen = written(US, plant(), text);
    specimen.layout.flow = Some(FlowUnit::LitrePerMinute);
    let flow = |specimen: &mut Specimen, cells: [&str; 5]| {
        for (row, text) in specimen.rows.iter_mut().zip(cells) {
            row.flow = cell(text);
        }
    };
    // 60, 60, 120, 60, 0 L/min are 1, 1, 2, 1, 0 L/s. Estimate: 0.5 × 1 + 1.5 + 1.5 + 0.5 × 0.75;
    // outer: 1 + 1.5 + 1.5 + 0.5.
    flow(&mut specimen, ["60", "60", "120", "60", "0"]);
    let volume = audit(&specimen).exceptions[0].volume;
    close(volume.value.unwrap_or(f64::NAN), 3.875);
    close(volume.outer_value.unwrap_or(f64::NAN), 4.5);
    assert_eq!(volume.basis.key(), "metered");
    // A hole at 2 s leaves 1 s to 3 s without a meter.
    flow(&mut specimen, ["60", "60", "-", "60", "0"]);
    let volume = audit(&specimen).exceptions[0].volume;
    assert_eq!((volume.value, volume.basis.key()), (None, "unknown"));
    // 7200 L/h are 2 L/s: 0.5 + 2 + 2 + 0.375.
    specimen.plant.nominal_flow =
        Some(Flow { value: Decimal::whole(7200), unit: FlowUnit::LitrePerHour });
    let volume = audit(&specimen).exceptions[0].volume;
    close(volume.value.unwrap_or(f64::NAN), 4.875);
    close(volume.outer_value.unwrap_or(f64::NAN), 5.5);
    assert_eq!(volume.basis.key(), "nominal");
}

#[test]
fn a_limit_that_rises_between_two_samples() {
    // 163 °F is legal for milk (161) and short for cream (166): from the first sample of cream.
    let text = "0 F 163 9\n1 F 163 9\n2 F 163 9\n3 F 168 9\n4 F 163 9\n5 F 163 9";
    let mut specimen = written(US, two_products(), text);
    specimen.layout.product = true;
    for (row, product) in
        specimen.rows.iter_mut().zip(["milk", "MILK", "cream", "Cream", "", "Milk"])
    {
        row.product = product;
    }
    let found = audit(&specimen);
    assert_eq!(
        told(&found),
        [
            // The neighbour's 163 lies below 166: the middle. Up 163 to 168 meets 166 after 0.6 s.
            (Rule::TEMPERATURE, (2, 2), (2000, 2000), (1000, 3000), (1500, 2600)),
            // Blank: the strictest limit. Down 168 to 163 meets 166 after 0.4 s; then the middle.
            (Rule::TEMPERATURE, (4, 4), (4000, 4000), (3000, 5000), (3400, 4500)),
        ]
    );
    // A word that no product has: the same.
    specimen.rows[4].product = "Butter";
    assert_eq!(told(&audit(&specimen)), told(&found));
    // No product named at all: the default, milk.
    specimen.layout.product = false;
    assert_eq!(told(&audit(&specimen)), []);
}

#[test]
fn one_sample_is_a_record() {
    let found = audit_of(US, "0 F 160 9");
    assert_eq!(told(&found), [(Rule::TEMPERATURE, (0, 0), (0, 0), (0, 0), (0, 0))]);
    assert_eq!(found.accounting.total(), Duration::ZERO);
    assert_eq!(found.accounting.timeline(), []);
}
