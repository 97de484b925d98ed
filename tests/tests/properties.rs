//! What holds for every record: the accounting adds up, exceptions of a rule do not overlap, how a
//! file is written does not change what is found in it. (`less_evidence` has what holds of two records
//! of which one shows less.)

use analysis::{Audit, Class, Rule};
use ingest::{Input, Progress};
use plant::{AnyUnit, Plant, Zone};
use std::cmp::Ordering;
use std::collections::BTreeMap;
use tests::exact::Exact;
use tests::random::Choices;
use tests::specimen::{Row, Specimen};
use tests::table::{self, Dialect, Stamps};
use trace::{Duration, Instant, Invalid, Observation, Reading, Role, RunRecord, ValveState};

fn audit(record: &RunRecord, plant: &Plant) -> Audit {
    analysis::audit(record, plant, Vec::new())
}

#[test]
fn the_accounting_partitions_the_record() {
    for seed in 20_000..22_000 {
        let specimen = Specimen::new(seed);
        let record = specimen.record();
        let accounting = audit(&record, &specimen.plant).accounting;
        let length = record.interval().duration();
        assert_eq!(accounting.total(), length, "seed {seed}");
        let mut by_class = BTreeMap::new();
        let mut at = record.interval().start();
        for stretch in accounting.timeline() {
            assert_eq!(stretch.interval.start(), at, "seed {seed}: neither hole nor overlap");
            assert!(stretch.interval.duration() > Duration::ZERO, "seed {seed}: no empty stretch");
            at = stretch.interval.end();
            let time = by_class.entry(stretch.class).or_insert(Duration::ZERO);
            *time = *time + stretch.interval.duration();
        }
        assert_eq!(at, record.interval().end(), "seed {seed}");
        for class in Class::ALL {
            let time = by_class.remove(&class).unwrap_or(Duration::ZERO);
            assert_eq!(accounting.time(class), time, "seed {seed} {class:?}");
        }
    }
}

#[test]
fn exceptions_of_a_rule_do_not_overlap_and_nest() {
    for seed in 20_000..22_000 {
        let specimen = Specimen::new(seed);
        let record = specimen.record();
        let audit = audit(&record, &specimen.plant);
        for &rule in Rule::ALL {
            let mut last = Instant::from_unix_milliseconds(i64::MIN);
            for exception in audit.exceptions.iter().filter(|exception| exception.rule == rule) {
                let (estimate, outer) = (exception.estimate, exception.outer);
                let observed = exception.observed;
                // A hole may hold samples of a run, and a double span anything.
                let apart = rule != Rule::UNVERIFIABLE;
                assert!(!apart || estimate.start() >= last, "seed {seed}: {exception:?}");
                last = estimate.end();
                // At least, about, at most: each holds the one before.
                assert_eq!(outer.hull(estimate), outer, "seed {seed}: {exception:?}");
                assert_eq!(estimate.hull(observed), estimate, "seed {seed}: {exception:?}");
                assert_eq!(record.interval().hull(outer), record.interval(), "seed {seed}");
            }
        }
    }
}

/// A specimen whose stamps a file can hold: in this century, on the clock of one of two zones.
fn writable(seed: u64) -> Specimen {
    let mut specimen = Specimen::new(seed);
    // 2026-03-03T01:06:40Z, away from both odd hours of the year.
    specimen.start = 1_772_500_000_000 + (seed % 1000) as i64;
    if seed.is_multiple_of(2) {
        specimen.plant.zone = chicago();
    }
    table::limit_to_rows(&mut specimen);
    specimen
}

fn chicago() -> Zone {
    "America/Chicago".parse().unwrap_or_else(|error| panic!("{error}"))
}

fn bytes(name: &str, bytes: Vec<u8>) -> Input {
    Input::Bytes { name: name.to_owned(), bytes }
}

fn read(inputs: &[Input], plant: &Plant, context: &str) -> (RunRecord, Vec<Observation>) {
    match ingest::read(inputs, plant, &Progress::default()) {
        Ok(ingested) => (ingested.record, ingested.observations),
        Err(error) => panic!("{context}: {error}"),
    }
}

/// Everything in an audit that does not name files and lines.
fn assert_same(one: &Audit, other: &Audit, context: &str) {
    assert_eq!(one.exceptions, other.exceptions, "{context}");
    assert_eq!(one, other, "{context}");
}

