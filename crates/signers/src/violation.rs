//! The first line of a register or a ledger that breaks a rule.

use std::fmt;

/// The first line that breaks a rule of the register.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Violation {
    /// The line, from 1.
    pub line: u64,
    /// What is wrong with it: a sentence without its full stop.
    pub why: String,
}

impl Violation {
    /// The violation in a sentence about another kind of file.
    pub(crate) fn of(&self, what: &str) -> String {
        format!("line {} breaks a rule of the {what}: {}", self.line, self.why)
    }
}

impl fmt::Display for Violation {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(&self.of("register"))
    }
}
