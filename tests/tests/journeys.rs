//! The program as it is used: `holdtrace audit` on the sample runs, in all formats, by file and by
//! pipe, alone and at the same time.

use serde_json::Value;
use std::collections::BTreeSet;
use std::fs::{self, File};
use std::io::Read as _;
use std::path::Path;
use std::process::{Command, Stdio};
use std::sync::LazyLock;
use tests::good;
use tests::program::{Told, program, root, run_with_input};

/// The folder that holds `sample-runs/`, with all sample runs in it.
fn place() -> &'static Path {
    static PLACE: LazyLock<&Path> = LazyLock::new(|| {
        let place = Path::new(env!("CARGO_TARGET_TMPDIR"));
        match simulate::write_sample_runs(place) {
            Ok(_) => place,
            Err(error) => panic!("{error}"),
        }
    });
    &PLACE
}

/// The program with these arguments, to be run beside `sample-runs/`.
fn command(arguments: &[&str]) -> Command {
    let mut command = tests::program::command(arguments);
    command.current_dir(place());
    command
}

fn run(arguments: &[&str]) -> Told {
    match command(arguments).output() {
        Ok(output) => output.into(),
        Err(error) => panic!("{}: {error}", program().display()),
    }
}

/// The sample runs, as given on a command line beside their folder.
fn days() -> Vec<String> {
    let mut days: Vec<String> = match fs::read_dir(place().join("sample-runs")) {
        Ok(entries) => entries
            .flatten()
            .map(|entry| format!("sample-runs/{}", entry.file_name().to_string_lossy()))
            .filter(|name| Path::new(name).extension().is_some_and(|ending| ending == "csv"))
            .collect(),
        Err(error) => panic!("sample-runs: {error}"),
    };
    days.sort();
    assert_eq!(days.len(), 7, "{days:?}");
    days
}

fn json(text: &str) -> Value {
    serde_json::from_str(text).unwrap_or_else(|error| panic!("{error}: {text}"))
}

fn audit_json(day: &str) -> Value {
    let told = run(&["audit", "--format", "json", day]);
    assert_eq!(told.complaint, "", "{day}");
    json(&told.output)
}

fn list(value: &Value) -> Vec<Value> {
    value.as_array().cloned().unwrap_or_else(|| panic!("a list, not {value}"))
}

fn text(value: &Value) -> String {
    value.as_str().map_or_else(|| panic!("a text, not {value}"), str::to_owned)
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("a number, not {value}"))
}

fn whole(value: &Value) -> i64 {
    value.as_i64().unwrap_or_else(|| panic!("a whole number, not {value}"))
}

/// An instant of the JSON in milliseconds.
fn instant(value: &Value) -> i64 {
    match chrono::DateTime::parse_from_rfc3339(&text(value)) {
        Ok(time) => time.timestamp_millis(),
        Err(error) => panic!("{value}: {error}"),
    }
}

fn ids(audit: &Value) -> BTreeSet<String> {
    list(&audit["exceptions"]).iter().map(|one| text(&one["id"])).collect()
}

fn name_of(day: &str) -> String {
    Path::new(day).file_stem().unwrap_or_default().to_string_lossy().into_owned()
}

fn truth(day: &str) -> Value {
    let path = place().join("sample-runs/truth").join(format!("{}.json", name_of(day)));
    match fs::read_to_string(&path) {
        Ok(text) => json(&text),
        Err(error) => panic!("{}: {error}", path.display()),
    }
}

#[test]
fn the_exit_status_says_whether_something_was_found() {
    for day in days() {
        let is_unsafe = !list(&truth(&day)["unsafe"]).is_empty();
        let observations = list(&audit_json(&day)["observations"]);
        let to_close = observations.iter().any(|one| one["rank"] == "close");
        for format in ["text", "json", "csv"] {
            let told = run(&["audit", "--format", format, &day]);
            let expected = i32::from(is_unsafe || to_close);
            assert_eq!(told.status, Some(expected), "{day} {format}");
            assert_eq!(told.complaint, "", "{day} {format}");
            assert!(told.output.ends_with('\n'), "{day} {format}");
        }
    }
}

#[test]
fn what_a_person_reads() {
    for day in days() {
        let told = run(&["audit", &day]);
        insta::assert_snapshot!(name_of(&day), told.output);
    }
}

