//! The run sheet says cream where the logger says milk, and the milk is hot enough for milk.

use super::day::{Day, LOT, hour};
use super::expect::{Answer, Expected};
use super::proof_day::ProofDay;
use crate::days::{CREAM, at};
use crate::error::Error;
use crate::truth::TruthRule;
use trace::Duration;

pub(super) fn day() -> Result<ProofDay, Error> {
    let day = Day::played(&hour(vec![]), 1018)?;
    let sheet = format!(
        "start,end,product,lot,tank,quantity (gal)\n\
         2026-03-10 05:12,2026-03-10 05:50,\"{CREAM}\",{LOT},tank 4,1900\n"
    );
    let half = Duration::from_milliseconds(500);
    let over = day.between(at(0, 12, 0) - half, at(0, 50, 0) - half);
    let short = Expected { limit: Some("166"), ..Expected::short(TruthRule::Temperature, over) };
    let must = Answer::with(vec![short])
        .close(&["run_sheet_disagrees"])
        .lots(&[LOT])
        .tanks(&["tank 4"])
        .must();
    let day = day.finish(
        "a_run_sheet_that_says_cream",
        "where run sheet and logger name different products, the stricter of the two holds (section 6)",
        must,
    )?;
    Ok(day.with_run_sheet(sheet))
}
