//! For 590 s the logger writes its last row again and again, while the device is stuck forward and
//! cold milk goes by. Not one channel stands still for longer than 600 s.

use super::day::{Day, hour};
use super::expect::{Answer, Expected};
use super::proof_day::ProofDay;
use crate::days::{at, fault, seconds};
use crate::error::Error;
use crate::script::FaultKind;
use trace::Duration;

pub(super) fn day() -> Result<ProofDay, Error> {
    let faults = vec![
        fault(at(0, 30, 0), 300, FaultKind::ValveStuckForward),
        fault(at(0, 30, 10), 30, FaultKind::HeatingWaterLost),
    ];
    let mut day = Day::played(&hour(faults), 1009)?;
    // The rows of 05:28:00 to 05:37:50, 590 s from the first to the last.
    day.repeat(at(0, 28, 0), seconds(591));
    let half = Duration::from_milliseconds(500);
    // All but the first of them are unknown. Then the tube has to fill with 13.75 gal of metered
    // milk: 16.5 s from 05:37:51 on.
    let repeated = day.between(at(0, 28, 0) + half, at(0, 37, 50) + half);
    let filling = day.between(at(0, 37, 50) + half, at(0, 38, 8) - half);
    let must = Answer::with(vec![
        Expected {
            perhaps_causes: &["flow_unusable"],
            ..Expected::unknown(&["repeated"], repeated)
        },
        Expected::unknown(&["flow_unusable"], filling),
    ])
    .covered(day.unsafe_milk()?)
    .must();
    day.finish(
        "every_channel_repeated_for_590_s",
        "all measuring channels show the same readings for more than 60 s: a logger that repeats its \
         last row (section 4)",
        must,
    )
}
