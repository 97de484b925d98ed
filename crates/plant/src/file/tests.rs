//! Plant files that can be used, and ones that can't.

use super::*;
use crate::cleaning::CleaningPlan;
use crate::limit::{PressureLimit, TemperatureLimit};
use crate::limits::Limits;
use crate::products::Products;
use crate::rows::row;
use crate::setting::Setting;
use trace::{PressureUnit, TemperatureUnit};

const HEAD: &str = "schema = 1\nplant = \"P\"\nunit = \"U\"\nzone = \"America/Chicago\"\n";

fn parse(rest: &str) -> Result<Plant, Error> {
    Plant::parse("plant.toml", &format!("{HEAD}{rest}"))
}

fn message(rest: &str) -> String {
    parse(rest).map_or_else(|error| error.to_string(), |_plant| "no error".to_owned())
}

#[test]
fn a_short_file_has_the_defaults_of_the_method() {
    let Ok(plant) = parse("") else { panic!("{}", message("")) };
    assert_eq!(plant.limits, Limits::default());
    assert_eq!(plant.products, Products::default());
    assert!(!plant.is_assumed());
}

#[test]
fn a_full_file() {
    let text = r#"
default_product = "Cream"
nominal_flow = "6000 L/h"
[files]
date_order = "day-first"
decimal_mark = ","
[columns]
time = "Stamp"
valve = { column = "FDD", forward = ["1"], divert = ["0"] }
holding_temperature = { column = "T1", unit = "degC", range = ["0", "109.5"] }
product = { column = "Product" }
[limits]
differential = "3 psi"
response = "500 ms"
gap = "2 s"
recorder_difference = "0.9 degF"
[[products]]
name = "Milk"
row = "us-milk-15s"
[[products]]
name = "cream"
temperature = "76.5 degC"
minimum_time = "15 s"
source = "letter of the authority"
factor = "0.9"
[[shifts]]
name = "night"
start = "22:00"
end = "06:00"
[tube]
test_flow = "6000 L/h"
test_time = "16.2 s"
"#;
    let Ok(plant) = parse(text) else { panic!("{}", message(text)) };
    assert_eq!(plant.products.default_product().name, "cream");
    assert_eq!(plant.limits.response_allowance.milliseconds(), 500);
    assert_eq!(
        plant.limits.differential,
        PressureLimit::Single(Decimal::whole(3), PressureUnit::Psi)
    );
    assert_eq!(
        plant.tube.as_ref().and_then(Tube::certificate).map(|test| test.test_time.milliseconds()),
        Some(16_200)
    );
    assert_eq!(plant.columns.roles[&Role::HoldingTemperature].unit.as_deref(), Some("degC"));
}

#[test]
fn the_settings_of_version_2() {
    let text = r#"
retention = "2 years"
retention_source = "letter of the authority"
[files]
clock = "standard"
[columns]
time = "Stamp"
timing_pump = { column = "Pump" }
[limits]
differential_at_all_times = true
frozen = "300 s"
repeated = "30 s"
diverted_hole = "20 s"
low_flow = "600 L/h"
[[products]]
name = "cultured"
row = "us-rich-15s"
cooled_exempt = true
[review]
within_working_days = 5
within_source = "the plant's food safety plan"
"#;
    let Ok(plant) = parse(text) else { panic!("{}", message(text)) };
    assert_eq!(plant.form.logger_clock, LoggerClock::Standard);
    assert_eq!(plant.columns.roles[&Role::TimingPump].column, "Pump");
    assert_eq!(plant.columns.switch_words.state("Running"), Some(true));
    assert_eq!(plant.columns.switch_words.state("stopped"), Some(false));
    let limits = &plant.limits;
    assert!(limits.differential_at_all_times);
    assert_eq!(limits.frozen_after(true).milliseconds(), 300_000);
    assert_eq!(limits.frozen_after(false).milliseconds(), 300_000);
    assert_eq!(limits.repeated_after.milliseconds(), 30_000);
    assert_eq!(limits.diverted_hole.milliseconds(), 20_000);
    assert_eq!(
        limits.set.iter().map(|setting| setting.key()).collect::<Vec<_>>(),
        [
            "limits.differential_at_all_times",
            "limits.frozen",
            "limits.repeated",
            "limits.diverted_hole",
            "limits.low_flow"
        ]
    );
    assert!(plant.products.default_product().cooled_exempt);
    assert_eq!(plant.review.within_working_days, 5);
    assert_eq!(
        plant.review.within_source.in_words(),
        "set by the plant, which cites: the plant's food safety plan"
    );
    let retention = plant.retention.as_ref();
    assert_eq!(retention.map(ToString::to_string).as_deref(), Some("2 years"));
    assert_eq!(
        retention.map(|retention| retention.source.in_words()).as_deref(),
        Some("set by the plant, which cites: letter of the authority")
    );
    let Ok(silent) = parse("") else { panic!("{}", message("")) };
    assert_eq!((silent.form.logger_clock, silent.retention), (LoggerClock::Local, None));
    assert_eq!(silent.review.within_working_days, 7);
    assert_eq!(
        silent.review.within_source.in_words(),
        "21 CFR 117.165(a)(4)(i) (built in; not verified)"
    );
}

