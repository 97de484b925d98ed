//! All day the recorder reads 158 °F beside an indicating thermometer at 164: one of the two is
//! wrong, and nothing says that it is the recorder.

use super::day::{Day, hour};
use super::expect::{Answer, Expected};
use super::proof_day::ProofDay;
use crate::days::at;
use crate::error::Error;
use trace::Role;

pub(super) fn day() -> Result<ProofDay, Error> {
    let mut day = Day::played(&hour(vec![]), 1006)?;
    day.shift(Role::RecorderTemperature, at(0, 0, 0), at(2, 0, 0), -54);
    // Every sample of forward flow and of travel is contradicted: one run.
    let over = day.all_forward_flow()?;
    let must = Answer::with(vec![Expected::unknown(&["contradicted"], over)])
        .close(&["recorder_disagrees"])
        .must();
    day.finish(
        "a_recorder_below_the_thermometer_all_day",
        "the recorder is below the limit and more than 1 °F below the indicating thermometer: the \
         reading is contradicted and proves nothing (section 4)",
        must,
    )
}
