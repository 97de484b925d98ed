//! The night of the change to summer time, with a logger whose clock stays on winter time. Its stamps
//! from 02:00 to 03:00 do not exist on the plant's clock; in that hour five minutes of milk at 150 °F
//! went forward.

use super::day::{Day, hours, missing};
use super::expect::{Answer, Expected};
use super::proof_day::ProofDay;
use crate::days::{at, seconds};
use crate::error::Error;
use crate::script::Script;
use crate::truth::TruthRule;
use chrono::NaiveDate;
use trace::{Duration, Role};

/// Milk at 150 °F from 02:20 to 02:25 by the logger's clock.
fn played() -> Result<Day, Error> {
    let script = Script {
        start: NaiveDate::from_ymd_opt(2026, 3, 8)
            .and_then(|date| date.and_hms_opt(1, 0, 0))
            .unwrap_or_default(),
        ..hours(at(2, 50, 0), vec![])
    };
    let mut day = Day::played(&script, 1011)?;
    for role in [Role::HoldingTemperature, Role::RecorderTemperature] {
        day.shift(role, at(1, 20, 0), seconds(300), -136);
    }
    // Winter time of Chicago, all year: six hours behind UTC (the sign of these names is turned).
    let winter = "Etc/GMT+6".parse();
    let winter = winter.map_err(|unknown: plant::UnknownZone| missing(unknown.to_string()))?;
    day.run.zone = winter;
    Ok(day)
}

pub(super) fn local_clock() -> Result<ProofDay, Error> {
    let day = played()?;
    // 01:59:59 is a second before 03:00:00 on that night, and 3600 rows lie between the two.
    let hole = day.between(at(0, 59, 59), at(1, 0, 0));
    // The tube fills with 13.75 gal of metered milk from 03:00:00 on; the sample of 03:00:17 is the
    // first of which the time is known. There is no neighbour without a gap before.
    let filling = day.between(at(1, 0, 0), at(1, 0, 17) - Duration::from_milliseconds(500));
    let must = Answer::with(vec![
        Expected { unplaced: Some((3600, 300)), ..Expected::unknown(&["unplaced_rows"], hole) },
        Expected::unknown(&["flow_unusable"], filling),
    ])
    .close(&["unplaced_rows"])
    .says(&["3600", "300"])
    .must();
    day.finish(
        "a_spring_hour_that_does_not_exist",
        "3600 rows with stamps that do not exist: they have no place, but they were recorded, and 300 \
         of them show forward flow short of a limit (sections 3, 5)",
        must,
    )
}

pub(super) fn standard_clock() -> Result<ProofDay, Error> {
    let mut day = played()?;
    day.replant(
        "date_order = \"month-first\"\n",
        "date_order = \"month-first\"\nclock = \"standard\"\n",
    )?;
    let cold = day.between(at(1, 20, 0), at(1, 25, 0));
    let short = Expected { limit: Some("161"), ..Expected::short(TruthRule::Temperature, cold) };
    let must = Answer::with(vec![short]).must();
    day.finish(
        "a_spring_hour_on_a_standard_clock",
        "the same file with a plant file that says how the logger's clock runs: every row has its \
         place (section 3)",
        must,
    )
}
