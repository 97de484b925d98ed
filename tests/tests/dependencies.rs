//! What the dependencies may be and where they may come from: `deny.toml`, held here so that it does
//! not wait for somebody who has cargo-deny.

use serde_json::Value;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::process::Command;
use toml::Table;

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

fn cargo(arguments: &[&str]) -> String {
    let output = Command::new(env!("CARGO"))
        .args(arguments)
        .args(["--locked", "--offline"])
        .current_dir(root())
        .output();
    match output {
        Ok(output) if output.status.success() => {
            String::from_utf8_lossy(&output.stdout).into_owned()
        }
        Ok(output) => panic!("cargo: {}", String::from_utf8_lossy(&output.stderr)),
        Err(error) => panic!("cargo: {error}"),
    }
}

/// Name and version of the packages that are built on this system, along these edges. What is locked
/// for other systems is not at hand everywhere (`cargo deny check` looks at that as well), and what
/// is locked for features that nobody asks for is never built.
fn built(edges: &str) -> BTreeSet<String> {
    let tree = cargo(&["tree", "--workspace", "--edges", edges, "--prefix", "none"]);
    let name = |line: &str| {
        let mut words = line.split_whitespace();
        Some(format!("{} {}", words.next()?, words.next()?.strip_prefix('v')?))
    };
    tree.lines().filter_map(name).collect()
}

/// What cargo knows of every package that is locked for this system.
fn packages() -> Vec<Value> {
    let version = Command::new("rustc").args(["--version", "--verbose"]).output();
    let version = match version {
        Ok(output) => String::from_utf8_lossy(&output.stdout).into_owned(),
        Err(error) => panic!("rustc: {error}"),
    };
    let host = version.lines().find_map(|line| line.strip_prefix("host: ")).unwrap_or_default();
    let metadata = cargo(&["metadata", "--format-version", "1", "--filter-platform", host]);
    match serde_json::from_str::<Value>(&metadata) {
        Ok(metadata) => metadata["packages"].as_array().cloned().unwrap_or_default(),
        Err(error) => panic!("cargo metadata is JSON: {error}"),
    }
}

fn deny() -> Table {
    let text = std::fs::read_to_string(root().join("deny.toml")).unwrap_or_default();
    text.parse().unwrap_or_else(|error| panic!("deny.toml: {error}"))
}

/// The words of a list of `deny.toml`.
fn listed(deny: &Table, section: &str, key: &str) -> BTreeSet<String> {
    let list = deny.get(section).and_then(|section| section.get(key)?.as_array());
    let list = list.cloned().unwrap_or_default();
    let word = |one: &toml::Value| {
        let word = one.as_str().or_else(|| one.get("crate")?.as_str());
        word.map(str::to_owned)
    };
    list.iter().filter_map(word).collect()
}

/// Whether an SPDX expression can be met with the licences that are allowed. Older packages write a
/// stroke for OR.
fn is_allowed(expression: &str, allowed: &BTreeSet<String>) -> bool {
    let spaced = expression.replace('/', " OR ").replace('(', " ( ").replace(')', " ) ");
    let words: Vec<&str> = spaced.split_whitespace().collect();
    let mut at = 0;
    let met = any_of(&words, &mut at, allowed);
    met && at == words.len()
}

fn any_of(words: &[&str], at: &mut usize, allowed: &BTreeSet<String>) -> bool {
    let mut met = all_of(words, at, allowed);
    while words.get(*at) == Some(&"OR") {
        *at += 1;
        met |= all_of(words, at, allowed);
    }
    met
}

fn all_of(words: &[&str], at: &mut usize, allowed: &BTreeSet<String>) -> bool {
    let mut met = one_of(words, at, allowed);
    while words.get(*at) == Some(&"AND") {
        *at += 1;
        met &= one_of(words, at, allowed);
    }
    met
}

fn one_of(words: &[&str], at: &mut usize, allowed: &BTreeSet<String>) -> bool {
    let Some(&word) = words.get(*at) else { return false };
    *at += 1;
    if word == "(" {
        let met = any_of(words, at, allowed);
        *at += 1;
        return met;
    }
    if words.get(*at) == Some(&"WITH") {
        let exception = words.get(*at + 1).copied().unwrap_or_default();
        *at += 2;
        return allowed.contains(&format!("{word} WITH {exception}"));
    }
    allowed.contains(word)
}

#[test]
fn expressions_of_licences_are_understood() {
    let allowed: BTreeSet<String> =
        ["MIT", "Zlib", "Apache-2.0 WITH LLVM-exception"].map(str::to_owned).into();
    for (expression, expected) in [
        ("MIT", true),
        ("GPL-3.0-only", false),
        ("MIT OR GPL-3.0-only", true),
        ("MIT/GPL-3.0-only", true),
        ("MIT AND GPL-3.0-only", false),
        ("(MIT OR GPL-3.0-only) AND Zlib", true),
        ("(MIT AND GPL-3.0-only) OR Zlib", true),
        ("GPL-3.0-only AND (MIT OR Zlib)", false),
        ("Apache-2.0 WITH LLVM-exception", true),
        ("Apache-2.0", false),
        ("MIT WITH LLVM-exception", false),
        ("MIT Zlib", false),
        ("", false),
    ] {
        assert_eq!(is_allowed(expression, &allowed), expected, "{expression}");
    }
}

#[test]
fn every_package_has_an_allowed_licence_and_source_and_none_is_banned() {
    let deny = deny();
    let licences = listed(&deny, "licenses", "allow");
    let banned = listed(&deny, "bans", "deny");
    let registries = listed(&deny, "sources", "allow-registry");
    assert!(!licences.is_empty() && !banned.is_empty() && !registries.is_empty());
    assert!(listed(&deny, "sources", "allow-git").is_empty());
    // A test's own dependency is not handed on with the program.
    let (program, all) = (built("normal,build"), built("normal,build,dev"));
    assert!(program.len() > 100 && program.is_subset(&all), "the whole graph");
    let mut wrong = Vec::new();
    let mut seen = 0;
    for package in packages() {
        let of = |key: &str| package[key].as_str().unwrap_or_default();
        let name = format!("{} {}", of("name"), of("version"));
        if !all.contains(&name) {
            continue;
        }
        seen += 1;
        if program.contains(&name) && !is_allowed(of("license"), &licences) {
            wrong.push(format!("{name} has the licence {:?}", of("license")));
        }
        let registry = of("source").strip_prefix("registry+").unwrap_or(of("source"));
        let is_own = package["source"].is_null() && of("license") == "MIT OR Apache-2.0";
        if !is_own && !registries.contains(registry) {
            wrong.push(format!("{name} comes from {:?}", of("source")));
        }
        if banned.contains(of("name")) {
            wrong.push(format!("{name} is banned"));
        }
    }
    assert_eq!(seen, all.len(), "each package is looked at");
    assert!(wrong.is_empty(), "deny.toml: {wrong:#?}");
}
