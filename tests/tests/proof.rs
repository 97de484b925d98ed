//! An audit asks for proof: one journey for each day of `simulate::proof`, through the real program.
//!
//! Each day says by itself what must be said of it, with the sections of the method; here it is written
//! into a folder, audited as a person and as a script would, and held to that. Two things hold on every
//! day: the classes of time add up, and words that promise more than a record can show stand nowhere.

use serde_json::Value;
use simulate::TruthRule;
use simulate::proof::{Answer, Expected, Must, PROOF_DAYS, ProofDay, proof_day};
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use tests::good;
use tests::program::{Told, run};
use trace::{Instant, Interval};

/// A test for each name, which is that of its day.
macro_rules! journeys {
    ($($name:ident,)*) => {
        $(
            #[test]
            fn $name() {
                journey(stringify!($name));
            }
        )*

        const TESTED: &[&str] = &[$(stringify!($name)),*];
    };
}

journeys! {
    a_clean_hour,
    // Milk may have gone unsafe.
    the_logger_hung_while_diverted,
    the_flow_meter_lost_its_signal,
    a_device_that_chatters_with_milk_at_150,
    one_forward_sample_and_slow_travel,
    an_open_thermometer,
    a_recorder_below_the_thermometer_all_day,
    a_recorder_that_has_to_show_the_limit_too,
    a_holding_temperature_of_the_recorder,
    a_drift_that_the_recorder_shows,
    a_drift_that_the_heating_water_shows,
    every_channel_repeated_for_590_s,
    one_minute_averages_over_a_dip,
    a_spring_hour_that_does_not_exist,
    a_spring_hour_on_a_standard_clock,
    two_garbled_stamps_over_a_dip,
    a_blank_position_at_twice_the_flow,
    a_clock_set_back_by_seven_minutes,
    a_plant_file_with_150_degrees_for_1_s,
    a_plant_file_with_minus_50_psi,
    a_plant_file_with_a_gap_limit_of_2_h,
    a_plant_file_with_a_tube_factor_of_2,
    one_column_in_two_roles,
    a_header_in_fahrenheit_bound_as_celsius,
    a_limit_beyond_its_bound_that_was_accepted,
    chocolate_milk_in_a_plant_of_milk,
    eggnog_without_a_plant_file,
    a_run_sheet_that_says_cream,
    a_small_exception_names_lot_and_tank,
    a_run_sheet_that_does_not_add_up,
    a_cleaning_that_was_left_out,
    a_cleaning_that_got_cold,
    a_cleaning_by_name_only,
    a_cleaning_that_goes_on_after_the_record,
    a_cleaning_without_a_mode,
    // Nothing is wrong, or one thing.
    a_divert_without_a_cause,
    pumps_alarms_and_media_in_order,
    an_alarm_and_a_medium_out_of_turn,
    a_stop_for_lunch,
    a_product_change_by_hand,
    a_cleaning_between_two_runs,
    a_run_sheet_that_adds_up,
    a_run_sheet_that_reaches_out_of_the_record,
    a_quiet_night_with_the_pumps_off,
    a_cleaning_is_one_bundle,
    a_cleaning_that_ran_milk,
    a_log_on_change,
    a_recorder_as_high_as_the_thermometer,
    a_recorder_above_the_thermometer,
}

#[test]
fn every_day_has_its_journey() {
    let days: Vec<&str> = PROOF_DAYS.iter().map(|(name, _)| *name).collect();
    assert_eq!(TESTED, days);
}

/// Words that say more than a record can show, or make little of what passed (method, section 10).
const NEVER: [&str; 3] = ["compliant", "in doubt", "every interval"];

/// What the program says of a day, for a person and as JSON.
fn told(day: &ProofDay) -> (Told, Told) {
    let folder = good(tempfile::tempdir());
    for file in &day.files {
        let path = folder.path().join(file.name);
        if let Err(error) = fs::write(&path, &file.text) {
            panic!("{}: {error}", path.display());
        }
    }
    let log = folder.path().join(day.files[0].name).to_string_lossy().into_owned();
    (run(&["audit", &log]), run(&["audit", "--format", "json", &log]))
}

fn journey(name: &str) {
    let day = good(proof_day(name));
    let about = format!("{name}: {}", day.item);
    let (text, json) = told(&day);
    match &day.must {
        Must::Refuse(texts) => refused(&about, &[text, json], texts),
        Must::Audit(answer) => answered(&about, &text, &json, answer),
    }
}

fn refused(about: &str, both: &[Told], texts: &[&str]) {
    for told in both {
        assert_eq!((told.status, told.output.as_str()), (Some(2), ""), "{about}");
        for text in texts {
            assert!(told.complaint.contains(text), "{about}\n{text:?} in {}", told.complaint);
        }
    }
}

