//! Rows of one instant, and files that are given twice.

use crate::support::{input, messages, observed, plant, read_all, read_one, show};
use ingest::observations::{CLOCK_SET_BACK, DUPLICATE_STAMP};
use plant::Plant;
use trace::{Reading, ValveState};

const HEADER: &str = "Time,FDV,Hold Temp (°F),Raw (psi),Past (psi),Recorder temp (°F),Flow (gpm),\
                      Raw temp (°F),Regen temp (°F),Hot water temp (°F),Cooled (°F),Leak,Product,\
                      Lot,Mode\n";

fn products() -> Plant {
    plant(
        "[[products]]\nname = \"milk\"\nrow = \"us-milk-15s\"\n\
         [[products]]\nname = \"cream\"\ntemperature = \"166 degF\"\nminimum_time = \"15 s\"\n\
         source = \"made up\"\n",
    )
}

/// The sample that rows of one instant make; each row without its stamp.
fn merge(rows: &[&str]) -> String {
    let text = |rows: &[&str]| -> String {
        let rows: String = rows.iter().map(|row| format!("2026-03-08 06:00:00,{row}\n")).collect();
        format!("{HEADER}{rows}2026-03-08 06:00:01,DIV,160,1,1,1,1,40,150,170,38,0,milk,A,run\n")
    };
    let ingested = read_one(text(rows), &products());
    assert_eq!(ingested.record.samples(), 2);
    let shown = show(&ingested.record);
    // The order of the rows must not matter.
    let mut turned = rows.to_vec();
    for _ in 0..rows.len() {
        turned.rotate_left(1);
        assert_eq!(show(&read_one(text(&turned), &products()).record), shown);
        let backwards: Vec<&str> = turned.iter().rev().copied().collect();
        assert_eq!(show(&read_one(text(&backwards), &products()).record), shown);
    }
    shown
        .lines()
        .next()
        .unwrap_or_default()
        .trim_start_matches("2026-03-08T06:00:00.000 ")
        .to_owned()
}

#[test]
fn the_worst_reading_of_each_channel_is_kept() {
    let merged = merge(&[
        "DIV,163,24,27,163,26,38,150,170,38,0,milk,B,water",
        "FWD,162,25,27.5,164,27,39,149,171,39,1,cream,A,run",
        "TRV,164,23,26.5,162,25,37,151,169,37,0,milk,,CIP",
    ]);
    assert_eq!(
        merged,
        "forward holding_temperature=162°F raw_pressure=25psi pasteurized_pressure=27.5psi \
         differential_pressure=2.5psi recorder_temperature=162°F flow_rate=27gal/min \
         raw_temperature=39°F regenerated_temperature=149°F heating_water_temperature=169°F \
         cooled_temperature=39°F leak=Some(Some(true)) product=\"cream + milk\" lot=\"A + B\" mode=\"run\""
    );
}

#[test]
fn an_invalid_reading_makes_the_sample_invalid() {
    let merged = merge(&[
        "?,BAD,24,,163,26,38,150,170,38,?,,,",
        "DIV,162,25,27,164,,39,149,171,39,0,milk,,CIP",
    ]);
    assert_eq!(
        merged,
        "unknown holding_temperature=not a number°F raw_pressure=25psi \
         pasteurized_pressure=blankpsi differential_pressure=blankpsi recorder_temperature=163°F \
         flow_rate=blankgal/min raw_temperature=39°F regenerated_temperature=149°F \
         heating_water_temperature=170°F cooled_temperature=39°F leak=Some(None) product=\"\" \
         lot=\"\" mode=\"\""
    );
}

#[test]
fn differing_products_are_all_named() {
    for (one, other, kept) in [
        ("milk", "cream", "cream + milk"),
        ("Milk", "milk", "Milk"),
        ("milk", "", ""),
        ("milk", "whey", "milk + whey"),
        ("cream", "", ""),
    ] {
        let row = |product| format!("DIV,162,25,27,164,26,39,149,171,39,0,{product},,");
        let merged = merge(&[&row(one), &row(other)]);
        assert!(merged.contains(&format!("product={kept:?}")), "{one} {other}: {merged}");
    }
}

#[test]
fn of_equal_differentials_one_pair_is_kept() {
    let row = |raw: &str, past: &str| format!("FWD,162,{raw},{past},164,26,39,149,171,39,0,,,");
    let merged = merge(&[&row("24.3", "26.3"), &row("25.30", "27.30"), &row("20", "30")]);
    assert!(merged.contains("raw_pressure=25.30psi pasteurized_pressure=27.30psi"), "{merged}");
}

const SHORT: &str = "Time,FDV,Hold Temp (°F),dP (psi)\n";

