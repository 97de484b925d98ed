//! What the exit status says.

use std::process::ExitCode;

/// How a command ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Outcome {
    /// 0: nothing found.
    Clean,
    /// 1: exceptions, or observations to close.
    Exceptions,
    /// 2: the input can't be used.
    Unusable,
}

impl From<Outcome> for ExitCode {
    fn from(outcome: Outcome) -> Self {
        match outcome {
            Outcome::Clean => Self::from(0),
            Outcome::Exceptions => Self::from(1),
            Outcome::Unusable => Self::from(2),
        }
    }
}
