//! The flow meter loses its signal and the logger writes 0.0 gal/min for five minutes of forward
//! flow: a flow that would mean the longest holding time there is.

use super::day::{Day, hour};
use super::expect::{Answer, Expected};
use super::proof_day::ProofDay;
use crate::days::{at, fault};
use crate::error::Error;
use crate::script::FaultKind;
use trace::{Duration, Role};

pub(super) fn day() -> Result<ProofDay, Error> {
    let lost = FaultKind::Dropout { role: Role::FlowRate, text: "0.0" };
    let day = Day::played(&hour(vec![fault(at(0, 30, 0), 300, lost)]), 1002)?;
    // 0.0 is below a tenth of the 50 gal/min of the test. From 05:35:00 on the flow is read again;
    // the tube holds 50 / 60 × 16.5 = 13.75 gal, which take 16.5 s to pass, so that the first sample
    // of which the time is known is that of 05:35:17. Midpoints to either side.
    let half = Duration::from_milliseconds(500);
    let over = day.between(at(0, 30, 0) - half, at(0, 35, 17) - half);
    let must = Answer::with(vec![Expected::unknown(&["flow_unusable"], over)]).must();
    day.finish(
        "the_flow_meter_lost_its_signal",
        "a flow of 0.0 gal/min in forward flow proves no holding time, nor does what follows until \
         the tube is full of metered milk (sections 5, 7)",
        must,
    )
}
