//! The demo plant's week (invented) through the real program: what the simulator says that happened is what is
//! told, and nothing else. The truth comes from the model, the program sees the files.

use serde_json::Value;
use simulate::week::{Booked, CHECKS, Week, WeekDay, week};
use simulate::{Alarmed, DivertCause, FlowAlarm, TruthRule};
use std::collections::{BTreeMap, BTreeSet};
use tests::good;
use tests::place::Place;
use trace::{Instant, Interval};

/// A week in a plant's folder, the limits approved.
fn place(week: &Week) -> Place {
    let place = Place::with_signers();
    good(std::fs::remove_file(place.path("2026-03-14.csv")));
    for (name, bytes) in good(week.files()) {
        // The truth is for people to look at, and for no program.
        if !name.starts_with("truth/") {
            good(std::fs::write(place.path(&name), bytes));
        }
    }
    place.approve();
    place
}

fn audit(place: &Place, day: &WeekDay) -> Value {
    let told = place.run(&["audit", "--format", "json", &format!("{}.csv", day.date)]);
    serde_json::from_str(&told.output).unwrap_or_else(|error| panic!("{error}: {told:#?}"))
}

fn list<'a>(value: &'a Value, key: &str) -> &'a [Value] {
    value[key].as_array().map(Vec::as_slice).unwrap_or_default()
}

fn word<'a>(value: &'a Value, key: &str) -> &'a str {
    value[key].as_str().unwrap_or_default()
}

fn instant(value: &Value, key: &str) -> Instant {
    match chrono::DateTime::parse_from_rfc3339(word(value, key)) {
        Ok(time) => Instant::from_unix_milliseconds(time.timestamp_millis()),
        Err(error) => panic!("{key} of {value}: {error}"),
    }
}

fn interval(value: &Value) -> Interval {
    Interval::between(instant(value, "start"), instant(value, "end"))
}

fn overlap(one: Interval, other: Interval) -> bool {
    one.start() <= other.end() && other.start() <= one.end()
}

/// What is to be closed is what happened, each at its time, and nothing more.
fn to_close(day: &WeekDay, audit: &Value) {
    let told = list(audit, "observations").iter().filter(|one| one["rank"] == "close");
    let told = told.map(|one| (word(one, "kind"), interval(one), word(one, "message")));
    let told: Vec<(&str, Interval, &str)> = told.collect();
    for expected in &day.to_close {
        let is_it = |(kind, when, message): &&(&str, Interval, &str)| {
            *kind == expected.kind
                && message.contains(expected.channel)
                && overlap(*when, expected.interval)
        };
        let count = told.iter().filter(is_it).count();
        assert_eq!(count, 1, "{}: {expected:?} in {told:?}", day.date);
    }
    assert_eq!(told.len(), day.to_close.len(), "{}: {told:?}", day.date);
}

/// Every exception is flow that was not safe, and all of that is one.
fn exceptions(day: &WeekDay, audit: &Value) {
    let found: Vec<&Value> = list(audit, "exceptions").iter().collect();
    let mut expected = 0;
    for rule in TruthRule::ALL {
        for when in day.unsafe_flow(rule) {
            expected += 1;
            let covers = |one: &&&Value| {
                let outer =
                    Interval::between(instant(one, "outer_start"), instant(one, "outer_end"));
                let slack = trace::Duration::from_seconds(2);
                word(one, "rule") == rule.key()
                    && outer.start() <= when.start() + slack
                    && when.end() <= outer.end() + slack
            };
            assert_eq!(found.iter().filter(covers).count(), 1, "{}: {rule:?} {when:?}", day.date);
        }
    }
    assert_eq!(found.len(), expected, "{}: {found:#?}", day.date);
}

/// Which reasons the record may show of a divert: milk too fast for the tube comes before the alarm.
const fn reasons(cause: DivertCause) -> &'static [&'static str] {
    match cause {
        DivertCause::Temperature => &["temperature"],
        DivertCause::FlowAlarm => &["flow", "flow_alarm"],
        DivertCause::Hand => &["mode_switch"],
        DivertCause::Stopped => &["pump_stopped"],
        DivertCause::Cleaning => &["off_product"],
        DivertCause::Unasked => &["not_in_record"],
    }
}

