//! The logger hangs for nine hours. It finds the device diverted when it comes back, as it was when
//! it went; in between the plant made milk, and some of it was cold.

use super::day::{Day, LOT, hours};
use super::expect::{Answer, Expected};
use super::proof_day::ProofDay;
use crate::days::{at, fault};
use crate::error::Error;
use crate::script::FaultKind;

const HUNG_S: i64 = 9 * 3600;

pub(super) fn day() -> Result<ProofDay, Error> {
    let script = hours(
        at(10, 20, 0),
        vec![
            // The device diverts for want of steam when the logger hangs, and again when it is back.
            fault(at(0, 38, 0), 180, FaultKind::SteamLost),
            fault(at(0, 40, 0), HUNG_S, FaultKind::LoggerStopped),
            fault(at(4, 0, 0), 300, FaultKind::ValveStuckForward),
            fault(at(4, 0, 10), 30, FaultKind::HeatingWaterLost),
            fault(at(9, 38, 0), 180, FaultKind::SteamLost),
        ],
    );
    let day = Day::played(&script, 1001)?;
    // The last row is that of 05:39:59, the next that of 14:40:00.
    let hole = day.between(at(0, 39, 59), at(9, 40, 0));
    let must = Answer::with(vec![Expected::unknown(&["gap_diverted"], hole)])
        .covered(day.unsafe_milk()?)
        .lots(&[LOT])
        // It was the list of what the record holds that called the day complete.
        .never_says(&["no gap", "known throughout", "at every sample"])
        .must();
    day.finish(
        "the_logger_hung_while_diverted",
        "nine hours without a row, diverted at both ends: long enough to go forward and divert again \
         unseen (sections 3, 5)",
        must,
    )
}
