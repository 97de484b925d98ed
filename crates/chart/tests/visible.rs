//! What is drawn against brute force: no extreme of a column of pixels is ever lost, nothing is
//! drawn that is not a real valid reading, and no line crosses a gap or an invalid reading.

use chart::{Columns, Curve, Extremes, POINTS_PER_COLUMN, Polylines, Pyramid};
use proptest::collection::vec;
use proptest::prelude::*;
use std::ops::Range;
use trace::{ChannelView, Duration, Instant, Interval};

/// What a channel stores for a blank cell.
const BLANK: i64 = i64::MIN;

fn at(milliseconds: i64) -> Instant {
    Instant::from_unix_milliseconds(milliseconds)
}

#[derive(Debug)]
struct Day {
    instants: Vec<Instant>,
    mantissas: Vec<i64>,
    gaps: Vec<usize>,
    pyramid: Pyramid,
}

impl Day {
    /// Samples of a step and a reading each; steps above 1 s are gaps.
    fn new(samples: &[(i64, i64)]) -> Self {
        let (mut instants, mut gaps, mut now) = (Vec::new(), Vec::new(), 1_700_000_000_000);
        for (sample, &(step, _)) in samples.iter().enumerate() {
            now += step;
            instants.push(at(now));
            if step > 1000 && sample > 0 {
                gaps.push(sample - 1);
            }
        }
        let mantissas: Vec<i64> = samples.iter().map(|sample| sample.1).collect();
        let pyramid = Pyramid::build(&mantissas);
        Self { instants, mantissas, gaps, pyramid }
    }

    fn visible(&self, range: Interval, columns: usize) -> Polylines {
        let mut lines = Polylines::new();
        let curve = Curve { mantissas: &self.mantissas, gaps: &self.gaps, pyramid: &self.pyramid };
        let mut divided = Columns::new();
        divided.set(&self.instants, range, columns);
        curve.visible(&divided, &mut lines);
        lines
    }

    fn is_valid(&self, sample: usize) -> bool {
        ChannelView::is_valid(self.mantissas[sample])
    }

    fn joined(&self, one: usize, other: usize) -> bool {
        (one..=other).all(|sample| self.is_valid(sample))
            && !self.gaps.iter().any(|gap| (one..other).contains(gap))
    }

    fn brute_extremes(&self, samples: impl Iterator<Item = usize>) -> Option<Extremes> {
        let valid: Vec<usize> = samples.filter(|&sample| self.is_valid(sample)).collect();
        let value = |&&sample: &&usize| self.mantissas[sample];
        // Of equals `min_by_key` gives the first, `max_by_key` the last.
        let least = *valid.iter().min_by_key(value)?;
        let greatest = *valid.iter().rev().max_by_key(value)?;
        Some(Extremes { least, greatest })
    }
}

/// Stretches of one kind: quiet, all invalid, or alternating; few distinct values, so that ties
/// are common; now and then a gap.
fn days(stretches: usize) -> impl Strategy<Value = Day> {
    let step = prop_oneof![30 => Just(100_i64), 10 => 1..1000_i64, 1 => 1001..90_000_i64];
    let sample = (step, -40..40_i64, any::<bool>());
    let stretch = (0..4_u8, vec(sample, 1..120));
    vec(stretch, 1..stretches).prop_map(|stretches| {
        let mut samples = Vec::new();
        for (kind, stretch) in stretches {
            for (index, (step, value, invalid)) in stretch.into_iter().enumerate() {
                let value = match kind {
                    0 => BLANK,
                    1 if index % 2 == 0 => BLANK,
                    2 if invalid => BLANK,
                    _ => value,
                };
                samples.push((step, value));
            }
        }
        Day::new(&samples)
    })
}

