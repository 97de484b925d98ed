//! What counts in a range and in a lot, on rows made up for it: nothing falls out in silence.

use crate::day::{Amount, Day, ExceptionRow, RunRow};
use crate::entry::Entry;
use crate::figure::Figure;
use crate::lot::lot;
use crate::range::Range;
use crate::summary::Summary;
use crate::text::passed;
use case::{Column, Table};
use chrono::NaiveDate;
use journal::Stamp;
use review::{Decision, ExceptionItem, Reviewed, Settlement, Stage, Subject};
use tests::people::{Hand, reviewed};
use tests::site;
use trace::Instant;

pub(crate) fn date(text: &str) -> NaiveDate {
    text.parse().unwrap_or_else(|cause| panic!("{text}: {cause}"))
}

fn amount(value: Option<f64>) -> Amount {
    let basis = if value.is_some() { "metered" } else { "unknown" };
    Amount { value, at_most: value, unit: "gal".to_owned(), basis: basis.to_owned() }
}

fn exception(id: &str, product: &str, lots: &[&str], volume: Option<f64>) -> ExceptionRow {
    ExceptionRow {
        id: id.to_owned(),
        rule: "temperature".to_owned(),
        causes: vec!["=1+1".to_owned()],
        start: "2026-03-04T06:00:00.000-06:00".to_owned(),
        end: "2026-03-04T06:00:10.000-06:00".to_owned(),
        duration_ms: 10_000,
        observed_ms: 9_000,
        at_most_ms: 11_000,
        worst: Some(Figure { value: 160.0, unit: "°F".to_owned() }),
        limit: Some(161.0),
        volume: amount(volume),
        products: vec![product.to_owned()],
        lots: lots.iter().map(|&lot| lot.to_owned()).collect(),
        tanks: Vec::new(),
        positions: vec!["forward".to_owned()],
        shift: None,
        within_response: false,
        outside_production: false,
        cleaning: None,
        episode: 1,
    }
}

pub(crate) fn run(product: &str, lot: &str) -> RunRow {
    RunRow {
        product: product.to_owned(),
        lot: lot.to_owned(),
        start: "2026-03-04T06:00:00.000-06:00".to_owned(),
        end: "2026-03-04T07:00:00.000-06:00".to_owned(),
        forward_ms: 3_600_000,
        forward: Some(3000.0),
        diverted: Some(0.0),
        unit: "gal".to_owned(),
        incomplete: false,
        tank: String::new(),
        exceptions: 0,
    }
}

/// A record of a date with its runs, exceptions, and what of its lots passed.
pub(crate) fn record(
    on: &str,
    runs: Vec<RunRow>,
    exceptions: Vec<ExceptionRow>,
    lots: &[(&str, f64)],
) -> Entry {
    let item = |one: &ExceptionRow| ExceptionItem {
        id: one.id.clone(),
        rule: one.rule.clone(),
        causes: one.causes.clone(),
        start: one.start.clone(),
        end: one.end.clone(),
        shifts: Vec::new(),
        episode: one.episode,
        cleaning: one.cleaning,
        quantity: None,
        lots: one.lots.clone(),
        tanks: one.tanks.clone(),
    };
    let subject = Subject {
        start: format!("{on}T06:00:00.000-06:00"),
        end: format!("{on}T07:00:00.000-06:00"),
        sources: Vec::new(),
        exceptions: exceptions.iter().map(item).collect(),
        ..site::subject()
    };
    let midnight = date(on).and_time(chrono::NaiveTime::MIN).and_utc().timestamp_millis();
    // Six hours behind UTC.
    let at = |hour: i64| midnight + (hour + 6) * 3_600_000;
    let day = Day {
        date: date(on),
        created: date(on),
        ends_ms: (at(6), at(7)),
        end_positions: ("divert".to_owned(), "divert".to_owned()),
        gap_limit_ms: 3000,
        review_within: 7,
        kept_until: None,
        tests: plant::TestPlan::default(),
        review_source: "who asks (invented)".to_owned(),
        subject,
        verdict: String::new(),
        recorded_ms: 3_600_000,
        forward_ms: 3_600_000,
        exception_ms: 0,
        passed: amount(Some(7.0)),
        exceptions,
        to_close: 0,
        hold_lots: Vec::new(),
        hold_tanks: Vec::new(),
        hold_unnamed: 0,
        runs,
        sheet: Vec::new(),
        lots: lots.iter().map(|(lot, value)| ((*lot).to_owned(), amount(Some(*value)))).collect(),
        temperature_margin: None,
        differential_margin: None,
        worst_temperature: None,
        worst_differential: None,
        recorder_offset: None,
        zero_check: None,
        cut_out: None,
        regeneration: None,
        approach: None,
        diverts: 0,
        required: 0,
        missing: Vec::new(),
    };
    Entry {
        record: format!("{on}.csv").into(),
        files: Vec::new(),
        day: Ok(day),
        review: Reviewed::unread(),
        before: None,
        reviewed: None,
        kept: false,
    }
}

