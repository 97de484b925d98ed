//! The position of the flow diversion device at a sample.

/// Where the flow diversion device stood.
///
/// The order is that of harm: of two rows with one instant the greater position is kept
/// (method, section 3).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[repr(u8)]
pub enum ValveState {
    /// Milk returns to the constant-level tank.
    Divert,
    /// Between the two: neither limit switch is made.
    Travel,
    /// Blank, an unmapped word, or both limit switches at once.
    Unknown,
    /// Milk goes on to the regenerator and the cooler.
    Forward,
}

impl ValveState {
    /// All states, in order.
    pub const ALL: [Self; 4] = [Self::Divert, Self::Travel, Self::Unknown, Self::Forward];

    /// The state that two limit switches show; `None` is a switch that could not be read.
    pub const fn from_switches(forward: Option<bool>, divert: Option<bool>) -> Self {
        match (forward, divert) {
            (Some(true), Some(false)) => Self::Forward,
            (Some(false), Some(true)) => Self::Divert,
            (Some(false), Some(false)) => Self::Travel,
            _ => Self::Unknown,
        }
    }

    /// The name in reports and files.
    #[inline]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Divert => "divert",
            Self::Travel => "travel",
            Self::Unknown => "unknown",
            Self::Forward => "forward",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::ValveState::{Divert, Forward, Travel, Unknown};
    use super::*;

    #[test]
    fn limit_switches_vouch_only_when_they_agree() {
        let on = Some(true);
        let off = Some(false);
        for (forward, divert, state) in [
            (on, off, Forward),
            (off, on, Divert),
            (off, off, Travel),
            (on, on, Unknown),
            (None, on, Unknown),
            (None, off, Unknown),
            (on, None, Unknown),
            (off, None, Unknown),
            (None, None, Unknown),
        ] {
            assert_eq!(ValveState::from_switches(forward, divert), state, "{forward:?} {divert:?}");
        }
    }
}
