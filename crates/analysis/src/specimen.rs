//! Days for the tests of this crate, short to write.
//!
//! A column is a text of cells apart by blanks: `161.0*5` is five times that cell, the last cell goes
//! on to the end of the day, `_` is a blank cell, `~` stands for a blank inside a word. A number that
//! ends in `~` moves: every second reading is one unit of its last digit higher, so that it is
//! neither frozen nor repeated. The positions of the device (`F`, `D`, `V` for travel, `U` for
//! unknown) say how many samples there are. Unless a test says otherwise a day is at 1 Hz from
//! instant 0 on, in °F, psi and gal/min, at 165.0~ °F and 5.0~ psi, of no named plant.

use crate::audit::{Audit, audit};
use crate::exception::Exception;
use plant::{Certificate, Flow, Plant, PlantFile, Product, Products, Row, row};
use trace::{
    Channel, Decimal, Differential, Duration, EntryKind, FlowUnit, Instant, Interval, Invalid,
    Observation, OperatorEntries, OperatorEntry, PressureUnit, Reading, RunRecord, RunRecordParts,
    RunSheet, SheetRun, SourceFile, SourcePosition, TemperatureUnit, TextChannel, Toward, Unit,
    Unplaced, UnplacedRow, Value, ValveState, VolumeUnit,
};

/// The cells of a column, one for each of `samples`.
fn cells(text: &str, samples: usize) -> Vec<&str> {
    let mut cells = Vec::new();
    for part in text.split_whitespace() {
        let (cell, times) = match part.split_once('*') {
            Some((cell, times)) => (cell, times.parse().unwrap_or(0)),
            None => (part, 1),
        };
        cells.extend(std::iter::repeat_n(cell, times));
    }
    assert!(cells.len() <= samples, "{text}: more cells than samples");
    let last = cells.last().copied().unwrap_or("_");
    cells.resize(samples, last);
    cells
}

/// What a cell reads at a sample; a word that is no number is not valid.
fn reading(cell: &str, sample: usize) -> Reading {
    let (number, moves) = cell.strip_suffix('~').map_or((cell, 0), |number| (number, 1));
    match number.parse::<Decimal>() {
        Ok(value) => {
            let moved = i64::try_from(sample % 2).unwrap_or(0) * moves;
            Reading::Valid(Decimal::new(value.mantissa() + moved, value.scale()))
        }
        Err(_) if cell == "_" => Reading::Invalid(Invalid::Blank),
        Err(_) => Reading::Invalid(Invalid::NotANumber),
    }
}

/// A channel wide enough for every test.
fn channel<U: Unit>(unit: U, text: &str, samples: usize, toward: Toward) -> Channel<U> {
    let range = (Decimal::whole(-10_000), Decimal::whole(100_000));
    let mut channel = Channel::new(unit, range, toward);
    for (sample, cell) in cells(text, samples).into_iter().enumerate() {
        channel.push(reading(cell, sample));
    }
    channel
}

fn words(text: &str, samples: usize) -> TextChannel {
    let mut channel = TextChannel::new();
    for cell in cells(text, samples) {
        channel.push(&if cell == "_" { String::new() } else { cell.replace('~', " ") });
    }
    channel
}

fn switches(text: &str, samples: usize) -> Vec<Option<bool>> {
    let one = |cell| match cell {
        "on" => Some(true),
        "off" => Some(false),
        _ => None,
    };
    cells(text, samples).into_iter().map(one).collect()
}

fn position(letter: &str) -> ValveState {
    match letter {
        "F" => ValveState::Forward,
        "D" => ValveState::Divert,
        "V" => ValveState::Travel,
        _ => ValveState::Unknown,
    }
}

/// The instant that many milliseconds after the first sample of a day.
pub(crate) const fn at(milliseconds: i64) -> Instant {
    Instant::from_unix_milliseconds(milliseconds)
}

/// From and to, in milliseconds after the first sample of a day.
pub(crate) fn span(from: i64, to: i64) -> Interval {
    Interval::between(at(from), at(to))
}

/// A day under construction.
pub(crate) struct Specimen {
    parts: Box<RunRecordParts>,
    every: i64,
    steps: Vec<(usize, i64)>,
    temperature: TemperatureUnit,
    pressure: PressureUnit,
    holding: String,
    differential: String,
    pair: Option<(String, String)>,
    sheet: Vec<SheetRun>,
    plant: Box<Plant>,
    entries: Vec<OperatorEntry>,
}

