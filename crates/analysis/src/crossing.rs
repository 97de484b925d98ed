//! Where a straight line between two readings crosses a limit, and what lies below the limit.

use trace::{Instant, Ratio, power_of_ten};

/// A reading of a channel, as the integer it is stored as.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Point {
    pub at: Instant,
    pub mantissa: i64,
}

/// The instant at which the straight line between two readings meets `limit`, rounded to the
/// nearest millisecond, an exact half to the later one. One reading must be below the limit and
/// the other not.
///
/// The arithmetic is exact: the same readings give the same millisecond on every machine.
pub(crate) fn crossing(from: Point, to: Point, scale: u8, limit: Ratio) -> Instant {
    let step = to.at.since(from.at).milliseconds();
    let figure = |mantissa: i64| {
        i128::from(mantissa) * limit.denominator()
            - limit.numerator() * i128::from(power_of_ten(scale))
    };
    let (first, last) = (figure(from.mantissa), figure(to.mantissa));
    let mut part = first.unsigned_abs();
    let mut whole = first.abs_diff(last);
    // Figures this large have more digits than any sensor; halving both keeps their ratio.
    let step_bits = 64 - step.unsigned_abs().leading_zeros();
    while part.leading_zeros() <= step_bits + 2 || whole.leading_zeros() <= 2 {
        part >>= 1;
        whole >>= 1;
    }
    if whole == 0 {
        return from.at.midpoint(to.at);
    }
    let twice = 2 * part * u128::from(step.unsigned_abs()) + whole;
    let offset = (twice / (2 * whole)) as i64;
    from.at + trace::Duration::from_milliseconds(offset.min(step))
}

/// The integral of `limit` minus the straight line from (`start`, `from`) to (`end`, `to`) where
/// the line is below the limit; in units of the reading times seconds.
pub(crate) fn area_below(start: Instant, end: Instant, from: f64, to: f64, limit: f64) -> f64 {
    let seconds = end.since(start).seconds();
    let (first, last) = (limit - from, limit - to);
    if first >= 0.0 && last >= 0.0 {
        f64::midpoint(first, last) * seconds
    } else if first <= 0.0 && last <= 0.0 {
        0.0
    } else {
        // A triangle: the part of the step below the limit is short/(short + over).
        let (short, over) = if first > 0.0 { (first, -last) } else { (last, -first) };
        short * short / (2.0 * (short + over)) * seconds
    }
}

/// The value at `at` of the straight line from (`start`, `from`) to (`end`, `to`).
pub(crate) fn on_line(start: Instant, end: Instant, from: f64, to: f64, at: Instant) -> f64 {
    let whole = end.since(start).milliseconds();
    if whole == 0 {
        return from;
    }
    let part = at.since(start).milliseconds();
    from + (to - from) * (part as f64 / whole as f64)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn point(at: i64, mantissa: i64) -> Point {
        Point { at: Instant::from_unix_milliseconds(at), mantissa }
    }

    #[test]
    fn crossings_by_hand() {
        // 161.4 → 160.9 over 1000 ms crosses 161 after 0.4/0.5 of it.
        let limit = Ratio::new(161, 1);
        for (from, to, at) in [
            (point(0, 1614), point(1000, 1609), 800),
            (point(0, 1609), point(1000, 1614), 200),
            (point(0, 1610), point(1000, 1600), 0),
            (point(0, 1600), point(1000, 1610), 1000),
            // 1/3 of 1000 is 333.3.
            (point(0, 1611), point(1000, 1608), 333),
            // Half of 1 ms goes to the later millisecond.
            (point(0, 1611), point(1, 1609), 1),
        ] {
            let crossing = crossing(from, to, 1, limit);
            assert_eq!(crossing, Instant::from_unix_milliseconds(at), "{from:?} {to:?}");
        }
    }

    #[test]
    fn many_digits_do_not_overflow() {
        let large = 1_000_000_000_000_000_000;
        let at = crossing(point(0, large), point(86_400_000, -large), 18, Ratio::new(0, 1));
        assert_eq!(at, Instant::from_unix_milliseconds(43_200_000));
    }

    #[test]
    fn areas_by_hand() {
        let at = Instant::from_unix_milliseconds;
        for (from, to, area) in [
            (160.0, 160.0, 2.0),
            (161.0, 159.0, 2.0),
            (162.0, 160.0, 0.5),
            (160.0, 164.0, 0.25),
            (162.0, 163.0, 0.0),
        ] {
            let below = area_below(at(0), at(2000), from, to, 161.0);
            assert!((below - area).abs() < 1e-12, "{from} {to}: {below}");
        }
    }
}
