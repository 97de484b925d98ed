//! A logger that writes a row when something has changed enough, and after nine seconds at the latest.
//! In the cleaning the flow is pulsed and it writes every second; in steady forward flow it is silent
//! for several seconds at a time, again and again.

use super::day::{Day, LOT, hour, reading, word};
use super::expect::{Answer, Expected};
use super::proof_day::ProofDay;
use crate::days::{MILK, at, product, seconds};
use crate::error::Error;
use crate::record::Row;
use crate::script::{Script, Step};
use crate::truth::TruthRule;
use trace::{Duration, Interval, Role};

/// What counts as a change, in tenths: more than noise, less than a pulse.
const CHANGES: [(Role, i64); 6] = [
    (Role::HoldingTemperature, 5),
    (Role::RecorderTemperature, 5),
    (Role::RawPressure, 12),
    (Role::PasteurizedPressure, 12),
    (Role::FlowRate, 15),
    (Role::HeatingWaterTemperature, 12),
];
const WORDS: [Role; 4] = [Role::Valve, Role::Product, Role::Lot, Role::Mode];
const SILENT_AT_MOST: Duration = seconds(9);

fn changed(one: &Row, other: &Row) -> bool {
    let moved = |(role, by): (Role, i64)| match (reading(one, role), reading(other, role)) {
        (Some(one), Some(other)) => (one - other).abs() >= by,
        _ => true,
    };
    CHANGES.into_iter().any(moved)
        || WORDS.into_iter().any(|role| word(one, role) != word(other, role))
}

pub(super) fn day() -> Result<ProofDay, Error> {
    let script = Script {
        duration: at(1, 24, 0),
        steps: vec![
            (at(0, 1, 0), Step::Start),
            (at(0, 12, 0), product(MILK, LOT)),
            (at(0, 30, 0), Step::Water),
            (at(0, 32, 0), Step::Cleaning),
            (at(1, 20, 0), Step::Stop),
        ],
        ..hour(vec![])
    };
    let mut day = Day::played(&script, 1025)?;
    // While the line is cleaned, and while it warms up, the flow goes up and down every second.
    for (from, lasts) in [(at(0, 1, 20), seconds(280)), (at(0, 33, 0), seconds(45 * 60))] {
        day.change(Role::FlowRate, from, lasts, |since, flow| {
            flow + if since.milliseconds() / 1000 % 2 == 0 { 20 } else { 0 }
        });
    }
    // The record begins when the pump is at speed and ends before it stops: a logger that is silent
    // while the line stands is another story.
    let (first, last) = (day.start + at(0, 1, 20), day.start + at(1, 18, 0));
    let mut kept: Vec<Row> = Vec::new();
    for row in &day.run.rows {
        let due = kept.last().is_none_or(|written| {
            changed(written, row) || row.instant.since(written.instant) >= SILENT_AT_MOST
        });
        if due && (first..last).contains(&row.instant) {
            kept.push(row.clone());
        }
    }
    day.run.rows = kept;
    // The median step is one second, and so the gap limit three; nearly every step in forward flow is
    // a gap, and gaps that touch are one hole.
    let forward = day.all_forward_flow()?;
    let within = Interval::between(forward.start() - seconds(60), forward.end() + seconds(10));
    let must = Answer::with(vec![
        Expected::some(TruthRule::Unverifiable, &["gap"], within, 1..=4),
        // Where the logger wrote every second for a while, between two holes.
        Expected::some(TruthRule::Unverifiable, &["flow_unusable"], within, 0..=4),
    ])
    .covered(vec![Interval::between(forward.start() + seconds(1), forward.end() - seconds(1))])
    .episodes(1)
    .must();
    day.finish(
        "a_log_on_change",
        "steps of four to nine seconds where the median is one: gaps that touch are one hole, and one \
         exception, not one for every step (sections 3, 5)",
        must,
    )
}
