//! The report for a person at a terminal or on plain paper.

use crate::Case;
use crate::cleanings::return_temperature;
use crate::figures::{
    amount, at_most_volume, count, reading, recorded, rounds_to_nothing, time_of_day, volume,
};
use crate::limits::{beyond_lines, limit_words};
use crate::lines::span;
use crate::sentences::DisplayUnits;
use crate::words::{CAUTION, causes, durations, plural};
use analysis::{Audit, Class, Exception};
use plant::Mode;
use trace::{Instant, Lines, Observation, Rank, ValveState, hexadecimal};

/// A line of the text, or an empty one.
macro_rules! line {
    ($text:expr) => { $text.end() };
    ($text:expr, $($arguments:tt)*) => { $text.line(format_args!($($arguments)*)) };
}

/// How many diverts and passages of the device a text lists; all of them are in the JSON.
const MOST_PASSAGES: usize = 40;

pub(crate) fn render(case: &Case) -> Lines {
    let mut text = Lines::new();
    heading(&mut text, case);
    accounting(&mut text, case);
    exceptions(&mut text, case);
    observations(&mut text, case);
    margins(&mut text, case);
    process(&mut text, case);
    diverts(&mut text, case);
    operator_entries(&mut text, case);
    passages(&mut text, case);
    cleanings(&mut text, case);
    account(&mut text, case);
    amounts(&mut text, case);
    completeness(&mut text, case);
    limits(&mut text, case);
    section(&mut text, "ASSUMED", &case.assumptions);
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

fn heading(text: &mut Lines, case: &Case) {
    let Case { record, plant, .. } = case;
    let interval = record.interval();
    let title = format!("Holdtrace audit: {}, {}", record.unit(), plant.name);
    line!(text, "{title}");
    line!(text, "{}", "=".repeat(title.chars().count()));
    line!(
        text,
        "{} ({}), {} samples, one every {}",
        span(interval, plant.zone),
        plant.zone.name(),
        count(record.samples()),
        record.sampling_interval(),
    );
    for source in record.sources() {
        line!(
            text,
            "file {}: {} bytes, {} rows, SHA-256 {}",
            source.name,
            count(source.bytes as usize),
            count(source.rows as usize),
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
    line!(text, "{}", case.verdict());
    line!(text);
    section(text, "LOTS AND TANKS TO HOLD", &case.hold_lines());
}

fn accounting(text: &mut Lines, case: &Case) {
    let accounting = &case.audit.accounting;
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

fn exceptions(text: &mut Lines, case: &Case) {
    let audit = &case.audit;
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
        line!(text, "  {}", case.episode_line(episode));
        for (index, exception) in members() {
            line!(
                text,
                "    {:>2}  {}",
                index + 1,
                one_line(exception, |instant| case.clock(instant))
            );
        }
    }
    for cleaning in &audit.cleanings {
        line!(text, "  {}", case.cleaning_line(cleaning));
    }
    if !audit.exceptions.is_empty() {
        line!(
            text,
            "  while they lasted about {} passed, {} over the outer bounds, each moment counted once",
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
                "worst {} at {} against {}",
                reading(worst.value, worst.unit),
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

fn observations(text: &mut Lines, case: &Case) {
    for (rank, name) in
        [(Rank::Close, "OBSERVATIONS TO CLOSE"), (Rank::Note, "OBSERVATIONS TO NOTE")]
    {
        let all = &case.audit.observations;
        let of_rank: Vec<&Observation> = all.iter().filter(|one| one.kind.rank() == rank).collect();
        line!(text, "{name} ({})", of_rank.len());
        if of_rank.is_empty() {
            line!(text, "  none");
        }
        for observation in of_rank {
            line!(text, "  {}", titled(observation, case));
        }
        line!(text);
    }
}

/// An observation in a line: kind, when, where in the files, and what to do.
fn titled(observation: &Observation, case: &Case) -> String {
    let told = case.observed(observation);
    let title = observation.kind.title();
    let has_place = observation.interval.is_some() || observation.position.is_some();
    if has_place { format!("{title}, {told}") } else { format!("{title}: {told}") }
}

fn margins(text: &mut Lines, case: &Case) {
    line!(text, "CLOSEST TO THE LIMITS IN FORWARD FLOW WITHIN LIMITS");
    for margin in case.margin_lines() {
        line!(text, "  {margin}");
    }
    line!(text);
}

fn process(text: &mut Lines, case: &Case) {
    line!(text, "PROCESS AND INSTRUMENTS");
    for process in case.process_lines() {
        line!(text, "  {process}");
    }
    line!(text);
}

/// Every divert with its cause, up to a number that a page can bear.
fn diverts(text: &mut Lines, case: &Case) {
    let lines = case.audit.diverts.iter().map(|one| case.divert_line(one));
    listed(text, "DIVERTS", &lines.collect::<Vec<_>>());
}

/// What the operators wrote down, and what the record says of it.
fn operator_entries(text: &mut Lines, case: &Case) {
    let lines = case.audit.entries.iter().map(|one| case.entry_line(one));
    listed(text, "OPERATORS' ENTRIES", &lines.collect::<Vec<_>>());
}

/// A section of lines with their number; nothing where there are none.
fn listed(text: &mut Lines, name: &str, lines: &[String]) {
    if lines.is_empty() {
        return;
    }
    let (shown, more) = lines.split_at(lines.len().min(MOST_PASSAGES));
    line!(text, "{name} ({})", lines.len());
    for one in shown {
        line!(text, "  {one}");
    }
    if !more.is_empty() {
        line!(text, "  and {} more", more.len());
    }
    line!(text);
}

/// Every passage between forward and diverted flow, up to a number that a page can bear.
fn passages(text: &mut Lines, case: &Case) {
    let lines = case.audit.transitions.iter().map(|one| case.passage_line(one));
    listed(text, "PASSAGES OF THE FDD", &lines.collect::<Vec<_>>());
}

/// Every cleaning, and how long product went forward between them.
fn cleanings(text: &mut Lines, case: &Case) {
    let audit = &case.audit;
    let shown = audit.cleaning_cycles.iter().map(|one| case.cleaning_cycle_line(one));
    match case.no_cleaning() {
        Some(none) => section(text, "CLEANINGS", &[none.to_owned()]),
        None => {
            let name = format!("CLEANINGS, {}", return_temperature(&case.record));
            listed(text, &name, &shown.collect::<Vec<_>>());
        }
    }
    let between = audit.between_cleanings.iter().map(|one| case.between_line(one));
    listed(text, "PRODUCTION BETWEEN CLEANINGS", &between.collect::<Vec<_>>());
}

fn account(text: &mut Lines, case: &Case) {
    let Case { plant, audit, .. } = case;
    if audit.product_runs.is_empty() {
        return;
    }
    line!(text, "PRODUCT ACCOUNT");
    let figure = |value: Option<f64>, unit: trace::VolumeUnit| {
        value.map_or_else(|| "not metered".to_owned(), |value| amount(value, unit.symbol()))
    };
    for run in &audit.product_runs {
        let named =
            |word: &str| if word.is_empty() { "(blank)".to_owned() } else { word.to_owned() };
        line!(
            text,
            "  {} {} to {}  {}, lot {}: forward {} in {}, {}, {}{}{}{}",
            plant.zone.date(run.interval.start()),
            time_of_day(plant.zone, run.interval.start()),
            time_of_day(plant.zone, run.interval.end()),
            named(&run.product),
            named(&run.lot),
            figure(run.forward, run.unit),
            run.forward_time,
            match run.diverted {
                Some(value) if rounds_to_nothing(value) => "nothing diverted".to_owned(),
                diverted => format!("diverted {}", figure(diverted, run.unit)),
            },
            plural(run.exceptions, "exception"),
            if run.incomplete { ", flow readings missing" } else { "" },
            if run.tank.is_empty() {
                String::new()
            } else {
                format!(", to {}", crate::words::named("tank", &run.tank))
            },
            run.stated.map_or_else(String::new, |(value, unit)| {
                format!(", {} {} on the run sheet", recorded(value), unit.symbol())
            }),
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

/// The amounts against the run sheet, and every change of the product.
fn amounts(text: &mut Lines, case: &Case) {
    let audit = &case.audit;
    let runs = audit.amounts.runs.iter().map(|one| case.amount_line(one));
    listed(text, "AMOUNTS COMPARED WITH THE RUN SHEET", &runs.collect::<Vec<_>>());
    listed(text, "LOTS AND TANKS OF THE RUN SHEET", &case.sum_lines());
    let changes = audit.product_changes.iter().map(|one| case.change_line(one));
    listed(text, "PRODUCT CHANGES", &changes.collect::<Vec<_>>());
}

fn completeness(text: &mut Lines, case: &Case) {
    if case.audit.completeness.is_empty() {
        return;
    }
    line!(text, "REQUIRED ENTRIES");
    for item in &case.audit.completeness {
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
fn limits(text: &mut Lines, case: &Case) {
    let Case { plant, .. } = case;
    let mut lines: Vec<String> = case
        .stated_limits()
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
    section(text, "LIMITS AND THEIR SOURCES", &lines);
}

#[cfg(test)]
mod tests {
    use crate::Case;
    use crate::samples::{PLANT, day, eventful, file};

    #[test]
    fn a_day_as_text() {
        insta::assert_snapshot!(eventful().text());
    }

    #[test]
    fn limits_beyond_their_bounds_stand_at_the_top() {
        let text = format!(
            "{PLANT}\n[limits]\ngap = \"60 s\"\n\n[accepted]\nby = \"Q. Example (invented)\"\n\
             document = \"letter 7\"\ndate = \"2026-01-05\"\n"
        );
        let rows = file(&[(60, 'F', "163.", "A1", "run")], &[]);
        let found = day(Some(&text), &[("day.csv", &rows)]);
        let text = found.text();
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
        let Case { audit, .. } = &eventful();
        assert_eq!(audit.cleanings.len(), 1);
        let text = eventful().text();
        let lines = |word: &str| text.lines().filter(|line| line.contains(word)).count();
        assert_eq!(lines("  cleaning 1  "), 1, "{text}");
        assert_eq!(lines("mode cleaning"), 0, "{text}");
    }
}
