//! A passage into forward flow whose first sample is below the temperature limit.

use super::look::{Found, Look};
use crate::transitions::Side;
use trace::{Definition, FigureKind, Rank, Role};

pub(super) const DEFINITION: Definition = Definition {
    key: "cut_in_below_limit",
    title: "went forward below the limit",
    rank: Rank::Close,
    figures: &[("temperature", FigureKind::Temperature), ("limit", FigureKind::Temperature)],
    sentence: "the flow diversion device went forward at {temperature}; the limit is {limit}",
    about: &[Role::HoldingTemperature, Role::RecorderTemperature],
    why: "The device let product forward that had not reached the limit: its set point is too low, \
          or the thermometers disagree.",
    what_to_do: "Resolve the exception that goes with it, compare the two thermometers, and have \
                 the cut-in temperature tested before the next run.",
    source: "ATCP 65.66(3)(f), 1 NYCRR 3.27(a)(11) of condensing and drying plants: recorded daily (text read)",
};

pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    look.passages_below_limit(Side::Forward, found);
}

#[cfg(test)]
mod tests {
    use crate::specimen::{day, observed};

    #[test]
    fn the_first_forward_sample_counts() {
        let of = |valve: &str, holding: &str| {
            observed(&day(valve).holding(holding).audit(), "cut_in_below_limit")
        };
        assert_eq!(
            of("D F", "150 160.9"),
            ["0..1000 n=1 temperature=160.9 °F limit=161 °F"]
        );
        assert_eq!(of("D F", "150 161.0"), [""; 0]);
        // What lies between the two positions does not matter, nor what follows.
        assert_eq!(
            of("D V F F", "150 150 160 165"),
            ["0..2000 n=1 temperature=160 °F limit=161 °F"]
        );
        assert_eq!(of("D F F", "150 165 160"), [""; 0]);
        // No reading is not verifiable, and no cut-in below a limit; no passage is none.
        assert_eq!(of("D F", "150 _"), [""; 0]);
        assert_eq!(of("F F", "160"), [""; 0]);
    }
}
