//! The arrows between the crates: who may know whom. A new arrow is a decision, so it fails here
//! until it is written down.

use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::process::Command;
use tests::modules::{circles, graph};

/// For each crate of the workspace the crates of the workspace that it may depend on.
const ARROWS: [(&str, &[&str]); 18] = [
    ("trace", &[]),
    ("disk", &[]),
    ("journal", &["trace", "disk"]),
    ("signers", &["trace", "disk", "plant", "journal"]),
    ("plant", &["trace", "disk"]),
    ("ingest", &["trace", "disk", "plant"]),
    ("setup", &["trace", "plant", "ingest"]),
    ("analysis", &["trace", "plant"]),
    ("case", &["trace", "plant", "ingest", "analysis"]),
    ("chart", &["trace", "plant", "analysis", "case"]),
    ("review", &["trace", "disk", "plant", "journal", "signers", "analysis", "case"]),
    ("daybook", &["trace", "plant", "journal", "signers", "analysis", "case", "review"]),
    (
        "archive",
        &[
            "trace", "disk", "plant", "journal", "signers", "ingest", "analysis", "case", "review",
            "daybook",
        ],
    ),
    ("paper", &["trace", "plant", "analysis", "case", "review", "daybook", "chart"]),
    ("tables", &["trace", "disk", "plant", "case"]),
    ("simulate", &["trace", "plant"]),
    (
        "desktop",
        &[
            "trace", "disk", "plant", "journal", "signers", "ingest", "setup", "analysis", "chart",
            "case", "review", "daybook", "archive", "paper",
        ],
    ),
    (
        "holdtrace",
        &[
            "trace", "disk", "plant", "journal", "signers", "ingest", "setup", "analysis", "chart",
            "case", "review", "daybook", "archive", "paper", "tables", "simulate", "desktop",
        ],
    ),
];

/// The crates for checks: but for tests nobody may depend on them, they may depend on all.
const CHECKS: [&str; 2] = ["tests", "bench"];

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// For each crate of the workspace the names of its normal dependencies.
fn dependencies() -> BTreeMap<String, BTreeSet<String>> {
    let output = Command::new(env!("CARGO"))
        .args(["metadata", "--no-deps", "--format-version", "1", "--offline"])
        .current_dir(root())
        .output();
    let output = match output {
        Ok(output) if output.status.success() => output.stdout,
        Ok(output) => panic!("cargo metadata: {}", String::from_utf8_lossy(&output.stderr)),
        Err(error) => panic!("cargo metadata: {error}"),
    };
    let metadata: Value = serde_json::from_slice(&output)
        .unwrap_or_else(|error| panic!("cargo metadata is JSON: {error}"));
    let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
    let list = |value: &Value| value.as_array().cloned().unwrap_or_default();
    let mut crates = BTreeMap::new();
    for package in list(&metadata["packages"]) {
        let normal = list(&package["dependencies"])
            .iter()
            .filter(|dependency| dependency["kind"].is_null())
            .map(|dependency| text(&dependency["name"]))
            .collect();
        crates.insert(text(&package["name"]), normal);
    }
    crates
}

#[test]
fn the_arrows_between_the_crates() {
    let crates = dependencies();
    let known: BTreeSet<&str> = ARROWS.iter().map(|(name, _)| *name).chain(CHECKS).collect();
    let found: BTreeSet<&str> = crates.keys().map(String::as_str).collect();
    assert_eq!(found, known, "each crate of the workspace has its arrows written down");
    for (name, allowed) in ARROWS {
        let allowed: BTreeSet<&str> = allowed.iter().copied().collect();
        let own: BTreeSet<&str> = crates[name]
            .iter()
            .map(String::as_str)
            .filter(|dependency| known.contains(dependency))
            .collect();
        let new: Vec<_> = own.difference(&allowed).collect();
        assert!(new.is_empty(), "{name} must not depend on {new:?}");
    }
}

#[test]
fn the_audit_knows_nothing_but_the_record_and_the_plant() {
    let crates = dependencies();
    // Digests (for the ids of exceptions) and powers that are the same on every machine are
    // arithmetic; nothing here reaches outside.
    let expected = ["libm", "plant", "sha2", "trace"];
    let expected: BTreeSet<String> = expected.map(str::to_owned).into();
    assert_eq!(crates["analysis"], expected, "crates/analysis is pure");
    assert!(crates["trace"].is_empty(), "crates/trace depends on nothing: {:?}", crates["trace"]);
}

fn sources(folder: &Path) -> Vec<(PathBuf, String)> {
    let mut sources = Vec::new();
    let entries =
        std::fs::read_dir(folder).unwrap_or_else(|error| panic!("{}: {error}", folder.display()));
    for entry in entries.flatten() {
        let path = entry.path();
        if path.is_dir() {
            sources.extend(self::sources(&path));
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            let text = std::fs::read_to_string(&path).unwrap_or_else(|error| {
                panic!("{}: {error}", path.display());
            });
            sources.push((path, text));
        }
    }
    sources
}

#[test]
fn the_pure_crates_touch_no_file_clock_thread_or_screen() {
    let forbidden = [
        "std::fs",
        "std::io",
        "std::net",
        "std::env",
        "std::process",
        "std::thread",
        "std::sync::atomic",
        "SystemTime",
        "time::Instant",
        "println!",
        "eprintln!",
        "HashMap",
        "HashSet",
        "thread_local!",
    ];
    for name in ["analysis", "trace", "chart", "daybook"] {
        let sources = sources(&root().join("crates").join(name).join("src"));
        assert!(!sources.is_empty(), "crates/{name} has sources");
        for (path, text) in sources {
            // Threads that end with the call can't be told from outside.
            let text = text.replace("std::thread::scope", "");
            for word in forbidden {
                assert!(!text.contains(word), "{} mentions {word}", path.display());
            }
        }
    }
}

#[test]
fn no_modules_know_each_other_in_a_circle() {
    for (name, _) in ARROWS {
        let graph = graph(&root().join("crates").join(name).join("src"));
        assert!(graph.len() > 1, "crates/{name} has modules");
        // Of the window two modules may work on one thing.
        let most = if name == "desktop" { 2 } else { 1 };
        let circle = circles(&graph).into_iter().find(|circle| circle.len() > most);
        assert_eq!(circle, None, "crates/{name}: move what they share to a module that knows none");
    }
}

/// What goes wrong in a front end has a type of its own, so that no text of a success passes for it.
#[test]
fn no_front_end_gives_a_bare_text_for_an_error() {
    for name in ["desktop", "holdtrace"] {
        for (path, text) in sources(&root().join("crates").join(name).join("src")) {
            let flat = text.split_whitespace().collect::<Vec<_>>().join(" ").replace("->", "");
            for (end, _) in flat.match_indices(", String>") {
                let before = flat.get(..end).unwrap_or_default();
                let statement = before.rfind([';', '{', '}']).unwrap_or(0);
                let statement = before.get(statement..).unwrap_or_default();
                // A result is open where the text stands, and nothing else that is within it.
                let is_error = statement.match_indices("Result<").any(|(begin, _)| {
                    let within = statement.get(begin..).unwrap_or_default();
                    within.matches('<').count() == within.matches('>').count() + 1
                });
                assert!(!is_error, "{}: {statement}, String>", path.display());
            }
        }
    }
}
