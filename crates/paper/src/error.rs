//! The one error of this crate.

/// Why a summary could not be put on paper.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Error {
    /// The data for the template could not be written as JSON.
    #[error("the figures for the summary can't be put together: {0}")]
    Data(String),
    /// The template has a fault.
    #[error(
        "{} can't be typeset{}: {message}{}; {}",
        if *own { "the plant's own template" } else { "the built-in template" },
        if *line > 0 { format!(": line {line}, column {column}") } else { String::new() },
        hints.iter().map(|hint| format!(" ({hint})")).collect::<String>(),
        what_to_do(*own)
    )]
    Template {
        /// Counted from 1; 0 where the typesetter names no line.
        line: usize,
        /// In characters, counted from 1; 0 where the typesetter names no line.
        column: usize,
        /// What the typesetter says.
        message: String,
        /// What it suggests.
        hints: Vec<String>,
        /// Whether the template is the plant's own.
        own: bool,
    },
    /// The pages were set, but PDF/A does not allow what is on them.
    #[error(
        "the summary can't be written as PDF/A: {}; {}",
        messages.join("; "),
        what_to_do(*own)
    )]
    Pdf {
        /// What the exporter says.
        messages: Vec<String>,
        /// Whether the template is the plant's own.
        own: bool,
    },
}

const fn what_to_do(own: bool) -> &'static str {
    if own {
        "correct the template, or leave it out to use the built-in one"
    } else {
        "this is a fault of the program; the text report holds the same figures"
    }
}
