//! What a column of a logger file stands for.

use crate::decimal::Toward;

/// The role that a column plays in the audit (method, section 1).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Role {
    /// Position of the flow diversion device, as a word.
    Valve,
    /// Limit switch: the device is in forward flow.
    ValveForward,
    /// Limit switch: the device is diverted.
    ValveDivert,
    /// Indicating thermometer at the outlet of the holding tube.
    HoldingTemperature,
    /// Regenerator, raw side.
    RawPressure,
    /// Regenerator, pasteurized side.
    PasteurizedPressure,
    /// Pasteurized minus raw, where the logger records the difference itself.
    DifferentialPressure,
    /// Recording thermometer at the same place as the indicating one.
    RecorderTemperature,
    /// Flow meter before the heater.
    FlowRate,
    /// Raw milk that enters the regenerator.
    RawTemperature,
    /// Raw milk that leaves the regenerator.
    RegeneratedTemperature,
    /// Hot water to the heater section.
    HeatingWaterTemperature,
    /// Product that leaves the cooler.
    CooledTemperature,
    /// Cleaning solution that comes back from the line.
    CleaningReturnTemperature,
    /// The pressure of the medium that heats the product.
    HeatingMediumPressure,
    /// The pressure of the medium that cools the product.
    CoolingMediumPressure,
    /// Leak-detect valve or leak sensor.
    LeakDetect,
    /// The timing pump runs or stands.
    TimingPump,
    /// The booster pump runs or stands.
    BoosterPump,
    /// The alarm of too high a flow.
    HighFlowAlarm,
    /// The alarm of too low a flow, or of a lost signal.
    LowFlowAlarm,
    /// Name of the product.
    Product,
    /// Lot of the product.
    Lot,
    /// Production, water or cleaning.
    Mode,
    /// The position of the mode switch of the flow diversion device.
    ModeSwitch,
}

/// What kind of thing a role's column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Quantity {
    /// Readings in °F or °C.
    Temperature,
    /// Readings in psi, kPa, bar, …
    Pressure,
    /// Readings in L/h, gal/min, …
    Flow,
    /// Words that stand for a state.
    State,
    /// Free text.
    Text,
}

impl Role {
    /// The roles that are on or off, but for the position switches of the device.
    pub const SWITCHES: [Self; 5] = [
        Self::LeakDetect,
        Self::TimingPump,
        Self::BoosterPump,
        Self::HighFlowAlarm,
        Self::LowFlowAlarm,
    ];
    /// The roles that hold words.
    pub const TEXTS: [Self; 4] = [Self::Product, Self::Lot, Self::Mode, Self::ModeSwitch];

    /// All roles, in the order of the method.
    pub const ALL: [Self; 25] = [
        Self::Valve,
        Self::ValveForward,
        Self::ValveDivert,
        Self::HoldingTemperature,
        Self::RawPressure,
        Self::PasteurizedPressure,
        Self::DifferentialPressure,
        Self::RecorderTemperature,
        Self::FlowRate,
        Self::RawTemperature,
        Self::RegeneratedTemperature,
        Self::HeatingWaterTemperature,
        Self::CooledTemperature,
        Self::CleaningReturnTemperature,
        Self::HeatingMediumPressure,
        Self::CoolingMediumPressure,
        Self::LeakDetect,
        Self::TimingPump,
        Self::BoosterPump,
        Self::HighFlowAlarm,
        Self::LowFlowAlarm,
        Self::Product,
        Self::Lot,
        Self::Mode,
        Self::ModeSwitch,
    ];

    /// The key in plant files, JSON and messages.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Valve => "valve",
            Self::ValveForward => "valve_forward",
            Self::ValveDivert => "valve_divert",
            Self::HoldingTemperature => "holding_temperature",
            Self::RawPressure => "raw_pressure",
            Self::PasteurizedPressure => "pasteurized_pressure",
            Self::DifferentialPressure => "differential_pressure",
            Self::RecorderTemperature => "recorder_temperature",
            Self::FlowRate => "flow_rate",
            Self::RawTemperature => "raw_temperature",
            Self::RegeneratedTemperature => "regenerated_temperature",
            Self::HeatingWaterTemperature => "heating_water_temperature",
            Self::CooledTemperature => "cooled_temperature",
            Self::CleaningReturnTemperature => "cleaning_return_temperature",
            Self::LeakDetect => "leak_detect",
            Self::HeatingMediumPressure => "heating_medium_pressure",
            Self::CoolingMediumPressure => "cooling_medium_pressure",
            Self::TimingPump => "timing_pump",
            Self::BoosterPump => "booster_pump",
            Self::HighFlowAlarm => "high_flow_alarm",
            Self::LowFlowAlarm => "low_flow_alarm",
            Self::ModeSwitch => "mode_switch",
            Self::Product => "product",
            Self::Lot => "lot",
            Self::Mode => "mode",
        }
    }

    /// The name for a person, in lower case.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Valve => "flow diversion device",
            Self::ValveForward => "forward position switch",
            Self::ValveDivert => "divert position switch",
            Self::HoldingTemperature => "holding temperature",
            Self::RawPressure => "raw pressure",
            Self::PasteurizedPressure => "pasteurized pressure",
            Self::DifferentialPressure => "differential pressure",
            Self::RecorderTemperature => "recorder temperature",
            Self::FlowRate => "flow",
            Self::RawTemperature => "raw milk temperature",
            Self::RegeneratedTemperature => "regenerated milk temperature",
            Self::HeatingWaterTemperature => "heating water temperature",
            Self::CooledTemperature => "cooled product temperature",
            Self::CleaningReturnTemperature => "CIP return temperature",
            Self::LeakDetect => "leak detect",
            Self::HeatingMediumPressure => "heating medium pressure",
            Self::CoolingMediumPressure => "cooling medium pressure",
            Self::TimingPump => "timing pump",
            Self::BoosterPump => "booster pump",
            Self::HighFlowAlarm => "high-flow alarm",
            Self::LowFlowAlarm => "low-flow alarm",
            Self::ModeSwitch => "mode switch",
            Self::Product => "product",
            Self::Lot => "lot",
            Self::Mode => "mode",
        }
    }

    /// The side that is worse for the consumer: where a reading with more digits than fit is cut to,
    /// and which of two readings of one instant is kept.
    pub const fn worse(self) -> Toward {
        match self {
            Self::RawPressure
            | Self::FlowRate
            | Self::RawTemperature
            | Self::CooledTemperature
            | Self::HeatingMediumPressure
            | Self::CoolingMediumPressure => Toward::Up,
            _ => Toward::Down,
        }
    }

    /// What the column holds.
    pub const fn quantity(self) -> Quantity {
        match self {
            Self::Valve
            | Self::ValveForward
            | Self::ValveDivert
            | Self::LeakDetect
            | Self::TimingPump
            | Self::BoosterPump
            | Self::HighFlowAlarm
            | Self::LowFlowAlarm => Quantity::State,
            Self::HoldingTemperature
            | Self::RecorderTemperature
            | Self::RawTemperature
            | Self::RegeneratedTemperature
            | Self::HeatingWaterTemperature
            | Self::CooledTemperature
            | Self::CleaningReturnTemperature => Quantity::Temperature,
            Self::RawPressure
            | Self::PasteurizedPressure
            | Self::DifferentialPressure
            | Self::HeatingMediumPressure
            | Self::CoolingMediumPressure => Quantity::Pressure,
            Self::FlowRate => Quantity::Flow,
            Self::Product | Self::Lot | Self::Mode | Self::ModeSwitch => Quantity::Text,
        }
    }
}
