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

#[test]
fn every_file_that_a_page_names_is_there() {
    for page in PAGES {
        let page_text = text(&root().join(page));
        let mut named = 0;
        for path in quoted(&page_text) {
            let is_path = ["crates/", "tests/", "docs/", "assets/", "scripts/"]
                .iter()
                .any(|folder| path.starts_with(folder));
            if !is_path || path.contains(['<', '*', ' ', '…']) {
                continue;
            }
            named += 1;
            assert!(root().join(path).exists(), "{page} names {path}, which is not there");
        }
        assert!(named > 0, "{page} names no file");
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
