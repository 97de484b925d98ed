//! What a template gets: everything of a record in words and figures, in the order of the pages.
//! The keys are documented in `docs/file-formats.md` ("The PDF summary"). Texts are ready to be
//! printed; numbers are only where something is drawn or chosen by them.

use crate::Summary;
use crate::decided::{Decided, Decision, Scope, Verdict};
use crate::error::Error;
use crate::legible::legible;
use crate::most::{MOST_IN_DOUBT, Weight, most, unlisted};
use crate::plots::{Panel, Plotter};
use analysis::{Class, Exception, LETHALITY_CAUTION, ProductRun};
use plant::{Mode, Plant};
use report::{
    CAUTION, Report, at_most_volume, decimal_places, durations, explain, lethality, margin_lines,
    observed, plural, process_lines, rule_code, verdict, volume, worst,
};
use review::Stage;
use serde::Serialize;
use std::collections::BTreeSet;
use trace::{Instant, Interval, ObservationKind, SourceFile, Unit as _, file_name, hexadecimal};

/// The version of the data; raised when a key changes its meaning or goes.
const SCHEMA: u32 = 1;
/// So many exceptions, runs and lots are listed: more is not read on paper, and costs the typesetter
/// seconds and megabytes for every hundred.
const LISTED: usize = 500;
/// So many exceptions get a plot of their own.
const PLOTTED: usize = 40;
/// Of so many observations of one kind each has its own line.
const FEW: usize = 5;

#[derive(Serialize)]
struct Document {
    schema: u32,
    paper: &'static str,
    program: String,
    created: String,
    record: String,
    state: Standing,
    plant: String,
    plant_assumed: bool,
    unit: String,
    date: String,
    period: Vec<Line>,
    verdict: String,
    limits: Vec<Limit>,
    accounting: Accounting,
    signatures: Vec<SignatureRow>,
    verification: Vec<Checked>,
    digests: Vec<DigestRow>,
    margins: Vec<String>,
    day: Panel,
    exceptions: Vec<ExceptionPart>,
    /// Says what is not listed of exceptions, runs and lots; blank when all is.
    unlisted: [String; 3],
    /// What all exceptions together put in doubt; blank without any.
    in_doubt: String,
    /// Says how many exceptions have no plot; blank when all have.
    unplotted: String,
    /// Decisions about exceptions that the audit does not hold.
    strays: Vec<String>,
    observations: Vec<ObservationPart>,
    acknowledged: Vec<Person>,
    entries: Vec<Person>,
    runs: Vec<RunRow>,
    lots: Vec<LotRow>,
    process: Vec<String>,
    completeness: Vec<Item>,
    cautions: Vec<String>,
}

#[derive(Serialize)]
struct Standing {
    key: &'static str,
    name: &'static str,
    /// For the head of every page; blank when the record is signed and unchanged.
    warning: &'static str,
    sentence: &'static str,
}

#[derive(Serialize)]
struct Line {
    label: &'static str,
    text: String,
}

#[derive(Serialize)]
struct Limit {
    what: String,
    figure: String,
    source: String,
}

#[derive(Serialize)]
struct Accounting {
    total: String,
    rows: Vec<ClassRow>,
}

#[derive(Serialize)]
struct ClassRow {
    class: &'static str,
    name: &'static str,
    time: String,
    percent: String,
    /// Of the whole, 0 to 1.
    share: f64,
    in_doubt: bool,
}

#[derive(Serialize)]
struct SignatureRow {
    name: String,
    role: String,
    meaning: String,
    time: String,
    scope: String,
    holds: bool,
    verdict: String,
    superseded: bool,
}

#[derive(Serialize)]
struct Checked {
    holds: bool,
    line: String,
}

#[derive(Serialize)]
struct DigestRow {
    of: String,
    detail: String,
    sha256: String,
}

#[derive(Serialize)]
struct ExceptionPart {
    number: usize,
    id: String,
    rule: &'static str,
    code: &'static str,
    rule_name: &'static str,
    cause_name: &'static str,
    date: String,
    start: String,
    end: String,
    duration: String,
    worst: String,
    volume: String,
    at_most: String,
    lots: String,
    within_response: bool,
    sentences: String,
    figures: Vec<Line>,
    /// The parcel that received the least heat, for information; blank where it is not known.
    lethality: String,
    /// `null` where nothing is decided.
    decision: Option<DecisionPart>,
    /// `null` for those without a plot.
    plot: Option<Panel>,
}

#[derive(Serialize)]
struct DecisionPart {
    disposition: String,
    lines: Vec<Line>,
    who: String,
}

