//! How records follow one another, on rows made up for it: no hole falls out in silence.

use crate::before::Follows;
use crate::entry::Entry;
use crate::join::{join, production_days};
use crate::lot::lot;
use crate::month::month;
use crate::range::Range;
use crate::summary::Summary;
use crate::summary_tests::{date, decided, record};
use chrono::DateTime;
use proptest::prelude::*;
use review::Decision;

/// A record of a pasteurizer from one time to another, six hours behind UTC, and the positions of
/// the flow diversion device at its ends.
fn from_to(unit: &str, from: &str, to: &str, positions: (&str, &str)) -> Entry {
    let stamp = |time: &str| format!("{time}.000-06:00");
    let at = |time: &str| match DateTime::parse_from_rfc3339(&stamp(time)) {
        Ok(stamp) => stamp.timestamp_millis(),
        Err(error) => panic!("{time}: {error}"),
    };
    let mut entry = record(&from[..10], Vec::new(), Vec::new(), &[]);
    entry.record = format!("{unit} {from}.csv").into();
    let Ok(day) = &mut entry.day else { panic!("it can be read") };
    unit.clone_into(&mut day.subject.unit);
    (day.subject.start, day.subject.end) = (stamp(from), stamp(to));
    day.ends_ms = (at(from), at(to));
    day.end_positions = (positions.0.to_owned(), positions.1.to_owned());
    entry
}

fn forward(from: &str, to: &str) -> Entry {
    from_to("HTST-1", from, to, ("forward", "forward"))
}

fn joined(entries: Vec<Entry>) -> Vec<Entry> {
    let mut entries = entries;
    join(&mut entries);
    entries
}

fn summary(entries: &[Entry], range: Range) -> Summary<'_> {
    Summary::new(entries, range, date("2026-04-01")).unwrap_or_else(|error| panic!("{error}"))
}

#[test]
fn two_files_of_one_day_are_one_production_day() {
    let entries = joined(vec![
        forward("2026-03-04T06:00:00", "2026-03-04T14:00:00"),
        forward("2026-03-04T14:00:01", "2026-03-04T22:00:00"),
    ]);
    let Some(before) = &entries[1].before else { panic!("a record lies before it") };
    assert_eq!(before.follows, Follows::Continues { after_ms: 1000 });
    assert!(entries[0].before.is_none());
    assert!(entries.iter().all(|entry| entry.hole().is_none()));
    let days = production_days(entries.iter());
    assert_eq!(days.iter().map(|day| day.records.len()).collect::<Vec<_>>(), [2]);
    let whole = summary(&entries, Range::default());
    assert_eq!(whole.totals().holes, 0);
    let text = whole.register_text();
    assert!(
        text.contains("continues HTST-1 2026-03-04T06:00:00.csv (1 s after its end)"),
        "{text}"
    );
    assert!(!text.contains("hole"), "{text}");
}

/// The shorter gap limit of the two counts: the other record would have told the same step.
#[test]
fn a_step_longer_than_either_gap_limit_is_a_hole() {
    let entry = |limit| {
        let mut entry = forward("2026-03-04T14:00:05", "2026-03-04T22:00:00");
        let Ok(day) = &mut entry.day else { panic!("it can be read") };
        day.gap_limit_ms = limit;
        entry
    };
    let before = forward("2026-03-04T06:00:00", "2026-03-04T14:00:00");
    let entries = joined(vec![before.clone(), entry(15_000)]);
    assert_eq!(entries[1].hole().map(|hole| hole.length_ms), Some(5000));
    let Ok(mut day) = before.day.clone() else { panic!("it can be read") };
    day.gap_limit_ms = 15_000;
    let entries = joined(vec![Entry { day: Ok(day), ..before }, entry(15_000)]);
    assert!(entries[1].hole().is_none());
}

