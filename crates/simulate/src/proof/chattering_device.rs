//! The device chatters: for ten minutes it is four seconds between its switches and two seconds
//! diverted, with milk at 150 °F before it. It never reports that it is forward.

use super::day::{Day, hour};
use super::expect::{Answer, Expected};
use super::proof_day::ProofDay;
use crate::days::{at, seconds};
use crate::error::Error;
use crate::truth::TruthRule;
use trace::Role;

/// What is cold, and by how many tenths of a °F: 163.6 °F becomes 150.
const COLD: [Role; 3] =
    [Role::HoldingTemperature, Role::RecorderTemperature, Role::HeatingWaterTemperature];
const COLDER: i64 = -136;

pub(super) fn day() -> Result<ProofDay, Error> {
    let mut day = Day::played(&hour(vec![]), 1003)?;
    // A minute diverted while the milk gets cold, ten minutes of chatter, a minute diverted.
    let around = (at(0, 30, 0), seconds(720));
    day.shift_slowly(&COLD, around, seconds(60), COLDER);
    day.write(Role::Valve, around.0, around.1, "DIV");
    for round in 0..100 {
        day.write(Role::Valve, at(0, 31, 6 * round), seconds(4), "TRV");
    }
    let chatter = day.between(at(0, 31, 0) - seconds(1), at(0, 41, 0));
    // Four samples of travel span three seconds, more than the second that is allowed; with half a
    // second to either side each exception lasts four. Two seconds apart, all are one episode.
    let short = Expected {
        together: Some((seconds(400), seconds(1))),
        limit: Some("161"),
        ..Expected::some(TruthRule::Temperature, &["short"], chatter, 100..=100)
    };
    let must = Answer::with(vec![short])
        .episodes(1)
        // Whether a device that never was forward responds slowly, and why it diverted, is not what this
        // day is for.
        .perhaps_close(&["slow_response", "never_forward_in_production", "divert_without_cause"])
        .must();
    day.finish(
        "a_device_that_chatters_with_milk_at_150",
        "four seconds of travel and two diverted, for ten minutes: travel is judged, and a device \
         that lingers there passes milk (sections 1, 4)",
        must,
    )
}
