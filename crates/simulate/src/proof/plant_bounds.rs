//! Plant files that would make any milk legal, or read a column as what it is not. The milk is that of
//! a clean hour.

use super::day::{Day, hour};
use super::expect::{Answer, Must};
use super::proof_day::ProofDay;
use crate::days::at;
use crate::error::Error;
use trace::Role;

const MILK_ROW: &str = "name = \"whole milk\"\nrow = \"us-milk-15s\"\n";
const MILK_150: &str = "name = \"whole milk\"\ntemperature = \"150 degF\"\nminimum_time = \"1 s\"\n\
                        source = \"21 CFR 1240.61(b)\"\n";
/// Before a table of its own.
const SHIFTS: &str = "[[shifts]]\nname = \"early\"\n";

/// The clean hour with one piece of its plant file replaced.
fn with(
    name: &'static str,
    item: &'static str,
    (from, to): (&str, &str),
    must: Must,
) -> Result<ProofDay, Error> {
    let mut day = Day::played(&hour(vec![]), 1015)?;
    day.replant(from, to)?;
    day.finish(name, item, must)
}

fn limits(key: &str) -> String {
    format!("[limits]\n{key}\n\n{SHIFTS}")
}

pub(super) fn temperature() -> Result<ProofDay, Error> {
    with(
        "a_plant_file_with_150_degrees_for_1_s",
        "150 °F for 1 s, with a citation that says nothing of the kind: below the lowest row of that \
         time, and nobody accepted it (section 11)",
        (MILK_ROW, MILK_150),
        Must::Refuse(&["plant.toml", "products.", "150", "accepted"]),
    )
}

pub(super) fn differential() -> Result<ProofDay, Error> {
    with(
        "a_plant_file_with_minus_50_psi",
        "a differential below 0 (section 11)",
        (
            SHIFTS,
            &limits("differential = \"-50 psi\"\ndifferential_source = \"21 CFR 1240.61(b)\""),
        ),
        Must::Refuse(&["plant.toml", "limits.differential", "accepted"]),
    )
}

pub(super) fn gap() -> Result<ProofDay, Error> {
    with(
        "a_plant_file_with_a_gap_limit_of_2_h",
        "a gap limit beyond 15 s (section 11)",
        (SHIFTS, &limits("gap = \"2 h\"")),
        Must::Refuse(&["plant.toml", "limits.gap", "15 s", "accepted"]),
    )
}

pub(super) fn factor() -> Result<ProofDay, Error> {
    with(
        "a_plant_file_with_a_tube_factor_of_2",
        "a tube that holds a product for twice as long as its certificate says (section 11)",
        (MILK_ROW, &format!("{MILK_ROW}factor = \"2\"\n")),
        Must::Refuse(&["plant.toml", "products.factor"]),
    )
}

pub(super) fn two_roles() -> Result<ProofDay, Error> {
    with(
        "one_column_in_two_roles",
        "a thermometer that is its own recorder contradicts nothing (section 1)",
        ("{ column = \"Recorder Temp (°F)\"", "{ column = \"Hold Temp (°F)\""),
        Must::Refuse(&["Hold Temp (°F)", "holding_temperature", "recorder_temperature"]),
    )
}

/// Both thermometers bound as °C, and milk at 148 °F: 148 °C would be legal for anything.
pub(super) fn unit() -> Result<ProofDay, Error> {
    let mut day = Day::played(&hour(vec![]), 1015)?;
    for (role, key) in [
        (Role::HoldingTemperature, "holding_temperature = { column = \"Hold Temp (°F)\", "),
        (Role::RecorderTemperature, "recorder_temperature = { column = \"Recorder Temp (°F)\", "),
    ] {
        day.shift(role, at(0, 0, 0), at(2, 0, 0), -160);
        day.replant(&format!("{key}unit = \"degF\""), &format!("{key}unit = \"degC\""))?;
    }
    day.finish(
        "a_header_in_fahrenheit_bound_as_celsius",
        "the header prints °F, the plant file binds °C (section 1)",
        Must::Refuse(&["Hold Temp (°F)", "°F", "°C"]),
    )
}

pub(super) fn accepted() -> Result<ProofDay, Error> {
    let mut day = Day::played(&hour(vec![]), 1015)?;
    day.replant(MILK_ROW, MILK_150)?;
    let accepted = "[accepted]\nby = \"A. Example (invented)\"\ndocument = \"letter 7 (invented)\"\n\
                    date = \"2026-01-05\"\n\n";
    day.replant(SHIFTS, &format!("{accepted}{SHIFTS}"))?;
    day.finish(
        "a_limit_beyond_its_bound_that_was_accepted",
        "the same 150 °F, accepted: every output says which limit it was, and who accepted it \
         (sections 10, 11)",
        Answer::quiet()
            .note(&["forward_not_production"])
            .verdict(&["beyond the bounds", "accepted by"])
            .says(&["150", "A. Example (invented)", "letter 7 (invented)"])
            .must(),
    )
}