/// The review of a record in which Anna has made a decision.
pub(crate) fn decided(entry: &Entry, decision: Decision) -> Reviewed {
    let Ok(day) = &entry.day else { panic!("{} can be read", entry.name()) };
    let Some(at) = Stamp::new(Instant::from_unix_milliseconds(day.ends_ms.1), -6 * 3600) else {
        panic!("six hours are an offset")
    };
    let state = Some(reviewed(&day.subject, None, [(Hand::Name("anna"), at, decision)]));
    Reviewed { stage: Stage::BeingReviewed, state, ..Reviewed::unread() }
}

fn settled(disposition: &str) -> Decision {
    Decision::Settled(Settlement {
        exception: "a1".to_owned(),
        cause: "steam valve stuck".to_owned(),
        action: "valve freed".to_owned(),
        disposition: disposition.to_owned(),
        ..Settlement::default()
    })
}

fn unreadable(name: &str) -> Entry {
    let day = Err("it is no trace".to_owned());
    Entry { record: name.into(), day, ..record("2026-03-04", Vec::new(), Vec::new(), &[]) }
}

fn summary(entries: &[Entry], range: Range) -> Summary<'_> {
    Summary::new(entries, range, date("2026-04-01")).unwrap_or_else(|error| panic!("{error}"))
}

fn of_lot(lot: &str) -> Range {
    Range { lot: Some(lot.to_owned()), ..Range::default() }
}

fn of_product(product: &str) -> Range {
    Range { product: Some(product.to_owned()), ..Range::default() }
}

fn names(summary: &Summary<'_>) -> Vec<String> {
    summary.entries().map(Entry::name).collect()
}

/// It might hold anything: only its own date leaves it out.
#[test]
fn a_record_that_can_not_be_read_stays_in_every_range() {
    let entries = [unreadable("notes.csv"), unreadable("2026-03-19.csv")];
    for range in [
        Range::default(),
        of_lot("L-1"),
        of_product("milk"),
        Range { unit: Some("HTST-2".to_owned()), ..Range::default() },
        Range { from: Some(date("2026-03-19")), to: Some(date("2026-03-19")), ..Range::default() },
    ] {
        let summary = summary(&entries, range);
        assert_eq!(names(&summary), ["notes.csv", "2026-03-19.csv"], "{:?}", summary.range());
        assert_eq!(summary.totals().unreadable, 2);
    }
    let later = Range { from: Some(date("2026-03-20")), ..Range::default() };
    assert_eq!(names(&summary(&entries, later)), ["notes.csv"]);
}

/// An exception can reach into a product whose run has no sample of its own.
#[test]
fn an_exception_of_the_product_counts_without_a_run_of_it() {
    let touched = vec![exception("a1", "cream", &["L-2"], Some(5.0))];
    let entries = [record("2026-03-04", vec![run("milk", "L-1")], touched, &[])];
    for range in [of_product(" Cream"), of_lot("l-2")] {
        let summary = summary(&entries, range);
        assert_eq!(summary.totals().exceptions, 1, "{:?}", summary.range());
        assert_eq!(summary.totals().forward_ms, 0);
        assert_eq!(passed(&summary.totals().passed), "about 5.0 gal, at most 5.0 gal");
    }
    assert_eq!(summary(&entries, of_product("milk")).totals().exceptions, 0);
    assert_eq!(summary(&entries, of_product("butter")).totals().records, 0);
}

#[test]
fn an_unknown_volume_is_not_none() {
    let touched = vec![exception("a1", "milk", &[], Some(5.0)), exception("b2", "milk", &[], None)];
    let entries = [record("2026-03-04", vec![run("milk", "")], touched, &[])];
    let summary = summary(&entries, of_product("milk"));
    let said = "about 5.0 gal, at most 5.0 gal, and 1 part of unknown volume";
    assert_eq!(passed(&summary.totals().passed), said);
    assert!(summary.text().contains(said), "{}", summary.text());
    let days = summary.days().json();
    assert!(days[0]["passed"].is_null() && days[0]["passed_at_most"].is_null(), "{days:?}");
}

