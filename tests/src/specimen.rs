//! Made-up records that look for trouble: readings that cluster at the limits, every reason for
//! an invalid reading, every valve position, irregular steps, gaps, changing products, all units.

use crate::exact::Exact;
use crate::random::Choices;
use plant::{
    AnyUnit, Certificate, Flow, Plant, PressureLimit, Product, Products, ROWS, Source,
    TemperatureLimit, Tube,
};
use std::fmt;
use trace::{
    Channel, Decimal, Differential, Duration, FlowUnit, Instant, Invalid, PressureUnit, Reading,
    RunRecord, RunRecordParts, TemperatureUnit, TextChannel, Toward, Unit, ValveState,
};

/// One sample of a specimen.
#[derive(Debug, Clone)]
pub struct Row {
    /// Milliseconds since the row before; above 0.
    pub step: i64,
    /// The valve.
    pub valve: ValveState,
    /// The holding temperature.
    pub temperature: Reading,
    /// The direct differential, or the raw pressure of a pair.
    pub pressure: Reading,
    /// The pasteurized pressure of a pair.
    pub pasteurized: Reading,
    /// The recorder.
    pub recorder: Reading,
    /// The flow.
    pub flow: Reading,
    /// The product.
    pub product: &'static str,
    /// The lot.
    pub lot: &'static str,
    /// The mode.
    pub mode: &'static str,
}

/// Which channels a specimen has, and their units.
#[expect(clippy::struct_excessive_bools, reason = "each channel is there or not, on its own")]
#[derive(Debug, Clone, Copy)]
pub struct Layout {
    /// Of the holding temperature.
    pub temperature: TemperatureUnit,
    /// Of the pressures.
    pub pressure: PressureUnit,
    /// Whether raw and pasteurized pressure are recorded, not their difference.
    pub pair: bool,
    /// Whether there is a recorder.
    pub recorder: bool,
    /// The flow meter, if there is one.
    pub flow: Option<FlowUnit>,
    /// Whether there are product names.
    pub product: bool,
    /// Whether there are lots.
    pub lot: bool,
    /// Whether there are modes.
    pub mode: bool,
}

/// A made-up record with its plant.
#[derive(Debug, Clone)]
pub struct Specimen {
    /// When it begins.
    pub start: i64,
    /// Its channels.
    pub layout: Layout,
    /// Its plant.
    pub plant: Plant,
    /// Its samples.
    pub rows: Vec<Row>,
}

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

fn empty_channel<U: Unit>(unit: U, range: (Decimal, Decimal), toward: Toward) -> Channel<U> {
    Channel::new(unit, range, toward)
}

fn told(reading: Reading) -> String {
    match reading {
        Reading::Valid(value) => value.to_string(),
        Reading::Invalid(reason) => reason.name().to_owned(),
    }
}

impl fmt::Display for Specimen {
    /// Short enough to be read when two audits differ.
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (layout, plant) = (self.layout, &self.plant);
        writeln!(formatter, "{layout:?}")?;
        writeln!(
            formatter,
            "{:?}, nominal flow {:?}",
            plant.limits.differential, plant.nominal_flow
        )?;
        for product in plant.products.iter() {
            writeln!(
                formatter,
                "{:?}: {:?}, {}, factor {}",
                product.name, product.limit, product.minimum_time, product.factor
            )?;
        }
        writeln!(
            formatter,
            "default {:?}, gap {:?}, response {}, merge {}, travel {}",
            plant.products.default_product().name,
            plant.limits.gap.map(Duration::milliseconds),
            plant.limits.response_allowance.milliseconds(),
            plant.limits.merge_time.milliseconds(),
            plant.limits.travel_allowance.milliseconds(),
        )?;
        writeln!(formatter, "tube {:?}", plant.tube)?;
        let mut at = self.start;
        for (index, row) in self.rows.iter().enumerate() {
            at += row.step;
            writeln!(
                formatter,
                "{index} at {at}: {}, {} deg, {} and {} pressure, recorder {}, flow {}, {:?} {:?} {:?}",
                row.valve.name(),
                told(row.temperature),
                told(row.pressure),
                told(row.pasteurized),
                told(row.recorder),
                told(row.flow),
                row.product,
                row.lot,
                row.mode,
            )?;
        }
        Ok(())
    }
}

