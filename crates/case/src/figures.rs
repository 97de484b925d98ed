//! How figures are written for a person: the same on screen, on paper and in every sentence. JSON, CSV and
//! Parquet carry them unrounded, with an ASCII minus and without marks between thousands.
//!
//! * A reading is shown digit by digit as it was recorded.
//! * An amount has one decimal place below a hundred and none from there on; at most is rounded up.
//! * A time that was measured has hundredths of a second at most: at least is rounded down, at most up.
//! * A time of day has tenths of a second at most, and a date where the record lies on several.
//! * A minus is U+2212, and thousands are told apart by commas.

use crate::Case;
use analysis::{Basis, Volume};
use plant::Zone;
use trace::{Decimal, Duration, Instant, VolumeUnit};

/// `value` with so many decimal places, as a person reads it.
pub fn decimal_places(value: f64, digits: usize) -> String {
    number(&format!("{value:.digits$}"))
}

/// `value` with so many decimal places and its sign, as a person reads it.
pub fn signed(value: f64, digits: usize) -> String {
    number(&format!("{value:+.digits$}"))
}

/// A decimal as it was recorded, as a person reads it.
pub fn recorded(value: Decimal) -> String {
    number(&value.to_string())
}

/// The same of a reading with its unit; a residence time, which no logger recorded, is rounded down.
pub fn reading(value: Decimal, unit: &str) -> String {
    if unit != "s" {
        return format!("{} {unit}", recorded(value));
    }
    at_least(Duration::from_milliseconds((value.to_f64() * 1000.0).round() as i64))
}

/// A count, as a person reads it.
pub fn count(count: usize) -> String {
    number(&count.to_string())
}

