//! Less evidence never makes the answer cleaner: of two records, the one in which a legal reading
//! is blank, doubtful or further from the next, or in which a hole is cut, has every exception that
//! the other has, of the same rule or as not verifiable.
//!
//! Compared are **forward** samples: each that lies in an exception must still lie in one. A sample
//! in travel need not: what is short there for longer than the device may take can be cut by a
//! blank into two parts that are each short enough to be a passage.
//!
//! Left out are changes inside a stretch that is doubtful because of its length (contradicted,
//! frozen, repeated): by the method a blank or a gap in it begins it anew, and two halves may each
//! be short enough to be believed.

use analysis::Cause;
use std::collections::BTreeSet;
use tests::interpreter::{Answer, Interpretation, interpret};
use tests::random::Choices;
use tests::specimen::Specimen;
use trace::{Decimal, Duration, Invalid, Reading, Role, RunRecord, TemperatureUnit, ValveState};

const BLANK: Reading = Reading::Invalid(Invalid::Blank);

/// How the two audits name what they found in a record.
struct Found {
    record: RunRecord,
    interpretation: Interpretation,
    /// The limit of each sample and its time, by the product.
    limits: Vec<(f64, Duration)>,
    /// By the product and by the interpreter: the samples in any exception, holes from end to end.
    covered: [BTreeSet<usize>; 2],
}

fn find(specimen: &Specimen) -> Found {
    let record = specimen.record();
    let audit = analysis::audit(&record, &specimen.plant, Vec::new());
    let interpretation = interpret(&record, &specimen.plant);
    let product = audit.exceptions.iter().flat_map(|one| one.samples.0..=one.samples.1).collect();
    let interpreter =
        interpretation.findings.iter().flat_map(|one| one.samples.0..=one.samples.1).collect();
    let limits = audit
        .temperature_limits
        .iter()
        .flat_map(|span| (span.first..=span.last).map(|_| (span.limit, span.minimum_time)));
    let limits = limits.collect();
    Found { record, interpretation, limits, covered: [product, interpreter] }
}

impl Found {
    fn doubted(&self, sample: usize) -> bool {
        self.interpretation.doubted.get(sample).copied().unwrap_or(false)
    }

    /// Digits that readings print; a channel that loses the only reading with a decimal may stand
    /// still for longer.
    fn scales(&self) -> Vec<(Role, u8)> {
        self.record.channels().iter().map(|(role, channel)| (*role, channel.scale())).collect()
    }

    /// The forward samples in exceptions.
    fn forward(&self, of: usize) -> impl Iterator<Item = usize> + '_ {
        let valve = self.record.valve();
        self.covered[of].iter().copied().filter(move |&one| valve[one] == ValveState::Forward)
    }
}

/// Each forward sample of `before` that lies in an exception lies in one of `after`, where it is
/// called `renamed`, if it is still there.
fn assert_covers(
    before: &Found,
    after: &Found,
    renamed: impl Fn(usize) -> Option<usize>,
    context: &str,
) {
    for of in 0..2 {
        for sample in before.forward(of) {
            if let Some(now) = renamed(sample) {
                let audit = ["the product", "the interpreter"][of];
                assert!(
                    after.covered[of].contains(&now),
                    "{audit}: sample {sample}, now {now}, is in no exception any more; {context}"
                );
            }
        }
    }
}

/// A specimen whose samples can be moved in time: nothing beside them, a gap limit of its own.
fn movable(seed: u64) -> Specimen {
    let mut specimen = Specimen::new(seed);
    specimen.lost.clear();
    specimen.doubles.clear();
    specimen.sheet = None;
    let median = specimen.record().sampling_interval().milliseconds();
    let limits = &mut specimen.plant.limits;
    limits.gap.get_or_insert(Duration::from_milliseconds((3 * median).clamp(1, 15_000)));
    specimen
}

/// How many of the seeds were worth something: a property that never applies says nothing.
fn each(seeds: std::ops::Range<u64>, least: usize, property: impl Fn(u64) -> bool) {
    let applied = seeds.filter(|&seed| property(seed)).count();
    assert!(applied >= least, "applied {applied} times only");
}

