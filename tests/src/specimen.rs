//! Made-up records that look for trouble, as rows of cells: what one is, the record that it stands
//! for, how it is told, and how it is made smaller. `maker` makes them up.

use crate::maker;
use plant::{AnyUnit, Plant};
use std::fmt;
use trace::{
    Channel, Decimal, Differential, Duration, FlowUnit, Instant, Interval, OperatorEntries,
    OperatorEntry, PressureUnit, Reading, Role, RunRecord, RunRecordParts, RunSheet, SheetRun,
    SourceFile, SourcePosition, TemperatureUnit, TextChannel, Unplaced, UnplacedRow, ValveState,
    VolumeUnit,
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
    /// Raw milk that enters the regenerator.
    pub raw_temperature: Reading,
    /// Raw milk that leaves it.
    pub regenerated: Reading,
    /// Hot water to the heater.
    pub heating_water: Reading,
    /// Product that leaves the cooler.
    pub cooled: Reading,
    /// The leak sensor.
    pub leak: Option<bool>,
    /// The timing pump.
    pub pump: Option<bool>,
    /// The product.
    pub product: &'static str,
    /// The lot.
    pub lot: &'static str,
    /// The mode.
    pub mode: &'static str,
    /// What else stands beside the line.
    pub equipment: Equipment,
}

/// What else stands beside the line.
#[derive(Debug, Clone, Copy)]
pub struct Equipment {
    /// The booster pump.
    pub booster: Option<bool>,
    /// The high-flow and the low-flow alarm.
    pub alarms: [Option<bool>; 2],
    /// The mode switch of the device.
    pub switch: &'static str,
    /// The pressures of the heating and of the cooling medium.
    pub media: [Reading; 2],
    /// Cleaning solution that comes back.
    pub cleaning_return: Reading,
}

impl Equipment {
    /// Nothing was read.
    pub const NONE: Self = Self {
        booster: None,
        alarms: [None; 2],
        switch: "",
        media: [Reading::Invalid(trace::Invalid::Blank); 2],
        cleaning_return: Reading::Invalid(trace::Invalid::Blank),
    };
}

/// Which channels a specimen has, and their units.
#[expect(clippy::struct_excessive_bools, reason = "each channel is there or not, on its own")]
#[derive(Debug, Clone, Copy)]
pub struct Layout {
    /// Of the holding temperature.
    pub temperature: TemperatureUnit,
    /// Of the other temperatures.
    pub other_temperatures: TemperatureUnit,
    /// Of the pressures.
    pub pressure: PressureUnit,
    /// Whether raw and pasteurized pressure are recorded, not their difference.
    pub pair: bool,
    /// Whether there is a recorder.
    pub recorder: bool,
    /// The flow meter, if there is one.
    pub flow: Option<FlowUnit>,
    /// Whether the raw milk's temperature is recorded.
    pub raw_temperature: bool,
    /// Whether the regenerated milk's temperature is recorded.
    pub regenerated: bool,
    /// Whether the heating water's temperature is recorded.
    pub heating_water: bool,
    /// Whether the cooled product's temperature is recorded.
    pub cooled: bool,
    /// Whether there is a leak sensor.
    pub leak: bool,
    /// Whether the timing pump is recorded.
    pub pump: bool,
    /// Whether there are product names.
    pub product: bool,
    /// Whether there are lots.
    pub lot: bool,
    /// Whether there are modes.
    pub mode: bool,
    /// Whether booster pump, alarms, mode switch and media are recorded; the unit of the media.
    pub equipment: Option<PressureUnit>,
    /// Whether the temperature of the cleaning solution that comes back is recorded.
    pub cleaning_return: bool,
}

impl Layout {
    /// The needed channels only, the differential as such.
    pub const fn plain(temperature: TemperatureUnit, pressure: PressureUnit) -> Self {
        Self {
            temperature,
            other_temperatures: temperature,
            pressure,
            pair: false,
            recorder: false,
            flow: None,
            raw_temperature: false,
            regenerated: false,
            heating_water: false,
            cooled: false,
            leak: false,
            pump: false,
            product: false,
            lot: false,
            mode: false,
            equipment: None,
            cleaning_return: false,
        }
    }
}

