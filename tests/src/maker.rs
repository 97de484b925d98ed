//! Makes up records that look for trouble.
//!
//! The **wild** ones have readings that cluster at the limits, every reason for an invalid reading,
//! every valve position, irregular steps. The **calm** ones are good milk, evenly sampled, in which
//! some troubles are put: a dip, a channel that hangs, a recorder that disagrees, a lost flow, a
//! cleaning. Both have plants with limits small enough that a short record reaches them.

use crate::exact::Exact;
use crate::random::Choices;
use crate::specimen::{Equipment, Layout, Lost, Row, Specimen, Written};
use plant::{
    Certificate, CleaningPlan, Flow, Geometry, Plant, PlantFile, PressureLimit, Product, Products,
    ROWS, Source, TemperatureLimit, Thermometer, Tube,
};
use trace::{
    Decimal, Duration, EntryKind, FlowUnit, Instant, Invalid, OperatorEntry, PressureUnit, Reading,
    TemperatureUnit, ValveState,
};

const TEMPERATURE_UNITS: [TemperatureUnit; 2] =
    [TemperatureUnit::Fahrenheit, TemperatureUnit::Celsius];
const PRESSURE_UNITS: [PressureUnit; 5] = [
    PressureUnit::Psi,
    PressureUnit::Kilopascal,
    PressureUnit::Bar,
    PressureUnit::Millibar,
    PressureUnit::Megapascal,
];
const FLOW_UNITS: [FlowUnit; 5] = [
    FlowUnit::LitrePerHour,
    FlowUnit::LitrePerMinute,
    FlowUnit::CubicMetrePerHour,
    FlowUnit::GallonPerMinute,
    FlowUnit::GallonPerHour,
];
const INVALID: [Invalid; 3] = [Invalid::Blank, Invalid::NotANumber, Invalid::OutOfRange];
const BLANK: Reading = Reading::Invalid(Invalid::Blank);

/// The specimen of a seed.
pub fn make(seed: u64) -> Specimen {
    let choices = &mut Choices::new(seed);
    let layout = layout(choices);
    let calm = choices.chance(2, 3);
    // Long enough for what takes minutes.
    let long = calm && choices.chance(1, 5);
    let base = if long {
        10_000
    } else if calm {
        choices.one_of(&[100, 1000, 1000, 2000, 5000, 10_000, 10_000])
    } else {
        choices.one_of(&[1, 2, 7, 100, 1000, 1001, 5000])
    };
    let mut plant = plant(choices, base, layout.flow);
    // Of a stream of its own, so that the traces are what they were.
    let own = &mut Choices::new(!seed);
    plant.cleaning = cleaning(own, base);
    plant.amount_tolerance =
        own.one_of(&[None, Some(Decimal::whole(50)), Some(Decimal::new(999, 1))]);
    let start = choices.one_of(&[-5001, 0, 1_772_500_000_000]) + choices.between(0, 999);
    let count = if long {
        80
    } else if choices.chance(1, 20) {
        1
    } else if calm {
        choices.between(20, 80)
    } else {
        choices.between(2, 60)
    };
    let mut specimen = Specimen::plain(start, layout, plant, Vec::new());
    if calm {
        let mut line = Line::new(choices, &specimen);
        specimen.rows = (0..count).map(|_| line.row(choices, base)).collect();
        if long && choices.chance(1, 6) {
            // Never goes forward.
            let restless = choices.between(0, 1);
            for row in &mut specimen.rows {
                row.valve = ValveState::Divert;
                if choices.chance(restless, 3) {
                    row.valve = choices.one_of(&ValveState::ALL[..3]);
                }
            }
        } else if choices.chance(if long { 2 } else { 1 }, 3) {
            // Cuts in after a while.
            let until = choices.between(1, 5).min(count) as usize;
            for row in &mut specimen.rows[..until] {
                row.valve = ValveState::Divert;
            }
        }
        for _ in 0..choices.between(0, 4) {
            let kind = if long && choices.chance(1, 3) { 23 } else { 0 };
            let kind = choices.between(kind, 25);
            trouble(choices, &mut specimen, &line, base, kind);
        }
        if long && choices.chance(1, 5) {
            // Production ends while the line runs on.
            for row in specimen.rows.iter_mut().skip(choices.between(4, 19) as usize) {
                row.valve = ValveState::Divert;
            }
        }
    } else {
        specimen.rows = wild_rows(choices, layout, &specimen.plant, base, count);
    }
    equip(choices, &mut specimen);
    beside(choices, &mut specimen);
    let own = &mut Choices::new(!seed ^ 1);
    for run in specimen.sheet.iter_mut().flatten() {
        let any = own.between(0, 9999);
        run.quantity = own.one_of(&[None, Some(0), Some(5), Some(100), Some(any)]);
    }
    let own = &mut Choices::new(!seed ^ 2);
    cleaning_return(own, &mut specimen);
    entries(own, &mut specimen);
    specimen
}

