//! A recorder that reads as high as the indicating thermometer, on the whole: the noise of both puts it
//! above at a third of all samples. And one that really reads above.

use super::day::{Day, hour};
use super::expect::Answer;
use super::proof_day::ProofDay;
use crate::days::at;
use crate::error::Error;
use trace::Role;

/// The recorder of the model reads 0.4 °F below the indicating thermometer.
fn raised(seed: u64, tenths: i64) -> Result<Day, Error> {
    let mut day = Day::played(&hour(vec![]), seed)?;
    day.shift(Role::RecorderTemperature, at(0, 0, 0), at(2, 0, 0), tenths);
    Ok(day)
}

pub(super) fn noise() -> Result<ProofDay, Error> {
    raised(1023, 4)?.finish(
        "a_recorder_as_high_as_the_thermometer",
        "the median over a minute is not above by more than one display step, 0.1 °F: noise is no \
         observation (section 8)",
        Answer::quiet().silent(&["recorder_above_indicating", "recorder_disagrees"]).must(),
    )
}

pub(super) fn above() -> Result<ProofDay, Error> {
    raised(1024, 9)?.finish(
        "a_recorder_above_the_thermometer",
        "0.5 °F above at the median of every minute: to be noted, once (section 8)",
        Answer::quiet().note(&["recorder_above_indicating"]).must(),
    )
}
