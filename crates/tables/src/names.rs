//! How the columns of a run record are named: the role's key, and for a reading its unit.

use trace::{ChannelView, Role, Unit as _};

/// The name of the pasteurizer, the same in each row, so that days can be put together.
pub(crate) const UNIT: &str = "unit";
/// The instants.
pub(crate) const INSTANT: &str = "instant";

/// The column of a channel's readings: `holding_temperature_degf`.
///
/// The word at the end is one that [`trace::Unit::from_word`] understands.
pub(crate) fn readings(role: Role, channel: ChannelView<'_>) -> String {
    let unit = match channel {
        ChannelView::Temperature(channel) => channel.unit().column_word(),
        ChannelView::Pressure(channel) => channel.unit().column_word(),
        ChannelView::Flow(channel) => channel.unit().column_word(),
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
