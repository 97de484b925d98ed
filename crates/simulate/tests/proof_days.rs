//! Each day of `simulate::proof` shows what its name says: its text is read here with a few plain loops,
//! so that a day that no longer has its fault is noticed before an audit is asked about it.

use simulate::TruthRule;
use simulate::proof::{Must, PROOF_DAYS, ProofDay, proof_day};
use std::collections::BTreeSet;

/// A row as it stands in the file.
struct Line<'a> {
    stamp: &'a str,
    cells: Vec<&'a str>,
}

const VALVE: usize = 0;
const HOLDING: usize = 1;
const RECORDER: usize = 2;
const RAW_PRESSURE: usize = 3;
const PASTEURIZED_PRESSURE: usize = 4;
const FLOW: usize = 5;
const COOLED: usize = 9;
const PRODUCT: usize = 10;
const MODE: usize = 12;

impl Line<'_> {
    fn tenths(&self, column: usize) -> i64 {
        let figure: f64 = self.cells[column].parse().unwrap_or(f64::NAN);
        assert!(figure.is_finite(), "{}: {:?}", self.stamp, self.cells[column]);
        (figure * 10.0).round() as i64
    }

    fn is(&self, position: &str) -> bool {
        self.cells[VALVE] == position
    }

    fn differential(&self) -> i64 {
        self.tenths(PASTEURIZED_PRESSURE) - self.tenths(RAW_PRESSURE)
    }

    /// Seconds since midnight.
    fn second(&self) -> f64 {
        let time = self.stamp.split(' ').nth(1).unwrap_or_default();
        time.split(':').fold(0.0, |sum, part| sum * 60.0 + part.parse::<f64>().unwrap_or(f64::NAN))
    }
}

fn day(name: &str) -> ProofDay {
    proof_day(name).unwrap_or_else(|error| panic!("{name}: {error}"))
}

fn lines(day: &ProofDay) -> Vec<Line<'_>> {
    let rows = day.files[0].text.lines().skip(1);
    rows.map(|row| {
        let mut cells = row.split(',');
        Line { stamp: cells.next().unwrap_or_default(), cells: cells.collect() }
    })
    .collect()
}

/// Looks at the rows of a day.
fn look(name: &str, at: impl FnOnce(&[Line<'_>])) {
    at(&lines(&day(name)));
}

/// The rows from one time of the day up to another.
fn between<'a, 'b>(lines: &'a [Line<'b>], from: &str, to: &str) -> &'a [Line<'b>] {
    let index = |time: &str| {
        let found = lines.iter().position(|line| line.stamp.ends_with(time));
        found.unwrap_or_else(|| panic!("no row at {time}"))
    };
    &lines[index(from)..index(to)]
}

#[test]
fn every_day_is_made_and_is_the_same_again() {
    let mut names = BTreeSet::new();
    for (name, make) in PROOF_DAYS {
        let made = day(name);
        assert!(names.insert(*name), "{name} is there twice");
        assert_eq!(made.name, *name);
        assert!(made.item.contains("section"), "{name}: {}", made.item);
        assert_eq!(made.files[0].name, "day.csv");
        assert_eq!(make().ok().as_ref(), Some(&made), "{name}");
        match &made.must {
            Must::Refuse(texts) => assert!(!texts.is_empty(), "{name}"),
            Must::Audit(answer) => {
                let found = !answer.exceptions.is_empty() || !answer.close.is_empty();
                assert_eq!(answer.status, i32::from(found), "{name}: method, section 10");
            }
        }
    }
    assert!(names.len() >= 30, "{} days", names.len());
}

/// But for what the day is about, its milk is legal and its line in order.
#[test]
fn a_clean_hour_is_clean() {
    look("a_clean_hour", |lines| {
        let forward: Vec<_> = lines.iter().filter(|line| line.is("FWD")).collect();
        assert!((2600..2800).contains(&forward.len()), "{}", forward.len());
        for line in forward {
            assert!(line.tenths(HOLDING) >= 1610 + 15 && line.differential() >= 20 + 20);
            // 13.75 gal in at least 15 s: at most 55 gal/min.
            assert!((450..=530).contains(&line.tenths(FLOW)), "{}", line.stamp);
            let apart = line.tenths(HOLDING) - line.tenths(RECORDER);
            assert!((0..=10).contains(&apart), "{}: {apart}", line.stamp);
        }
    });
}

