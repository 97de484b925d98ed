//! The product's audit against a second one, written from the method alone, on thousands of
//! traces that look for trouble.

use analysis::{Basis, Cause, Class, DivertReason, PassageReason, Rule};
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;
use tests::compare::{OWN, compare};
use tests::interpreter::{Held, Residence, interpret};
use tests::specimen::Specimen;
use trace::EntryKind;

const TRACES: u64 = 12_000;

fn disagreement(specimen: &Specimen) -> Option<String> {
    let record = specimen.record();
    let audit = analysis::audit(&record, &specimen.plant, Vec::new());
    compare(&record, &audit, &interpret(&record, &specimen.plant)).err()
}

/// What `of` says of all seeds, by as many threads as there are cores.
fn of_all<T: Send>(of: impl Fn(Range<u64>) -> T + Sync) -> Vec<T> {
    let threads = std::thread::available_parallelism().map_or(1, |count| count.get() as u64);
    let part = TRACES.div_ceil(threads);
    let of = &of;
    std::thread::scope(|scope| {
        let running: Vec<_> = (0..threads)
            .map(|thread| thread * part..((thread + 1) * part).min(TRACES))
            .map(|seeds| scope.spawn(move || of(seeds)))
            .collect();
        running
            .into_iter()
            .map(|thread| match thread.join() {
                Ok(found) => found,
                Err(panic) => std::panic::resume_unwind(panic),
            })
            .collect()
    })
}

#[test]
fn two_audits_agree_on_twelve_thousand_traces() {
    let disagree = of_all(|seeds| {
        seeds.filter(|&seed| disagreement(&Specimen::new(seed)).is_some()).collect::<Vec<u64>>()
    })
    .concat();
    if let Some(&seed) = disagree.first() {
        let smallest = Specimen::new(seed).shrunk(|smaller| disagreement(smaller).is_some());
        let difference = disagreement(&smallest).unwrap_or_default();
        panic!("{} disagree, first seed {seed}: {difference}\n{smallest}", disagree.len());
    }
}

