//! What an exception is: an interval in which the record does not show that forward flow was safe,
//! with the figures a person needs to judge it (method, sections 4 and 5).

use crate::holes::UnplacedCount;
use crate::rule::Rule;
use plant::Mode;
use trace::{Decimal, Instant, Interval, ValveState, VolumeUnit};

/// Why an exception is one, in the order of reports.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Cause {
    /// A reading was short of its limit.
    Short,
    /// A reading that a rule needs was invalid.
    InvalidReading,
    /// Another thermometer contradicts the holding temperature.
    Contradicted,
    /// The recorder has to show the limit as well, and does not.
    RecorderShort,
    /// A reading that a rule needs did not move for too long.
    Frozen,
    /// All channels stood still at once: the logger may have repeated its last row.
    Repeated,
    /// The flow could not be used, so that the residence time is not known.
    FlowUnusable,
    /// The position of the flow diversion device was unknown.
    PositionUnknown,
    /// The record has a hole in which product may have gone forward.
    Gap,
    /// The record has a hole long enough to cut in, run and divert again unseen.
    GapDiverted,
    /// Rows were recorded that have no place in time.
    UnplacedRows,
    /// A clock was set back, or two files claim one span.
    Clock,
}

impl Cause {
    /// All causes, in order.
    pub const ALL: [Self; 12] = [
        Self::Short,
        Self::InvalidReading,
        Self::Contradicted,
        Self::RecorderShort,
        Self::Frozen,
        Self::Repeated,
        Self::FlowUnusable,
        Self::PositionUnknown,
        Self::Gap,
        Self::GapDiverted,
        Self::UnplacedRows,
        Self::Clock,
    ];

    /// The key in JSON and CSV.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Short => "short",
            Self::InvalidReading => "invalid_reading",
            Self::Contradicted => "contradicted",
            Self::RecorderShort => "recorder_short",
            Self::Frozen => "frozen",
            Self::Repeated => "repeated",
            Self::FlowUnusable => "flow_unusable",
            Self::PositionUnknown => "position_unknown",
            Self::Gap => "gap",
            Self::GapDiverted => "gap_diverted",
            Self::UnplacedRows => "unplaced_rows",
            Self::Clock => "clock",
        }
    }

    /// A few words for a person.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Short => "below the limit",
            Self::InvalidReading => "no usable reading",
            Self::Contradicted => "contradicted by another thermometer",
            Self::RecorderShort => "limit not shown by the recorder",
            Self::Frozen => "reading did not move",
            Self::Repeated => "all readings repeated",
            Self::FlowUnusable => "flow not usable",
            Self::PositionUnknown => "FDD position unknown",
            Self::Gap => "gap in the record",
            Self::GapDiverted => "long gap while diverted",
            Self::UnplacedRows => "rows without a usable time",
            Self::Clock => "clock set back or files overlap",
        }
    }

    /// Whether it concerns a stretch of time and not a run of samples.
    pub const fn is_of_time(self) -> bool {
        matches!(self, Self::Gap | Self::GapDiverted | Self::UnplacedRows | Self::Clock)
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

/// An interval in which the record does not show that forward flow was safe.
#[derive(Debug, Clone, PartialEq)]
pub struct Exception {
    /// Stable: the same record gives the same id everywhere.
    pub id: String,
    /// The rule that was broken.
    pub rule: Rule,
    /// Why, in order; at least one.
    pub causes: Vec<Cause>,
    /// The first and the last sample of the run; for a hole the samples on its two sides.
    pub samples: (usize, usize),
    /// The positions of the device at these samples, in order of their first appearance.
    pub positions: Vec<ValveState>,
    /// The rows without a place, of a hole.
    pub unplaced: UnplacedCount,
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
    /// The product that passed.
    pub volume: Volume,
    /// Every product that the run touched, in order; empty where none is recorded.
    pub products: Vec<String>,
    /// Every lot that the run touched, in order; empty where none is recorded.
    pub lots: Vec<String>,
    /// Every tank that the run sheet names for its time, in order; empty without one.
    pub tanks: Vec<String>,
    /// The shift in which the run began.
    pub shift: Option<String>,
    /// What the line was doing when the run began.
    pub mode: Mode,
    /// Whether the device was fully diverted within the response that it is allowed.
    pub within_response: bool,
    /// Whether it lies wholly in cleaning, and nothing shows that product ran.
    pub outside_production: bool,
    /// The number of the cleaning that it belongs to, from 1; only outside production.
    pub cleaning: Option<usize>,
    /// The number of the episode, counted from 1.
    pub episode: usize,
}