/// One record may write a lot in two ways; what passed of both counts.
#[test]
fn a_lot_is_that_name_in_any_case_and_no_other() {
    let touched = vec![
        exception("a1", "milk", &["L-1"], Some(5.0)),
        exception("b2", "milk", &["l-1 "], Some(6.0)),
        exception("c3", "milk", &["L-11"], Some(90.0)),
    ];
    let runs = vec![run("milk", "L-1"), run("milk", "l-1 "), run("milk", "L-11")];
    let lots = [("L-1", 5.0), ("l-1 ", 6.0), ("L-11", 90.0)];
    let entries = [record("2026-03-04", runs, touched, &lots)];
    let totals = summary(&entries, of_lot(" L-1")).totals().clone();
    assert_eq!((totals.exceptions, totals.forward_ms), (2, 7_200_000));
    assert_eq!(passed(&totals.passed), "about 11.0 gal, at most 11.0 gal");
    let traced = lot(&entries, "L-1");
    assert_eq!((traced.runs.len(), traced.exceptions.len(), traced.passed.len()), (2, 2, 2));
    assert_eq!(lot(&entries, "L").records.len(), 0);
}

/// A record with products and without lots can't be told to hold a lot.
#[test]
fn records_without_such_a_name_are_counted() {
    let entries = [
        record("2026-03-04", vec![run("milk", "")], Vec::new(), &[]),
        record("2026-03-05", Vec::new(), Vec::new(), &[]),
        record("2026-03-06", vec![run("milk", "L-1")], Vec::new(), &[]),
        record("2026-03-07", vec![run("", "L-2")], Vec::new(), &[]),
    ];
    assert_eq!(summary(&entries, of_lot("L-1")).unnamed(), 2);
    assert_eq!(summary(&entries, of_product("milk")).unnamed(), 2);
    assert_eq!(summary(&entries, Range::default()).unnamed(), 0);
    let late = Range { from: Some(date("2026-03-05")), ..of_lot("L-1") };
    let late = summary(&entries, late);
    assert_eq!(late.unnamed(), 1);
    assert!(late.text().contains("1 record in the range without the name"), "{}", late.text());
    assert_eq!(lot(&entries, "L-1").unnamed, 2);
}

/// Resolved, open, by cause and by disposition; due on the seventh working day, overdue after it.
#[test]
fn sums_by_what_was_decided() {
    let touched =
        vec![exception("a1", "milk", &[], Some(5.0)), exception("b2", "milk", &[], Some(5.0))];
    let mut entries = [record("2026-03-04", vec![run("milk", "")], touched, &[])];
    entries[0].review = decided(&entries[0], settled("held"));
    let whole = summary(&entries, Range::default());
    let totals = whole.totals();
    assert_eq!(totals.by_cause["steam valve stuck"].count, 1);
    assert_eq!(totals.by_cause[""].count, 1);
    assert_eq!(totals.by_disposition["held"].duration_ms, 10_000);
    assert_eq!(totals.by_rule["temperature"].at_most_ms, 22_000);
    // The audit counts each litre once; the exceptions' own volumes are not added up.
    assert_eq!(passed(&totals.passed), "about 7.0 gal, at most 7.0 gal");
    let days = whole.days().json();
    assert_eq!((&days[0]["exceptions"], &days[0]["resolved"]), (&2.into(), &1.into()));
    assert_eq!(days[0]["due"], "2026-03-13");
    // Product of the open exception is to be held, and so is that which was held.
    assert_eq!(totals.hold_unnamed, 2);
    for (today, overdue) in [("2026-03-13", 0), ("2026-03-14", 1)] {
        let Ok(summary) = Summary::new(&entries, Range::default(), date(today)) else {
            panic!("it does not end before it begins")
        };
        assert_eq!(summary.totals().overdue, overdue, "{today}");
    }
}

#[test]
fn dates_without_a_record_are_told() {
    let entries = [
        record("2026-03-04", Vec::new(), Vec::new(), &[]),
        record("2026-03-07", Vec::new(), Vec::new(), &[]),
    ];
    let told = |range| summary(&entries, range).no_record_spans();
    assert_eq!(told(Range::default()), ["2026-03-05 to 2026-03-06 HTST-1 (2 days)"]);
    let to = Range { to: Some(date("2026-03-08")), ..Range::default() };
    let spans = ["2026-03-05 to 2026-03-06 HTST-1 (2 days)", "2026-03-08 HTST-1"];
    assert_eq!(told(to.clone()), spans);
    // A record of another product is a record.
    assert_eq!(told(Range { product: Some("milk".to_owned()), ..to }), spans);
}

