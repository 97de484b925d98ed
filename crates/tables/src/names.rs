//! How the columns of a run record are named: the role's key, and for a reading its unit.

use trace::{ChannelView, FlowUnit, PressureUnit, Role, TemperatureUnit};

/// The name of the pasteurizer, the same in each row, so that days can be put together.
pub(crate) const UNIT: &str = "unit";
/// The instants.
pub(crate) const INSTANT: &str = "instant";

/// The column of a channel's readings: `holding_temperature_degf`.
///
/// The word at the end is one that [`trace::Unit::from_word`] understands.
pub(crate) fn readings(role: Role, channel: ChannelView<'_>) -> String {
    let unit = match channel {
        ChannelView::Temperature(channel) => match channel.unit() {
            TemperatureUnit::Fahrenheit => "degf",
            TemperatureUnit::Celsius => "degc",
        },
        ChannelView::Pressure(channel) => match channel.unit() {
            PressureUnit::Psi => "psi",
            PressureUnit::Kilopascal => "kpa",
            PressureUnit::Bar => "bar",
            PressureUnit::Millibar => "mbar",
            PressureUnit::Megapascal => "mpa",
        },
        ChannelView::Flow(channel) => match channel.unit() {
            FlowUnit::LitrePerHour => "lph",
            FlowUnit::LitrePerMinute => "lpm",
            FlowUnit::CubicMetrePerHour => "cmh",
            FlowUnit::GallonPerMinute => "gpm",
            FlowUnit::GallonPerHour => "gph",
        },
    };
    format!("{}_{unit}", role.key())
}

/// The column that says why readings are invalid; there only if any is.
pub(crate) fn reasons(role: Role) -> String {
    format!("{}_invalid", role.key())
}

/// The column of those readings as text that a binary number can't hold; there only if any can't.
pub(crate) fn exact(role: Role) -> String {
    format!("{}_exact", role.key())
}
