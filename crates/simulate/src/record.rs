//! The written record: what the logger puts into its file.

use crate::noise::Noise;
use crate::process::Process;
use plant::Zone;
use std::sync::Arc;
use trace::{Decimal, Instant, Role};

use crate::truth::Truth;

/// A column of the simulated logger.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Column {
    /// What it stands for.
    pub role: Role,
    /// Its name in the header.
    pub header: &'static str,
    /// Its unit in a units row.
    pub unit: &'static str,
}

/// The name of the column of stamps.
pub const TIME_HEADER: &str = "Time";

const fn column(role: Role, header: &'static str, unit: &'static str) -> Column {
    Column { role, header, unit }
}

/// The columns of the simulated logger, behind the stamp.
pub const COLUMNS: [Column; 13] = [
    column(Role::Valve, "FDD Position", ""),
    column(Role::HoldingTemperature, "Hold Temp (°F)", "°F"),
    column(Role::RecorderTemperature, "Recorder Temp (°F)", "°F"),
    column(Role::RawPressure, "Raw Pressure (psi)", "psi"),
    column(Role::PasteurizedPressure, "Past Pressure (psi)", "psi"),
    column(Role::FlowRate, "Flow (gal/min)", "gal/min"),
    column(Role::RawTemperature, "Raw Temp (°F)", "°F"),
    column(Role::RegeneratedTemperature, "Regen Out (°F)", "°F"),
    column(Role::HeatingWaterTemperature, "Hot Water (°F)", "°F"),
    column(Role::CooledTemperature, "Cooled Temp (°F)", "°F"),
    column(Role::Product, "Product", ""),
    column(Role::Lot, "Lot", ""),
    column(Role::Mode, "Mode", ""),
];

/// One cell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Cell {
    /// A reading.
    Reading(Decimal),
    /// A word, or what the logger writes in place of a reading.
    Word(Arc<str>),
}

/// One row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// When.
    pub instant: Instant,
    /// The cells in the order of [`COLUMNS`].
    pub cells: [Cell; COLUMNS.len()],
    /// What a logger with more inputs writes as well.
    pub beside: Beside,
}

/// What the sample plant's logger does not write: pumps, alarms, mode switch, the return of a cleaning and the
/// pressures of the media.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[expect(clippy::struct_excessive_bools, reason = "each is an input of the logger")]
pub struct Beside {
    /// Whether the timing pump runs.
    pub timing_pump: bool,
    /// Whether the booster pump runs.
    pub booster: bool,
    /// Whether the high-flow alarm is on.
    pub high_flow: bool,
    /// Whether the low-flow alarm is on.
    pub low_flow: bool,
    /// Whether the device is held diverted by hand.
    pub by_hand: bool,
    /// The cleaning solution that comes back, °F.
    pub cleaning_return: Decimal,
    /// The pressures of the heating and of the cooling medium, psi.
    pub media: [Decimal; 2],
}

/// A simulated day.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// The zone of local stamps.
    pub zone: Zone,
    /// The rows in order of time.
    pub rows: Vec<Row>,
    /// What really happened.
    pub truth: Truth,
}

/// A sensor: noise, offset and rounding to a tenth.
#[derive(Debug, Clone)]
struct Sensor {
    noise: Noise,
    deviation: f64,
}

impl Sensor {
    fn read(&mut self, value: f64) -> Decimal {
        let noisy = value + self.deviation * self.noise.bell();
        Decimal::new((noisy * 10.0).round() as i64, 1)
    }
}

/// The numeric readings of one sample, in the order of [`COLUMNS`].
#[derive(Debug, Clone, Copy)]
pub(crate) struct Readings {
    pub holding: Decimal,
    pub recorder: Decimal,
    pub raw_pressure: Decimal,
    pub pasteurized_pressure: Decimal,
    pub flow: Decimal,
    pub raw: Decimal,
    pub regenerated: Decimal,
    pub heating_water: Decimal,
    pub cooled: Decimal,
    pub cleaning_return: Decimal,
    pub media: [Decimal; 2],
}

/// All sensors.
#[derive(Debug, Clone)]
pub(crate) struct Sensors {
    holding: Sensor,
    recorder: Sensor,
    raw_pressure: Sensor,
    pasteurized_pressure: Sensor,
    flow: Sensor,
    raw: Sensor,
    regenerated: Sensor,
    heating_water: Sensor,
    cooled: Sensor,
    cleaning_return: Sensor,
    media: [Sensor; 2],
}

/// The recorder is adjusted to read a little below the indicating thermometer, and never above it:
/// further below than the noise of both reaches.
const RECORDER_OFFSET_F: f64 = -0.4;

impl Sensors {
    pub fn new(seed: u64) -> Self {
        let sensor = |stream, deviation| Sensor { noise: Noise::new(seed, stream), deviation };
        Self {
            holding: sensor(40, 0.05),
            recorder: sensor(41, 0.05),
            raw_pressure: sensor(42, 0.08),
            pasteurized_pressure: sensor(43, 0.08),
            flow: sensor(44, 0.1),
            raw: sensor(45, 0.04),
            regenerated: sensor(46, 0.06),
            heating_water: sensor(47, 0.08),
            cooled: sensor(48, 0.06),
            cleaning_return: sensor(49, 0.06),
            media: [sensor(50, 0.08), sensor(51, 0.08)],
        }
    }

    /// One sample. Each sensor draws its noise whether or not its reading will be written.
    /// The indicating thermometer reads `drift_f` too high.
    pub fn read(&mut self, process: &Process, drift_f: f64) -> Readings {
        Readings {
            holding: self.holding.read(process.holding_f + drift_f),
            recorder: self.recorder.read(process.holding_f + RECORDER_OFFSET_F),
            raw_pressure: self.raw_pressure.read(process.raw_psi),
            pasteurized_pressure: self.pasteurized_pressure.read(process.pasteurized_psi),
            flow: self.flow.read(process.flow_gpm),
            raw: self.raw.read(process.raw_f),
            regenerated: self.regenerated.read(process.regenerated_f),
            heating_water: self.heating_water.read(process.heating_water_f),
            cooled: self.cooled.read(process.cooled_f),
            cleaning_return: self.cleaning_return.read(process.return_f),
            media: {
                let [heating, cooling] = &mut self.media;
                let [of_heating, of_cooling] = process.media_psi;
                [heating.read(of_heating), cooling.read(of_cooling)]
            },
        }
    }
}