#[derive(Serialize)]
struct ObservationPart {
    kind: &'static str,
    title: &'static str,
    /// How many there are of this kind.
    count: u64,
    lines: Vec<String>,
}

#[derive(Serialize)]
struct Person {
    what: String,
    text: String,
    who: String,
}

#[derive(Serialize)]
struct RunRow {
    from: String,
    to: String,
    product: String,
    lot: String,
    forward_time: String,
    forward: String,
    diverted: String,
    stated: String,
    exceptions: usize,
}

#[derive(Serialize)]
struct LotRow {
    lot: String,
    exceptions: usize,
    volume: String,
    at_most: String,
}

#[derive(Serialize)]
struct Item {
    item: String,
    source: String,
    presence: &'static str,
    present: bool,
    detail: String,
}

/// The data of a summary as JSON, every text legible.
pub(crate) fn json(summary: &Summary<'_>) -> Result<String, Error> {
    let failed = |cause: serde_json::Error| Error::Data(cause.to_string());
    let mut value = serde_json::to_value(document(summary)).map_err(failed)?;
    legible(&mut value);
    serde_json::to_string(&value).map_err(failed)
}

/// The name of the record: as the register has it, or by unit, date and digest of its files.
pub(crate) fn record_name(report: &Report<'_>, decided: &Decided) -> String {
    decided.record.clone().unwrap_or_else(|| {
        let date = report.plant.zone.date(report.record.interval().start());
        let digests: Vec<String> =
            report.record.sources().iter().map(SourceFile::sha256_hex).collect();
        let digest = digests.first().and_then(|digest| digest.get(..12)).unwrap_or("no file");
        format!("{} {date} {digest}", report.record.unit())
    })
}

fn document(summary: &Summary<'_>) -> Document {
    let Summary { report, decided, paper, created, template: _ } = summary;
    let Report { record, plant, audit, assumptions } = *report;
    let plotter = Plotter::new(record, plant, audit);
    let plotted = most(audit.exceptions.iter().map(weight), PLOTTED);
    let listed = most(audit.exceptions.iter().map(weight), LISTED);
    let exceptions: Vec<ExceptionPart> = listed
        .into_iter()
        .map(|index| {
            let one = &audit.exceptions[index];
            let plot = plotted.contains(&index).then(|| plotter.around(one));
            exception_part(report, decided, index, one, plot)
        })
        .collect();
    let person = |what: &str, text: &str, by: &str, at: Instant| Person {
        what: what.to_owned(),
        text: text.to_owned(),
        who: who(plant, by, Some(at)),
    };
    let without = exceptions.len() - plotted.len();
    let runs = audit.product_runs.iter().map(|run| Weight {
        at_most: Some(run.exceptions as f64),
        milliseconds: run.interval.duration().milliseconds(),
    });
    let runs = most(runs, LISTED);
    let lots = audit.lots.iter().map(|lot| &lot.in_doubt.outer_value);
    let lots = most(lots.map(|at_most| Weight { at_most: *at_most, milliseconds: 0 }), LISTED);
    let mut cautions = vec![CAUTION.to_owned(), LETHALITY_CAUTION.to_owned()];
    cautions.extend(assumptions.iter().map(|assumption| format!("Assumed: {assumption}")));
    Document {
        schema: SCHEMA,
        paper: paper.key(),
        program: format!("Holdtrace {}", env!("CARGO_PKG_VERSION")),
        created: stamp(plant, *created),
        record: record_name(report, decided),
        state: standing(decided),
        plant: plant.name.clone(),
        plant_assumed: plant.is_assumed(),
        unit: record.unit().to_owned(),
        date: dates(plant, record.interval()),
        period: period(report),
        verdict: verdict(record, audit),
        limits: limits(report),
        accounting: accounting(report),
        signatures: signatures(plant, decided),
        verification: decided
            .verification
            .iter()
            .map(|one| Checked { holds: one.holds, line: one.line.clone() })
            .collect(),
        digests: digests(report, decided),
        margins: margin_lines(report),
        day: plotter.day(),
        unlisted: [
            unlisted(audit.exceptions.len(), exceptions.len(), "exceptions", MOST_IN_DOUBT),
            unlisted(audit.product_runs.len(), runs.len(), "runs", "with the most exceptions"),
            unlisted(audit.lots.len(), lots.len(), "lots", MOST_IN_DOUBT),
        ],
        exceptions,
        in_doubt: if audit.exceptions.is_empty() {
            String::new()
        } else {
            format!(
                "In all: about {}, {} over the outer bounds, each counted once.",
                volume(&audit.in_doubt),
                at_most_volume(&audit.in_doubt)
            )
        },
        unplotted: if without == 0 {
            String::new()
        } else {
            format!(
                "Plots are given for the {PLOTTED} exceptions that put the most product in doubt, \
                 those of unknown volume first; {without} have none."
            )
        },
        strays: strays(report, decided),
        observations: observations(report),
        acknowledged: decided
            .acknowledged
            .iter()
            .map(|one| person(&one.observation, &one.note, &one.by, one.at))
            .collect(),
        entries: decided
            .entries
            .iter()
            .map(|one| person(&one.what, &one.value, &one.by, one.at))
            .collect(),
        runs: runs.into_iter().map(|index| run_row(plant, &audit.product_runs[index])).collect(),
        lots: lots
            .into_iter()
            .map(|index| &audit.lots[index])
            .map(|lot| LotRow {
                lot: named(&lot.lot),
                exceptions: lot.exceptions,
                volume: volume(&lot.in_doubt),
                at_most: at_most_volume(&lot.in_doubt),
            })
            .collect(),
        process: process_lines(report),
        completeness: audit
            .completeness
            .iter()
            .map(|item| Item {
                item: item.item.clone(),
                source: item.source.clone(),
                presence: item.presence.name(),
                present: item.presence == analysis::Presence::Present,
                detail: item.detail.clone(),
            })
            .collect(),
        cautions,
    }
}

