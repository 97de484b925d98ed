//! Rows that repeat time and rows that have none, against a plain second way of placing them, read
//! from the method page.

use crate::support::{input, plant, read_all};
use ingest::{Ingested, Input};
use proptest::prelude::*;
use std::collections::BTreeMap;
use trace::{Reading, ValveState};

/// 2026-03-08 06:00:00 in UTC.
const START: i64 = 1_772_949_600_000;

/// One row of a made-up file.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Row {
    /// Seconds after the start; `None` for a stamp that can't be read.
    second: Option<i64>,
    valve: usize,
    /// `None` for a blank cell.
    temperature: Option<i64>,
}

const VALVES: [(&str, ValveState); 4] = [
    ("DIV", ValveState::Divert),
    ("TRV", ValveState::Travel),
    ("?", ValveState::Unknown),
    ("FWD", ValveState::Forward),
];

impl Row {
    fn write(&self) -> String {
        let stamp = self.second.map_or("??".to_owned(), |second| {
            format!("2026-03-08 06:{:02}:{:02}", second / 60, second % 60)
        });
        let temperature = self.temperature.map_or(String::new(), |reading| reading.to_string());
        format!("{stamp},{},{temperature},3\n", VALVES[self.valve].0)
    }
}

/// Rows that mostly go on by a second, and now and then step back.
fn file() -> impl Strategy<Value = Vec<Row>> {
    let step = prop_oneof![8 => 1..3_i64, 2 => Just(0_i64), 1 => -12..0_i64, 1 => 3..20_i64];
    let row = (
        step,
        prop::bool::weighted(0.9),
        0..VALVES.len(),
        prop::option::weighted(0.9, 150..170_i64),
    );
    (200..260_i64, prop::collection::vec(row, 1..40)).prop_map(|(start, rows)| {
        let (mut now, mut unreadable) = (start, 0);
        rows.into_iter()
            .map(|(step, readable, valve, temperature)| {
                now += step;
                // A file with more of them is refused.
                unreadable += usize::from(!readable);
                let second = (readable || unreadable > 3).then_some(now);
                Row { second, valve, temperature }
            })
            .collect()
    })
}

/// Files that a logger wrote one after the other, some of which repeat the end of the one before.
fn files() -> impl Strategy<Value = Vec<Vec<Row>>> {
    let files = (prop::collection::vec(file(), 1..4), 0..12_usize);
    let files = files.prop_map(|(mut files, repeated)| {
        if repeated > 0
            && let [first, second, ..] = files.as_mut_slice()
        {
            let from = first.len().saturating_sub(repeated);
            *second = first[from..].to_vec();
        }
        // A file most of whose rows have no stamp is refused, and one with the bytes of another adds
        // nothing.
        files.retain(|file| {
            file.iter().filter(|row| row.second.is_none()).count() * 2 <= file.len()
        });
        let mut kept: Vec<Vec<Row>> = Vec::new();
        for file in files {
            if !kept.contains(&file) {
                kept.push(file);
            }
        }
        kept
    });
    files.prop_filter("positions that are refused", |files| {
        let rows: Vec<&Row> = files.iter().flatten().collect();
        let known = rows.iter().filter(|row| VALVES[row.valve].1 != ValveState::Unknown).count();
        files.is_empty() || known > 0 && known * 2 >= rows.len()
    })
}

fn read(files: &[Vec<Row>]) -> Ingested {
    let inputs: Vec<Input> = (0..)
        .zip(files)
        .map(|(index, rows)| {
            let rows: String = rows.iter().map(Row::write).collect();
            input(&format!("{index}.csv"), format!("Time,FDV,Hold Temp (°F),dP (psi)\n{rows}"))
        })
        .collect();
    read_all(&inputs, &plant(""))
}

/// The rows of each sample by its second, and the double spans.
#[derive(Default)]
struct Plain {
    samples: BTreeMap<i64, Vec<Row>>,
    spans: Vec<(i64, i64)>,
}

impl Plain {
    fn place(files: &[Vec<Row>]) -> Self {
        let mut files = files.to_vec();
        files.sort_by_key(|rows| rows.iter().find_map(|row| row.second));
        let mut plain = Self::default();
        for rows in files {
            let rows: Vec<(i64, Row)> =
                rows.into_iter().filter_map(|row| Some((row.second?, row))).collect();
            let mut start = 0;
            for end in 1..=rows.len() {
                if end == rows.len() || rows[end].0 < rows[end - 1].0 {
                    plain.pass(&rows[start..end], start == 0);
                    start = end;
                }
            }
        }
        plain
    }

    fn pass(&mut self, rows: &[(i64, Row)], begins_file: bool) {
        let earlier = self.samples.clone();
        let first = rows[0].0;
        let bounds = earlier.keys().next().zip(earlier.keys().next_back());
        let Some((&start, &last)) = bounds.filter(|&(_, &last)| !begins_file || first < last)
        else {
            return self.add(rows, |at| at);
        };
        let end = last.min(rows[rows.len() - 1].0);
        let mut said: Vec<(i64, &Row)> = earlier
            .range(first..=end)
            .flat_map(|(&at, rows)| rows.iter().map(move |row| (at, row)))
            .collect();
        let mut says: Vec<(i64, &Row)> =
            rows.iter().filter(|(at, _)| *at <= last).map(|(at, row)| (*at, row)).collect();
        for rows in [&mut said, &mut says] {
            rows.sort_by_key(|(at, row)| (*at, row.valve, row.temperature));
            rows.dedup_by_key(|(at, row)| (*at, row.valve, row.temperature));
        }
        let alike = |(one, other): (&(i64, &Row), &(i64, &Row))| {
            one.0 == other.0
                && one.1.valve == other.1.valve
                && one.1.temperature == other.1.temperature
        };
        if begins_file && said.len() == says.len() && said.iter().zip(&says).all(alike) {
            return self.add(rows, |at| at);
        }
        self.spans.push((first, last));
        self.add(rows, |at| {
            if at < start || at > last {
                return at;
            }
            earlier
                .keys()
                .copied()
                .min_by_key(|sample| ((sample - at).abs(), *sample))
                .unwrap_or(at)
        });
    }

