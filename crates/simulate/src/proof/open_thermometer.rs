//! The thermometer's circuit opens, and for ten minutes it reads 250 °F: hot enough for any limit,
//! and hotter than milk can be there.

use super::day::{Day, hour};
use super::expect::{Answer, Expected};
use super::proof_day::ProofDay;
use crate::days::{at, seconds};
use crate::error::Error;
use trace::{Duration, Role};

pub(super) fn day() -> Result<ProofDay, Error> {
    let mut day = Day::played(&hour(vec![]), 1005)?;
    day.write(Role::HoldingTemperature, at(0, 25, 0), seconds(600), "250.0");
    let half = Duration::from_milliseconds(500);
    let over = day.between(at(0, 25, 0) - half, at(0, 35, 0) - half);
    let must = Answer::with(vec![Expected::unknown(&["invalid_reading"], over)]).must();
    day.finish(
        "an_open_thermometer",
        "250 °F is outside the physical range, 32 to 230 °F, and so no reading (sections 1, 5)",
        must,
    )
}