#[test]
fn a_file_in_any_dialect_is_the_record() {
    for seed in 30_000..30_700 {
        let mut specimen = writable(seed);
        let expected = audit(&specimen.record(), &specimen.plant);
        let dialect = Dialect::any(&mut Choices::new(seed));
        table::bind(&mut specimen, dialect);
        let rows = table::stamped(&specimen);
        let file = table::write(&specimen, &rows, dialect, seed);
        let context = format!("seed {seed}, {dialect:?}\n{specimen}");
        let (record, _) = read(&[bytes("day.csv", file)], &specimen.plant, &context);
        assert_same(&audit(&record, &specimen.plant), &expected, &context);
    }
}

#[test]
fn a_day_in_several_files_is_one_record() {
    for seed in 40_000..40_500 {
        let mut specimen = writable(seed);
        let expected = audit(&specimen.record(), &specimen.plant);
        let choices = &mut Choices::new(seed);
        // Epoch stamps, say, in the one and US dates in the other would need two plants.
        let stamps = Dialect::any(choices).stamps;
        let dialect = Dialect { stamps, ..Dialect::any(choices) };
        table::bind(&mut specimen, dialect);
        let rows = table::stamped(&specimen);
        let mut inputs = Vec::new();
        let mut from = 0;
        while from < rows.len() {
            let to = choices.between(from as i64 + 1, rows.len() as i64) as usize;
            let dialect = Dialect { stamps, ..Dialect::any(choices) };
            let file = table::write(&specimen, &rows[from..to], dialect, seed);
            inputs.push(bytes(&format!("part-{from}.csv"), file));
            from = to;
        }
        if choices.chance(1, 2) {
            inputs.reverse();
        }
        let context = format!("seed {seed}, {} files, {stamps:?}\n{specimen}", inputs.len());
        let (record, _) = read(&inputs, &specimen.plant, &context);
        assert_same(&audit(&record, &specimen.plant), &expected, &context);
    }
}

/// The night of the clock change, 2026-11-01 in Chicago (IANA data base: at 07:00Z the clock is
/// set back from 02:00 to 01:00), in local stamps without an offset.
#[test]
fn the_repeated_hour_in_one_file_or_several() {
    for seed in 50_000..50_200 {
        let mut specimen = writable(seed);
        specimen.plant.zone = chicago();
        // From before 01:00 CDT through both passes of the hour and on. Steps of at most 200 s
        // make sure that the clock is seen to run backwards.
        specimen.start = 1_793_512_000_000;
        let choices = &mut Choices::new(seed);
        let template = specimen.rows.clone();
        specimen.rows = (0..60).map(|index| template[index % template.len()].clone()).collect();
        for row in &mut specimen.rows {
            row.step = choices.between(130_000, 200_000);
        }
        let expected = audit(&specimen.record(), &specimen.plant);
        let stamps = choices.one_of(&[
            Stamps::Local,
            Stamps::Dots,
            Stamps::UnitedStates,
            Stamps::TwoColumns,
        ]);
        let dialect = Dialect { stamps, ..Dialect::any(choices) };
        table::bind(&mut specimen, dialect);
        let rows = table::stamped(&specimen);
        let cut = choices.between(0, rows.len() as i64) as usize;
        let inputs: Vec<Input> = [&rows[..cut], &rows[cut..]]
            .into_iter()
            .filter(|part| !part.is_empty())
            .map(|part| bytes("part.csv", table::write(&specimen, part, dialect, seed)))
            .collect();
        let context = format!("seed {seed}, cut before row {cut}, {dialect:?}");
        let (record, _) = read(&inputs, &specimen.plant, &context);
        assert_eq!(record.instants(), specimen.record().instants(), "{context}");
        assert_same(&audit(&record, &specimen.plant), &expected, &context);
    }
}

/// The worst of some readings: one that can't be used, else the one that `worse` says.
fn worst(readings: impl Iterator<Item = Reading>, worse: Ordering) -> Reading {
    let mut worst: Option<Reading> = None;
    for reading in readings {
        worst = Some(match (worst, reading) {
            (Some(worst @ Reading::Invalid(_)), _) => worst,
            (Some(Reading::Valid(first)), Reading::Valid(second))
                if Exact::decimal(second).cmp(&Exact::decimal(first)) != worse =>
            {
                Reading::Valid(first)
            }
            _ => reading,
        });
    }
    worst.unwrap_or(Reading::Invalid(Invalid::Blank))
}

const fn harm(valve: ValveState) -> u8 {
    match valve {
        ValveState::Divert => 0,
        ValveState::Travel => 1,
        ValveState::Unknown => 2,
        ValveState::Forward => 3,
    }
}

/// A leak, or a running pump, in any of the rows; else not readable if it is not in any.
fn worst_state(states: &[Option<bool>]) -> Option<bool> {
    if states.contains(&Some(true)) {
        Some(true)
    } else if states.contains(&None) {
        None
    } else {
        Some(false)
    }
}

