//! The indicating thermometer drifts high for five hours, and heating and device follow it: the
//! reading stays at 163.8 °F while the milk gets colder. Something else at the same place must say so.

use super::day::{Day, hours};
use super::expect::{Answer, Expected};
use super::proof_day::ProofDay;
use crate::days::{at, fault};
use crate::error::Error;
use crate::script::{FaultKind, Script};
use crate::truth::TruthRule;
use trace::{Duration, Interval};

/// Five hours and a half of production with a thermometer that drifts from 05:20 on.
fn script(tenths_per_hour: u8) -> Script {
    let drift = FaultKind::ThermometerDrifts { tenths_per_hour };
    hours(at(5, 40, 0), vec![fault(at(0, 20, 0), 6 * 3600, drift)])
}

/// Contradicted from some time between `from` and `surely` on, in pieces at first, until the device
/// diverts.
fn contradicted(day: &Day, from: Duration, surely: Duration) -> Result<Expected, Error> {
    let end = day.all_forward_flow()?.end();
    let half = Duration::from_milliseconds(500);
    let within = Interval::between(day.start + from, end);
    Ok(Expected {
        covers: Some(Interval::between(day.start + surely, end - half)),
        ..Expected::some(TruthRule::Unverifiable, &["contradicted"], within, 1..=MOST)
    })
}

/// A slow crossing with the noise of two thermometers comes in pieces.
const MOST: usize = 150;

pub(super) fn against_the_recorder() -> Result<ProofDay, Error> {
    let day = Day::played(&script(10), 1007)?;
    // 1 °F an hour. The recorder reads what the milk is, less 0.4: 163.1 − drift, ± 0.7 for hunting
    // and noise. It is below 161 now and then from a drift of 1.4 on, always from 2.9 on; it is then
    // more than 1 °F below the indicating thermometer.
    let short = contradicted(&day, at(1, 44, 0), at(3, 14, 0))?;
    let must = Answer::with(vec![short]).close(&["recorder_disagrees"]).must();
    day.finish(
        "a_drift_that_the_recorder_shows",
        "a thermometer that drifts by 1 °F an hour, with a recorder beside it (section 4)",
        must,
    )
}

pub(super) fn against_the_heating_water() -> Result<ProofDay, Error> {
    let mut day = Day::played(&script(20), 1008)?;
    day.replant(
        "recorder_temperature = { column = \"Recorder Temp (°F)\", unit = \"degF\" }\n",
        "",
    )?;
    // 2 °F an hour. The hot water enters 3 to 8 °F above the milk, and so, by the readings, 3 to 8 °F
    // less the drift above it: more than 1 °F below from a drift of 4 on at the earliest, of 9 on at
    // the latest.
    let short = contradicted(&day, at(2, 20, 0), at(4, 50, 0))?;
    let must = Answer::with(vec![short]).must();
    day.finish(
        "a_drift_that_the_heating_water_shows",
        "a thermometer that drifts by 2 °F an hour, with no recorder: milk can't be hotter than the \
         water that heats it (section 4)",
        must,
    )
}
