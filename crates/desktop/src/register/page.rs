//! The pages of the register.

use crate::commands::Command;

/// A page of the register.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub enum RegisterPage {
    /// The month.
    #[default]
    Calendar,
    /// What changes over the days.
    Trends,
    /// Everything that touches one lot.
    Lot,
    /// A summary from a date to a date.
    Range,
    /// What is on hold.
    Held,
    /// What waits for whom.
    Work,
}

impl RegisterPage {
    /// All pages, in order.
    pub const ALL: [Self; 6] =
        [Self::Calendar, Self::Trends, Self::Lot, Self::Range, Self::Held, Self::Work];

    /// The command that shows it.
    pub const fn command(self) -> Command {
        match self {
            Self::Calendar => Command::RegisterMonth,
            Self::Trends => Command::RegisterTrends,
            Self::Lot => Command::RegisterLot,
            Self::Range => Command::RegisterRange,
            Self::Held => Command::RegisterHeld,
            Self::Work => Command::RegisterWork,
        }
    }

    /// The title.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Calendar => "Month",
            Self::Trends => "Trends",
            Self::Lot => "Trace a lot",
            Self::Range => "Range summary",
            Self::Held => "On hold",
            Self::Work => "Work list",
        }
    }
}