/// A thermometer where the cleaning solution comes back, a little colder than the tube or warmer.
fn cleaning_return(choices: &mut Choices, specimen: &mut Specimen) {
    specimen.layout.cleaning_return = choices.chance(1, 4);
    if !specimen.layout.cleaning_return {
        return;
    }
    let figures = match specimen.layout.other_temperatures {
        TemperatureUnit::Fahrenheit => [1590, 1609, 1610, 1611],
        TemperatureUnit::Celsius => [710, 719, 720, 721],
    };
    let mut now = BLANK;
    for row in &mut specimen.rows {
        if choices.chance(1, 3) {
            now = match choices.between(0, 9) {
                0 => Reading::Invalid(choices.one_of(&INVALID)),
                _ => Reading::Valid(Decimal::new(choices.one_of(&figures), 1)),
            };
        }
        row.equipment.cleaning_return = now;
    }
}

/// What an operator wrote down: mostly beside a passage, and mostly what the thermometer showed.
fn entries(choices: &mut Choices, specimen: &mut Specimen) {
    let instants = specimen.instants();
    if !choices.chance(1, 2) || instants.is_empty() {
        return;
    }
    if choices.chance(1, 6) {
        specimen.plant.thermometer = Thermometer::Recorder;
    }
    let rows = &specimen.rows;
    let passages: Vec<usize> =
        (1..rows.len()).filter(|&sample| rows[sample].valve != rows[sample - 1].valve).collect();
    for line in 2..2 + choices.between(1, 6) {
        let sample = if passages.is_empty() || choices.chance(1, 3) {
            choices.between(0, rows.len() as i64 - 1) as usize
        } else {
            choices.one_of(&passages)
        };
        let kind = choices.one_of(&EntryKind::ALL);
        let apart = choices.one_of(&[0, 0, 0, -999, 1, -30_000, 59_999, 61_000, -61_000, 125_000]);
        let to_the_minute = choices.chance(1, 2);
        let whole = if to_the_minute { 60_000 } else { 1000 };
        let at = (instants[sample] + apart).div_euclid(whole) * whole;
        let (read, unit) = match kind {
            EntryKind::Recorder => (rows[sample].recorder, specimen.layout.other_temperatures),
            _ => (rows[sample].temperature, specimen.layout.temperature),
        };
        let (value, scale) =
            read.valid().map_or((1610, 1), |value| (value.mantissa(), value.scale()));
        let tenths = choices.one_of(&[0, 0, 0, 0, 5, -5, 6, -6, 10, -10, 11, -11, 40]);
        // Of a thermometer that shows whole degrees.
        let step = 10_i64.pow(u32::from(scale.max(1)) - 1);
        let value = if scale == 0 { value * 10 } else { value };
        let value = Decimal::new(value + tenths * step, scale.max(1));
        let unit = if choices.chance(1, 8) { choices.one_of(&TEMPERATURE_UNITS) } else { unit };
        specimen.entries.push(OperatorEntry {
            at: Instant::from_unix_milliseconds(at),
            to_the_minute,
            kind,
            reading: kind.is_reading().then_some((value, unit)),
            by: "C. Example (invented)".to_owned(),
            note: if kind.is_reading() { String::new() } else { "made up".to_owned() },
            line: line as u64,
        });
    }
}

fn layout(choices: &mut Choices) -> Layout {
    let temperature = choices.one_of(&TEMPERATURE_UNITS);
    let pressure = choices.one_of(&PRESSURE_UNITS);
    Layout {
        other_temperatures: if choices.chance(1, 8) {
            choices.one_of(&TEMPERATURE_UNITS)
        } else {
            temperature
        },
        pair: choices.chance(1, 2),
        recorder: choices.chance(1, 2),
        flow: choices.chance(2, 3).then(|| choices.one_of(&FLOW_UNITS)),
        raw_temperature: choices.chance(1, 2),
        regenerated: choices.chance(1, 2),
        heating_water: choices.chance(1, 2),
        cooled: choices.chance(1, 2),
        leak: choices.chance(1, 6),
        pump: choices.chance(1, 3),
        product: choices.chance(1, 2),
        lot: choices.chance(1, 3),
        mode: choices.chance(1, 2),
        ..Layout::plain(temperature, pressure)
    }
}