/// Rows without a place in time; they lie between two samples, or at the border of the record.
#[derive(Debug, Clone)]
pub struct Lost {
    /// When the sample before was taken, after the start.
    pub from: i64,
    /// When the sample after was taken.
    pub to: i64,
    /// Valve, temperature, differential, and product and lot of each.
    pub rows: Vec<(ValveState, Reading, Reading, [&'static str; 2])>,
}

/// One run of a run sheet.
#[derive(Debug, Clone)]
pub struct Written {
    /// When it begins, after the start.
    pub from: i64,
    /// When it has ended.
    pub to: i64,
    /// Product, lot and tank.
    pub words: [&'static str; 3],
    /// The quantity in tenths of a gallon.
    pub quantity: Option<i64>,
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
    /// Its rows without a place.
    pub lost: Vec<Lost>,
    /// Its double spans, after the start.
    pub doubles: Vec<(i64, i64)>,
    /// Its run sheet, if it has one.
    pub sheet: Option<Vec<Written>>,
    /// What its operator wrote down.
    pub entries: Vec<OperatorEntry>,
}

fn told(reading: Reading) -> String {
    match reading {
        Reading::Valid(value) => value.to_string(),
        Reading::Invalid(reason) => reason.name().to_owned(),
    }
}

fn on_or_off(state: Option<bool>) -> &'static str {
    match state {
        Some(true) => "on",
        Some(false) => "off",
        None => "?",
    }
}

impl fmt::Display for Specimen {
    /// Short enough to be read when two audits differ.
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (layout, plant) = (self.layout, &self.plant);
        writeln!(formatter, "{layout:?}")?;
        writeln!(formatter, "nominal flow {:?}, tube {:?}", plant.nominal_flow, plant.tube)?;
        for product in plant.products.iter() {
            writeln!(
                formatter,
                "{:?}: {:?}, {}, factor {}, {:?}, may leave warm {}, judged by recorder {}",
                product.name,
                product.limit,
                product.minimum_time,
                product.factor,
                product.family,
                product.cooled_exempt,
                product.judged_by_recorder,
            )?;
        }
        let name = &plant.products.default_product().name;
        writeln!(formatter, "default {name:?}, plant file {}", !plant.is_assumed())?;
        let limits = &plant.limits;
        let optional = |time: Option<Duration>| time.map(Duration::milliseconds);
        writeln!(
            formatter,
            "differential {:?} (at all times {}), gap {:?}, response {}, merge {}, travel {}, \
             frozen {:?}, repeated {}, diverted hole {}, low flow {:?}, recorder {:?}, \
             regeneration {:?}, interval {}, {:?}",
            limits.differential,
            limits.differential_at_all_times,
            optional(limits.gap),
            limits.response_allowance.milliseconds(),
            limits.merge_time.milliseconds(),
            limits.travel_allowance.milliseconds(),
            optional(limits.frozen),
            limits.repeated_after.milliseconds(),
            limits.diverted_hole.milliseconds(),
            limits.low_flow,
            limits.recorder_difference,
            limits.regeneration_minimum,
            limits.record_interval.milliseconds(),
            (self.plant.cleaning, self.plant.amount_tolerance),
        )?;
        writeln!(formatter, "start {}, doubles {:?}", self.start, self.doubles)?;
        for lost in &self.lost {
            writeln!(formatter, "unplaced {lost:?}")?;
        }
        for run in self.sheet.iter().flatten() {
            writeln!(formatter, "sheet {run:?}")?;
        }
        for entry in &self.entries {
            writeln!(formatter, "{entry:?}")?;
        }
        let mut at = 0;
        for (index, row) in self.rows.iter().enumerate() {
            at += row.step;
            write!(
                formatter,
                "{index} at {at}: {}, {} deg, {}",
                row.valve.name(),
                told(row.temperature),
                told(row.pressure)
            )?;
            for (there, name, reading) in [
                (layout.pair, "pasteurized", row.pasteurized),
                (layout.recorder, "recorder", row.recorder),
                (layout.flow.is_some(), "flow", row.flow),
                (layout.raw_temperature, "raw", row.raw_temperature),
                (layout.regenerated, "regenerated", row.regenerated),
                (layout.heating_water, "water", row.heating_water),
                (layout.cooled, "cooled", row.cooled),
            ] {
                if there {
                    write!(formatter, ", {name} {}", told(reading))?;
                }
            }
            for (there, name, state) in
                [(layout.leak, "leak", row.leak), (layout.pump, "pump", row.pump)]
            {
                if there {
                    write!(formatter, ", {name} {}", on_or_off(state))?;
                }
            }
            if layout.equipment.is_some() || layout.cleaning_return {
                write!(formatter, ", {:?}", row.equipment)?;
            }
            for (there, word) in
                [(layout.product, row.product), (layout.lot, row.lot), (layout.mode, row.mode)]
            {
                if there {
                    write!(formatter, ", {word:?}")?;
                }
            }
            writeln!(formatter)?;
        }
        Ok(())
    }
}

impl Specimen {
    /// A specimen of these rows, and nothing beside them.
    pub const fn plain(start: i64, layout: Layout, plant: Plant, rows: Vec<Row>) -> Self {
        Self {
            start,
            layout,
            plant,
            rows,
            lost: Vec::new(),
            doubles: Vec::new(),
            sheet: None,
            entries: Vec::new(),
        }
    }