const KEYS: [&str; 17] = [
    "accounting_ms",
    "assumptions",
    "caution",
    "cleanings",
    "diverts",
    "exceptions",
    "hold",
    "holes",
    "margins",
    "observations",
    "passed",
    "plant",
    "program",
    "record",
    "schema",
    "transitions",
    "verdict",
];

const EXCEPTION_KEYS: [&str; 28] = [
    "causes",
    "cleaning",
    "duration_ms",
    "end",
    "episode",
    "id",
    "lot",
    "lots",
    "mode",
    "observed_duration_ms",
    "observed_end",
    "observed_start",
    "outer_duration_ms",
    "outer_end",
    "outer_start",
    "outside_production",
    "positions",
    "product",
    "products",
    "rule",
    "shift",
    "shortfall",
    "start",
    "tanks",
    "unplaced",
    "volume",
    "within_response",
    "worst",
];

const OBSERVATION_KEYS: [&str; 9] =
    ["count", "end", "figures", "file", "kind", "line", "message", "rank", "start"];

#[test]
fn what_a_program_reads() {
    for day in days() {
        let audit = audit_json(&day);
        for key in KEYS {
            assert!(audit.get(key).is_some(), "{day}: {key}");
        }
        assert_eq!(audit["schema"], 2, "{day}");
        for one in list(&audit["observations"]) {
            for key in OBSERVATION_KEYS {
                assert!(one.get(key).is_some(), "{day}: {key} of {one}");
            }
            assert!(!text(&one["message"]).contains(['{', '}']), "{day}: {one}");
        }
        let record = &audit["record"];
        let (from, to) = (instant(&record["start"]), instant(&record["end"]));
        let classes = audit["accounting_ms"].as_object().cloned().unwrap_or_default();
        let sum: i64 = classes
            .iter()
            .filter(|(class, _)| *class != "total")
            .map(|(_, time)| whole(time))
            .sum();
        assert_eq!(sum, to - from, "{day}: the classes add up");
        assert_eq!(whole(&classes["total"]), sum, "{day}");

        let exceptions = list(&audit["exceptions"]);
        assert_eq!(ids(&audit).len(), exceptions.len(), "{day}: ids are distinct");
        for one in &exceptions {
            for key in EXCEPTION_KEYS {
                assert!(one.get(key).is_some(), "{day}: {key} of {one}");
            }
            let at = |key: &str| instant(&one[key]);
            let bounds = [
                from,
                at("outer_start"),
                at("start"),
                at("observed_start"),
                at("observed_end"),
                at("end"),
                at("outer_end"),
                to,
            ];
            assert!(bounds.is_sorted(), "{day}: {one}");
            assert_eq!(whole(&one["duration_ms"]), at("end") - at("start"), "{day}");
            let observed = at("observed_end") - at("observed_start");
            assert_eq!(whole(&one["observed_duration_ms"]), observed, "{day}");
            let outer = at("outer_end") - at("outer_start");
            assert_eq!(whole(&one["outer_duration_ms"]), outer, "{day}");
            if !one["worst"].is_null() {
                assert!(number(&one["worst"]["value"]) < number(&one["worst"]["limit"]), "{one}");
            }
        }
        for file in list(&record["files"]) {
            let bytes = fs::read(place().join(text(&file["name"]))).unwrap_or_default();
            assert_eq!(whole(&file["bytes"]), bytes.len() as i64, "{day}");
        }
    }
}

/// Each true interval is found in what the program prints, and each printed exception is true.
#[test]
fn the_program_tells_the_truth() {
    for day in days() {
        let audit = audit_json(&day);
        let step = whole(&audit["record"]["sampling_interval_ms"]);
        let found = list(&audit["exceptions"]);
        let real = list(&truth(&day)["unsafe"]);
        for one in &real {
            let (rule, from) = (&one["rule"], whole(&one["start_unix_ms"]));
            let to = whole(&one["end_unix_ms"]);
            let mut covered = from;
            for exception in found.iter().filter(|exception| exception["rule"] == *rule) {
                if instant(&exception["outer_start"]) <= covered {
                    covered = covered.max(instant(&exception["outer_end"]));
                }
            }
            assert!(covered >= to, "{day}: {one} is found up to {covered} only");
        }
        for exception in &found {
            let near = real.iter().any(|one| {
                one["rule"] == exception["rule"]
                    && instant(&exception["observed_start"]) >= whole(&one["start_unix_ms"]) - step
                    && instant(&exception["observed_start"]) <= whole(&one["end_unix_ms"]) + step
            });
            assert!(near, "{day}: {exception} is not in the truth");
        }
    }
}

