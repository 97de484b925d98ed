//! Units for display only. A reading in the unit in which it was recorded is shown digit by digit
//! as it was recorded; in another unit it is converted and shown with one digit more.
//!
//! Nothing here takes part in a comparison with a limit.

use case::DisplayUnits;
use daybook::ShownIn;
use serde::{Deserialize, Serialize};
use trace::{ChannelView, Decimal, FlowUnit, PressureUnit, Reading, TemperatureUnit, Unit};

/// The units that the user chose to see.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Units {
    /// For temperatures.
    pub temperature: Temperature,
    /// For pressures.
    pub pressure: Pressure,
}

/// How temperatures are shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Temperature {
    /// As recorded.
    #[default]
    Recorded,
    /// In °F.
    Fahrenheit,
    /// In °C.
    Celsius,
}

/// How pressures are shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Pressure {
    /// As recorded.
    #[default]
    Recorded,
    /// In psi.
    Psi,
    /// In kPa.
    Kilopascal,
}

impl Units {
    /// The unit in which a temperature recorded in `recorded` is shown.
    pub const fn temperature(self, recorded: TemperatureUnit) -> TemperatureUnit {
        match self.shown_in().temperature {
            Some(chosen) => chosen,
            None => recorded,
        }
    }

    /// The unit in which a pressure recorded in `recorded` is shown.
    pub const fn pressure(self, recorded: PressureUnit) -> PressureUnit {
        match self.shown_in().pressure {
            Some(chosen) => chosen,
            None => recorded,
        }
    }

    /// The units in which figures of many records are shown.
    pub const fn shown_in(self) -> ShownIn {
        let temperature = match self.temperature {
            Temperature::Recorded => None,
            Temperature::Fahrenheit => Some(TemperatureUnit::Fahrenheit),
            Temperature::Celsius => Some(TemperatureUnit::Celsius),
        };
        let pressure = match self.pressure {
            Pressure::Recorded => None,
            Pressure::Psi => Some(PressureUnit::Psi),
            Pressure::Kilopascal => Some(PressureUnit::Kilopascal),
        };
        ShownIn { temperature, pressure }
    }

    /// The units in which the figures of observations are shown.
    pub const fn of_observations(self) -> DisplayUnits {
        let ShownIn { temperature, pressure } = self.shown_in();
        DisplayUnits { temperature, pressure, ..DisplayUnits::RECORDED }
    }

    /// Changes between °F and °C, seen from what is shown of a channel in `recorded`.
    pub fn toggle_temperature(&mut self, recorded: TemperatureUnit) {
        self.temperature = match self.temperature(recorded) {
            TemperatureUnit::Fahrenheit => Temperature::Celsius,
            TemperatureUnit::Celsius => Temperature::Fahrenheit,
        };
    }

    /// Changes between psi and kPa, seen from what is shown of a channel in `recorded`.
    pub fn toggle_pressure(&mut self, recorded: PressureUnit) {
        self.pressure = match self.pressure(recorded) {
            PressureUnit::Psi => Pressure::Kilopascal,
            _ => Pressure::Psi,
        };
    }

