//! The report for a person at a terminal or on plain paper.

use crate::Report;
use crate::figures::{at_most_volume, volume};
use crate::words::{CAUTION, least_residence, lethality, plural, verdict};
use analysis::{Class, Exception, LETHALITY_CAUTION, Margin, Side};
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
    process(&mut text, report);
    account(&mut text, report);
    completeness(&mut text, report);
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

/// An observation in a line: kind, when, where in the files, and what to do.
pub fn observed(observation: &Observation, report: &Report<'_>) -> String {
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
    for margin in margin_lines(report) {
        line!(text, "  {margin}");
    }
    line!(text);
}

/// How close compliant forward flow came to each limit, a line each.
pub fn margin_lines(report: &Report<'_>) -> Vec<String> {
    let one = |name: &str, margin: Option<Margin>| match margin {
        Some(margin) => format!(
            "{name}: {} {} at {}, {} {} above {} {}",
            margin.value,
            margin.unit,
            report.plant.zone.clock(margin.at),
            margin.margin,
            margin.unit,
            margin.limit,
            margin.unit
        ),
        None => format!("{name}: no compliant forward flow"),
    };
    let margins = &report.audit.margins;
    vec![
        one("holding temperature", margins.temperature),
        one("differential pressure", margins.differential),
    ]
}

fn process(text: &mut String, report: &Report<'_>) {
    line!(text, "PROCESS AND INSTRUMENTS");
    for process in process_lines(report) {
        line!(text, "  {process}");
    }
    line!(text);
}

/// What the record says of the process and of the instruments, a line each.
pub fn process_lines(report: &Report<'_>) -> Vec<String> {
    let Report { record, plant, audit, .. } = report;
    let mut lines = Vec::new();
    match least_residence(record, audit) {
        Some((held, minimum, at)) => lines.push(format!(
            "shortest residence time in forward flow: {held} at {}, minimum {minimum}",
            plant.zone.clock(at)
        )),
        None => lines.push("residence time: not judged or not known".to_owned()),
    }
    if let Some(certificate) = plant.tube.as_ref().and_then(plant::Tube::certificate) {
        let by = |text: &Option<String>| text.clone().unwrap_or_else(|| "not stated".to_owned());
        lines.push(format!(
            "holding tube: {} at {} {}, tested on {}, by {}",
            certificate.test_time,
            certificate.test_flow.value,
            trace::Unit::symbol(certificate.test_flow.unit),
            by(&certificate.tested_on),
            by(&certificate.tested_by),
        ));
    }
    for trend in &audit.trends {
        let line = trend.line.map_or_else(
            || "too short for a trend".to_owned(),
            |line| {
                let told = if line.is_significant() { "" } else { " (no drift told)" };
                format!(
                    "{:+.3} ± {:.3} {} an hour{told}",
                    line.per_hour, line.uncertainty, trend.unit
                )
            },
        );
        lines.push(format!(
            "{}: mean {:.2}, least {:.2}, greatest {:.2} {} over {} min; {line}",
            trend.followed.name(),
            trend.mean,
            trend.least,
            trend.greatest,
            trend.unit,
            trend.minutes.len()
        ));
    }
    if let Some(offset) = audit.instruments.recorder {
        lines.push(format!(
            "recorder minus indicating thermometer in steady forward flow: median {:+.2}, from \
             {:+.2} to {:+.2} {} ({} samples)",
            offset.median, offset.lowest, offset.highest, offset.unit, offset.samples
        ));
    }
    let side = |to: Side| audit.instruments.cuts.iter().filter(move |cut| cut.to == to);
    for (to, name) in [(Side::Forward, "cut-in"), (Side::Divert, "cut-out")] {
        let below = side(to).filter(|cut| cut.verdict == analysis::CutVerdict::Below).count();
        let readings: Vec<_> = side(to).filter_map(|cut| cut.temperature).collect();
        if let (Some(least), Some(most)) = (readings.iter().min(), readings.iter().max()) {
            lines.push(format!(
                "{name}: {}, at {least} to {most} {}, {below} below the limit",
                plural(side(to).count(), "time"),
                trace::Unit::symbol(record.holding_temperature().unit())
            ));
        }
    }
    if let Some(least) = &audit.lethality {
        lines.push(format!("least lethality in forward flow: {}", lethality(least)));
        lines.push(LETHALITY_CAUTION.to_owned());
    }
    lines
}

fn account(text: &mut String, report: &Report<'_>) {
    let Report { plant, audit, .. } = report;
    if audit.product_runs.is_empty() {
        return;
    }
    line!(text, "PRODUCT ACCOUNT");
    let figure = |value: Option<f64>| {
        value.map_or_else(|| "not metered".to_owned(), |value| format!("{value:.0}"))
    };
    for run in &audit.product_runs {
        let named =
            |word: &str| if word.is_empty() { "(blank)".to_owned() } else { word.to_owned() };
        line!(
            text,
            "  {} {} to {}  {}, lot {}: forward {} {unit} in {}, diverted {} {unit}, {}{}{}{}",
            plant.zone.date(run.interval.start()),
            plant.zone.clock(run.interval.start()),
            plant.zone.clock(run.interval.end()),
            named(&run.product),
            named(&run.lot),
            figure(run.forward),
            run.forward_time,
            figure(run.diverted),
            plural(run.exceptions, "exception"),
            if run.incomplete { ", flow readings missing" } else { "" },
            if run.tank.is_empty() { String::new() } else { format!(", to tank {}", run.tank) },
            run.stated.map_or_else(String::new, |(value, unit)| {
                format!(", {value} {} on the run sheet", unit.symbol())
            }),
            unit = run.unit.symbol(),
        );
    }
    for lot in &audit.lots {
        line!(
            text,
            "  lot {} in doubt: about {}, {}",
            lot.lot,
            volume(&lot.in_doubt),
            at_most_volume(&lot.in_doubt)
        );
    }
    line!(text);
}

fn completeness(text: &mut String, report: &Report<'_>) {
    if report.audit.completeness.is_empty() {
        return;
    }
    line!(text, "WHAT THE RECORD MUST HOLD");
    for item in &report.audit.completeness {
        line!(
            text,
            "  {:<14} {} ({}): {}",
            item.presence.name(),
            item.item,
            item.source,
            item.detail
        );
    }
    line!(text);
}
