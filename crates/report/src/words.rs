//! The sentences: the verdict on a record, and what an exception means in plain language.

use crate::figures::{at_most_volume, volume};
use analysis::{Audit, Cause, Exception, Lethality, Rule};
use plant::{Mode, Plant};
use trace::{Duration, Instant, RunRecord, ValveState};

/// What every report and the window say.
pub const CAUTION: &str = "A review aid, not a legal recorder or controller. Limits must be \
confirmed with the plant's authority; local codes and licensed people decide.";

/// A count with its noun: `1 exception`, `3 exceptions`.
pub fn plural(count: usize, one: &str) -> String {
    if count == 1 { format!("1 {one}") } else { format!("{count} {one}s") }
}

/// The short name of a rule, for bands and badges.
pub const fn rule_code(rule: Rule) -> &'static str {
    match rule {
        Rule::Temperature => "T",
        Rule::Differential => "\u{394}P",
        Rule::HoldingTime => "HT",
        Rule::Unverifiable => "?",
    }
}

/// The record in one sentence: how many exceptions in how much forward flow, and how much product
/// is in doubt.
pub fn verdict(record: &RunRecord, audit: &Audit) -> String {
    let forward = audit.accounting.forward();
    let observations = match audit.observations.len() {
        0 => String::new(),
        count => format!("; {} to look at", plural(count, "observation")),
    };
    if audit.exceptions.is_empty() {
        let flow = if forward.milliseconds() == 0 {
            format!("No forward flow in {} of record", record.interval().duration())
        } else {
            format!("No exception in {forward} of forward flow")
        };
        return format!("{flow}{observations}.");
    }
    let settled = audit.exceptions.iter().filter(|one| one.within_response).count();
    let told_apart = if settled == 0 {
        String::new()
    } else {
        format!(" ({settled} within the valve's response)")
    };
    format!(
        "{}{told_apart} in {forward} of forward flow; {} in doubt{observations}.",
        plural(audit.exceptions.len(), "exception"),
        at_most_volume(&audit.in_doubt),
    )
}

/// The shortest residence time in forward flow, the minimum it is held to, and when it was; `None`
/// where none is known.
pub fn least_residence(record: &RunRecord, audit: &Audit) -> Option<(Duration, Duration, Instant)> {
    let residence = audit.residence.as_ref()?;
    let mut shortest: Option<(Duration, Duration, Instant)> = None;
    for span in &audit.temperature_limits {
        for sample in span.first..=span.last {
            if record.valve()[sample] != ValveState::Forward {
                continue;
            }
            if let Some(held) = residence.at(sample)
                && shortest
                    .is_none_or(|(least, minimum, _)| held - span.minimum_time < least - minimum)
            {
                shortest = Some((held, span.minimum_time, record.instants()[sample]));
            }
        }
    }
    shortest
}

/// A lethality in words: `P* 0.83 (15.2 s at 71.3 °C); Listeria monocytogenes 14.6 log₁₀, …`.
pub fn lethality(lethality: &Lethality) -> String {
    let reductions: Vec<String> = lethality
        .reductions()
        .filter_map(|(organism, log)| {
            let at_least = if organism.z_celsius.is_none() { "at least " } else { "" };
            log.map(|log| format!("{} {at_least}{log:.1} log₁₀", organism.name))
        })
        .collect();
    let basis = if lethality.nominal { ", by the nominal flow" } else { "" };
    format!(
        "P* {:.3} ({} at {:.2} °C{basis}){}{}",
        lethality.pasteurization_units,
        lethality.held,
        lethality.celsius,
        if reductions.is_empty() { "" } else { "; " },
        reductions.join(", ")
    )
}

/// How long an exception was: `at least 12 s, about 13.4 s, at most 14 s`.
pub fn durations(exception: &Exception) -> String {
    format!(
        "at least {}, about {}, at most {}",
        exception.observed.duration(),
        exception.estimate.duration(),
        exception.outer.duration()
    )
}

/// The worst reading against its limit: `160.2 °F, limit 161 °F`; empty where none was short.
pub fn worst(exception: &Exception) -> String {
    exception.worst.as_ref().map_or_else(String::new, |worst| {
        format!("{} {}, limit {} {}", worst.value, worst.unit, worst.limit, worst.unit)
    })
}

/// An exception in two sentences: what happened, and which rule with its source it broke.
pub fn explain(record: &RunRecord, plant: &Plant, audit: &Audit, exception: &Exception) -> String {
    let zone = plant.zone;
    let when = format!(
        "From about {} for {} ({})",
        zone.clock(exception.estimate.start()),
        exception.estimate.duration(),
        durations(exception),
    );
    let what = match exception.mode {
        Mode::Production => "product",
        Mode::Water => "water (by the recorded mode)",
        Mode::Cleaning => "cleaning solution (by the recorded mode)",
    };
    let passed = volume(&exception.volume);
    let happened = match (exception.rule, exception.cause) {
        (Rule::Temperature, _) => format!(
            "{when} {what} went forward below the holding temperature, down to {}; {passed} passed",
            worst(exception)
        ),
        (Rule::Differential, _) => format!(
            "{when} {what} went forward while the pasteurized side of the regenerator was not far \
             enough above the raw side, down to {}; {passed} passed",
            worst(exception)
        ),
        (Rule::HoldingTime, _) => {
            let held = if exception.worst.is_some() {
                format!("; held down to {}", worst(exception))
            } else {
                String::new()
            };
            format!(
                "{when} {what} went forward before its holding time was over{held}; {passed} passed"
            )
        }
        (Rule::Unverifiable, cause) => {
            let why = match cause {
                Cause::InvalidReading => "a reading that a rule needs is missing or not usable",
                Cause::ValveUnknown => "the valve's position is unknown",
                Cause::Travel => "the valve stayed between its positions too long",
                Cause::Gap => "the record has a gap",
                Cause::Short => "a rule is not shown to be met",
            };
            format!("{when} the record can't vouch for the flow: {why}; {passed} may have passed")
        }
    };
    let span = audit.temperature_limits.iter().find(|span| span.last >= exception.samples.0);
    let rule = match exception.rule {
        Rule::Temperature => span.map_or_else(String::new, |span| {
            format!(
                "The limit for {} is {} {} ({})",
                span.product,
                span.limit,
                record.channel(trace::Role::HoldingTemperature).map_or("", |one| one.symbol()),
                span.source
            )
        }),
        Rule::Differential => format!(
            "The limit is {} {} ({})",
            audit.differential_limit,
            record.channel(trace::Role::DifferentialPressure).map_or("", |one| one.symbol()),
            plant.limits.differential_source.citation
        ),
        Rule::HoldingTime => span.map_or_else(String::new, |span| {
            format!(
                "The least holding time for {} is {} ({})",
                span.product, span.minimum_time, span.source
            )
        }),
        Rule::Unverifiable => {
            "Forward flow that the record can't vouch for is treated as unsafe until shown \
             otherwise (method, section 5)"
                .to_owned()
        }
    };
    let response = if exception.within_response {
        " The device diverted within the moment it is allowed."
    } else {
        ""
    };
    format!("{happened}. {rule}.{response}")
}
