//! Pumps, alarms and media beside the line: columns that most loggers do not have, written behind those of
//! the model.

use super::day::{Day, hour, word};
use super::expect::Answer;
use super::proof_day::ProofDay;
use crate::days::at;
use crate::error::Error;
use crate::record::Row;
use trace::Role;

const COLUMNS: &str = "\
timing_pump = { column = \"Pump\" }
booster_pump = { column = \"Booster\" }
high_flow_alarm = { column = \"High Flow\" }
low_flow_alarm = { column = \"Low Flow\" }
cooling_medium_pressure = { column = \"Glycol (psi)\", unit = \"psi\" }
mode = {";

/// A day with more columns, of each row what stands in them: pump, booster, high-flow alarm, low-flow
/// alarm, and the pressure of the glycol.
fn with_equipment(
    mut day: Day,
    of: impl Fn(&Row) -> [&'static str; 5],
) -> Result<(Day, String), Error> {
    day.replant("mode = {", COLUMNS)?;
    let log = day.log()?;
    let rows = day.run.rows.iter().map(|row| of(row).join(","));
    let heads = std::iter::once("Pump,Booster,High Flow,Low Flow,Glycol (psi)".to_owned());
    let lines = log.lines().zip(heads.chain(rows)).map(|(line, more)| format!("{line},{more}\n"));
    let log = lines.collect();
    Ok((day, log))
}

/// The booster runs while the device is forward and the timing pump runs; the glycol at 2 psi is below the
/// product even while the line stands.
fn in_order(row: &Row) -> [&'static str; 5] {
    let forward = word(row, Role::Valve) == "FWD";
    ["run", if forward { "run" } else { "stop" }, "off", "off", "-5.0"]
}

pub(super) fn quiet() -> Result<ProofDay, Error> {
    let (day, log) = with_equipment(Day::played(&hour(vec![]), 1040)?, in_order)?;
    let must = Answer::quiet().must();
    Ok(ProofDay::new(
        "pumps_alarms_and_media_in_order",
        "nothing to close of pumps, alarms and media that do what they should (section 8)",
        must,
        Some(day.plant),
        log,
    ))
}

pub(super) fn out_of_turn() -> Result<ProofDay, Error> {
    let day = Day::played(&hour(vec![]), 1041)?;
    let minutes = |from: i64, to: i64| day.between(at(0, from, 0), at(0, to, 0));
    let (booster, alarm, glycol) = (minutes(54, 55), minutes(30, 31), minutes(40, 41));
    let (day, log) = with_equipment(day, |row| {
        let [pump, mut runs, mut high, low, mut medium] = in_order(row);
        let is_in = |when: trace::Interval| when.start() <= row.instant && row.instant < when.end();
        if is_in(booster) {
            runs = "run";
        }
        if is_in(alarm) {
            high = "on";
        }
        if is_in(glycol) {
            medium = "30.0";
        }
        [pump, runs, high, low, medium]
    })?;
    let mut must = Answer::quiet().close(&["alarm_without_divert", "medium_above_product"]);
    must.status = 1;
    Ok(ProofDay::new(
        "an_alarm_and_a_medium_out_of_turn",
        "an alarm that does not divert and a medium above the product are closed with a reason; a booster \
         in cleaning is nobody's fault (section 8)",
        must.must(),
        Some(day.plant),
        log,
    ))
}