/// A day with these positions of the device.
pub(crate) fn day(valve: &str) -> Specimen {
    let samples: usize = valve
        .split_whitespace()
        .map(|part| part.split_once('*').map_or(1, |(_, times)| times.parse().unwrap_or(0)))
        .sum();
    let valve = cells(valve, samples).into_iter().map(position).collect();
    let holding = channel(TemperatureUnit::Fahrenheit, "", 0, Toward::Down);
    let differential = Differential::Direct(channel(PressureUnit::Psi, "", 0, Toward::Down));
    Specimen {
        parts: Box::new(RunRecordParts::needed("unit", Vec::new(), valve, holding, differential)),
        every: 1000,
        steps: Vec::new(),
        temperature: TemperatureUnit::Fahrenheit,
        pressure: PressureUnit::Psi,
        holding: "165.0~".to_owned(),
        differential: "5.0~".to_owned(),
        pair: None,
        sheet: Vec::new(),
        entries: Vec::new(),
        plant: Box::new(Plant {
            file: Some(PlantFile { name: "made-up.toml".to_owned(), sha256: [0; 32] }),
            ..Plant::assumed()
        }),
    }
}

impl Specimen {
    fn samples(&self) -> usize {
        self.parts.valve.len()
    }

    /// Milliseconds from sample to sample.
    pub fn every(mut self, milliseconds: i64) -> Self {
        self.every = milliseconds;
        self
    }

    /// The step after one sample is of another length.
    pub fn step(mut self, sample: usize, milliseconds: i64) -> Self {
        self.steps.push((sample, milliseconds));
        self
    }

    /// The holding temperature.
    pub fn holding(mut self, text: &str) -> Self {
        text.clone_into(&mut self.holding);
        self
    }

    /// Pasteurized minus raw, as the logger recorded it.
    pub fn differential(mut self, text: &str) -> Self {
        text.clone_into(&mut self.differential);
        self
    }

    /// The two pressures instead of their difference.
    pub fn pressures(mut self, raw: &str, pasteurized: &str) -> Self {
        self.pair = Some((raw.to_owned(), pasteurized.to_owned()));
        self
    }

    /// Temperatures in °C, pressures in kPa.
    pub fn metric(mut self) -> Self {
        self.temperature = TemperatureUnit::Celsius;
        self.pressure = PressureUnit::Kilopascal;
        self
    }

    /// Pressures in another unit.
    pub fn pressure_in(mut self, unit: PressureUnit) -> Self {
        self.pressure = unit;
        self
    }

    fn thermometer(&self, text: &str, toward: Toward) -> Channel<TemperatureUnit> {
        channel(self.temperature, text, self.samples(), toward)
    }

    /// The recorder, in the unit of the holding temperature.
    pub fn recorder(mut self, text: &str) -> Self {
        self.parts.recorder_temperature = Some(self.thermometer(text, Toward::Up));
        self
    }

    /// The recorder, in a unit of its own.
    pub fn recorder_in(mut self, unit: TemperatureUnit, text: &str) -> Self {
        self.parts.recorder_temperature = Some(channel(unit, text, self.samples(), Toward::Up));
        self
    }

    /// Raw milk that enters the regenerator.
    pub fn raw(mut self, text: &str) -> Self {
        self.parts.raw_temperature = Some(self.thermometer(text, Toward::Up));
        self
    }

    /// Raw milk that leaves the regenerator.
    pub fn regenerated(mut self, text: &str) -> Self {
        self.parts.regenerated_temperature = Some(self.thermometer(text, Toward::Down));
        self
    }

    /// Hot water to the heater.
    pub fn water(mut self, text: &str) -> Self {
        self.parts.heating_water_temperature = Some(self.thermometer(text, Toward::Down));
        self
    }

    /// Product that leaves the cooler.
    pub fn cooled(mut self, text: &str) -> Self {
        self.parts.cooled_temperature = Some(self.thermometer(text, Toward::Up));
        self
    }

    /// Cleaning solution that comes back.
    pub fn cleaning_return(mut self, text: &str) -> Self {
        self.parts.cleaning_return_temperature = Some(self.thermometer(text, Toward::Down));
        self
    }

    /// The flow in gal/min.
    pub fn flow(mut self, text: &str) -> Self {
        let samples = self.samples();
        self.parts.flow_rate = Some(channel(FlowUnit::GallonPerMinute, text, samples, Toward::Up));
        self
    }

    /// The timing pump: `on`, `off`, or not readable.
    pub fn pump(mut self, text: &str) -> Self {
        self.parts.timing_pump = Some(switches(text, self.samples()));
        self
    }

    /// The booster pump: `on`, `off`, or not readable.
    pub fn booster(mut self, text: &str) -> Self {
        self.parts.booster_pump = Some(switches(text, self.samples()));
        self
    }

    /// The alarms of too high and of too low a flow, as [`Self::pump`].
    pub fn alarms(mut self, high: &str, low: &str) -> Self {
        self.parts.high_flow_alarm = Some(switches(high, self.samples()));
        self.parts.low_flow_alarm = Some(switches(low, self.samples()));
        self
    }

