//! The day that is played: what the operators do, and what breaks.

use chrono::NaiveDateTime;
use trace::{Duration, Role};

/// A scripted day.
#[derive(Debug, Clone, PartialEq)]
pub struct Script {
    /// The first sample on the plant's clock; the first of two in the repeated autumn hour.
    pub start: NaiveDateTime,
    /// From the first sample to the last.
    pub duration: Duration,
    /// From one sample to the next, a multiple of 100 ms.
    pub sample_interval: Duration,
    /// What the operators do, each at its time after the start.
    pub steps: Vec<(Duration, Step)>,
    /// What breaks.
    pub faults: Vec<Fault>,
    /// By how much of its clean value the resistance of the plates grows in an hour of product;
    /// 0.0 for plates that stay clean.
    pub fouling_per_hour: f64,
}

/// Something that the operators do. The line is on water and diverted, pumps off, before the first.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Step {
    /// Starts the timing pump and the heating, on water.
    Start,
    /// Sets the heating for a product that will follow, some minutes before it does.
    HeatFor {
        /// Its name in the plant file.
        product: String,
    },
    /// Feeds the product from now on, and names it in the record.
    Product {
        /// Its name in the plant file.
        name: String,
        /// The lot.
        lot: String,
    },
    /// Feeds water from now on; a cleaning ends with it.
    Water,
    /// Diverts the device, holds it there and circulates cleaning solution. Behind [`Step::Water`].
    Cleaning,
    /// Stops pumps and heating.
    Stop,
    /// Diverts the device with its mode switch, and holds it there.
    DivertByHand,
    /// Gives the device back to its controls.
    Automatic,
}

/// Something that breaks for a while.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// When, after the start.
    pub from: Duration,
    /// How long.
    pub lasts: Duration,
    /// What.
    pub kind: FaultKind,
}

/// What heats or cools the product behind plates.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Medium {
    /// The hot water of the heater.
    Heating,
    /// The chilled water of the cooler.
    Cooling,
}

impl Medium {
    /// Both.
    pub const ALL: [Self; 2] = [Self::Heating, Self::Cooling];

    /// The column that records its pressure.
    pub const fn role(self) -> Role {
        match self {
            Self::Heating => Role::HeatingMediumPressure,
            Self::Cooling => Role::CoolingMediumPressure,
        }
    }
}

/// What breaks.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum FaultKind {
    /// No steam: the hot water cools slowly.
    SteamLost,
    /// The hot water pump trips: the heater stops heating within seconds.
    HeatingWaterLost,
    /// The flow diversion device, once forward, stays there.
    ValveStuckForward,
    /// Product downstream is drawn faster than it comes: the pressure behind the regenerator falls.
    BackPressureLost,
    /// The booster pump runs on whatever the pressures are.
    BoosterInterlockBypassed,
    /// The timing pump runs too fast.
    FlowSurge {
        /// The flow that it reaches, in US gallons a minute.
        gallons_per_minute: u8,
    },
    /// The timing pump runs too slowly.
    PumpSlow {
        /// The flow that it reaches, in US gallons a minute.
        gallons_per_minute: u8,
    },
    /// The flow alarms do not divert the device.
    FlowAlarmFailed,
    /// The indicating thermometer reads higher and higher, and heating and flow diversion device
    /// follow it: the milk gets colder while the reading stays where it was.
    ThermometerDrifts {
        /// By how much it reads higher after an hour, in tenths of a °F.
        tenths_per_hour: u8,
    },
    /// The logger gets nothing from a sensor and writes a text in its place.
    Dropout {
        /// Which column.
        role: Role,
        /// What it writes: nothing, `BAD`, `-999.9`, …
        text: &'static str,
    },
    /// The device diverts though nothing asks it to, as with a loose wire.
    DivertsUnasked,
    /// Cold water leaks into the cleaning solution on its way back.
    ReturnLeaks,
    /// A valve behind a section closes, and the pressure of the medium in it rises.
    MediumThrottled {
        /// In which section.
        medium: Medium,
        /// The pressure that it reaches, psi.
        psi: u8,
    },
    /// The logger writes no rows.
    LoggerStopped,
}

impl Fault {
    /// Whether the fault is there at a time after the start; its end is not part of it.
    pub fn is_active(&self, time: Duration) -> bool {
        self.from <= time && time < self.from + self.lasts
    }
}
