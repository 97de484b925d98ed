//! The product's audit against a second one, written from the method alone, on thousands of
//! traces that look for trouble.

use analysis::{Basis, Cause, Class, Rule};
use std::collections::BTreeMap;
use tests::compare::compare;
use tests::interpreter::interpret;
use tests::specimen::Specimen;

fn disagreement(specimen: &Specimen) -> Option<String> {
    let record = specimen.record();
    let audit = analysis::audit(&record, &specimen.plant, Vec::new());
    compare(&record, &audit, &interpret(&record, &specimen.plant)).err()
}

#[test]
fn two_audits_agree_on_ten_thousand_traces() {
    let disagree: Vec<u64> =
        (0..10_000).filter(|&seed| disagreement(&Specimen::new(seed)).is_some()).collect();
    if let Some(&seed) = disagree.first() {
        let smallest = Specimen::new(seed).shrunk(|smaller| disagreement(smaller).is_some());
        let difference = disagreement(&smallest).unwrap_or_default();
        panic!("{} disagree, first seed {seed}: {difference}\n{smallest}", disagree.len());
    }
}

/// The comparison above is worth as much as the traces are: each case of the method must be met
/// often in them. Counted by the interpreter, so that a case the product misses is counted too.
#[test]
fn the_traces_meet_every_case() {
    let mut met: BTreeMap<String, usize> = BTreeMap::new();
    let mut meet = |case: String| *met.entry(case).or_default() += 1;
    for seed in 0..2000 {
        let specimen = Specimen::new(seed);
        let record = specimen.record();
        let interpretation = interpret(&record, &specimen.plant);
        for finding in &interpretation.findings {
            meet(format!("{:?}", finding.rule));
            meet(format!("{:?}", finding.cause));
            meet(format!("basis {:?}", finding.basis));
            meet(format!("mode {:?}", finding.mode));
            meet(format!("within response {}", finding.within_response));
            let (first, last) = finding.samples;
            meet(format!("one sample {}", first == last));
            if finding.cause != Cause::Gap && first > 0 && last + 1 < record.samples() {
                let middle = |one: usize, other: usize| {
                    record.instants()[one].midpoint(record.instants()[other]).unix_milliseconds()
                };
                meet(format!(
                    "start at a midpoint {}",
                    finding.estimate.0 == middle(first - 1, first)
                ));
                meet(format!("end at a midpoint {}", finding.estimate.1 == middle(last, last + 1)));
                meet(format!(
                    "start at the edge sample {}",
                    finding.estimate.0 == finding.observed.0
                ));
                meet(format!(
                    "end at the edge sample {}",
                    finding.estimate.1 == finding.observed.1
                ));
            }
        }
        let episodes = interpretation.findings.iter().map(|one| one.episode).max();
        meet(format!("several episodes {}", episodes > Some(1)));
        meet(format!("shared episodes {}", episodes < Some(interpretation.findings.len())));
        for (_, class) in &interpretation.timeline {
            meet(format!("{class:?}"));
        }
        for (time, limit) in interpretation.residence.iter().zip(&interpretation.limits) {
            meet(format!("residence {}", time.is_some()));
            if let Some((whole, short)) = time {
                meet(format!("held too short {short}"));
                meet(format!("held for the minimum {}", *whole == limit.minimum_time));
            }
        }
        for passage in &interpretation.passages {
            meet(format!("to {:?}", passage.to));
        }
        for kind in interpretation.looks.keys() {
            meet(format!("look {kind:?}"));
        }
        meet(format!("gap {}", !interpretation.gaps.is_empty()));
        meet(format!("one sample in all {}", record.samples() == 1));
        meet(format!("margin {}", interpretation.temperature_margin.is_some()));
        meet(format!(
            "changing limit {}",
            interpretation.limits.windows(2).any(|pair| pair[0] != pair[1])
        ));
    }
    let mut cases: Vec<String> = Vec::new();
    for rule in Rule::ALL {
        cases.push(format!("{rule:?}"));
    }
    for cause in
        [Cause::Short, Cause::InvalidReading, Cause::ValveUnknown, Cause::Travel, Cause::Gap]
    {
        cases.push(format!("{cause:?}"));
    }
    for basis in [None, Some(Basis::Metered), Some(Basis::Nominal), Some(Basis::Unknown)] {
        cases.push(format!("basis {basis:?}"));
    }
    for class in Class::ALL {
        cases.push(format!("{class:?}"));
    }
    for mode in ["Production", "Water", "Cleaning"] {
        cases.push(format!("mode {mode}"));
    }
    for kind in tests::compare::COMPARED {
        cases.push(format!("look {kind:?}"));
    }
    for either in [
        "within response",
        "one sample",
        "start at a midpoint",
        "end at a midpoint",
        "start at the edge sample",
        "end at the edge sample",
        "several episodes",
        "shared episodes",
        "gap",
        "one sample in all",
        "margin",
        "changing limit",
        "residence",
        "held too short",
        "held for the minimum",
    ] {
        cases.push(format!("{either} true"));
        cases.push(format!("{either} false"));
    }
    cases.extend(["to Forward", "to Divert"].map(str::to_owned));
    for case in cases {
        let times = met.get(&case).copied().unwrap_or(0);
        assert!(times >= 20, "{case}: met {times} times only; all: {met:#?}");
    }
}