    /// The specimen of a seed.
    pub fn new(seed: u64) -> Self {
        maker::make(seed)
    }

    /// When each sample was taken.
    pub fn instants(&self) -> Vec<i64> {
        let mut at = self.start;
        let one = |row: &Row| {
            at += row.step;
            at
        };
        self.rows.iter().map(one).collect()
    }

    /// The record that it stands for.
    ///
    /// # Panics
    /// Never for a specimen with at least one row.
    pub fn record(&self) -> RunRecord {
        let layout = self.layout;
        let temperatures = |role: Role| {
            let unit = if role == Role::HoldingTemperature {
                layout.temperature
            } else {
                layout.other_temperatures
            };
            Channel::new(unit, AnyUnit::Temperature(unit).physical_range(role), role.worse())
        };
        let pressures = |role: Role| {
            let range = AnyUnit::Pressure(layout.pressure).physical_range(role);
            Channel::new(layout.pressure, range, role.worse())
        };
        let mut temperature = temperatures(Role::HoldingTemperature);
        let mut recorder = temperatures(Role::RecorderTemperature);
        let mut raw_temperature = temperatures(Role::RawTemperature);
        let mut regenerated = temperatures(Role::RegeneratedTemperature);
        let mut heating_water = temperatures(Role::HeatingWaterTemperature);
        let mut cooled = temperatures(Role::CooledTemperature);
        let mut cleaning_return = temperatures(Role::CleaningReturnTemperature);
        let mut raw = pressures(Role::RawPressure);
        let mut pasteurized = pressures(Role::PasteurizedPressure);
        let mut direct = pressures(Role::DifferentialPressure);
        let mut flow = layout.flow.map(|unit| {
            let role = Role::FlowRate;
            Channel::new(unit, AnyUnit::Flow(unit).physical_range(role), role.worse())
        });
        let mut media = [Role::HeatingMediumPressure, Role::CoolingMediumPressure].map(|role| {
            let unit = layout.equipment.unwrap_or(layout.pressure);
            Channel::new(unit, AnyUnit::Pressure(unit).physical_range(role), role.worse())
        });
        let mut switch = TextChannel::new();
        let (mut product, mut lot, mut mode) =
            (TextChannel::new(), TextChannel::new(), TextChannel::new());
        for row in &self.rows {
            temperature.push(row.temperature);
            recorder.push(row.recorder);
            raw_temperature.push(row.raw_temperature);
            regenerated.push(row.regenerated);
            heating_water.push(row.heating_water);
            cooled.push(row.cooled);
            cleaning_return.push(row.equipment.cleaning_return);
            raw.push(row.pressure);
            direct.push(row.pressure);
            pasteurized.push(row.pasteurized);
            if let Some(flow) = &mut flow {
                flow.push(row.flow);
            }
            product.push(row.product);
            lot.push(row.lot);
            mode.push(row.mode);
            switch.push(row.equipment.switch);
            for (medium, reading) in media.iter_mut().zip(row.equipment.media) {
                medium.push(reading);
            }
        }
        let [heating_medium, cooling_medium] = media;
        let is_equipped = layout.equipment.is_some();
        let states = |state: fn(&Row) -> Option<bool>| self.rows.iter().map(state).collect();
        let instants = self.instants();
        let parts = RunRecordParts {
            unit: self.plant.unit.clone(),
            sources: Vec::new(),
            instants: instants.iter().copied().map(Instant::from_unix_milliseconds).collect(),
            valve: self.rows.iter().map(|row| row.valve).collect(),
            holding_temperature: temperature,
            differential: if layout.pair {
                Differential::Pair { raw, pasteurized }
            } else {
                Differential::Direct(direct)
            },
            recorder_temperature: layout.recorder.then_some(recorder),
            flow_rate: flow,
            raw_temperature: layout.raw_temperature.then_some(raw_temperature),
            regenerated_temperature: layout.regenerated.then_some(regenerated),
            heating_water_temperature: layout.heating_water.then_some(heating_water),
            cooled_temperature: layout.cooled.then_some(cooled),
            cleaning_return_temperature: layout.cleaning_return.then_some(cleaning_return),
            leak_detect: layout.leak.then(|| states(|row| row.leak)),
            heating_medium_pressure: is_equipped.then_some(heating_medium),
            cooling_medium_pressure: is_equipped.then_some(cooling_medium),
            timing_pump: layout.pump.then(|| states(|row| row.pump)),
            booster_pump: is_equipped.then(|| states(|row| row.equipment.booster)),
            high_flow_alarm: is_equipped.then(|| states(|row| row.equipment.alarms[0])),
            low_flow_alarm: is_equipped.then(|| states(|row| row.equipment.alarms[1])),
            product: layout.product.then_some(product),
            lot: layout.lot.then_some(lot),
            mode: layout.mode.then_some(mode),
            mode_switch: is_equipped.then_some(switch),
            unplaced: self.unplaced(&instants),
            double_spans: self.double_spans(&instants),
        };
        let record =
            RunRecord::new(parts).unwrap_or_else(|error| panic!("a specimen is a record: {error}"));
        let record = match &self.sheet {
            Some(runs) => record.with_run_sheet(self.run_sheet(runs)),
            None => record,
        };
        if self.entries.is_empty() {
            return record;
        }
        let source =
            SourceFile { name: "made-up.entries.csv".into(), bytes: 0, rows: 0, sha256: [0; 32] };
        record.with_operator_entries(OperatorEntries::new(source, self.entries.clone()))
    }

