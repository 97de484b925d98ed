//! What was metered in forward flow against the quantities of the run sheet.

use super::day::{Day, LOT, hour};
use super::expect::Answer;
use super::proof_day::ProofDay;
use crate::days::MILK;
use crate::error::Error;

const APART: &str = "amount_disagrees";

/// The milk of the hour: 38 minutes at about 50 gal/min are 1900 gal.
fn sheet(gallons: &str) -> String {
    format!(
        "start,end,product,lot,tank,quantity (gal)\n\
         2026-03-10 05:12,2026-03-10 05:50,{MILK},{LOT},tank 4,{gallons}\n"
    )
}

/// Two hundred gallons more are written than went forward.
pub(super) fn apart() -> Result<ProofDay, Error> {
    let day = Day::played(&hour(vec![]), 1050)?;
    let mut must = Answer::quiet().close(&[APART]).says(&[
        "100 gal on the run sheet",
        "metered in forward flow",
        "more than 3 %",
        "lot 0310-A, tank tank 4",
    ]);
    must.status = 1;
    let day = day.finish(
        "a_run_sheet_that_does_not_add_up",
        "more than 3 % between meter and run sheet is told with both figures (section 8)",
        must.must(),
    )?;
    Ok(day.with_run_sheet(sheet("2100")))
}

/// Within 3 %.
pub(super) fn alike() -> Result<ProofDay, Error> {
    let day = Day::played(&hour(vec![]), 1051)?;
    let must = Answer::quiet().silent(&[APART]);
    let day = day.finish(
        "a_run_sheet_that_adds_up",
        "an amount within 3 % is nothing to close (section 8)",
        must.must(),
    )?;
    Ok(day.with_run_sheet(sheet("1930")))
}

/// A run began before the record: it is not known how much went forward in it.
pub(super) fn not_compared() -> Result<ProofDay, Error> {
    let day = Day::played(&hour(vec![]), 1052)?;
    let must = Answer::quiet().silent(&[APART]).says(&["outside"]);
    let day = day.finish(
        "a_run_sheet_that_reaches_out_of_the_record",
        "what is not metered throughout can't be compared, and that is said (section 8)",
        must.must(),
    )?;
    let before = "2026-03-10 04:12,2026-03-10 05:12,water,,,900\n";
    Ok(day.with_run_sheet(sheet("1900") + before))
}
