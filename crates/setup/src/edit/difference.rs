//! What differs between the plant file as it was read and as it would be saved.

use similar::{ChangeTag, TextDiff};

/// A line of the difference.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Line {
    /// It goes.
    Gone(String),
    /// It comes.
    New(String),
    /// It stays; said of the lines around those that change.
    Same(String),
    /// Lines that stay are left out here.
    Apart,
}

/// How many lines that stay are shown around those that change (ours).
const AROUND: usize = 1;

/// The lines that differ, with those around them.
pub(super) fn lines(before: &str, after: &str) -> Vec<Line> {
    let difference = TextDiff::from_lines(before, after);
    let mut lines = Vec::new();
    for group in difference.grouped_ops(AROUND) {
        if !lines.is_empty() {
            lines.push(Line::Apart);
        }
        for change in group.iter().flat_map(|one| difference.iter_changes(one)) {
            let text = change.value().trim_end_matches(['\n', '\r']).to_owned();
            lines.push(match change.tag() {
                ChangeTag::Delete => Line::Gone(text),
                ChangeTag::Insert => Line::New(text),
                ChangeTag::Equal => Line::Same(text),
            });
        }
    }
    lines
}
