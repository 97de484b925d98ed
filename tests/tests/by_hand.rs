//! Small records worked out with a pencil from the method. Both audits must give these figures:
//! a mistake that the two share would not show when they are only compared with one another.

use analysis::{Audit, Class, Exception, Rule};
use plant::{Flow, Plant};
use tests::compare::compare;
use tests::interpreter::interpret;
use tests::simple::{METRIC, US, Units, cell, written};
use tests::specimen::Specimen;
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
    audit(&written(units, Plant::assumed(), text))
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

#[test]
fn a_dip_is_bounded_by_its_crossings() {
    // Down: 162 to 160 in 1 s meets 161 after 0.5 s. Up: 160.5 to 162.5 meets 161 after 0.25 s.
    let audit =
        audit_of(US, "0 F 163 9\n1 F 162 9\n2 F 160 9\n3 F 160.5 9\n4 F 162.5 9\n5 F 163 9");
    assert_eq!(
        told(&audit),
        [(Rule::Temperature, (2, 3), (2000, 3000), (1000, 4000), (1500, 3250))]
    );
    assert_eq!(
        classes(&audit),
        [(Class::ForwardCompliant, 3250), (Class::ForwardTemperature, 1750)]
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
            (Rule::Temperature, (1, 1), (1000, 1000), (0, 2000), (0, 2000)),
            (Rule::Differential, (3, 3), (3000, 3000), (2000, 4000), (2000, 4000)),
        ]
    );
}

#[test]
fn a_step_to_or_from_another_position_is_halved() {
    // 161.5 is legal, but diverted: the middle of the step, not the crossing. An odd step's
    // middle is rounded to the later millisecond.
    let audit = audit_of(US, "0 D 161.5 9\n1.001 F 160 9\n2 F 160 9\n3 T 160 9\n4 D 160 9");
    assert_eq!(told(&audit), [(Rule::Temperature, (1, 2), (1001, 2000), (0, 3000), (501, 2500))]);
    assert_eq!(
        classes(&audit),
        [(Class::ForwardTemperature, 1999), (Class::Divert, 501 + 500), (Class::Travel, 1000)]
    );
    let transitions: Vec<_> = audit.transitions.iter().map(|one| one.samples).collect();
    assert_eq!(transitions, [(0, 1), (2, 4)]);
}

#[test]
fn a_reading_that_is_missing_is_not_safe() {
    let audit = audit_of(US, "0 F 163 9\n1 F - 9\n2 F 163 -\n3 F 163 9\n4 D - -\n5 F - 1");
    assert_eq!(
        told(&audit),
        [
            (Rule::Unverifiable, (1, 2), (1000, 2000), (0, 3000), (500, 2500)),
            // Short of one rule: the other's missing reading adds nothing.
            (Rule::Differential, (5, 5), (5000, 5000), (4000, 5000), (4500, 5000)),
        ]
    );
    assert_eq!(
        classes(&audit),
        [
            (Class::ForwardCompliant, 500 + 1000),
            (Class::ForwardDifferential, 500),
            (Class::Unverifiable, 2000),
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
            (Rule::Differential, (1, 2), (1000, 2000), (0, 3000), (500, 2500)),
            (Rule::Temperature, (1, 1), (1000, 1000), (0, 2000), (667, 1333)),
        ]
    );
    assert_eq!(
        classes(&audit),
        [
            (Class::ForwardCompliant, 1000),
            (Class::ForwardDifferential, 2000 - 666),
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
            (Rule::Temperature, (2, 2), (2000, 2000), (1000, 2000), (1667, 2000)),
            (Rule::Unverifiable, (2, 3), (2000, 12_000), (2000, 12_000), (2000, 12_000)),
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
        let expected = (Rule::Unverifiable, (1, 2), (1000, 2000), (0, 3000), (500, 2500));
        assert_eq!(told(&audit), [expected], "{doubtful}");
    }
}

#[test]
fn travel_may_take_five_seconds() {
    // The outer interval counts: from the last sample before to the first after.
    let audit = audit_of(US, "0 F 163 9\n2.5 T 150 9\n5 D 150 9\n7.5 D 150 9");
    assert_eq!(told(&audit), []);
    let audit = audit_of(US, "0 F 163 9\n2.5 T 150 9\n5.001 D 150 9\n7.5 D 150 9");
    assert_eq!(told(&audit), [(Rule::Unverifiable, (1, 1), (2500, 2500), (0, 5001), (1250, 3751))]);
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
    let mut specimen = written(US, Plant::assumed(), text);
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
    let Ok(plant) = Plant::parse(
        "plant.toml",
        "schema = 1\nplant = \"Made up\"\nunit = \"HTST\"\nzone = \"UTC\"\n\
         [[products]]\nname = \"Milk\"\nrow = \"us-milk-15s\"\n\
         [[products]]\nname = \"Cream\"\nrow = \"us-rich-15s\"\n",
    ) else {
        panic!("a plant file")
    };
    let text = "0 F 163 9\n1 F 163 9\n2 F 163 9\n3 F 168 9\n4 F 163 9\n5 F 163 9";
    let mut specimen = written(US, plant, text);
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
            (Rule::Temperature, (2, 2), (2000, 2000), (1000, 3000), (1500, 2600)),
            // Blank: the strictest limit. Down 168 to 163 meets 166 after 0.4 s; then the middle.
            (Rule::Temperature, (4, 4), (4000, 4000), (3000, 5000), (3400, 4500)),
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
    assert_eq!(told(&found), [(Rule::Temperature, (0, 0), (0, 0), (0, 0), (0, 0))]);
    assert_eq!(found.accounting.total(), Duration::ZERO);
    assert_eq!(found.accounting.timeline(), []);
}