#[test]
fn a_hole_with_forward_flow_at_an_end_is_told_on_date_and_range_until_it_is_closed() {
    let mut entries = joined(vec![
        forward("2026-03-04T06:00:00", "2026-03-04T14:00:00"),
        forward("2026-03-04T16:00:00", "2026-03-04T22:00:00"),
    ]);
    let said = "no record from 2026-03-04 14:00:00 (end of HTST-1 2026-03-04T06:00:00.csv, FDD \
                forward) to 2026-03-04 16:00:00 (FDD forward): 2 h 00 min";
    let of_day = |entries: &[Entry]| {
        let month = month(entries, date("2026-03-04"));
        month.cells.iter().map(|cell| cell.open_holes().count()).sum::<usize>()
    };
    assert_eq!(of_day(&entries), 1);
    {
        let whole = summary(&entries, Range::default());
        let text = whole.text();
        assert!(text.contains(&format!("{said}; not closed")), "{text}");
        assert!(text.contains("1 hole between records"), "{text}");
        assert!(text.contains("2 h 00 min in all; 1 not closed"), "{text}");
        assert_eq!((whole.totals().holes, whole.totals().holes_closed), (1, 0));
        let days = whole.days().json();
        assert_eq!(days[1]["hole_before_ms"], 7_200_000);
        assert_eq!(days[1]["hole_before_to_close"], true);
        assert!(days[1]["hole_before_closed"].is_null() && days[0]["hole_before_ms"].is_null());
        let json = whole.json("now");
        assert_eq!(json["holes_between_records"][0]["hole"]["position_before"], "forward");
        assert!(json["holes_between_records"][0]["closed"].is_null());
        assert_eq!(json["production_days"][0]["records"].as_array().map(Vec::len), Some(2));
    }
    let Some(hole) = entries[1].hole().cloned() else { panic!("there is a hole") };
    let reason = "logger restarted, product returned to the balance tank".to_owned();
    let closed = Decision::HoleClosed { hole, reason, note: String::new() };
    entries[1].review = decided(&entries[1], closed);
    assert_eq!(of_day(&entries), 0);
    let whole = summary(&entries, Range::default());
    assert_eq!((whole.totals().holes, whole.totals().holes_closed), (1, 1));
    assert!(whole.text().contains("closed by anna: logger restarted"), "{}", whole.text());
    assert_eq!(whole.days().json()[1]["hole_before_closed"].as_str().map(str::len), Some(54));
}

/// Whatever part of it a range holds, and whatever product is asked for.
#[test]
fn a_hole_over_midnight_is_told_in_every_range_that_touches_it() {
    let entries = joined(vec![
        from_to("HTST-1", "2026-03-04T06:00:00", "2026-03-04T23:30:00", ("divert", "forward")),
        from_to("HTST-1", "2026-03-06T01:30:00", "2026-03-06T09:00:00", ("divert", "divert")),
    ]);
    let told = |from: &str, to: &str| {
        let range = Range {
            from: Some(date(from)),
            to: Some(date(to)),
            lot: Some("L-1".to_owned()),
            ..Range::default()
        };
        summary(&entries, range).holes().len()
    };
    assert_eq!(told("2026-03-04", "2026-03-04"), 1);
    assert_eq!(told("2026-03-05", "2026-03-05"), 1);
    assert_eq!(told("2026-03-06", "2026-03-06"), 1);
    assert_eq!(told("2026-03-01", "2026-03-03"), 0);
    assert_eq!(told("2026-03-07", "2026-03-31"), 0);
    let other = Range { unit: Some("HTST-2".to_owned()), ..Range::default() };
    assert_eq!(summary(&entries, other).holes().len(), 0);
}

