//! The summary of a range on paper: the sums, the trends, the records, the
//! exceptions with what was decided, the signatures. Words and figures come from `daybook`.

use crate::error::Error;
use crate::legible::legible;
use crate::most::{MOST_PASSED, Weight, most, unlisted};
use crate::pages::Paper;
use crate::{digests, typeset};
use case::{CAUTION, plural};
use chart::Scale;
use chrono::{DateTime, FixedOffset, NaiveDate};
use daybook::{
    Entry, ExceptionRow, Fact, HeldRow, HoleRow, RunRow, Series, ShownIn, Summary, minute,
};
use review::{Imprint, PlantSource, Signed, Source, Stage, Subject};
use serde::Serialize;
use std::collections::BTreeSet;
use trace::Duration;

/// So many exceptions are listed: every thousand costs the typesetter seconds and 200 MB.
const LISTED: usize = 2000;

const TEMPLATE: &str = include_str!("../../../assets/range.typ");

/// What a summary of a range is about.
#[derive(Debug, Clone, Copy)]
pub struct RangeSummary<'a> {
    /// The records and their sums.
    pub summary: &'a Summary<'a>,
    /// The size of the pages.
    pub paper: Paper,
    /// When it is made.
    pub created: DateTime<FixedOffset>,
    /// The registers of signers and the ledgers that the records were checked against.
    pub books: &'a [Imprint],
}

#[derive(Serialize)]
struct Document {
    paper: &'static str,
    program: String,
    created: String,
    range: String,
    plants: String,
    /// In a box on every page; blank when all records are signed and every signature holds.
    warning: String,
    facts: Vec<Line>,
    cautions: Vec<String>,
    series: Vec<Plot>,
    days: Vec<[String; 7]>,
    no_record: Vec<String>,
    holes: Vec<String>,
    /// Date, pasteurizer and the hold in words, the oldest that is open first.
    holds: Vec<[String; 3]>,
    /// Of a lot that is asked for: from, to, pasteurizer, product, tank, what went forward.
    runs: Vec<[String; 6]>,
    exceptions: Vec<[String; 7]>,
    /// Says what is not listed of the exceptions; blank when all are.
    unlisted: String,
    signatures: Vec<[String; 5]>,
    faults: Vec<Line>,
    digests: Vec<[String; 2]>,
}

#[derive(Serialize)]
struct Line {
    label: String,
    text: String,
}

/// A series as dots; all places are shares of width and height, the latter from the top.
#[derive(Serialize)]
struct Plot {
    title: String,
    symbol: String,
    sentence: String,
    alt: String,
    dots: Vec<[f64; 2]>,
    /// Those below a limit, drawn as crosses.
    crosses: Vec<[f64; 2]>,
    /// The ends of the trend, where it is significant.
    line: Option<[[f64; 2]; 2]>,
    /// Where zero lies, for a margin.
    zero: Option<f64>,
    ticks: Vec<Tick>,
    dates: Vec<Tick>,
}

#[derive(Serialize)]
struct Tick {
    at: f64,
    label: String,
}

/// The bytes of the PDF.
///
/// # Errors
/// When the typesetter fails; it has no reason to.
pub fn range_summary(about: &RangeSummary<'_>) -> Result<Vec<u8>, Error> {
    let document = document(about);
    let mut value =
        serde_json::to_value(&document).map_err(|cause| Error::Data(cause.to_string()))?;
    legible(&mut value);
    let name = format!("range {} {}", document.plants, document.range);
    let set = typeset::pdf(TEMPLATE, None, value.to_string(), name, &about.created, None);
    set.map(|(bytes, _page)| bytes)
}