#[test]
fn the_holes_are_where_they_should_be() {
    look("the_logger_hung_while_diverted", |lines| {
        let holes: Vec<_> = lines
            .windows(2)
            .filter(|pair| pair[1].second() - pair[0].second() > 1.5)
            .map(|pair| (pair[0].stamp, pair[0].cells[VALVE], pair[1].stamp, pair[1].cells[VALVE]))
            .collect();
        assert_eq!(holes, [("2026-03-10 05:39:59", "DIV", "2026-03-10 14:40:00", "DIV")]);
    });
    let Must::Audit(answer) = day("the_logger_hung_while_diverted").must else { panic!("audited") };
    let [hidden] = answer.covered.as_slice() else { panic!("{:?}", answer.covered) };
    assert!(hidden.duration().seconds() > 30.0, "cold milk went forward unseen: {hidden:?}");
    look("a_log_on_change", |lines| {
        let steps: Vec<f64> =
            lines.windows(2).map(|pair| pair[1].second() - pair[0].second()).collect();
        let of_a_second = steps.iter().filter(|step| **step < 1.5).count();
        let gaps = steps.iter().filter(|step| **step > 3.0).count();
        assert!(of_a_second > steps.len() / 2, "the median step is a second: {of_a_second}");
        assert!(gaps > 150, "{gaps} gaps");
    });
}

#[test]
fn readings_that_prove_nothing() {
    look("the_flow_meter_lost_its_signal", |lines| {
        let lost = between(lines, "05:30:00", "05:35:00");
        assert!(lost.len() == 300 && lost.iter().all(|line| line.is("FWD")));
        assert!(lost.iter().all(|line| line.tenths(FLOW) == 0));
    });
    look("an_open_thermometer", |lines| {
        let open = between(lines, "05:25:00", "05:35:00");
        assert!(open.iter().all(|line| line.is("FWD") && line.tenths(HOLDING) == 2500));
    });
    look("a_recorder_below_the_thermometer_all_day", |lines| {
        for line in lines.iter().filter(|line| !line.is("DIV")) {
            let (indicated, recorded) = (line.tenths(HOLDING), line.tenths(RECORDER));
            assert!(indicated >= 1610 && recorded < 1610, "{}: {recorded}", line.stamp);
            assert!(indicated - recorded > 10, "{}: {indicated}", line.stamp);
        }
    });
    for (name, hour, colder) in [
        ("a_drift_that_the_recorder_shows", "08:20:00", 20),
        ("a_drift_that_the_heating_water_shows", "08:20:00", 50),
    ] {
        look(name, |lines| {
            // The reading stays where it was; the recorder, bound or not, shows what the milk is.
            let late = between(lines, hour, "10:30:00");
            assert!(late.iter().all(|line| line.is("FWD") && line.tenths(HOLDING) >= 1610));
            assert!(late.iter().all(|line| line.tenths(RECORDER) < 1610 - colder / 10));
            assert!(late.iter().any(|line| line.tenths(RECORDER) < 1610 - colder));
        });
    }
    look("every_channel_repeated_for_590_s", |lines| {
        let same = between(lines, "05:28:00", "05:37:51");
        assert_eq!(same.len(), 591);
        assert!(same.iter().all(|line| line.cells == same[0].cells));
        assert_ne!(between(lines, "05:37:51", "05:37:52")[0].cells, same[0].cells);
        assert_ne!(between(lines, "05:27:59", "05:28:00")[0].cells, same[0].cells);
    });
}

#[test]
fn averages_hide_the_dip() {
    look("one_minute_averages_over_a_dip", |lines| {
        assert_eq!(lines.len(), 60);
        let forward: Vec<_> = lines.iter().filter(|line| line.is("FWD")).collect();
        assert!(forward.len() > 40 && forward.iter().all(|line| line.tenths(HOLDING) >= 1610));
        let lowest = forward.iter().map(|line| line.tenths(HOLDING)).min();
        assert!(lowest.is_some_and(|lowest| lowest < 1625), "a dip is in one of them: {lowest:?}");
    });
    let made = day("one_minute_averages_over_a_dip");
    assert!(made.files[0].text.contains("Hold Temp average (°F)"));
    let Must::Audit(answer) = made.must else { panic!("audited") };
    assert!(answer.covered.iter().any(|dip| dip.duration().seconds() > 5.0), "{answer:?}");
}

