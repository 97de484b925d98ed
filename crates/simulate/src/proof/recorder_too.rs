//! Which thermometer is judged: a product of which the recorder has to show the limit too, and a logger that
//! records no other thermometer than the recorder's.

use super::day::{Day, hour};
use super::expect::{Answer, Expected};
use super::proof_day::ProofDay;
use crate::days::at;
use crate::error::Error;
use trace::{Duration, Role};

pub(super) fn day() -> Result<ProofDay, Error> {
    let mut day = Day::played(&hour(vec![]), 1042)?;
    let milk = "name = \"whole milk\"\nrow = \"us-milk-15s\"\n";
    day.replant(milk, &format!("{milk}judged_by_recorder = true\n"))?;
    // Below the limit for too short to contradict the indicating thermometer.
    let (from, lasts) = (at(0, 30, 0), Duration::from_seconds(8));
    day.change(Role::RecorderTemperature, from, lasts, |_, _| 1609);
    let half = Duration::from_milliseconds(500);
    let over = day.between(from - half, from + lasts - half);
    let must = Answer::with(vec![Expected::unknown(&["recorder_short"], over)]).must();
    day.finish(
        "a_recorder_that_has_to_show_the_limit_too",
        "the plant has its product judged by the recorder as well: what the recorder does not show is not \
         verified (section 4)",
        must,
    )
}

pub(super) fn only_the_recorder() -> Result<ProofDay, Error> {
    let mut day = Day::played(&hour(vec![]), 1043)?;
    day.replant("recorder = ", "holding_temperature_is = \"recorder\"\nrecorder = ")?;
    day.replant(
        "recorder_temperature = { column = \"Recorder Temp (°F)\", unit = \"degF\" }\n",
        "",
    )?;
    let must = Answer::quiet()
        .note(&["indicating_not_recorded"])
        .verdict(&["the temperature is the recorder's"])
        .says(&["indicating thermometer reading at the start of each run"])
        .must();
    day.finish(
        "a_holding_temperature_of_the_recorder",
        "the sentence at the top says whose thermometer was judged, and the readings of the indicating one are \
         asked for (sections 4 and 8)",
        must,
    )
}
