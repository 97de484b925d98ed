//! Which modules of a crate know which, read from its sources: every path that begins at `crate`,
//! `super`, `self` or a child module, outside comments and tests. A path through a re-export leads
//! to where the name comes from.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// A path of names, as `["limits", "LimitSpan"]`; modules are told by theirs from the crate's root.
type Names = Vec<String>;

/// For each module those that it knows.
pub type Graph = BTreeMap<Names, BTreeSet<Names>>;

/// The modules of the crate whose sources are in a folder.
pub fn graph(folder: &Path) -> Graph {
    let mut sources = BTreeMap::new();
    read(folder, &Names::new(), &mut sources);
    of_sources(&sources)
}

fn read(folder: &Path, module: &Names, sources: &mut BTreeMap<Names, String>) {
    let entries = match std::fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) => panic!("{}: {error}", folder.display()),
    };
    for entry in entries.flatten() {
        let path = entry.path();
        let Some(name) = path.file_stem().and_then(|stem| stem.to_str()) else { continue };
        let inner = || module.iter().cloned().chain([name.to_owned()]).collect();
        if path.is_dir() {
            read(&path, &inner(), sources);
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            let text = std::fs::read_to_string(&path)
                .unwrap_or_else(|error| panic!("{}: {error}", path.display()));
            let own = if ["lib", "main", "mod"].contains(&name) { module.clone() } else { inner() };
            sources.insert(own, text);
        }
    }
}

fn of_sources(sources: &BTreeMap<Names, String>) -> Graph {
    let product: BTreeMap<&Names, String> =
        sources.iter().map(|(module, text)| (module, without_tests(text))).collect();
    let is_of_tests = |module: &Names| {
        module.split_last().is_some_and(|(name, parent)| {
            let declared = format!("#[cfg(test)]\nmod {name};");
            sources.get(parent).is_some_and(|parent| parent.contains(&declared))
        })
    };
    let modules: BTreeSet<&Names> = sources.keys().filter(|one| !is_of_tests(one)).collect();
    // What a module hands on under its own name.
    let mut handed_on: BTreeMap<Names, Names> = BTreeMap::new();
    for &module in &modules {
        for statement in product[module].split(';').filter_map(|one| one.split_once("pub use ")) {
            for path in paths(statement.1, module, &modules) {
                handed_on.insert(module.iter().chain(path.last()).cloned().collect(), path);
            }
        }
    }
    let known = |module: &Names| {
        let paths = paths(&product[module], module, &modules);
        let known = paths.iter().map(|path| home(path, &modules, &handed_on));
        known.filter(|other| other != module).collect()
    };
    modules.iter().map(|&module| (module.clone(), known(module))).collect()
}

/// The module in which the name at the end of a path is written.
fn home(path: &Names, modules: &BTreeSet<&Names>, handed_on: &BTreeMap<Names, Names>) -> Names {
    let mut path = path.clone();
    for _ in 0..8 {
        let length =
            (0..=path.len()).rev().find(|&length| modules.contains(&path[..length].to_vec()));
        let length = length.unwrap_or(0);
        match path.get(..=length).and_then(|named| handed_on.get(named)) {
            Some(origin) if *origin != path => path.clone_from(origin),
            _ => return path[..length].to_vec(),
        }
    }
    path
}

/// A source without comments and without its tests.
fn without_tests(text: &str) -> String {
    let tests = ["mod tests {", "pub(crate) mod tests {"];
    let begins = tests.iter().filter_map(|tests| text.find(&format!("#[cfg(test)]\n{tests}")));
    let product = &text[..begins.min().unwrap_or(text.len())];
    let lines = product.lines().map(|line| line.split("//").next().unwrap_or_default());
    lines.collect::<Vec<_>>().join("\n")
}

/// All paths of a text that stay in the crate, from its root.
fn paths(text: &str, module: &Names, modules: &BTreeSet<&Names>) -> Vec<Names> {
    let is_name = |one: char| one.is_alphanumeric() || one == '_';
    let mut found = Vec::new();
    for (at, _) in text.match_indices("::") {
        let before = &text[..at];
        let first = before.rsplit(|one| !is_name(one)).next().unwrap_or_default();
        if before[..before.len() - first.len()].ends_with("::") {
            continue;
        }
        let child: Names = module.iter().cloned().chain([first.to_owned()]).collect();
        let start = match first {
            "crate" => Names::new(),
            "self" => module.clone(),
            "super" => module[..module.len().saturating_sub(1)].to_vec(),
            _ if modules.contains(&child) => child,
            _ => continue,
        };
        tree(&text[at + 2..], start, &mut found);
    }
    found
}