/// Booster pump, alarms, mode switch and media, mostly as they should be; each keeps what it does for some
/// rows.
fn equip(choices: &mut Choices, specimen: &mut Specimen) {
    if !choices.chance(1, 3) {
        return;
    }
    specimen.layout.equipment = Some(if choices.chance(3, 4) {
        specimen.layout.pressure
    } else {
        choices.one_of(&PRESSURE_UNITS)
    });
    if choices.chance(1, 2) {
        let set = |choices: &mut Choices| {
            let unit = choices.one_of(&FLOW_UNITS);
            choices
                .chance(2, 3)
                .then(|| Flow { value: Decimal::new(choices.between(1, 999), 1), unit })
        };
        specimen.plant.limits.flow_alarms = (set(choices), set(choices));
    }
    if choices.chance(1, 3) {
        let figure = Decimal::new(choices.between(0, 60), 1);
        specimen.plant.limits.booster_differential =
            PressureLimit::Single(figure, specimen.layout.pressure);
    }
    if choices.chance(1, 4) {
        let figure = Decimal::new(choices.between(0, 60), 1);
        specimen.plant.limits.zero_check =
            Some(PressureLimit::Single(figure, specimen.layout.pressure));
        specimen.layout.pump = true;
    }
    let mut now = Equipment { switch: "AUTO", ..Equipment::NONE };
    for row in &mut specimen.rows {
        let is_forward = row.valve == ValveState::Forward;
        let state = |choices: &mut Choices, usual: bool| match choices.between(0, 9) {
            0 => None,
            1 => Some(!usual),
            _ => Some(usual),
        };
        if choices.chance(1, 3) {
            now.booster = state(choices, is_forward);
        }
        if choices.chance(1, 4) {
            now.alarms = [state(choices, false), state(choices, false)];
        }
        if choices.chance(1, 4) {
            now.switch = choices.one_of(&["AUTO", "HAND", ""]);
        }
        for medium in &mut now.media {
            *medium = match choices.between(0, 5) {
                0 => Reading::Invalid(choices.one_of(&INVALID)),
                1 => row.pasteurized,
                _ => Reading::Valid(Decimal::new(choices.between(0, 400), 1)),
            };
        }
        row.equipment = now;
    }
    if specimen.plant.limits.zero_check.is_some() && choices.chance(2, 3) {
        standstill(choices, specimen);
    }
}

/// A stretch in which the pumps stand, mostly all of it.
fn standstill(choices: &mut Choices, specimen: &mut Specimen) {
    let rows = specimen.rows.len() as i64;
    let from = choices.between(0, rows / 2);
    let reading = Decimal::new(choices.between(-90, 90), 1);
    for row in specimen.rows.iter_mut().skip(from as usize).take(choices.between(5, 40) as usize) {
        row.valve = ValveState::Divert;
        row.pump = Some(choices.chance(1, 200));
        row.equipment.booster = Some(choices.chance(1, 200));
        if choices.chance(9, 10) {
            (row.pressure, row.pasteurized) =
                (Reading::Valid(reading), Reading::Valid(Decimal::new(reading.mantissa() * 2, 1)));
        }
    }
}

/// Rows without a place, double spans and a run sheet.
fn beside(choices: &mut Choices, specimen: &mut Specimen) {
    let instants: Vec<i64> =
        specimen.instants().into_iter().map(|at| at - specimen.start).collect();
    let last = instants.len() as i64 - 1;
    let sample = |choices: &mut Choices| choices.between(0, last);
    if choices.chance(1, 5) {
        for _ in 0..choices.between(1, 2) {
            let from = sample(choices);
            let (from, to) = match choices.between(0, 9) {
                // At a border of the record there is no step.
                0 => (0, 0),
                1 => (last, last),
                2 => (0, from),
                3 => (from, last),
                _ => ((from.min(last - 1)).max(0), (from + choices.between(1, 3)).min(last)),
            };
            let rows = (0..choices.between(1, 3)).map(|_| {
                let row = &specimen.rows[sample(choices) as usize];
                let valve = if choices.chance(1, 2) {
                    ValveState::Divert
                } else {
                    choices.one_of(&ValveState::ALL)
                };
                let differential =
                    if choices.chance(1, 4) || specimen.layout.pair { BLANK } else { row.pressure };
                (valve, row.temperature, differential, [row.product, row.lot])
            });
            let rows = rows.collect();
            let (from, to) = (instants[from as usize], instants[to as usize]);
            specimen.lost.push(Lost { from, to, rows });
        }
    }
    if choices.chance(1, 5) {
        for _ in 0..choices.between(1, 2) {
            let to = instants[sample(choices) as usize];
            let from = if choices.chance(1, 2) {
                instants[sample(choices) as usize]
            } else {
                to - choices.between(0, 20_000)
            };
            if from <= to {
                specimen.doubles.push((from, to));
            }
        }
    }
    if choices.chance(1, 4) {
        let mut runs = Vec::new();
        for _ in 0..choices.between(0, 3) {
            let (one, other) = (sample(choices) as usize, sample(choices) as usize);
            let off = choices.one_of(&[0, 0, 1]);
            runs.push(Written {
                from: instants[one.min(other)] + off,
                to: instants[one.max(other)] + off + choices.between(0, 1),
                words: [
                    choices.one_of(&["Milk", "milk", "cream", "eggnog", "butter"]),
                    choices.one_of(&["", "A1", "A2", "S7"]),
                    choices.one_of(&["", "T1", "T2"]),
                ],
                quantity: None,
            });
        }
        specimen.sheet = Some(runs);
    }
}

