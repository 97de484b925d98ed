//! What a column's readings are like, whatever it is taken for.

use crate::sheets::Sheets;
use ingest::sheet::SheetColumn;
use plant::AnyUnit;
use trace::TemperatureUnit;

/// Around what milk is held at, in the middle of a day: from below the lowest legal limit of
/// an HTST (161 °F, 72 °C) to above the highest that is used (common practice).
const HELD: [(TemperatureUnit, f64, f64); 2] =
    [(TemperatureUnit::Fahrenheit, 155.0, 185.0), (TemperatureUnit::Celsius, 68.0, 85.0)];

/// The unit in which a column reads like milk that is held, if it does in one.
pub(crate) fn reads_as_held(column: &SheetColumn) -> Option<TemperatureUnit> {
    let middle = middle(column)?;
    let said = match column.unit {
        Some(AnyUnit::Temperature(unit)) => Some(unit),
        Some(_) => return None,
        None => None,
    };
    let fits = |&&(unit, least, most): &&(TemperatureUnit, f64, f64)| {
        said.is_none_or(|said| said == unit) && (least..=most).contains(&middle)
    };
    HELD.iter().find(fits).map(|&(unit, ..)| unit)
}

/// What a column reads for most of the file: the median of the middles of its curve's steps.
pub(crate) fn middle(column: &SheetColumn) -> Option<f64> {
    if !column.is_numeric() {
        return None;
    }
    let steps = column.curve.iter().flatten();
    let mut middles: Vec<f64> = steps.map(|&(least, most)| f64::midpoint(least, most)).collect();
    middles.sort_by(f64::total_cmp);
    middles.get(middles.len() / 2).copied()
}

/// How far two columns of a file move together: the correlation of their curves, 0 where one stands still.
pub(crate) fn together(sheets: &Sheets, one: usize, other: usize) -> f64 {
    if sheets.logger_of(one) != sheets.logger_of(other) {
        return 0.0;
    }
    let (Some(one), Some(other)) = (sheets.columns.get(one), sheets.columns.get(other)) else {
        return 0.0;
    };
    let pairs: Vec<(f64, f64)> = one
        .curve
        .iter()
        .zip(&other.curve)
        .filter_map(|(one, other)| {
            let ((a, b), (c, d)) = ((*one)?, (*other)?);
            Some((f64::midpoint(a, b), f64::midpoint(c, d)))
        })
        .collect();
    let count = pairs.len() as f64;
    let mean = |of: fn(&(f64, f64)) -> f64| pairs.iter().map(of).sum::<f64>() / count;
    let (mean_one, mean_other) = (mean(|pair| pair.0), mean(|pair| pair.1));
    let (mut both, mut first, mut second) = (0.0, 0.0, 0.0);
    for (one, other) in &pairs {
        let (one, other) = (one - mean_one, other - mean_other);
        both += one * other;
        first += one * one;
        second += other * other;
    }
    let spread = (first * second).sqrt();
    if spread > 0.0 { both / spread } else { 0.0 }
}
