//! Somebody sets the logger's clock back by seven minutes and half a second. Twenty seconds of cold
//! milk lie in the time that the clock then shows again, with the rows of the second pass between
//! those of the first.

use super::day::{Day, hour, reading};
use super::expect::{Answer, Expected};
use super::proof_day::ProofDay;
use crate::days::{at, fault, seconds};
use crate::error::Error;
use crate::script::FaultKind;
use crate::truth::TruthRule;
use trace::{Duration, Interval, Role};

pub(super) fn day() -> Result<ProofDay, Error> {
    let faults = vec![
        fault(at(0, 35, 30), 240, FaultKind::ValveStuckForward),
        fault(at(0, 36, 0), 14, FaultKind::HeatingWaterLost),
    ];
    let mut day = Day::played(&hour(faults), 1014)?;
    let first = day.first_short(at(0, 36, 0), 1610)?;
    let last = day
        .run
        .rows
        .iter()
        .skip(first)
        .take_while(|row| reading(row, Role::HoldingTemperature).is_some_and(|one| one < 1610))
        .last()
        .map_or(day.start, |row| row.instant);
    let half = Duration::from_milliseconds(500);
    let cold = Interval::between(
        last - (last.since(day.start) - seconds(first as i64)) - half,
        last + half,
    );
    // The last row of the first pass is that of 05:40:00; the next one, a second later, has the stamp
    // 05:33:00.5.
    let back = seconds(420) + half;
    let second_pass = at(0, 40, 0);
    for row in day.rows(second_pass + seconds(1), at(1, 0, 0)) {
        row.instant = row.instant - back;
    }
    let twice = day.between(second_pass + seconds(1) - back, second_pass);
    let must = Answer::with(vec![
        Expected { limit: Some("161"), ..Expected::short(TruthRule::Temperature, cold) },
        Expected::unknown(&["clock"], twice),
    ])
    .covered(day.unsafe_milk()?)
    .close(&["clock_set_back"])
    // A merged sample has a thermometer of one pass beside a recorder of the other.
    .perhaps_close(&["recorder_disagrees", "impossible_step"])
    .must();
    day.finish(
        "a_clock_set_back_by_seven_minutes",
        "rows of a time that was there before are merged into the nearest: one event stays one \
         exception, and the time that the clock shows twice can't be verified (sections 3, 5)",
        must,
    )
}