fn diverts(day: &WeekDay, audit: &Value) {
    let found = list(audit, "diverts");
    let expected = &day.truth().events.diverts;
    assert_eq!(found.len(), expected.len(), "{}: {found:#?}, {expected:?}", day.date);
    for (found, expected) in found.iter().zip(expected) {
        let reason = word(found, "reason");
        assert!(reasons(expected.cause).contains(&reason), "{}: {reason}, {expected:?}", day.date);
        let apart = instant(found, "start").since(expected.interval.start()).milliseconds();
        assert!(apart.abs() <= 2000, "{}: {found}, {expected:?}", day.date);
    }
}

/// A cleaning is hot for as long as the solution that came back was.
fn cleanings(day: &WeekDay, audit: &Value) {
    let (found, expected) = (list(audit, "cleaning_cycles"), &day.truth().events.cleanings);
    assert_eq!(found.len(), expected.len(), "{}: {found:#?}", day.date);
    for (found, expected) in found.iter().zip(expected) {
        assert_eq!(word(found, "temperature_of"), "cleaning_return_temperature");
        let hot = found["hot_ms"].as_i64().unwrap_or(-1);
        let apart = (hot - expected.return_hot.milliseconds()).abs();
        assert!(apart <= 10_000, "{}: hot for {hot} ms, {expected:?}", day.date);
    }
}

fn entries(day: &WeekDay, audit: &Value) {
    let found = list(&audit["operator_entries"], "entries");
    assert_eq!(found.len(), day.entries.len(), "{}", day.date);
    for made in &day.entries {
        let at = made.time.replace(' ', "T");
        let is_it =
            |one: &&Value| word(one, "entry") == made.kind && word(one, "at").starts_with(&at);
        let Some(one) = found.iter().find(is_it) else { panic!("{}: {made:?}", day.date) };
        let expected: &[&str] = if made.is_true { &["agrees", "words"] } else { &["disagrees"] };
        assert!(expected.contains(&word(one, "check")), "{}: {one}", day.date);
    }
}

/// Enters what the operator wrote down by hand, and signs it.
fn by_hand(place: &Place, day: &WeekDay) {
    let record = format!("{}.csv", day.date);
    for made in &day.entries {
        let mut add =
            vec!["entries", "add", &record, "--by", "Robin Vale (invented)", "--entry", made.kind];
        add.extend(["--time", &made.time]);
        if let Some(reading) = &made.reading {
            add.extend(["--reading", reading, "--unit", "degF"]);
        }
        if !made.note.is_empty() {
            add.extend(["--note", made.note]);
        }
        place.expect(0, &add);
    }
    let sign = ["entries", "sign", &record, "--by", "vale", "--passphrase-fd", "0"];
    place.expect(0, &sign);
}

#[test]
fn every_day_is_told_as_it_was() {
    let week = good(week());
    let place = place(&week);
    place.operator();
    let mut spoken: BTreeMap<(&str, &str), BTreeSet<&str>> = BTreeMap::new();
    for day in &week.days {
        if !day.entries_are_a_file {
            by_hand(&place, day);
        }
        let audit = audit(&place, day);
        to_close(day, &audit);
        exceptions(day, &audit);
        diverts(day, &audit);
        cleanings(day, &audit);
        entries(day, &audit);
        for told in &day.to_close {
            spoken.entry((told.kind, told.channel)).or_default().insert(day.date);
        }
    }
    // Each check has a day on which it spoke, and days on which it was silent.
    for check in CHECKS {
        let days = spoken.get(&check).map_or(0, BTreeSet::len);
        assert!((1..week.days.len()).contains(&days), "{check:?}: {days} days");
    }
    // Silent also where something was there to be seen: an alarm that diverted the device, and a medium that
    // rose and stayed below the product.
    let silent = |kind, channel| {
        let spoke = spoken.get(&(kind, channel));
        week.days.iter().filter(move |day| spoke.is_none_or(|days| !days.contains(day.date)))
    };
    for alarm in FlowAlarm::ALL {
        let is_it = |one: &Alarmed| one.alarm == alarm && one.forward > trace::Duration::ZERO;
        let mut days = silent("alarm_without_divert", alarm.role().name());
        assert!(days.any(|day| day.truth().events.alarms.iter().any(is_it)), "{alarm:?}");
    }
    let rose = |day: &WeekDay| day.run.rows.iter().any(|row| row.beside.media[1].to_f64() > 10.0);
    assert!(silent("medium_above_product", "cooling medium pressure").any(rose));
    let causes = week.days.iter().flat_map(|day| &day.truth().events.diverts);
    let causes: BTreeSet<&str> = causes.map(|one| one.cause.key()).collect();
    assert_eq!(causes.len(), 6, "{causes:?}");
    // The quiet days: nothing at all is to be closed or resolved.
    for date in ["2026-03-09", "2026-03-15"] {
        place.expect(0, &["audit", &format!("{date}.csv")]);
    }
}

