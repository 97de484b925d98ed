//! A run record through a data frame and a Parquet file and back, and the frames of its audit.

use case::Case;
use plant::Plant;
use polars::prelude::Column;
use proptest::collection::vec;
use proptest::option;
use proptest::prelude::*;
use std::path::Path;
use tables::{
    DataFrame, Error, read_parquet, record_frame, record_from_frame, table_frame, write_parquet,
};
use trace::{
    Channel, Decimal, Differential, Duration, FlowUnit, Instant, Invalid, Observation,
    PressureUnit, Reading, Role, RunRecord, RunRecordParts, TemperatureUnit, TextChannel, Toward,
    Unit, Value, ValveState,
};

/// Narrow enough for 15 digits behind the mark.
const RANGE: (Decimal, Decimal) = (Decimal::whole(-400), Decimal::whole(400));

fn channel<U: Unit>(unit: U, readings: &[Reading]) -> Channel<U> {
    let mut channel = Channel::new(unit, RANGE, Toward::Down);
    for &reading in readings {
        channel.push(reading);
    }
    channel
}

fn words(words: &[&str]) -> TextChannel {
    let mut channel = TextChannel::new();
    for word in words {
        channel.push(word);
    }
    channel
}

/// One sample: what the valve, four channels, the leak sensor and a text column hold.
type Sample = (usize, [Reading; 4], Option<bool>, &'static str);

/// What kind of record the samples make: units, and which channels there are.
type Kind = (usize, usize, usize, bool, bool);

fn record(samples: &[Sample], (temperature, pressure, flow, pair, more): Kind) -> RunRecord {
    let temperature = [TemperatureUnit::Fahrenheit, TemperatureUnit::Celsius][temperature];
    let pressure = [
        PressureUnit::Psi,
        PressureUnit::Kilopascal,
        PressureUnit::Bar,
        PressureUnit::Millibar,
        PressureUnit::Megapascal,
    ][pressure];
    let flow = [
        FlowUnit::LitrePerHour,
        FlowUnit::LitrePerMinute,
        FlowUnit::CubicMetrePerHour,
        FlowUnit::GallonPerMinute,
        FlowUnit::GallonPerHour,
    ][flow];
    let readings = |which: usize| samples.iter().map(|sample| sample.1[which]).collect::<Vec<_>>();
    let text: Vec<&str> = samples.iter().map(|sample| sample.3).collect();
    let parts = RunRecordParts {
        unit: "HTST 1".to_owned(),
        sources: Vec::new(),
        instants: (0..samples.len() as i64)
            .map(|sample| Instant::from_unix_milliseconds(1_700_000_000_000 + sample * 999))
            .collect(),
        valve: samples.iter().map(|sample| ValveState::ALL[sample.0]).collect(),
        holding_temperature: channel(temperature, &readings(0)),
        differential: if pair {
            Differential::Pair {
                raw: channel(pressure, &readings(1)),
                pasteurized: channel(pressure, &readings(2)),
            }
        } else {
            Differential::Direct(channel(pressure, &readings(1)))
        },
        recorder_temperature: more.then(|| channel(temperature, &readings(3))),
        flow_rate: more.then(|| channel(flow, &readings(3))),
        raw_temperature: more.then(|| channel(temperature, &readings(2))),
        regenerated_temperature: more.then(|| channel(temperature, &readings(1))),
        heating_water_temperature: more.then(|| channel(temperature, &readings(0))),
        cooled_temperature: more.then(|| channel(temperature, &readings(3))),
        cleaning_return_temperature: None,
        heating_medium_pressure: more.then(|| channel(pressure, &readings(2))),
        cooling_medium_pressure: None,
        leak_detect: more.then(|| samples.iter().map(|sample| sample.2).collect()),
        timing_pump: more.then(|| samples.iter().map(|sample| sample.2.map(|on| !on)).collect()),
        booster_pump: more.then(|| samples.iter().map(|sample| sample.2).collect()),
        high_flow_alarm: None,
        low_flow_alarm: more.then(|| samples.iter().map(|sample| sample.2).collect()),
        product: more.then(|| words(&text)),
        lot: (!more).then(|| words(&text)),
        mode: more.then(|| words(&text)),
        mode_switch: more.then(|| words(&text)),
        unplaced: Vec::new(),
        double_spans: Vec::new(),
    };
    RunRecord::new(parts).unwrap_or_else(|error| panic!("{error}"))
}

fn back(frame: &DataFrame) -> Result<RunRecord, Error> {
    record_from_frame(frame, Vec::new(), &|_, _| RANGE)
}

fn good<T>(result: Result<T, Error>) -> T {
    result.unwrap_or_else(|error| panic!("{error}"))
}

fn text(channel: Option<&TextChannel>) -> Option<Vec<&str>> {
    channel.map(|channel| (0..channel.len()).map(|sample| channel.word(sample)).collect())
}

fn assert_same(one: &RunRecord, other: &RunRecord) {
    assert_eq!(one.unit(), other.unit());
    assert_eq!(one.instants(), other.instants());
    assert_eq!(one.valve(), other.valve());
    assert_eq!(one.leak_detect(), other.leak_detect());
    assert_eq!(one.timing_pump(), other.timing_pump());
    assert_eq!(text(one.product()), text(other.product()));
    assert_eq!(text(one.lot()), text(other.lot()));
    assert_eq!(text(one.mode()), text(other.mode()));
    for role in Role::ALL {
        match (one.channel(role), other.channel(role)) {
            (None, None) => {}
            (Some(one), Some(other)) => {
                assert_eq!(one.symbol(), other.symbol(), "{role:?}");
                assert_eq!(one.mantissas().len(), other.mantissas().len(), "{role:?}");
                for sample in 0..one.mantissas().len() {
                    assert_eq!(one.reading(sample), other.reading(sample), "{role:?} {sample}");
                }
            }
            (one, other) => panic!("{role:?}: {one:?} {other:?}"),
        }
    }
}

/// Mostly what loggers print; also more digits than a binary number holds, and invalid readings.
fn reading() -> impl Strategy<Value = Reading> {
    let valid = |mantissa, scale| Reading::Valid(Decimal::new(mantissa, scale));
    prop_oneof![
        4 => (-4000..=4000_i64).prop_map(move |mantissa| valid(mantissa, 1)),
        2 => (0..=40_000_000_i64, 5..9_u8).prop_map(move |(mantissa, scale)| valid(mantissa, scale)),
        1 => (-400_000_000_000_000_000..=400_000_000_000_000_000_i64)
            .prop_map(move |mantissa| valid(mantissa, 15)),
        1 => prop_oneof![
            Just(Reading::Invalid(Invalid::Blank)),
            Just(Reading::Invalid(Invalid::NotANumber)),
            Just(Reading::Invalid(Invalid::OutOfRange)),
        ],
    ]
}

fn samples() -> impl Strategy<Value = Vec<Sample>> {
    let readings = [reading(), reading(), reading(), reading()];
    let word = prop_oneof![Just(""), Just("whole milk"), Just("Rahm 30 %"), Just("=1+1")];
    vec((0..4_usize, readings, option::of(any::<bool>()), word), 1..30)
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 64,
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    #[test]
    fn a_record_comes_back_the_same(
        samples in samples(),
        kind in (0..2_usize, 0..5_usize, 0..5_usize, any::<bool>(), any::<bool>()),
    ) {
        let record = record(&samples, kind);
        let frame = good(record_frame(&record));
        assert_same(&good(back(&frame)), &record);
    }
}

fn plain(valve: ValveState, temperature: i64, differential: i64) -> Sample {
    let valve = ValveState::ALL.into_iter().position(|other| other == valve).unwrap_or_default();
    let tenths = |mantissa| Reading::Valid(Decimal::new(mantissa, 1));
    let readings = [tenths(temperature), tenths(differential), tenths(0), tenths(0)];
    (valve, readings, None, "")
}

const FAHRENHEIT_PSI: Kind = (0, 0, 0, false, false);

/// A minute of safe forward flow with a dip of temperature, a dip of both, and a blank reading.
fn troubled() -> RunRecord {
    let mut samples = vec![plain(ValveState::Forward, 1625, 30); 60];
    samples[10..13].fill(plain(ValveState::Forward, 1608, 30));
    samples[30..34].fill(plain(ValveState::Forward, 1605, 15));
    samples[50].1[0] = Reading::Invalid(Invalid::Blank);
    record(&samples, FAHRENHEIT_PSI)
}

fn troubled_case(observed: Vec<Observation>) -> Case {
    // A plant that says what it makes; without one the strictest limit would hold.
    let file = plant::PlantFile { name: "made-up.toml".to_owned(), sha256: [0; 32] };
    let plant = Plant { file: Some(file), ..Plant::assumed() };
    Case::new(troubled(), plant, observed, Vec::new())
}

fn cell(frame: &DataFrame, column: &str, row: usize) -> String {
    let value = frame.column(column).and_then(|column| column.get(row).map(|any| any.to_string()));
    match value {
        Ok(value) => value.trim_matches('"').to_owned(),
        Err(error) => panic!("{error}"),
    }
}

fn milliseconds(frame: &DataFrame, column: &str, row: usize) -> Option<i64> {
    let column = frame.column(column).ok()?;
    column.datetime().ok()?.physical().get(row)
}

#[test]
fn a_record_frame_is_what_an_analyst_expects() {
    let frame = good(record_frame(&troubled()));
    let names: Vec<&str> = frame.columns().iter().map(|column| column.name().as_str()).collect();
    assert_eq!(
        names,
        [
            "unit",
            "instant",
            "valve",
            "holding_temperature_degf",
            "holding_temperature_invalid",
            "differential_pressure_psi",
            "lot",
        ]
    );
    for (column, row, value) in [
        ("unit", 0, "HTST 1"),
        ("valve", 0, "forward"),
        ("holding_temperature_degf", 10, "160.8"),
        ("holding_temperature_degf", 50, "null"),
        ("holding_temperature_invalid", 50, "blank"),
        ("holding_temperature_invalid", 10, "null"),
        ("lot", 0, "null"),
    ] {
        assert_eq!(cell(&frame, column, row), value, "{column} {row}");
    }
    assert_eq!(frame.dtypes()[1].to_string(), "datetime[ms, UTC]");
    assert_eq!(milliseconds(&frame, "instant", 1), Some(1_700_000_000_999));
}

#[test]
fn exceptions_stand_in_rows_with_all_their_figures() {
    let case = troubled_case(Vec::new());
    let (frame, audit) = (good(table_frame(&case.exceptions_table())), case.audit());
    assert_eq!(frame.height(), audit.exceptions.len());
    let rules: Vec<&str> = audit.exceptions.iter().map(|exception| exception.rule.key()).collect();
    assert_eq!(rules, ["temperature", "differential", "temperature", "unverifiable"]);
    for (row, exception) in audit.exceptions.iter().enumerate() {
        assert_eq!(cell(&frame, "id", row), exception.id);
        assert_eq!(cell(&frame, "rule", row), exception.rule.key());
        let causes: Vec<&str> = exception.causes.iter().map(|cause| cause.key()).collect();
        assert_eq!(cell(&frame, "causes", row), causes.join("+"));
        assert_eq!(cell(&frame, "outside_production", row), "false");
        assert_eq!(cell(&frame, "cleaning", row), "null");
        let duration = exception.estimate.duration().milliseconds().to_string();
        assert_eq!(cell(&frame, "duration_ms", row), duration);
        let outer = exception.outer.duration().milliseconds().to_string();
        assert_eq!(cell(&frame, "outer_duration_ms", row), outer);
        assert_eq!(cell(&frame, "volume_basis", row), exception.volume.basis.key());
        assert_eq!(cell(&frame, "episode", row), exception.episode.to_string());
        for (column, instant) in [
            ("start", Some(exception.estimate.start())),
            ("end", Some(exception.estimate.end())),
            ("observed_start", Some(exception.observed.start())),
            ("observed_end", Some(exception.observed.end())),
            ("outer_start", Some(exception.outer.start())),
            ("outer_end", Some(exception.outer.end())),
            ("worst_at", exception.worst.map(|worst| worst.at)),
        ] {
            let expected = instant.map(Instant::unix_milliseconds);
            assert_eq!(milliseconds(&frame, column, row), expected, "{column} {row}");
        }
    }
    assert_eq!(cell(&frame, "worst_value", 0), "160.8");
    assert_eq!(cell(&frame, "worst_limit", 0), "161.0");
    assert_eq!(cell(&frame, "worst_unit", 0), "°F");
    assert_eq!(cell(&frame, "first_sample", 2), "30");
    assert_eq!(cell(&frame, "last_sample", 2), "33");
    assert_eq!(cell(&frame, "worst_value", 3), "null");
    assert_eq!(cell(&frame, "volume", 0), "null", "no flow meter, no nominal flow");
}

#[test]
fn observations_stand_in_rows_with_their_sentences() {
    let case = troubled_case(Vec::new());
    let (frame, audit) = (good(table_frame(&case.observations_table())), case.audit());
    assert_eq!(frame.height(), audit.observations.len());
    let names: Vec<&str> = frame.columns().iter().map(|column| column.name().as_str()).collect();
    let first = ["kind", "rank", "start", "end", "count", "file", "line", "message"];
    assert_eq!(names[..first.len()], first);
    let row = audit.observations.iter().position(|one| one.kind.key() == "begins_in_forward_flow");
    let Some(row) = row else { panic!("{:?}", audit.observations) };
    assert_eq!(cell(&frame, "rank", row), "note");
    assert_eq!(milliseconds(&frame, "start", row), Some(1_700_000_000_000));
    assert_eq!(cell(&frame, "file", row), "null");
    let sentence = "The record begins in forward flow; what came before it is not shown here.";
    assert_eq!(cell(&frame, "message", row), sentence);
}

#[test]
fn figures_of_observations_stand_in_columns_with_their_units() {
    let interval = troubled().interval();
    let kind = |key: &str| {
        let kinds = analysis::observations::KINDS;
        kinds.iter().find(|kind| kind.key() == key).copied().unwrap_or(kinds[0])
    };
    let degrees = |tenths| Value::Temperature(Decimal::new(tenths, 1), TemperatureUnit::Fahrenheit);
    let case = troubled_case(vec![
        Observation::over(kind("raw_too_warm"), interval, 2)
            .with("channel", Value::Word("raw milk temperature".to_owned()))
            .with("most", degrees(465))
            .with("limit", degrees(450)),
        Observation::over(kind("slow_travel"), interval, 1)
            .with("time", Value::Time(Duration::from_milliseconds(9000)))
            .with("limit", Value::Time(Duration::from_milliseconds(5000))),
        Observation::over(kind("missing_samples"), interval, 50).with("more", Value::Count(50)),
    ]);
    let rows = ["raw_too_warm", "slow_travel", "missing_samples"].map(|key| {
        let all = &case.audit().observations;
        let mut of_kind = (0..all.len()).filter(|&row| all[row].kind.key() == key);
        let row = of_kind.next().unwrap_or_default();
        assert_eq!(of_kind.next(), None, "{key}");
        row
    });
    let mut frame = good(table_frame(&case.observations_table()));
    let folder = tempfile::tempdir().unwrap_or_else(|error| panic!("{error}"));
    let path = folder.path().join("observations.parquet");
    good(write_parquet(&mut frame, &path));
    for frame in [frame, good(read_parquet(&path))] {
        for (column, cells) in [
            ("figure_channel", ["raw milk temperature", "null", "null"]),
            ("figure_most_degf", ["46.5", "null", "null"]),
            ("figure_limit_degf", ["45.0", "null", "null"]),
            ("figure_time_ms", ["null", "9000", "null"]),
            ("figure_limit_ms", ["null", "5000", "null"]),
            ("figure_more", ["null", "null", "50"]),
            // No kind of the three has it.
            ("figure_difference_degf", ["null", "null", "null"]),
        ] {
            for (row, text) in rows.into_iter().zip(cells) {
                assert_eq!(cell(&frame, column, row), text, "{column} {row}");
            }
        }
    }
}

fn folder() -> tempfile::TempDir {
    tempfile::tempdir().unwrap_or_else(|error| panic!("{error}"))
}

fn files(folder: &Path) -> Vec<String> {
    let Ok(entries) = std::fs::read_dir(folder) else { panic!("{}", folder.display()) };
    entries.flatten().map(|entry| entry.file_name().to_string_lossy().into_owned()).collect()
}

#[test]
fn parquet_keeps_every_cell() {
    let folder = folder();
    let path = folder.path().join("run.parquet");
    let long = Reading::Valid(Decimal::new(161_000_000_000_000_001, 15));
    let blank = Reading::Invalid(Invalid::Blank);
    let record = record(
        &[
            (3, [long, blank, long, long], Some(true), "whole milk"),
            (0, [blank, long, long, blank], None, ""),
        ],
        (1, 1, 1, true, true),
    );
    let mut frame = good(record_frame(&record));
    assert_eq!(cell(&frame, "holding_temperature_exact", 0), "161.000000000000001");
    good(write_parquet(&mut frame, &path));
    let read = good(read_parquet(&path));
    assert!(read.equals_missing(&frame));
    assert_eq!(read.dtypes(), frame.dtypes());
    assert_same(&good(back(&read)), &record);

    let mut exceptions = good(table_frame(&troubled_case(Vec::new()).exceptions_table()));
    good(write_parquet(&mut exceptions, &path));
    assert!(good(read_parquet(&path)).equals_missing(&exceptions), "the old file is replaced");
    assert_eq!(files(folder.path()), ["run.parquet"], "nothing is left over");
}

#[test]
fn a_file_that_cannot_be_written_leaves_nothing_behind() {
    let folder = folder();
    let mut frame = good(record_frame(&troubled()));
    let taken = folder.path().join("taken");
    assert!(std::fs::create_dir(&taken).is_ok());
    assert!(matches!(write_parquet(&mut frame, &taken), Err(Error::File { .. })));
    assert_eq!(files(folder.path()), ["taken"]);
    let nowhere = folder.path().join("no/such/run.parquet");
    assert!(matches!(write_parquet(&mut frame, &nowhere), Err(Error::File { .. })));
}

#[test]
fn a_damaged_file_is_an_error() {
    let folder = folder();
    let path = folder.path().join("run.parquet");
    assert!(matches!(read_parquet(&path), Err(Error::File { .. })), "no file");
    good(write_parquet(&mut good(record_frame(&troubled())), &path));
    let Ok(whole) = std::fs::read(&path) else { panic!("written") };
    for length in [0, 3, 4, 8, 100, whole.len() / 2, whole.len() - 1] {
        assert!(std::fs::write(&path, &whole[..length]).is_ok());
        assert!(matches!(read_parquet(&path), Err(Error::Parquet { .. })), "{length} bytes");
    }
}

#[test]
fn what_no_record_holds_is_refused_with_its_place() {
    let frame = good(record_frame(&troubled()));
    let without = |name: &str| frame.drop(name).unwrap_or_else(|error| panic!("{error}"));
    for (name, missing) in [
        ("instant", "instant"),
        ("valve", "valve"),
        ("unit", "unit"),
        ("holding_temperature_degf", "holding_temperature_…"),
        ("differential_pressure_psi", "differential_pressure_…"),
    ] {
        match back(&without(name)) {
            Err(Error::NoColumn { column }) => assert_eq!(column, missing),
            other => panic!("{name}: {other:?}"),
        }
    }
    let renamed = |from: &str, to: &str| {
        let mut frame = frame.clone();
        assert!(frame.rename(from, to.into()).is_ok());
        back(&frame).map(|_| ()).map_err(|error| error.to_string())
    };
    assert_eq!(
        renamed("holding_temperature_invalid", "flow_rate_lph"),
        Err("column flow_rate_lph: holds str, but should hold numbers (64-bit float)".to_owned())
    );
    let mut frame = without("valve");
    assert!(frame.rename("unit", "valve".into()).is_ok());
    assert!(frame.rename("lot", "unit".into()).is_ok());
    match back(&frame) {
        Err(error) => assert_eq!(
            error.to_string(),
            "column unit, row 1: should hold the name of a pasteurizer"
        ),
        Ok(_) => panic!("a nameless pasteurizer"),
    }
}

#[test]
fn a_reading_without_a_number_or_with_a_reason_is_invalid() {
    let frame = good(record_frame(&troubled()));
    let reading = |frame: &DataFrame, sample| match back(frame) {
        Ok(record) => record.holding_temperature().reading(sample),
        Err(error) => panic!("{error}"),
    };
    assert_eq!(reading(&frame, 10), Reading::Valid(Decimal::new(1608, 1)));
    let Ok(silent) = frame.drop("holding_temperature_invalid") else { panic!("a column less") };
    assert_eq!(reading(&silent, 50), Reading::Invalid(Invalid::Blank));

    // A number beside a reason is not trusted, nor is one that is not finite.
    let reasons = vec![Some("out of range"); frame.height()];
    let mut doubted = frame.clone();
    let column = Column::new("holding_temperature_invalid".into(), reasons);
    assert!(doubted.with_column(column).is_ok());
    assert_eq!(reading(&doubted, 10), Reading::Invalid(Invalid::OutOfRange));
    let mut infinite = silent.clone();
    let column = Column::new("holding_temperature_degf".into(), vec![f64::NAN; frame.height()]);
    assert!(infinite.with_column(column).is_ok());
    assert_eq!(reading(&infinite, 10), Reading::Invalid(Invalid::NotANumber));
    let mut beyond = silent.clone();
    let column = Column::new("holding_temperature_degf".into(), vec![401.0; frame.height()]);
    assert!(beyond.with_column(column).is_ok());
    assert_eq!(reading(&beyond, 10), Reading::Invalid(Invalid::OutOfRange));
}
