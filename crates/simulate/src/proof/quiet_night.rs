//! A night with the pumps off: every reading stands still, the raw side stands a little higher than
//! the pasteurized side, and what is left in the cooler gets warm.

use super::day::{Day, hour};
use super::expect::Answer;
use super::proof_day::ProofDay;
use crate::days::at;
use crate::error::Error;
use crate::script::Script;
use chrono::NaiveDate;
use trace::Role;

pub(super) fn day() -> Result<ProofDay, Error> {
    let script = Script {
        start: NaiveDate::from_ymd_opt(2026, 3, 9)
            .and_then(|date| date.and_hms_opt(22, 0, 0))
            .unwrap_or_default(),
        duration: at(2, 0, 0),
        steps: vec![],
        ..hour(vec![])
    };
    let mut day = Day::played(&script, 1020)?;
    let whole = at(3, 0, 0);
    day.repeat(at(0, 0, 0), whole);
    for (role, reading) in [
        (Role::FlowRate, "0.0"),
        (Role::RawPressure, "4.1"),
        (Role::PasteurizedPressure, "3.6"),
        (Role::CooledTemperature, "52.0"),
    ] {
        day.write(role, at(0, 0, 0), whole, reading);
    }
    // The meter is bound, its reading valid and below 5 gal/min, a tenth of the tested flow.
    let mut must = Answer::quiet();
    must.nothing_observed = true;
    day.finish(
        "a_quiet_night_with_the_pumps_off",
        "diverted and standing: nothing is observed of pressures, temperatures and frozen channels \
         (section 8)",
        must.must(),
    )
}