    fn interval(from: i64, to: i64) -> Interval {
        let at = Instant::from_unix_milliseconds;
        Interval::between(at(from), at(to))
    }

    /// From the sample before to the sample after, whatever samples are left.
    fn unplaced(&self, instants: &[i64]) -> Vec<Unplaced> {
        let mut unplaced = Vec::new();
        for lost in &self.lost {
            let (from, to) = (self.start + lost.from, self.start + lost.to);
            let before = instants.iter().copied().rfind(|&at| at <= from);
            let after = instants.iter().copied().find(|&at| at >= to);
            let (Some(&first), Some(&last)) = (instants.first(), instants.last()) else { continue };
            let rows = lost.rows.iter().map(|&(valve, temperature, differential, words)| {
                let [product, lot] = words.map(str::to_owned);
                UnplacedRow { valve, temperature, differential, product, lot }
            });
            unplaced.push(Unplaced {
                interval: Self::interval(before.unwrap_or(first), after.unwrap_or(last)),
                position: SourcePosition { file: "made-up.csv".into(), line: 1 },
                rows: rows.collect(),
            });
        }
        unplaced.sort_by_key(|unplaced| unplaced.interval);
        unplaced
    }

    /// Each ends with the last sample of an earlier pass; two that touch are one.
    fn double_spans(&self, instants: &[i64]) -> Vec<Interval> {
        let mut spans: Vec<(i64, i64)> = Vec::new();
        for (from, to) in &self.doubles {
            let (from, to) = (self.start + from, self.start + to);
            let end = instants.iter().copied().rfind(|&at| at <= to);
            let (Some(end), Some(&first)) = (end, instants.first()) else { continue };
            if from.max(first) <= end {
                spans.push((from.max(first), end));
            }
        }
        spans.sort_unstable();
        let mut apart: Vec<(i64, i64)> = Vec::new();
        for span in spans {
            match apart.last_mut() {
                Some(last) if span.0 <= last.1 => last.1 = last.1.max(span.1),
                _ => apart.push(span),
            }
        }
        apart.into_iter().map(|(from, to)| Self::interval(from, to)).collect()
    }