/// Whose thermometer it is decides what is asked for.
#[test]
fn a_holding_temperature_of_the_recorder_asks_for_the_indicating_readings() {
    let parse = |text: &str| {
        let head = "schema = 1\nplant = \"p\"\nunit = \"u\"\nzone = \"UTC\"\n";
        Plant::parse("plant.toml", &format!("{head}{text}")).map_err(|error| error.to_string())
    };
    let asked = |text: &str| parse(text).map(|plant| plant.required.len());
    let recorder = "holding_temperature_is = \"recorder\"\n";
    assert_eq!(asked(""), Ok(0));
    assert_eq!(asked(recorder), Ok(1));
    assert_eq!(asked(&format!("{recorder}[completeness]\nlist = \"wisconsin\"\n")), Ok(11));
    let both =
        parse(&format!("{recorder}[columns]\nrecorder_temperature = {{ column = \"R\" }}\n"));
    assert!(both.is_err_and(|told| told.contains("leaves nothing for recorder_temperature to be")));
    let neither = parse("holding_temperature_is = \"middle\"\n");
    assert!(neither.is_err_and(|told| told.contains("is \"indicating\" or \"recorder\"")));
}

/// A thermometer that is bound as the recorder's as well would vouch for itself.
#[test]
fn a_column_in_two_roles_names_both() {
    for (text, position, parts) in [
        (
            "[columns]\ntime = \"t\"\nrecorder_temperature = { column = \"T1\" }\n\
                 holding_temperature = { column = \" t1\" }",
            ":8:34: columns.holding_temperature",
            ["\" t1\" is bound to recorder_temperature already (line 7)", "holding_temperature,"],
        ),
        (
            "[columns]\nvalve = { column = \"A\" }\nmode = { column = \"A\" }",
            ":7:19: columns.mode",
            ["\"A\" is bound to valve already (line 6)", "column of mode"],
        ),
        (
            "[columns]\nlot = { column = \"A\" }\nproduct = { column = \"A\" }",
            ":7:22: columns.product",
            ["bound to lot already (line 6)", "column of product"],
        ),
        (
            "[columns]\ntime = \"A\"\ntiming_pump = { column = \"A\" }",
            ":7:26: columns.timing_pump",
            ["bound to time already (line 6)", "column of timing_pump"],
        ),
        (
            "[columns]\ndate = \"A\"\ntime = \"A\"",
            ":7:8: columns.time",
            ["bound to date already (line 6)", "column of time"],
        ),
    ] {
        let message = message(text);
        assert!(message.starts_with(&format!("plant.toml{position}")), "{message}");
        for part in parts {
            assert!(message.contains(part), "{part}: {message}");
        }
    }
    assert!(message("[columns]\ntime = \" \"").contains("needs a column's name"));
}