fn column_of(range: Interval, columns: usize, instant: Instant) -> usize {
    let offset = instant.since(range.start()).milliseconds();
    let span = range.duration().milliseconds();
    // The column whose first millisecond, span · k / columns rounded down, is the last not after
    // the instant; the end of the range belongs to the last column.
    let starts_after = |column: usize| span * column as i64 / columns as i64 > offset;
    (1..columns).find(|&column| starts_after(column)).unwrap_or(columns) - 1
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn extremes_are_those_of_brute_force(
        day in days(40),
        cuts in vec((0.0..1.0_f64, 0.0..1.0_f64), 20),
    ) {
        let samples = day.mantissas.len();
        for (one, other) in cuts {
            let cut = |part: f64| (part * (samples + 1) as f64) as usize;
            let range = cut(one).min(cut(other))..cut(one).max(cut(other)).min(samples);
            prop_assert_eq!(
                day.pyramid.extremes(&day.mantissas, range.clone()),
                day.brute_extremes(range.clone()),
                "{:?}", range
            );
        }
    }

    #[test]
    fn what_is_drawn_holds_to_brute_force(
        day in days(40),
        columns in 1..60_usize,
        from in -0.1..1.0_f64,
        share in prop_oneof![Just(1.2), 0.0..1.0_f64, 0.0..0.01_f64],
    ) {
        let samples = day.instants.len();
        let whole = day.instants[samples - 1].since(day.instants[0]).milliseconds();
        let start = day.instants[0]
            + Duration::from_milliseconds((from * whole as f64) as i64);
        let end = start + Duration::from_milliseconds((share * whole as f64) as i64);
        let range = Interval::between(start, end);
        let lines = day.visible(range, columns);

        let drawn: Vec<usize> = lines.samples().iter().map(|&sample| sample as usize).collect();
        prop_assert!(drawn.is_sorted_by(|one, next| one < next), "in order, once each");
        let readings: Vec<i64> = drawn.iter().map(|&sample| day.mantissas[sample]).collect();
        prop_assert_eq!(lines.mantissas(), readings, "each with its own reading");
        prop_assert!(drawn.iter().all(|&sample| day.is_valid(sample)), "valid only");
        prop_assert!(drawn.len() <= POINTS_PER_COLUMN * columns + 2, "bounded");
        let first = day.instants.partition_point(|&instant| instant < range.start());
        let end = day.instants.partition_point(|&instant| instant <= range.end());
        let outer = first.saturating_sub(1)..(end + 1).min(samples);
        prop_assert!(drawn.iter().all(|sample| outer.contains(sample)), "in range");

        let runs: Vec<&[u32]> = lines.runs().collect();
        prop_assert_eq!(runs.concat(), lines.samples().to_vec());
        for run in &runs {
            prop_assert!(!run.is_empty());
            for pair in run.windows(2) {
                prop_assert!(day.joined(pair[0] as usize, pair[1] as usize), "{:?}", pair);
            }
        }
        for pair in runs.windows(2) {
            let (left, right) = (pair[0][pair[0].len() - 1], pair[1][0]);
            prop_assert!(!day.joined(left as usize, right as usize), "{} {}", left, right);
        }

        if outer.len() <= 2 * columns {
            let all: Vec<usize> = outer.clone().filter(|&sample| day.is_valid(sample)).collect();
            prop_assert_eq!(&drawn, &all, "all of few");
        }
        for beyond in [outer.start..first, end..outer.end] {
            for sample in beyond.filter(|&sample| day.is_valid(sample)) {
                prop_assert!(drawn.contains(&sample), "runs off the edge");
            }
        }
        let mut divided = Columns::new();
        divided.set(&day.instants, range, columns);
        let span = range.duration().milliseconds();
        let mut next = first;
        for (column, members) in divided.samples().enumerate() {
            prop_assert_eq!(members.start, next, "each sample is in one column");
            next = members.end;
            for sample in members.clone() {
                let own = column_of(range, columns, day.instants[sample]);
                // Blocks of the pyramid reach over a border less than a sixteenth of a column.
                let border = span * column as i64 / columns as i64;
                let before = border - day.instants[sample].since(range.start()).milliseconds();
                let is_near = own + 1 == column && before * 16 * columns as i64 <= span;
                prop_assert!(own == column || is_near, "{} in {}, not {}", sample, column, own);
                let is_dense = (end - first) / columns >= 512;
                prop_assert!(own == column || is_dense, "only where columns are dense");
            }
            let valid: Vec<usize> =
                members.filter(|&sample| day.is_valid(sample)).collect();
            let pieces: Vec<&[usize]> =
                valid.chunk_by(|&one, &next| day.joined(one, next)).collect();
            // Of the whole column, and of its first and its last piece.
            for part in [Some(&valid[..]), pieces.first().copied(), pieces.last().copied()] {
                let part = part.unwrap_or(&[]);
                let extremes = day.brute_extremes(part.iter().copied());
                let counts = [
                    part.first().copied(),
                    part.last().copied(),
                    extremes.map(|extremes| extremes.least),
                    extremes.map(|extremes| extremes.greatest),
                ];
                for sample in counts.into_iter().flatten() {
                    prop_assert!(drawn.contains(&sample), "{} of {:?}", sample, part);
                }
            }
        }
        prop_assert_eq!(next, end, "all samples are in columns");
    }
}

fn range_of(day: &Day, samples: Range<usize>) -> Interval {
    Interval::between(day.instants[samples.start], day.instants[samples.end - 1])
}

#[test]
fn a_dip_of_one_sample_in_a_ten_hertz_day_is_drawn() {
    let mut samples = vec![(100, 1612); 864_000];
    samples[432_123].1 = 1609;
    samples[432_124].1 = BLANK;
    let day = Day::new(&samples);
    let lines = day.visible(range_of(&day, 0..864_000), 1600);
    assert!(lines.samples().contains(&432_123));
    let runs: Vec<&[u32]> = lines.runs().collect();
    assert_eq!(runs.len(), 2, "broken at the blank reading");
    assert_eq!((runs[0].last(), runs[1].first()), (Some(&432_123), Some(&432_125)));
}

