//! An hour without a fault: what the other days are made from, so that each shows its own fault and
//! nothing else.

use super::day::{Day, hour};
use super::expect::Answer;
use super::proof_day::ProofDay;
use crate::error::Error;

pub(super) fn day() -> Result<ProofDay, Error> {
    Day::played(&hour(vec![]), 1000)?.finish(
        "a_clean_hour",
        "water, milk, flush, cleaning, and no fault; the water that runs forward is noted (sections \
         8, 10)",
        Answer::quiet().note(&["forward_not_production"]).must(),
    )
}
