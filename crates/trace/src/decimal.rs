//! Readings as the decimals that the logger printed.
//!
//! 26.3 − 24.3 is exactly 2.0, and 160.99 is short of 161: the audit compares decimals the way a
//! person with a pencil does, so they are kept as an integer and a power of ten and never pass
//! through binary floating point. [`Ratio`] holds limits that are not finite decimals in the
//! unit of the channel.

use std::cmp::Ordering;
use std::fmt;
use std::str::FromStr;

/// 10 to the power `exponent`, for exponents up to 18.
#[inline]
pub const fn power_of_ten(exponent: u8) -> i64 {
    10_i64.pow(if exponent > 18 { 18 } else { exponent as u32 })
}

/// A decimal number: `mantissa` / 10^`scale`, with at most 18 digits after the mark.
///
/// Comparison is by value: 161.0 equals 161.00.
///
/// ```
/// use trace::{Decimal, DecimalMark, Toward};
///
/// let limit = Decimal::whole(161);
/// let read = |cell: &str| Decimal::parse(cell.as_bytes(), DecimalMark::Dot, Toward::Down);
/// assert!(read("160.99")? < limit);
/// assert_eq!(read("161.00")?, limit);
/// assert_eq!(read("161.00")?.to_string(), "161.00");
/// # Ok::<(), trace::NotADecimal>(())
/// ```
#[derive(Debug, Clone, Copy)]
pub struct Decimal {
    mantissa: i64,
    scale: u8,
}

/// The mark between whole and fractional digits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum DecimalMark {
    /// `72.5`
    Dot,
    /// `72,5`
    Comma,
}

/// Where a decimal with more digits than fit goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Toward {
    /// To the next lower decimal: for readings that must not be too low.
    Down,
    /// To the next higher decimal: for readings that must not be too high.
    Up,
}

/// Why a text is not a decimal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum NotADecimal {
    /// Nothing but blanks.
    Blank,
    /// Words, thousands separators, NaN, infinity, …
    NotANumber,
    /// A number beyond 10^18.
    TooLarge,
}

impl Decimal {
    /// Zero.
    pub const ZERO: Self = Self { mantissa: 0, scale: 0 };

    /// `mantissa` / 10^`scale`; a scale above 18 is taken as 18.
    #[inline]
    pub const fn new(mantissa: i64, scale: u8) -> Self {
        Self { mantissa, scale: if scale > 18 { 18 } else { scale } }
    }

    /// The whole number `value`.
    #[inline]
    pub const fn whole(value: i64) -> Self {
        Self::new(value, 0)
    }

    /// The digits, without the mark.
    #[inline]
    pub const fn mantissa(self) -> i64 {
        self.mantissa
    }

    /// How many of the digits stand behind the mark.
    #[inline]
    pub const fn scale(self) -> u8 {
        self.scale
    }

    /// The nearest binary number.
    #[inline]
    pub fn to_f64(self) -> f64 {
        // Both operands are exact below 2^53 and 10^22, so the quotient is the double nearest to
        // the decimal, the same that a parser would give.
        if self.mantissa.unsigned_abs() < 1 << f64::MANTISSA_DIGITS {
            return self.mantissa as f64 / power_of_ten(self.scale) as f64;
        }
        self.parsed()
    }

    /// More digits than a binary number holds would be rounded twice.
    #[cold]
    fn parsed(self) -> f64 {
        self.to_string().parse().unwrap_or(f64::NAN)
    }

    /// Reads the bytes of one cell, blanks around them allowed.
    ///
    /// An exponent (`1.61E+02`) is understood. Digits beyond the 18 that fit are cut, `toward` the
    /// given side. Thousands separators are refused: `1,234` would have two readings.
    ///
    /// # Errors
    /// [`NotADecimal`] says what the cell is instead.
    #[inline]
    pub fn parse(cell: &[u8], mark: DecimalMark, toward: Toward) -> Result<Self, NotADecimal> {
        let mark = match mark {
            DecimalMark::Dot => b'.',
            DecimalMark::Comma => b',',
        };
        let cell = cell.trim_ascii();
        let (negative, digits) = match cell {
            [] => return Err(NotADecimal::Blank),
            [b'-', rest @ ..] => (true, rest),
            [b'+', rest @ ..] => (false, rest),
            _ => (false, cell),
        };
        // The common case: at most 18 digits and no exponent.
        if digits.len() <= 19 {
            let mut mantissa: i64 = 0;
            let mut seen = 0_u8;
            let mut scale = None;
            let mut plain = true;
            for &byte in digits {
                if byte.is_ascii_digit() {
                    mantissa = mantissa.wrapping_mul(10).wrapping_add(i64::from(byte - b'0'));
                    seen += 1;
                    scale = scale.map(|behind: u8| behind + 1);
                } else if byte == mark && scale.is_none() {
                    scale = Some(0);
                } else {
                    plain = false;
                    break;
                }
            }
            if plain && (1..=18).contains(&seen) {
                let mantissa = if negative { -mantissa } else { mantissa };
                return Ok(Self { mantissa, scale: scale.unwrap_or(0) });
            }
        }
        Self::parse_long(digits, mark, negative, toward)
    }

