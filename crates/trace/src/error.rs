//! The one error of this crate: parts that do not make a run record.

use std::fmt;

/// Why parts could not be made into a [`crate::RunRecord`].
///
/// These are mistakes of the code that builds a record, not of a file: whoever reads files sorts,
/// merges and fills before it builds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Error {
    /// There is not one sample.
    NoSamples,
    /// A channel has another number of samples than there are instants.
    Length {
        /// Which channel.
        channel: &'static str,
        /// How many samples it has.
        samples: usize,
        /// How many instants there are.
        instants: usize,
    },
    /// The instants do not strictly increase.
    Order {
        /// The index of the first sample that is not after the one before it.
        sample: usize,
    },
}

impl fmt::Display for Error {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoSamples => write!(formatter, "a run record needs at least one sample"),
            Self::Length { channel, samples, instants } => write!(
                formatter,
                "the channel {channel} has {samples} samples, but there are {instants} instants"
            ),
            Self::Order { sample } => write!(
                formatter,
                "sample {sample} is not later than the one before it; sort and merge the rows first"
            ),
        }
    }
}

impl std::error::Error for Error {}