    fn run_sheet(&self, runs: &[Written]) -> RunSheet {
        let name = "made-up-sheet.csv".into();
        let source = SourceFile { name, bytes: 0, rows: runs.len() as u64, sha256: [0; 32] };
        let one = |(line, run): (usize, &Written)| SheetRun {
            interval: Self::interval(self.start + run.from, self.start + run.to),
            product: run.words[0].to_owned(),
            lot: run.words[1].to_owned(),
            tank: run.words[2].to_owned(),
            quantity: run.quantity.map(|tenths| (Decimal::new(tenths, 1), VolumeUnit::Gallon)),
            emptied: None,
            line: line as u64 + 2,
        };
        RunSheet::new(source, runs.iter().enumerate().map(one).collect())
    }

    /// The smallest specimen found, by leaving things out, for which `fails` still holds.
    pub fn shrunk(self, fails: impl Fn(&Self) -> bool) -> Self {
        const WITHOUT: [fn(&mut Layout); 13] = [
            |layout| layout.recorder = false,
            |layout| layout.raw_temperature = false,
            |layout| layout.regenerated = false,
            |layout| layout.heating_water = false,
            |layout| layout.cooled = false,
            |layout| layout.leak = false,
            |layout| layout.pump = false,
            |layout| layout.flow = None,
            |layout| layout.product = false,
            |layout| layout.lot = false,
            |layout| layout.mode = false,
            |layout| layout.equipment = None,
            |layout| layout.cleaning_return = false,
        ];
        let mut now = self;
        let attempt = |now: &mut Self, smaller: Self| {
            let still = !smaller.rows.is_empty() && fails(&smaller);
            if still {
                *now = smaller;
            }
            still
        };
        for index in (0..now.lost.len()).rev() {
            let mut smaller = now.clone();
            smaller.lost.remove(index);
            attempt(&mut now, smaller);
        }
        for index in (0..now.doubles.len()).rev() {
            let mut smaller = now.clone();
            smaller.doubles.remove(index);
            attempt(&mut now, smaller);
        }
        for index in (0..now.entries.len()).rev() {
            let mut smaller = now.clone();
            smaller.entries.remove(index);
            attempt(&mut now, smaller);
        }
        let smaller = Self { sheet: None, ..now.clone() };
        attempt(&mut now, smaller);
        for without in WITHOUT {
            let mut smaller = now.clone();
            without(&mut smaller.layout);
            attempt(&mut now, smaller);
        }
        let mut row = 0;
        while row < now.rows.len() {
            let mut smaller = now.clone();
            let left_out = smaller.rows.remove(row);
            if let Some(next) = smaller.rows.get_mut(row) {
                next.step += left_out.step;
            }
            row = if attempt(&mut now, smaller) { 0 } else { row + 1 };
        }
        now
    }
}
