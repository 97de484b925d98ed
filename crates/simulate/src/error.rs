//! The one error of this crate.

use std::fmt;
use std::sync::Arc;

/// Why a run could not be simulated or written.
#[derive(Debug, Clone)]
pub enum Error {
    /// The script's local start does not exist in the plant's zone.
    Start {
        /// The start as given.
        start: String,
        /// The plant's zone.
        zone: &'static str,
    },
    /// The script's sample interval is not a multiple of the model's step.
    SampleInterval {
        /// In milliseconds, as given.
        milliseconds: i64,
    },
    /// The script names a product that the plant file does not.
    Product {
        /// The name as given.
        name: String,
    },
    /// The plant file has no `[tube]` with a test.
    NoTube,
    /// A text has a character that the encoding does not.
    Encoding {
        /// The character.
        character: char,
        /// The encoding.
        encoding: &'static str,
    },
    /// The built-in plant file of the sample runs can't be read.
    Plant(plant::Error),
    /// The truth could not be written as JSON.
    Json {
        /// What the writer said.
        message: String,
    },
    /// A benchmark record was asked for with a column that no benchmark has.
    BenchColumn {
        /// The key of the role.
        role: &'static str,
    },
    /// A day that proves something could not be made from the model.
    Proof {
        /// What was looked for and not found.
        missing: String,
    },
    /// The record could not be written.
    Write(Arc<std::io::Error>),
}

impl fmt::Display for Error {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Start { start, zone } => write!(
                formatter,
                "the script starts at {start}, which does not exist in {zone}; start an hour later"
            ),
            Self::SampleInterval { milliseconds } => write!(
                formatter,
                "a sample every {milliseconds} ms can't be simulated; use a multiple of 100 ms \
                 above 0"
            ),
            Self::Product { name } => write!(
                formatter,
                "the script makes {name:?}, which the plant file does not name; add it under \
                 [[products]]"
            ),
            Self::NoTube => write!(
                formatter,
                "the plant file has no tested holding tube to simulate; add [tube] with test_flow \
                 and test_time"
            ),
            Self::Encoding { character, encoding } => write!(
                formatter,
                "the character {character:?} can't be written in {encoding}; choose UTF-8 or \
                 another name"
            ),
            Self::Plant(cause) => write!(formatter, "the sample plant: {cause}"),
            Self::Json { message } => write!(formatter, "the truth can't be written: {message}"),
            Self::BenchColumn { role } => write!(
                formatter,
                "a benchmark record has no column for {role}; choose among the sample plant's"
            ),
            Self::Proof { missing } => write!(
                formatter,
                "the day can't be made: {missing}; correct it in crates/simulate/src/proof"
            ),
            Self::Write(cause) => write!(
                formatter,
                "the record can't be written ({cause}); check the path and the space on the disk"
            ),
        }
    }
}

impl std::error::Error for Error {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Plant(cause) => Some(cause),
            Self::Write(cause) => Some(cause.as_ref()),
            Self::Start { .. }
            | Self::SampleInterval { .. }
            | Self::Product { .. }
            | Self::NoTube
            | Self::Encoding { .. }
            | Self::Json { .. }
            | Self::BenchColumn { .. }
            | Self::Proof { .. } => None,
        }
    }
}

impl From<std::io::Error> for Error {
    fn from(cause: std::io::Error) -> Self {
        Self::Write(Arc::new(cause))
    }
}