    /// How the readings of a channel are shown.
    pub fn of(self, channel: ChannelView<'_>) -> Shown {
        let scale = usize::from(channel.scale());
        match channel {
            ChannelView::Temperature(channel) => {
                let (from, to) = (channel.unit(), self.temperature(channel.unit()));
                Shown { conversion: Conversion::Temperature(from, to), scale }
            }
            ChannelView::Pressure(channel) => {
                let (from, to) = (channel.unit(), self.pressure(channel.unit()));
                Shown { conversion: Conversion::Pressure(from, to), scale }
            }
            ChannelView::Flow(channel) => {
                Shown { conversion: Conversion::Flow(channel.unit()), scale }
            }
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Conversion {
    Temperature(TemperatureUnit, TemperatureUnit),
    Pressure(PressureUnit, PressureUnit),
    Flow(FlowUnit),
}

/// How the readings of one channel are shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Shown {
    conversion: Conversion,
    scale: usize,
}

impl Shown {
    /// The symbol of the unit shown.
    pub fn symbol(self) -> &'static str {
        match self.conversion {
            Conversion::Temperature(_, to) => to.symbol(),
            Conversion::Pressure(_, to) => to.symbol(),
            Conversion::Flow(unit) => unit.symbol(),
        }
    }

    /// Whether figures are converted.
    pub fn converts(self) -> bool {
        match self.conversion {
            Conversion::Temperature(from, to) => from != to,
            Conversion::Pressure(from, to) => from != to,
            Conversion::Flow(_) => false,
        }
    }

    /// A figure in the recorded unit as it is shown.
    pub fn value(self, recorded: f64) -> f64 {
        match self.conversion {
            Conversion::Temperature(from, to) => from.convert(recorded, to),
            Conversion::Pressure(from, to) => from.convert(recorded, to),
            Conversion::Flow(_) => recorded,
        }
    }

    /// A recorded figure in words, without its unit.
    pub fn figure(self, recorded: Decimal) -> String {
        if self.converts() { self.number(recorded.to_f64()) } else { case::recorded(recorded) }
    }

    /// A figure in the recorded unit that is no reading (a limit, a mean), without its unit.
    pub fn number(self, recorded: f64) -> String {
        let digits = (self.scale + usize::from(self.converts())).min(4);
        case::decimal_places(self.value(recorded), digits)
    }

    /// A difference between two figures in the recorded unit, with its sign and unit.
    pub fn difference(self, recorded: f64) -> String {
        let digits = (self.scale + usize::from(self.converts())).clamp(1, 4);
        let difference = self.value(recorded) - self.value(0.0);
        format!("{} {}", case::signed(difference, digits), self.symbol())
    }

    /// A limit in words with its unit: no needless digits.
    pub fn limit(self, recorded: f64) -> String {
        let text = format!("{:.2}", self.value(recorded));
        let text = text.trim_end_matches('0').trim_end_matches('.');
        format!("{} {}", case::number(text), self.symbol())
    }

    /// A reading in words with its unit, or why there is none.
    pub fn reading(self, reading: Reading) -> String {
        match reading {
            Reading::Valid(decimal) => format!("{} {}", self.figure(decimal), self.symbol()),
            Reading::Invalid(reason) => reason.name().to_owned(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use trace::{Channel, Toward};

    fn channel() -> Channel<TemperatureUnit> {
        let range = (Decimal::whole(0), Decimal::whole(300));
        let mut channel = Channel::new(TemperatureUnit::Fahrenheit, range, Toward::Down);
        channel.push(Reading::Valid(Decimal::new(1610, 1)));
        channel
    }

    #[test]
    fn recorded_readings_are_shown_digit_by_digit() {
        let channel = channel();
        let view = ChannelView::Temperature(&channel);
        let mut units = Units::default();
        assert_eq!(units.of(view).reading(view.reading(0)), "161.0 \u{b0}F");
        units.toggle_temperature(TemperatureUnit::Fahrenheit);
        // (161 − 32)/1.8 = 71.666…
        assert_eq!(units.of(view).reading(view.reading(0)), "71.67 \u{b0}C");
        units.toggle_temperature(TemperatureUnit::Fahrenheit);
        assert_eq!(units.of(view).reading(view.reading(0)), "161.0 \u{b0}F");
    }

    #[test]
    fn differences_are_scaled_and_not_shifted() {
        let channel = channel();
        let view = ChannelView::Temperature(&channel);
        let mut units = Units::default();
        assert_eq!(units.of(view).difference(-0.9), "\u{2212}0.9 \u{b0}F");
        units.toggle_temperature(TemperatureUnit::Fahrenheit);
        // −0.9 °F / 1.8 = −0.50 °C.
        assert_eq!(units.of(view).difference(-0.9), "\u{2212}0.50 \u{b0}C");
    }

    #[test]
    fn limits_lose_only_zeros() {
        let channel = channel();
        let shown = Units::default().of(ChannelView::Temperature(&channel));
        assert_eq!(shown.limit(161.0), "161 \u{b0}F");
        assert_eq!(shown.limit(161.25), "161.25 \u{b0}F");
    }
}