#[test]
fn positions_that_hide_flow() {
    look("a_device_that_chatters_with_milk_at_150", |lines| {
        let chatter = between(lines, "05:31:00", "05:41:00");
        let travel: Vec<_> = chatter.iter().filter(|line| line.is("TRV")).collect();
        assert_eq!((chatter.len(), travel.len()), (600, 400));
        assert!(chatter.iter().all(|line| !line.is("FWD")));
        assert!(travel.iter().all(|line| (1485..1515).contains(&line.tenths(HOLDING))));
        assert!(travel.iter().all(|line| line.differential() >= 20));
    });
    look("one_forward_sample_and_slow_travel", |lines| {
        let short: String = lines
            .windows(2)
            .filter(|pair| pair[1].tenths(HOLDING) < 1610 && !pair[1].is("DIV"))
            .map(|pair| &pair[1].cells[VALVE][..1])
            .collect();
        assert_eq!(short, "FTTTT");
    });
    look("a_small_exception_names_lot_and_tank", |lines| {
        let short = lines.iter().filter(|line| line.tenths(HOLDING) < 1610 && !line.is("DIV"));
        assert_eq!(short.map(|line| line.cells[VALVE]).collect::<Vec<_>>(), ["FWD", "FWD"]);
    });
    look("a_blank_position_at_twice_the_flow", |lines| {
        let blank = between(lines, "05:30:00", "05:35:00");
        assert!(blank.iter().all(|line| line.is("") && line.tenths(HOLDING) >= 1610));
        assert!(blank.iter().all(|line| line.differential() >= 20));
        let fast = blank.iter().filter(|line| line.tenths(FLOW) > 950).count();
        assert!((240..260).contains(&fast), "{fast}");
        assert!(lines.iter().filter(|line| !line.is("")).all(|line| line.tenths(FLOW) < 550));
    });
}

#[test]
fn rows_without_a_place() {
    for name in ["a_spring_hour_that_does_not_exist", "a_spring_hour_on_a_standard_clock"] {
        look(name, |lines| {
            let hour: Vec<_> =
                lines.iter().filter(|line| line.stamp.starts_with("2026-03-08 02:")).collect();
            let short = hour.iter().filter(|line| line.is("FWD") && line.tenths(HOLDING) < 1610);
            assert_eq!((hour.len(), short.count()), (3600, 300));
            let placed = lines.iter().filter(|line| !line.stamp.starts_with("2026-03-08 02:"));
            assert!(placed.filter(|line| line.is("FWD")).all(|line| line.tenths(HOLDING) >= 1610));
        });
    }
    look("two_garbled_stamps_over_a_dip", |lines| {
        let short: Vec<_> = lines
            .iter()
            .filter(|line| line.is("FWD") && line.tenths(HOLDING) < 1610)
            .map(|line| line.stamp)
            .collect();
        assert_eq!(short, ["2026-03-10 05:3#:00", "2026-03-10 05"]);
    });
    look("a_clock_set_back_by_seven_minutes", |lines| {
        let back: Vec<_> = lines
            .windows(2)
            .filter(|pair| pair[1].second() < pair[0].second())
            .map(|pair| (pair[0].stamp, pair[1].stamp))
            .collect();
        assert_eq!(back, [("2026-03-10 05:40:00", "2026-03-10 05:33:00.500")]);
        let short = lines.iter().filter(|line| line.is("FWD") && line.tenths(HOLDING) < 1610);
        let short: Vec<_> = short.map(Line::second).collect();
        let span = short[short.len() - 1] - short[0];
        // One event, all of it in the first pass.
        assert!((16.0..23.0).contains(&span) && short.len() == span as usize + 1, "{short:?}");
        assert!(short.iter().all(|second| second.fract() == 0.0));
    });
}

