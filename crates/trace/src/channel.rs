//! A column of readings in one unit, each valid or invalid for a stated reason.
//!
//! Readings are stored as integers at one scale for the whole column, so that a pass over a
//! channel compares integers. A reading that is not valid holds no number at all: there is
//! nothing that could be taken for one by mistake. Readings outside the physical range of their
//! role are invalid, and so never reach the audit as numbers.

use crate::decimal::{Decimal, Toward, power_of_ten};
use crate::observation::Value;
use crate::units::{FlowUnit, PressureUnit, TemperatureUnit, Unit};

/// Why a reading can't be used.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Invalid {
    /// The cell is blank, or the row or file has no such cell.
    Blank,
    /// The cell is not a finite number.
    NotANumber,
    /// The number lies outside the physical range of its role.
    OutOfRange,
}

impl Invalid {
    /// A word or two for reports.
    #[inline]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Blank => "blank",
            Self::NotANumber => "not a number",
            Self::OutOfRange => "out of range",
        }
    }

    #[inline]
    const fn code(self) -> i64 {
        match self {
            Self::Blank => i64::MIN,
            Self::NotANumber => i64::MIN + 1,
            Self::OutOfRange => i64::MIN + 2,
        }
    }

    #[inline]
    const fn from_code(code: i64) -> Self {
        const NOT_A_NUMBER: i64 = Invalid::NotANumber.code();
        const OUT_OF_RANGE: i64 = Invalid::OutOfRange.code();
        match code {
            NOT_A_NUMBER => Self::NotANumber,
            OUT_OF_RANGE => Self::OutOfRange,
            _ => Self::Blank,
        }
    }
}

/// One reading of a channel.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reading {
    /// A number inside the physical range.
    Valid(Decimal),
    /// No number, and why.
    Invalid(Invalid),
}

impl Reading {
    /// The number, if there is one.
    #[inline]
    pub const fn valid(self) -> Option<Decimal> {
        match self {
            Self::Valid(decimal) => Some(decimal),
            Self::Invalid(_) => None,
        }
    }
}

/// A column of readings in the unit `U`.
///
/// A channel is built by pushing readings and does not change once it is part of a
/// [`crate::RunRecord`].
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Channel<U> {
    unit: U,
    scale: u8,
    /// The most digits behind the mark with which every reading of the range fits an integer.
    greatest_scale: u8,
    /// The range at the present scale.
    least: i64,
    greatest: i64,
    range: (Decimal, Decimal),
    toward: Toward,
    mantissas: Vec<i64>,
}

/// Mantissas of valid readings and of differences between two of them stay within this bound.
const MANTISSA_BOUND: i64 = i64::MAX / 4;

impl<U: Unit> Channel<U> {
    /// The greatest magnitude that the range of a channel may have: 10^9 in any unit.
    pub const RANGE_BOUND: Decimal = Decimal::whole(1_000_000_000);

    /// An empty channel for readings between `range.0` and `range.1`, both included. A reading with
    /// more digits than fit is cut `toward` the side that is worse for the consumer.
    pub fn new(unit: U, range: (Decimal, Decimal), toward: Toward) -> Self {
        let bound = Self::RANGE_BOUND;
        let clamp = |value: Decimal| value.clamp(Decimal::new(-bound.mantissa(), 0), bound);
        let range = (clamp(range.0), clamp(range.1));
        let magnitude = range.0.to_f64().abs().max(range.1.to_f64().abs());
        let mut greatest_scale = 0;
        while greatest_scale < 18
            && (magnitude + 1.0) * (power_of_ten(greatest_scale + 1) as f64) < MANTISSA_BOUND as f64
        {
            greatest_scale += 1;
        }
        let mut channel = Self {
            unit,
            scale: 0,
            greatest_scale,
            least: 0,
            greatest: 0,
            range,
            toward,
            mantissas: Vec::new(),
        };
        channel.set_range();
        channel
    }

    /// The same, with room for `capacity` readings.
    pub fn with_capacity(mut self, capacity: usize) -> Self {
        self.mantissas.reserve(capacity);
        self
    }

    /// An empty channel of the same unit, range and rounding.
    pub fn empty_like(&self) -> Self {
        Self::new(self.unit, self.range, self.toward)
    }

    fn set_range(&mut self) {
        let at_scale = |value: Decimal, toward| {
            value.rescaled(self.scale, toward).map_or(MANTISSA_BOUND, Decimal::mantissa)
        };
        // The least legal mantissa is the range's lower end rounded into the range.
        (self.least, self.greatest) =
            (at_scale(self.range.0, Toward::Up), at_scale(self.range.1, Toward::Down));
    }

    /// Adds a reading. A number outside the range becomes [`Invalid::OutOfRange`].
    #[inline]
    pub fn push(&mut self, reading: Reading) {
        let mantissa = match reading {
            Reading::Invalid(reason) => reason.code(),
            Reading::Valid(decimal) => self.place(decimal),
        };
        self.mantissas.push(mantissa);
    }