/// What one trace meets, each case once.
fn cases(specimen: &Specimen) -> BTreeSet<String> {
    let record = specimen.record();
    let interpretation = interpret(&record, &specimen.plant);
    let mut met = BTreeSet::new();
    for finding in &interpretation.findings {
        met.insert(format!("{:?}", finding.rule));
        met.extend(finding.causes.iter().map(|cause| format!("{cause:?}")));
        met.insert(format!("several causes {}", finding.causes.len() > 1));
        met.insert(format!("basis {:?}", finding.basis));
        met.insert(format!("mode {:?}", finding.mode));
        met.insert(format!("within response {}", finding.within_response));
        met.insert(format!("response {}", finding.response.is_some()));
        met.insert(format!("outside production {}", finding.outside_production));
        met.insert(format!("several positions {}", finding.positions.len() > 1));
        met.insert(format!("several lots {}", finding.lots.len() > 1));
        met.insert(format!("tanks {}", !finding.tanks.is_empty()));
        if let Some((_, short)) = finding.unplaced {
            met.insert(format!("unplaced rows that are short {}", short > 0));
        }
        let (first, last) = finding.samples;
        met.insert(format!("one sample {}", first == last));
        let of_run = finding.observed != finding.outer && first > 0 && last + 1 < record.samples();
        if of_run {
            let middle = |one: usize, other: usize| {
                record.instants()[one].midpoint(record.instants()[other]).unix_milliseconds()
            };
            let (start, end) = finding.estimate;
            met.insert(format!("start at a midpoint {}", start == middle(first - 1, first)));
            met.insert(format!("end at a midpoint {}", end == middle(last, last + 1)));
            met.insert(format!("start at the edge sample {}", start == finding.observed.0));
            met.insert(format!("end at the edge sample {}", end == finding.observed.1));
        }
    }
    let episodes = interpretation.findings.iter().map(|one| one.episode).max();
    met.insert(format!("several episodes {}", episodes > Some(1)));
    met.insert(format!("shared episodes {}", episodes < Some(interpretation.findings.len())));
    met.insert(format!("several cleanings {}", interpretation.bundles.len() > 1));
    met.insert(format!("an exception {}", !interpretation.findings.is_empty()));
    met.extend(interpretation.timeline.iter().map(|(_, class)| format!("{class:?}")));
    for (residence, limit) in interpretation.residence.iter().zip(&interpretation.limits) {
        let known = match residence {
            Residence::Known(whole, short) => {
                met.insert(format!("held for the minimum {}", *whole == limit.minimum_time));
                format!("held too short {short}")
            }
            other => format!("{other:?}"),
        };
        met.insert(known);
        met.insert(format!("unknown product {}", limit.unknown));
        met.insert(format!("the sheet disagrees {}", limit.sheet_disagrees));
        met.insert(format!("a limit of several products {}", limit.product.is_none()));
    }
    for (passage, reasons) in interpretation.passages.iter().zip(&interpretation.reasons) {
        met.insert(format!("to {:?}", passage.to));
        met.extend(reasons.may.iter().map(|reason| format!("reason {reason:?}")));
        met.insert(format!("no reason {}", reasons.may.is_empty()));
    }
    for divert in &interpretation.diverts {
        met.insert(format!("divert because {:?}", divert.reason));
        met.insert(format!("divert over {}", divert.is_over));
        met.insert(format!("divert metered {}", divert.is_metered));
    }
    let entries = specimen.record();
    let entries = entries.operator_entries().map_or(&[][..], |entries| entries.entries());
    for (entry, held) in entries.iter().zip(&interpretation.entries) {
        met.insert(format!("{} {held:?}", entry.kind.name()));
    }
    met.insert(format!("a return of cleanings {}", specimen.layout.cleaning_return));
    for cleaned in &interpretation.cleaned {
        met.insert(format!("cleaning begins {}", cleaned.borders.0));
        met.insert(format!("cleaning ends {}", cleaned.borders.1));
        met.insert(format!("cleaning then {}", cleaned.followed.0));
        met.insert(format!("is a cleaning {}", cleaned.is_one));
        met.insert(format!("cleaning counts {}", cleaned.counts));
        met.insert(format!("hot cleaning {}", cleaned.hot > Some(0)));
        met.insert(format!("cleaning with temperatures {}", cleaned.temperatures.is_some()));
    }
    for amount in &interpretation.amounts {
        met.insert(format!("amount known {}", amount.is_some()));
    }
    for change in &interpretation.changed {
        met.insert(format!("change forward {}", change.is_forward));
        met.insert(format!("temperature at a change {}", change.temperature.is_some()));
        met.insert(format!("flow at a change {}", change.flow.is_some()));
    }
    for produced in &interpretation.produced {
        met.insert(format!("after a cleaning {}", produced.between.0));
        met.insert(format!("before a cleaning {}", produced.between.1));
    }
    for (kind, look) in &interpretation.looks {
        if !look.must.is_empty() || !look.within.is_empty() {
            met.insert(format!("look {kind}"));
        }
    }
    for (kind, told) in &interpretation.told {
        if !told.is_empty() {
            met.insert(format!("look {kind}"));
        }
    }
    for stretch in &interpretation.stretches {
        let at = |sample: usize| record.instants()[sample].unix_milliseconds();
        let (first, last) = stretch.samples;
        let invalid = &stretch.invalid;
        met.insert(format!("{:?} with invalid readings {}", stretch.doubt, !invalid.is_empty()));
        // Whether it would be too short without what is invalid in it.
        let parts = [&[first][..], invalid, &[last][..]].concat();
        let only = parts.windows(2).all(|part| at(part[1]) - at(part[0]) <= stretch.longer_than);
        met.insert(format!("{:?} only over invalid readings {only}", stretch.doubt));
    }
    for hole in &interpretation.holes {
        met.insert(format!("exposed hole {}", hole.exposed));
        met.insert(format!("hole of several steps {}", hole.samples.1 > hole.samples.0 + 1));
        met.insert(format!("hole of no length {}", hole.samples.1 == hole.samples.0));
    }
    met.insert(format!("gap {}", !interpretation.gaps.is_empty()));
    met.insert(format!("gap limit of 15 s {}", interpretation.gap_limit == 15_000));
    met.insert(format!("one sample in all {}", record.samples() == 1));
    met.insert(format!("margin {}", interpretation.temperature_margin.is_some()));
    met.insert(format!("lots to hold {}", !interpretation.hold_lots.is_empty()));
    met.insert(format!("tanks to hold {}", !interpretation.hold_tanks.is_empty()));
    met.insert(format!(
        "changing limit {}",
        interpretation.limits.windows(2).any(|pair| pair[0] != pair[1])
    ));
    met
}