fn product(choices: &mut Choices, name: &str, base: i64) -> Product {
    let row = &ROWS[choices.between(0, ROWS.len() as i64 - 1) as usize];
    let mut product = Product::from_row(name, row);
    if choices.chance(1, 3) {
        let unit = choices.one_of(&TEMPERATURE_UNITS);
        let figure = match unit {
            TemperatureUnit::Fahrenheit => choices.between(1595, 1680),
            TemperatureUnit::Celsius => choices.between(710, 760),
        };
        product.limit = TemperatureLimit::Single(Decimal::new(figure, 1), unit);
        product.source = Source::new("made up", plant::Provenance::Plant);
        product.family = None;
    }
    if choices.chance(1, 2) {
        // Of the order of some steps.
        product.minimum_time = Duration::from_milliseconds(base * choices.between(1, 5));
    }
    product.factor = choices.one_of(&[Decimal::whole(1), Decimal::new(9, 1), Decimal::new(85, 2)]);
    product.cooled_exempt = choices.chance(1, 8);
    product.judged_by_recorder = choices.chance(1, 12);
    product
}

fn plant(choices: &mut Choices, base: i64, meter: Option<FlowUnit>) -> Plant {
    let mut plant = Plant::assumed();
    plant.unit = String::from("HTST made up");
    if choices.chance(7, 8) {
        plant.file = Some(PlantFile { name: String::from("made-up.toml"), sha256: [7; 32] });
        let first = product(choices, "Milk", base);
        let mut others = Vec::new();
        for name in ["cream", " Eggnog"] {
            if choices.chance(1, 2) {
                others.push(product(choices, name, base));
            }
        }
        let default = choices.between(0, others.len() as i64) as usize;
        plant.products = Products::new(first, others, default);
    }
    limits(choices, &mut plant, base);
    let minimum = plant.products.default_product().minimum_time.milliseconds();
    if let Some(unit) = meter
        && choices.chance(1, 2)
    {
        // Mostly the meter's own unit, so that a flow can be exactly the greatest that is legal.
        let unit = if choices.chance(3, 4) { unit } else { choices.one_of(&FLOW_UNITS) };
        let test_time = choices.one_of(&[minimum, 2 * base, 3 * base, 7 * base]);
        plant.tube = Some(Tube::Certified(Certificate {
            test_flow: Flow { value: Decimal::new(choices.between(1, 999), 1), unit },
            test_time: Duration::from_milliseconds(test_time.max(1)),
            tested_on: choices
                .one_of(&[None, Some("1969-11-11"), Some("2025-05-01"), Some("2026-01-31")])
                .map(str::to_owned),
            tested_by: None,
        }));
    } else if choices.chance(1, 6) {
        plant.tube = Some(Tube::Measured(Geometry {
            length_metres: f64::from(choices.between(5, 200) as i32) / 10.0,
            inner_diameter_metres: 0.0475,
            density_kilograms_per_cubic_metre: 1004.0,
            viscosity_pascal_seconds: 0.0006,
        }));
    }
    if choices.chance(1, 2) {
        let unit = meter.filter(|_| choices.chance(2, 3)).unwrap_or(choices.one_of(&FLOW_UNITS));
        plant.nominal_flow =
            Some(Flow { value: Decimal::new(choices.between(1, 99_999), 1), unit });
    }
    if choices.chance(1, 8) {
        let unit = meter.unwrap_or(FlowUnit::LitrePerHour);
        plant.limits.low_flow =
            Some(Flow { value: Decimal::new(choices.between(1, 200), 1), unit });
    }
    plant
}

fn cleaning(choices: &mut Choices, base: i64) -> CleaningPlan {
    let time = |steps: Option<i64>| steps.map(|steps| Duration::from_milliseconds(steps * base));
    let temperature = choices.one_of(&[
        None,
        Some((Decimal::whole(161), TemperatureUnit::Fahrenheit)),
        Some((Decimal::whole(72), TemperatureUnit::Celsius)),
    ]);
    let temperature = temperature.map(|(value, unit)| TemperatureLimit::Single(value, unit));
    let minimum_time = time(choices.one_of(&[None, Some(1), Some(2), Some(5)]));
    CleaningPlan {
        temperature,
        minimum_time: temperature.and(minimum_time),
        longest_production_run: time(choices.one_of(&[None, Some(1), Some(5), Some(20)])),
    }
}

fn limits(choices: &mut Choices, plant: &mut Plant, base: i64) {
    let milliseconds = Duration::from_milliseconds;
    let limits = &mut plant.limits;
    if choices.chance(1, 3) {
        let (unit, figure) = choices.one_of(&[
            (PressureUnit::Psi, Decimal::whole(2)),
            (PressureUnit::Psi, Decimal::new(5, 1)),
            (PressureUnit::Kilopascal, Decimal::new(141, 1)),
            (PressureUnit::Bar, Decimal::new(14, 2)),
            (PressureUnit::Psi, Decimal::whole(0)),
        ]);
        limits.differential = PressureLimit::Single(figure, unit);
    }
    limits.differential_at_all_times = choices.chance(1, 8);
    limits.gap = match choices.between(0, 7) {
        0 => Some(milliseconds(base.min(15_000))),
        1 => Some(milliseconds((2 * base).min(15_000))),
        _ => None,
    };
    limits.response_allowance =
        milliseconds(choices.one_of(&[0, base / 2, base, base + 1, 2 * base, 1000, 1000]));
    limits.merge_time = milliseconds(choices.one_of(&[1, base, 3 * base, 60_000]));
    limits.travel_allowance =
        milliseconds(choices.one_of(&[0, base, 2 * base, 3 * base, 5000, 5000]));
    limits.frozen = choices
        .one_of(&[None, Some(base), Some(3 * base), Some(5000), Some(10 * base)])
        .map(milliseconds);
    limits.repeated_after = milliseconds(choices.one_of(&[base, 3000, 3 * base, 60_000]));
    limits.diverted_hole =
        milliseconds(choices.one_of(&[3 * base, 20_000, 60_000, 60_000, 100 * base]));
    limits.record_interval = milliseconds(choices.one_of(&[base - 1, base, 5000, 5000]));
    if choices.chance(1, 6) {
        let (fahrenheit, celsius) = (Decimal::whole(2), Decimal::whole(1));
        limits.recorder_difference = TemperatureLimit::Printed { fahrenheit, celsius };
    }
    if choices.chance(1, 2) {
        limits.regeneration_minimum =
            Some(choices.one_of(&[Decimal::whole(85), Decimal::new(899, 1)]));
    }
    if choices.chance(1, 4) {
        limits.cooled_maximum =
            TemperatureLimit::Single(Decimal::new(65, 1), TemperatureUnit::Celsius);
    }
}