    #[inline]
    fn place(&mut self, decimal: Decimal) -> i64 {
        if decimal.scale() > self.scale && self.scale < self.greatest_scale {
            self.widen(decimal.scale().min(self.greatest_scale));
        }
        match decimal.rescaled(self.scale, self.toward) {
            Some(at_scale) if (self.least..=self.greatest).contains(&at_scale.mantissa()) => {
                at_scale.mantissa()
            }
            _ => Invalid::OutOfRange.code(),
        }
    }

    #[cold]
    fn widen(&mut self, scale: u8) {
        let factor = power_of_ten(scale - self.scale);
        for mantissa in &mut self.mantissas {
            if Self::is_valid(*mantissa) {
                *mantissa *= factor;
            }
        }
        self.scale = scale;
        self.set_range();
    }

    /// Adds a reading as an integer at [`Self::scale`]; `None` is blank. A number outside the range becomes
    /// [`Invalid::OutOfRange`].
    #[inline]
    pub fn push_mantissa(&mut self, mantissa: Option<i64>) {
        self.mantissas.push(match mantissa {
            Some(mantissa) if (self.least..=self.greatest).contains(&mantissa) => mantissa,
            Some(_) => Invalid::OutOfRange.code(),
            None => Invalid::Blank.code(),
        });
    }

    /// The least and the greatest integer at [`Self::scale`] that is inside the range.
    #[inline]
    pub const fn bounds(&self) -> (i64, i64) {
        (self.least, self.greatest)
    }

    /// The unit of every reading.
    #[inline]
    pub const fn unit(&self) -> U {
        self.unit
    }

    /// The number of digits behind the mark in [`Self::mantissas`].
    #[inline]
    pub const fn scale(&self) -> u8 {
        self.scale
    }

    /// The number of readings.
    #[inline]
    pub fn len(&self) -> usize {
        self.mantissas.len()
    }

    /// Whether there is no reading.
    #[inline]
    pub fn is_empty(&self) -> bool {
        self.mantissas.is_empty()
    }

    /// All readings as integers at [`Self::scale`]; ask [`Self::is_valid`] before use.
    #[inline]
    pub fn mantissas(&self) -> &[i64] {
        &self.mantissas
    }

    /// Whether a mantissa stands for a number.
    #[inline]
    pub const fn is_valid(mantissa: i64) -> bool {
        mantissa > Invalid::OutOfRange.code()
    }

    /// The reading of sample `sample`; blank beyond the last.
    #[inline]
    pub fn reading(&self, sample: usize) -> Reading {
        match self.mantissas.get(sample) {
            Some(&mantissa) if Self::is_valid(mantissa) => {
                Reading::Valid(Decimal::new(mantissa, self.scale))
            }
            Some(&code) => Reading::Invalid(Invalid::from_code(code)),
            None => Reading::Invalid(Invalid::Blank),
        }
    }

    /// The reading as the nearest binary number, for drawing and for figures; `None` when invalid.
    #[inline]
    pub fn value(&self, sample: usize) -> Option<f64> {
        self.reading(sample).valid().map(Decimal::to_f64)
    }
}

impl Channel<PressureUnit> {
    /// Pasteurized minus raw, exact, sample by sample; invalid where either reading is.
    ///
    /// Both channels must have one unit and one length; the shorter one ends the difference.
    pub fn difference(pasteurized: &Self, raw: &Self) -> Self {
        let scale = pasteurized.scale.max(raw.scale);
        let factor = |channel: &Self| i128::from(power_of_ten(scale - channel.scale));
        let (upper, lower) = (factor(pasteurized), factor(raw));
        let is_one_scale = pasteurized.scale == raw.scale;
        let one = |(&pasteurized, &raw): (&i64, &i64)| {
            if !Self::is_valid(pasteurized) {
                return pasteurized;
            }
            if !Self::is_valid(raw) {
                return raw;
            }
            if is_one_scale {
                // Mantissas leave room for a difference of two.
                return pasteurized - raw;
            }
            let difference = i128::from(pasteurized) * upper - i128::from(raw) * lower;
            i64::try_from(difference).unwrap_or(Invalid::OutOfRange.code())
        };
        let mantissas =
            pasteurized.mantissas.iter().zip(&raw.mantissas).map(one).collect::<Vec<_>>();
        Self { scale, mantissas, ..pasteurized.empty_like() }
    }
}

