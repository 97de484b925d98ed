//! The method page and the code name the same rules, causes, classes and kinds of observation, and
//! rank these alike. What one of them has and the other has not fails here.

use analysis::{Cause, Class, Rule};
use std::collections::{BTreeMap, BTreeSet};
use trace::{ObservationKind, Role};

const PAGE: &str = include_str!("../../docs/method.md");

/// The text of the section with that number.
fn section(number: usize) -> &'static str {
    let from = format!("\n## {number}. ");
    let Some((_, rest)) = PAGE.split_once(&from) else { panic!("the page has a section {number}") };
    rest.split("\n## ").next().unwrap_or(rest)
}

/// The words between backticks.
fn keys(text: &str) -> BTreeSet<&str> {
    text.split('`').skip(1).step_by(2).collect()
}

/// The cells of each row of the section's tables.
fn rows(text: &str) -> Vec<Vec<&str>> {
    text.lines()
        .filter_map(|line| line.strip_prefix("| ")?.strip_suffix(" |"))
        .map(|line| line.split(" | ").collect())
        .collect()
}

fn kinds() -> impl Iterator<Item = ObservationKind> {
    ingest::observations::KINDS.iter().chain(analysis::observations::KINDS).copied()
}

/// For each kind of the page's table its rank.
fn told() -> BTreeMap<&'static str, &'static str> {
    let mut told = BTreeMap::new();
    for row in rows(section(8)) {
        let [kind, rank, when, source] = row.as_slice() else { continue };
        let Some(key) = kind.strip_prefix('`').and_then(|kind| kind.strip_suffix('`')) else {
            continue;
        };
        assert!(!when.is_empty() && !source.is_empty(), "{key} says when, and who asks for it");
        assert!(told.insert(key, *rank).is_none(), "{key} stands in the table once");
    }
    told
}

#[test]
fn the_page_has_twelve_sections() {
    for number in 1..=12 {
        assert!(!section(number).is_empty());
    }
    assert!(!PAGE.contains("\n## 13."));
}

#[test]
fn every_role_stands_in_section_1() {
    let keys = keys(section(1));
    for role in Role::ALL {
        assert!(keys.contains(role.key()), "{}", role.key());
    }
}

#[test]
fn every_rule_stands_where_its_definition_says() {
    for &rule in Rule::ALL {
        let definition = rule.definition();
        let Ok(number) = definition.section.parse() else { panic!("{definition:?}") };
        assert!(keys(section(number)).contains(definition.key), "{definition:?}");
    }
}

#[test]
fn every_rule_stands_in_the_user_guide_by_its_letters() {
    let guide = include_str!("../../docs/user-guide.md");
    for rule in Rule::ALL {
        assert!(guide.contains(&format!("\n| **{}**, ", rule.code())), "{rule:?}");
    }
}

#[test]
fn every_cause_stands_in_section_5() {
    let keys = keys(section(5));
    for cause in Cause::ALL {
        assert!(keys.contains(cause.key()), "{}", cause.key());
    }
}

#[test]
fn every_class_stands_in_section_9_and_no_other() {
    let mut found: BTreeSet<&str> =
        rows(section(9)).iter().filter_map(|row| row.first()).flat_map(|cell| keys(cell)).collect();
    for class in Class::ALL {
        assert!(found.remove(class.key()), "{}", class.key());
    }
    assert!(found.is_empty(), "the page has classes that the code has not: {found:?}");
}

#[test]
fn kinds_have_one_key_each_whoever_finds_them() {
    let distinct: BTreeSet<&str> = kinds().map(ObservationKind::key).collect();
    assert_eq!(distinct.len(), kinds().count());
}

#[test]
fn every_kind_of_observation_stands_in_section_8_with_its_rank_and_no_other() {
    let mut told = told();
    for kind in kinds() {
        assert_eq!(told.remove(kind.key()), Some(kind.rank().key()), "{}", kind.key());
    }
    assert!(told.is_empty(), "the page has kinds that the code has not: {told:?}");
}

/// Kinds to close first, each rank in the order of the keys.
#[test]
fn the_table_of_kinds_is_in_order() {
    let listed: Vec<&str> = rows(section(8))
        .into_iter()
        .filter_map(|row| row.first()?.strip_prefix('`')?.strip_suffix('`'))
        .collect();
    let mut kinds: Vec<ObservationKind> = kinds().collect();
    kinds.sort();
    let sorted: Vec<&str> = kinds.into_iter().map(ObservationKind::key).collect();
    assert_eq!(listed, sorted);
}

/// A citation stands beside the words that say how its source was seen; what is nobody's is ours or common
/// practice.
#[test]
fn each_source_says_how_it_was_seen() {
    const CITED: [&str; 15] = [
        "CFR", "ATCP", "PMO", "NYCRR", "CFIA", "TAC", "MCL", "Pa. Code", "FDA", "P-29", "SDCL",
        "FAC", "NIST", "SI 1996", "ISO ",
    ];
    const SEEN: [&str; 4] = ["text read", "texts read", "not verified", "secondary text"];
    let mut blocks: Vec<String> = vec![String::new()];
    for line in PAGE.lines() {
        let begins = ["|", "* ", "#"].iter().any(|mark| line.starts_with(mark));
        if begins || line.trim().is_empty() {
            blocks.push(String::new());
        }
        if let Some(block) = blocks.last_mut() {
            block.push_str(line.trim());
            block.push(' ');
        }
    }
    let cited: Vec<&String> =
        blocks.iter().filter(|block| CITED.iter().any(|one| block.contains(one))).collect();
    assert!(cited.len() > 30, "the citations are found: {}", cited.len());
    for block in cited {
        assert!(SEEN.iter().any(|words| block.contains(words)), "{block}");
    }
    for kind in kinds() {
        let own = ["ours", "own", "common practice", "method, section", "set by the plant"];
        let mut words = SEEN.iter().chain(&own);
        let source = kind.source();
        assert!(words.any(|words| source.contains(words)), "{}: {source}", kind.key());
    }
}

/// How paper tells rules and classes stands in two templates, beside the list in the code.
#[test]
fn the_templates_of_paper_know_every_rule_and_class() {
    let (look, summary) =
        (include_str!("../../assets/look.typ"), include_str!("../../assets/summary.typ"));
    for rule in Rule::ALL {
        let key = rule.key();
        assert!(look.contains(&format!("\n  {key}: rgb(")), "{key} has an ink");
        assert!(look.contains(&format!("(rule-ink.{key})")), "{key} has a hatch");
    }
    for class in Class::ALL {
        let key = class.key();
        let of_rule = Rule::ALL.iter().any(|rule| key == format!("forward_{}", rule.key()));
        assert!(of_rule || summary.contains(&format!("\n  {key}: ")), "{key} has a fill");
    }
}
