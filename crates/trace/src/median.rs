//! The middle of many values. Which of the two in the middle counts, of an even number, is decided
//! where it matters to the milk, so each way has its name:
//!
//! * [`lower`] for the step between two samples (`docs/method.md`, section 3), which gives the
//!   stricter gap limit, and for how far the recorder reads above the indicating thermometer
//!   (section 8), where a reading stays one that was recorded;
//! * [`upper`] for the hours that records waited: none is made to look faster;
//! * [`middle`], the mean of the two, for a line through many days, as its source has it.

use std::cmp::Ordering;

/// The lower of the two in the middle; `None` of no values. They are left in another order.
pub fn lower<T: Copy>(values: &mut [T], order: impl Fn(&T, &T) -> Ordering) -> Option<T> {
    let place = values.len().checked_sub(1)? / 2;
    Some(*values.select_nth_unstable_by(place, order).1)
}

/// The upper of the two in the middle; `None` of no values. They are left in another order.
pub fn upper<T: Copy>(values: &mut [T], order: impl Fn(&T, &T) -> Ordering) -> Option<T> {
    lower(values, |one, other| order(other, one))
}

/// The mean of the two in the middle; `None` of no values. They are left in another order.
pub fn middle(values: &mut [f64]) -> Option<f64> {
    Some(f64::midpoint(lower(values, f64::total_cmp)?, upper(values, f64::total_cmp)?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn of_an_even_number_each_takes_its_own() {
        for (values, low, high, mean) in [
            (vec![7.0], 7.0, 7.0, 7.0),
            (vec![4.0, 1.0], 1.0, 4.0, 2.5),
            (vec![3.0, 9.0, 1.0], 3.0, 3.0, 3.0),
            (vec![8.0, 2.0, 2.0, 5.0], 2.0, 5.0, 3.5),
        ] {
            assert_eq!(lower(&mut values.clone(), f64::total_cmp), Some(low), "{values:?}");
            assert_eq!(upper(&mut values.clone(), f64::total_cmp), Some(high), "{values:?}");
            assert_eq!(middle(&mut values.clone()), Some(mean), "{values:?}");
        }
        assert_eq!(lower::<i64>(&mut [], i64::cmp), None);
        assert_eq!(upper::<i64>(&mut [], i64::cmp), None);
        assert_eq!(middle(&mut []), None);
    }
}
