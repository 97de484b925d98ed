//! How figures are rounded for a person. JSON and CSV carry them unrounded.

use analysis::{Basis, Volume};
use trace::VolumeUnit;

/// `value` with so many digits behind the mark.
pub fn decimal_places(value: f64, digits: usize) -> String {
    format!("{value:.digits$}")
}

/// Three significant figures are enough to act on: one digit behind the mark below a hundred.
fn digits(value: f64) -> usize {
    usize::from(value.abs() < 100.0)
}

/// The estimated volume with unit and basis: `140 gal`, `12.5 L (nominal flow)`, `unknown`.
pub fn volume(volume: &Volume) -> String {
    let basis = match volume.basis {
        Basis::Metered | Basis::Unknown => "",
        Basis::Nominal => " (nominal flow)",
    };
    match volume.value {
        Some(value) => {
            format!("{value:.*} {}{basis}", digits(value), volume.unit.symbol())
        }
        None => "volume unknown".to_owned(),
    }
}

/// A volume with its unit and nothing more: `140 gal`.
pub fn plain_volume(value: f64, unit: VolumeUnit) -> String {
    format!("{value:.*} {}", digits(value), unit.symbol())
}

/// The greatest volume that can have passed, rounded up: `up to 145 gal`.
pub fn at_most_volume(volume: &Volume) -> String {
    match volume.outer_value {
        Some(value) => {
            let digits = digits(value);
            let power = if digits == 0 { 1.0 } else { 10.0 };
            let up = (value * power).ceil() / power;
            format!("up to {up:.digits$} {}", volume.unit.symbol())
        }
        None => "an unknown volume".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

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
}