    fn add(&mut self, rows: &[(i64, Row)], to: impl Fn(i64) -> i64) {
        for (at, row) in rows {
            self.samples.entry(to(*at)).or_default().push(row.clone());
        }
    }

    /// Whether a second lies in a double span.
    fn is_double(&self, second: i64) -> bool {
        self.spans.iter().any(|&(start, end)| start <= second && second <= end)
    }
}

fn seconds(instant: trace::Instant) -> i64 {
    (instant.unix_milliseconds() - START) / 1000
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn rows_are_placed_as_the_method_says(files in files()) {
        prop_assume!(!files.is_empty());
        // A file that is mostly backwards is read from its end.
        let steps_back = |rows: &Vec<Row>| {
            let stamps: Vec<i64> = rows.iter().filter_map(|row| row.second).collect();
            stamps.windows(2).filter(|pair| pair[1] < pair[0]).count()
        };
        prop_assume!(files.iter().all(|rows| rows.len() < 10 || steps_back(rows) * 2 < rows.len() - 1));
        let plain = Plain::place(&files);
        let record = read(&files).record;
        let samples: Vec<_> = record
            .instants()
            .iter()
            .enumerate()
            .map(|(sample, &instant)| {
                let reading = record.holding_temperature().reading(sample).valid();
                (seconds(instant), record.valve()[sample], reading.map(trace::Decimal::mantissa))
            })
            .collect();
        let expected: Vec<_> = plain
            .samples
            .iter()
            .map(|(&second, rows)| {
                let valve = rows.iter().map(|row| VALVES[row.valve].1).max();
                let readings: Option<Vec<i64>> = rows.iter().map(|row| row.temperature).collect();
                let worst = readings.and_then(|readings| readings.into_iter().min());
                (second, valve.unwrap_or(ValveState::Unknown), worst)
            })
            .collect();
        prop_assert_eq!(samples, expected);
        let last = plain.samples.keys().next_back().copied().unwrap_or_default() + 1;
        for second in 0..last {
            let instant = trace::Instant::from_unix_milliseconds(START + second * 1000);
            let double = record.double_spans().iter().any(|span| span.contains(instant));
            prop_assert_eq!(double, plain.is_double(second), "{}", second);
        }
        let apart = record.double_spans().windows(2).all(|pair| pair[0].end() < pair[1].start());
        prop_assert!(apart);
    }

    #[test]
    fn no_row_is_lost(files in files()) {
        prop_assume!(!files.is_empty());
        let ingested = read(&files);
        let record = &ingested.record;
        let unplaced: usize = record.unplaced().iter().map(|group| group.rows.len()).sum();
        let placed: u64 = record.sources().iter().map(|source| source.rows).sum();
        let rows: usize = files.iter().map(Vec::len).sum();
        prop_assert_eq!(placed as usize + unplaced, rows);
        for (index, rows) in files.iter().enumerate() {
            let unreadable = rows.iter().filter(|row| row.second.is_none());
            let name = format!("{index}.csv");
            let groups = record.unplaced().iter().filter(|group| *group.position.file == *name);
            // In the order of the file, with their readings.
            let mut groups: Vec<_> = groups.collect();
            groups.sort_by_key(|group| group.position.line);
            let kept: Vec<_> = groups
                .iter()
                .flat_map(|group| &group.rows)
                .map(|row| (row.valve, row.temperature.valid().map(trace::Decimal::mantissa)))
                .collect();
            let expected: Vec<_> =
                unreadable.map(|row| (VALVES[row.valve].1, row.temperature)).collect();
            prop_assert_eq!(kept, expected);
        }
        for group in record.unplaced() {
            for end in [group.interval.start(), group.interval.end()] {
                prop_assert!(record.instants().binary_search(&end).is_ok());
            }
        }
    }

    #[test]
    fn merging_never_makes_a_span_look_better(files in files()) {
        prop_assume!(!files.is_empty());
        let record = read(&files).record;
        for row in files.iter().flatten() {
            let Some(second) = row.second else { continue };
            let after = record.instants().partition_point(|&instant| seconds(instant) < second);
            // The samples between which the row lies, or the one that it is.
            let around = [after.checked_sub(1), Some(after)];
            let around = || around.into_iter().flatten().filter(|&sample| sample < record.samples());
            let valve = around().map(|sample| record.valve()[sample]).max();
            prop_assert!(valve >= Some(VALVES[row.valve].1), "{:?}", row);
            let worse = around().any(|sample| {
                match (record.holding_temperature().reading(sample), row.temperature) {
                    (Reading::Invalid(_), _) => true,
                    (Reading::Valid(reading), Some(temperature)) => reading.mantissa() <= temperature,
                    (Reading::Valid(_), None) => false,
                }
            });
            prop_assert!(worse, "{:?}", row);
        }
    }
}