/// A citation that looks like a built-in one is still the plant's.
#[test]
fn a_plants_own_citation_is_never_printed_as_if_the_code_said_so() {
    let text = "[limits]\ndifferential = \"3 psi\"\ndifferential_source = \"CFIA\"\n\
                    [[products]]\nname = \"a\"\ntemperature = \"165 degF\"\n\
                    minimum_time = \"15 s\"\nsource = \"21 CFR 1240.61(b)\"\n\
                    [[products]]\nname = \"b\"\nrow = \"us-milk-15s\"\n";
    let Ok(plant) = parse(text) else { panic!("{}", message(text)) };
    let words: Vec<String> =
        plant.products.iter().map(|product| product.source.in_words()).collect();
    assert_eq!(
        words,
        [
            "set by the plant, which cites: 21 CFR 1240.61(b)",
            "21 CFR 1240.61(b) (built in; text read)"
        ]
    );
    assert_eq!(
        plant.limits.source(Setting::Differential).in_words(),
        "set by the plant, which cites: CFIA"
    );
    let Ok(uncited) = parse("[limits]\ndifferential = \"2 psi\"") else { panic!("valid") };
    assert_eq!(uncited.limits.differential_source.in_words(), "set by the plant");
}

/// The old names said Canada where the law is Alberta's.
#[test]
fn a_key_of_an_earlier_version_is_told_its_new_name() {
    for (old, new) in [
        ("canada-milk-16s", "alberta-milk-16s"),
        ("canada-rich-16s", "alberta-rich-16s"),
        ("canada-mix-25s", "alberta-mix-25s"),
        ("canada-mix-16s", "alberta-eggnog-16s"),
    ] {
        let message = message(&format!("[[products]]\nname = \"a\"\nrow = \"{old}\""));
        assert!(message.contains(&format!("write row = \"{new}\"")), "{message}");
        assert!(row(new).is_some(), "{new}");
        assert!(row(old).is_none(), "{old}");
    }
}