/// What blocks of the pyramid hold is drawn less than a sixteenth of a column from its instant; it
/// was as far off as a gap is long.
#[test]
fn no_sample_of_a_dense_record_is_moved_over_a_gap() {
    // Gaps at samples that begin no block, and a stretch where samples are a thousand times rarer.
    let step = |sample: usize| match sample {
        200_011 | 600_019 => 40_000_000,
        400_000..400_777 => 100_000,
        _ => 100,
    };
    let samples: Vec<(i64, i64)> = (0..1_000_000).map(|sample| (step(sample), 7)).collect();
    let day = Day::new(&samples);
    let range = range_of(&day, 0..samples.len());
    for count in [10, 100, 900] {
        let mut columns = Columns::new();
        columns.set(&day.instants, range, count);
        let span = range.duration().milliseconds() as f64 / count as f64;
        let (mut next, mut moved) = (0, 0);
        for (column, samples) in columns.samples().enumerate() {
            assert_eq!((Some(samples.start), next), (columns.first_of(column), samples.start));
            next = samples.end;
            let from = (column as f64 - 1.0 / 16.0) * span - 1.0;
            let to = (column as f64 + 1.0) * span;
            for sample in samples.clone() {
                let at = day.instants[sample].since(range.start()).milliseconds() as f64;
                assert!((from..=to).contains(&at), "{sample} in {column} of {count}");
                moved += usize::from(at < column as f64 * span - 1.0);
            }
        }
        assert_eq!(next, samples.len(), "each sample is in a column");
        assert!(moved > 0, "borders lie where blocks begin");
    }
}

#[test]
fn readings_that_fail_every_other_time_stay_bounded_and_are_dots() {
    let samples: Vec<(i64, i64)> =
        (0..200_000).map(|sample| (100, if sample % 2 == 0 { sample } else { BLANK })).collect();
    let day = Day::new(&samples);
    let lines = day.visible(range_of(&day, 0..200_000), 100);
    assert!(lines.samples().len() <= 100 * POINTS_PER_COLUMN);
    assert!(lines.runs().all(|run| run.len() == 1));
}

#[test]
fn between_two_samples_the_line_runs_from_edge_to_edge() {
    let day = Day::new(&[(100, 1), (1000, 2), (1000, 3), (5000, 4)]);
    let inside = |sample: usize| {
        let middle = day.instants[sample].midpoint(day.instants[sample + 1]);
        day.visible(Interval::at(middle), 800)
    };
    assert_eq!(inside(1).runs().collect::<Vec<_>>(), [[1, 2]]);
    assert_eq!(inside(2).runs().collect::<Vec<_>>(), [[2], [3]], "a gap stays a gap");
}

#[test]
fn nothing_is_drawn_of_nothing() {
    let all_blank = Day::new(&[(100, BLANK), (100, BLANK)]);
    assert!(all_blank.visible(range_of(&all_blank, 0..2), 100).samples().is_empty());
    let empty = Day::new(&[]);
    assert!(empty.visible(Interval::at(at(0)), 0).samples().is_empty());
    assert_eq!(empty.pyramid.extremes(&[], 0..9), None);
    let beyond = Day::new(&[(100, 7)]);
    assert_eq!(beyond.visible(Interval::at(at(0)), 0).samples(), [0], "one beyond the edge");
}

#[test]
fn the_buffer_is_used_again() {
    let day = Day::new(&[(100, 1), (100, 2), (100, BLANK), (100, 4)]);
    let mut lines = day.visible(range_of(&day, 0..4), 100);
    assert_eq!(lines.runs().collect::<Vec<_>>(), [&[0, 1][..], &[3][..]]);
    let curve = Curve { mantissas: &day.mantissas, gaps: &day.gaps, pyramid: &day.pyramid };
    let mut columns = Columns::new();
    columns.set(&day.instants, range_of(&day, 3..4), 100);
    curve.visible(&columns, &mut lines);
    assert_eq!(lines.runs().collect::<Vec<_>>(), [[3]]);
}

#[test]
fn a_pyramid_is_small_beside_its_channel() {
    let quiet = Pyramid::build(&vec![1612; 864_000]);
    let channel = 864_000 * size_of::<i64>();
    assert!(quiet.bytes() * 8 < channel, "{} bytes", quiet.bytes());
    let worst: Vec<i64> =
        (0..864_000).map(|sample| if sample % 2 == 0 { 1 } else { BLANK }).collect();
    assert!(Pyramid::build(&worst).bytes() * 3 < channel * 2, "a failing sensor");
}