/// The comparison above is worth as much as the traces are: each case of the method must be met
/// often in them. Counted by the interpreter, so that a case the product misses is counted too.
#[test]
fn the_traces_meet_every_case() {
    let parts = of_all(|seeds| {
        let mut met: BTreeMap<String, usize> = BTreeMap::new();
        for case in seeds.flat_map(|seed| cases(&Specimen::new(seed))) {
            *met.entry(case).or_default() += 1;
        }
        met
    });
    let mut met: BTreeMap<String, usize> = BTreeMap::new();
    for (case, times) in parts.into_iter().flatten() {
        *met.entry(case).or_default() += times;
    }
    for case in every_case() {
        let times = met.get(&case).copied().unwrap_or(0);
        assert!(times >= 40, "{case}: met {times} times only; all: {met:#?}");
    }
}

fn every_case() -> Vec<String> {
    let mut cases: Vec<String> = Vec::new();
    cases.extend(Rule::ALL.iter().map(|rule| format!("{rule:?}")));
    for cause in [
        Cause::Short,
        Cause::InvalidReading,
        Cause::Contradicted,
        Cause::Frozen,
        Cause::Repeated,
        Cause::FlowUnusable,
        Cause::PositionUnknown,
        Cause::Gap,
        Cause::GapDiverted,
        Cause::UnplacedRows,
        Cause::Clock,
    ] {
        cases.push(format!("{cause:?}"));
    }
    for doubt in [Cause::Contradicted, Cause::Frozen, Cause::Repeated] {
        for either in ["with invalid readings", "only over invalid readings"] {
            cases.extend([true, false].map(|one| format!("{doubt:?} {either} {one}")));
        }
    }
    for basis in [None, Some(Basis::Metered), Some(Basis::Nominal), Some(Basis::Unknown)] {
        cases.push(format!("basis {basis:?}"));
    }
    cases.extend(Class::ALL.into_iter().map(|class| format!("{class:?}")));
    cases.extend(["Production", "Water", "Cleaning"].map(|mode| format!("mode {mode}")));
    for reason in DivertReason::ALL {
        cases.push(format!("divert because {reason:?}"));
    }
    for reason in [
        PassageReason::Temperature,
        PassageReason::Differential,
        PassageReason::Flow,
        PassageReason::PumpStopped,
    ] {
        cases.push(format!("reason {reason:?}"));
    }
    for kind in analysis::observations::KINDS {
        if !OWN.contains(&kind.key()) {
            cases.push(format!("look {}", kind.key()));
        }
    }
    for kind in EntryKind::ALL {
        let held: &[Held] = match kind {
            EntryKind::Seals | EntryKind::Occurrence => &[Held::Words],
            EntryKind::Recorder => &[Held::Agrees, Held::Disagrees, Held::NotComparable],
            _ => &[Held::Agrees, Held::Disagrees],
        };
        cases.extend(held.iter().map(|held| format!("{} {held:?}", kind.name())));
    }
    for border in ["seen", "gap", "record"] {
        cases.extend(["begins", "ends"].map(|end| format!("cleaning {end} {border}")));
    }
    for then in ["production", "cleaning", "nothing"] {
        cases.push(format!("cleaning then {then}"));
    }
    cases.extend(["Unknown", "ShortAnyhow"].map(str::to_owned));
    for either in [
        "several causes",
        "within response",
        "response",
        "outside production",
        "several positions",
        "several lots",
        "tanks",
        "unplaced rows that are short",
        "one sample",
        "start at a midpoint",
        "end at a midpoint",
        "start at the edge sample",
        "end at the edge sample",
        "several episodes",
        "shared episodes",
        "several cleanings",
        "an exception",
        "held too short",
        "held for the minimum",
        "unknown product",
        "the sheet disagrees",
        "a limit of several products",
        "no reason",
        "divert over",
        "divert metered",
        "amount known",
        "change forward",
        "temperature at a change",
        "flow at a change",
        "a return of cleanings",
        "is a cleaning",
        "cleaning counts",
        "hot cleaning",
        "cleaning with temperatures",
        "after a cleaning",
        "before a cleaning",
        "exposed hole",
        "hole of several steps",
        "hole of no length",
        "gap",
        "gap limit of 15 s",
        "one sample in all",
        "margin",
        "lots to hold",
        "tanks to hold",
        "changing limit",
    ] {
        cases.push(format!("{either} true"));
        cases.push(format!("{either} false"));
    }
    cases.extend(["to Forward", "to Divert"].map(str::to_owned));
    cases
}
