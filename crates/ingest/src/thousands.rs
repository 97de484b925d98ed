//! Whether the mark in a column's readings may group thousands.
//!
//! `11.379` is eleven and a bit, or more than eleven thousand. A column settles it with one reading that
//! can't be grouped thousands: another count of digits behind the mark, more than three before it or a
//! leading zero, or a whole number that no instrument of its kind shows. What other columns show does not
//! count: a logger may write its counters in another way than its temperatures.

use crate::cells::unwrapped;
use std::borrow::Cow;
use trace::Decimal;

/// What is known of a column.
#[derive(Debug, Clone)]
pub(crate) enum Thousands {
    /// No reading has a mark yet.
    Unmarked,
    /// All marked readings could be thousands: line and text of the first, and the reading itself.
    Possible(u64, String, Decimal),
    /// The mark is a decimal mark.
    Settled,
}

impl Thousands {
    /// Looks at a reading with digits behind its mark. `range` is what its instrument can show.
    #[cold]
    pub(crate) fn look(
        &mut self,
        cell: &[u8],
        decimal: Decimal,
        line: u64,
        range: (Decimal, Decimal),
    ) {
        let whole = Decimal::whole(decimal.mantissa());
        let cell = &*plain_number(cell);
        if !may_be_thousands(cell) || !(range.0..=range.1).contains(&whole) {
            *self = Self::Settled;
        } else if matches!(self, Self::Unmarked) {
            *self =
                Self::Possible(line, String::from_utf8_lossy(cell.trim_ascii()).into(), decimal);
        }
    }

    /// Whether no more readings need to be looked at.
    #[inline]
    pub(crate) const fn is_settled(&self) -> bool {
        matches!(self, Self::Settled)
    }
}

/// A number without what stands around it, and with an ASCII sign.
pub(crate) fn plain_number(cell: &[u8]) -> Cow<'_, [u8]> {
    let plain = unwrapped(cell.trim_ascii()).trim_ascii();
    match plain.strip_prefix("\u{2212}".as_bytes()) {
        Some(digits) => [b"-", digits].concat().into(),
        None => plain.into(),
    }
}

/// One to three digits, not led by a zero, the mark, and three digits: `1,234`.
pub(crate) fn may_be_thousands(cell: &[u8]) -> bool {
    let cell = cell.trim_ascii();
    let digits = cell.strip_prefix(b"-").or(cell.strip_prefix(b"+")).unwrap_or(cell);
    let Some(at) = digits.iter().position(|byte| matches!(byte, b'.' | b',')) else {
        return false;
    };
    (1..=3).contains(&at) && digits.len() == at + 4 && digits.first() != Some(&b'0')
}

#[cfg(test)]
mod tests {
    use super::*;
    use trace::{DecimalMark, Toward};

    #[test]
    fn one_reading_that_cannot_be_thousands_settles_it() {
        let range = (Decimal::whole(-1000), Decimal::whole(200_000));
        for (cells, settled) in [
            (&["11.379"][..], false),
            (&["11.379", "12.000", "-1.000", "+1.000", "=\"1.000\"", "\u{2212}1.000"], false),
            (&["0.379"], true),
            (&["11.379", "1234.567"], true),
            (&["11.379", "1.37"], true),
            (&["11.379", ".379"], true),
            // Two hundred thousand is the most that there can be.
            (&["200.000"], false),
            (&["200.001"], true),
            (&["-1.001"], true),
        ] {
            let mut thousands = Thousands::Unmarked;
            for cell in cells {
                let cell = cell.as_bytes();
                let decimal = Decimal::parse(&plain_number(cell), DecimalMark::Dot, Toward::Down);
                thousands.look(cell, decimal.unwrap_or(Decimal::ZERO), 1, range);
            }
            assert_eq!(thousands.is_settled(), settled, "{cells:?}");
        }
    }
}