/// What supervisors enter in the register in the course of the week.
fn book(place: &Place, booked: &Booked) {
    let unit = ["--by", "ben", "--passphrase-fd", "0", "--unit", "HTST-1"];
    let by = "C. Example (invented)";
    let (command, more) = match booked {
        Booked::Test([test, on, figure, limit]) => (
            "test",
            vec![
                "--test",
                test,
                "--on",
                on,
                "--figure",
                figure,
                "--limit",
                limit,
                "--tested-by",
                by,
                "--passed",
            ],
        ),
        Booked::Seal([seal, part, at]) => {
            ("seal", vec!["--seal", seal, "--part", part, "--at", at, "--applied-by", by])
        }
        Booked::Broken([seal, at, reason]) => {
            ("seal-broken", vec!["--seal", seal, "--at", at, "--broken-by", by, "--reason", reason])
        }
    };
    place.expect(0, &[&["equipment", command][..], &unit, &more].concat());
}

/// The lines of each date in the day log.
fn logged(place: &Place) -> BTreeMap<String, String> {
    let log = place.run(&["days", "."]).output;
    let mut of_date: BTreeMap<String, String> = BTreeMap::new();
    let mut date = String::new();
    for line in log.lines() {
        if line.starts_with("2026-03-") {
            line[..10].clone_into(&mut date);
        }
        let lines = of_date.entry(date.clone()).or_default();
        lines.push_str(line);
        lines.push('\n');
    }
    of_date
}

/// What the register has to say of the pasteurizer stands in the day log on its days and on no other; product
/// that was put on hold stays there until somebody ends that, while the week goes on.
#[test]
fn the_day_log_of_the_week() {
    let week = good(week());
    let mut place = place(&week);
    for booked in week.booked {
        book(&place, booked);
    }
    let log = logged(&place);
    let all: Vec<&str> = week.equipment.iter().flat_map(|(_, told)| *told).copied().collect();
    for (date, told) in week.equipment {
        let lines = log.get(*date).map_or("", String::as_str);
        for words in &all {
            assert_eq!(lines.contains(words), told.contains(words), "{date}, {words:?}: {lines}");
        }
    }

    // Tuesday: the milk that passed cold is in T-2 with its lot.
    "2026-03-10.csv".clone_into(&mut place.record);
    let why = ["--cause", "steam valve stuck or slow", "--action", "maintenance called"];
    let held = ["--disposition", "held", "--tank", "T-2", "--lot", "0310-A"];
    let resolve = ["review", "resolve", &place.record, "--by", "anna", "--all-open"];
    place.expect(0, &[&resolve[..], &why, &held].concat());
    let holds = place.expect(1, &["holds", "."]).output;
    assert!(holds.contains("2026-03-10-H1") && holds.contains("lot 0310-A; tank T-2"), "{holds}");
    assert!(logged(&place)["2026-03-10"].contains("1 hold open"), "{:#?}", logged(&place));
    let end = ["review", "end-hold", &place.record, "--by", "ben", "--hold", "2026-03-10-H1"];
    let lab = ["--outcome", "released", "--reason", "nothing found", "--lab-test", "phosphatase"];
    let found = ["--lab-value", "<40", "--lab-limit", "350", "--lab-unit", "mU/L"];
    let by = ["--lab-method", "fluorometric", "--laboratory", "Example Laboratory (invented)"];
    let on = ["--lab-date", "2026-03-12", "--passphrase-fd", "0"];
    place.expect(0, &[&end[..], &lab, &found, &by, &on].concat());
    assert!(place.expect(0, &["holds", "."]).output.contains("Nothing is on hold."));

    // Wednesday: the divert without a cause is closed with a reason, by the identifier of its observation.
    "2026-03-11.csv".clone_into(&mut place.record);
    let [id] = place.to_close().try_into().unwrap_or_else(|ids| panic!("{ids:?}"));
    assert_eq!(place.close(&id, "a loose wire at the solenoid, tightened").status, Some(0));
}
