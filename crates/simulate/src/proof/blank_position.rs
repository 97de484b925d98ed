//! The cell of the device's position is blank for five minutes, while the meter shows twice the flow:
//! hot enough, on the safe side of the regenerator, and not long enough.

use super::day::{Day, hour};
use super::expect::{Answer, Expected};
use super::proof_day::ProofDay;
use crate::days::{at, seconds};
use crate::error::Error;
use trace::{Duration, Role};

pub(super) fn day() -> Result<ProofDay, Error> {
    let mut day = Day::played(&hour(vec![]), 1013)?;
    day.write(Role::Valve, at(0, 30, 0), seconds(300), "");
    // Twice the flow from 05:30:10 to 05:34:40, up and down in ten seconds: 13.75 gal are then in the
    // tube for 8.25 s. At 05:35:00, when the position is read again, they all came at 50 gal/min.
    let (lasts, ramp) = (seconds(270), seconds(10));
    day.change(Role::FlowRate, at(0, 30, 10), lasts, |since, flow| {
        let left =
            (lasts - since).milliseconds().min(since.milliseconds()).min(ramp.milliseconds());
        flow + flow * left / ramp.milliseconds()
    });
    let half = Duration::from_milliseconds(500);
    let over = day.between(at(0, 30, 0) - half, at(0, 35, 0) - half);
    let must = Answer::with(vec![Expected::unknown(&["position_unknown"], over)]).must();
    day.finish(
        "a_blank_position_at_twice_the_flow",
        "an unknown position is harmless only where every rule that is judged is legal, time as well \
         (section 5)",
        must,
    )
}
