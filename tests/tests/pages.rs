//! What the pages for people who change the code name is there: files, folders and tests.

use std::path::Path;
use tests::program::root;

const PAGES: [&str; 3] = ["DEVELOPERS.md", "CONTRIBUTING.md", "docs/architecture.md"];

fn text(path: &Path) -> String {
    std::fs::read_to_string(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// What stands between backquotes.
fn quoted(text: &str) -> impl Iterator<Item = &str> {
    text.split('`').skip(1).step_by(2)
}

/// What the links of a page lead to, as seen from its folder; other sites and places in a page are left
/// out.
fn linked(text: &str) -> impl Iterator<Item = &str> {
    let links = text.split("](").skip(1).filter_map(|rest| rest.split_once(')'));
    let files = links.map(|(link, _)| link.split('#').next().unwrap_or_default());
    files.filter(|link| !link.is_empty() && !link.contains(':'))
}

#[test]
fn every_file_that_a_page_names_is_there() {
    for page in PAGES {
        let page_text = text(&root().join(page));
        let folders = ["crates/", "tests/", "docs/", "assets/", "scripts/"];
        let is_path = |path: &&str| {
            folders.iter().any(|folder| path.starts_with(folder)) && !path.contains(['<', '*', ' '])
        };
        let page_path = root().join(page);
        let folder = page_path.parent().unwrap_or(&page_path);
        let paths = quoted(&page_text).filter(is_path).map(|path| root().join(path));
        let named: Vec<_> = paths.chain(linked(&page_text).map(|link| folder.join(link))).collect();
        assert!(!named.is_empty(), "{page} names no file");
        for path in named {
            assert!(path.exists(), "{page} names {}, which is not there", path.display());
        }
    }
}

#[test]
fn every_invariant_has_a_test_of_that_name() {
    let page = text(&root().join("docs/architecture.md"));
    let mut held = 0;
    for row in page.lines().filter(|line| line.starts_with("| ")) {
        let words: Vec<&str> = quoted(row).collect();
        let [.., file, name] = words.as_slice() else { continue };
        if !file.starts_with("tests/") && !file.starts_with("crates/") {
            continue;
        }
        held += 1;
        let source = text(&root().join(file));
        let test = format!("#[test]\nfn {name}()");
        assert!(source.contains(&test), "{file} has no test {name}");
    }
    assert_eq!(held, 8, "eight invariants");
}