#[test]
fn mistakes_say_where_and_what_to_do() {
    for (text, position, part) in [
        ("zoen = 1", ":5:1:", "zoen"),
        ("[limits]\ndiferential = \"2 psi\"", ":6:1:", "diferential"),
        ("[limits]\ndifferential = \"2 furlongs\"", ":6:16:", "no unit"),
        ("[limits]\ndifferential = 2", ":6:16:", "write a text in quotes"),
        ("default_product = \"x\"", ":5:19:", "names no product"),
        ("[[products]]\nname = \"a\"\nrow = \"b\"", ":7:7:", "the rows are us-milk-15s"),
        ("[[products]]\nname = \"a\"", ":6:8:", "needs either a row"),
        (
            "[columns]\nflow_rate = { column = \"F\", unit = \"psi\" }",
            ":6:36:",
            "no unit for this role",
        ),
        ("[columns]\nflow_rate = { column = \"F\", uint = \"psi\" }", ":6:29:", "uint"),
        ("[[shifts]]\nname = \"a\"\nstart = \"6\"\nend = \"14:00\"", ":7:9:", "time of day"),
        ("[tube]\nlength = \"15 m\"", ":5:1:", "go together"),
        ("[tube]\ntest_flow = \"1 gal/min\"\ntest_time = \"0 s\"", ":7:13:", "above 0"),
        ("= 3", ":5:1:", ""),
        ("[files]\nclock = \"winter\"", ":6:9:", "\"standard\" for a logger"),
        ("[limits]\ndifferential_source = \"x\"", ":6:23:", "needs the differential"),
        ("[limits]\nrepeated = \"-1 s\"", ":6:12:", "must not be negative"),
        ("[limits]\ngap = \"NaN s\"", ":6:7:", "is not a number"),
        ("[limits]\ngap = \"0.0015 s\"", ":6:7:", "finer than a millisecond"),
        ("[limits]\nlow_flow = \"0 L/h\"", ":6:12:", "above 0"),
        ("[limits]\nrecorder_difference = \"-1 degF\"", ":6:23:", "must not be negative"),
        ("[limits]\ndifferential = \"2.0000000001 psi\"", ":6:16:", "nine digits"),
        (
            "[columns]\nflow_rate = { column = \"F\", range = [\"0\", \"9\"] }",
            ":6:38:",
            "needs the unit",
        ),
        ("[review]\nwithin_working_days = 0", ":6:23:", "from 1 to 365"),
        ("[review]\nwithin_source = \"x\"", ":6:17:", "needs within_working_days"),
        ("retention = \"2 years\"", ":5:13:", "needs a retention_source"),
        ("retention_source = \"x\"", ":5:20:", "needs a retention"),
        ("retention = \"0 years\"\nretention_source = \"x\"", ":5:13:", "whole number"),
        ("retention = \"2 moons\"\nretention_source = \"x\"", ":5:13:", "whole number"),
        (
            "[tube]\ntest_flow = \"1 gal/min\"\ntest_time = \"1 s\"\ntested_on = \"June\"",
            ":8:13:",
            "is a date",
        ),
        (
            "[accepted]\nby = \"A\"\ndocument = \" \"\ndate = \"2026-01-05\"",
            ":7:12:",
            "needs the document",
        ),
        (
            "[accepted]\nby = \"\"\ndocument = \"D\"\ndate = \"2026-01-05\"",
            ":6:6:",
            "needs the name",
        ),
        ("[accepted]\nby = \"A\"\ndocument = \"D\"\ndate = \"5 Jan\"", ":8:8:", "is a date"),
        ("[accepted]\nby = \"A\"\ndocument = \"D\"", ":5:1:", "date"),
    ] {
        let message = message(text);
        assert!(message.starts_with("plant.toml:"), "{message}");
        assert!(message.contains(position), "{text}: {message}");
        assert!(message.contains(part), "{text}: {message}");
    }
    let zone = Plant::parse("p", "schema = 1\nplant = \"P\"\nunit = \"U\"\nzone = \"Mars\"");
    assert!(zone.is_err_and(|error| error.to_string().contains("p:4:8: zone")));
    let schema = Plant::parse("p", "schema = 2\nplant = \"P\"\nunit = \"U\"\nzone = \"UTC\"");
    assert!(schema.is_err_and(|error| error.to_string().contains("schema 1")));
}

#[test]
fn a_logger_of_changes_says_how_long_they_hold() {
    let files = |keys: &str| parse(&format!("[files]\n{keys}"));
    let text = "logging = \"on change\"\nlongest_hold = \"10 min\"\nstep = \"500 ms\"\n";
    let how = files(text).ok().and_then(|plant| plant.form.on_change);
    let how = how.map(|how| (how.longest_hold.milliseconds(), how.step.milliseconds()));
    assert_eq!(how, Some((600_000, 500)));
    for (from, to, part) in [
        (
            "logging = \"on change\"\n",
            "",
            "files.longest_hold: needs logging = \"on change\" beside it",
        ),
        ("on change", "changes", "files.logging: is \"on change\", or left out"),
        ("longest_hold = \"10 min\"\n", "", "files.longest_hold: says how long a reading holds"),
        ("step = \"500 ms\"\n", "", "files.step: says how often the logger looks"),
        ("10 min", "2 h", "files.longest_hold: is at most 1 h"),
        ("500 ms", "50 ms", "files.step: is at least 100 ms"),
        ("500 ms", "11 min", "files.step: is at least 100 ms, and no longer than longest_hold"),
        ("500 ms", "1", "is no unit of time"),
    ] {
        let told = files(&text.replace(from, to)).err().map(|error| error.to_string());
        assert!(told.as_ref().is_some_and(|told| told.contains(part)), "{to}: {told:?}");
    }
}