impl Specimen {
    /// The specimen of a seed.
    pub fn new(seed: u64) -> Self {
        let choices = &mut Choices::new(seed);
        let layout = Layout {
            temperature: choices.one_of(&TEMPERATURE_UNITS),
            pressure: choices.one_of(&PRESSURE_UNITS),
            pair: choices.chance(1, 2),
            recorder: choices.chance(1, 2),
            flow: choices.chance(2, 3).then(|| choices.one_of(&FLOW_UNITS)),
            product: choices.chance(1, 2),
            lot: choices.chance(1, 3),
            mode: choices.chance(1, 3),
        };
        let base = choices.one_of(&[1, 2, 7, 100, 1000, 1001, 5000]);
        let plant = plant(choices, base, layout.flow);
        let start = choices.one_of(&[-5001, 0, 1_772_500_000_000]) + choices.between(0, 999);
        let count = if choices.chance(1, 20) { 1 } else { choices.between(2, 60) };
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
            rows.push(row(choices, layout, &plant, base, valve, words));
        }
        Self { start, layout, plant, rows }
    }

    /// The record that it stands for.
    ///
    /// # Panics
    /// Never for a specimen with at least one row.
    pub fn record(&self) -> RunRecord {
        let layout = self.layout;
        let range = AnyUnit::Temperature(layout.temperature).physical_range();
        let mut temperature = empty_channel(layout.temperature, range, Toward::Down);
        let mut recorder = empty_channel(layout.temperature, range, Toward::Up);
        let range = AnyUnit::Pressure(layout.pressure).physical_range();
        let mut raw = empty_channel(layout.pressure, range, Toward::Up);
        let mut pasteurized = empty_channel(layout.pressure, range, Toward::Down);
        let mut direct = empty_channel(layout.pressure, range, Toward::Down);
        let mut flow = layout
            .flow
            .map(|unit| empty_channel(unit, AnyUnit::Flow(unit).physical_range(), Toward::Up));
        let (mut product, mut lot, mut mode) =
            (TextChannel::new(), TextChannel::new(), TextChannel::new());
        let mut at = self.start;
        let mut instants = Vec::new();
        for row in &self.rows {
            at += row.step;
            instants.push(Instant::from_unix_milliseconds(at));
            temperature.push(row.temperature);
            recorder.push(row.recorder);
            raw.push(row.pressure);
            direct.push(row.pressure);
            pasteurized.push(row.pasteurized);
            if let Some(flow) = &mut flow {
                flow.push(row.flow);
            }
            product.push(row.product);
            lot.push(row.lot);
            mode.push(row.mode);
        }
        let parts = RunRecordParts {
            unit: self.plant.unit.clone(),
            sources: Vec::new(),
            instants,
            valve: self.rows.iter().map(|row| row.valve).collect(),
            holding_temperature: temperature,
            differential: if layout.pair {
                Differential::Pair { raw, pasteurized }
            } else {
                Differential::Direct(direct)
            },
            recorder_temperature: layout.recorder.then_some(recorder),
            flow_rate: flow,
            raw_temperature: None,
            regenerated_temperature: None,
            heating_water_temperature: None,
            cooled_temperature: None,
            leak_detect: None,
            product: layout.product.then_some(product),
            lot: layout.lot.then_some(lot),
            mode: layout.mode.then_some(mode),
        };
        match RunRecord::new(parts) {
            Ok(record) => record,
            Err(error) => panic!("a specimen is a record: {error}"),
        }
    }

    /// The smallest specimen found, by leaving out rows, for which `fails` still holds.
    pub fn shrunk(mut self, fails: impl Fn(&Self) -> bool) -> Self {
        let mut row = 0;
        while row < self.rows.len() {
            let mut smaller = self.clone();
            let left_out = smaller.rows.remove(row);
            if let Some(next) = smaller.rows.get_mut(row) {
                next.step += left_out.step;
            }
            if !smaller.rows.is_empty() && fails(&smaller) {
                self = smaller;
                row = 0;
            } else {
                row += 1;
            }
        }
        self
    }
}

