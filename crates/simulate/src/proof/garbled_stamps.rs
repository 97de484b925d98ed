//! Two rows with a garbled stamp, and they are the only two that show cold milk. The rows around them
//! are three seconds apart, which is no gap by its length.

use super::day::{Day, hour, replaced};
use super::expect::{Answer, Expected};
use super::proof_day::ProofDay;
use crate::days::{at, seconds};
use crate::error::Error;
use trace::{Duration, Role};

pub(super) fn day() -> Result<ProofDay, Error> {
    let mut day = Day::played(&hour(vec![]), 1012)?;
    for role in [Role::HoldingTemperature, Role::RecorderTemperature] {
        day.shift(role, at(0, 30, 0), seconds(2), -46);
    }
    let log = replaced(&day.log()?, "\n2026-03-10 05:30:00,", "\n2026-03-10 05:3#:00,")?;
    let log = replaced(&log, "\n2026-03-10 05:30:01,", "\n2026-03-10 05,")?;
    let hole = day.between(at(0, 29, 59), at(0, 30, 2));
    // 13.75 gal of metered milk from 05:30:02 on.
    let filling = day.between(at(0, 30, 2), at(0, 30, 19) - Duration::from_milliseconds(500));
    let must = Answer::with(vec![
        // The hole is short: to the sample.
        Expected {
            within: hole,
            covers: Some(hole),
            unplaced: Some((2, 2)),
            ..Expected::unknown(&["unplaced_rows"], hole)
        },
        Expected::unknown(&["flow_unusable"], filling),
    ])
    .close(&["unplaced_rows"])
    .must();
    Ok(ProofDay::new(
        "two_garbled_stamps_over_a_dip",
        "rows whose stamp can't be read have no place, but they were recorded: the step over them is \
         a gap, whatever its length (sections 3, 5)",
        must,
        Some(day.plant),
        log,
    ))
}