/// A printed figure with a minus of its own and commas between thousands.
pub fn number(printed: &str) -> String {
    let (sign, digits) = match printed.strip_prefix(['-', '\u{2212}']) {
        Some(digits) => ("\u{2212}", digits),
        None => printed.strip_prefix('+').map_or(("", printed), |digits| ("+", digits)),
    };
    let (whole, rest) = digits.split_at(digits.find('.').unwrap_or(digits.len()));
    // What rounds to nothing has no side.
    let is_nothing = digits.bytes().all(|byte| matches!(byte, b'0' | b'.'));
    let mut text = if is_nothing && sign != "+" { String::new() } else { sign.to_owned() };
    for (place, digit) in whole.char_indices() {
        if place > 0 && (whole.len() - place).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    text.push_str(rest);
    text
}

/// A measured time, rounded to the nearest hundredth of a second.
pub fn about(time: Duration) -> String {
    hundredths(time.milliseconds().saturating_add(5))
}

/// A measured time, rounded down.
pub fn at_least(time: Duration) -> String {
    hundredths(time.milliseconds())
}

/// A measured time, rounded up.
pub fn at_most(time: Duration) -> String {
    hundredths(time.milliseconds().saturating_add(9))
}

fn hundredths(milliseconds: i64) -> String {
    Duration::from_milliseconds(milliseconds.div_euclid(10) * 10)
        .to_string()
        .replace('-', "\u{2212}")
}

/// A time of day on the clock of `zone`, cut to tenths of a second.
pub fn time_of_day(zone: Zone, at: Instant) -> String {
    let tenth = Duration::from_milliseconds(at.unix_milliseconds().rem_euclid(100));
    let clock = zone.clock(at - tenth);
    // The clock has thousandths where it has any, and behind them the name of the time in an hour that
    // comes twice.
    match clock.split_once('.') {
        Some((whole, rest)) => {
            let (fraction, name) = rest.split_at(rest.find(' ').unwrap_or(rest.len()));
            format!("{whole}.{}{name}", fraction.trim_end_matches('0'))
        }
        None => clock,
    }
}

impl Case {
    /// A time of day, with its date where the record lies on several: `05:12:03`, `4 Mar 05:12:03`.
    pub fn clock(&self, at: Instant) -> String {
        let (zone, interval) = (self.plant.zone, self.record.interval());
        let clock = time_of_day(zone, at);
        if zone.date(interval.start()) == zone.date(interval.end()) {
            return clock;
        }
        format!("{} {clock}", zone.short_date(at))
    }
}

/// Three significant figures are enough to act on: one decimal place below a hundred.
fn digits(value: f64) -> usize {
    usize::from(value.abs() < 99.95)
}

/// The estimated volume with unit and basis: `140 gal`, `12.5 L (nominal flow)`, `unknown`.
pub fn volume(volume: &Volume) -> String {
    let basis = match volume.basis {
        Basis::Metered | Basis::Unknown => "",
        Basis::Nominal => " (nominal flow)",
    };
    match volume.value {
        Some(value) => {
            format!("{}{basis}", amount(value, volume.unit.symbol()))
        }
        None => "volume unknown".to_owned(),
    }
}

/// A volume with its unit and nothing more: `140 gal`.
pub fn plain_volume(value: f64, unit: VolumeUnit) -> String {
    amount(value, unit.symbol())
}

/// A volume in a list that can be none at all: `140 gal`, `none`.
pub fn volume_or_none(value: f64, unit: VolumeUnit) -> String {
    if rounds_to_nothing(value) { "none".to_owned() } else { plain_volume(value, unit) }
}

/// Whether a volume is printed as zero.
pub(crate) fn rounds_to_nothing(value: f64) -> bool {
    value.abs() < 0.05
}

/// The same, of a unit by its symbol.
pub fn amount(value: f64, symbol: &str) -> String {
    format!("{} {symbol}", decimal_places(value, digits(value)))
}

/// The same, rounded up.
pub fn at_most_amount(value: f64, symbol: &str) -> String {
    let power = if digits(value) == 0 { 1.0 } else { 10.0 };
    let up = (value * power).ceil() / power;
    format!("{} {symbol}", decimal_places(up, digits(value)))
}

/// The greatest volume that can have passed, rounded up: `up to 145 gal`.
pub fn at_most_volume(volume: &Volume) -> String {
    match volume.outer_value {
        Some(value) => format!("up to {}", at_most_amount(value, volume.unit.symbol())),
        None => "an unknown volume".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_volume_that_would_be_printed_as_zero_is_none() {
        for value in [-0.04, 0.0, 0.049] {
            assert_eq!(volume_or_none(value, VolumeUnit::Gallon), "none");
            assert_eq!(plain_volume(value.abs(), VolumeUnit::Gallon), "0.0 gal");
        }
        assert_eq!(volume_or_none(0.06, VolumeUnit::Gallon), "0.1 gal");
    }

    #[test]
    fn what_is_at_most_is_never_rounded_down() {
        let mut one = Volume {
            value: Some(12.34),
            outer_value: Some(12.31),
            unit: VolumeUnit::Litre,
            basis: Basis::Metered,
        };
        assert_eq!(volume(&one), "12.3 L");
        assert_eq!(at_most_volume(&one), "up to 12.4 L");
        one.outer_value = Some(140.01);
        one.basis = Basis::Nominal;
        assert_eq!(at_most_volume(&one), "up to 141 L");
        assert_eq!(volume(&one), "12.3 L (nominal flow)");
        one.value = None;
        assert_eq!(volume(&one), "volume unknown");
    }

    #[test]
    fn a_figure_has_its_own_minus_and_its_thousands_apart() {
        for (printed, shown) in [
            ("-0.9", "\u{2212}0.9"),
            ("+2.1", "+2.1"),
            ("-0.00", "0.00"),
            ("1234567.25", "1,234,567.25"),
            ("-1000", "\u{2212}1,000"),
            ("999", "999"),
        ] {
            assert_eq!(number(printed), shown);
        }
        assert_eq!(plain_volume(99.96, VolumeUnit::Gallon), "100 gal");
        assert_eq!(plain_volume(99.94, VolumeUnit::Gallon), "99.9 gal");
        assert_eq!(plain_volume(4583.5, VolumeUnit::Gallon), "4,584 gal");
    }

    #[test]
    fn a_measured_time_has_hundredths_and_never_looks_safer() {
        let time = Duration::from_milliseconds;
        assert_eq!(at_least(time(14_999)), "14.99 s");
        assert_eq!(about(time(1466)), "1.47 s");
        assert_eq!(reading(Decimal::new(14_205, 3), "s"), "14.2 s");
        assert_eq!(reading(Decimal::new(14_205, 3), "psi"), "14.205 psi");
        assert_eq!(at_most(time(1001)), "1.01 s");
        assert_eq!(at_most(time(1000)), "1 s");
    }

    #[test]
    fn a_time_of_day_has_tenths_and_keeps_the_name_of_an_hour_that_comes_twice() {
        let Ok(zone) = "America/Chicago".parse::<Zone>() else { panic!("a zone") };
        let at = Instant::from_unix_milliseconds;
        // 2026-03-04T13:10:22.625Z and 2026-11-01T07:20:22.438Z.
        assert_eq!(time_of_day(zone, at(1_772_629_822_625)), "07:10:22.6");
        assert_eq!(time_of_day(zone, at(1_772_629_822_062)), "07:10:22");
        assert_eq!(time_of_day(zone, at(1_793_517_622_438)), "01:20:22.4 CST");
    }
}
