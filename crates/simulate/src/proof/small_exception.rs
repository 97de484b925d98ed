//! Two seconds of cold milk before the device is diverted: 1.7 gal. They went into a tank, and so it
//! is the tank that is to be held.

use super::day::{Day, LOT, hour};
use super::expect::{Answer, Expected};
use super::proof_day::ProofDay;
use crate::days::{MILK, at, fault, seconds};
use crate::error::Error;
use crate::script::FaultKind;
use crate::truth::TruthRule;
use trace::{Duration, Interval};

pub(super) fn day() -> Result<ProofDay, Error> {
    let faults = vec![
        fault(at(0, 29, 55), 90, FaultKind::ValveStuckForward),
        fault(at(0, 30, 0), 25, FaultKind::HeatingWaterLost),
    ];
    let mut day = Day::played(&hour(faults), 1019)?;
    let first = day.first_short(at(0, 30, 0), 1610)?;
    day.divert_from(first + 2);
    let at_first = day.run.rows.get(first).map_or(day.start, |row| row.instant);
    // From the crossing to half a second behind the second of the two samples: 1.5 to 2.5 s.
    let short = Expected {
        covers: Some(Interval::between(at_first, at_first + seconds(1))),
        together: Some((seconds(2), Duration::from_milliseconds(600))),
        limit: Some("161"),
        ..Expected::some(
            TruthRule::Temperature,
            &["short"],
            Interval::between(at_first - seconds(1), at_first + seconds(2)),
            1..=1,
        )
    };
    let sheet = format!(
        "start,end,product,lot,tank,quantity (gal)\n\
         2026-03-10 05:12,2026-03-10 05:50,{MILK},{LOT},tank 4,1900\n"
    );
    let must = Answer::with(vec![short])
        // The sheet says nothing of the four minutes diverted.
        .close(&["slow_response", "amount_disagrees"])
        .perhaps_close(&["cut_out_below_limit"])
        .lots(&[LOT])
        .tanks(&["tank 4"])
        .verdict(&[LOT, "tank 4"])
        .must();
    let day = day.finish(
        "a_small_exception_names_lot_and_tank",
        "the sentence at the top says what passed and what to hold, never that only so much is in \
         doubt (section 10)",
        must,
    )?;
    Ok(day.with_run_sheet(sheet))
}