#[test]
fn products_that_are_not_what_they_seem() {
    for (name, product) in [
        ("chocolate_milk_in_a_plant_of_milk", "chocolate milk"),
        ("eggnog_without_a_plant_file", "eggnog"),
    ] {
        look(name, |lines| {
            let made: Vec<_> = lines.iter().filter(|line| line.cells[PRODUCT] == product).collect();
            assert_eq!(made.len(), 38 * 60, "{name}");
            assert!(made.iter().all(|line| line.is("FWD")), "{name}");
            // Legal for milk, not for this.
            assert!(made.iter().all(|line| (1610..1660).contains(&line.tenths(HOLDING))), "{name}");
        });
    }
    assert!(day("eggnog_without_a_plant_file").files.iter().all(|file| file.name == "day.csv"));
    let names: Vec<_> =
        day("a_run_sheet_that_says_cream").files.iter().map(|file| file.name).collect();
    assert_eq!(names, ["day.csv", "plant.toml", "day.run-sheet.csv"]);
}

#[test]
fn nothing_to_look_at() {
    look("a_quiet_night_with_the_pumps_off", |lines| {
        assert_eq!(lines.len(), 7201);
        assert!(lines.iter().all(|line| line.cells == lines[0].cells && line.is("DIV")));
        assert!(lines[0].differential() < 0 && lines[0].tenths(FLOW) == 0);
    });
    look("a_recorder_as_high_as_the_thermometer", |lines| {
        let above =
            lines.iter().filter(|line| line.tenths(RECORDER) > line.tenths(HOLDING)).count();
        assert!(above > 700, "noise: {above}");
        // The median of every minute of forward flow is within one display step.
        let forward: Vec<_> = lines.iter().filter(|line| line.is("FWD")).collect();
        for minute in forward.chunks_exact(60) {
            let mut apart: Vec<i64> =
                minute.iter().map(|line| line.tenths(RECORDER) - line.tenths(HOLDING)).collect();
            apart.sort_unstable();
            assert!(apart[30] <= 1, "{}: {apart:?}", minute[0].stamp);
        }
    });
    look("a_recorder_above_the_thermometer", |lines| {
        let forward = lines.iter().filter(|line| line.is("FWD"));
        let mut apart: Vec<i64> =
            forward.map(|line| line.tenths(RECORDER) - line.tenths(HOLDING)).collect();
        apart.sort_unstable();
        assert!(
            apart[apart.len() / 20] > 1 && apart[apart.len() - 1] <= 10,
            "never more than 1 °F"
        );
    });
    for (name, pulses, cooled) in
        [("a_cleaning_is_one_bundle", 57, 1300..1500), ("a_cleaning_that_ran_milk", 3, 330..450)]
    {
        look(name, |lines| {
            let cleaning = lines.iter().filter(|line| line.cells[MODE] == "clean");
            let pulsed: Vec<_> = cleaning.filter(|line| line.is("FWD")).collect();
            assert_eq!(pulsed.len(), pulses * 20, "{name}");
            for line in pulsed {
                assert!(line.tenths(HOLDING) < 1610 && line.differential() < 20, "{}", line.stamp);
                assert!(line.differential() >= 0 && line.tenths(FLOW) < 550, "{}", line.stamp);
                assert!(cooled.contains(&line.tenths(COOLED)), "{name} {}", line.stamp);
            }
        });
    }
}

/// Each named rule and the unverifiable is shown by some day.
#[test]
fn the_days_cover_rules_and_causes() {
    let mut rules = BTreeSet::new();
    let mut causes: BTreeSet<&str> = BTreeSet::new();
    for (name, _) in PROOF_DAYS {
        if let Must::Audit(answer) = day(name).must {
            for expected in &answer.exceptions {
                rules.insert(expected.rule);
                causes.extend(expected.causes);
            }
        }
    }
    // No day needs the time alone: it is short where the position is unknown.
    for rule in [TruthRule::Temperature, TruthRule::Differential, TruthRule::Unverifiable] {
        assert!(rules.contains(&rule), "{rule:?}");
    }
    for cause in [
        "short",
        "invalid_reading",
        "contradicted",
        "repeated",
        "flow_unusable",
        "position_unknown",
        "gap",
        "gap_diverted",
        "unplaced_rows",
        "clock",
    ] {
        assert!(causes.contains(cause), "{cause}");
    }
}