fn answered(about: &str, text: &Told, json: &Told, answer: &Answer) {
    assert_eq!(json.complaint, "", "{about}");
    assert_eq!(
        (text.status, json.status),
        (Some(answer.status), Some(answer.status)),
        "{about}\n{}",
        text.output
    );
    let audit: Value = serde_json::from_str(&json.output)
        .unwrap_or_else(|error| panic!("{about}\n{error}: {}", json.output));
    assert_eq!(audit["schema"], 2, "{about}");
    let found = list(&audit["exceptions"]).iter().map(Found::read).collect::<Vec<_>>();
    exceptions(about, &found, answer);
    observations(about, &audit, answer);
    adds_up(about, &audit);
    assert_eq!(list(&audit["cleanings"]).len(), answer.cleanings, "{about}: cleanings");
    for (key, expected) in [("lots", answer.lots), ("tanks", answer.tanks)] {
        if let Some(expected) = expected {
            let hold: Vec<String> = list(&audit["hold"][key]).iter().map(word).collect();
            assert_eq!(hold, expected, "{about}: {key} to hold");
        }
    }
    let verdict = word(&audit["verdict"]).to_lowercase();
    for part in answer.verdict {
        assert!(verdict.contains(&part.to_lowercase()), "{about}\n{part:?} in {verdict:?}");
    }
    for output in [&text.output, &json.output] {
        for part in answer.says {
            assert!(output.contains(part), "{about}\n{part:?} in {output}");
        }
        for part in NEVER.iter().chain(answer.never_says) {
            let line = output.lines().find(|line| line.to_lowercase().contains(part));
            assert_eq!(line, None, "{about}\n{part:?}");
        }
    }
}

/// An exception as the JSON has it.
#[derive(Debug)]
struct Found {
    rule: String,
    causes: BTreeSet<String>,
    estimate: Interval,
    outer: Interval,
    outside_production: bool,
    episode: i64,
    limit: Option<f64>,
    unplaced: Option<(u64, u64)>,
}

impl Found {
    fn read(one: &Value) -> Self {
        let flag =
            |key: &str| one[key].as_bool().unwrap_or_else(|| panic!("{key} is yes or no in {one}"));
        // In time is only what is short for no longer than the allowance and ends at diverted; no day
        // here shows that.
        assert!(!flag("within_response"), "{one}");
        let unplaced = &one["unplaced"];
        Self {
            rule: word(&one["rule"]),
            causes: list(&one["causes"]).iter().map(word).collect(),
            estimate: Interval::between(instant(&one["start"]), instant(&one["end"])),
            outer: Interval::between(instant(&one["outer_start"]), instant(&one["outer_end"])),
            outside_production: flag("outside_production"),
            episode: one["episode"].as_i64().unwrap_or_else(|| panic!("an episode in {one}")),
            limit: one["worst"]["limit"].as_f64(),
            unplaced: unplaced["rows"].as_u64().zip(unplaced["short"].as_u64()),
        }
    }

    fn fits(&self, expected: &Expected) -> bool {
        let known = |cause: &String| {
            expected.causes.iter().chain(expected.perhaps_causes).any(|known| known == cause)
        };
        self.rule == expected.rule.key()
            && expected.causes.iter().all(|cause| self.causes.contains(*cause))
            && self.causes.iter().all(known)
            && expected.within.contains(self.estimate.start())
            && expected.within.contains(self.estimate.end())
    }
}

fn exceptions(about: &str, found: &[Found], answer: &Answer) {
    let mut matched: Vec<Vec<&Found>> = vec![Vec::new(); answer.exceptions.len()];
    for one in found {
        let which = answer.exceptions.iter().position(|expected| one.fits(expected));
        match which.and_then(|which| matched.get_mut(which)) {
            Some(place) => place.push(one),
            None => panic!("{about}\ntoo much: {one:?}"),
        }
    }
    for (expected, matched) in answer.exceptions.iter().zip(&matched) {
        assert!(expected.count.contains(&matched.len()), "{about}\n{expected:?}\n{matched:?}");
        if let Some(whole) = expected.covers {
            covered(about, whole, matched.iter().map(|one| one.outer));
        }
        if let Some((sum, error)) = expected.together {
            let lasts: i64 = matched.iter().map(|one| one.estimate.duration().milliseconds()).sum();
            let off = (lasts - sum.milliseconds()).abs();
            assert!(off <= error.milliseconds(), "{about}\n{lasts} ms, not {sum}: {matched:?}");
        }
        for one in matched {
            assert_eq!(one.outside_production, expected.outside_production, "{about}\n{one:?}");
            let limit = expected.limit.and_then(|limit| limit.parse::<f64>().ok());
            assert!(limit.is_none() || one.limit == limit, "{about}\n{limit:?}: {one:?}");
            assert_eq!(one.unplaced, expected.unplaced, "{about}\n{one:?}");
        }
    }
    for whole in &answer.covered {
        covered(about, *whole, found.iter().map(|one| one.outer));
    }
    if let Some(number) = answer.episodes {
        let episodes: BTreeSet<i64> = found.iter().map(|one| one.episode).collect();
        assert_eq!(episodes.len(), number, "{about}: episodes");
    }
}

fn covered(about: &str, whole: Interval, parts: impl Iterator<Item = Interval>) {
    let mut parts: Vec<Interval> = parts.collect();
    parts.sort_unstable();
    let mut from = whole.start();
    for part in &parts {
        if part.start() <= from {
            from = from.max(part.end());
        }
    }
    assert!(from >= whole.end(), "{about}\n{whole:?} is covered up to {from:?} only, by {parts:?}");
}