/// All products of the rows; not known where one of them names none.
fn all_products(rows: &[Row]) -> &'static str {
    if rows.len() == 1 {
        return rows[0].product;
    }
    let mut names: BTreeMap<String, &'static str> = BTreeMap::new();
    for row in rows {
        let name = row.product.trim();
        if name.is_empty() {
            return "";
        }
        names.entry(name.to_lowercase()).and_modify(|one| *one = name.min(one)).or_insert(name);
    }
    let mut names: Vec<&str> = names.into_values().collect();
    names.sort_unstable();
    names.join(trace::BOTH).leak()
}

/// The rows of one instant as the method has them: the worst reading of each channel.
fn merged(rows: &[Row], pair: bool) -> Row {
    let (down, up) = (Ordering::Less, Ordering::Greater);
    let of = |reading: fn(&Row) -> Reading, worse| worst(rows.iter().map(reading), worse);
    let mut merged = rows[0].clone();
    for row in rows {
        if harm(row.valve) > harm(merged.valve) {
            merged.valve = row.valve;
        }
    }
    merged.temperature = of(|row| row.temperature, down);
    // The one that may contradict.
    merged.recorder = of(|row| row.recorder, down);
    merged.heating_water = of(|row| row.heating_water, down);
    merged.regenerated = of(|row| row.regenerated, down);
    merged.raw_temperature = of(|row| row.raw_temperature, up);
    merged.cooled = of(|row| row.cooled, up);
    merged.flow = of(|row| row.flow, up);
    merged.leak = worst_state(&rows.iter().map(|row| row.leak).collect::<Vec<_>>());
    merged.pump = worst_state(&rows.iter().map(|row| row.pump).collect::<Vec<_>>());
    merged.product = all_products(rows);
    let state =
        |of: fn(&Row) -> Option<bool>| worst_state(&rows.iter().map(of).collect::<Vec<_>>());
    merged.equipment.cleaning_return = of(|row| row.equipment.cleaning_return, down);
    merged.equipment.booster = state(|row| row.equipment.booster);
    merged.equipment.alarms =
        [state(|row| row.equipment.alarms[0]), state(|row| row.equipment.alarms[1])];
    merged.equipment.media =
        [of(|row| row.equipment.media[0], up), of(|row| row.equipment.media[1], up)];
    merged.pressure = of(|row| row.pressure, if pair { up } else { down });
    merged.pasteurized = of(|row| row.pasteurized, down);
    let difference = |row: &Row| {
        let pasteurized = Exact::decimal(row.pasteurized.valid()?);
        let raw = Exact::decimal(row.pressure.valid()?);
        // Of two that are equal the one with the higher raw pressure.
        Some((pasteurized - raw, Exact::ZERO - raw))
    };
    // The pair with the lowest difference stays together.
    if pair && let Some(differences) = rows.iter().map(difference).collect::<Option<Vec<_>>>() {
        let lowest = (0..rows.len()).min_by_key(|&row| differences[row]).unwrap_or(0);
        merged.pressure = rows[lowest].pressure;
        merged.pasteurized = rows[lowest].pasteurized;
    }
    merged
}

/// A specimen of which some instants have two or three rows, and those rows.
fn with_doubles(seed: u64) -> (Specimen, Vec<(i64, Row)>) {
    let mut specimen = writable(seed);
    // What the physical range refuses is not a reading, and so no candidate for the worst.
    let layout = specimen.layout;
    let temperature = |role, unit| AnyUnit::Temperature(unit).physical_range(role);
    let holding = temperature(Role::HoldingTemperature, layout.temperature);
    let other = |role| temperature(role, layout.other_temperatures);
    let pressure = |role| AnyUnit::Pressure(layout.pressure).physical_range(role);
    let first = if layout.pair { Role::RawPressure } else { Role::DifferentialPressure };
    let flow =
        layout.flow.map_or(holding, |unit| AnyUnit::Flow(unit).physical_range(Role::FlowRate));
    let media = |role| {
        let unit = layout.equipment.unwrap_or(layout.pressure);
        AnyUnit::Pressure(unit).physical_range(role)
    };
    for row in &mut specimen.rows {
        let [heating, cooling] = &mut row.equipment.media;
        let returning = &mut row.equipment.cleaning_return;
        for (reading, range) in [
            (heating, media(Role::HeatingMediumPressure)),
            (cooling, media(Role::CoolingMediumPressure)),
            (returning, other(Role::CleaningReturnTemperature)),
            (&mut row.temperature, holding),
            (&mut row.recorder, other(Role::RecorderTemperature)),
            (&mut row.raw_temperature, other(Role::RawTemperature)),
            (&mut row.regenerated, other(Role::RegeneratedTemperature)),
            (&mut row.heating_water, other(Role::HeatingWaterTemperature)),
            (&mut row.cooled, other(Role::CooledTemperature)),
            (&mut row.pressure, pressure(first)),
            (&mut row.pasteurized, pressure(Role::PasteurizedPressure)),
            (&mut row.flow, flow),
        ] {
            if reading.valid().is_some_and(|value| value < range.0 || range.1 < value) {
                *reading = Reading::Invalid(Invalid::OutOfRange);
            }
        }
    }
    let choices = &mut Choices::new(seed);
    let mut rows = Vec::new();
    for (at, row) in table::stamped(&specimen) {
        rows.push((at, row.clone()));
        for _ in 0..choices.one_of(&[0, 0, 0, 1, 2]) {
            let stranger =
                &specimen.rows[choices.between(0, specimen.rows.len() as i64 - 1) as usize];
            rows.push((at, if choices.chance(1, 3) { row.clone() } else { stranger.clone() }));
        }
    }
    (specimen, rows)
}

