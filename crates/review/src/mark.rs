//! Who entered something in a journal, and when.

use journal::{Line, Stamp};

/// Who entered something, and when.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mark {
    /// The person's identifier.
    pub by: String,
    /// When.
    pub at: Stamp,
    /// The journal's line.
    pub line: u64,
}

impl Mark {
    pub(crate) fn of(line: &Line) -> Self {
        Self { by: line.by().to_owned(), at: line.at(), line: line.sequence() }
    }
}
