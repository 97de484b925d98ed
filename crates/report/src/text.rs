//! The report for a person at a terminal or on plain paper.

use crate::Report;
use crate::figures::{at_most_volume, volume};
use crate::words::{CAUTION, verdict};
use analysis::{Class, Exception, Margin};
use plant::Mode;
use std::fmt::Write as _;
use trace::{Instant, Observation};

/// Writing to a string can't fail; this keeps the reason in one place.
macro_rules! line {
    ($text:expr) => { $text.push('\n') };
    ($text:expr, $($arguments:tt)*) => {{
        if writeln!($text, $($arguments)*).is_err() {
            $text.push('\n');
        }
    }};
}

pub(crate) fn render(report: &Report<'_>) -> String {
    let mut text = String::new();
    heading(&mut text, report);
    accounting(&mut text, report);
    exceptions(&mut text, report);
    observations(&mut text, report);
    margins(&mut text, report);
    if !report.assumptions.is_empty() {
        line!(text, "ASSUMED");
        for assumption in report.assumptions {
            line!(text, "  {assumption}");
        }
        line!(text);
    }
    line!(text, "{CAUTION}");
    text
}

fn heading(text: &mut String, report: &Report<'_>) {
    let Report { record, plant, audit, .. } = report;
    let zone = plant.zone;
    let interval = record.interval();
    let title = format!("Holdtrace audit: {}, {}", record.unit(), plant.name);
    line!(text, "{title}");
    line!(text, "{}", "=".repeat(title.chars().count()));
    line!(
        text,
        "{} {} to {} {} ({}), {} samples, one every {}",
        zone.date(interval.start()),
        zone.clock(interval.start()),
        zone.date(interval.end()),
        zone.clock(interval.end()),
        zone.name(),
        record.samples(),
        record.sampling_interval(),
    );
    for source in record.sources() {
        line!(
            text,
            "file {}: {} bytes, {} rows, SHA-256 {}",
            source.name,
            source.bytes,
            source.rows,
            source.sha256_hex()
        );
    }
    line!(text);
    line!(text, "{}", verdict(record, audit));
    line!(text);
}

fn accounting(text: &mut String, report: &Report<'_>) {
    let accounting = &report.audit.accounting;
    let total = accounting.total();
    line!(text, "TIME");
    for class in Class::ALL {
        let time = accounting.time(class);
        if time.milliseconds() == 0 {
            continue;
        }
        let share = 100.0 * time.seconds() / total.seconds();
        line!(text, "  {:<34}{:>14}{share:>8.2} %", class.name(), time.to_string());
    }
    line!(text, "  {:<34}{:>14}", "whole record", total.to_string());
    line!(text);
}

fn exceptions(text: &mut String, report: &Report<'_>) {
    let Report { plant, audit, .. } = report;
    line!(text, "EXCEPTIONS ({})", audit.exceptions.len());
    if audit.exceptions.is_empty() {
        line!(text, "  none");
    }
    for (index, exception) in audit.exceptions.iter().enumerate() {
        let date = plant.zone.date(exception.estimate.start());
        let clock = plant.zone.clock(exception.estimate.start());
        line!(
            text,
            "  {:>2}  {date} {clock}  {}",
            index + 1,
            one_line(exception, |instant| plant.zone.clock(instant))
        );
    }
    if !audit.exceptions.is_empty() {
        line!(
            text,
            "  in all: about {}, {} over the outer bounds, each counted once",
            volume(&audit.in_doubt),
            at_most_volume(&audit.in_doubt)
        );
    }
    line!(text);
}

/// Everything of an exception but its number and its start, in one line.
fn one_line(exception: &Exception, clock: impl Fn(Instant) -> String) -> String {
    let mut parts = vec![format!(
        "{}: {} / {} / {} (at least / estimate / at most)",
        exception.rule.name(),
        exception.observed.duration(),
        exception.estimate.duration(),
        exception.outer.duration(),
    )];
    parts.push(exception.worst.as_ref().map_or_else(
        || exception.cause.name().to_owned(),
        |worst| {
            format!(
                "worst {} {} at {} against {} {}",
                worst.value,
                worst.unit,
                clock(worst.at),
                worst.limit,
                worst.unit
            )
        },
    ));
    parts.push(volume(&exception.volume));
    if !exception.products.is_empty() {
        parts.push(exception.products.join(" + "));
    }
    if !exception.lots.is_empty() {
        parts.push(format!("lot {}", exception.lots.join(" + ")));
    }
    parts.extend(exception.shift.iter().map(|shift| format!("shift {shift}")));
    if exception.mode != Mode::Production {
        parts.push(format!("mode {}", exception.mode.name()));
    }
    if exception.within_response {
        parts.push("within the valve's response".to_owned());
    }
    parts.push(format!("episode {}", exception.episode));
    parts.push(format!("id {}", exception.id));
    parts.join(", ")
}

fn observations(text: &mut String, report: &Report<'_>) {
    line!(text, "OBSERVATIONS ({})", report.audit.observations.len());
    if report.audit.observations.is_empty() {
        line!(text, "  none");
    }
    for observation in &report.audit.observations {
        line!(text, "  {}", observed(observation, report));
    }
    line!(text);
}

fn observed(observation: &Observation, report: &Report<'_>) -> String {
    let zone = report.plant.zone;
    let mut parts = vec![observation.kind.title().to_owned()];
    if let Some(interval) = observation.interval {
        let (start, end) = (interval.start(), interval.end());
        let until = if start == end { String::new() } else { format!(" to {}", zone.clock(end)) };
        parts.push(format!("{} {}{until}", zone.date(start), zone.clock(start)));
    }
    if let Some(position) = &observation.position {
        parts.push(format!("{} line {}", position.file, position.line));
    }
    format!("{}: {}", parts.join(", "), observation.message)
}

fn margins(text: &mut String, report: &Report<'_>) {
    line!(text, "CLOSEST TO THE LIMITS IN COMPLIANT FORWARD FLOW");
    let mut one = |name: &str, margin: Option<Margin>| match margin {
        Some(margin) => line!(
            text,
            "  {name}: {} {} at {}, {} {} above {} {}",
            margin.value,
            margin.unit,
            report.plant.zone.clock(margin.at),
            margin.margin,
            margin.unit,
            margin.limit,
            margin.unit
        ),
        None => line!(text, "  {name}: no compliant forward flow"),
    };
    one("holding temperature", report.audit.margins.temperature);
    one("differential pressure", report.audit.margins.differential);
    line!(text);
}