#[test]
fn a_table_is_harmless_to_spreadsheets_and_narrowed_down_by_a_text() {
    let touched = vec![
        exception("a1", "@sum", &["-1"], Some(5.0)),
        exception("b2", "milk", &["+2"], Some(5.0)),
    ];
    let entries = [record("2026-03-04", Vec::new(), touched, &[])];
    let table = summary(&entries, Range::default()).exceptions();
    let csv = table.csv().unwrap_or_default();
    for text in ["'=1+1", "'@sum", "'-1", "'+2"] {
        assert!(csv.contains(&format!(",{text},")), "{text}: {csv}");
    }
    let ids = |table: &Table| {
        let found = table.columns().iter().find_map(|(name, column)| match column {
            Column::Text(texts) if *name == "id" => Some(texts.clone()),
            _ => None,
        });
        found.unwrap_or_default().into_iter().flatten().collect::<Vec<_>>()
    };
    assert_eq!(ids(&table), ["a1", "b2"]);
    assert_eq!(ids(&table.rows_where("id", |id| id == "b2")), ["b2"]);
    // Where there is no text, it is blank.
    assert_eq!(ids(&table.rows_where("shift", str::is_empty)), ["a1", "b2"]);
    assert_eq!(table.rows_where("id", |id| id == "b2").rows(), 1);
}

/// What lies in cleaning is counted apart, and holds no lot.
#[test]
fn exceptions_outside_production_are_told_apart() {
    let mut touched = vec![
        exception("a1", "milk", &["L-1"], Some(5.0)),
        exception("b2", "", &["L-2"], Some(5.0)),
        exception("c3", "", &["L-2"], Some(5.0)),
        exception("d4", "", &["L-2"], Some(5.0)),
    ];
    touched[0].tanks = vec!["T4".to_owned()];
    for (index, cleaning) in [(1, 1), (2, 1), (3, 2)] {
        touched[index].outside_production = true;
        touched[index].cleaning = Some(cleaning);
    }
    let mut entries = [record("2026-03-04", vec![run("milk", "L-1")], touched, &[])];
    let whole = summary(&entries, Range::default());
    let totals = whole.totals();
    assert_eq!((totals.exceptions, totals.outside_production, totals.cleanings), (1, 3, 2));
    assert_eq!(totals.by_rule["temperature"].count, 1);
    assert_eq!((&totals.hold_lots, totals.hold_unnamed), (&vec!["L-1".to_owned()], 0));
    let text = whole.text();
    for said in [
        "1, 0 resolved: 1 temperature (10 s); 3 outside production (in 2 cleanings)",
        "lots L-1; tanks T4",
        "0 of 1 exception resolved; 0 of 3 outside production resolved",
    ] {
        assert!(text.contains(said), "{said}: {text}");
    }
    let days = whole.days().json();
    let keys = ["exceptions", "exceptions_outside_production", "cleanings"];
    assert_eq!(keys.map(|key| days[0][key].as_i64()), [Some(1), Some(3), Some(2)]);
    // Nothing is held any more once it was destroyed; what a plant's own words hold still is.
    for (disposition, lots) in [("destroyed", 0), ("held in tank 4", 1)] {
        entries[0].review = decided(&entries[0], settled(disposition));
        let totals = summary(&entries, Range::default()).totals().clone();
        assert_eq!(totals.hold_lots.len(), lots, "{disposition}");
    }
}

/// A month before it may be discarded, and from then on; nothing is said of records that are kept longer.
#[test]
fn the_end_of_the_retention_is_told() {
    let day = |on: &str| record(on, Vec::new(), Vec::new(), &[]);
    let mut entries = vec![day("2026-03-04"), day("2026-03-05"), day("2026-03-06")];
    let today = summary(&entries, Range::default()).today();
    assert_eq!(summary(&entries, Range::default()).retention(), None, "the plant does not say");
    let after = |days: u64| today.checked_add_days(chrono::Days::new(days));
    for (entry, until) in entries.iter_mut().zip([31, 30, 40]) {
        let Ok(day) = &mut entry.day else { continue };
        day.kept_until = after(until);
    }
    let told = summary(&entries, Range::default()).register_text().to_string();
    assert!(told.contains("retention: 1 record at the end"), "{told}");
    assert!(told.contains("first 2026-03-05"), "{told}");
    let Ok(first) = &mut entries[0].day else { panic!("a day") };
    first.kept_until = today.pred_opt();
    let told = summary(&entries, Range::default()).retention().unwrap_or_default();
    assert!(told.starts_with("2 records") && told.contains("first 2026-03-04"), "{told}");
}