    /// The mode switch of the device, as [`Self::mode`].
    pub fn mode_switch(mut self, text: &str) -> Self {
        self.parts.mode_switch = Some(words(text, self.samples()));
        self
    }

    /// The pressure of the cooling medium, as [`Self::holding`].
    pub fn cooling(mut self, text: &str) -> Self {
        self.parts.cooling_medium_pressure =
            Some(channel(self.pressure, text, self.samples(), Toward::Up));
        self
    }

    /// The leak sensor: `on`, `off`, or not readable.
    pub fn leak(mut self, text: &str) -> Self {
        self.parts.leak_detect = Some(switches(text, self.samples()));
        self
    }

    /// The mode's words.
    pub fn mode(mut self, text: &str) -> Self {
        self.parts.mode = Some(words(text, self.samples()));
        self
    }

    /// The products.
    pub fn product(mut self, text: &str) -> Self {
        self.parts.product = Some(words(text, self.samples()));
        self
    }

    /// The lots.
    pub fn lot(mut self, text: &str) -> Self {
        self.parts.lot = Some(words(text, self.samples()));
        self
    }

    /// A run of the run sheet: from, to (milliseconds), product, lot, tank.
    pub fn run(mut self, (from, to): (i64, i64), product: &str, lot: &str, tank: &str) -> Self {
        self.sheet.push(SheetRun {
            interval: span(from, to),
            product: product.to_owned(),
            lot: lot.to_owned(),
            tank: tank.to_owned(),
            quantity: None,
            emptied: None,
            line: self.sheet.len() as u64 + 2,
        });
        self
    }

    /// The quantity in gallons that the sheet states of its last run.
    pub fn stated(mut self, gallons: &str) -> Self {
        if let (Some(run), Ok(value)) = (self.sheet.last_mut(), gallons.parse()) {
            run.quantity = Some((value, VolumeUnit::Gallon));
        }
        self
    }

    /// The lot of all rows without a place.
    pub fn unplaced_lot(mut self, lot: &str) -> Self {
        for row in self.parts.unplaced.iter_mut().flat_map(|group| &mut group.rows) {
            lot.clone_into(&mut row.lot);
        }
        self
    }

    /// Rows without a place between two instants: position, °F, psi and product of each.
    pub fn unplaced(mut self, interval: Interval, rows: &[(&str, &str, &str, &str)]) -> Self {
        let row = |(sample, &(valve, degrees, pressure, product)): (usize, &(_, _, _, &str))| {
            UnplacedRow {
                valve: position(valve),
                temperature: reading(degrees, sample),
                differential: reading(pressure, sample),
                product: product.to_owned(),
                lot: String::new(),
            }
        };
        self.parts.unplaced.push(Unplaced {
            interval,
            position: SourcePosition { file: "day.csv".into(), line: 2 },
            rows: rows.iter().enumerate().map(row).collect(),
        });
        self
    }

    /// A span that two passes of a clock claim.
    pub fn double(mut self, interval: Interval) -> Self {
        self.parts.double_spans.push(interval);
        self
    }

    /// Settings of the plant.
    pub fn set(mut self, change: impl FnOnce(&mut Plant)) -> Self {
        change(&mut self.plant);
        self
    }

    /// What somebody entered of a minute that begins after so many seconds; no reading is words.
    pub fn entry(mut self, seconds: i64, kind: EntryKind, reading: &str) -> Self {
        let reading =
            reading.parse().ok().map(|value: Decimal| (value, TemperatureUnit::Fahrenheit));
        self.entries.push(OperatorEntry {
            at: at(seconds * 1000),
            to_the_minute: true,
            kind,
            reading,
            by: "somebody".to_owned(),
            note: if reading.is_some() { String::new() } else { "as seen".to_owned() },
            line: self.entries.len() as u64 + 2,
        });
        self
    }

    /// The plant's products, each with its built-in row; the first is the default.
    pub fn products(self, products: &[(&str, &str)]) -> Self {
        let mut products =
            products.iter().map(|(name, key)| Product::from_row(*name, built_in(key)));
        let Some(first) = products.next() else { return self };
        let others = products.collect();
        self.set(|plant| plant.products = Products::new(first, others, 0))
    }

    /// A tube that was tested on the first day, at a flow in gal/min.
    pub fn tube(self, flow: i64, milliseconds: i64) -> Self {
        let certificate = Certificate {
            test_flow: Flow { value: Decimal::whole(flow), unit: FlowUnit::GallonPerMinute },
            test_time: Duration::from_milliseconds(milliseconds),
            tested_on: Some("1970-01-01".to_owned()),
            tested_by: None,
        };
        self.set(|plant| plant.tube = Some(plant::Tube::Certified(certificate)))
    }

