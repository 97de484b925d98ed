//! What is listed when there is more than anyone reads on paper: what matters most, and how much is
//! not listed. Sums always count everything, and the JSON of the same holds everything.

use std::cmp::Reverse;
use std::collections::BTreeSet;

/// How much something matters: the most product that can have passed while it lasted (of a run: how many
/// exceptions touched it), then how long it can have lasted.
pub(crate) struct Weight {
    /// `None` where it is not known: that counts as the most.
    pub(crate) at_most: Option<f64>,
    pub(crate) milliseconds: i64,
}

/// The places of so many that matter most, of things in their order.
pub(crate) fn most(weights: impl Iterator<Item = Weight>, count: usize) -> BTreeSet<usize> {
    let mut order: Vec<(usize, f64, i64)> = weights
        .enumerate()
        .map(|(place, weight)| {
            (place, weight.at_most.unwrap_or(f64::INFINITY), weight.milliseconds)
        })
        .collect();
    order.sort_by(|one, other| {
        let by_volume = other.1.total_cmp(&one.1);
        by_volume.then_with(|| (Reverse(one.2), one.0).cmp(&(Reverse(other.2), other.0)))
    });
    order.into_iter().take(count).map(|(place, ..)| place).collect()
}

/// Which are listed where the product that passed is the weight.
pub(crate) const MOST_PASSED: &str =
    "during which the most product passed, of unknown volume first";

/// Says what is not listed; blank when all is.
pub(crate) fn unlisted(all: usize, listed: usize, what: &str, which: &str) -> String {
    if all <= listed {
        return String::new();
    }
    format!(
        "Of {all} {what} {listed} are listed: those {which}. The other {} are counted in all \
         figures; the JSON output lists them.",
        all - listed
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_known_comes_first_then_the_most_then_the_longest() {
        let weights = [
            (Some(1.0), 10),
            (None, 1),
            (Some(7.0), 5),
            (Some(1.0), 20),
            (None, 2),
            (Some(1.0), 20),
        ];
        let most = |count| {
            let weights = weights.map(|(at_most, milliseconds)| Weight { at_most, milliseconds });
            most(weights.into_iter(), count).into_iter().collect::<Vec<_>>()
        };
        assert_eq!(most(1), [4]);
        assert_eq!(most(3), [1, 2, 4]);
        assert_eq!(most(4), [1, 2, 3, 4]);
        assert_eq!(most(9), [0, 1, 2, 3, 4, 5]);
        assert_eq!(unlisted(6, 6, "exceptions", MOST_PASSED), "");
        let said = unlisted(6, 4, "exceptions", MOST_PASSED);
        assert!(said.starts_with("Of 6 exceptions 4 are listed: those during which"), "{said}");
        assert!(said.contains("The other 2 are counted"), "{said}");
    }
}
