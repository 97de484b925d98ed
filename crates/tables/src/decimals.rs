//! Decimals through binary numbers and back.
//!
//! A decimal of up to 15 digits is the shortest that prints its nearest binary number, so it comes
//! back the same (IEEE 754-2019, section 5.12.2: 15 digits for binary64). Longer ones may not.

use trace::{Decimal, NotADecimal, power_of_ten};

/// Below this an integer of the last digit's size is safe: the nearest binary number of such a
/// decimal is less than half a last digit away from it.
const SAFE: f64 = 4_503_599_627_370_496.0; // 2^52

/// The most digits behind the mark for which the power of ten is tried before printing.
const MOST_TRIED: u8 = 15;

/// The shortest decimal whose nearest binary number is `value`; zeros may follow up to `scale`
/// digits behind the mark.
pub(crate) fn from_binary(value: f64, scale: u8) -> Result<Decimal, NotADecimal> {
    for scale in scale..=MOST_TRIED {
        let power = power_of_ten(scale) as f64;
        let mantissa = (value * power).round();
        if mantissa.abs() >= SAFE {
            break;
        }
        // Both are exact, so the quotient is the binary number nearest to the decimal.
        #[expect(clippy::float_cmp, reason = "the very number or not, nothing in between")]
        let same = mantissa / power == value;
        if same {
            return Ok(Decimal::new(mantissa as i64, scale));
        }
    }
    value.to_string().parse()
}

/// Whether a decimal comes back the same.
pub(crate) fn survives(decimal: Decimal) -> bool {
    (decimal.mantissa().unsigned_abs() as f64) < SAFE
        || from_binary(decimal.to_f64(), 0).is_ok_and(|back| back == decimal)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn fifteen_digits_come_back(
            mantissa in -999_999_999_999_999..=999_999_999_999_999_i64,
            digits in 0..15_u32,
            scale in 0..=18_u8,
            tried in 0..=18_u8,
        ) {
            let decimal = Decimal::new(mantissa / 10_i64.pow(digits), scale);
            prop_assert!(survives(decimal));
            prop_assert_eq!(from_binary(decimal.to_f64(), tried), Ok(decimal));
        }

        #[test]
        fn what_survives_comes_back(mantissa: i64, scale in 0..=18_u8, tried in 0..=18_u8) {
            let decimal = Decimal::new(mantissa / 8, scale);
            if survives(decimal) {
                prop_assert_eq!(from_binary(decimal.to_f64(), tried), Ok(decimal));
            }
        }
    }

    #[test]
    fn seventeen_digits_do_not_survive() {
        assert!(!survives(Decimal::new(161_000_000_000_000_001, 15)));
        assert!(survives(Decimal::new(2_430_000_305_175_781, 14)));
    }
}