#[test]
fn the_three_formats_tell_the_same_exceptions() {
    for day in days() {
        let ids = ids(&audit_json(&day));
        let for_a_person = run(&["audit", &day]).output;
        let for_a_spreadsheet = run(&["audit", "--format", "csv", &day]).output;
        let rows: BTreeSet<String> = for_a_spreadsheet
            .split_terminator("\r\n")
            .skip(1)
            .filter_map(|line| line.split(',').next())
            .map(str::to_owned)
            .collect();
        assert_eq!(rows, ids, "{day}");
        // Those of a cleaning are one line for a person.
        let in_production = list(&audit_json(&day)["exceptions"])
            .into_iter()
            .filter(|one| one["outside_production"] == false);
        for one in in_production {
            assert!(for_a_person.contains(&text(&one["id"])), "{day}: {one}");
        }
    }
}

#[test]
fn all_days_at_once_are_one_record_with_the_same_exceptions() {
    let days = days();
    let mut arguments = vec!["audit", "--format", "json"];
    arguments.extend(days.iter().map(String::as_str));
    let together = json(&run(&arguments).output);
    let alone: BTreeSet<String> = days.iter().flat_map(|day| ids(&audit_json(day))).collect();
    assert!(alone.len() >= 6, "{alone:?}");
    assert!(alone.is_subset(&ids(&together)), "an exception has one id wherever it is found");
    // The holes between the days are told as well: they are longer than the device may be unseen.
    let of_time = [serde_json::json!(["gap"]), serde_json::json!(["gap_diverted"])];
    let between = list(&together["exceptions"])
        .into_iter()
        .filter(|one| !alone.contains(&text(&one["id"])))
        .inspect(|one| assert!(of_time.contains(&one["causes"]), "{one}"));
    assert_eq!(between.count(), days.len() - 1);
    // In any order.
    let mut backwards = vec!["audit", "--format", "json"];
    backwards.extend(days.iter().rev().map(String::as_str));
    let mut backwards = json(&run(&backwards).output);
    backwards["record"]["files"] = together["record"]["files"].clone();
    for key in ["exceptions", "accounting_ms", "transitions", "margins", "record"] {
        assert_eq!(backwards[key], together[key], "{key}");
    }
}

#[test]
fn standard_input_is_a_file() {
    let day = &days()[1];
    let bytes = fs::read(place().join(day)).unwrap_or_default();
    let arguments = ["audit", "--format", "json", "--plant", "sample-runs/plant.toml"];
    let by_name = run(&[arguments.as_slice(), &[day]].concat());
    let by_pipe = run_with_input(&[arguments.as_slice(), &["-"]].concat(), &bytes);
    assert_eq!(by_pipe.status, by_name.status);
    assert_eq!(by_pipe.output.replace("\"-\"", &format!("{day:?}")), by_name.output);
}

#[test]
fn output_goes_to_a_file_whole() {
    let folder = good(tempfile::tempdir());
    let day = &days()[1];
    let path = folder.path().join("audit.json");
    fs::write(&path, "an older report").unwrap_or_default();
    let name = path.to_string_lossy().into_owned();
    let told = run(&["audit", "--format", "json", "--output", &name, day]);
    assert_eq!((told.status, told.output.as_str()), (Some(1), ""), "{}", told.complaint);
    let written = fs::read_to_string(&path).unwrap_or_default();
    assert_eq!(written, run(&["audit", "--format", "json", day]).output);
    let left: Vec<_> = fs::read_dir(folder.path()).into_iter().flatten().flatten().collect();
    assert_eq!(left.len(), 1, "nothing but the report: {left:?}");
}

