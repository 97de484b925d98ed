//! Exact fractions for the interpreter, apart from the ones the product uses, so that a mistake
//! in the one is not repeated in the other. An overflow panics in the profile of the tests.

use std::cmp::Ordering;
use std::ops::{Add, Mul, Sub};
use trace::Decimal;

/// A fraction of whole numbers in lowest terms, the denominator above 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Exact {
    top: i128,
    bottom: i128,
}

fn common(one: i128, other: i128) -> i128 {
    if other == 0 { one.abs() } else { common(other, one % other) }
}

impl Exact {
    /// Zero.
    pub const ZERO: Self = Self { top: 0, bottom: 1 };

    /// `top` / `bottom`; `bottom` is not 0.
    pub fn new(top: i128, bottom: i128) -> Self {
        let divisor = common(top, bottom) * bottom.signum();
        Self { top: top / divisor, bottom: bottom / divisor }
    }

    /// A whole number.
    pub fn whole(value: i64) -> Self {
        Self::new(i128::from(value), 1)
    }

    /// A decimal as it is printed: digits and mark.
    pub fn decimal(decimal: Decimal) -> Self {
        let mut bottom = 1;
        for _ in 0..decimal.scale() {
            bottom *= 10;
        }
        Self::new(i128::from(decimal.mantissa()), bottom)
    }

    /// `self` divided by `other`, which is not 0.
    pub fn over(self, other: Self) -> Self {
        Self::new(self.top * other.bottom, self.bottom * other.top)
    }

    /// The nearest whole number, an exact half to the greater one.
    pub fn rounded_half_up(self) -> i64 {
        (2 * self.top + self.bottom).div_euclid(2 * self.bottom) as i64
    }

    /// The greatest whole number that is not above it.
    pub fn floor(self) -> i64 {
        self.top.div_euclid(self.bottom) as i64
    }

    /// Whether it has no fraction.
    pub const fn is_whole(self) -> bool {
        self.bottom == 1
    }

    /// The number without its sign.
    pub fn size(self) -> Self {
        Self::new(self.top.abs(), self.bottom)
    }

    /// The nearest binary number, or its neighbour.
    pub fn to_f64(self) -> f64 {
        self.top as f64 / self.bottom as f64
    }
}

impl Add for Exact {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self::new(self.top * other.bottom + other.top * self.bottom, self.bottom * other.bottom)
    }
}

impl Sub for Exact {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self::new(self.top * other.bottom - other.top * self.bottom, self.bottom * other.bottom)
    }
}

impl Mul for Exact {
    type Output = Self;
    fn mul(self, other: Self) -> Self {
        Self::new(self.top * other.top, self.bottom * other.bottom)
    }
}

impl PartialOrd for Exact {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Exact {
    fn cmp(&self, other: &Self) -> Ordering {
        (self.top * other.bottom).cmp(&(other.top * self.bottom))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fractions_by_hand() {
        assert_eq!(Exact::new(2, -4), Exact::new(-1, 2));
        assert_eq!(Exact::decimal(Decimal::new(2630, 2)), Exact::new(263, 10));
        assert_eq!(Exact::new(1, 3) + Exact::new(1, 6), Exact::new(1, 2));
        assert_eq!(Exact::new(1, 3).over(Exact::new(-2, 3)), Exact::new(-1, 2));
        for (top, bottom, nearest) in [(1, 2, 1), (-1, 2, 0), (-3, 2, -1), (5, 3, 2), (4, 3, 1)] {
            assert_eq!(Exact::new(top, bottom).rounded_half_up(), nearest, "{top}/{bottom}");
        }
        assert!(Exact::new(1, 3) < Exact::new(34, 100));
    }
}