/// A night with the pumps off is no hole; the same between two records of one date is noted.
#[test]
fn diverted_at_both_ends_is_not_to_be_closed() {
    let entries = joined(vec![
        from_to("HTST-1", "2026-03-04T06:00:00", "2026-03-04T10:00:00", ("divert", "divert")),
        from_to("HTST-1", "2026-03-04T12:00:00", "2026-03-04T22:00:00", ("divert", "divert")),
        from_to("HTST-1", "2026-03-05T06:00:00", "2026-03-05T22:00:00", ("divert", "divert")),
    ]);
    assert!(entries.iter().all(|entry| entry.hole().is_none()));
    assert!(
        entries[1].before_in_words().contains("2 h 00 min"),
        "{}",
        entries[1].before_in_words()
    );
    assert_eq!(entries[2].before_in_words(), "");
    let whole = summary(&entries, Range::default());
    assert_eq!(whole.totals().holes, 0);
    assert_eq!(whole.days().json()[2]["hole_before_to_close"], false);
}

/// What is not diverted is exposed, at either end.
#[test]
fn either_end_exposes_a_hole() {
    for (before, after, exposed) in [
        ("forward", "divert", true),
        ("divert", "forward", true),
        ("travel", "divert", true),
        ("divert", "unknown", true),
        ("divert", "divert", false),
    ] {
        let entries = joined(vec![
            from_to("HTST-1", "2026-03-04T06:00:00", "2026-03-04T10:00:00", ("divert", before)),
            from_to("HTST-1", "2026-03-05T12:00:00", "2026-03-05T22:00:00", (after, "divert")),
        ]);
        assert_eq!(entries[1].hole().is_some(), exposed, "{before} {after}");
    }
}

/// Each pasteurizer has its own records, and a slip of the keyboard makes no new one.
#[test]
fn pasteurizers_are_kept_apart() {
    let ends = ("forward", "forward");
    let entries = joined(vec![
        from_to("HTST-1", "2026-03-04T06:00:00", "2026-03-04T10:00:00", ends),
        from_to("HTST-2", "2026-03-04T10:00:01", "2026-03-04T11:00:00", ends),
        from_to(" htst-1", "2026-03-04T12:00:00", "2026-03-04T13:00:00", ends),
    ]);
    assert!(entries[1].before.is_none());
    assert_eq!(entries[2].hole().map(|hole| hole.length_ms), Some(7_200_000));
    assert_eq!(production_days(entries.iter()).len(), 2);
}

/// The record before is the one that ends last, not the one that begins last.
#[test]
fn a_record_within_another_hides_no_hole_and_makes_none() {
    let entries = joined(vec![
        forward("2026-03-04T06:00:00", "2026-03-04T14:00:00"),
        forward("2026-03-04T07:00:00", "2026-03-04T08:00:00"),
        forward("2026-03-04T14:00:02", "2026-03-04T20:00:00"),
        forward("2026-03-04T21:00:00", "2026-03-04T22:00:00"),
    ]);
    let follows: Vec<_> =
        entries.iter().map(|one| one.before.as_ref().map(|one| &one.follows)).collect();
    assert_eq!(follows[1], Some(&Follows::Overlaps { by_ms: 3_600_000 }));
    assert_eq!(follows[2], Some(&Follows::Continues { after_ms: 2000 }));
    assert!(entries[1].before_in_words().contains("overlaps"), "{}", entries[1].before_in_words());
    assert_eq!(entries[3].hole().map(|hole| hole.length_ms), Some(3_600_000));
}

