//! The observations as a table: every figure that the JSON gives stands in its column of the CSV, and
//! every day in the same units has the same columns, on the sample runs and on the days of
//! `simulate::proof`.

use serde_json::{Map, Value};
use simulate::proof::{Must, proof_days};
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};
use tests::good;
use tests::place::{Place, reversed_twice};
use tests::program::run;

type Row = BTreeMap<String, String>;

/// The sample runs, and the days of proof that can be audited, written into `folder`.
fn days(folder: &Path) -> Vec<PathBuf> {
    let samples = good(simulate::write_sample_runs(folder));
    let mut days: Vec<PathBuf> = good(fs::read_dir(samples))
        .flatten()
        .map(|entry| entry.path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "csv"))
        .collect();
    days.sort();
    for day in good(proof_days()) {
        if matches!(day.must, Must::Refuse(_)) {
            continue;
        }
        let folder = folder.join(day.name);
        good(fs::create_dir(&folder));
        for file in &day.files {
            good(fs::write(folder.join(file.name), &file.text));
        }
        days.push(folder.join(day.files[0].name));
    }
    assert!(days.len() > 30, "{days:?}");
    days
}

fn csv(day: &str) -> (Vec<String>, Vec<Row>) {
    let told = run(&["audit", "--format", "csv", "--rows", "observations", day]);
    assert_eq!(told.complaint, "", "{day}");
    let mut reader = csv::Reader::from_reader(told.output.as_bytes());
    let header: Vec<String> = good(reader.headers()).iter().map(str::to_owned).collect();
    let rows = reader.deserialize().map(good).collect();
    (header, rows)
}

fn object(value: &Value) -> &Map<String, Value> {
    value.as_object().unwrap_or_else(|| panic!("an object, not {value}"))
}

fn text(value: &Value) -> String {
    match value {
        Value::Null => String::new(),
        Value::String(text) => text.clone(),
        other => other.to_string(),
    }
}

/// What CSV makes of a text that a spreadsheet could take for a formula.
fn harmless(text: String) -> String {
    if text.starts_with(['=', '+', '-', '@']) { format!("'{text}") } else { text }
}

/// The columns in which a figure of the JSON may stand, and what it says there.
fn expected(name: &str, figure: &Map<String, Value>) -> Vec<(Vec<String>, String)> {
    let column = |ending: &str| vec![format!("figure_{name}{ending}")];
    if let Some(words) = figure.get("text") {
        return vec![(column(""), harmless(text(words)))];
    }
    if let Some(instant) = figure.get("instant") {
        return vec![(column("_at"), text(instant))];
    }
    if let (Some(file), Some(line)) = (figure.get("file"), figure.get("line")) {
        return vec![(column("_file"), harmless(text(file))), (column("_line"), text(line))];
    }
    let value = text(&figure["value"]);
    let endings = match figure.get("unit").and_then(Value::as_str) {
        None => vec![String::new()],
        Some("ms") => vec!["_ms".to_owned()],
        Some("%") => vec!["_percent".to_owned()],
        Some("psi") => vec!["_psi".to_owned()],
        Some("kPa") => vec!["_kpa".to_owned()],
        Some("gal/min") => vec!["_gpm".to_owned()],
        Some("L/h") => vec!["_lph".to_owned()],
        Some("gal") => vec!["_gal".to_owned()],
        Some("L") => vec!["_l".to_owned()],
        Some(degrees @ ("°F" | "°C")) => {
            let word = if degrees == "°F" { "degf" } else { "degc" };
            vec![format!("_{word}"), format!("_difference_{word}")]
        }
        Some(other) => panic!("a unit that this test does not know: {other}"),
    };
    vec![(endings.iter().map(|ending| format!("figure_{name}{ending}")).collect(), value)]
}

fn says(cell: &str, wanted: &str) -> bool {
    let same = |(one, other): (f64, f64)| (one - other).abs() < 1e-9;
    cell == wanted || cell.parse().ok().zip(wanted.parse().ok()).is_some_and(same)
}