fn observations(about: &str, audit: &Value, answer: &Answer) {
    let all = list(&audit["observations"]);
    let of_rank = |rank: &str| -> BTreeSet<String> {
        all.iter().filter(|one| one["rank"] == rank).map(|one| word(&one["kind"])).collect()
    };
    let (close, note) = (of_rank("close"), of_rank("note"));
    let count = all.len();
    assert_eq!(
        all.iter().filter(|one| one["rank"] == "close" || one["rank"] == "note").count(),
        count,
        "{about}: each observation has its rank"
    );
    for kind in answer.close {
        assert!(close.contains(*kind), "{about}\n{kind} is to be closed: {close:?}");
    }
    for kind in &close {
        let known = answer.close.iter().chain(answer.perhaps_close).any(|known| known == kind);
        assert!(known, "{about}\n{kind} is to be closed, but why: {all:?}");
    }
    for kind in answer.note {
        assert!(note.contains(*kind), "{about}\n{kind} is to be noted: {note:?}");
    }
    for kind in answer.silent {
        assert!(!close.contains(*kind) && !note.contains(*kind), "{about}\n{kind}: {all:?}");
    }
    assert!(!answer.nothing_observed || count == 0, "{about}\nnothing is to be observed: {all:?}");
    if let Some(stretch) = answer.once_each {
        let mut kinds: BTreeMap<String, usize> = BTreeMap::new();
        for one in &all {
            let inside = !one["start"].is_null() && stretch.contains(instant(&one["start"]));
            *kinds.entry(word(&one["kind"])).or_default() += usize::from(inside);
        }
        assert!(kinds.values().all(|count| *count <= 1), "{about}\n{kinds:?}");
    }
}

fn adds_up(about: &str, audit: &Value) {
    let classes = audit["accounting_ms"].as_object().cloned().unwrap_or_default();
    let time = |value: &Value| value.as_i64().unwrap_or_else(|| panic!("{about}: {value}"));
    let sum: i64 =
        classes.iter().filter(|(class, _)| *class != "total").map(|(_, value)| time(value)).sum();
    let record =
        Interval::between(instant(&audit["record"]["start"]), instant(&audit["record"]["end"]));
    assert_eq!(sum, record.duration().milliseconds(), "{about}: the classes add up");
}

fn list(value: &Value) -> Vec<Value> {
    value.as_array().cloned().unwrap_or_else(|| panic!("a list, not {value}"))
}

fn word(value: &Value) -> String {
    value.as_str().map_or_else(|| panic!("a text, not {value}"), str::to_owned)
}

fn instant(value: &Value) -> Instant {
    match chrono::DateTime::parse_from_rfc3339(&word(value)) {
        Ok(time) => Instant::from_unix_milliseconds(time.timestamp_millis()),
        Err(error) => panic!("{value}: {error}"),
    }
}

/// The comparison itself: a wrong answer of each sort is noticed.
mod comparison {
    use super::*;
    use std::panic::catch_unwind;

    fn found(rule: TruthRule, cause: &str, from: i64, to: i64) -> Found {
        let at = Instant::from_unix_milliseconds;
        Found {
            rule: rule.key().to_owned(),
            causes: BTreeSet::from([cause.to_owned()]),
            estimate: Interval::between(at(from), at(to)),
            outer: Interval::between(at(from - 500), at(to + 500)),
            outside_production: false,
            episode: 1,
            limit: None,
            unplaced: None,
        }
    }

    fn open_thermometer() -> (Answer, Interval) {
        match good(proof_day("an_open_thermometer")).must {
            Must::Audit(answer) => match answer.exceptions.as_slice() {
                [one] => ((*answer).clone(), one.covers.unwrap_or(one.within)),
                other => panic!("{other:?}"),
            },
            Must::Refuse(texts) => panic!("{texts:?}"),
        }
    }

    #[test]
    fn only_the_right_exceptions_pass() {
        let (answer, over) = open_thermometer();
        let (from, to) = (over.start().unix_milliseconds(), over.end().unix_milliseconds());
        let right = || found(TruthRule::Unverifiable, "invalid_reading", from, to);
        let passes = |found: Vec<Found>| catch_unwind(|| exceptions("", &found, &answer)).is_ok();
        assert!(passes(vec![right()]));
        for (why, wrong) in [
            ("none", vec![]),
            ("two", vec![right(), right()]),
            ("rule", vec![found(TruthRule::Temperature, "invalid_reading", from, to)]),
            ("cause", vec![found(TruthRule::Unverifiable, "frozen", from, to)]),
            ("too long", vec![found(TruthRule::Unverifiable, "invalid_reading", from - 9000, to)]),
            ("too short", vec![found(TruthRule::Unverifiable, "invalid_reading", from + 9000, to)]),
            ("outside", vec![Found { outside_production: true, ..right() }]),
            ("unplaced", vec![Found { unplaced: Some((1, 1)), ..right() }]),
        ] {
            assert!(!passes(wrong), "{why}");
        }
    }
}
