//! Sweetened milk at 162 °F: legal for milk, four degrees short for what it is. Nothing in the plant
//! file says what it is, or there is no plant file.

use super::day::{Day, hour};
use super::expect::{Answer, Expected};
use super::proof_day::ProofDay;
use crate::days::{at, seconds};
use crate::error::Error;
use crate::truth::TruthRule;
use trace::{Duration, Interval, Role};

/// An hour at 162 °F with a product of that name from 05:12 to 05:50.
fn played(seed: u64, name: &str) -> Result<Day, Error> {
    let mut day = Day::played(&hour(vec![]), seed)?;
    for role in [Role::HoldingTemperature, Role::RecorderTemperature] {
        day.shift(role, at(0, 0, 0), at(2, 0, 0), -15);
    }
    day.write(Role::Product, at(0, 12, 0), seconds(38 * 60), name);
    Ok(day)
}

/// The water before and after is legal by a lower limit: midpoints.
fn all_of_it(day: &Day) -> Expected {
    let half = Duration::from_milliseconds(500);
    let over: Interval = day.between(at(0, 12, 0) - half, at(0, 50, 0) - half);
    Expected { limit: Some("166"), ..Expected::short(TruthRule::Temperature, over) }
}

pub(super) fn chocolate_milk() -> Result<ProofDay, Error> {
    let mut day = played(1016, "chocolate milk")?;
    day.replant("[[products]]\nname = \"cream, 36 %\"\nrow = \"us-rich-15s\"\n\n", "")?;
    let must = Answer::with(vec![all_of_it(&day)]).close(&["unknown_product"]).must();
    day.finish(
        "chocolate_milk_in_a_plant_of_milk",
        "a product that the plant file does not name is held to the rich row of its family, 166 °F \
         (section 6)",
        must,
    )
}

pub(super) fn eggnog() -> Result<ProofDay, Error> {
    let mut day = played(1017, "eggnog")?;
    // Water has a mode and no name.
    day.write(Role::Product, at(0, 0, 0), at(0, 12, 0), "");
    day.write(Role::Product, at(0, 50, 0), at(1, 0, 0), "");
    let log = day.log()?;
    // Without a plant file stamps are read as UTC: five hours before what Chicago means.
    day.start = day.start - at(5, 0, 0);
    let must = Answer::with(vec![all_of_it(&day)])
        .close(&["unknown_product"])
        .verdict(&["no plant file", "not judged"])
        .must();
    Ok(ProofDay::new(
        "eggnog_without_a_plant_file",
        "without a plant file a named product is unknown, and held to 166 °F (sections 6, 10)",
        must,
        None,
        log,
    ))
}
