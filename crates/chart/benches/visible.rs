//! One frame's query at 1,600 columns of pixels: a 10 Hz day and a 10 Hz week, the whole record
//! and an hour of it. `cargo bench -p chart`.

use chart::{Columns, Curve, Polylines, Pyramid};
use divan::Bencher;
use trace::{Instant, Interval};

const DAY: usize = 864_000;
const WEEK: usize = 7 * DAY;
const HOUR: usize = 36_000;

fn main() {
    divan::main();
}

struct Record {
    instants: Vec<Instant>,
    mantissas: Vec<i64>,
    gaps: Vec<usize>,
}

/// A wandering temperature with an invalid reading now and then and a gap every hour or so.
fn record(samples: usize) -> Record {
    let mut state: u64 = 7;
    let mut random = move || {
        state =
            state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        state >> 33
    };
    let (mut now, mut value) = (1_700_000_000_000, 16_200);
    let mut record = Record { instants: Vec::new(), mantissas: Vec::new(), gaps: Vec::new() };
    for sample in 0..samples {
        now += 100;
        if sample % 40_000 == 39_999 {
            record.gaps.push(sample - 1);
            now += 60_000;
        }
        value += random() as i64 % 7 - 3;
        record.instants.push(Instant::from_unix_milliseconds(now));
        record.mantissas.push(if random() % 5000 == 0 { i64::MIN } else { value });
    }
    record
}

fn query(bencher: Bencher<'_, '_>, samples: usize, visible: usize) {
    let record = record(samples);
    let pyramid = Pyramid::build(&record.mantissas);
    let curve = Curve { mantissas: &record.mantissas, gaps: &record.gaps, pyramid: &pyramid };
    let first = (samples - visible) / 2;
    let range = Interval::between(record.instants[first], record.instants[first + visible - 1]);
    let (mut columns, mut lines) = (Columns::new(), Polylines::new());
    columns.set(&record.instants, range, 1600);
    bencher.bench_local(move || {
        curve.visible(&columns, &mut lines);
        lines.samples().len()
    });
}

/// Once a frame for all channels.
#[divan::bench(args = [DAY, WEEK])]
fn columns_of_whole(bencher: Bencher<'_, '_>, samples: usize) {
    let record = record(samples);
    let range = Interval::between(record.instants[0], record.instants[samples - 1]);
    let mut columns = Columns::new();
    bencher.bench_local(move || {
        columns.set(&record.instants, range, 1600);
        columns.len()
    });
}

#[divan::bench(args = [DAY, WEEK])]
fn whole(bencher: Bencher<'_, '_>, samples: usize) {
    query(bencher, samples, samples);
}

#[divan::bench(args = [DAY, WEEK])]
fn one_hour(bencher: Bencher<'_, '_>, samples: usize) {
    query(bencher, samples, HOUR);
}

#[divan::bench(args = [DAY, WEEK], sample_count = 10)]
fn build(bencher: Bencher<'_, '_>, samples: usize) {
    let record = record(samples);
    bencher.bench_local(|| Pyramid::build(&record.mantissas));
}
