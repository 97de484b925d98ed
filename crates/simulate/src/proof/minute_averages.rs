//! The logger writes one-minute averages. Milk falls to 150 °F for a moment in forward flow, and no
//! average is short.

use super::day::{Day, hour, missing, reading, replaced};
use super::expect::{Answer, Expected};
use super::proof_day::ProofDay;
use crate::days::{at, seconds};
use crate::error::Error;
use crate::record::{COLUMNS, Cell, Row};
use trace::{Decimal, Interval, Role};

/// One row of the averages over some rows, with the stamp and the words of the last.
fn average(rows: &[Row]) -> Option<Row> {
    let mut row = rows.last()?.clone();
    for (cell, column) in row.cells.iter_mut().zip(COLUMNS) {
        if matches!(cell, Cell::Reading(_)) {
            let readings: Vec<i64> =
                rows.iter().filter_map(|row| reading(row, column.role)).collect();
            let sum: i64 = readings.iter().sum();
            let count = readings.len() as i64;
            // To the nearest tenth.
            let mean = (2 * sum + count).div_euclid(2 * count);
            *cell = Cell::Reading(Decimal::new(mean, 1));
        }
    }
    Some(row)
}

pub(super) fn day() -> Result<ProofDay, Error> {
    let mut day = Day::played(&hour(vec![]), 1010)?;
    // Eight seconds, 13.6 °F colder: an average that is 8 × 13.6 / 60 = 1.8 °F lower, 161.8 °F.
    let (from, lasts) = (at(0, 30, 20), seconds(8));
    for role in [Role::HoldingTemperature, Role::RecorderTemperature] {
        day.shift(role, from, lasts, -136);
    }
    let dip = day.between(from, from + lasts);
    let rows: Vec<Row> =
        day.run.rows.get(1..).unwrap_or_default().chunks_exact(60).filter_map(average).collect();
    let whole = match (rows.first(), rows.last()) {
        (Some(first), Some(last)) => Interval::between(first.instant, last.instant),
        _ => return Err(missing("an average")),
    };
    day.run.rows = rows;
    let mut log = day.log()?;
    for name in ["Hold Temp", "Recorder Temp"] {
        let (plain, averaged) = (format!("{name} (°F)"), format!("{name} average (°F)"));
        log = replaced(&log, &plain, &averaged)?;
        day.replant(&plain, &averaged)?;
    }
    // A step of 60 s is longer than 15 s, the most that a gap limit can be: the whole record is one
    // hole, and forward flow is in it.
    let must = Answer::with(vec![Expected::unknown(&["gap"], whole)])
        .covered(vec![dip])
        .note(&["slow_sampling", "averaged_readings"])
        .verdict(&["one sample every"])
        .must();
    Ok(ProofDay::new(
        "one_minute_averages_over_a_dip",
        "one row a minute: whole parcels pass unseen, and an average proves none of them (sections 3, \
         5, 8, 10)",
        must,
        Some(day.plant),
        log,
    ))
}
