//! What stops a line by day, and what must be said of it: a stop for lunch, a change of product by hand, and a
//! divert of which nothing in the record shows the cause.

use super::day::{Day, hour};
use super::expect::Answer;
use super::proof_day::ProofDay;
use crate::days::{CREAM, at, product, seconds};
use crate::error::Error;
use crate::script::{Script, Step};
use trace::Role;

const WITHOUT_CAUSE: &str = "divert_without_cause";

/// The device diverts for a quarter of a minute in the midst of good milk, and nobody knows why.
pub(super) fn without_cause() -> Result<ProofDay, Error> {
    let mut day = Day::played(&hour(vec![]), 1030)?;
    day.write(Role::Valve, at(0, 30, 0), seconds(15), "DIV");
    let mut must = Answer::quiet()
        .close(&[WITHOUT_CAUSE])
        .says(&["Diverted for about 15 s, at 163", "nothing in the record shows why"]);
    must.status = 1;
    day.finish(
        "a_divert_without_a_cause",
        "a divert of which the record does not show the cause is closed with a reason (section 8)",
        must.must(),
    )
}

/// The line is stopped for twenty minutes, on milk, and goes on with the same lot.
pub(super) fn lunch() -> Result<ProofDay, Error> {
    let script = hour(vec![]);
    let mut steps = script.steps.clone();
    steps.insert(2, (at(0, 25, 0), Step::Stop));
    steps.insert(3, (at(0, 40, 0), Step::Start));
    let day = Day::played(&Script { steps, ..script }, 1031)?;
    let must = Answer::quiet().silent(&[WITHOUT_CAUSE]);
    day.finish(
        "a_stop_for_lunch",
        "a stopped pump is the cause of the divert: nothing to close (section 8)",
        must.must(),
    )
}

/// The operators divert by hand, feed the next product, and go forward when it has come.
pub(super) fn product_change() -> Result<ProofDay, Error> {
    let script = hour(vec![]);
    let mut steps = script.steps.clone();
    steps.insert(2, (at(0, 20, 0), Step::HeatFor { product: CREAM.to_owned() }));
    steps.insert(3, (at(0, 30, 30), product(CREAM, "0310-B")));
    let mut day = Day::played(&Script { steps, ..script }, 1032)?;
    day.write(Role::Valve, at(0, 30, 0), seconds(90), "DIV");
    let must = Answer::quiet().silent(&[WITHOUT_CAUSE]).says(&["cream, 36 %", "mixed"]);
    day.finish(
        "a_product_change_by_hand",
        "diverted while the product changes: nothing to close (section 8)",
        must.must(),
    )
}
