//! A straight line through days that a few odd days don't bend: the median of the slopes between
//! all pairs of days (Theil 1950, Sen 1968) with Sen's 95 % interval, ties taken into account.
//!
//! P. K. Sen, "Estimates of the regression coefficient based on Kendall's tau", J. Am. Stat. Assoc.
//! 63 (1968), 1379. Checked against `scipy.stats.theilslopes` (`tests/reference/drift.csv`). The
//! interval takes days for independent, which they are not quite; a line is a reason to look, not a
//! forecast.

use serde::Serialize;
use trace::median;

/// The fewest days for a line (ours): below ten the interval says little.
pub const FEWEST_DAYS: usize = 10;

/// The most days for a line, the last of those there are (ours): about four years of working days. What an
/// older one says of today's equipment is little, and the pairs grow with the square of the days.
pub const MOST_DAYS: usize = 1_000;

/// The 97.5 % point of the standard normal distribution.
const Z: f64 = 1.959_963_984_540_054;

/// A line through days.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Drift {
    /// The change a day.
    pub per_day: f64,
    /// The lower end of its 95 % interval.
    pub low: f64,
    /// The upper end.
    pub high: f64,
    /// What the line gives for the last day.
    pub last: f64,
    /// How many days it rests on.
    pub days: usize,
}

/// When a margin is used up if it goes on falling as it did.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct UsedUp {
    /// In so many days from the last one.
    pub days: f64,
    /// Between so many days…
    pub soonest: f64,
    /// …and so many.
    pub latest: f64,
}

impl Drift {
    /// The line through the last [`MOST_DAYS`] points of day number and value, which are in order of days;
    /// `None` below [`FEWEST_DAYS`] points, or when all lie on one day.
    pub fn of(points: &[(i64, f64)]) -> Option<Self> {
        if points.len() < FEWEST_DAYS {
            return None;
        }
        let points = &points[points.len().saturating_sub(MOST_DAYS)..];
        let mut slopes = Vec::with_capacity(points.len() * (points.len() - 1) / 2);
        for (index, (day, value)) in points.iter().enumerate() {
            for (other_day, other_value) in &points[index + 1..] {
                let apart = other_day - day;
                if apart != 0 {
                    slopes.push((other_value - value) / apart as f64);
                }
            }
        }
        let per_day = median::middle(&mut slopes)?;
        slopes.sort_by(f64::total_cmp);
        let mut days: Vec<f64> = points.iter().map(|(day, _)| *day as f64).collect();
        let mut values: Vec<f64> = points.iter().map(|(_, value)| *value).collect();
        days.sort_by(f64::total_cmp);
        values.sort_by(f64::total_cmp);
        let spread = |count: usize| {
            let count = count as f64;
            count * (count - 1.0) * (2.0 * count + 5.0)
        };
        let ties: f64 =
            [&days, &values].into_iter().flat_map(|sorted| repeats(sorted)).map(spread).sum();
        let sigma = ((spread(points.len()) - ties).max(0.0) / 18.0).sqrt();
        let pairs = slopes.len() as f64;
        let half_width = Z * sigma;
        let middle = |low: f64, high: f64| f64::midpoint(low, high).round_ties_even();
        let upper = middle(pairs, half_width) as usize;
        let lower = (middle(pairs, -half_width) - 1.0).max(0.0) as usize;
        let at = |index: usize| slopes[index.min(slopes.len() - 1)];
        let latest = days.last().copied()?;
        let last = median::middle(&mut values)? + per_day * (latest - median::middle(&mut days)?);
        Some(Self { per_day, low: at(lower), high: at(upper), last, days: points.len() })
    }

    /// Whether the change is told from none.
    pub fn is_significant(&self) -> bool {
        self.low > 0.0 || self.high < 0.0
    }

    /// When what is left above zero is used up; `None` unless the data tell that it falls.
    pub fn used_up(&self) -> Option<UsedUp> {
        (self.high < 0.0 && self.last > 0.0).then(|| UsedUp {
            days: self.last / -self.per_day,
            soonest: self.last / -self.low,
            latest: self.last / -self.high,
        })
    }
}

