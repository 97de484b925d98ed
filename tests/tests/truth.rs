//! The simulator knows what really happened: no unsafe second may be missed, and nothing else
//! may be flagged.

use analysis::{Audit, Rule};
use chrono::NaiveDate;
use ingest::{Input, Progress};
use plant::Plant;
use simulate::{Dialect, Fault, FaultKind, Script, Step, Truth, TruthRule, simulate, write_csv};
use tests::good;
use tests::random::Choices;
use trace::{Duration, Interval, Role, RunRecord};

fn audit(name: &str, bytes: Vec<u8>, plant: &Plant) -> (RunRecord, Audit) {
    let input = Input::Bytes { name: name.to_owned(), bytes };
    match ingest::read(&[input], plant, &Progress::default()) {
        Ok(ingested) => {
            let audit = analysis::audit(&ingested.record, plant, ingested.observations);
            (ingested.record, audit)
        }
        Err(error) => panic!("{name}: {error}"),
    }
}

fn plant() -> Plant {
    good(simulate::sample_plant())
}

const RULES: [(TruthRule, Rule); 4] = [
    (TruthRule::Temperature, Rule::TEMPERATURE),
    (TruthRule::Differential, Rule::DIFFERENTIAL),
    (TruthRule::HoldingTime, Rule::HOLDING_TIME),
    (TruthRule::Unverifiable, Rule::UNVERIFIABLE),
];

/// The parts of `whole` that none of `parts` covers.
fn uncovered(whole: Interval, mut parts: Vec<Interval>) -> Vec<Interval> {
    parts.sort_unstable();
    let mut left = Vec::new();
    let mut from = whole.start();
    for part in parts {
        if from < part.start() && from < whole.end() {
            left.push(Interval::between(from, part.start().min(whole.end())));
        }
        from = from.max(part.end());
    }
    if from < whole.end() {
        left.push(Interval::between(from, whole.end()));
    }
    left
}

fn widened(interval: Interval, by: Duration) -> Interval {
    Interval::between(interval.start() - by, interval.end() + by)
}

/// `blur` is how far the noise of a sensor may move the moment at which a slow change crosses a
/// limit.
fn check(name: &str, record: &RunRecord, audit: &Audit, truth: &Truth, blur: Duration) {
    for (truth_rule, rule) in RULES {
        let found: Vec<_> = audit.exceptions.iter().filter(|one| one.rule == rule).collect();
        for unsafe_flow in truth.of(truth_rule) {
            let outers = found.iter().map(|one| widened(one.outer, blur)).collect();
            let missed = uncovered(unsafe_flow, outers);
            assert!(missed.is_empty(), "{name}: {rule:?} missed: {missed:?} of {unsafe_flow:?}");
        }
        for exception in found {
            // One sample to either side is what a sampled record can show.
            let near = record.sampling_interval() + blur;
            let real: Vec<Interval> = truth.of(truth_rule).map(|one| widened(one, near)).collect();
            let (start, observed) = (exception.observed.start(), exception.observed);
            let wrong = uncovered(observed, real.clone());
            let is_real = wrong.is_empty() && real.iter().any(|real| real.contains(start));
            assert!(is_real, "{name}: {rule:?} flagged at {observed:?}, but safe");
        }
    }
}

#[test]
fn the_audit_finds_in_the_sample_runs_what_happened() {
    let plant = plant();
    let days = good(simulate::sample_days());
    assert_eq!(days.len(), 7);
    for day in days {
        let (record, audit) = audit(&day.file_name, day.bytes, &plant);
        check(&day.file_name, &record, &audit, &day.truth, Duration::ZERO);
    }
}

/// A day whose faults come at times and for lengths that a seed decides.
fn day(choices: &mut Choices) -> Script {
    let seconds = Duration::from_seconds;
    let product = |name: &str| Step::Product { name: name.to_owned(), lot: "made up".to_owned() };
    let mut faults = Vec::new();
    let mut from = 40 * 60;
    while from < 110 * 60 {
        let lasts = choices.between(20, 120);
        let fault = |kind| Fault { from: seconds(from), lasts: seconds(lasts), kind };
        let stuck = |kind| Fault { from: seconds(from - 5), lasts: seconds(lasts + 200), kind };
        match choices.between(0, 5) {
            0 => faults
                .extend([fault(FaultKind::HeatingWaterLost), stuck(FaultKind::ValveStuckForward)]),
            1 => faults.extend([
                fault(FaultKind::BackPressureLost),
                stuck(FaultKind::BoosterInterlockBypassed),
            ]),
            2 => faults.push(fault(FaultKind::LoggerStopped)),
            3 => faults.push(fault(FaultKind::HeatingWaterLost)),
            _ => {
                let role = choices.one_of(&[
                    Role::HoldingTemperature,
                    Role::RawPressure,
                    Role::PasteurizedPressure,
                ]);
                let text = choices.one_of(&["", "BAD", "-999.9", "NaN"]);
                faults.push(fault(FaultKind::Dropout { role, text }));
            }
        }
        from += 200 + lasts + choices.between(300, 900);
    }
    Script {
        start: NaiveDate::from_ymd_opt(2026, 5, 1 + choices.between(0, 20) as u32)
            .and_then(|date| date.and_hms_opt(4, 0, 0))
            .unwrap_or_default(),
        duration: seconds(2 * 3600 + 1200),
        sample_interval: seconds(choices.one_of(&[1, 1, 2])),
        steps: vec![
            (seconds(120), Step::Start),
            (seconds(1200), product("whole milk")),
            (seconds(2 * 3600), Step::Water),
            (seconds(2 * 3600 + 300), Step::Cleaning),
            (seconds(2 * 3600 + 1000), Step::Stop),
        ],
        faults,
        fouling_per_hour: 0.05,
    }
}

#[test]
fn days_with_faults_at_any_time() {
    let plant = plant();
    let mut unsafe_flow = 0;
    for seed in 0..12 {
        let script = day(&mut Choices::new(seed));
        let run = good(simulate(&script, &plant, seed));
        let bytes = good(write_csv(&run, &Dialect::default()));
        unsafe_flow += run.truth.unsafe_flow.len();
        let name = format!("seed {seed}");
        let (record, audit) = audit(&name, bytes, &plant);
        check(&name, &record, &audit, &run.truth, Duration::from_seconds(2));
    }
    assert!(unsafe_flow >= 20, "only {unsafe_flow} unsafe intervals in all days");
}