/// Their length would be multiplied with that of a record.
#[test]
fn texts_and_lists_that_no_plant_needs_are_refused() {
    let head = "schema = 1\nplant = \"P\"\nunit = \"U\"\nzone = \"UTC\"\n";
    let told = |text: &str| match Plant::parse("plant.toml", &format!("{head}{text}")) {
        Ok(_) => String::new(),
        Err(error) => error.to_string(),
    };
    let long = |length: usize| format!("recorder = \"{}\"\n", "r".repeat(length));
    assert_eq!(told(&long(500)), "");
    assert_eq!(told(&long(501)), "plant.toml:5:12: recorder: is a text of at most 500 characters");
    let shifts = |count: usize| {
        "[[shifts]]\nname = \"S\"\nstart = \"06:00\"\nend = \"14:00\"\n".repeat(count)
    };
    assert_eq!(told(&shifts(100)), "");
    assert!(told(&shifts(101)).contains("shifts: is a list of at most 100, and has 101"));
    let words = vec!["\"w\""; 101].join(", ");
    let valve = format!("[columns]\nvalve = {{ column = \"V\", forward = [{words}] }}\n");
    assert!(told(&valve).contains("forward: is a list of at most 100"), "{}", told(&valve));
}

#[test]
fn ten_thousand_products_are_found_by_their_names() {
    let head = "schema = 1\nplant = \"P\"\nunit = \"U\"\nzone = \"UTC\"\n";
    let products: String = (0..10_000)
        .map(|one| format!("[[products]]\nname = \"P{one}\"\nrow = \"us-milk-15s\"\n"))
        .collect();
    let plant = Plant::parse("plant.toml", &format!("{head}{products}"))
        .unwrap_or_else(|error| panic!("{error}"));
    for one in [0, 1, 5000, 9999] {
        let found = plant.products.find(&format!(" p{one} "));
        assert_eq!(found.map(|product| product.name.clone()), Some(format!("P{one}")));
    }
    assert_eq!(plant.products.find("P10000"), None);
    // Asked for again, it is the same one: not made anew for every sample.
    let unknown = |unit| plant.products.unknown(unit);
    assert!(std::ptr::eq(unknown(TemperatureUnit::Celsius), unknown(TemperatureUnit::Celsius)));
}

/// The examples of the page on file formats.
#[test]
fn the_examples_of_the_page_are_plant_files() {
    let page = include_str!("../../../../docs/file-formats.md");
    let examples: Vec<&str> =
        page.split("```toml\n").skip(1).filter_map(|rest| rest.split("```").next()).collect();
    assert!(examples.len() >= 3, "{}", examples.len());
    for example in examples {
        let plant = if example.contains("schema") {
            Plant::parse("plant.toml", example)
        } else {
            parse(example)
        };
        let loggers = plant.map(|plant| plant.loggers.len());
        let expected = if example.contains("[[loggers]]") { 2 } else { 0 };
        assert!(matches!(loggers, Ok(loggers) if loggers == expected), "{loggers:?}");
    }
}

#[test]
fn amounts_may_differ_by_three_percent_unless_the_plant_says_otherwise() {
    let limit = |text: &str| parse(text).map(|plant| plant.amount_limit()).ok();
    assert_eq!(limit(""), Some(Decimal::whole(3)));
    assert_eq!(limit("[amounts]\ntolerance = \"0.5 %\"\n"), Some(Decimal::new(5, 1)));
    for text in ["0 %", "3", "3 gal"] {
        let told = message(&format!("[amounts]\ntolerance = \"{text}\"\n"));
        assert!(told.contains("amounts.tolerance: is a figure above 0 in %"), "{told}");
    }
}

#[test]
fn nothing_is_asked_of_cleanings_that_is_not_set() {
    let plan = |text: &str| parse(text).map(|plant| plant.cleaning).ok();
    assert_eq!(plan(""), Some(CleaningPlan::default()));
    assert_eq!(
        plan(
            "[cleaning]\ntemperature = \"71 degC\"\nminimum_time = \"20 min\"\n\
             longest_production_run = \"10 h\"\n"
        ),
        Some(CleaningPlan {
            temperature: Some(TemperatureLimit::Single(
                Decimal::whole(71),
                TemperatureUnit::Celsius
            )),
            minimum_time: Some(Duration::from_seconds(1200)),
            longest_production_run: Some(Duration::from_seconds(36_000)),
        })
    );
    for (text, part) in [
        ("minimum_time = \"20 min\"", "cleaning.minimum_time: needs the temperature beside it"),
        ("temperature = \"20 min\"", "cleaning.temperature: \"min\" is no unit here"),
        ("longest_production_run = \"0 h\"", "cleaning.longest_production_run: must be above 0"),
        ("longest_production_run = \"10\"", "is no unit of time"),
        ("longest = \"10 h\"", "is not a key here; the keys are "),
    ] {
        let told = message(&format!("[cleaning]\n{text}\n"));
        assert!(told.contains(part), "{text}: {told}");
    }
}