/// How often each value that is there more than once is there.
fn repeats(sorted: &[f64]) -> Vec<usize> {
    let runs = sorted.chunk_by(|one, other| one.total_cmp(other).is_eq());
    runs.map(<[f64]>::len).filter(|count| *count > 1).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// `tests/reference/make_references.py` wrote the file with SciPy, which names its version.
    #[test]
    fn lines_as_scipy_gives_them() {
        let file = include_str!("../../../tests/reference/drift.csv");
        let mut cases = 0;
        for line in file.lines().filter(|line| !line.starts_with(['#', 'p'])) {
            let fields: Vec<&str> = line.split(',').collect();
            let [points, slope, low, high, last] = fields[..] else { panic!("{line}") };
            let number =
                |text: &str| text.parse::<f64>().unwrap_or_else(|cause| panic!("{text}: {cause}"));
            let points: Vec<(i64, f64)> = points
                .split(' ')
                .map(|point| {
                    let Some((day, value)) = point.split_once(':') else { panic!("{point}") };
                    (number(day) as i64, number(value))
                })
                .collect();
            let Some(drift) = Drift::of(&points) else { panic!("{line}") };
            for (got, want) in
                [(drift.per_day, slope), (drift.low, low), (drift.high, high), (drift.last, last)]
            {
                let want = number(want);
                assert!((got - want).abs() <= 1e-9 * want.abs().max(1.0), "{got} {want}: {line}");
            }
            cases += 1;
        }
        assert!(cases >= 20, "{cases} cases");
    }

    #[test]
    fn a_margin_that_falls_is_used_up() {
        let points: Vec<(i64, f64)> =
            (0..40).map(|day| (day, 4.0 - 0.05 * day as f64 + 0.01 * (day % 3) as f64)).collect();
        let Some(drift) = Drift::of(&points) else { panic!("forty days") };
        assert!(drift.is_significant());
        let Some(used_up) = drift.used_up() else { panic!("it falls") };
        // From about 2.05 at 0.05 a day.
        assert!((used_up.days - 41.0).abs() < 1.0, "{used_up:?}");
        assert!(used_up.soonest <= used_up.days && used_up.days <= used_up.latest);
    }

    /// By hand: 2 left, at 0.05 a day 40 days; at 0.1 a day 20, at 0.04 a day 50.
    #[test]
    fn soonest_is_the_steepest() {
        let drift = Drift { per_day: -0.05, low: -0.1, high: -0.04, last: 2.0, days: 40 };
        let Some(UsedUp { days, soonest, latest }) = drift.used_up() else { panic!("it falls") };
        for (got, want) in [(days, 40.0), (soonest, 20.0), (latest, 50.0)] {
            assert!((got - want).abs() < 1e-9, "{got} {want}");
        }
        // Nothing is left, or the interval holds a margin that does not fall: nothing is foretold.
        assert_eq!(Drift { last: 0.0, ..drift }.used_up(), None);
        assert_eq!(Drift { high: 0.01, ..drift }.used_up(), None);
    }

    #[test]
    fn noise_is_no_drift() {
        let points: Vec<(i64, f64)> =
            (0..40).map(|day| (day, 4.0 + f64::from(u8::from(day % 2 == 0)))).collect();
        let Some(drift) = Drift::of(&points) else { panic!("forty days") };
        assert!(!drift.is_significant(), "{drift:?}");
        assert_eq!(drift.used_up(), None);
        assert_eq!(Drift::of(&points[..9]), None);
    }

    /// What is older than the most days changes nothing.
    #[test]
    fn the_line_rests_on_the_last_days() {
        let falling = |day: i64| (day, -0.01 * day as f64 + 0.1 * (day % 7) as f64);
        let last: Vec<_> = (500..500 + MOST_DAYS as i64).map(falling).collect();
        let older = (0..500).map(|day| (day, 0.5 * day as f64));
        let all: Vec<_> = older.chain(last.iter().copied()).collect();
        let Some(drift) = Drift::of(&all) else { panic!("days enough") };
        assert_eq!(Some(drift), Drift::of(&last));
        assert_eq!(drift.days, MOST_DAYS);
        // One more counts.
        assert_ne!(Some(drift), Drift::of(&all[..all.len() - 1]));
    }

    proptest! {
        /// One day gone mad moves the line no further than its neighbours allow.
        #[test]
        fn one_odd_day_does_not_turn_the_line(odd in 0_usize..30, value in -1e6_f64..1e6) {
            let mut points: Vec<(i64, f64)> = (0..30).map(|day| (day, -0.5 * day as f64)).collect();
            points[odd].1 = value;
            let Some(drift) = Drift::of(&points) else { panic!("thirty days") };
            prop_assert!((drift.per_day + 0.5).abs() < 1e-9);
        }
    }
}