    /// The uncommon case: an exponent, or more digits than fit.
    fn parse_long(
        text: &[u8],
        mark: u8,
        negative: bool,
        toward: Toward,
    ) -> Result<Self, NotADecimal> {
        let (number, exponent) = match text.iter().position(|byte| matches!(byte, b'e' | b'E')) {
            Some(at) => (&text[..at], parse_exponent(&text[at + 1..])?),
            None => (text, 0),
        };
        let mut digits: Vec<u8> = Vec::with_capacity(number.len());
        let mut behind: Option<i64> = None;
        for &byte in number {
            if byte.is_ascii_digit() {
                digits.push(byte - b'0');
                behind = behind.map(|count| count + 1);
            } else if byte == mark && behind.is_none() {
                behind = Some(0);
            } else {
                return Err(NotADecimal::NotANumber);
            }
        }
        if digits.is_empty() {
            return Err(NotADecimal::NotANumber);
        }
        let mut scale = behind.unwrap_or(0) - exponent;
        let leading = digits.iter().take_while(|&&digit| digit == 0).count();
        digits.drain(..leading);
        while scale > 0 && digits.last() == Some(&0) {
            digits.pop();
            scale -= 1;
        }
        if digits.is_empty() {
            return Ok(Self::ZERO);
        }
        if digits.len() as i64 - scale > 18 {
            return Err(NotADecimal::TooLarge);
        }
        while scale < 0 {
            digits.push(0);
            scale += 1;
        }
        let mut inexact = false;
        while scale > 18 || digits.len() > 18 {
            match digits.pop() {
                Some(digit) => inexact |= digit != 0,
                None if scale > 18 => {}
                None => break,
            }
            scale -= 1;
        }
        let mut magnitude: i64 = 0;
        for digit in digits {
            magnitude = magnitude * 10 + i64::from(digit);
        }
        let mut mantissa = if negative { -magnitude } else { magnitude };
        if inexact {
            // Cutting digits moved the number towards zero; go the other way where that is wrong.
            match (toward, negative) {
                (Toward::Down, true) => mantissa -= 1,
                (Toward::Up, false) => mantissa += 1,
                _ => {}
            }
        }
        Ok(Self { mantissa, scale: scale as u8 })
    }

    /// The same value with exactly `scale` digits behind the mark, digits that do not fit cut
    /// `toward` the given side; `None` when it is too large for that.
    #[inline]
    pub fn rescaled(self, scale: u8, toward: Toward) -> Option<Self> {
        let scale = scale.min(18);
        let mantissa = match scale.cmp(&self.scale) {
            Ordering::Equal => self.mantissa,
            Ordering::Greater => self.mantissa.checked_mul(power_of_ten(scale - self.scale))?,
            Ordering::Less => {
                let divisor = power_of_ten(self.scale - scale);
                match toward {
                    Toward::Down => self.mantissa.div_euclid(divisor),
                    Toward::Up => -(-self.mantissa).div_euclid(divisor),
                }
            }
        };
        Some(Self { mantissa, scale })
    }
}

fn parse_exponent(text: &[u8]) -> Result<i64, NotADecimal> {
    let (negative, digits) = match text {
        [b'-', rest @ ..] => (true, rest),
        [b'+', rest @ ..] => (false, rest),
        _ => (false, text),
    };
    if digits.is_empty() || !digits.iter().all(u8::is_ascii_digit) {
        return Err(NotADecimal::NotANumber);
    }
    // Beyond four digits the exponent is absurd either way; saturate.
    let value = digits
        .iter()
        .fold(0_i64, |value, digit| (value * 10 + i64::from(digit - b'0')).min(100_000));
    Ok(if negative { -value } else { value })
}