/// Product, lot and mode.
fn words(choices: &mut Choices) -> [&'static str; 3] {
    [
        choices.one_of(&[
            "Milk",
            "milk",
            "CREAM",
            "Eggnog",
            "nobody knows",
            "cream + Milk",
            "Milk + nobody knows",
            "",
            "",
        ]),
        choices.one_of(&["A1", "A2", ""]),
        choices.one_of(&["production", "CIP", "Water", "", "something"]),
    ]
}

/// A figure near `limit` with up to two digits behind the mark, as often as not one last digit
/// away.
fn near(choices: &mut Choices, limit: Exact, far: i64) -> Decimal {
    let digits = choices.between(0, 2);
    let scale = 10_i64.pow(digits as u32);
    let nearest = (limit * Exact::whole(scale)).floor();
    let away =
        if choices.chance(3, 4) { choices.between(-2, 2) } else { choices.between(-far, far) };
    Decimal::new(nearest + away, digits as u8)
}

fn maybe_invalid(choices: &mut Choices, value: Decimal) -> Reading {
    if choices.chance(1, 15) {
        Reading::Invalid(choices.one_of(&INVALID))
    } else if choices.chance(1, 60) {
        // Beyond every physical range: the channel itself must refuse it.
        Reading::Valid(Decimal::whole(900_000))
    } else {
        Reading::Valid(value)
    }
}

fn wild_rows(
    choices: &mut Choices,
    layout: Layout,
    plant: &Plant,
    base: i64,
    count: i64,
) -> Vec<Row> {
    // Long quiet stretches as well as a turn at every sample.
    let restless = choices.one_of(&[1, 3, 10]);
    let mut rows: Vec<Row> = Vec::new();
    let mut valve = choices.one_of(&ValveState::ALL);
    let mut words = words(choices);
    for _ in 0..count {
        if choices.chance(restless, 20) {
            valve = if choices.chance(1, 2) {
                ValveState::Forward
            } else {
                choices.one_of(&ValveState::ALL)
            };
        }
        if choices.chance(restless, 40) {
            words = self::words(choices);
        }
        let row = wild_row(choices, layout, plant, base, valve, words);
        // Now and then a row that repeats the one before, or nearly so.
        let before = rows.last().filter(|_| choices.chance(1, 4)).cloned();
        rows.push(match before {
            Some(before) => Row { step: row.step, valve, ..before },
            None => row,
        });
    }
    rows
}