fn weight(exception: &Exception) -> Weight {
    Weight {
        at_most: exception.volume.outer_value,
        milliseconds: exception.outer.duration().milliseconds(),
    }
}

/// Date and time with offset, as on the plant's clock.
fn stamp(plant: &Plant, instant: Instant) -> String {
    plant.zone.local(instant).format("%Y-%m-%d %H:%M:%S %:z").to_string()
}

fn who(plant: &Plant, by: &str, at: Option<Instant>) -> String {
    match at {
        Some(at) => format!("{}, {}", named(by), stamp(plant, at)),
        None => named(by),
    }
}

fn named(word: &str) -> String {
    if word.trim().is_empty() { "(blank)".to_owned() } else { word.to_owned() }
}

fn dates(plant: &Plant, interval: Interval) -> String {
    let (first, last) = (plant.zone.date(interval.start()), plant.zone.date(interval.end()));
    if first == last { first } else { format!("{first} to {last}") }
}

fn standing(decided: &Decided) -> Standing {
    let in_force = || decided.signatures.iter().filter(|one| !one.superseded);
    let broken = in_force().any(|one| matches!(one.verdict, Verdict::Fails(_)))
        || decided.verification.iter().any(|one| !one.holds)
        || in_force().next().is_none();
    let (warning, sentence) = match decided.stage {
        Stage::Unread => ("Not reviewed, not signed", "Nobody has reviewed or signed this record."),
        Stage::BeingReviewed => (
            "Review not finished",
            "Something was decided about this record, and no standing signature says that the \
             whole of it was reviewed.",
        ),
        Stage::Reviewed => (
            "Reviewed, not approved",
            "This record was reviewed. No standing signature approves the whole of it.",
        ),
        Stage::ChangedSinceSigning => (
            "Changed since signing",
            "This record, its plant file or its journal is not what was signed. The signatures \
             are not about what is printed here.",
        ),
        // Whatever was said of the state, a paper with a broken signature does not look signed.
        Stage::Signed if broken => (
            "Signature not verified",
            "This record is said to be signed, but what was verified does not hold.",
        ),
        Stage::Signed => ("", "This record is signed, and unchanged since."),
    };
    Standing { key: decided.stage.key(), name: decided.stage.name(), warning, sentence }
}

fn period(report: &Report<'_>) -> Vec<Line> {
    let Report { record, plant, .. } = report;
    let interval = record.interval();
    let mut lines = vec![
        Line {
            label: "Record",
            text: format!(
                "{} to {} ({})",
                stamp(plant, interval.start()),
                stamp(plant, interval.end()),
                plant.zone.name()
            ),
        },
        Line {
            label: "Samples",
            text: format!(
                "{}, one every {}; a gap is a step of more than {}",
                record.samples(),
                record.sampling_interval(),
                report.audit.gap_limit
            ),
        },
    ];
    if !plant.shifts.is_empty() {
        let shifts: Vec<String> = plant
            .shifts
            .iter()
            .map(|shift| {
                let (start, end) = (shift.start.format("%H:%M"), shift.end.format("%H:%M"));
                format!("{} {start}\u{2013}{end}", shift.name)
            })
            .collect();
        lines.push(Line { label: "Shifts", text: shifts.join(", ") });
    }
    if let Some(recorder) = &plant.recorder {
        lines.push(Line { label: "Recorder", text: recorder.clone() });
    }
    lines
}