#[test]
fn a_legal_reading_turned_into_a_blank_removes_no_exception() {
    each(100_000..101_500, 500, |seed| {
        let specimen = Specimen::new(seed);
        let before = find(&specimen);
        let choices = &mut Choices::new(seed);
        let mut applied = false;
        for _ in 0..4 {
            let sample = choices.between(0, specimen.rows.len() as i64 - 1) as usize;
            let channel = choices.between(0, 3);
            let rule = [0, 1, 1, 2][channel as usize];
            let legal = before.interpretation.answers[sample][rule] == Answer::Legal;
            // The first sample of a stretch that stands still is legal, and its length counts.
            if !legal || before.doubted(sample) || before.doubted(sample + 1) {
                continue;
            }
            let mut less = specimen.clone();
            let row = &mut less.rows[sample];
            match channel {
                0 => row.temperature = BLANK,
                1 => row.pressure = BLANK,
                2 => row.pasteurized = BLANK,
                _ => row.flow = BLANK,
            }
            let after = find(&less);
            if after.scales() != before.scales() {
                continue;
            }
            applied = true;
            let context = format!("seed {seed}, sample {sample}, channel {channel}\n{specimen}");
            assert_covers(&before, &after, Some, &context);
            let judged = match channel {
                0 | 1 => true,
                2 => specimen.layout.pair,
                _ => specimen.layout.flow.is_some() && specimen.plant.tube.is_some(),
            };
            let forward = specimen.rows[sample].valve == ValveState::Forward;
            for covered in &after.covered {
                let shown = !forward || !judged || covered.contains(&sample);
                assert!(shown, "a blank in forward flow is no proof: {context}");
            }
        }
        applied
    });
}

#[test]
fn a_legal_reading_turned_into_a_doubt_removes_no_exception() {
    each(110_000..114_000, 300, |seed| {
        let specimen = Specimen::new(seed);
        let before = find(&specimen);
        let choices = &mut Choices::new(seed);
        let last = specimen.rows.len() as i64 - 1;
        let (one, other) = (choices.between(0, last), choices.between(0, last));
        let stretch = one.min(other) as usize..=one.max(other) as usize;
        let around = stretch.start().saturating_sub(1)..=stretch.end() + 1;
        let legal = |sample: usize| before.interpretation.answers[sample][0] == Answer::Legal;
        if !stretch.clone().all(legal) || around.into_iter().any(|sample| before.doubted(sample)) {
            return false;
        }
        let mut less = specimen.clone();
        let rows = &mut less.rows[stretch];
        match choices.between(0, 2) {
            0 if specimen.layout.recorder => {
                // Far below every limit, each a little different, so that nothing stands still.
                let (least, scale) =
                    if specimen.layout.other_temperatures == TemperatureUnit::Celsius {
                        (60_000, 3)
                    } else {
                        (140_000, 3)
                    };
                for (index, row) in rows.iter_mut().enumerate() {
                    row.recorder = Reading::Valid(Decimal::new(least + index as i64, scale));
                }
            }
            1 if specimen.layout.heating_water => {
                for (index, row) in rows.iter_mut().enumerate() {
                    row.heating_water = Reading::Valid(Decimal::new(50_000 + index as i64, 3));
                }
            }
            _ => {
                // All of them the highest, which is legal for each.
                let Some(highest) = rows.iter().filter_map(|row| row.temperature.valid()).max()
                else {
                    return false;
                };
                for row in rows {
                    row.temperature = Reading::Valid(highest);
                }
            }
        }
        let after = find(&less);
        if after.scales() != before.scales() && specimen.plant.limits.frozen.is_none() {
            return false;
        }
        assert_covers(&before, &after, Some, &format!("seed {seed}\n{specimen}"));
        (0..less.rows.len()).any(|sample| after.doubted(sample))
    });
}

#[test]
fn a_longer_step_removes_no_exception() {
    each(120_000..123_000, 1000, |seed| {
        let specimen = movable(seed);
        let before = find(&specimen);
        let choices = &mut Choices::new(seed);
        let sample = choices.between(0, specimen.rows.len() as i64 - 1) as usize;
        if sample == 0 || before.doubted(sample) {
            return false;
        }
        let mut less = specimen.clone();
        less.rows[sample].step += before.interpretation.gap_limit + choices.between(0, 100_000);
        let after = find(&less);
        assert!(after.interpretation.gaps.contains(&(sample - 1)));
        assert_covers(&before, &after, Some, &format!("seed {seed}, sample {sample}\n{specimen}"));
        // What is on either side of it is not proven, unless the device is diverted on both.
        let exposed = [sample - 1, sample]
            .into_iter()
            .any(|end| specimen.rows[end].valve != ValveState::Divert);
        for covered in &after.covered {
            let told = covered.contains(&(sample - 1)) && covered.contains(&sample);
            assert!(told || !exposed, "seed {seed}: the gap after {sample} is no exception");
        }
        true
    });
}

