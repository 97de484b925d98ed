//! How a record follows the one before it of the same pasteurizer.

use review::HoleBefore;
use serde::Serialize;
use std::path::PathBuf;

/// How a record follows the one before it of the same pasteurizer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Before {
    /// The first file of the record before.
    #[serde(skip)]
    pub record: PathBuf,
    /// The name of that file.
    pub name: String,
    /// Whether both begin on the same date: they are one production day.
    pub same_date: bool,
    /// How.
    #[serde(flatten)]
    pub follows: Follows,
}

/// How a record follows another.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "follows", rename_all = "snake_case")]
pub enum Follows {
    /// It begins no later after the end of the other than the gap limit allows between two samples.
    Continues {
        /// How long after, in milliseconds.
        after_ms: i64,
    },
    /// It begins before the other ends.
    Overlaps {
        /// How long both last, in milliseconds.
        by_ms: i64,
    },
    /// There is no record between them.
    Hole {
        /// From where to where, and how the flow diversion device stood.
        hole: HoleBefore,
    },
}

impl Follows {
    /// The key in tables.
    pub const fn key(&self) -> &'static str {
        match self {
            Self::Continues { .. } => "continues",
            Self::Overlaps { .. } => "overlaps",
            Self::Hole { .. } => "hole",
        }
    }
}

impl Before {
    /// The hole that is to be closed; `None` where there is none, or the device was diverted at both
    /// its ends.
    pub fn exposed(&self) -> Option<&HoleBefore> {
        self.hole().filter(|hole| hole.is_exposed())
    }

    /// The hole between the two records, exposed or not.
    pub const fn hole(&self) -> Option<&HoleBefore> {
        match &self.follows {
            Follows::Hole { hole } => Some(hole),
            Follows::Continues { .. } | Follows::Overlaps { .. } => None,
        }
    }
}