fn limits(report: &Report<'_>) -> Vec<Limit> {
    let Report { record, plant, audit, .. } = report;
    let unit = record.holding_temperature().unit().symbol();
    let mut limits: Vec<Limit> = Vec::new();
    let mut seen = BTreeSet::new();
    for span in &audit.temperature_limits {
        let unknown = if span.unknown_product {
            " (product not named, or not in the plant file: the strictest limit)"
        } else {
            ""
        };
        let what = format!("{}{unknown}", span.product);
        if seen.insert(what.clone()) {
            limits.push(Limit {
                what,
                figure: format!("at least {} {unit} for {}", span.limit, span.minimum_time),
                source: span.source.clone(),
            });
        }
    }
    let source = &plant.limits.differential_source;
    limits.push(Limit {
        what: "pasteurized minus raw".to_owned(),
        figure: format!(
            "at least {} {}",
            audit.differential_limit,
            record.differential().unit().symbol()
        ),
        source: format!("{} ({})", source.citation, source.provenance.name()),
    });
    limits
}

fn accounting(report: &Report<'_>) -> Accounting {
    let accounting = &report.audit.accounting;
    let total = accounting.total();
    let rows = Class::ALL
        .into_iter()
        .map(|class| (class, accounting.time(class)))
        .filter(|(_, time)| time.milliseconds() > 0)
        .map(|(class, time)| {
            let share = time.seconds() / total.seconds();
            ClassRow {
                class: class.key(),
                name: class.name(),
                time: time.to_string(),
                percent: format!("{} %", decimal_places(100.0 * share, 2)),
                share,
                in_doubt: class.is_in_doubt(),
            }
        })
        .collect();
    Accounting { total: total.to_string(), rows }
}

fn signatures(plant: &Plant, decided: &Decided) -> Vec<SignatureRow> {
    let row = |one: &crate::Signature| SignatureRow {
        name: one.name.clone(),
        role: one.role.clone(),
        meaning: one.meaning.clone(),
        time: stamp(plant, one.at),
        scope: match &one.scope {
            Scope::Day => "whole record".to_owned(),
            Scope::Shift(shift) => format!("shift {shift}"),
        },
        holds: one.verdict == Verdict::Holds,
        verdict: match &one.verdict {
            Verdict::Holds => "holds".to_owned(),
            Verdict::Fails(why) => format!("FAILS: {why}"),
        },
        superseded: one.superseded,
    };
    decided.signatures.iter().map(row).collect()
}

fn digests(report: &Report<'_>, decided: &Decided) -> Vec<DigestRow> {
    let row = |source: &SourceFile, what| DigestRow {
        of: file_name(&source.name).to_owned(),
        detail: format!("{what}, {} bytes, {} rows", source.bytes, source.rows),
        sha256: source.sha256_hex(),
    };
    let files = report.record.sources().iter().map(|source| row(source, "logger file"));
    let sheet = report.record.run_sheet().map(|sheet| row(sheet.source(), "run sheet"));
    let plant = report.plant.file.as_ref().map(|file| DigestRow {
        of: format!("plant file {}", file_name(&file.name)),
        detail: String::new(),
        sha256: hexadecimal(&file.sha256),
    });
    let others = decided.digests.iter().map(|one| DigestRow {
        of: one.of.clone(),
        detail: String::new(),
        sha256: one.sha256.clone(),
    });
    files.chain(sheet).chain(plant).chain(others).collect()
}

fn exception_part(
    report: &Report<'_>,
    decided: &Decided,
    index: usize,
    exception: &Exception,
    plot: Option<Panel>,
) -> ExceptionPart {
    let Report { record, plant, audit, .. } = *report;
    let zone = plant.zone;
    let estimate = exception.estimate;
    let mut figures = vec![
        Line { label: "Duration", text: durations(exception) },
        Line {
            label: "Volume",
            text: format!("{}, {}", volume(&exception.volume), at_most_volume(&exception.volume)),
        },
    ];
    let mut add = |label, text: String| {
        if !text.is_empty() {
            figures.push(Line { label, text });
        }
    };
    if let Some(reading) = &exception.worst {
        add("Worst", format!("{}, at {}", worst(exception), zone.clock(reading.at)));
    }
    if let Some(one) = exception.shortfall {
        add("Shortfall", format!("{} {}", decimal_places(one.value, 2), one.unit));
    }
    add("Product", exception.products.join(" + "));
    add("Lot", exception.lots.join(" + "));
    add("Shift", exception.shift.clone().unwrap_or_default());
    if exception.mode != Mode::Production {
        add("Mode", exception.mode.name().to_owned());
    }
    add("Episode", exception.episode.to_string());
    add("Id", exception.id.clone());
    ExceptionPart {
        number: index + 1,
        id: exception.id.clone(),
        rule: exception.rule.key(),
        code: rule_code(exception.rule),
        rule_name: exception.rule.name(),
        cause_name: exception.cause.name(),
        date: zone.date(estimate.start()),
        start: zone.clock(estimate.start()),
        end: zone.clock(estimate.end()),
        duration: estimate.duration().to_string(),
        worst: worst(exception),
        volume: volume(&exception.volume),
        at_most: at_most_volume(&exception.volume),
        lots: exception.lots.join(" + "),
        within_response: exception.within_response,
        sentences: explain(record, plant, audit, exception),
        figures,
        lethality: exception.lethality.as_ref().map_or_else(String::new, |least| {
            format!("Least lethality, for information: {}", lethality(least))
        }),
        decision: decided.exceptions.get(&exception.id).map(|one| decision_part(plant, one)),
        plot,
    }
}