#[test]
fn rows_of_one_instant_become_their_worst_reading() {
    for seed in 60_000..60_500 {
        let (mut specimen, rows) = with_doubles(seed);
        // Other texts have rules of their own.
        specimen.layout.lot = false;
        specimen.layout.mode = false;
        table::bind(&mut specimen, Dialect::PLAIN);
        let mut plain = specimen.clone();
        plain.rows.clear();
        let mut last = specimen.start;
        for group in rows.chunk_by(|one, other| one.0 == other.0) {
            let of_instant: Vec<Row> = group.iter().map(|(_, row)| row.clone()).collect();
            let one = merged(&of_instant, specimen.layout.pair);
            plain.rows.push(Row { step: group[0].0 - last, ..one });
            last = group[0].0;
        }
        let expected = audit(&plain.record(), &specimen.plant);
        let file = table::write(&specimen, &rows, Dialect::PLAIN, seed);
        let context = format!("seed {seed}\n{plain}");
        let (record, _) = read(&[bytes("day.csv", file)], &specimen.plant, &context);
        let found = audit(&record, &specimen.plant);
        assert_eq!(found.exceptions, expected.exceptions, "{context}");
        assert_eq!(found.accounting, expected.accounting, "{context}");
        assert_eq!(found.transitions, expected.transitions, "{context}");
        assert_eq!(found.margins, expected.margins, "{context}");
    }
}

#[test]
fn the_order_of_rows_of_one_instant_does_not_matter() {
    for seed in 70_000..70_250 {
        let (mut specimen, mut rows) = with_doubles(seed);
        table::bind(&mut specimen, Dialect::PLAIN);
        let file = |rows: &[(i64, Row)]| {
            vec![bytes("day.csv", table::write(&specimen, rows, Dialect::PLAIN, 0))]
        };
        let context = format!("seed {seed}");
        let (record, _) = read(&file(&rows), &specimen.plant, &context);
        let expected = audit(&record, &specimen.plant);
        let choices = &mut Choices::new(seed);
        for _ in 0..3 {
            for index in 1..rows.len() {
                let other = choices.between(0, index as i64) as usize;
                if rows[other].0 == rows[index].0 {
                    rows.swap(other, index);
                }
            }
            let (record, _) = read(&file(&rows), &specimen.plant, &context);
            assert_same(&audit(&record, &specimen.plant), &expected, &context);
        }
    }
}

/// The same file read and audited at the same time by several threads, and by one alone.
#[test]
fn threads_do_not_change_the_audit() {
    let mut specimen = writable(80_000);
    let template = specimen.rows.clone();
    specimen.rows = (0..4000).map(|index| template[index % template.len()].clone()).collect();
    table::bind(&mut specimen, Dialect::PLAIN);
    let rows = table::stamped(&specimen);
    let file = table::write(&specimen, &rows, Dialect::PLAIN, 0);
    let whole = |_thread: usize| {
        let inputs = [bytes("day.csv", file.clone())];
        let (record, observations) = read(&inputs, &specimen.plant, "threads");
        analysis::audit(&record, &specimen.plant, observations)
    };
    let alone = whole(0);
    std::thread::scope(|scope| {
        let running: Vec<_> = (0..8).map(|thread| scope.spawn(move || whole(thread))).collect();
        for thread in running {
            let Ok(audit) = thread.join() else { panic!("a thread panicked") };
            assert_same(&audit, &alone, "threads");
        }
    });
}