impl Decimal {
    /// The same number without zeros at its end.
    #[must_use]
    pub const fn trimmed(self) -> Self {
        let Self { mut mantissa, mut scale } = self;
        while scale > 0 && mantissa % 10 == 0 {
            mantissa /= 10;
            scale -= 1;
        }
        Self { mantissa, scale }
    }
}

impl PartialEq for Decimal {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Decimal {}

impl PartialOrd for Decimal {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Decimal {
    fn cmp(&self, other: &Self) -> Ordering {
        let scale = self.scale.max(other.scale);
        let aligned = |decimal: &Self| {
            i128::from(decimal.mantissa) * i128::from(power_of_ten(scale - decimal.scale))
        };
        aligned(self).cmp(&aligned(other))
    }
}

impl fmt::Display for Decimal {
    /// All digits, the mark a dot: `161`, `26.30`, `-0.5`.
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let magnitude = self.mantissa.unsigned_abs();
        let sign = if self.mantissa < 0 { "-" } else { "" };
        if self.scale == 0 {
            return write!(formatter, "{sign}{magnitude}");
        }
        let divisor = power_of_ten(self.scale).unsigned_abs();
        let width = usize::from(self.scale);
        write!(formatter, "{sign}{}.{:0width$}", magnitude / divisor, magnitude % divisor)
    }
}

impl FromStr for Decimal {
    type Err = NotADecimal;

    /// Reads a decimal with a dot, as plant files write them.
    fn from_str(text: &str) -> Result<Self, NotADecimal> {
        Self::parse(text.as_bytes(), DecimalMark::Dot, Toward::Down)
    }
}

/// An exact fraction, for limits that have no finite decimal in the channel's unit
/// (160 °F is 71.111… °C).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Ratio {
    numerator: i128,
    denominator: i128,
}

impl Ratio {
    /// `numerator` / `denominator`; the denominator must be positive.
    #[inline]
    pub const fn new(numerator: i128, denominator: i128) -> Self {
        debug_assert!(denominator > 0);
        Self { numerator, denominator }
    }

    /// The numerator.
    #[inline]
    pub const fn numerator(self) -> i128 {
        self.numerator
    }

    /// The denominator, greater than 0.
    #[inline]
    pub const fn denominator(self) -> i128 {
        self.denominator
    }

    /// The product with another.
    #[must_use]
    pub const fn times(self, other: Self) -> Self {
        Self::new(self.numerator * other.numerator, self.denominator * other.denominator)
    }

    /// The quotient by another, which is greater than 0.
    #[must_use]
    pub const fn over(self, other: Self) -> Self {
        Self::new(self.numerator * other.denominator, self.denominator * other.numerator)
    }

    /// The sum with another.
    #[must_use]
    pub const fn plus(self, other: Self) -> Self {
        Self::new(
            self.numerator * other.denominator + other.numerator * self.denominator,
            self.denominator * other.denominator,
        )
    }

    /// Whether it is above another.
    #[must_use]
    pub const fn is_above(self, other: Self) -> bool {
        self.numerator * other.denominator > other.numerator * self.denominator
    }

    /// The nearest binary number.
    #[inline]
    pub fn to_f64(self) -> f64 {
        self.numerator as f64 / self.denominator as f64
    }

    /// The least decimal of at most `scale` digits behind the mark that is not below this figure,
    /// without zeros at its end.
    pub fn decimal_not_below(self, scale: u8) -> Decimal {
        Decimal::new(self.floor_mantissa(scale), scale).trimmed()
    }

    /// The greatest decimal of at most `scale` digits behind the mark that is not above this figure,
    /// without zeros at its end.
    pub fn decimal_not_above(self, scale: u8) -> Decimal {
        Decimal::new(self.ceiling_mantissa(scale), scale).trimmed()
    }

    /// The least mantissa at `scale` that is not below this figure: a reading with that many
    /// digits is short of the limit exactly when its mantissa is less.
    pub fn floor_mantissa(self, scale: u8) -> i64 {
        let scaled = self.numerator * i128::from(power_of_ten(scale));
        // Rounded up: −⌊−x⌋.
        let mantissa = -(-scaled).div_euclid(self.denominator);
        mantissa.clamp(i128::from(i64::MIN), i128::from(i64::MAX)) as i64
    }