fn wild_row(
    choices: &mut Choices,
    layout: Layout,
    plant: &Plant,
    base: i64,
    valve: ValveState,
    words: [&'static str; 3],
) -> Row {
    let step = match choices.between(0, 19) {
        0 => 2 * base,
        1 => 3 * base,
        2 => 3 * base + 1,
        3 => 10 * base,
        4 => (base / 2).max(1),
        5 => base + choices.between(0, base),
        _ => base,
    };
    let around = plant
        .products
        .iter()
        .nth(choices.between(0, 2) as usize)
        .unwrap_or(plant.products.default_product());
    let limit = ratio(around.limit.figure(layout.temperature));
    let temperature = near(choices, limit, 100);
    let apart = choices.one_of(&[0, 0, 1, -1, 5, 6, -6, 10, 11]);
    let beside = |temperature: Decimal, apart: i64| {
        Decimal::new(
            temperature.mantissa() * 10_i64.pow(u32::from(1 - temperature.scale().min(1))) + apart,
            temperature.scale().max(1),
        )
    };
    let recorder = if layout.other_temperatures == layout.temperature {
        beside(temperature, apart)
    } else {
        near(choices, ratio(around.limit.figure(layout.other_temperatures)), 20)
    };
    let heating_water = beside(recorder, choices.one_of(&[30, 5, -5, -6, -11, -30]));
    let floor = ratio(plant.limits.differential.figure(layout.pressure));
    let scale = if layout.pressure == PressureUnit::Megapascal { 3 } else { 0 };
    let shifted = near(choices, floor * Exact::whole(10_i64.pow(scale)), 40);
    let differential = Decimal::new(shifted.mantissa(), shifted.scale() + scale as u8);
    let (pressure, pasteurized) = if layout.pair {
        // Raw with one digit more or less than the difference; pasteurized is their exact sum.
        let digits = differential.scale() + u8::from(choices.chance(1, 4));
        let raw = choices.between(0, 400);
        let over = differential.mantissa() * 10_i64.pow(u32::from(digits - differential.scale()));
        (Decimal::new(raw, digits), Decimal::new(raw + over, digits))
    } else {
        (differential, Decimal::ZERO)
    };
    let flow = match &plant.tube {
        Some(Tube::Certified(tube)) if choices.chance(9, 10) => {
            // Near the flow at which the tube holds for just the minimum.
            let minimum = around.minimum_time.milliseconds().max(1);
            let time = Exact::new(i128::from(tube.test_time.milliseconds()), i128::from(minimum));
            near(choices, Exact::decimal(tube.test_flow.value) * time, 50)
        }
        _ => Decimal::new(choices.between(-3, 4000), choices.between(0, 2) as u8),
    };
    let cold = |choices: &mut Choices| {
        let figure = choices.between(30, 75);
        Decimal::new(if cold_in_celsius(layout) { figure } else { 320 + 2 * figure }, 1)
    };
    let (raw_temperature, cooled) = (cold(choices), cold(choices));
    let regenerated = Decimal::new(choices.between(600, 700), 1);
    Row {
        equipment: Equipment::NONE,
        step,
        valve,
        temperature: maybe_invalid(choices, temperature),
        pressure: maybe_invalid(choices, pressure),
        pasteurized: maybe_invalid(choices, pasteurized),
        recorder: maybe_invalid(choices, recorder),
        flow: maybe_invalid(choices, flow),
        raw_temperature: maybe_invalid(choices, raw_temperature),
        regenerated: maybe_invalid(choices, regenerated),
        heating_water: maybe_invalid(choices, heating_water),
        cooled: maybe_invalid(choices, cooled),
        leak: choices.one_of(&[Some(false), Some(false), Some(false), Some(true), None]),
        pump: choices.one_of(&[Some(true), Some(true), Some(false), None]),
        product: words[0],
        lot: words[1],
        mode: words[2],
    }
}

fn cold_in_celsius(layout: Layout) -> bool {
    layout.other_temperatures == TemperatureUnit::Celsius
}

/// The last digits with which a calm line's channels are written, and where they stand.
#[derive(Debug, Clone)]
struct Line {
    layout: Layout,
    words: [&'static str; 3],
    /// Digits behind the mark of temperatures.
    digits: u8,
    /// The holding temperature's limit in its own unit and in the other one.
    limits: (Exact, Exact),
    /// Digits behind the mark of pressures, and one psi or 7 kPa in last digits.
    pressure: (u8, i64),
    /// The floor of the differential, rounded up, in last digits.
    floor: i64,
    /// A good flow in last digits, and how many stand behind the mark.
    flow: (i64, u8),
}

impl Line {
    fn new(choices: &mut Choices, specimen: &Specimen) -> Self {
        let (layout, plant) = (specimen.layout, &specimen.plant);
        let words = [
            choices.one_of(&["Milk", "Milk", "milk", "CREAM", "nobody knows", ""]),
            choices.one_of(&["A1", "A2"]),
            choices.one_of(&["production", "production", "production", ""]),
        ];
        let held = |unit| ratio(plant.products.unknown(unit).limit);
        let digits = choices.one_of(&[1, 1, 1, 0]);
        let (scale, psi) = match layout.pressure {
            PressureUnit::Psi => choices.one_of(&[(1, 10), (1, 10), (0, 1)]),
            PressureUnit::Kilopascal => (0, 7),
            PressureUnit::Bar => (2, 7),
            PressureUnit::Millibar => (0, 70),
            PressureUnit::Megapascal => (4, 70),
        };
        let floor = ratio(plant.limits.differential.figure(layout.pressure));
        let floor = (floor * Exact::whole(10_i64.pow(scale))).floor() + 1;
        let good = match (&plant.tube, layout.flow) {
            (Some(Tube::Certified(tube)), Some(unit)) => {
                // A little less than the flow at which the tube holds for the longest minimum.
                let unknown = plant.products.unknown(layout.temperature);
                let minimum = unknown.minimum_time.milliseconds().max(1);
                let full = ratio(tube.test_flow.exactly_in(unit));
                full * Exact::new(i128::from(tube.test_time.milliseconds()), i128::from(minimum))
                    * Exact::decimal(unknown.factor)
                    * Exact::new(95, 100)
            }
            _ => Exact::whole(choices.between(20, 4000)),
        };
        // Not three digits behind the mark: a comma before three is refused as one of thousands.
        let enough =
            |digits: &u8| (good * Exact::whole(10_i64.pow(u32::from(*digits)))).floor() >= 1000;
        let flow_digits = [0, 1, 2].into_iter().find(enough).unwrap_or(4);
        let flow = (good * Exact::whole(10_i64.pow(u32::from(flow_digits)))).floor();
        Self {
            layout,
            words,
            digits,
            limits: (held(layout.temperature), held(layout.other_temperatures)),
            pressure: (scale as u8, psi),
            floor,
            flow: (flow, flow_digits),
        }
    }

    /// A figure of temperature, `tenths` of a degree (Celsius, or twice as many of Fahrenheit)
    /// above `limit`, with some noise.
    fn warm(&self, choices: &mut Choices, limit: Exact, tenths: i64) -> Decimal {
        let scale = 10_i64.pow(u32::from(self.digits));
        let over = Exact::new(i128::from(tenths + choices.between(0, 3)), 10);
        Decimal::new(
            (limit * Exact::whole(scale) + over * Exact::whole(scale)).floor(),
            self.digits,
        )
    }

    /// A figure of some tenths of a degree Celsius, or as many in Fahrenheit.
    fn cold(&self, choices: &mut Choices, tenths: i64) -> Decimal {
        let tenths = tenths + choices.between(0, 3);
        if cold_in_celsius(self.layout) {
            Decimal::new(tenths, 1)
        } else {
            Decimal::new(320 + tenths * 9 / 5, 1)
        }
    }

    /// Good milk in forward flow.
    fn row(&mut self, choices: &mut Choices, base: i64) -> Row {
        let (digits, psi) = self.pressure;
        let over = self.floor + psi + choices.between(0, psi);
        let raw = 20 * psi + choices.between(0, 2);
        let (pressure, pasteurized) = if self.layout.pair {
            (Decimal::new(raw, digits), Decimal::new(raw + over, digits))
        } else {
            (Decimal::new(over, digits), Decimal::ZERO)
        };
        let valid = Reading::Valid;
        let temperature = self.warm(choices, self.limits.0, 15);
        Row {
            equipment: Equipment::NONE,
            step: base,
            valve: ValveState::Forward,
            temperature: valid(temperature),
            pressure: valid(pressure),
            pasteurized: valid(pasteurized),
            recorder: valid(self.warm(choices, self.limits.1, 13)),
            flow: valid(Decimal::new(self.flow.0 - choices.between(0, 9), self.flow.1)),
            raw_temperature: valid(self.cold(choices, 30)),
            regenerated: valid(self.cold(choices, 665)),
            heating_water: valid(self.warm(choices, self.limits.1, 40)),
            cooled: valid(self.cold(choices, 32)),
            leak: Some(false),
            pump: Some(true),
            product: self.words[0],
            lot: self.words[1],
            mode: self.words[2],
        }
    }
}

/// The readings of a row, by number.
const fn reading(row: &mut Row, channel: i64) -> &mut Reading {
    match channel {
        0 => &mut row.temperature,
        1 => &mut row.pressure,
        2 => &mut row.pasteurized,
        3 => &mut row.flow,
        4 => &mut row.recorder,
        5 => &mut row.heating_water,
        6 => &mut row.cooled,
        7 => &mut row.raw_temperature,
        _ => &mut row.regenerated,
    }
}

/// Adds some last digits to a reading that is one.
fn shift(reading: &mut Reading, digits: i64) {
    if let Reading::Valid(value) = *reading {
        *reading = Reading::Valid(Decimal::new(value.mantissa() + digits, value.scale()));
    }
}

/// Puts one trouble into a stretch of the rows.
fn trouble(choices: &mut Choices, specimen: &mut Specimen, line: &Line, base: i64, kind: i64) {
    let count = specimen.rows.len() as i64;
    let first = choices.between(0, count - 1);
    let last = match choices.between(0, 3) {
        0 => first,
        1 => (first + choices.between(1, 6)).min(count - 1),
        2 => count - 1,
        _ => choices.between(first, count - 1),
    };
    let whole = match kind {
        7..=10 => choices.chance(1, 3),
        23.. => choices.chance(2, 3),
        _ => choices.chance(1, 10),
    };
    let (first, last) = if whole { (0, count - 1) } else { (first, last) };
    let rows = &mut specimen.rows[first as usize..=last as usize];
    let degree = if line.layout.temperature == TemperatureUnit::Celsius { 5 } else { 10 };
    match kind {
        0 | 1 => {
            let by = choices.between(1, 8) * degree;
            for row in &mut *rows {
                shift(&mut row.temperature, -by);
            }
        }
        2 => {
            let channel = choices.between(0, 8);
            let why = choices.one_of(&INVALID);
            for row in &mut *rows {
                *reading(row, channel) = Reading::Invalid(why);
            }
        }
        3 | 4 => {
            let channel = choices.one_of(&[0, 0, 1, 2, 3, 3, 4, 5, 6]);
            let value = *reading(&mut rows[0], channel);
            for row in &mut *rows {
                *reading(row, channel) = value;
            }
        }
        5 | 6 => {
            let same = rows[0].clone();
            for row in rows {
                let (step, valve) = (row.step, row.valve);
                *row = Row { step, valve, ..same.clone() };
            }
        }
        7 | 8 => {
            for row in rows {
                row.recorder = Reading::Valid(line.warm(choices, line.limits.1, -8));
            }
        }
        9 | 10 => {
            for row in rows {
                row.heating_water = Reading::Valid(line.warm(choices, line.limits.1, -5));
            }
        }
        11 => {
            let lost = choices.one_of(&[0, 0, 1, -3]);
            let digits = line.flow.1;
            for row in &mut *rows {
                row.flow = Reading::Valid(Decimal::new(lost, digits));
            }
        }
        12 => {
            let more = choices.between(10, line.flow.0.max(11));
            for row in &mut *rows {
                shift(&mut row.flow, more);
            }
        }
        13 => {
            let by = choices.between(1, 6) * line.pressure.1;
            let pair = line.layout.pair;
            for row in &mut *rows {
                shift(if pair { &mut row.pasteurized } else { &mut row.pressure }, -by);
            }
            if choices.chance(1, 2) {
                for row in &mut *rows {
                    row.valve = ValveState::Divert;
                }
            }
        }
        14 => {
            for row in &mut *rows {
                row.valve = choices.one_of(&ValveState::ALL);
            }
        }
        15 => {
            let valve = choices.one_of(&[ValveState::Unknown, ValveState::Travel]);
            for row in &mut *rows {
                row.valve = valve;
            }
        }
        16 | 17 => stand(choices, rows),
        18 => clean(choices, rows, degree),
        19 => {
            let word = choices.one_of(&["", "Milk"]);
            for row in &mut *rows {
                (row.mode, row.product) = ("Water", word);
            }
        }
        20 => {
            let words = words(choices);
            for row in &mut *rows {
                [row.product, row.lot, row.mode] = words;
            }
        }
        21 => {
            let longer =
                choices.one_of(&[2 * base, 3 * base + 1, 15_001, 61_000, 700_000, 10 * base]);
            rows[0].step = longer.max(base);
            if choices.chance(1, 2) {
                let around = (first - 1).max(0) as usize..=(first as usize + 1).min(last as usize);
                for row in &mut specimen.rows[around] {
                    row.valve = ValveState::Divert;
                }
            }
        }
        22 => {
            for row in &mut *rows {
                row.leak = Some(true);
            }
            let jump = choices.between(1, 40) * degree;
            shift(&mut rows[0].temperature, jump);
        }
        23 => {
            let warm = choices.between(40, 200);
            let less = choices.between(0, 150);
            for row in rows {
                row.cooled = Reading::Valid(line.cold(choices, warm));
                row.raw_temperature = Reading::Valid(line.cold(choices, warm));
                row.regenerated = Reading::Valid(line.cold(choices, 665 - less));
            }
        }
        _ => {
            for row in rows {
                row.recorder = Reading::Valid(line.warm(choices, line.limits.1, 30));
            }
        }
    }
    if choices.chance(1, 2) {
        pierce(choices, &mut specimen.rows[first as usize..=last as usize], kind);
    }
}

/// Makes some readings invalid in a stretch that is doubtful because of its length.
fn pierce(choices: &mut Choices, rows: &mut [Row], kind: i64) {
    let channels: &[i64] = match kind {
        3 | 4 => &[0, 1, 2, 3],
        5 | 6 => &[0, 1, 2, 3, 4, 5, 6, 7, 8],
        7 | 8 => &[0, 4],
        9 | 10 => &[0, 5],
        _ => return,
    };
    let whole = choices.chance(1, 4);
    let often = choices.between(1, 4);
    for row in rows {
        if whole && choices.chance(1, 3) {
            // A row without any reading.
            for &channel in channels {
                *reading(row, channel) = BLANK;
            }
        }
        for &channel in channels {
            if choices.chance(often, 12) {
                *reading(row, channel) = Reading::Invalid(choices.one_of(&INVALID));
            }
        }
    }
}

/// Diverted; mostly with the pump off and everything still, as at night.
fn stand(choices: &mut Choices, rows: &mut [Row]) {
    let still = choices.chance(1, 2);
    let (pump, flow) = choices.one_of(&[(false, true), (false, false), (true, false)]);
    let same = rows[0].clone();
    for row in rows {
        if still {
            let step = row.step;
            *row = Row { step, ..same.clone() };
        }
        row.valve = ValveState::Divert;
        row.pump = Some(!pump);
        if flow {
            row.flow = Reading::Valid(Decimal::ZERO);
        }
    }
}

/// Cleaning: not hot enough for milk, and warm at the cooler, but for product that is mistaken for
/// it.
fn clean(choices: &mut Choices, rows: &mut [Row], degree: i64) {
    let looks_like_product = choices.chance(1, 3);
    let by = choices.between(4, 20) * degree;
    for row in rows {
        row.mode = "CIP";
        shift(&mut row.temperature, -by);
        if !looks_like_product {
            shift(&mut row.cooled, 400);
        }
        if choices.chance(1, 6) {
            row.valve = choices.one_of(&ValveState::ALL);
        }
    }
}

/// Only to aim near a limit; the interpreter works limits out for itself.
fn ratio(ratio: trace::Ratio) -> Exact {
    Exact::new(ratio.numerator(), ratio.denominator())
}