    /// The record and its plant.
    pub fn finish(mut self) -> (RunRecord, Plant) {
        let samples = self.samples();
        let mut next = 0;
        for sample in 0..samples {
            self.parts.instants.push(at(next));
            let own = self.steps.iter().find(|(after, _)| *after == sample);
            next += own.map_or(self.every, |&(_, step)| step);
        }
        self.parts.holding_temperature =
            channel(self.temperature, &self.holding, samples, Toward::Down);
        let pressure = |text: &str, toward| channel(self.pressure, text, samples, toward);
        self.parts.differential = match &self.pair {
            Some((raw, pasteurized)) => Differential::Pair {
                raw: pressure(raw, Toward::Up),
                pasteurized: pressure(pasteurized, Toward::Down),
            },
            None => Differential::Direct(pressure(&self.differential, Toward::Down)),
        };
        let record = match RunRecord::new(*self.parts) {
            Ok(record) => record,
            Err(error) => panic!("{error}"),
        };
        let record = if self.sheet.is_empty() {
            record
        } else {
            let source =
                SourceFile { name: "sheet.csv".into(), bytes: 0, rows: 0, sha256: [0; 32] };
            record.with_run_sheet(RunSheet::new(source, self.sheet))
        };
        let record = if self.entries.is_empty() {
            record
        } else {
            let source =
                SourceFile { name: "entries.csv".into(), bytes: 0, rows: 0, sha256: [0; 32] };
            record.with_operator_entries(OperatorEntries::new(source, self.entries))
        };
        (record, *self.plant)
    }

    /// The audit of the day.
    pub fn audit(self) -> Audit {
        let (record, plant) = self.finish();
        audit(&record, &plant, Vec::new())
    }
}

/// The built-in row with that key.
pub(crate) fn built_in(key: &str) -> &'static Row {
    match row(key) {
        Some(row) => row,
        None => panic!("no row {key}"),
    }
}

/// The audit's only exception.
pub(crate) fn only(audit: &Audit) -> &Exception {
    match audit.exceptions.as_slice() {
        [one] => one,
        others => panic!("{} exceptions: {others:#?}", others.len()),
    }
}

/// Rule, causes and first and last sample of each exception: `temperature short 2..3`.
pub(crate) fn told(audit: &Audit) -> Vec<String> {
    let one = |found: &Exception| {
        let causes: Vec<&str> = found.causes.iter().map(|cause| cause.key()).collect();
        let (first, last) = found.samples;
        format!("{} {} {first}..{last}", found.rule.key(), causes.join("+"))
    };
    audit.exceptions.iter().map(one).collect()
}

/// The observations of one kind; all of the audit carry figures as their kinds define them.
pub(crate) fn seen<'a>(audit: &'a Audit, key: &str) -> Vec<&'a Observation> {
    for one in &audit.observations {
        assert!(one.is_as_defined(), "a figure that its kind does not define: {one:?}");
    }
    audit.observations.iter().filter(|one| one.kind.key() == key).collect()
}

/// From, to (milliseconds), count and figures of each observation of one kind, in words:
/// `1000..4000 n=4 least=1.5 psi limit=2 psi`.
pub(crate) fn observed(audit: &Audit, key: &str) -> Vec<String> {
    seen(audit, key).into_iter().map(in_words).collect()
}

fn in_words(one: &Observation) -> String {
    let when = one.interval.map_or_else(
        || "no time".to_owned(),
        |interval| {
            let (from, to) = (interval.start(), interval.end());
            format!("{}..{}", from.unix_milliseconds(), to.unix_milliseconds())
        },
    );
    let mut words = vec![when, format!("n={}", one.count)];
    words.extend(
        one.figures
            .iter()
            .map(|figure| format!("{}={}", figure.name, value_in_words(&figure.value))),
    );
    words.join(" ")
}

fn value_in_words(value: &Value) -> String {
    match value {
        Value::Temperature(value, unit) => format!("{value} {}", unit.symbol()),
        Value::TemperatureDifference(value, unit) => format!("{value} {} apart", unit.symbol()),
        Value::Pressure(value, unit) => format!("{value} {}", unit.symbol()),
        Value::Flow(value, unit) => format!("{value} {}", unit.symbol()),
        Value::Volume(value, unit) => format!("{value} {}", unit.symbol()),
        Value::Time(time) => format!("{} ms", time.milliseconds()),
        Value::At(instant) => format!("at {}", instant.unix_milliseconds()),
        Value::Count(count) => count.to_string(),
        Value::Percent(value) => format!("{value} %"),
        Value::Word(word) => format!("{word:?}"),
        Value::Place(place) => format!("{}:{}", place.file, place.line),
    }
}