#[test]
fn identical_rows_collapse_and_others_are_told_apart() {
    let text = format!(
        "{SHORT}2026-03-08 06:00:00,FWD,162,3\n2026-03-08 06:00:00,FWD,162.0,3\n\
         2026-03-08 06:00:01,FWD,162,3\n2026-03-08 06:00:01,FWD,161,3\n\
         2026-03-08 06:00:01,FWD,162,3\n2026-03-08 06:00:02,FWD,162,3\n"
    );
    let ingested = read_one(text, &plant(""));
    assert_eq!(ingested.record.samples(), 3);
    assert_eq!(ingested.record.sources()[0].rows, 6);
    assert_eq!(observed(&ingested), [(DUPLICATE_STAMP, 3, 1), (DUPLICATE_STAMP, 5, 2)]);
    let messages = messages(&ingested, DUPLICATE_STAMP);
    assert_eq!(
        messages,
        [
            "Rows with the time stamp and the readings of a row before: 1, the first like a.csv:2. \
             They count once.",
            "Rows with the time stamp of a row before and other readings: 2, the first like \
             a.csv:4. The worst reading of each channel is kept; check the logger's clock."
        ]
    );
    assert_eq!(ingested.record.double_spans(), []);
}

#[test]
fn stamps_to_the_minute_make_one_observation() {
    let rows: String = (0..7200)
        .map(|row| {
            format!(
                "2026-03-08 {:02}:{:02},FWD,16{}.5,3\n",
                6 + row / 3600,
                row / 60 % 60,
                row % 10
            )
        })
        .collect();
    let ingested = read_one(format!("{SHORT}{rows}"), &plant(""));
    assert_eq!(ingested.record.samples(), 120);
    assert_eq!(observed(&ingested), [(DUPLICATE_STAMP, 3, 7080)]);
    assert_eq!(ingested.record.holding_temperature().value(0), Some(160.5));
}

#[test]
fn a_file_given_twice_adds_nothing() {
    let text = format!("{SHORT}2026-03-08 06:00:00,FWD,162,3\n2026-03-08 06:00:01,FWD,161,3\n");
    let once = read_one(&text, &plant(""));
    let twice = read_all(&[input("a.csv", &text), input("b.csv", &text)], &plant(""));
    assert_eq!(show(&once.record), show(&twice.record));
    assert_eq!(observed(&twice), [(DUPLICATE_STAMP, 1, 2)]);
    assert!(
        messages(&twice, DUPLICATE_STAMP)[0].contains("the same as a.csv"),
        "{:?}",
        twice.observations
    );
    assert_eq!(twice.record.sources().iter().map(|source| source.rows).sum::<u64>(), 4);
}

/// Two files of one row a second: from 0 to 6, and from 4 to 10.
fn overlapping(second: impl Fn(u32) -> Option<String>) -> ingest::Ingested {
    let first = |at: u32| Some(format!("2026-03-08 06:00:{at:02},FWD,16{at}.5,3\n"));
    let one: String = (0..6).filter_map(first).collect();
    let other: String = (4..10).filter_map(|at| second(at).or_else(|| first(at))).collect();
    let files =
        [input("one.csv", format!("{SHORT}{one}")), input("other.csv", format!("{SHORT}{other}"))];
    read_all(&files, &plant(""))
}

#[test]
fn files_that_say_the_same_of_their_common_time_are_duplicates() {
    let ingested = overlapping(|_| None);
    assert_eq!(ingested.record.samples(), 10);
    assert_eq!(observed(&ingested), [(DUPLICATE_STAMP, 2, 2)]);
    assert_eq!(ingested.record.double_spans(), []);
}

#[test]
fn files_that_differ_over_their_common_time_make_it_double() {
    let differing = |at: u32| (at == 5).then(|| "2026-03-08 06:00:05,FWD,150,3\n".to_owned());
    let missing = |at: u32| (at == 5).then(String::new);
    let shifted = |at: u32| Some(format!("2026-03-08 06:00:{at:02}.400,FWD,16{at}.5,3\n"));
    for (second, samples, temperature, rows, start) in [
        (&differing as &dyn Fn(u32) -> Option<String>, 10, 150.0, 2, 4000),
        // A row that the other file lacks is a difference, too.
        (&missing, 10, 165.5, 1, 4000),
        (&shifted, 11, 165.5, 1, 4400),
    ] {
        let ingested = overlapping(second);
        let record = &ingested.record;
        assert_eq!(record.samples(), samples);
        assert_eq!(record.holding_temperature().value(5), Some(temperature));
        assert_eq!(observed(&ingested), [(CLOCK_SET_BACK, 2, rows)]);
        let [span] = record.double_spans() else { panic!("one span") };
        let from = record.instants()[0];
        assert_eq!(span.start().since(from).milliseconds(), start);
        assert_eq!(span.end().since(from).milliseconds(), 5000);
        let told = &messages(&ingested, CLOCK_SET_BACK)[0];
        assert!(told.contains("s before one.csv:7, and the two do not say the same"), "{told}");
    }
}

#[test]
fn forward_wins_over_every_other_position() {
    for (one, other, kept) in [
        ("FWD", "DIV", ValveState::Forward),
        ("FWD", "?", ValveState::Forward),
        ("?", "DIV", ValveState::Unknown),
        ("", "TRV", ValveState::Unknown),
        ("TRV", "DIV", ValveState::Travel),
    ] {
        let text =
            format!("{SHORT}2026-03-08 06:00:00,{one},162,3\n2026-03-08 06:00:00,{other},162,3\n");
        let ingested = read_one(text, &plant(""));
        assert_eq!(ingested.record.valve(), [kept], "{one} {other}");
        let reading = ingested.record.holding_temperature().reading(0);
        assert_eq!(reading, Reading::Valid(trace::Decimal::whole(162)));
    }
}
