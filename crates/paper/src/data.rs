//! What a template gets: everything of a record in words and figures, in the order of the pages.
//! The keys are documented in `docs/file-formats.md` ("The PDF summary"). Texts are ready to be
//! printed; numbers are only where something is drawn or chosen by them.

use crate::digests::of_review;
use crate::error::Error;
use crate::filing::Filing;
use crate::legible::legible;
use crate::most::{MOST_PASSED, Weight, most, unlisted};
use crate::plots::{Panel, Plotter};
use crate::summary::Summary;
use analysis::{
    Check, CheckedEntry, Class, Cleaning, CleaningCycle, Divert, DivertReason, Exception,
    LETHALITY_CAUTION, ProductChange, ProductRun, Rule,
};
use case::{
    CAUTION, Case, DisplayUnits, StatedLimit, at_most_volume, beyond_lines, change_flow,
    change_temperature, decimal_places, divert_cause, durations, followed, mixed, plural,
    reservations, return_temperature, return_temperatures, returned, volume, worst,
};
use daybook::{RecordTank, RecordTanks, TankRun};
use plant::{Mode, Plant, Provenance};
use review::{
    Correction, Kind, Link, Made, Mark, ProductHold, Reviewed, Settlement, Signed, Stage, State,
    TubeOnDay, TubeUsed, closing_ids, divert_reason,
};
use serde::Serialize;
use std::borrow::Borrow;
use std::collections::BTreeSet;
use trace::{Instant, Interval, Observation, Rank, RunRecord, SourceFile, file_name, hexadecimal};

/// The version of the data; raised when a key changes its meaning or goes.
const SCHEMA: u32 = 2;
/// So many exceptions, runs and lots are listed: more is not read on paper, and costs the typesetter
/// seconds and megabytes for every hundred.
const LISTED: usize = 500;
/// So many exceptions get a plot of their own.
const PLOTTED: usize = 40;
/// Of so many observations of one kind each has its own line.
const FEW: usize = 5;
/// So many passages are listed.
const NAMED: usize = 60;

#[derive(Serialize)]
struct RuleWords {
    rule: &'static str,
    code: &'static str,
    name: &'static str,
}

impl RuleWords {
    const fn of(rule: Rule) -> Self {
        Self { rule: rule.key(), code: rule.code(), name: rule.name() }
    }
}

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
    /// The lots and tanks to hold, or of which time everything is.
    hold: Vec<String>,
    /// The tanks that took what passed, each with everything that went into it.
    tanks: Vec<TankPart>,
    /// Which run sheets they are made of; blank without any.
    tanks_from: String,
    /// Whether no other day was looked at.
    tanks_alone: bool,
    /// What is on hold, and what became of what was.
    holds: Vec<HoldLine>,
    limits: Vec<Limit>,
    /// The settings that are built in.
    settings: Vec<Limit>,
    /// Limits beyond their bounds, and who accepted them.
    beyond: Vec<String>,
    /// The time without a record before this one, and how it was closed; blank where none is known.
    hole: String,
    accounting: Accounting,
    /// What stands for each rule on bands and flags.
    rules: Vec<RuleWords>,
    signatures: Vec<SignatureRow>,
    verification: Vec<Checked>,
    digests: Vec<DigestRow>,
    margins: Vec<String>,
    day: Panel,
    exceptions: Vec<ExceptionPart>,
    /// The exceptions of each cleaning, a line each.
    cleanings: Vec<CleaningPart>,
    /// Says what is not listed of exceptions, runs and lots; blank when all is.
    unlisted: [String; 3],
    /// What passed while any exception lasted; blank without any.
    passed: String,
    /// Says how many exceptions have no plot; blank when all have.
    unplotted: String,
    /// Decisions about exceptions that the audit does not hold.
    strays: Vec<String>,
    observations: Vec<ObservationPart>,
    acknowledged: Vec<Person>,
    /// What was entered beside the plant's list of required entries.
    entries: Vec<Person>,
    runs: Vec<RunRow>,
    lots: Vec<LotRow>,
    process: Vec<String>,
    /// When the flow diversion device went forward and left forward flow, and why.
    diverts: Vec<DivertRow>,
    operator_entries: Vec<EnteredRow>,
    /// Who signed them; `None` where there are none.
    entries_signed: Option<Checked>,
    passages: Vec<String>,
    cleaning_cycles: CycleList,
    /// What the meter saw against what the run sheet states, a line each.
    amounts: Vec<String>,
    /// The lots and tanks of the run sheet, a line each.
    sums: Vec<String>,
    changes: Vec<ChangeRow>,
    completeness: Vec<Item>,
    /// How the tests of the equipment stood on the day, and its seals; those wanting first.
    equipment: Vec<EquipmentLine>,
    cautions: Vec<String>,
}

#[derive(Serialize)]
struct EquipmentLine {
    is_wanting: bool,
    line: String,
}

#[derive(Serialize)]
struct HoldLine {
    is_open: bool,
    line: String,
}

