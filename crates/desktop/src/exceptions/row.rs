//! What a row of the list says, in cells for the eye and in a sentence for the ear.

use super::column::Column;
use crate::day::Day;
use crate::units::Units;
use analysis::{Basis, Cause, Exception};
use case::plain_volume;
use std::cmp::Ordering;

/// The cell of `column`.
pub fn cells(day: &Day, units: Units, exception: &Exception, column: Column) -> String {
    match column {
        Column::Rule => {
            let mut text = exception.rule.definition().short_name.to_owned();
            let causes: Vec<&str> =
                exception.causes.iter().filter_map(|&cause| short_cause(cause)).collect();
            if !causes.is_empty() {
                text = format!("{text}: {}", causes.join(", "));
            }
            if exception.within_response {
                text.push_str(", within response");
            }
            text
        }
        Column::Review => day.review.word_of(&exception.id).to_owned(),
        Column::Start => day.case.clock(exception.estimate.start()),
        Column::AtLeast => case::at_least(exception.observed.duration()),
        Column::Estimate => case::about(exception.estimate.duration()),
        Column::AtMost => case::at_most(exception.outer.duration()),
        Column::Worst => worst(day, units, exception).unwrap_or_else(|| "\u{2013}".to_owned()),
        Column::Volume => passed(exception),
        Column::Product => joined(&exception.products),
        Column::Lot => joined(&exception.lots),
    }
}

/// Why the record does not show that the flow was safe, in a narrow column.
const fn short_cause(cause: Cause) -> Option<&'static str> {
    match cause {
        Cause::Short => None,
        Cause::InvalidReading => Some("no reading"),
        Cause::Contradicted => Some("contradicted"),
        Cause::RecorderShort => Some("recorder"),
        Cause::Frozen => Some("frozen"),
        Cause::Repeated => Some("repeated"),
        Cause::FlowUnusable => Some("no flow"),
        Cause::PositionUnknown => Some("FDD unknown"),
        Cause::Gap => Some("gap"),
        Cause::GapDiverted => Some("long gap"),
        Cause::UnplacedRows => Some("rows, no time"),
        Cause::Clock => Some("clock"),
    }
}

/// The rule, and what the record says of the cause.
fn full_rule(exception: &Exception) -> String {
    let mut text = exception.rule.name().to_owned();
    if exception.causes != [Cause::Short] {
        let causes: Vec<&str> = exception.causes.iter().map(|cause| cause.name()).collect();
        text = format!("{}: {}", text, causes.join(", "));
    }
    if exception.within_response {
        text.push_str(", within response");
    }
    text
}

fn joined(words: &[String]) -> String {
    if words.is_empty() { "\u{2013}".to_owned() } else { words.join(", ") }
}

/// The product that passed over the estimate.
pub fn passed(exception: &Exception) -> String {
    match exception.volume.value {
        Some(value) => {
            let mark = if exception.volume.basis == Basis::Nominal { " nom." } else { "" };
            format!("{}{mark}", plain_volume(value, exception.volume.unit))
        }
        None => "unknown".to_owned(),
    }
}

/// The same with its basis in words.
pub fn passed_in_full(exception: &Exception) -> String {
    match exception.volume.value {
        Some(value) if exception.volume.basis == Basis::Nominal => {
            format!("{} by the nominal flow", plain_volume(value, exception.volume.unit))
        }
        _ => passed(exception),
    }
}

/// The worst reading against its limit, as displayed.
fn worst(day: &Day, units: Units, exception: &Exception) -> Option<String> {
    let worst = exception.worst?;
    // A time is in no channel's unit.
    let roles = exception.rule.definition().reads.iter();
    let channel = roles.filter_map(|&role| day.case.record().channel(role));
    let Some(channel) = channel.into_iter().find(|channel| channel.symbol() == worst.unit) else {
        return Some(format!(
            "{} / {}",
            case::reading(worst.value, worst.unit),
            case::limit_words(worst.limit, worst.unit)
        ));
    };
    let shown = units.of(channel);
    Some(format!("{} / {}", shown.figure(worst.value), shown.limit(worst.limit)))
}

/// All of an exception in words.
pub fn sentence(day: &Day, units: Units, exception: &Exception) -> String {
    let cell = |column| cells(day, units, exception, column);
    let mut text = format!(
        "{} at {}, at least {}, estimate {}, at most {}",
        full_rule(exception),
        cell(Column::Start),
        cell(Column::AtLeast),
        cell(Column::Estimate),
        cell(Column::AtMost),
    );
    if let Some(worst) = worst(day, units, exception) {
        text = format!("{text}, worst against limit {worst}");
    }
    text = format!("{text}, passed {}", passed_in_full(exception));
    for (name, words) in
        [("product", &exception.products), ("lot", &exception.lots), ("tank", &exception.tanks)]
    {
        if !words.is_empty() {
            text = format!("{text}, {name} {}", words.join(", "));
        }
    }
    if exception.outside_production {
        text.push_str(", in cleaning");
    }
    format!("{text}, {}", cell(Column::Review))
}

/// The order of two exceptions by a column; of equals the earlier is first.
pub(super) fn compare(column: Column, one: &Exception, other: &Exception) -> Ordering {
    let short = |exception: &Exception| {
        exception.worst.map_or(f64::NEG_INFINITY, |worst| worst.limit - worst.value.to_f64())
    };
    let amount = |exception: &Exception| exception.volume.value.unwrap_or(f64::INFINITY);
    let order = match column {
        Column::Rule => one.rule.cmp(&other.rule).then(one.causes.cmp(&other.causes)),
        Column::Start | Column::Review => Ordering::Equal,
        Column::AtLeast => one.observed.duration().cmp(&other.observed.duration()),
        Column::Estimate => one.estimate.duration().cmp(&other.estimate.duration()),
        Column::AtMost => one.outer.duration().cmp(&other.outer.duration()),
        Column::Worst => short(one).total_cmp(&short(other)),
        Column::Volume => amount(one).total_cmp(&amount(other)),
        Column::Product => one.products.cmp(&other.products),
        Column::Lot => one.lots.cmp(&other.lots),
    };
    order.then(one.estimate.start().cmp(&other.estimate.start()))
}