/// What stands behind `::`: a name, more of the path, or several in braces. Returns the rest.
fn tree<'a>(text: &'a str, mut path: Names, found: &mut Vec<Names>) -> &'a str {
    let text = text.trim_start();
    if let Some(mut rest) = text.strip_prefix('{') {
        loop {
            rest = rest.trim_start_matches([',', ' ', '\n']);
            match rest.strip_prefix('}') {
                Some(after) => return after,
                None if rest.is_empty() => return rest,
                None => rest = tree(rest, path.clone(), found),
            }
        }
    }
    let end = text.find(|one: char| !one.is_alphanumeric() && one != '_').unwrap_or(text.len());
    let (name, rest) = text.split_at(end);
    match name {
        "super" => drop(path.pop()),
        "self" | "" => {}
        name => path.push(name.to_owned()),
    }
    match rest.strip_prefix("::") {
        Some(rest) => tree(rest, path, found),
        None => {
            found.push(path);
            // An alias, a glob, or whatever else stands before the next one of a group.
            let next = rest.find([',', '}']).unwrap_or(rest.len());
            &rest[next..]
        }
    }
}

/// The sets of modules of which each knows each other, by whatever way; the largest first.
pub fn circles(graph: &Graph) -> Vec<BTreeSet<&Names>> {
    let reached = |from| {
        let mut reached = BTreeSet::new();
        let mut next = vec![from];
        while let Some(module) = next.pop() {
            for other in graph.get(module).into_iter().flatten() {
                if reached.insert(other) {
                    next.push(other);
                }
            }
        }
        reached
    };
    let reached: BTreeMap<&Names, BTreeSet<&Names>> =
        graph.keys().map(|module| (module, reached(module))).collect();
    let circle = |module| {
        let mutual = |other: &&Names| reached.get(other).is_some_and(|all| all.contains(module));
        reached[module].iter().copied().filter(mutual).collect::<BTreeSet<_>>()
    };
    let mut circles: Vec<_> = graph.keys().map(circle).filter(|one| one.len() > 1).collect();
    circles.sort_by(|one, other| other.len().cmp(&one.len()).then_with(|| one.cmp(other)));
    circles.dedup();
    circles
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(path: &str) -> Names {
        path.split("::").filter(|name| !name.is_empty()).map(str::to_owned).collect()
    }

    fn made_up(sources: &[(&str, &str)]) -> Graph {
        of_sources(&sources.iter().map(|(path, text)| (names(path), (*text).to_owned())).collect())
    }

    #[test]
    fn a_circle_is_found_however_it_is_written() {
        for back in [
            "use crate::one::One;",
            "use crate::{one::{self, One}, three};",
            "use super::{three::Three, one::One};",
            "fn two() -> crate::one::One { super::one::One }",
            "use crate::One;",
            "use crate::three::One;",
        ] {
            let graph = made_up(&[
                ("", "mod one;\nmod two;\npub mod three;\npub use one::One;"),
                ("one", "use crate::two::Two;\npub struct One;"),
                ("two", back),
                ("three", "pub use crate::one::One;\npub struct Three;"),
            ]);
            let circle = BTreeSet::from([&names("one"), &names("two")].map(Clone::clone));
            let found = circles(&graph);
            assert!(found.iter().any(|one| circle.iter().all(|part| one.contains(part))), "{back}");
        }
    }

    #[test]
    fn comments_tests_and_other_crates_are_no_arrows() {
        let graph = made_up(&[
            ("", "mod one;\nmod two;\nmod three;\n#[cfg(test)]\nmod example;"),
            ("one", "use crate::two::Two;"),
            (
                "two",
                "// crate::one\nuse one::One;\n#[cfg(test)]\nmod tests {\n    use crate::one::One;\n}",
            ),
            ("three", "#[cfg(test)]\npub(crate) mod tests {\n    use crate::one::One;\n}"),
            ("example", "use crate::one::One;"),
        ]);
        assert_eq!(circles(&graph), [] as [BTreeSet<&Names>; 0]);
        assert_eq!(graph.len(), 4);
        assert_eq!(graph[&names("three")], BTreeSet::new());
        assert_eq!(graph[&names("one")], BTreeSet::from([names("two")]));
    }

    #[test]
    fn a_parent_and_its_children_make_a_circle() {
        let graph = made_up(&[
            ("", "mod kinds;"),
            (
                "kinds",
                "mod one;\nmod two;\npub struct Kind;\nfn all() { one::find(); self::two::find() }",
            ),
            ("kinds::one", "use super::Kind;"),
            ("kinds::two", "use super::Kind;"),
        ]);
        let found = circles(&graph);
        assert_eq!(found.iter().map(BTreeSet::len).collect::<Vec<_>>(), [3]);
    }

    #[test]
    fn each_circle_is_told_once() {
        let graph = made_up(&[
            ("", "mod a;\nmod b;\nmod c;\nmod d;"),
            ("a", "use crate::c::C;"),
            ("b", "use crate::d::D;"),
            ("c", "use crate::a::A;"),
            ("d", "use crate::b::B;"),
        ]);
        assert_eq!(circles(&graph).len(), 2);
    }
}