/// A lot may have run in the holes at both ends of its records.
#[test]
fn a_lot_tells_the_holes_beside_its_records() {
    let mut middle = forward("2026-03-04T06:00:00", "2026-03-04T14:00:00");
    let Ok(day) = &mut middle.day else { panic!("it can be read") };
    let (start, end) = (day.subject.start.clone(), day.subject.end.clone());
    day.runs = vec![crate::day::RunRow {
        product: "milk".to_owned(),
        lot: "L-1".to_owned(),
        start,
        end,
        forward_ms: 1,
        forward: None,
        diverted: None,
        unit: "gal".to_owned(),
        incomplete: false,
        tank: String::new(),
        exceptions: 0,
    }];
    let entries = joined(vec![
        forward("2026-03-02T06:00:00", "2026-03-02T14:00:00"),
        forward("2026-03-03T06:00:00", "2026-03-03T14:00:00"),
        middle,
        forward("2026-03-05T06:00:00", "2026-03-05T14:00:00"),
        forward("2026-03-06T06:00:00", "2026-03-06T14:00:00"),
    ]);
    let traced = lot(&entries, "l-1");
    let later: Vec<_> = traced.holes.iter().filter_map(|(entry, _)| entry.date()).collect();
    assert_eq!(later, [date("2026-03-04"), date("2026-03-05")]);
    let text = traced.text();
    assert_eq!(text.matches("it may have run in a hole").count(), 2, "{text}");
    assert_eq!(traced.json()["holes_between_records"].as_array().map(Vec::len), Some(2));
}

#[derive(Debug, Clone)]
struct Piece {
    from: i64,
    length: i64,
    ends: (bool, bool),
}

fn pieces() -> impl Strategy<Value = Vec<Piece>> {
    let piece = (0_i64..400, 0_i64..80, any::<(bool, bool)>());
    prop::collection::vec(piece.prop_map(|(from, length, ends)| Piece { from, length, ends }), 1..9)
}

proptest! {
    /// Every second is recorded, lies in a step within the gap limit, or lies in exactly one hole
    /// that is told of some record; and the order of the files does not count.
    #[test]
    fn no_second_falls_out(pieces in pieces(), turn in 0_usize..9) {
        let word = |forward: bool| if forward { "forward" } else { "divert" }.to_owned();
        let entry = |(index, piece): (usize, &Piece)| {
            let mut entry = forward("2026-03-04T06:00:00", "2026-03-04T06:00:00");
            entry.record = format!("{index}.csv").into();
            let Ok(day) = &mut entry.day else { panic!("it can be read") };
            day.ends_ms = (piece.from * 1000, (piece.from + piece.length) * 1000);
            day.end_positions = (word(piece.ends.0), word(piece.ends.1));
            entry
        };
        let mut entries: Vec<Entry> = pieces.iter().enumerate().map(entry).collect();
        join(&mut entries);
        let holes = |entries: &[Entry]| {
            let mut holes: Vec<(i64, i64, bool)> = entries.iter().filter_map(|entry| {
                let hole = entry.before.as_ref()?.hole()?;
                let start = entry.day.as_ref().ok()?.ends_ms.0 / 1000;
                Some((start - hole.length_ms / 1000, start, hole.is_exposed()))
            }).collect();
            holes.sort_unstable();
            holes
        };
        let told = holes(&entries);
        let (first, last) = (
            pieces.iter().map(|one| one.from).min().unwrap_or(0),
            pieces.iter().map(|one| one.from + one.length).max().unwrap_or(0),
        );
        for second in first..last {
            let is_in = |from: i64, to: i64| from <= second && second < to;
            let recorded = pieces.iter().any(|one| is_in(one.from, one.from + one.length));
            let in_holes = told.iter().filter(|(from, to, _)| is_in(*from, *to)).count();
            let end = pieces.iter().map(|one| one.from + one.length).filter(|end| *end <= second).max();
            let next = pieces.iter().map(|one| one.from).filter(|from| *from > second).min();
            let near = end.zip(next).is_some_and(|(end, next)| next - end <= 3);
            prop_assert_eq!(in_holes, usize::from(!recorded && !near), "second {}", second);
        }
        for (from, to, exposed) in &told {
            let ends = pieces.iter().any(|one| one.from + one.length == *from && one.ends.1);
            let begins = pieces.iter().any(|one| one.from == *to && one.ends.0);
            prop_assert!(*exposed || !ends, "{from} to {to}");
            prop_assert!(*exposed || !begins, "{from} to {to}");
        }
        let middle = turn % entries.len();
        entries.rotate_left(middle);
        join(&mut entries);
        prop_assert_eq!(holes(&entries), told);
    }
}
