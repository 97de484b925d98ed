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

/// Integers of which most lie near the first, counted and not kept: the lower middle of millions without
/// a copy of them.
#[derive(Debug, Clone, Default)]
pub struct Counted {
    first: Option<i64>,
    /// How often each integer from [`HALF`] below the first one to as much above it.
    near: Vec<u64>,
    /// How many of them there are.
    count: usize,
    /// All others.
    far: Vec<i64>,
}

/// Half the width of what is counted: two seconds in milliseconds, two degrees in thousandths.
const HALF: i64 = 2048;

impl Counted {
    /// Counts one more.
    #[inline]
    pub fn add(&mut self, value: i64) {
        let first = *self.first.get_or_insert_with(|| {
            self.near = vec![0; 2 * HALF as usize];
            value
        });
        let place = value.checked_sub(first).and_then(|above| above.checked_add(HALF));
        let place = place.and_then(|place| usize::try_from(place).ok());
        match place.and_then(|place| self.near.get_mut(place)) {
            Some(times) => {
                *times += 1;
                self.count += 1;
            }
            None => self.far.push(value),
        }
    }

    /// How many were counted.
    pub const fn len(&self) -> usize {
        self.count + self.far.len()
    }

    /// Whether none was counted.
    pub const fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The least, the lower of the two in the middle and the greatest; `None` of none.
    pub fn least_lower_greatest(mut self) -> Option<[i64; 3]> {
        let first = self.first?;
        self.far.sort_unstable();
        let below = self.far.partition_point(|&value| value < first);
        let (below, above) = self.far.split_at(below);
        let at = |place: usize| {
            if let Some(&value) = below.get(place) {
                return Some(value);
            }
            let mut left = place - below.len();
            if let Some(left) = left.checked_sub(self.count) {
                return above.get(left).copied();
            }
            for (place, &times) in self.near.iter().enumerate() {
                match left.checked_sub(times as usize) {
                    Some(rest) => left = rest,
                    None => return Some(first - HALF + place as i64),
                }
            }
            None
        };
        let last = self.len() - 1;
        Some([at(0)?, at(last / 2)?, at(last)?])
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn counted_integers_have_the_middle_of_sorted_ones(
            near in prop::collection::vec(-3000_i64..3000, 1..40),
            far in prop::collection::vec(any::<i64>(), 0..6),
        ) {
            let mut all: Vec<i64> = near.into_iter().chain(far).collect();
            let mut counted = Counted::default();
            for &value in &all {
                counted.add(value);
            }
            prop_assert_eq!(counted.len(), all.len());
            let lower = lower(&mut all, i64::cmp);
            let ends = (all.iter().min().copied(), all.iter().max().copied());
            let found = counted.least_lower_greatest();
            prop_assert_eq!(found, ends.0.zip(lower).zip(ends.1).map(|((a, b), c)| [a, b, c]));
        }
    }

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