fn plant(choices: &mut Choices, base: i64, meter: Option<FlowUnit>) -> Plant {
    let mut plant = Plant::assumed();
    plant.unit = String::from("HTST made up");
    let product = |choices: &mut Choices, name: &str| {
        let mut product =
            Product::from_row(name, &ROWS[choices.between(0, ROWS.len() as i64 - 1) as usize]);
        if choices.chance(1, 3) {
            let unit = choices.one_of(&TEMPERATURE_UNITS);
            let figure = match unit {
                TemperatureUnit::Fahrenheit => choices.between(1595, 1640),
                TemperatureUnit::Celsius => choices.between(710, 740),
            };
            product.limit = TemperatureLimit::Single(Decimal::new(figure, 1), unit);
            product.source = Source::new("made up", plant::Provenance::Plant);
        }
        if choices.chance(1, 2) {
            // Of the order of some steps.
            product.minimum_time = Duration::from_milliseconds(base * choices.between(1, 5));
        }
        product.factor =
            choices.one_of(&[Decimal::whole(1), Decimal::new(9, 1), Decimal::new(11, 1)]);
        product
    };
    if choices.chance(3, 4) {
        let first = product(choices, "Milk");
        let mut others = Vec::new();
        for name in ["cream", " Eggnog"] {
            if choices.chance(1, 2) {
                others.push(product(choices, name));
            }
        }
        let default = choices.between(0, others.len() as i64) as usize;
        plant.products = Products::new(first, others, default);
    }
    if choices.chance(1, 2) {
        let (unit, figure) = choices.one_of(&[
            (PressureUnit::Psi, Decimal::whole(2)),
            (PressureUnit::Psi, Decimal::new(-5, 1)),
            (PressureUnit::Kilopascal, Decimal::new(141, 1)),
            (PressureUnit::Bar, Decimal::new(14, 2)),
            (PressureUnit::Psi, Decimal::whole(0)),
        ]);
        plant.limits.differential = PressureLimit::Single(figure, unit);
    }
    let milliseconds = Duration::from_milliseconds;
    plant.limits.gap = match choices.between(0, 5) {
        0 => Some(milliseconds(base)),
        1 => Some(milliseconds(2 * base)),
        2 => Some(Duration::ZERO),
        _ => None,
    };
    plant.limits.response_allowance =
        milliseconds(choices.one_of(&[0, base / 2, base, base + 1, 2 * base, 1000]));
    plant.limits.merge_time = milliseconds(choices.one_of(&[1, base, 3 * base, 60_000]));
    plant.limits.travel_allowance =
        milliseconds(choices.one_of(&[0, base, 2 * base, 3 * base, 5000]));
    plant.limits.frozen_after = milliseconds(choices.one_of(&[base, 3 * base, 600_000]));
    plant.limits.record_interval = milliseconds(choices.one_of(&[base - 1, base, 5000]));
    if let Some(unit) = meter
        && choices.chance(1, 2)
    {
        // Mostly the meter's own unit, so that a flow can be exactly the greatest that is legal.
        let unit = if choices.chance(3, 4) { unit } else { choices.one_of(&FLOW_UNITS) };
        let minimum = plant.products.default_product().minimum_time.milliseconds();
        plant.tube = Some(Tube::Certified(Certificate {
            test_flow: Flow { value: Decimal::new(choices.between(1, 999), 1), unit },
            test_time: milliseconds(choices.one_of(&[minimum, 2 * base, 3 * base, 7 * base])),
            tested_on: None,
            tested_by: None,
        }));
    }
    if choices.chance(1, 2) {
        let unit = choices.one_of(&FLOW_UNITS);
        plant.nominal_flow =
            Some(Flow { value: Decimal::new(choices.between(1, 99_999), 1), unit });
    }
    plant
}

/// Product, lot and mode.
fn words(choices: &mut Choices) -> [&'static str; 3] {
    [
        choices.one_of(&["Milk", "milk", "CREAM", "Eggnog", "nobody knows", "", ""]),
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

fn row(
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
    let recorder = Decimal::new(
        temperature.mantissa() * 10_i64.pow(u32::from(1 - temperature.scale().min(1))) + apart,
        temperature.scale().max(1),
    );
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
    Row {
        step,
        valve,
        temperature: maybe_invalid(choices, temperature),
        pressure: maybe_invalid(choices, pressure),
        pasteurized: maybe_invalid(choices, pasteurized),
        recorder: maybe_invalid(choices, recorder),
        flow: maybe_invalid(choices, flow),
        product: words[0],
        lot: words[1],
        mode: words[2],
    }
}

/// Only to aim near a limit; the interpreter works limits out for itself.
fn ratio(ratio: trace::Ratio) -> Exact {
    Exact::new(ratio.numerator(), ratio.denominator())
}
