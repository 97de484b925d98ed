//! The report for a person at a terminal or on plain paper.

use crate::Report;
use crate::figures::{at_most_volume, volume};
use crate::limits::{beyond_lines, limit_words, stated_limits};
use crate::sentences::{DisplayUnits, sentence};
use crate::verdict::{hold_lines, verdict};
use crate::words::{CAUTION, causes, durations, least_residence, lethality, plural};
use analysis::{
    Audit, Class, Cleaning, CutVerdict, Episode, Exception, LETHALITY_CAUTION, Margin, Rule, Side,
    Transition,
};
use plant::{Mode, Zone};
use trace::{
    Decimal, Instant, Interval, Lines, Observation, Rank, Unit as _, ValveState, hexadecimal,
};

/// A line of the text, or an empty one.
macro_rules! line {
    ($text:expr) => { $text.end() };
    ($text:expr, $($arguments:tt)*) => { $text.line(format_args!($($arguments)*)) };
}

/// How many passages of the device a text lists; all of them are in the JSON.
const MOST_PASSAGES: usize = 40;

pub(crate) fn render(report: &Report<'_>) -> Lines {
    let mut text = Lines::new();
    heading(&mut text, report);
    accounting(&mut text, report);
    exceptions(&mut text, report);
    observations(&mut text, report);
    margins(&mut text, report);
    process(&mut text, report);
    passages(&mut text, report);
    account(&mut text, report);
    completeness(&mut text, report);
    limits(&mut text, report);
    section(&mut text, "ASSUMED", report.assumptions);
    line!(text, "{CAUTION}");
    text
}

/// A section of lines; nothing where there are none.
fn section(text: &mut Lines, name: &str, lines: &[String]) {
    if lines.is_empty() {
        return;
    }
    line!(text, "{name}");
    for one in lines {
        line!(text, "  {one}");
    }
    line!(text);
}