fn decision_part(plant: &Plant, decision: &Decision) -> DecisionPart {
    let Decision { settlement, by, at } = decision;
    let disposition = settlement.disposition_in_words();
    let lines = [
        ("Cause", &settlement.cause),
        ("Action", &settlement.action),
        ("Disposition", &disposition),
        ("Lot", &settlement.lot),
        ("Quantity", &settlement.quantity),
        ("Note", &settlement.note),
    ];
    let lines = lines
        .into_iter()
        .filter(|(_, text)| !text.trim().is_empty())
        .map(|(label, text)| Line { label, text: text.clone() })
        .collect();
    DecisionPart { lines, who: who(plant, by, *at), disposition }
}

/// Decisions whose exception the audit does not hold must not vanish from paper.
fn strays(report: &Report<'_>, decided: &Decided) -> Vec<String> {
    let known: BTreeSet<&str> =
        report.audit.exceptions.iter().map(|exception| exception.id.as_str()).collect();
    decided
        .exceptions
        .iter()
        .filter(|(id, _)| !known.contains(id.as_str()))
        .map(|(id, one)| {
            let who = who(report.plant, &one.by, one.at);
            format!(
                "A decision about exception {id}, which this audit does not hold: {} ({who})",
                named(&one.settlement.disposition_in_words())
            )
        })
        .collect()
}

fn observations(report: &Report<'_>) -> Vec<ObservationPart> {
    let Report { plant, audit, .. } = report;
    let mut parts = Vec::new();
    for &kind in ObservationKind::ALL {
        let of_kind: Vec<_> = audit.observations.iter().filter(|one| one.kind == kind).collect();
        let Some(first) = of_kind.first() else { continue };
        let lines = if of_kind.len() <= FEW {
            of_kind.iter().map(|one| observed(one, report)).collect()
        } else {
            let intervals = || of_kind.iter().filter_map(|one| one.interval);
            let from = intervals().map(Interval::start).min();
            let to = intervals().map(Interval::end).max();
            let when = from.zip(to).map_or_else(String::new, |(from, to)| {
                format!(" between {} and {}", stamp(plant, from), stamp(plant, to))
            });
            vec![format!(
                "{}{when}; the first of them: {}",
                plural(of_kind.len(), "observation"),
                observed(first, report)
            )]
        };
        parts.push(ObservationPart {
            kind: kind.key(),
            title: kind.title(),
            count: of_kind.len() as u64,
            lines,
        });
    }
    parts
}

fn run_row(plant: &Plant, run: &ProductRun) -> RunRow {
    let (start, end) = (run.interval.start(), run.interval.end());
    let metered = |value: Option<f64>| match value {
        Some(value) => {
            let missing = if run.incomplete { "at least " } else { "" };
            format!("{missing}{} {}", decimal_places(value, 0), run.unit.symbol())
        }
        None => "not metered".to_owned(),
    };
    let mut stated: Vec<String> = Vec::new();
    if !run.tank.is_empty() {
        stated.push(format!("tank {}", run.tank));
    }
    stated.extend(run.stated.map(|(value, unit)| format!("{value} {}", unit.symbol())));
    RunRow {
        from: format!("{} {}", plant.zone.date(start), plant.zone.clock(start)),
        to: plant.zone.clock(end),
        product: named(&run.product),
        lot: named(&run.lot),
        forward_time: run.forward_time.to_string(),
        forward: metered(run.forward),
        diverted: metered(run.diverted),
        stated: stated.join(", "),
        exceptions: run.exceptions,
    }
}
