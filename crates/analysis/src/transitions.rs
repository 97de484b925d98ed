//! Every passage between diverted and forward flow, with the readings on both sides, so that
//! cut-in and cut-out temperatures can be read off (method, section 8).

use trace::{Decimal, Instant, RunRecord, ValveState};

/// A position that a transition goes to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Side {
    /// Cut-in: the device went forward.
    Forward,
    /// Cut-out: the device diverted.
    Divert,
}

impl Side {
    /// The key in JSON and CSV.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Forward => "forward",
            Self::Divert => "divert",
        }
    }
}

/// One passage from divert to forward or back, whatever lay between.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Transition {
    /// The first sample in the new position.
    pub at: Instant,
    /// The new position.
    pub to: Side,
    /// The last sample in the old position and the first in the new one.
    pub samples: (usize, usize),
    /// The holding temperature at the last sample in the old position.
    pub temperature_before: Option<Decimal>,
    /// The holding temperature at the first sample in the new position.
    pub temperature_after: Option<Decimal>,
    /// The differential at the last sample in the old position.
    pub differential_before: Option<Decimal>,
    /// The differential at the first sample in the new position.
    pub differential_after: Option<Decimal>,
}

/// All transitions of a record, in order.
pub(crate) fn transitions(record: &RunRecord) -> Vec<Transition> {
    let mut transitions = Vec::new();
    let mut last: Option<(usize, Side)> = None;
    for (sample, valve) in record.valve().iter().enumerate() {
        let side = match valve {
            ValveState::Forward => Side::Forward,
            ValveState::Divert => Side::Divert,
            ValveState::Travel | ValveState::Unknown => continue,
        };
        if let Some((before, old)) = last
            && old != side
        {
            let temperature = |sample| record.holding_temperature().reading(sample).valid();
            let differential = |sample| record.differential().reading(sample).valid();
            transitions.push(Transition {
                at: record.instants()[sample],
                to: side,
                samples: (before, sample),
                temperature_before: temperature(before),
                temperature_after: temperature(sample),
                differential_before: differential(before),
                differential_after: differential(sample),
            });
        }
        last = Some((sample, side));
    }
    transitions
}
