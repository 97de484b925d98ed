//! One forward sample of cold milk, then four seconds of travel before the device is diverted: five
//! seconds in which milk passed, though the next sample after the forward one is not forward.

use super::day::{Day, hour, put};
use super::expect::{Answer, Expected};
use super::proof_day::ProofDay;
use crate::days::{at, fault, seconds};
use crate::error::Error;
use crate::script::FaultKind;
use crate::truth::TruthRule;
use trace::{Duration, Interval, Role};

pub(super) fn day() -> Result<ProofDay, Error> {
    let faults = vec![
        fault(at(0, 29, 55), 90, FaultKind::ValveStuckForward),
        fault(at(0, 30, 0), 25, FaultKind::HeatingWaterLost),
    ];
    let mut day = Day::played(&hour(faults), 2004)?;
    let first = day.first_short(at(0, 30, 0), 1610)?;
    for row in day.run.rows.iter_mut().skip(first + 1).take(4) {
        put(row, Role::Valve, "TRV");
    }
    day.divert_from(first + 5);
    let at_first = day.run.rows.get(first).map_or(day.start, |row| row.instant);
    // From the crossing in the second before the first short sample to half a second behind the last
    // in travel: 4.5 to 5.5 s, many times the second that is allowed.
    let short = Expected {
        covers: Some(Interval::between(at_first, at_first + seconds(4))),
        together: Some((seconds(5), Duration::from_milliseconds(600))),
        limit: Some("161"),
        ..Expected::some(
            TruthRule::Temperature,
            &["short"],
            Interval::between(at_first - seconds(1), at_first + seconds(5)),
            1..=1,
        )
    };
    let must = Answer::with(vec![short])
        .close(&["slow_response"])
        .perhaps_close(&["cut_out_below_limit"])
        .must();
    day.finish(
        "one_forward_sample_and_slow_travel",
        "a response ends at diverted and not at \"no longer forward\"; travel is judged (section 4)",
        must,
    )
}