fn document(about: &RangeSummary<'_>) -> Document {
    let RangeSummary { summary, paper, created, books } = about;
    let mut plants: Vec<&str> = summary
        .entries()
        .filter_map(|entry| Some(entry.day.as_ref().ok()?.subject.plant.as_str()))
        .collect();
    plants.sort_unstable();
    plants.dedup();
    let facts = summary.facts().into_iter();
    let exceptions: Vec<(&Entry, &ExceptionRow)> = summary.counted_exceptions().collect();
    let listed = exceptions
        .iter()
        .map(|(_, one)| Weight { at_most: one.volume.at_most, milliseconds: one.at_most_ms });
    let listed = most(listed, LISTED);
    Document {
        paper: paper.key(),
        program: format!("Holdtrace {}", env!("CARGO_PKG_VERSION")),
        created: created.format("%Y-%m-%d %H:%M %:z").to_string(),
        range: summary.words(),
        plants: plants.join(", "),
        warning: warning(summary),
        facts: facts.map(|Fact { label, text }| Line { label: label.to_owned(), text }).collect(),
        cautions: std::iter::once(CAUTION.to_owned())
            .chain(summary.deadlines())
            .chain(std::iter::once(
                "A trend is a reason to investigate, not a forecast: the median of the slopes between all \
                 pairs of days, with Sen's 95 % interval."
                    .to_owned(),
            ))
            .collect(),
        series: summary.series().iter().filter(|one| one.points.len() > 1).map(plot).collect(),
        days: summary.entries().map(day).collect(),
        no_record: summary.no_record_spans(),
        holes: summary.holes().iter().map(HoleRow::in_words).collect(),
        holds: summary.held().all().map(|row| held(row, summary.today())).collect(),
        runs: summary.runs_of_lot().map(run).collect(),
        unlisted: unlisted(exceptions.len(), listed.len(), "exceptions", MOST_PASSED),
        exceptions: listed.into_iter().map(|index| exception(exceptions[index])).collect(),
        signatures: summary.entries().flat_map(signatures).collect(),
        faults: summary
            .entries()
            .flat_map(|entry| {
                let faults = entry.review.faults.iter();
                faults.map(|fault| Line { label: entry.name(), text: bare(entry, fault) })
            })
            .collect(),
        digests: of_records(summary)
            .into_iter()
            .chain(books.iter().flat_map(digests::of_books))
            .collect(),
    }
}

fn run((entry, run): (&Entry, &RunRow)) -> [String; 6] {
    [
        minute(&run.start),
        minute(&run.end),
        entry.unit().to_owned(),
        run.product.clone(),
        run.tank.clone(),
        run.volume(),
    ]
}

fn held(row: HeldRow<'_>, today: NaiveDate) -> [String; 3] {
    let date = row.entry.date().map_or_else(String::new, |date| date.to_string());
    [date, row.entry.unit().to_owned(), row.in_words(today)]
}

fn warning(summary: &Summary<'_>) -> String {
    let stage = |which: Stage| summary.entries().filter(|one| one.review.stage == which).count();
    let (all, signed) = (summary.entries().count(), stage(Stage::Signed));
    match (stage(Stage::ChangedSinceSigning), stage(Stage::MethodChanged)) {
        (0, 0) if signed == all => String::new(),
        (0, 0) if stage(Stage::Unproven) > 0 => {
            format!("{} {}", plural(stage(Stage::Unproven), "record"), Stage::Unproven.name())
        }
        (0, 0) => format!("{} not signed", plural(all - signed, "record")),
        (0, method) => format!("{} signed by another audit method", plural(method, "record")),
        (changed, _) => {
            format!("{} {}", plural(changed, "record"), Stage::ChangedSinceSigning.name())
        }
    }
}

/// What is wrong with a record, naming files and not where somebody had them.
fn bare(entry: &Entry, fault: &str) -> String {
    let folder = entry.record.parent().map(|folder| folder.join("").to_string_lossy().into_owned());
    match folder.filter(|folder| !folder.is_empty()) {
        Some(folder) => fault.replace(&folder, ""),
        None => fault.to_owned(),
    }
}

fn day(entry: &Entry) -> [String; 7] {
    let date = entry.date().map_or_else(String::new, |date| date.to_string());
    let forward = entry.day.as_ref().map_or_else(
        |_| String::new(),
        |day| case::about(Duration::from_milliseconds(day.forward_ms)),
    );
    let mut exceptions = entry
        .exceptions_in_words()
        .unwrap_or_else(|| format!("can't be read: {}", bare(entry, entry.sentence())));
    if entry.open_hole().is_some() {
        exceptions.push_str("; the hole before it is not closed");
    }
    let due = entry.due().map_or_else(String::new, |due| format!(", due {due}"));
    [
        date,
        entry.unit().to_owned(),
        entry.name(),
        forward,
        exceptions,
        entry.worst_margins(ShownIn::default()),
        format!("{}{due}", entry.review.stage.name()),
    ]
}