#[test]
fn every_figure_stands_in_its_column_on_every_day() {
    let folder = good(tempfile::tempdir());
    let mut columns: BTreeMap<String, (String, Vec<String>)> = BTreeMap::new();
    let mut seen = BTreeSet::new();
    for day in days(folder.path()) {
        let day = day.to_string_lossy().into_owned();
        let (header, rows) = csv(&day);
        let audit: Value =
            good(serde_json::from_str(&run(&["audit", "--format", "json", &day]).output));
        let observations = audit["observations"].as_array().cloned().unwrap_or_default();
        assert_eq!(rows.len(), observations.len(), "{day}");
        for (row, observation) in rows.iter().zip(&observations) {
            let mut left: BTreeSet<&str> = row
                .iter()
                .filter(|(name, cell)| name.starts_with("figure_") && !cell.is_empty())
                .map(|(name, _)| name.as_str())
                .collect();
            for name in ["kind", "rank", "start", "end", "count", "line"] {
                assert_eq!(row[name], text(&observation[name]), "{day} {name}");
            }
            assert_eq!(row["message"], harmless(text(&observation["message"])), "{day}");
            for (name, figure) in object(&observation["figures"]) {
                for (names, wanted) in expected(name, object(figure)) {
                    if wanted.is_empty() {
                        continue;
                    }
                    let found = names.iter().find(|name| left.contains(name.as_str()));
                    let Some(found) = found else { panic!("{day}: {names:?} in {row:?}") };
                    assert!(says(&row[found], &wanted), "{day}: {found}: {row:?}");
                    left.remove(found.as_str());
                    seen.insert(found.clone());
                }
            }
            assert!(left.is_empty(), "{day}: {left:?} are in no JSON: {observation}");
        }
        // A figure that its kind does not define would add a column.
        let has_unit =
            |name: &&String| name.starts_with("figure_limit_") || name.starts_with("figure_step_");
        let units: Vec<&str> = header.iter().filter(has_unit).map(String::as_str).collect();
        let (before, known) =
            columns.entry(units.join(" ")).or_insert_with(|| (day.clone(), header.clone()));
        let flow = |names: &[String]| {
            names
                .iter()
                .filter(|name| !name.ends_with("_gpm") && !name.ends_with("_lph"))
                .cloned()
                .collect::<Vec<_>>()
        };
        assert_eq!(flow(&header), flow(known), "{day} and {before}");
    }
    // Numbers, times, counts, words and places were there to be seen.
    for ending in ["degf", "psi", "ms", "count", "channel", "line"] {
        assert!(seen.iter().any(|name| name.ends_with(ending)), "{ending}: {seen:?}");
    }
}

#[test]
fn a_report_says_how_each_observation_was_closed() {
    let place = Place::with_signers();
    place.write("2026-03-14.csv", &reversed_twice());
    let rows = || -> Vec<Row> {
        let report = ["report", "2026-03-14.csv", "--format", "csv", "--rows", "observations"];
        let told = place.expect(0, &report);
        csv::Reader::from_reader(told.output.as_bytes()).deserialize().map(good).collect()
    };
    let before = rows();
    let open: Vec<_> = before.iter().filter(|row| row["standing"] == "open").collect();
    let [first, _] = open.as_slice() else { panic!("{before:?}") };
    let Some(note) = before.iter().find(|row| row["rank"] == "note") else { panic!("{before:?}") };
    assert_eq!((note["id"].as_str(), note["standing"].as_str()), ("", ""));
    let review = |command: &str, which: &[&str]| {
        let arguments = ["review", command, "2026-03-14.csv", "--by", "anna"];
        place.expect(0, &[&arguments[..], which].concat());
    };
    let words = ["--observation", &first["id"], "--reason", "valve freed", "--note", "=seen"];
    review("close", &words);
    review("acknowledge", &["--observation", &note["kind"], "--note", "recorder was serviced"]);
    let after = rows();
    assert_eq!(after.len(), before.len());
    for row in after {
        let is_closed = row["id"] == first["id"];
        let is_acknowledged = row["kind"] == note["kind"];
        let standing = match (row["rank"].as_str(), is_closed, is_acknowledged) {
            (_, true, _) => "closed",
            (_, _, true) => "acknowledged",
            ("close", ..) => "open",
            _ => "",
        };
        assert_eq!(row["standing"], standing, "{row:?}");
        assert_eq!(row["reason"], if is_closed { "valve freed" } else { "" });
        let words = match (is_closed, is_acknowledged) {
            (true, _) => "'=seen",
            (_, true) => "recorder was serviced",
            _ => "",
        };
        assert_eq!(row["note"], words);
        let by = if is_closed || is_acknowledged { "anna" } else { "" };
        assert_eq!(row["decided_by"], by);
        assert_eq!(row["decided_at"].is_empty(), by.is_empty());
    }
    let told = place.expect(1, &["review", "list", "2026-03-14.csv"]);
    assert!(told.output.contains("acknowledged by anna: recorder was serviced"), "{told:#?}");
    let told = place.expect(0, &["report", "2026-03-14.csv", "--format", "json"]);
    assert!(told.output.contains("\"note\": \"recorder was serviced\""), "{told:#?}");
}
