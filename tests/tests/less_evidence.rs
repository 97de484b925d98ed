//! Less evidence never makes the answer cleaner: of two records, the one in which a reading is blank,
//! doubtful or further from the next, or in which a hole is cut, has every exception that the other
//! has, of the same rule or as not verifiable. Compared are samples: each that lies in an exception
//! must still lie in one.
//!
//! What is left out follows from the method's own words:
//!
//! * A gap parts what lasts (section 4: consecutive samples have no gap between them). Where one is
//!   put into a stretch that is doubtful because of its length, or into a run in travel or at an
//!   unknown position, its parts may each be short enough, or legal throughout. The gap itself is an
//!   exception.
//! * A channel that prints no decimal may stand still for longer (section 4). One that loses its only
//!   decimal is another channel.
//! * In travel, what is short counts when it alone lasts longer than the response allowance (section
//!   4). A flow that is blank makes a part of it unknown, which no longer counts with the rest.
//! * The recorder and the channels that no rule needs may be missing altogether (section 1): what they
//!   show besides is more than the method asks for, and a record without them is not worse.

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
    /// Whether a stretch that its length makes doubtful holds one of the samples and another one.
    fn parts_a_stretch(&self, samples: std::ops::RangeInclusive<usize>) -> bool {
        self.interpretation.stretches.iter().any(|one| {
            one.samples.0 < *samples.end()
                && *samples.start() <= one.samples.1
                && one.samples.0 < one.samples.1
        })
    }

    /// The channels that print decimals; the others may stand still for longer.
    fn with_decimals(&self) -> Vec<Role> {
        let channels = self.record.channels();
        channels.iter().filter(|(_, one)| one.scale() > 0).map(|(role, _)| *role).collect()
    }

    fn is_forward(&self, sample: usize) -> bool {
        self.record.valve()[sample] == ValveState::Forward
    }

    fn is_travel(&self, sample: usize) -> bool {
        self.record.valve()[sample] == ValveState::Travel
    }
}

/// Whether a channel may stand still for longer in one than in the other.
fn freeze_alike(specimen: &Specimen, one: &Found, other: &Found) -> bool {
    specimen.plant.limits.frozen.is_some() || one.with_decimals() == other.with_decimals()
}

