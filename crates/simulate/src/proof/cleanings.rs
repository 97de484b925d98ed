//! Whether a line was cleaned, for long enough, and often enough: a production that went on for too
//! long, a cleaning that was hot for too short a time, one in which nothing flowed, and days on which
//! nothing is wrong.

use super::day::{Day, hour};
use super::expect::Answer;
use super::proof_day::ProofDay;
use crate::days::{MILK, at, product, seconds};
use crate::error::Error;
use crate::script::{Script, Step};
use trace::{Duration, Role};

const LONG: &str = "production_without_cleaning";
const SHORT: &str = "cleaning_too_short";

const HOT: [Role; 3] =
    [Role::HoldingTemperature, Role::RecorderTemperature, Role::HeatingWaterTemperature];

/// What the plant asks.
const ASKED: &str = "[cleaning]\ntemperature = \"160 degF\"\nminimum_time = \"8 min\"\n\
                     longest_production_run = \"70 min\"\n\n[review]";

/// When the line is cleaned, or stopped, between two runs of milk.
const BETWEEN: (Duration, Duration) = (at(0, 50, 0), seconds(720));

/// Milk from 05:12 to 05:50 and from 06:02 to 06:40; in between the line is diverted on water, and the
/// mode is `mode`.
fn two_runs(mode: &str, seed: u64) -> Result<Day, Error> {
    let script = Script {
        duration: at(1, 50, 0),
        steps: vec![
            (at(0, 1, 0), Step::Start),
            (at(0, 12, 0), product(MILK, super::day::LOT)),
            (at(1, 40, 0), Step::Water),
            (at(1, 42, 0), Step::Stop),
        ],
        ..hour(vec![])
    };
    let mut day = Day::played(&script, seed)?;
    day.replant("[review]", ASKED)?;
    let (from, lasts) = BETWEEN;
    for (role, word) in
        [(Role::Valve, "DIV"), (Role::Mode, mode), (Role::Product, "water"), (Role::Lot, "")]
    {
        day.write(role, from, lasts, word);
    }
    Ok(day)
}

/// Twelve minutes of cleaning between two runs of milk, hot for more than eight.
pub(super) fn between_two_runs() -> Result<ProofDay, Error> {
    let day = two_runs("clean", 1040)?;
    let must = Answer::quiet().silent(&[LONG, SHORT]).must();
    day.finish(
        "a_cleaning_between_two_runs",
        "a cleaning as long and as hot as the plant asks, between two runs: nothing to close \
         (section 8)",
        must,
    )
}

/// The same day with water in place of the cleaning: an hour and a half of product.
pub(super) fn left_out() -> Result<ProofDay, Error> {
    let day = two_runs("water", 1041)?;
    let must =
        closed(&[LONG], &["the record shows no cleaning in between", "longest is 1 h 10 min"]);
    day.finish(
        "a_cleaning_that_was_left_out",
        "hot water is no cleaning, and the plant's longest production is over \
         (section 8)",
        must,
    )
}

/// The solution gets cold after five minutes: it is no cleaning that counts, and the product of both runs
/// is one production.
pub(super) fn too_cold() -> Result<ProofDay, Error> {
    let mut day = two_runs("clean", 1042)?;
    day.shift_slowly(&HOT, (at(0, 55, 0), seconds(400)), seconds(30), -200);
    let must = closed(
        &[SHORT, LONG],
        &[
            "160 \u{b0}F or more at the FDD for 5 min",
            "the plant asks for 8 min",
            "do not count: 1",
        ],
    );
    day.finish(
        "a_cleaning_that_got_cold",
        "a cleaning that was hot for too short a time ends no production (section 8)",
        must,
    )
}

/// The mode says that the line is cleaned, and the meter that nothing flows.
pub(super) fn by_name() -> Result<ProofDay, Error> {
    let mut day = two_runs("clean", 1043)?;
    day.write(Role::FlowRate, BETWEEN.0, BETWEEN.1, "0.0");
    let must = closed(&[SHORT, LONG], &["nothing shows that anything flowed"]);
    day.finish(
        "a_cleaning_by_name_only",
        "a mode alone is no cleaning where nothing flowed (section 8)",
        must,
    )
}

/// The record ends six minutes into the cleaning.
pub(super) fn across_the_ends() -> Result<ProofDay, Error> {
    let mut day = two_runs("clean", 1044)?;
    day.run.rows.truncate(56 * 60);
    let must = closed(&[SHORT], &["it may go on after the record"]);
    day.finish(
        "a_cleaning_that_goes_on_after_the_record",
        "what lies outside the record is told and never taken for a part of the cleaning (section 8)",
        must,
    )
}

/// Without a mode no cleaning can be found; what is not shown is told.
pub(super) fn without_a_mode() -> Result<ProofDay, Error> {
    let day = two_runs("clean", 1045)?;
    let must = closed(&[LONG], &["no mode is recorded, without which no cleaning can be found"]);
    let mut day = day.finish(
        "a_cleaning_without_a_mode",
        "without a mode no cleaning is found, and that is said (section 8)",
        must,
    )?;
    for file in &mut day.files {
        // The column of the plant file, and its heading in the log.
        let lines = file.text.lines().filter(|line| !line.starts_with("mode = "));
        file.text = lines.collect::<Vec<_>>().join("\n").replacen("Mode", "Step", 1) + "\n";
    }
    Ok(day)
}

/// Only that is to be closed.
fn closed(kinds: &'static [&'static str], says: &'static [&'static str]) -> super::expect::Must {
    let mut must = Answer::quiet().close(kinds).says(says);
    must.status = 1;
    must.must()
}