/// A channel of whichever kind, for code that treats all alike.
#[derive(Debug, Clone, Copy)]
pub enum ChannelView<'a> {
    /// In °F or °C.
    Temperature(&'a Channel<TemperatureUnit>),
    /// In psi or a metric unit.
    Pressure(&'a Channel<PressureUnit>),
    /// In a unit of volume flow.
    Flow(&'a Channel<FlowUnit>),
}

impl<'a> ChannelView<'a> {
    /// The symbol of the unit.
    pub fn symbol(self) -> &'static str {
        match self {
            Self::Temperature(channel) => channel.unit().symbol(),
            Self::Pressure(channel) => channel.unit().symbol(),
            Self::Flow(channel) => channel.unit().symbol(),
        }
    }

    /// A valid mantissa as a quantity with its unit.
    pub const fn quantity(self, mantissa: i64) -> Value {
        let decimal = Decimal::new(mantissa, self.scale());
        match self {
            Self::Temperature(channel) => Value::Temperature(decimal, channel.unit()),
            Self::Pressure(channel) => Value::Pressure(decimal, channel.unit()),
            Self::Flow(channel) => Value::Flow(decimal, channel.unit()),
        }
    }

    /// See [`Channel::scale`].
    #[inline]
    pub const fn scale(self) -> u8 {
        match self {
            Self::Temperature(channel) => channel.scale(),
            Self::Pressure(channel) => channel.scale(),
            Self::Flow(channel) => channel.scale(),
        }
    }

    /// See [`Channel::mantissas`].
    #[inline]
    pub fn mantissas(self) -> &'a [i64] {
        match self {
            Self::Temperature(channel) => channel.mantissas(),
            Self::Pressure(channel) => channel.mantissas(),
            Self::Flow(channel) => channel.mantissas(),
        }
    }

    /// See [`Channel::is_valid`].
    #[inline]
    pub const fn is_valid(mantissa: i64) -> bool {
        Channel::<FlowUnit>::is_valid(mantissa)
    }

    /// See [`Channel::reading`].
    #[inline]
    pub fn reading(self, sample: usize) -> Reading {
        match self {
            Self::Temperature(channel) => channel.reading(sample),
            Self::Pressure(channel) => channel.reading(sample),
            Self::Flow(channel) => channel.reading(sample),
        }
    }

    /// See [`Channel::value`].
    #[inline]
    pub fn value(self, sample: usize) -> Option<f64> {
        self.reading(sample).valid().map(Decimal::to_f64)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn channel(cells: &[&str]) -> Channel<PressureUnit> {
        let range = (Decimal::whole(-15), Decimal::whole(150));
        let mut channel = Channel::new(PressureUnit::Psi, range, Toward::Down);
        for cell in cells {
            channel.push(match cell.parse() {
                Ok(decimal) => Reading::Valid(decimal),
                Err(_) => Reading::Invalid(Invalid::NotANumber),
            });
        }
        channel
    }

    #[test]
    fn the_scale_grows_and_values_stay() {
        let channel = channel(&["24", "24.3", "BAD", "24.30000305175781", "-15", "-15.1", "151"]);
        assert_eq!(channel.reading(0), Reading::Valid(Decimal::whole(24)));
        assert_eq!(channel.reading(1), Reading::Valid(Decimal::new(243, 1)));
        assert_eq!(channel.reading(2), Reading::Invalid(Invalid::NotANumber));
        assert_eq!(channel.reading(3), Reading::Valid(Decimal::new(2_430_000_305_175_781, 14)));
        assert_eq!(channel.reading(4), Reading::Valid(Decimal::whole(-15)));
        assert_eq!(channel.reading(5), Reading::Invalid(Invalid::OutOfRange));
        assert_eq!(channel.reading(6), Reading::Invalid(Invalid::OutOfRange));
        assert_eq!(channel.reading(7), Reading::Invalid(Invalid::Blank));
    }

    #[test]
    fn digits_beyond_the_scale_are_cut_to_the_worse_side() {
        let channel = channel(&["1.999999999999999999"]);
        assert!(channel.reading(0).valid().is_some_and(|value| value < Decimal::whole(2)));
    }

    #[test]
    fn every_pair_of_one_decimal_pressures_differs_as_with_a_pencil() {
        for raw in 0..400_i64 {
            for over in -30..60_i64 {
                let difference = Channel::difference(
                    &channel(&[&Decimal::new(raw + over, 1).to_string()]),
                    &channel(&[&Decimal::new(raw, 1).to_string()]),
                );
                if Channel::<PressureUnit>::is_valid(difference.mantissas()[0]) {
                    assert_eq!(difference.reading(0), Reading::Valid(Decimal::new(over, 1)));
                }
            }
        }
    }

    #[test]
    fn a_difference_is_invalid_where_either_side_is() {
        let difference = Channel::difference(
            &channel(&["26.3", "BAD", "26.30"]),
            &channel(&["24.3", "1", "BAD"]),
        );
        assert_eq!(difference.reading(0), Reading::Valid(Decimal::whole(2)));
        assert_eq!(difference.reading(1), Reading::Invalid(Invalid::NotANumber));
        assert_eq!(difference.reading(2), Reading::Invalid(Invalid::NotANumber));
    }
}