#[test]
fn the_columns_of_a_stamp_go_together() {
    let since = "since_start = { column = \"E\", unit = \"s\", start = \"Start\" }\n";
    for (text, part) in [
        (format!("[columns]\n{since}"), "no error"),
        (
            format!("[columns]\ntime = \"T\"\n{since}"),
            "columns.since_start: the time since the start is the",
        ),
        (
            format!("[columns]\n{}", since.replace("\"s\"", "\"d\"")),
            "the unit is h, min, s, ms or us",
        ),
        (format!("[columns]\n{}", since.replace("Start", " ")), "start says how the line"),
        (
            "[columns]\nyear = \"Y\"\ntime = \"T\"".to_owned(),
            "columns.year: year and day_of_year go together",
        ),
        (
            "[columns]\nyear = \"Y\"\nday_of_year = \"D\"\ndate = \"A\"\ntime = \"T\"".to_owned(),
            "columns.date: year and day_of_year are the date",
        ),
        (
            "[columns]\nyear = \"Y\"\nday_of_year = \"D\"".to_owned(),
            "columns.time: needs the column of the time beside it",
        ),
        (
            "[columns]\ntime = \"T\"\nfraction = { column = \"F\", unit = \"h\" }".to_owned(),
            "columns.fraction: the unit is s, ms or us",
        ),
        (
            "[columns]\ntime = \"T\"\nfraction = { column = \"T\", unit = \"ms\" }".to_owned(),
            "is bound to time already",
        ),
        ("[files]\nday_numbers = \"1970\"".to_owned(), "files.day_numbers: is the year from which"),
        ("[files]\ntimes = \"h:m\"".to_owned(), "files.times: is \"unpadded\" for times"),
    ] {
        let told = message(&text);
        assert!(told.contains(part), "{text}: {told}");
    }
}

/// Every place with everything that does not belong there: no message speaks of a program's types.
#[test]
fn a_wrong_type_is_told_in_the_words_of_the_file() {
    let places = [
        "default_product = @",
        "nominal_flow = @",
        "recorder = @",
        "files = @",
        "[files]\ndecimal_mark = @",
        "columns = @",
        "[columns]\ntime = @",
        "[columns]\nvalve = @",
        "[columns]\nvalve = { column = @ }",
        "[columns]\nvalve = { column = \"V\", forward = @ }",
        "[columns]\nholding_temperature = { column = \"T\", range = @ }",
        "limits = @",
        "[limits]\ndifferential = @",
        "[limits]\ndifferential_at_all_times = @",
        "products = @",
        "[[products]]\nname = @",
        "shifts = @",
        "[[shifts]]\nname = \"early\"\nstart = @",
        "tube = @",
        "[tube]\ntest_time = @",
        "review = @",
        "[review]\ncauses = @",
        "[review]\nsame_person_may_approve = @",
        "[review]\nwithin_working_days = @",
        "accepted = @",
    ];
    let values = ["\"x\"", "7", "2.5", "true", "[1]", "[\"x\"]", "{ x = 1 }", "2026-01-02"];
    for place in places {
        for value in values {
            let text = message(&place.replace('@', value));
            for word in
                ["invalid", "expected", "struct", "Raw", "f64", "u32", "i64", "map", "sequence"]
            {
                assert!(!text.contains(word), "{place} {value}: {text}");
            }
        }
    }
}