#[test]
fn a_reader_that_goes_away_is_no_accident() {
    let child =
        command(&["audit", &days()[0]]).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn();
    let mut child = good(child);
    drop(child.stdout.take());
    let mut complaint = String::new();
    if let Some(mut pipe) = child.stderr.take() {
        assert!(pipe.read_to_string(&mut complaint).is_ok());
    }
    let status = child.wait().ok().and_then(|status| status.code());
    assert_eq!((status, complaint.as_str()), (Some(0), ""));
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_is_told() {
    let full = File::options()
        .write(true)
        .open("/dev/full")
        .unwrap_or_else(|error| panic!("/dev/full: {error}"));
    let told: Told = match command(&["audit", &days()[0]]).stdout(full).output() {
        Ok(output) => output.into(),
        Err(error) => panic!("{error}"),
    };
    assert_eq!(told.status, Some(2), "{}", told.complaint);
    assert!(told.complaint.contains("can't be written"), "{}", told.complaint);
}

/// Bit for bit the same with one processor or all, many at once, in any locale and time zone.
#[test]
fn the_same_bytes_wherever_it_runs() {
    let day = days()[3].clone();
    let alone = run(&["audit", "--format", "json", &day]);
    assert_eq!(alone.status, Some(1));
    std::thread::scope(|scope| {
        for runner in 0..6 {
            let (day, alone) = (&day, &alone);
            scope.spawn(move || {
                let arguments = ["audit", "--format", "json", day.as_str()];
                let mut command = if runner % 2 == 0 || !cfg!(target_os = "linux") {
                    command(&arguments)
                } else {
                    // taskset is part of util-linux.
                    let mut command = Command::new("taskset");
                    command.args(["-c", "0"]).arg(program()).args(arguments).current_dir(place());
                    command
                };
                command.env("TZ", "Asia/Tokyo").env("LANG", "de_DE.UTF-8").env("LC_ALL", "C");
                match command.output() {
                    Ok(output) => assert_eq!(&Told::from(output), alone, "runner {runner}"),
                    Err(error) => panic!("runner {runner}: {error}"),
                }
            });
        }
    });
}

#[test]
fn without_a_display_the_same_audit_comes_as_text() {
    let day = &days()[1];
    let (told, audit) = (run(&[day]), run(&["audit", day]));
    assert_eq!(told.status, audit.status, "{}", told.complaint);
    assert_eq!(told.output, audit.output + "\n");
    assert!(told.complaint.contains("no display"), "{}", told.complaint);
    let nothing = run(&[]);
    assert_eq!(nothing.status, Some(2), "the demo is opened only when asked for");
    assert!(nothing.complaint.contains("name a logger file"), "{}", nothing.complaint);
}

#[test]
fn help_and_mistakes_on_the_command_line() {
    let help = run(&["--help"]);
    assert_eq!(help.status, Some(0));
    assert!(help.output.contains("audit"), "{}", help.output);
    let help = run(&["audit", "--help"]);
    assert_eq!(help.status, Some(0));
    for word in ["--plant", "--format", "--output", "standard input"] {
        assert!(help.output.contains(word), "{word}: {}", help.output);
    }
    for arguments in
        [&["audit"][..], &["audit", "--colour", "x"], &["audit", "--format", "xml", "x.csv"]]
    {
        let told = run(arguments);
        assert_eq!((told.status, told.output.as_str()), (Some(2), ""), "{arguments:?}");
        assert!(told.complaint.contains("error"), "{}", told.complaint);
    }
}

/// A second opinion in Python, from the CSV alone: the same runs of forward and short samples.
#[test]
fn a_second_opinion() {
    let folder = good(tempfile::tempdir());
    let mut compared = 0;
    for day in days() {
        let audit = folder.path().join("audit.json");
        fs::write(&audit, run(&["audit", "--format", "json", &day]).output).unwrap_or_default();
        let opinion = Command::new("python3")
            .arg(root().join("tests/second_opinion.py"))
            .arg(place().join(&day))
            .arg(place().join("sample-runs/plant.toml"))
            .arg(&audit)
            .output();
        let opinion: Told = match opinion {
            Ok(output) => output.into(),
            Err(error) => panic!("python3 is needed (scripts/install-debian.sh): {error}"),
        };
        assert_eq!(opinion.status, Some(0), "{day}: {}{}", opinion.output, opinion.complaint);
        compared += opinion.output.trim().parse::<usize>().unwrap_or_default();
    }
    assert!(compared >= 5, "only {compared} runs compared");
}
