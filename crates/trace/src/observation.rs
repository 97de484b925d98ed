//! Things that need a look but are not forward-flow exceptions.
//!
//! Both the reading of files and the audit make observations; a reader tells them apart by kind,
//! finds the place by file and line or by interval, and reads a sentence that says what to do.

use crate::instant::Interval;
use std::sync::Arc;

macro_rules! observation_kinds {
    ($($(#[$doc:meta])* $kind:ident = $key:literal, $title:literal;)*) => {
        /// What was observed.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum ObservationKind { $($(#[$doc])* $kind,)* }

        impl ObservationKind {
            /// All kinds.
            pub const ALL: &[Self] = &[$(Self::$kind),*];

            /// The key in JSON and CSV.
            pub const fn key(self) -> &'static str {
                match self { $(Self::$kind => $key,)* }
            }

            /// A few words for a list, in lower case.
            pub const fn title(self) -> &'static str {
                match self { $(Self::$kind => $title,)* }
            }
        }
    };
}

observation_kinds! {
    /// The recording thermometer reads above the indicating one.
    RecorderAboveIndicating = "recorder_above_indicating", "recorder above indicating thermometer";
    /// The two thermometers differ by more than allowed.
    RecorderDisagrees = "recorder_disagrees", "recorder and indicating thermometer disagree";
    /// The device went forward below the temperature limit.
    CutInBelowLimit = "cut_in_below_limit", "cut-in below the limit";
    /// The device diverted only below the temperature limit.
    CutOutBelowLimit = "cut_out_below_limit", "cut-out below the limit";
    /// The device took longer to divert than allowed.
    SlowResponse = "slow_response", "slow valve response";
    /// The differential was below the limit while the device was not forward.
    DifferentialLowNotForward = "differential_low_not_forward", "differential low while not forward";
    /// The record has fewer samples than the authority asks.
    SlowSampling = "slow_sampling", "slow sampling";
    /// A sensor gave one and the same reading for too long.
    FrozenReading = "frozen_reading", "frozen reading";
    /// A reading changed faster than the sensor can.
    ImpossibleStep = "impossible_step", "impossible step";
    /// Forward flow while the mode is water or cleaning.
    ForwardNotProduction = "forward_not_production", "forward flow outside production";
    /// Cooled product above its limit in forward flow.
    CooledTooWarm = "cooled_too_warm", "cooled product too warm";
    /// Raw milk above its limit in forward flow.
    RawTooWarm = "raw_too_warm", "raw milk too warm";
    /// Regeneration efficiency below its floor.
    LowRegeneration = "low_regeneration", "low regeneration efficiency";
    /// The leak sensor answered.
    LeakDetected = "leak_detected", "leak detected";
    /// The holding time can't be judged at all.
    HoldingTimeNotJudged = "holding_time_not_judged", "holding time not judged";
    /// Certificate and measures of the holding tube contradict each other.
    TubeContradiction = "tube_contradiction", "holding tube contradicts its certificate";
    /// Two runs of the run sheet claim one time.
    RunSheetOverlap = "run_sheet_overlap", "run sheet overlaps itself";
    /// Forward flow that no run of the sheet covers.
    RunSheetUncovered = "run_sheet_uncovered", "forward flow not on the run sheet";
    /// A product that the plant file does not name.
    UnknownProduct = "unknown_product", "product not in the plant file";
    /// A gap in the record with the device diverted at both ends.
    GapDiverted = "gap_diverted", "gap while diverted";
    /// Rows with one instant.
    DuplicateStamp = "duplicate_stamp", "duplicate time stamp";
    /// A time stamp before the one on the line above.
    BackwardStamp = "backward_stamp", "time stamp runs backwards";
    /// A local time that does not exist.
    ImpossibleStamp = "impossible_stamp", "impossible time stamp";
    /// A row with more or fewer cells than the header.
    RaggedRow = "ragged_row", "ragged row";
    /// A row whose time stamp or quotes can't be read.
    UnreadableRow = "unreadable_row", "unreadable row";
    /// The file ends within a row.
    TruncatedRow = "truncated_row", "truncated last row";
    /// Cells that are blank, not a number or out of range.
    InvalidReadings = "invalid_readings", "readings not usable";
    /// Both limit switches of the device are made at once.
    SwitchesDisagree = "switches_disagree", "limit switches disagree";
    /// A valve or switch word that is not mapped to a position.
    UnmappedWord = "unmapped_word", "unmapped word";
}

/// A place in a source file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SourcePosition {
    /// The name of the file as it was given.
    pub file: Arc<str>,
    /// The line, counted from 1.
    pub line: u64,
}

/// One observation.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Observation {
    /// What was observed.
    pub kind: ObservationKind,
    /// When, where that is known.
    pub interval: Option<Interval>,
    /// The (first) line it was read from, for observations of files.
    pub position: Option<SourcePosition>,
    /// How many rows or samples it speaks of; at least 1.
    pub count: u64,
    /// A sentence that says what is wrong, and what to do where that is not plain.
    pub message: String,
}