#[test]
fn a_hole_never_makes_the_answer_cleaner() {
    each(130_000..134_000, 600, |seed| {
        let specimen = movable(seed);
        let before = find(&specimen);
        let choices = &mut Choices::new(seed);
        let last = specimen.rows.len() as i64 - 1;
        if last < 3 {
            return false;
        }
        let first = choices.between(1, last - 1);
        let end = choices.between(first, last - 1);
        let cut = first as usize..end as usize + 1;
        if (cut.start..=cut.end).any(|sample| before.doubted(sample)) {
            return false;
        }
        let mut less = specimen.clone();
        let left_out: i64 = less.rows.drain(cut.clone()).map(|row| row.step).sum();
        less.rows[cut.start].step += left_out;
        if less.rows[cut.start].step <= before.interpretation.gap_limit {
            return false;
        }
        let after = find(&less);
        let renamed = |sample: usize| {
            if sample < cut.start {
                Some(sample)
            } else {
                sample.checked_sub(cut.len()).filter(|_| sample >= cut.end)
            }
        };
        // A product that only the samples of the hole name would leave the others unnamed.
        let limits = |found: &Found, sample: usize| {
            (found.limits[sample], found.interpretation.limits[sample].clone())
        };
        let same = (0..specimen.rows.len()).all(|sample| {
            renamed(sample).is_none_or(|now| limits(&before, sample) == limits(&after, now))
        });
        if !same || before.scales() != after.scales() {
            return false;
        }
        let context = format!("seed {seed}, without {cut:?}\n{specimen}");
        assert_covers(&before, &after, renamed, &context);
        // The hole itself is an exception, or between diverted samples, short, and observed.
        let of_hole = [Cause::Gap, Cause::GapDiverted];
        let hole = after.interpretation.findings.iter().any(|finding| {
            of_hole.contains(&finding.causes[0])
                && (finding.samples.0..finding.samples.1).contains(&(cut.start - 1))
        });
        let observed = after.interpretation.looks.contains_key("gap_diverted");
        assert!(hole || observed, "{context}");
        true
    });
}

/// A limit that asks for more, or an allowance that allows less, adds exceptions and takes none.
#[test]
fn a_stricter_plant_finds_no_less() {
    each(140_000..143_000, 2500, |seed| {
        let specimen = Specimen::new(seed);
        let before = find(&specimen);
        let mut strict = specimen.clone();
        let limits = &mut strict.plant.limits;
        let less = |time: Duration| Duration::from_milliseconds(time.milliseconds() / 2);
        match seed % 4 {
            0 => limits.response_allowance = less(limits.response_allowance),
            1 => limits.repeated_after = less(limits.repeated_after),
            2 => limits.frozen = limits.frozen.map(less).or(Some(Duration::from_seconds(60))),
            _ => limits.diverted_hole = less(limits.diverted_hole),
        }
        let after = find(&strict);
        assert_covers(&before, &after, Some, &format!("seed {seed}\n{specimen}"));
        true
    });
}

/// Nothing but diverted flow, without a hole and without a second clock: nothing to except.
#[test]
fn diverted_flow_needs_no_proof() {
    each(150_000..151_000, 600, |seed| {
        let mut specimen = movable(seed);
        for row in &mut specimen.rows {
            row.valve = ValveState::Divert;
        }
        let found = find(&specimen);
        let long = |finding: &tests::interpreter::Finding| finding.causes == [Cause::GapDiverted];
        assert!(found.interpretation.findings.iter().all(long), "seed {seed}\n{specimen}");
        let short = found.interpretation.findings.is_empty();
        assert_eq!(found.covered[0].is_empty(), short, "seed {seed}\n{specimen}");
        short
    });
}