/// Each sample of `before` that lies in an exception lies in one of `after`, where it is called
/// `renamed`, if it is still there.
fn assert_covers(
    before: &Found,
    after: &Found,
    renamed: impl Fn(usize) -> Option<usize>,
    context: &str,
) {
    for of in 0..2 {
        for &sample in &before.covered[of] {
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

/// The readings that the rules need, by number.
fn needed(specimen: &Specimen) -> Vec<usize> {
    let judges_time = specimen.layout.flow.is_some() && specimen.plant.tube.is_some();
    let of = [true, true, specimen.layout.pair, judges_time];
    (0..of.len()).filter(|&channel| of[channel]).collect()
}

fn blank(specimen: &mut Specimen, sample: usize, channel: usize) {
    let row = &mut specimen.rows[sample];
    match channel {
        0 => row.temperature = BLANK,
        1 => row.pressure = BLANK,
        2 => row.pasteurized = BLANK,
        _ => row.flow = BLANK,
    }
}

/// Some samples, and some of those in stretches that their length makes doubtful, first ones too.
fn samples_to_try(choices: &mut Choices, before: &Found) -> Vec<usize> {
    let last = before.record.samples() as i64 - 1;
    let mut samples: Vec<usize> = (0..3).map(|_| choices.between(0, last) as usize).collect();
    for stretch in before.interpretation.stretches.iter().take(3) {
        let (first, last) = stretch.samples;
        samples.push(first);
        samples.push(choices.between(first as i64, last as i64) as usize);
    }
    samples
}

#[test]
fn a_legal_reading_turned_into_a_blank_removes_no_exception() {
    let within_stretches = std::cell::Cell::new(0);
    each(100_000..103_000, 2000, |seed| {
        let specimen = Specimen::new(seed);
        let before = find(&specimen);
        let choices = &mut Choices::new(seed);
        let mut applied = false;
        for sample in samples_to_try(choices, &before) {
            let channel = choices.one_of(&needed(&specimen));
            let rule = [0, 1, 1, 2][channel];
            let answers = &before.interpretation.answers;
            if answers[sample][rule] != Answer::Legal {
                continue;
            }
            let mut less = specimen.clone();
            blank(&mut less, sample, channel);
            let after = find(&less);
            if !freeze_alike(&specimen, &before, &after) {
                continue;
            }
            applied = true;
            if before.parts_a_stretch(sample..=sample + 1) {
                within_stretches.set(within_stretches.get() + 1);
            }
            let context = format!("seed {seed}, sample {sample}, channel {channel}\n{specimen}");
            let short_of_time = |one: usize| {
                channel == 3 && before.is_travel(one) && answers[one][2] == Answer::Short
            };
            let compared = |one: usize| (!short_of_time(one)).then_some(one);
            assert_covers(&before, &after, compared, &context);
            let forward = specimen.rows[sample].valve == ValveState::Forward;
            for covered in &after.covered {
                let shown = !forward || covered.contains(&sample);
                assert!(shown, "a blank in forward flow is no proof: {context}");
            }
        }
        applied
    });
    assert!(within_stretches.get() > 300, "{within_stretches:?} within a doubtful stretch only");
}

/// The same of several at once, of all rules.
#[test]
fn legal_readings_turned_into_blanks_remove_no_exception() {
    each(160_000..163_000, 2000, |seed| {
        let specimen = Specimen::new(seed);
        let before = find(&specimen);
        let choices = &mut Choices::new(seed);
        let mut less = specimen.clone();
        for sample in samples_to_try(choices, &before) {
            for channel in needed(&specimen) {
                let legal = before.interpretation.answers[sample][[0, 1, 1, 2][channel]];
                // The flow has its own exception in travel, see above.
                if legal == Answer::Legal && channel != 3 && choices.chance(1, 2) {
                    blank(&mut less, sample, channel);
                }
            }
        }
        let after = find(&less);
        if !freeze_alike(&specimen, &before, &after) {
            return false;
        }
        assert_covers(&before, &after, Some, &format!("seed {seed}\n{specimen}"));
        true
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
        let legal = |sample: usize| before.interpretation.answers[sample][0] == Answer::Legal;
        // The last of them may be the first that stands still: with another reading than its own it
        // would show that the channel moves, which is more and not less.
        let end = *stretch.end();
        if !stretch.clone().all(legal) || before.parts_a_stretch(end..=end + 1) {
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
        if !freeze_alike(&specimen, &before, &after) {
            return false;
        }
        assert_covers(&before, &after, Some, &format!("seed {seed}\n{specimen}"));
        after.interpretation.stretches != before.interpretation.stretches
    });
}

#[test]
fn a_longer_step_removes_no_exception() {
    each(120_000..123_000, 1000, |seed| {
        let specimen = movable(seed);
        let before = find(&specimen);
        let choices = &mut Choices::new(seed);
        let sample = choices.between(0, specimen.rows.len() as i64 - 1) as usize;
        if sample == 0 || before.parts_a_stretch(sample - 1..=sample) {
            return false;
        }
        let mut less = specimen.clone();
        less.rows[sample].step += before.interpretation.gap_limit + choices.between(0, 100_000);
        let after = find(&less);
        assert!(after.interpretation.gaps.contains(&(sample - 1)));
        let compared = |one: usize| before.is_forward(one).then_some(one);
        let context = format!("seed {seed}, sample {sample}\n{specimen}");
        assert_covers(&before, &after, compared, &context);
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
        if before.parts_a_stretch(cut.start - 1..=cut.end) {
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
            if !before.is_forward(sample) {
                None
            } else if sample < cut.start {
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
        if !same || !freeze_alike(&specimen, &before, &after) {
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

/// A limit that asks for more, or an allowance that allows less, adds exceptions and takes none. A doubt that
/// comes sooner may divide a run whose causes were one: the part of it that lies in travel and does not last is
/// then the passing of the device, and no exception (section 4).
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
        let is_doubt = matches!(seed % 4, 1 | 2);
        let stays = |sample| (!is_doubt || !before.is_travel(sample)).then_some(sample);
        assert_covers(&before, &after, stays, &format!("seed {seed}\n{specimen}"));
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
