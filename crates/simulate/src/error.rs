//! The one error of this crate.

use std::sync::Arc;

/// Why a run could not be simulated or written.
#[derive(Debug, Clone, thiserror::Error)]
pub enum Error {
    /// The script's local start does not exist in the plant's zone.
    #[error("the script starts at {start}, which does not exist in {zone}; start an hour later")]
    Start {
        /// The start as given.
        start: String,
        /// The plant's zone.
        zone: &'static str,
    },
    /// The script's sample interval is not a multiple of the model's step.
    #[error(
        "a sample every {milliseconds} ms can't be simulated; use a multiple of 100 ms above 0"
    )]
    SampleInterval {
        /// In milliseconds, as given.
        milliseconds: i64,
    },
    /// The script names a product that the plant file does not.
    #[error(
        "the script makes {name:?}, which the plant file does not name; add it under [[products]]"
    )]
    Product {
        /// The name as given.
        name: String,
    },
    /// The plant file has no `[tube]` with a test.
    #[error(
        "the plant file has no tested holding tube to simulate; add [tube] with test_flow and test_time"
    )]
    NoTube,
    /// A text has a character that the encoding does not.
    #[error(
        "the character {character:?} can't be written in {encoding}; choose UTF-8 or another name"
    )]
    Encoding {
        /// The character.
        character: char,
        /// The encoding.
        encoding: &'static str,
    },
    /// The built-in plant file of the sample runs can't be read.
    #[error("the sample plant: {0}")]
    Plant(#[from] plant::Error),
    /// The truth could not be written as JSON.
    #[error("the truth can't be written: {message}")]
    Json {
        /// What the writer said.
        message: String,
    },
    /// A benchmark record was asked for with a column that no benchmark has.
    #[error("a benchmark record has no column for {role}; choose among the sample plant's")]
    BenchColumn {
        /// The key of the role.
        role: &'static str,
    },
    /// A day that proves something could not be made from the model.
    #[error("the day can't be made: {missing}; correct it in crates/simulate/src/proof")]
    Proof {
        /// What was looked for and not found.
        missing: String,
    },
    /// The record could not be written.
    #[error("the record can't be written ({0}); check the path and the space on the disk")]
    Write(#[source] Arc<std::io::Error>),
}

impl From<std::io::Error> for Error {
    fn from(cause: std::io::Error) -> Self {
        Self::Write(Arc::new(cause))
    }
}