fn heading(text: &mut Lines, report: &Report<'_>) {
    let Report { record, plant, audit, .. } = report;
    let interval = record.interval();
    let title = format!("Holdtrace audit: {}, {}", record.unit(), plant.name);
    line!(text, "{title}");
    line!(text, "{}", "=".repeat(title.chars().count()));
    line!(
        text,
        "{} ({}), {} samples, one every {}",
        span(interval, plant.zone),
        plant.zone.name(),
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
    match &plant.file {
        Some(file) => {
            line!(text, "plant file {}: SHA-256 {}", file.name, hexadecimal(&file.sha256));
        }
        None => line!(text, "no plant file: built-in limits are assumed"),
    }
    line!(text);
    section(text, "LIMITS SET BEYOND THE BOUNDS OF THE METHOD", &beyond_lines(plant));
    line!(text, "{}", verdict(record, plant, audit));
    line!(text);
    section(text, "LOTS AND TANKS TO HOLD", &hold_lines(record, plant, audit));
}

/// An interval with its dates: `2026-03-04 05:00:00 to 2026-03-04 17:00:00`.
fn span(interval: Interval, zone: Zone) -> String {
    let (start, end) = (interval.start(), interval.end());
    let (day, last) = (zone.date(start), zone.date(end));
    let until = if day == last { String::new() } else { format!("{last} ") };
    if start == end {
        return format!("{day} {}", zone.clock(start));
    }
    format!("{day} {} to {until}{}", zone.clock(start), zone.clock(end))
}

fn accounting(text: &mut Lines, report: &Report<'_>) {
    let accounting = &report.audit.accounting;
    let total = accounting.total();
    line!(text, "TIME IN EACH STATE");
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

fn exceptions(text: &mut Lines, report: &Report<'_>) {
    let audit = report.audit;
    line!(text, "EXCEPTIONS ({})", counted(audit));
    if audit.exceptions.is_empty() {
        line!(text, "  none");
    }
    for episode in &audit.episodes {
        let members = || {
            let all = episode.exceptions.iter();
            all.filter_map(|&index| Some((index, audit.exceptions.get(index)?)))
                .filter(|(_, one)| !one.outside_production)
        };
        // An episode that lies in cleaning is told with its cleaning.
        if members().next().is_none() {
            continue;
        }
        line!(text, "  {}", episode_line(episode, report));
        for (index, exception) in members() {
            line!(
                text,
                "    {:>2}  {}",
                index + 1,
                one_line(exception, |instant| report.plant.zone.clock(instant))
            );
        }
    }
    for cleaning in &audit.cleanings {
        line!(text, "  {}", cleaning_line(cleaning, report));
    }
    if !audit.exceptions.is_empty() {
        line!(
            text,
            "  while they lasted about {} passed, {} over the outer bounds, each counted once",
            volume(&audit.passed),
            at_most_volume(&audit.passed)
        );
    }
    line!(text);
}

/// `3 in 2 episodes, 114 outside production in 1 cleaning`
fn counted(audit: &Audit) -> String {
    let outside = audit.exceptions.iter().filter(|one| one.outside_production).count();
    let counted = audit.exceptions.len() - outside;
    let episodes = audit.episodes.iter().filter(|episode| {
        let mut members = episode.exceptions.iter().filter_map(|&one| audit.exceptions.get(one));
        members.any(|one| !one.outside_production)
    });
    let within = match counted {
        0 => String::new(),
        _ => format!(" in {}", plural(episodes.count(), "episode")),
    };
    let apart = match outside {
        0 => String::new(),
        _ => format!(
            ", {outside} outside production in {}",
            plural(audit.cleanings.len(), "cleaning")
        ),
    };
    format!("{counted}{within}{apart}")
}

/// An episode in a line: its number, when, and how many exceptions of which rules it has in
/// production.
pub fn episode_line(episode: &Episode, report: &Report<'_>) -> String {
    let exceptions = &report.audit.exceptions;
    let members: Vec<&Exception> = episode
        .exceptions
        .iter()
        .filter_map(|&index| exceptions.get(index))
        .filter(|one| !one.outside_production)
        .collect();
    format!(
        "episode {}  {}: {}",
        episode.number,
        span(episode.interval, report.plant.zone),
        by_rule(&members)
    )
}

/// A cleaning with its exceptions in a line: they are resolved together.
pub fn cleaning_line(cleaning: &Cleaning, report: &Report<'_>) -> String {
    let exceptions = &report.audit.exceptions;
    let members: Vec<&Exception> =
        cleaning.exceptions.iter().filter_map(|&index| exceptions.get(index)).collect();
    format!(
        "cleaning {}  {}: {} outside production, one resolution for all",
        cleaning.number,
        span(cleaning.interval, report.plant.zone),
        by_rule(&members)
    )
}

/// `3 exceptions (temperature 2, not verifiable 1)`
fn by_rule(members: &[&Exception]) -> String {
    let rules: Vec<String> = Rule::ALL
        .iter()
        .map(|&rule| (rule, members.iter().filter(|one| one.rule == rule).count()))
        .filter(|&(_, count)| count > 0)
        .map(|(rule, count)| format!("{} {count}", rule.name()))
        .collect();
    format!("{} ({})", plural(members.len(), "exception"), rules.join(", "))
}

/// An exception but its number, in one line.
fn one_line(exception: &Exception, clock: impl Fn(Instant) -> String) -> String {
    let mut parts = vec![format!(
        "{}  {}: {}",
        clock(exception.estimate.start()),
        exception.rule.name(),
        durations(exception),
    )];
    parts.push(exception.worst.as_ref().map_or_else(
        || causes(exception),
        |worst| {
            format!(
                "worst {} {} at {} against {}",
                worst.value,
                worst.unit,
                clock(worst.at),
                limit_words(worst.limit, worst.unit)
            )
        },
    ));
    if exception.unplaced.rows > 0 {
        parts.push(format!(
            "{} without a usable time, {} of them short in forward flow",
            rows(exception.unplaced.rows),
            exception.unplaced.short
        ));
    }
    if exception.positions != [ValveState::Forward] && !exception.positions.is_empty() {
        let positions: Vec<&str> = exception.positions.iter().map(|one| one.name()).collect();
        parts.push(format!("FDD {}", positions.join(" + ")));
    }
    parts.push(volume(&exception.volume));
    for (word, names) in
        [("", &exception.products), ("lot ", &exception.lots), ("tank ", &exception.tanks)]
    {
        if !names.is_empty() {
            parts.push(format!("{word}{}", names.join(" + ")));
        }
    }
    parts.extend(exception.shift.iter().map(|shift| format!("shift {shift}")));
    if exception.mode != Mode::Production {
        parts.push(format!("mode {}", exception.mode.name()));
    }
    if exception.within_response {
        parts.push("within the FDD's allowed response".to_owned());
    }
    parts.push(format!("ID {}", exception.id));
    parts.join(", ")
}

fn rows(count: u64) -> String {
    if count == 1 { "1 row".to_owned() } else { format!("{count} rows") }
}

fn observations(text: &mut Lines, report: &Report<'_>) {
    for (rank, name) in
        [(Rank::Close, "OBSERVATIONS TO CLOSE"), (Rank::Note, "OBSERVATIONS TO NOTE")]
    {
        let all = &report.audit.observations;
        let of_rank: Vec<&Observation> = all.iter().filter(|one| one.kind.rank() == rank).collect();
        line!(text, "{name} ({})", of_rank.len());
        if of_rank.is_empty() {
            line!(text, "  none");
        }
        for observation in of_rank {
            line!(text, "  {}", titled(observation, report));
        }
        line!(text);
    }
}

/// An observation in a line: kind, when, where in the files, and what to do.
fn titled(observation: &Observation, report: &Report<'_>) -> String {
    let told = observed(observation, report);
    let title = observation.kind.title();
    let has_place = observation.interval.is_some() || observation.position.is_some();
    if has_place { format!("{title}, {told}") } else { format!("{title}: {told}") }
}

/// The same below its title: when, where in the files, and what to do.
pub fn observed(observation: &Observation, report: &Report<'_>) -> String {
    let zone = report.plant.zone;
    let mut parts = Vec::new();
    if let Some(interval) = observation.interval {
        parts.push(span(interval, zone));
    }
    if let Some(position) = &observation.position {
        parts.push(format!("{} line {}", position.file, position.line));
    }
    let sentence = sentence(observation, zone, DisplayUnits::RECORDED);
    if parts.is_empty() { sentence } else { format!("{}: {sentence}", parts.join(", ")) }
}

fn margins(text: &mut Lines, report: &Report<'_>) {
    line!(text, "CLOSEST TO THE LIMITS IN FORWARD FLOW WITHIN LIMITS");
    for margin in margin_lines(report) {
        line!(text, "  {margin}");
    }
    line!(text);
}

/// How close forward flow within limits came to each limit, a line each.
pub fn margin_lines(report: &Report<'_>) -> Vec<String> {
    let one = |name: &str, margin: Option<Margin>| match margin {
        Some(margin) => format!(
            "{name}: {} {} at {}, {} {} above {}",
            margin.value,
            margin.unit,
            report.plant.zone.clock(margin.at),
            margin.margin,
            margin.unit,
            limit_words(margin.limit, margin.unit)
        ),
        None => format!("{name}: no forward flow within limits"),
    };
    let margins = &report.audit.margins;
    vec![
        one("holding temperature", margins.temperature),
        one("pressure differential", margins.differential),
    ]
}

fn process(text: &mut Lines, report: &Report<'_>) {
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
        let tested = match (&certificate.tested_on, &certificate.tested_by) {
            (Some(on), Some(by)) => format!("tested on {on} by {by}"),
            (Some(on), None) => format!("tested on {on}, tester not stated"),
            (None, Some(by)) => format!("tested by {by}, date not stated"),
            (None, None) => "date and tester not stated".to_owned(),
        };
        lines.push(format!(
            "holding tube: {} at {} {}, {tested}",
            certificate.test_time,
            certificate.test_flow.value,
            certificate.test_flow.unit.symbol(),
        ));
    }
    for trend in &audit.trends {
        let line = trend.line.map_or_else(
            || "too short for a trend".to_owned(),
            |line| {
                let told = if line.is_significant() { "" } else { " (no significant drift)" };
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
    for (to, name) in [(Side::Forward, "went forward"), (Side::Divert, "left forward flow")] {
        let below = side(to).filter(|cut| cut.verdict == CutVerdict::Below).count();
        let tests = audit.transitions.iter().filter(|one| one.to == to && one.is_test).count();
        let readings: Vec<_> = side(to).filter_map(|cut| cut.temperature).collect();
        if let (Some(least), Some(most)) = (readings.iter().min(), readings.iter().max()) {
            let test = match to {
                Side::Forward => "cut-in test",
                Side::Divert => "cut-out test",
            };
            lines.push(format!(
                "{name} {}, at {least} to {most} {}, {below} below the limit; {}",
                plural(side(to).count(), "time"),
                record.holding_temperature().unit().symbol(),
                plural(tests, test)
            ));
        }
    }
    if let Some(least) = &audit.lethality {
        lines.push(format!("least lethality in forward flow within limits: {}", lethality(least)));
        lines.push(LETHALITY_CAUTION.to_owned());
    }
    lines
}

/// Every passage between forward and diverted flow, up to a number that a page can bear.
fn passages(text: &mut Lines, report: &Report<'_>) {
    let transitions = &report.audit.transitions;
    if transitions.is_empty() {
        return;
    }
    let (shown, more) = transitions.split_at(transitions.len().min(MOST_PASSAGES));
    line!(text, "PASSAGES OF THE FDD ({})", transitions.len());
    for transition in shown {
        line!(text, "  {}", passage_line(transition, report));
    }
    if !more.is_empty() {
        line!(text, "  and {} more", more.len());
    }
    line!(text);
}

/// A passage in a line: when, whither, at which readings, and what the record shows of its reason.
pub fn passage_line(transition: &Transition, report: &Report<'_>) -> String {
    let Report { record, plant, .. } = report;
    let (name, temperature, differential) = match transition.to {
        Side::Forward => {
            ("went forward", transition.temperature_after, transition.differential_after)
        }
        Side::Divert => {
            ("left forward flow", transition.temperature_before, transition.differential_before)
        }
    };
    let reading = |value: Option<Decimal>, unit: &str| {
        value.map_or_else(|| "no usable reading".to_owned(), |value| format!("{value} {unit}"))
    };
    let reason =
        transition.reason.map_or_else(String::new, |one| format!("; reason: {}", one.name()));
    let test = match (transition.is_test, transition.to) {
        (false, _) => "",
        (true, Side::Forward) => " (cut-in test)",
        (true, Side::Divert) => " (cut-out test)",
    };
    format!(
        "{} {}  {name} at {} and {}{reason}{test}",
        plant.zone.date(transition.at),
        plant.zone.clock(transition.at),
        reading(temperature, record.holding_temperature().unit().symbol()),
        reading(differential, record.differential().unit().symbol()),
    )
}

fn account(text: &mut Lines, report: &Report<'_>) {
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
            "  lot {}: {}; while they lasted about {} passed, {}",
            lot.lot,
            plural(lot.exceptions, "exception"),
            volume(&lot.passed),
            at_most_volume(&lot.passed)
        );
    }
    line!(text);
}

fn completeness(text: &mut Lines, report: &Report<'_>) {
    if report.audit.completeness.is_empty() {
        return;
    }
    line!(text, "REQUIRED ENTRIES");
    for item in &report.audit.completeness {
        line!(
            text,
            "  {:<14} {}: {}; {}",
            item.presence.name(),
            item.item,
            item.detail,
            item.source
        );
    }
    line!(text);
}

/// Every limit that bore on the audit, and who stands behind it.
fn limits(text: &mut Lines, report: &Report<'_>) {
    let Report { plant, .. } = report;
    let mut lines: Vec<String> = stated_limits(report)
        .iter()
        .map(|one| {
            let figures = one.figures(plant.zone, DisplayUnits::RECORDED);
            format!("{}: {figures}; {}", one.name, one.stands_behind(plant))
        })
        .collect();
    lines.push(format!(
        "reviewed within {}: {}",
        plural(plant.review.within_working_days as usize, "working day"),
        plant.review.within_source.in_words()
    ));
    if let Some(retention) = &plant.retention {
        lines.push(format!("records kept for {retention}: {}", retention.source.in_words()));
    }
    section(text, "LIMITS AND WHO STANDS BEHIND THEM", &lines);
}

#[cfg(test)]
mod tests {
    use crate::samples::{Day, PLANT, day, eventful, file};

    #[test]
    fn a_day_as_text() {
        insta::assert_snapshot!(eventful().report().text());
    }

    #[test]
    fn limits_beyond_their_bounds_stand_at_the_top() {
        let text = format!(
            "{PLANT}\n[limits]\ngap = \"60 s\"\n\n[accepted]\nby = \"Q. Example (invented)\"\n\
             document = \"letter 7\"\ndate = \"2026-01-05\"\n"
        );
        let rows = file(&[(60, 'F', "163.", "A1", "run")], &[]);
        let found = day(Some(&text), &[("day.csv", &rows)]);
        let text = found.report().text();
        let top = text.split("TIME IN EACH STATE").next().unwrap_or_default();
        for words in ["LIMITS SET BEYOND", "limits.gap", "Q. Example (invented)", "letter 7"] {
            assert!(top.contains(words), "{words}: {top}");
        }
        assert!(
            text.contains("gap limit: 1 min 00 s; beyond its bound; set by the plant"),
            "{text}"
        );
    }

    #[test]
    fn what_lies_in_cleaning_is_one_line() {
        let Day { audit, .. } = &eventful();
        assert_eq!(audit.cleanings.len(), 1);
        let text = eventful().report().text();
        let lines = |word: &str| text.lines().filter(|line| line.contains(word)).count();
        assert_eq!(lines("  cleaning 1  "), 1, "{text}");
        assert_eq!(lines("mode cleaning"), 0, "{text}");
    }
}
