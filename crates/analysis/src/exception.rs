//! What an exception is: an interval of forward flow that was not safe, or that the record cannot
//! vouch for, with the figures a person needs to judge it (method, sections 4 and 5).

use crate::lethality::Lethality;
use plant::Mode;
use trace::{Decimal, Instant, Interval, VolumeUnit};

/// The rule that was broken, in the order of reports.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Rule {
    /// The holding temperature was below the product's limit.
    Temperature,
    /// Pasteurized minus raw was below the limit.
    Differential,
    /// The residence time was below the product's minimum.
    HoldingTime,
    /// The record cannot vouch for the forward flow.
    Unverifiable,
}

impl Rule {
    /// All rules, in order.
    pub const ALL: [Self; 4] =
        [Self::Temperature, Self::Differential, Self::HoldingTime, Self::Unverifiable];

    /// The key in JSON and CSV.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Temperature => "temperature",
            Self::Differential => "differential",
            Self::HoldingTime => "holding_time",
            Self::Unverifiable => "unverifiable",
        }
    }

    /// The name for a person, in lower case.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Temperature => "temperature",
            Self::Differential => "differential pressure",
            Self::HoldingTime => "holding time",
            Self::Unverifiable => "cannot be verified",
        }
    }
}

/// What the record says of an exception's cause.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Cause {
    /// A reading was short of its limit.
    Short,
    /// A reading that a rule needs was invalid in forward flow.
    InvalidReading,
    /// The valve's position was unknown.
    ValveUnknown,
    /// The valve was between its positions for too long.
    Travel,
    /// The record has a gap.
    Gap,
}

impl Cause {
    /// The key in JSON and CSV.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Short => "short",
            Self::InvalidReading => "invalid_reading",
            Self::ValveUnknown => "valve_unknown",
            Self::Travel => "travel",
            Self::Gap => "gap",
        }
    }

    /// A few words for a person.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Short => "below the limit",
            Self::InvalidReading => "no usable reading",
            Self::ValveUnknown => "valve position unknown",
            Self::Travel => "valve between its positions",
            Self::Gap => "gap in the record",
        }
    }
}

/// The reading furthest below its limit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Worst {
    /// The reading, exactly as recorded or, for a difference, as worked out with a pencil.
    pub value: Decimal,
    /// The limit at that instant, in the same unit.
    pub limit: f64,
    /// The unit's symbol.
    pub unit: &'static str,
    /// When it was read; of equally bad readings the first.
    pub at: Instant,
}

/// How far below and how long: the integral of limit minus reading over the estimate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shortfall {
    /// The integral, at least 0.
    pub value: f64,
    /// `°F·s`, `psi·s`, …
    pub unit: &'static str,
}

/// What a volume rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Basis {
    /// The flow meter throughout.
    Metered,
    /// The plant's nominal flow, at least in part.
    Nominal,
    /// There is neither, at least in part.
    Unknown,
}

impl Basis {
    /// The key in JSON and CSV.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Metered => "metered",
            Self::Nominal => "nominal",
            Self::Unknown => "unknown",
        }
    }
}

/// The product that passed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Volume {
    /// Over the estimate; `None` when unknown.
    pub value: Option<f64>,
    /// Over the outer interval: at most this much; `None` when unknown.
    pub outer_value: Option<f64>,
    /// Litres or gallons.
    pub unit: VolumeUnit,
    /// What both rest on.
    pub basis: Basis,
}

/// An interval in which forward flow was not safe or cannot be vouched for.
#[derive(Debug, Clone, PartialEq)]
pub struct Exception {
    /// Stable: the same record gives the same id everywhere.
    pub id: String,
    /// The rule that was broken.
    pub rule: Rule,
    /// What the record says of the cause.
    pub cause: Cause,
    /// The first and the last sample of the run; for a gap the samples on its two sides.
    pub samples: (usize, usize),
    /// What the samples themselves show.
    pub observed: Interval,
    /// The event cannot have been longer.
    pub outer: Interval,
    /// The best guess; durations, volumes and the accounting rest on it.
    pub estimate: Interval,
    /// The worst reading; `None` where no reading was short.
    pub worst: Option<Worst>,
    /// The shortfall integral; `None` where no reading was short.
    pub shortfall: Option<Shortfall>,
    /// The parcel of the run that received the least heat, for information; `None` where no time or
    /// no temperature is known.
    pub lethality: Option<Lethality>,
    /// The product that passed.
    pub volume: Volume,
    /// Every product that the run touched, in order; empty where none is recorded.
    pub products: Vec<String>,
    /// Every lot that the run touched, in order; empty where none is recorded.
    pub lots: Vec<String>,
    /// The shift in which the run began.
    pub shift: Option<String>,
    /// What the line was doing when the run began.
    pub mode: Mode,
    /// Whether the device acted within the moment it is allowed.
    pub within_response: bool,
    /// The number of the episode, counted from 1.
    pub episode: usize,
}