fn exception((entry, one): (&Entry, &ExceptionRow)) -> [String; 7] {
    let worst = one.worst.as_ref().zip(one.limit).map_or_else(String::new, |(worst, limit)| {
        let [worst_value, limit] = [worst.value, limit].map(|one| case::number(&one.to_string()));
        format!("{worst_value} of {limit} {}", worst.unit)
    });
    let resolution = entry.review.resolution(&one.id);
    let resolution = resolution
        .map_or_else(|| "not resolved".to_owned(), |(settlement, _)| settlement.in_words());
    [
        one.start.get(..19).unwrap_or(&one.start).replace('T', " "),
        entry.unit().to_owned(),
        format!(
            "{}, {}",
            one.rule_name(),
            case::about(Duration::from_milliseconds(one.duration_ms))
        ),
        worst,
        one.volume.words(),
        one.lots.join(" + "),
        resolution,
    ]
}

fn signatures(entry: &Entry) -> Vec<[String; 5]> {
    let row = |signed: &Signed| {
        let verdict = if signed.verdict.holds() {
            "holds".to_owned()
        } else {
            format!("FAILS: {}", signed.found())
        };
        let standing = if signed.is_current() { "" } else { ", superseded" };
        [
            entry.name(),
            format!("{} ({})", signed.name, signed.role),
            format!("{}, {}", signed.meaning, signed.scope),
            signed.mark.at.to_string().replace('T', " "),
            format!("{verdict}{standing}"),
        ]
    };
    entry.review.signatures().iter().map(row).collect()
}

/// The digests of all files and of the last line of each journal; a plant file of many records once.
fn of_records(summary: &Summary<'_>) -> Vec<[String; 2]> {
    let mut digests = Vec::new();
    let mut plants = BTreeSet::new();
    for entry in summary.entries() {
        let name = entry.name();
        if let Ok(day) = &entry.day {
            let Subject { sources, run_sheet, operator_entries, plant_file, .. } = &day.subject;
            let named = |file: &Source| [format!("{name}: {}", file.name), file.sha256.clone()];
            match sources.as_slice() {
                // It bears the record's name.
                [only] => digests.push([name.clone(), only.sha256.clone()]),
                several => digests.extend(several.iter().map(named)),
            }
            digests.extend(run_sheet.iter().chain(operator_entries).map(named));
            if let Some(PlantSource { name, sha256 }) = plant_file {
                plants.insert([format!("plant file {name}"), sha256.clone()]);
            }
        }
        if let Some(head) = entry.review.head() {
            digests.push([format!("{name}: journal's last line"), head.to_string()]);
        }
    }
    digests.extend(plants);
    digests
}

fn plot(series: &Series) -> Plot {
    let (first, last) = match (series.points.first(), series.points.last()) {
        (Some((first, _)), Some((last, _))) => (*first, *last),
        _ => (NaiveDate::default(), NaiveDate::default()),
    };
    let span = (last - first).num_days().max(1) as f64;
    let zero = series.followed.is_margin().then_some(0.0);
    let (least, greatest) = series.extent();
    let scale = Scale::around(least, greatest, 4);
    let down = |value: f64| f64::from(scale.y(value, 1.0, 0.0));
    let across = |date: NaiveDate| (date - first).num_days() as f64 / span;
    let line = series.line().map(|ends| ends.map(|(date, value)| [across(date), down(value)]));
    let (title, sentence) = (series.title(), series.sentence());
    let places = |is_short: bool| {
        let points = series.points.iter().filter(|(_, value)| series.is_short(*value) == is_short);
        points.map(|(date, value)| [across(*date), down(*value)]).collect()
    };
    let step = (span / 6.0).ceil().max(1.0) as usize;
    let dates = first.iter_days().step_by(step).take_while(|date| *date <= last);
    Plot {
        alt: format!("{title}, from {first} to {last}: {sentence}"),
        title,
        symbol: series.symbol.clone(),
        sentence,
        dots: places(false),
        crosses: places(true),
        line,
        zero: zero.map(down),
        ticks: scale
            .ticks
            .iter()
            .map(|tick| Tick { at: down(*tick), label: scale.label(*tick) })
            .collect(),
        dates: dates.map(|date| Tick { at: across(date), label: date.to_string() }).collect(),
    }
}
