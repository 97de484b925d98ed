//! A cleaning pulses the device: seats and both ports see the solution. At 150 °F with low pressures
//! that is short by two rules at every pulse, and nobody drinks it.

use super::day::{Day, hour, missing, word};
use super::expect::{Answer, Expected};
use super::proof_day::ProofDay;
use crate::days::{MILK, at, product, seconds};
use crate::error::Error;
use crate::script::{Script, Step};
use crate::truth::TruthRule;
use std::ops::RangeInclusive;
use trace::{Interval, Role};

const HOT: [Role; 3] =
    [Role::HoldingTemperature, Role::RecorderTemperature, Role::HeatingWaterTemperature];

/// Milk up to 05:30, a cleaning from 05:32 on, and in it from 05:36 `pulses` of twenty seconds forward
/// and twenty diverted.
fn played(pulses: i64, seed: u64) -> Result<Day, Error> {
    let script = Script {
        duration: at(1, 24, 0),
        steps: vec![
            (at(0, 1, 0), Step::Start),
            (at(0, 12, 0), product(MILK, super::day::LOT)),
            (at(0, 30, 0), Step::Water),
            (at(0, 32, 0), Step::Cleaning),
            (at(1, 20, 0), Step::Stop),
        ],
        ..hour(vec![])
    };
    let mut day = Day::played(&script, seed)?;
    let (around, ramp) = ((at(0, 34, 0), seconds(42 * 60)), seconds(60));
    // Diverted, the line has 163.6 °F and 6.7 psi; now 150 °F and 0.7 psi.
    day.shift_slowly(&HOT, around, ramp, -136);
    day.shift_slowly(&[Role::RawPressure], around, ramp, 60);
    for pulse in 0..pulses {
        day.write(Role::Valve, at(0, 36, 40 * pulse), seconds(20), "FWD");
    }
    Ok(day)
}

/// One of each rule at every pulse. Forward from half a second before the first to half a second behind
/// the last of twenty samples: 20 s.
fn at_every_pulse(day: &Day, pulses: usize, outside_production: bool) -> Vec<Expected> {
    let lasts = seconds(40 * pulses as i64);
    let within = day.between(at(0, 36, 0) - seconds(1), at(0, 36, 0) + lasts);
    let count: RangeInclusive<usize> = pulses..=pulses;
    [TruthRule::Temperature, TruthRule::Differential]
        .map(|rule| Expected {
            together: Some((seconds(20 * pulses as i64), seconds(1))),
            outside_production,
            ..Expected::some(rule, &["short"], within, count.clone())
        })
        .into()
}

/// What a pulse below the limits looks like to a list of passages.
const PASSAGES: &[&str] = &["cut_in_below_limit", "cut_out_below_limit", "slow_response"];

/// The stretch of mode cleaning.
fn stretch(day: &Day) -> Result<Interval, Error> {
    let mut rows = day.run.rows.iter().filter(|row| word(row, Role::Mode) == "clean");
    match (rows.next(), rows.next_back()) {
        (Some(first), Some(last)) => Ok(Interval::between(first.instant, last.instant)),
        _ => Err(missing("a cleaning")),
    }
}

pub(super) fn day() -> Result<ProofDay, Error> {
    let pulses = 57;
    let mut day = played(pulses as i64, 1021)?;
    // The solution goes through the cooler too: 35 °F become 140.
    day.shift_slowly(
        &[Role::CooledTemperature],
        (at(0, 34, 0), seconds(42 * 60)),
        seconds(60),
        1050,
    );
    let mut must = Answer::with(at_every_pulse(&day, pulses, true))
        .episodes(1)
        .perhaps_close(PASSAGES)
        .silent(&["cleaning_looks_like_product", "differential_reversed"])
        .verdict(&["cleaning"]);
    must.cleanings = 1;
    must.once_each = Some(stretch(&day)?);
    day.finish(
        "a_cleaning_is_one_bundle",
        "114 exceptions of one cleaning are one bundle, counted apart, and of each kind at most one \
         observation (sections 4, 8)",
        must.must(),
    )
}

pub(super) fn with_milk() -> Result<ProofDay, Error> {
    let pulses = 3;
    let day = played(pulses as i64, 1022)?;
    // What leaves the cooler is at 36 °F: nobody cools a cleaning solution.
    let must = Answer::with(at_every_pulse(&day, pulses, false))
        .close(&["cleaning_looks_like_product"])
        .perhaps_close(PASSAGES)
        .must();
    day.finish(
        "a_cleaning_that_ran_milk",
        "a cooler at 36 °F: product evidently ran, whatever the mode says, and nothing is bundled \
         (sections 4, 8)",
        must,
    )
}