#[derive(Serialize)]
struct Standing {
    key: &'static str,
    name: &'static str,
    /// For the head of every page; blank when the record is signed and unchanged.
    warning: String,
    sentence: String,
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
struct CleaningPart {
    line: String,
    resolution: String,
}

#[derive(Serialize)]
struct ExceptionPart {
    number: usize,
    /// The line of its episode, before the first one listed of it; else blank.
    episode: String,
    id: String,
    rule: &'static str,
    code: &'static str,
    rule_name: &'static str,
    cause_name: String,
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
    /// `close` or `note`.
    rank: &'static str,
    source: &'static str,
    /// How many there are of this kind.
    count: u64,
    lines: Vec<String>,
    /// For each line how it was closed; blank for what is to be noted.
    closings: Vec<String>,
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
struct DivertRow {
    start: String,
    lasted: String,
    cause: String,
    response: String,
    returned: String,
    /// What somebody gave as the reason; blank where nobody did.
    reason: String,
    who: String,
    /// Whether it has to be closed and is not.
    open: bool,
}

#[derive(Serialize)]
struct ChangeRow {
    at: String,
    from: String,
    to: String,
    temperature: String,
    flow: String,
    /// What stands in the holding tube.
    mixed: String,
}

#[derive(Serialize)]
struct CycleList {
    /// Which thermometer stands for the return, or why there is no cleaning.
    note: String,
    /// The temperature from which time counts as hot; blank where the plant sets none.
    hot_from: String,
    rows: Vec<CycleRow>,
    /// How long product went forward between them, a line each.
    between: Vec<String>,
}

#[derive(Serialize)]
struct CycleRow {
    start: String,
    lasted: String,
    temperatures: String,
    hot: String,
    followed: String,
    /// What the record does not show, or shows against it.
    reservations: String,
}

#[derive(Serialize)]
struct EnteredRow {
    time: String,
    entry: String,
    by: String,
    /// What the record says of it; blank for words.
    check: String,
    /// Whether the record does not bear it out.
    disagrees: bool,
}

#[derive(Serialize)]
struct TankPart {
    /// The tank, and the exceptions whose product went into it by their numbers.
    line: String,
    /// When it was emptied, and whether it is known what was in it before.
    until: String,
    runs: Vec<TankRow>,
    /// How many more runs there are; blank where all are listed.
    more: String,
}

#[derive(Serialize)]
struct TankRow {
    times: String,
    unit: String,
    product: String,
    lot: String,
    stated: String,
    record: String,
    /// Whether it is this record's.
    own: bool,
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
    /// What was entered; blank where nothing was.
    entry: String,
    who: String,
}

/// What a template gets as `data.json`, for who writes one: every text legible.
///
/// # Errors
/// When a figure can't be written as JSON; none that an audit holds.
pub fn data(summary: &Summary<'_>) -> Result<String, Error> {
    let failed = |cause: serde_json::Error| Error::Data(cause.to_string());
    let mut value = serde_json::to_value(document(summary)).map_err(failed)?;
    legible(&mut value);
    serde_json::to_string(&value).map_err(failed)
}

/// A sentence that may begin with the names of logger files, as those were typed, with their bare names.
fn without_folders(record: &RunRecord, sentence: &str) -> String {
    let (mut bare, mut rest) = (String::new(), sentence);
    while let Some((name, after)) = record
        .sources()
        .iter()
        .find_map(|source| Some((&*source.name, rest.strip_prefix(&*source.name)?)))
    {
        bare.push_str(file_name(name));
        let separator = after.strip_prefix(", ");
        bare.push_str(if separator.is_some() { ", " } else { "" });
        rest = separator.unwrap_or(after);
        if separator.is_none() {
            break;
        }
    }
    bare + rest
}

fn document(summary: &Summary<'_>) -> Document {
    let Summary { filing, paper, created, template: _ } = summary;
    let Filing { case, record: name, reviewed, others: _ } = filing;
    let (record, plant, audit) = (case.record(), case.plant(), case.audit());
    let tanks = filing.tanks();
    let plotter = Plotter::new(case);
    // Those of a cleaning are resolved together: one line for all of them.
    let counted: Vec<(usize, &Exception)> =
        audit.exceptions.iter().enumerate().filter(|(_, one)| one.cleaning.is_none()).collect();
    let weights = || counted.iter().map(|(_, one)| weight(one));
    let plotted = most(weights(), PLOTTED);
    let mut episode = None;
    let exceptions: Vec<ExceptionPart> = most(weights(), LISTED)
        .into_iter()
        .map(|place| {
            let (index, one) = counted[place];
            let plot = plotted.contains(&place).then(|| plotter.around(one));
            let begins = episode.replace(one.episode) != Some(one.episode);
            let line = if begins { episode_of(case, one) } else { String::new() };
            exception_part((case, reviewed, &tanks), index, one, &line, plot)
        })
        .collect();
    let person = |what: String, text: &str, mark: &Mark| Person {
        what,
        text: text.to_owned(),
        who: who((plant, reviewed), mark),
    };
    let state = reviewed.state.iter();
    let without = exceptions.len() - plotted.len();
    let runs = audit.product_runs.iter().map(|run| Weight {
        at_most: Some(run.exceptions as f64),
        milliseconds: run.interval.duration().milliseconds(),
    });
    let runs = most(runs, LISTED);
    let lots = audit.lots.iter().map(|lot| &lot.passed.outer_value);
    let lots = most(lots.map(|at_most| Weight { at_most: *at_most, milliseconds: 0 }), LISTED);
    let mut cautions = vec![CAUTION.to_owned(), LETHALITY_CAUTION.to_owned()];
    let assumed = case.assumptions().iter().map(|assumption| without_folders(record, assumption));
    cautions.extend(assumed.map(|assumption| format!("Assumed: {assumption}")));
    let (limits, settings) = limits(case);
    Document {
        schema: SCHEMA,
        paper: paper.key(),
        program: format!("Holdtrace {}", env!("CARGO_PKG_VERSION")),
        created: stamp(plant, *created),
        record: (*name).to_owned(),
        state: standing(case, reviewed),
        plant: plant.name.clone(),
        plant_assumed: plant.is_assumed(),
        unit: record.unit().to_owned(),
        date: dates(plant, record.interval()),
        period: period(case),
        verdict: case.verdict(),
        // Every lot and tank: what is not printed is not held.
        hold: case.hold_lines_with(&held_whole(&tanks)),
        tanks_from: if tanks.tanks.is_empty() { String::new() } else { tanks.looked_at.in_words() },
        tanks_alone: tanks.looked_at.is_alone(),
        tanks: tanks.tanks.iter().map(tank_part).collect(),
        holds: reviewed
            .holds()
            .iter()
            .map(|one| HoldLine { is_open: one.is_open(), line: reviewed.hold_in_words(one) })
            .collect(),
        limits,
        settings,
        beyond: beyond_lines(plant),
        hole: hole(plant, reviewed),
        accounting: accounting(case),
        rules: Rule::ALL.iter().map(|rule| RuleWords::of(*rule)).collect(),
        signatures: reviewed
            .signatures()
            .iter()
            .map(|one| signature(plant, reviewed, one))
            .collect(),
        verification: verified(reviewed)
            .map(|link| Checked { holds: link.holds, line: link.in_words() })
            .collect(),
        digests: digests(case, reviewed),
        margins: case.margin_lines(),
        day: plotter.day(),
        unlisted: [
            unlisted(counted.len(), exceptions.len(), "exceptions", MOST_PASSED),
            unlisted(audit.product_runs.len(), runs.len(), "runs", "with the most exceptions"),
            unlisted(audit.lots.len(), lots.len(), "lots", MOST_PASSED),
        ],
        exceptions,
        cleanings: cleanings(case, reviewed),
        passed: if counted.is_empty() {
            String::new()
        } else {
            format!(
                "What passed while they lasted, in all: about {}, {} over the outer bounds, each counted \
                 once. It went into a tank: the whole of these lots and tanks is held.",
                volume(&audit.passed),
                at_most_volume(&audit.passed)
            )
        },
        unplotted: if without == 0 {
            String::new()
        } else {
            format!(
                "Plots are given for the {PLOTTED} exceptions during which the most product passed, \
                 those of unknown volume first; {without} have none."
            )
        },
        strays: strays(case, reviewed),
        observations: observations(case, reviewed),
        acknowledged: state
            .clone()
            .flat_map(|state| state.subject().observations.iter().map(move |item| (state, item)))
            .filter_map(|(state, item)| Some((item, state.acknowledged(&item.kind)?)))
            .map(|(item, made)| person(title(&item.kind), &made.note, &made.mark))
            .collect(),
        entries: state
            .flat_map(|state| state.subject().entries.iter().map(move |item| (state, item)))
            .filter(|(_, what)| !audit.completeness.iter().any(|item| item.item == **what))
            .filter_map(|(state, what)| Some((what, state.entered(what)?)))
            .map(|(what, made)| person(what.clone(), &made.value, &made.mark))
            .collect(),
        runs: runs.into_iter().map(|index| run_row(plant, &audit.product_runs[index])).collect(),
        lots: lots
            .into_iter()
            .map(|index| &audit.lots[index])
            .map(|lot| LotRow {
                lot: named(&lot.lot),
                exceptions: lot.exceptions,
                volume: volume(&lot.passed),
                at_most: at_most_volume(&lot.passed),
            })
            .collect(),
        process: case.process_lines(),
        diverts: diverts(case, reviewed),
        cleaning_cycles: cycles(case),
        operator_entries: operator_entries(case),
        entries_signed: case.record().operator_entries().map(|_| Checked {
            holds: reviewed.entries_signed.holds(),
            line: reviewed.entries_signed.sentence(),
        }),
        amounts: at_most(audit.amounts.runs.iter().map(|one| case.amount_line(one)).collect()),
        sums: at_most(case.sum_lines()),
        changes: audit.product_changes.iter().take(NAMED).map(|one| change(plant, one)).collect(),
        passages: at_most(audit.transitions.iter().map(|one| case.passage_line(one)).collect()),
        completeness: completeness(case, reviewed),
        equipment: equipment(case, reviewed),
        cautions,
    }
}

/// The first of many lines, and how many more there are.
fn at_most(mut lines: Vec<String>) -> Vec<String> {
    let more = lines.len().saturating_sub(NAMED);
    if more > 0 {
        lines.truncate(NAMED);
        lines.push(format!("and {more} more; the JSON output lists them"));
    }
    lines
}

fn episode_of(case: &Case, exception: &Exception) -> String {
    let episode = case.audit().episodes.iter().find(|one| one.number == exception.episode);
    episode.map(|one| case.episode_line(one)).unwrap_or_default()
}

/// The title of a kind of observations, by its key.
fn title(kind: &str) -> String {
    let known = case::observation_kinds().find(|known| known.key() == kind);
    // A journal of another program may name a kind that this one does not know.
    known.map_or_else(|| kind.replace('_', " "), |known| known.title().to_owned())
}

fn hole(plant: &Plant, reviewed: &Reviewed) -> String {
    let hole = reviewed.state.as_ref().and_then(State::hole);
    hole.map_or_else(String::new, |(hole, made)| {
        format!("{}. {}", hole.in_words(), closed((plant, reviewed), made))
    })
}

/// How something was closed, behind the sentence about it.
fn closed(whose: (&Plant, &Reviewed), made: &Made) -> String {
    let Made { value, note, mark } = made;
    let note = if note.trim().is_empty() { String::new() } else { format!("; {note}") };
    format!("Closed: {}{note} ({}).", named(value), who(whose, mark))
}

/// The bundles of exceptions outside production, each with what was decided about all of it.
fn cleanings(case: &Case, reviewed: &Reviewed) -> Vec<CleaningPart> {
    let audit = case.audit();
    let part = |cleaning: &Cleaning| {
        let members = cleaning.exceptions.iter().filter_map(|&index| audit.exceptions.get(index));
        let resolutions: Vec<(&Settlement, &Mark)> =
            members.filter_map(|one| reviewed.resolution(&one.id)).collect();
        let (all, count) = (cleaning.exceptions.len(), resolutions.len());
        let resolution = match resolutions.split_first() {
            None => "Not resolved.".to_owned(),
            Some(_) if count < all => format!("Resolved: {count} of {all}."),
            Some(((settlement, mark), others)) => {
                // Each names the exception that it is of, and how much passed.
                let words = |one: &Settlement| {
                    [one.cause.as_str(), &one.action, &one.disposition_in_words(), &one.note]
                        .map(str::trim)
                        .into_iter()
                        .filter(|text| !text.is_empty())
                        .collect::<Vec<_>>()
                        .join("; ")
                };
                let texts = words(settlement);
                let differ = others.iter().any(|(other, _)| words(other) != texts);
                let apart = if differ { ", the first of them" } else { "" };
                format!("Resolved{apart}: {texts} ({}).", who((case.plant(), reviewed), mark))
            }
        };
        CleaningPart { line: capital(&case.cleaning_line(cleaning)), resolution }
    };
    audit.cleanings.iter().map(part).collect()
}

fn capital(line: &str) -> String {
    let mut letters = line.chars();
    let first = letters.next().map(|letter| letter.to_ascii_uppercase());
    first.into_iter().chain(letters).collect()
}

/// What the operators wrote down; all of it, since it is part of the record.
fn operator_entries(case: &Case) -> Vec<EnteredRow> {
    let row = |one: &CheckedEntry| EnteredRow {
        time: case.entry_time(one),
        entry: named(&one.in_words()),
        by: named(&one.entry.by),
        check: case::entry_check(one),
        disagrees: matches!(one.check, Check::Disagrees(_)),
    };
    case.audit().entries.iter().map(row).collect()
}

/// The first diverts, each with the reason that somebody gave.
fn diverts(case: &Case, reviewed: &Reviewed) -> Vec<DivertRow> {
    let (audit, zone) = (case.audit(), case.plant().zone);
    let ids = closing_ids(audit);
    let row = |one: &Divert| {
        let state = reviewed.state.as_ref();
        let made = state.and_then(|state| divert_reason(state, audit, &ids, one));
        DivertRow {
            start: format!(
                "{} {}",
                zone.date(one.observed.start()),
                case::time_of_day(zone, one.observed.start())
            ),
            lasted: format!(
                "{}{}",
                case::about(one.estimate.duration()),
                if one.is_over { "" } else { ", to the end" }
            ),
            cause: divert_cause(one, DisplayUnits::RECORDED),
            response: one.response.map(case::response).unwrap_or_default(),
            returned: returned(one).unwrap_or_default(),
            reason: made.map(|made| named(&made.value)).unwrap_or_default(),
            who: made.map(|made| who((case.plant(), reviewed), &made.mark)).unwrap_or_default(),
            open: one.reason == DivertReason::NotInRecord && made.is_none(),
        }
    };
    audit.diverts.iter().take(NAMED).map(row).collect()
}

fn change(plant: &Plant, one: &ProductChange) -> ChangeRow {
    ChangeRow {
        at: format!("{} {}", plant.zone.date(one.at()), case::time_of_day(plant.zone, one.at())),
        from: named(&one.from),
        to: named(&one.to),
        temperature: change_temperature(one),
        flow: change_flow(one),
        mixed: mixed(one),
    }
}

/// The first cleanings, and the times of production between them.
fn cycles(case: &Case) -> CycleList {
    let (audit, zone) = (case.audit(), case.plant().zone);
    let row = |one: &CleaningCycle| CycleRow {
        start: format!(
            "{} {}",
            zone.date(one.interval.start()),
            case::time_of_day(zone, one.interval.start())
        ),
        lasted: one.interval.duration().to_string(),
        temperatures: return_temperatures(one, DisplayUnits::RECORDED).unwrap_or_default(),
        hot: one.hot.map(|hot| hot.to_string()).unwrap_or_default(),
        followed: followed(one, zone),
        reservations: reservations(one).join("; "),
    };
    let more = unlisted(audit.cleaning_cycles.len(), NAMED, "cleanings", "at the start");
    let note = case.no_cleaning().map_or_else(
        || format!("{}. {more}", capital(return_temperature(case.record()))).trim().to_owned(),
        str::to_owned,
    );
    CycleList {
        note,
        hot_from: case.cleaning_temperature(DisplayUnits::RECORDED).unwrap_or_default(),
        rows: audit.cleaning_cycles.iter().take(NAMED).map(row).collect(),
        between: at_most(
            audit.between_cleanings.iter().map(|one| case.between_line(one)).collect(),
        ),
    }
}

/// The required entries, each with what was entered for it.
fn completeness(case: &Case, reviewed: &Reviewed) -> Vec<Item> {
    let item = |item: &analysis::CompletenessItem| {
        let entered = reviewed.state.as_ref().and_then(|state| state.entered(&item.item));
        let present = item.presence == analysis::Presence::Present;
        Item {
            item: item.item.clone(),
            source: item.source.clone(),
            presence: if entered.is_some() && !present { "entered" } else { item.presence.name() },
            present: present || entered.is_some(),
            detail: item.detail.clone(),
            entry: entered.map(|one| named(&one.value)).unwrap_or_default(),
            who: entered.map(|one| who((case.plant(), reviewed), &one.mark)).unwrap_or_default(),
        }
    };
    case.audit().completeness.iter().map(item).collect()
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

/// By whom, in their printed name, and when.
fn who((plant, reviewed): (&Plant, &Reviewed), mark: &Mark) -> String {
    format!("{}, {}", named(reviewed.name_of(&mark.by)), stamp(plant, mark.at.instant()))
}

fn named(word: &str) -> String {
    if word.trim().is_empty() { "(blank)".to_owned() } else { word.to_owned() }
}

fn dates(plant: &Plant, interval: Interval) -> String {
    let (first, last) = (plant.zone.date(interval.start()), plant.zone.date(interval.end()));
    if first == last { first } else { format!("{first} to {last}") }
}

/// What stands in the head of every page: how far the review is short of a signature, whether nobody
/// approved the limits, and who accepted limits beyond their bounds.
fn warning(plant: &Plant, reviewed: &Reviewed, of_review: String) -> String {
    let mut parts = vec![of_review];
    let open: Vec<&str> = open_holds(reviewed).map(|hold| hold.name.as_str()).collect();
    if !open.is_empty() {
        parts.push(format!("product on hold: {}", few(&open)));
    }
    if reviewed.unapproved.is_some() {
        parts.push("limits not approved by a supervisor".to_owned());
    }
    if !plant.beyond.is_empty() {
        let by = plant.accepted.as_ref().map_or("nobody", |one| one.by.as_str());
        parts.push(format!("limits beyond their bounds, accepted by {by}"));
    }
    parts.retain(|part| !part.is_empty());
    parts.join("; ")
}

/// The tests of the pasteurizer as they stood on the day of the record, and the seals that were broken
/// while it ran.
fn equipment(case: &Case, reviewed: &Reviewed) -> Vec<EquipmentLine> {
    let (record, plant) = (case.record(), case.plant());
    let (unit, interval) = (record.unit(), record.interval());
    let on = plant.zone.local(interval.start()).date_naive();
    let standings = reviewed.equipment.standings(unit, on, &plant.tests);
    let tests = standings
        .iter()
        .map(|one| EquipmentLine { is_wanting: one.is_wanting, line: capital(&one.in_words()) });
    let used = TubeUsed::of(plant);
    let tube = TubeOnDay::of(&reviewed.equipment, (unit, on), used.as_ref());
    let tube = tube
        .iter()
        .map(|one| EquipmentLine { is_wanting: one.is_wanting(), line: capital(&one.words) });
    let broken = reviewed.equipment.broken_between(unit, interval.start(), interval.end());
    let broken = broken.into_iter().map(|seal| {
        let noted = reviewed.state.as_ref().and_then(|state| state.seal_noted(&seal.sealed.seal));
        let noted = noted.map_or_else(
            || "what it means for this record has not been entered".to_owned(),
            |made| format!("{} ({})", made.value, who((plant, reviewed), &made.mark)),
        );
        let line = format!("{}; {noted}", capital(&seal.in_words()));
        EquipmentLine { is_wanting: true, line }
    });
    let mut lines: Vec<EquipmentLine> = broken.chain(tests).chain(tube).collect();
    lines.sort_by_key(|one| !one.is_wanting);
    lines
}

/// The holds that are open.
fn open_holds(reviewed: &Reviewed) -> impl Iterator<Item = &ProductHold> {
    reviewed.holds().iter().filter(|hold| hold.is_open())
}

/// How far the review is, for the head of every page and in a sentence.
fn in_words(reviewed: &Reviewed) -> (String, &'static str) {
    let is_broken =
        !reviewed.verification.holds() || !reviewed.signatures().iter().any(Signed::is_current);
    let stage = reviewed.stage;
    let (warning, sentence) = match stage {
        Stage::Unread => ("Not reviewed, not signed", "Nobody has reviewed or signed this record."),
        Stage::BeingReviewed => (
            "Review not finished",
            "Something was decided about this record, and no current signature says that all of it was reviewed.",
        ),
        Stage::Reviewed => (
            "Reviewed, not approved",
            "This record was reviewed. No current signature approves all of it.",
        ),
        Stage::MethodChanged => (
            stage.name(),
            "This record was signed on an audit by another version of the method. The audit printed here is not what was signed; it has to be entered and reviewed again.",
        ),
        Stage::Unproven => (
            stage.name(),
            "This record is signed, and the plant's ledger does not know of it, or no supervisor has \
             approved the plant file. A supervisor has to check it.",
        ),
        Stage::ChangedSinceSigning => (
            stage.name(),
            "This record, its plant file or its journal is not what was signed. The signatures do not cover what is printed here.",
        ),
        // Whatever was said of the state, a paper with a broken signature does not look signed.
        Stage::Signed if is_broken => {
            ("Signature not verified", "This record is recorded as signed, but verification fails.")
        }
        Stage::Signed => ("", "This record is signed, and unchanged since."),
    };
    (capital(warning), sentence)
}

/// How far the review is, and how much of what the verdict counts is resolved and closed: the verdict
/// is the audit's and says the same before and after.
fn standing(case: &Case, reviewed: &Reviewed) -> Standing {
    let Reviewed { stage, state, unapproved, .. } = reviewed;
    let (of_review, sentence) = in_words(reviewed);
    let of_limits = unapproved.as_ref().map_or_else(String::new, |why| format!(" Limits {why}."));
    let mut sentence = format!("{sentence}{of_limits}");
    if *stage != Stage::Unread {
        let audit = case.audit();
        let resolved = |one: &&Exception| reviewed.resolution(&one.id).is_some();
        let ids: Vec<String> = closing_ids(audit).into_iter().flatten().collect();
        let is_closed = |id: &&String| state.iter().any(|state| state.closed(id).is_some());
        let closed = ids.iter().filter(is_closed).count();
        let resolved = audit.exceptions.iter().filter(resolved).count();
        for (what, done, all) in [
            ("Exceptions resolved", resolved, audit.exceptions.len()),
            ("Observations closed", closed, ids.len()),
        ] {
            if all > 0 {
                sentence = format!("{sentence} {what}: {done} of {all}.");
            }
        }
    }
    if let open @ 1.. = open_holds(reviewed).count() {
        sentence = format!(
            "{sentence} {} open.",
            if open == 1 { "1 hold is".to_owned() } else { format!("{open} holds are") }
        );
    }
    Standing {
        key: stage.key(),
        name: stage.name(),
        warning: warning(case.plant(), reviewed, of_review),
        sentence,
    }
}

fn period(case: &Case) -> Vec<Line> {
    let (record, plant) = (case.record(), case.plant());
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
                case::count(record.samples()),
                record.sampling_interval(),
                case.audit().gap_limit
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

/// The limits for the first page (of products, the differential, the response, and every one that the
/// plant set), and the built-in settings for the last.
fn limits(case: &Case) -> (Vec<Limit>, Vec<Limit>) {
    let is_first = |one: &StatedLimit| {
        one.source.provenance == Provenance::Plant
            || ["products", "limits.differential", "limits.response"].contains(&one.key)
    };
    let printed = |one: StatedLimit| Limit {
        figure: one.figures(case.plant().zone, DisplayUnits::RECORDED),
        source: one.stands_behind(case.plant()),
        what: one.name,
    };
    let (first, rest): (Vec<_>, Vec<_>) = case.stated_limits().into_iter().partition(is_first);
    (first.into_iter().map(printed).collect(), rest.into_iter().map(printed).collect())
}

fn accounting(case: &Case) -> Accounting {
    let accounting = &case.audit().accounting;
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

fn signature(plant: &Plant, reviewed: &Reviewed, signed: &Signed) -> SignatureRow {
    let known = reviewed.books.iter().flat_map(|books| &books.signers);
    let known = known.filter(|known| known.signer == signed.mark.by);
    let qualified = known.flat_map(|known| &known.qualifications);
    let role = qualified.fold(signed.role.to_string(), |role, one| format!("{role}; {one}"));
    let shift = signed.scope.shift_name();
    let holds = signed.verdict.holds();
    SignatureRow {
        name: signed.name.clone(),
        role,
        meaning: signed.meaning.to_string(),
        time: stamp(plant, signed.mark.at.instant()),
        scope: shift.map_or_else(|| "whole record".to_owned(), |shift| format!("shift {shift}")),
        holds,
        verdict: if holds { "holds".to_owned() } else { format!("FAILS: {}", signed.found()) },
        superseded: !signed.is_current(),
    }
}

/// What was verified of a review that was begun. What was found of signatures stands beside them.
fn verified(reviewed: &Reviewed) -> impl Iterator<Item = &Link> {
    let links = reviewed.verification.links.iter();
    links.filter(|link| reviewed.stage != Stage::Unread && link.kind != Kind::Signature)
}

fn digests(case: &Case, reviewed: &Reviewed) -> Vec<DigestRow> {
    let row = |source: &SourceFile, what| DigestRow {
        of: file_name(&source.name).to_owned(),
        detail: format!(
            "{what}, {} bytes, {} rows",
            case::count(source.bytes as usize),
            case::count(source.rows as usize)
        ),
        sha256: source.sha256_hex(),
    };
    let files = case.record().sources().iter().map(|source| row(source, "logger file"));
    let record = case.record();
    let sheet = record.run_sheet().map(|sheet| row(sheet.source(), "run sheet"));
    let entries =
        record.operator_entries().map(|entries| row(entries.source(), "operators' entries"));
    let plant = case.plant().file.as_ref().map(|file| DigestRow {
        of: format!("plant file {}", file_name(&file.name)),
        detail: String::new(),
        sha256: hexadecimal(&file.sha256),
    });
    let others = of_review(reviewed).into_iter();
    let others = others.map(|[of, sha256]| DigestRow { of, detail: String::new(), sha256 });
    files.chain(sheet).chain(entries).chain(plant).chain(others).collect()
}

fn exception_part(
    (case, reviewed, tanks): (&Case, &Reviewed, &RecordTanks),
    index: usize,
    exception: &Exception,
    episode: &str,
    plot: Option<Panel>,
) -> ExceptionPart {
    let plant = case.plant();
    let zone = plant.zone;
    let estimate = exception.estimate;
    let mut figures = vec![
        Line { label: "Duration", text: durations(exception) },
        Line {
            label: "Passed",
            text: format!("{}, {}", volume(&exception.volume), at_most_volume(&exception.volume)),
        },
    ];
    let mut add = |label, text: String| {
        if !text.is_empty() {
            figures.push(Line { label, text });
        }
    };
    if let Some(reading) = &exception.worst {
        add("Worst", format!("{}, at {}", worst(exception), case::time_of_day(zone, reading.at)));
    }
    if let Some(one) = exception.shortfall {
        add("Shortfall", case::amount(one.value, one.unit));
    }
    add("Product", few(&exception.products));
    add("Lot", few(&exception.lots));
    add("Tank", few(&exception.tanks));
    let accounts: Vec<String> =
        tanks.of_exception(index).map(|one| capital(&one.account.briefly(NAMED))).collect();
    add("In the tank", accounts.join(". "));
    add("Shift", exception.shift.clone().unwrap_or_default());
    if exception.mode != Mode::Production {
        add("Mode", exception.mode.name().to_owned());
    }
    add("Episode", exception.episode.to_string());
    add("ID", exception.id.clone());
    ExceptionPart {
        number: index + 1,
        episode: capital(episode),
        id: exception.id.clone(),
        rule: exception.rule.key(),
        code: exception.rule.code(),
        rule_name: exception.rule.name(),
        cause_name: causes(exception),
        date: zone.date(estimate.start()),
        start: case::time_of_day(zone, estimate.start()),
        end: case::time_of_day(zone, estimate.end()),
        duration: case::about(estimate.duration()),
        worst: worst(exception),
        volume: volume(&exception.volume),
        at_most: at_most_volume(&exception.volume),
        lots: few(&exception.lots),
        within_response: exception.within_response,
        sentences: case.explain(exception),
        figures,
        decision: reviewed
            .resolution(&exception.id)
            .map(|one| decision_part((plant, reviewed), one)),
        plot,
    }
}

/// Each tank with all its lots: what is not printed is not held.
fn held_whole(tanks: &RecordTanks) -> Vec<(String, String)> {
    let accounts = tanks.tanks.iter().map(|one| &one.account);
    accounts.map(|account| (account.tank.clone(), account.briefly(usize::MAX))).collect()
}

/// A tank with the runs that went into it, at most so many as a page can bear.
fn tank_part(one: &RecordTank) -> TankPart {
    let (runs, more) = one.nearest(NAMED);
    let numbers: Vec<String> = one.exceptions.iter().map(|place| (place + 1).to_string()).collect();
    let numbers = match numbers.as_slice() {
        [only] => format!("exception {only}"),
        several => format!("exceptions {}", few_between(several, ", ")),
    };
    let row = |one: &TankRun| TankRow {
        times: one.times(),
        unit: one.unit.clone(),
        product: one.run.product.clone(),
        lot: named(&one.run.lot),
        stated: one.run.stated.clone(),
        record: one.record.clone(),
        own: one.is_own,
    };
    TankPart {
        line: format!("{}, {numbers}", capital(&case::named("tank", &one.account.tank))),
        until: capital(&one.account.until()),
        runs: runs.into_iter().map(row).collect(),
        more: match more {
            0 => String::new(),
            more => {
                format!("The runs nearest in time are listed; the JSON output lists {more} more.")
            }
        },
    }
}

/// The first of many words, and how many more there are: one exception may touch as many lots as
/// the record has rows. The lots and tanks to hold are printed in full.
fn few<Word: Borrow<str>>(words: &[Word]) -> String {
    few_between(words, " + ")
}

fn few_between<Word: Borrow<str>>(words: &[Word], between: &str) -> String {
    let (first, more) = words.split_at(words.len().min(NAMED));
    let text = first.join(between);
    match more.len() {
        0 => text,
        more => format!("{text} and {more} more; the JSON output lists them"),
    }
}

fn causes(exception: &Exception) -> String {
    let names: Vec<&str> = exception.causes.iter().map(|cause| cause.name()).collect();
    names.join(", ")
}

fn decision_part(
    whose: (&Plant, &Reviewed),
    (settlement, mark): (&Settlement, &Mark),
) -> DecisionPart {
    let disposition = settlement.disposition_in_words();
    let lines = [
        ("Cause", &settlement.cause),
        ("Action", &settlement.action),
        ("Disposition", &disposition),
        ("Lot", &settlement.lot),
        ("Quantity", &settlement.quantity),
        ("Note", &settlement.note),
    ];
    let parts = settlement.correction.iter().flat_map(Correction::parts);
    let lines = lines
        .into_iter()
        .map(|(label, text)| (label, text.as_str()))
        .chain(parts)
        .filter(|(_, text)| !text.trim().is_empty())
        .map(|(label, text)| Line { label, text: text.to_owned() })
        .collect();
    DecisionPart { lines, who: who(whose, mark), disposition }
}

/// Decisions whose exception the audit does not hold must not vanish from paper.
fn strays(case: &Case, reviewed: &Reviewed) -> Vec<String> {
    let Some(state) = &reviewed.state else { return Vec::new() };
    let known: BTreeSet<&str> =
        case.audit().exceptions.iter().map(|exception| exception.id.as_str()).collect();
    let ids: BTreeSet<String> = closing_ids(case.audit()).into_iter().flatten().collect();
    let decided = state.resolutions().filter(|(id, ..)| !known.contains(id));
    let decided = decided.map(|(id, settlement, mark)| {
        let (what, who) =
            (named(&settlement.disposition_in_words()), who((case.plant(), reviewed), mark));
        format!("A decision about exception {id}, which is not in this audit: {what} ({who})")
    });
    let closed = state.closings().filter(|(id, _)| !ids.contains(*id)).map(|(id, made)| {
        let Made { value, mark, .. } = made;
        let who = who((case.plant(), reviewed), mark);
        format!("Observation {id}, which is not in this audit, was closed: {value} ({who})")
    });
    decided.chain(closed).collect()
}

fn observations(case: &Case, reviewed: &Reviewed) -> Vec<ObservationPart> {
    let (plant, audit) = (case.plant(), case.audit());
    let mut parts = Vec::new();
    let ids = closing_ids(audit);
    let closing = |observation: &Observation| {
        let place = audit.observations.iter().position(|one| std::ptr::eq(one, observation));
        let Some(id) = place.and_then(|place| ids.get(place)?.as_deref()) else {
            return String::new();
        };
        match reviewed.state.as_ref().and_then(|state| state.closed(id)) {
            None => "Not closed.".to_owned(),
            Some(one) => closed((plant, reviewed), one),
        }
    };
    let told = |one: &Observation| case.observed(&case.observation_without_folders(one));
    // In the audit's order: to close first, then by kind.
    for of_kind in audit.observations.chunk_by(|one, next| one.kind == next.kind) {
        let Some(first) = of_kind.first() else { continue };
        let kind = first.kind;
        let lines = if of_kind.len() <= FEW || kind.rank() == Rank::Close {
            of_kind.iter().map(told).collect()
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
                told(first)
            )]
        };
        parts.push(ObservationPart {
            kind: kind.key(),
            title: kind.title(),
            rank: kind.rank().key(),
            source: kind.source(),
            count: of_kind.len() as u64,
            closings: match kind.rank() {
                Rank::Close => of_kind.iter().map(closing).collect(),
                Rank::Note => vec![String::new(); lines.len()],
            },
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
            format!("{missing}{}", case::plain_volume(value, run.unit))
        }
        None => "not metered".to_owned(),
    };
    let mut stated: Vec<String> = Vec::new();
    if !run.tank.is_empty() {
        stated.push(case::named("tank", &run.tank));
    }
    stated.extend(run.stated.map(|stated| case::stated_amount(Some(stated))));
    RunRow {
        from: format!("{} {}", plant.zone.date(start), case::time_of_day(plant.zone, start)),
        to: case::time_of_day(plant.zone, end),
        product: named(&run.product),
        lot: named(&run.lot),
        forward_time: run.forward_time.to_string(),
        forward: metered(run.forward),
        diverted: match run.diverted {
            Some(value) if !run.incomplete => case::volume_or_none(value, run.unit),
            diverted => metered(diverted),
        },
        stated: stated.join(", "),
        exceptions: run.exceptions,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn titles_of_all_kinds_come_from_their_definitions() {
        for kind in case::observation_kinds() {
            assert_eq!(title(kind.key()), kind.title());
        }
        assert_eq!(title("of_another_program"), "of another program");
    }
}