    /// The greatest mantissa at `scale` that is not above this figure: a reading exceeds a
    /// maximum exactly when its mantissa is greater.
    pub fn ceiling_mantissa(self, scale: u8) -> i64 {
        let scaled = self.numerator * i128::from(power_of_ten(scale));
        let mantissa = scaled.div_euclid(self.denominator);
        mantissa.clamp(i128::from(i64::MIN), i128::from(i64::MAX)) as i64
    }
}

impl From<Decimal> for Ratio {
    fn from(decimal: Decimal) -> Self {
        Self::new(i128::from(decimal.mantissa), i128::from(power_of_ten(decimal.scale)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[inline]
    fn parse(text: &str) -> Result<Decimal, NotADecimal> {
        text.parse()
    }

    #[test]
    fn cells_of_loggers() {
        for (text, mantissa, scale) in [
            ("161", 161, 0),
            (" 26.30 ", 2630, 2),
            ("-0.5", -5, 1),
            ("+.5", 5, 1),
            ("72.", 72, 0),
            ("1.61E+02", 161, 0),
            ("1e-3", 1, 3),
            ("0000000000000000000000161.0", 161, 0),
            ("72.30000305175781", 7_230_000_305_175_781, 14),
        ] {
            let decimal = parse(text).map(|decimal| (decimal.mantissa, decimal.scale));
            assert_eq!(decimal, Ok((mantissa, scale)), "{text}");
        }
    }

    #[test]
    fn what_is_not_a_decimal() {
        for (text, reason) in [
            ("", NotADecimal::Blank),
            ("  ", NotADecimal::Blank),
            ("BAD", NotADecimal::NotANumber),
            ("---", NotADecimal::NotANumber),
            ("#N/A", NotADecimal::NotANumber),
            ("NaN", NotADecimal::NotANumber),
            ("inf", NotADecimal::NotANumber),
            ("1.2.3", NotADecimal::NotANumber),
            ("1,234", NotADecimal::NotANumber),
            (".", NotADecimal::NotANumber),
            ("1e", NotADecimal::NotANumber),
            ("1e999", NotADecimal::TooLarge),
            ("9999999999999999999", NotADecimal::TooLarge),
        ] {
            assert_eq!(parse(text), Err(reason), "{text:?}");
        }
    }

    #[test]
    fn a_reading_just_short_of_the_limit_is_never_rounded_up() {
        let short = parse("160.99999999999999999999999");
        assert!(short.is_ok_and(|short| short < Decimal::whole(161)));
        let raw = Decimal::parse(b"2.00000000000000000000001", DecimalMark::Dot, Toward::Up);
        assert!(raw.is_ok_and(|raw| raw > Decimal::whole(2)));
    }

    #[test]
    fn comma_as_the_mark() {
        let decimal = Decimal::parse(b"72,5", DecimalMark::Comma, Toward::Down);
        assert_eq!(decimal, Ok(Decimal::new(725, 1)));
        let dotted = Decimal::parse(b"72.5", DecimalMark::Comma, Toward::Down);
        assert_eq!(dotted, Err(NotADecimal::NotANumber));
    }

    #[test]
    fn thresholds_of_a_repeating_fraction() {
        // 160 °F is 71.111… °C: 71.1 is short, 71.2 is legal.
        let limit = Ratio::new(640, 9);
        assert_eq!(limit.floor_mantissa(1), 712);
        assert_eq!(limit.ceiling_mantissa(1), 711);
        assert_eq!(Ratio::from(Decimal::whole(2)).floor_mantissa(1), 20);
        assert_eq!(Ratio::new(-1, 3).floor_mantissa(1), -3);
        assert_eq!(Ratio::new(-1, 3).ceiling_mantissa(1), -4);
    }

    proptest! {
        #[test]
        fn printing_and_reading_is_the_identity(mantissa in -999_999_999_999_i64..999_999_999_999, scale in 0_u8..12) {
            let decimal = Decimal::new(mantissa, scale);
            let read = parse(&decimal.to_string());
            prop_assert_eq!(read.map(|read| (read.mantissa, read.scale)), Ok((mantissa, scale)));
        }

        #[test]
        fn the_binary_number_is_the_one_the_standard_library_parses(mantissa in -999_999_999_999_i64..999_999_999_999, scale in 0_u8..12) {
            let decimal = Decimal::new(mantissa, scale);
            prop_assert_eq!(Ok(decimal.to_f64()), decimal.to_string().parse::<f64>());
        }

        #[test]
        fn nothing_panics(text in ".{0,40}") {
            let _parsed: Result<Decimal, _> = parse(&text);
        }
    }
}
