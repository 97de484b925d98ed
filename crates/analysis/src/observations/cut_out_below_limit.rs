//! A passage out of forward flow whose last sample is below the temperature limit.

use super::look::{Found, Look};
use crate::transitions::Side;
use trace::{Definition, FigureKind, Rank, Role};

pub(super) const DEFINITION: Definition = Definition {
    key: "cut_out_below_limit",
    title: "left forward flow below the limit",
    rank: Rank::Close,
    figures: &[("temperature", FigureKind::Temperature), ("limit", FigureKind::Temperature)],
    sentence: "the flow diversion device left forward flow only at {temperature}; the limit is {limit}",
    about: &[Role::HoldingTemperature, Role::RecorderTemperature],
    why: "The device diverted only after the temperature had fallen below the limit, so some \
          product below it went forward.",
    what_to_do: "Resolve the exception that goes with it, compare the two thermometers, and have \
                 the cut-out temperature tested before the next run.",
    source: "ATCP 65.66(3)(f), 1 NYCRR 3.27(a)(11) of condensing and drying plants: recorded daily (text read)",
};

pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    look.passages_below_limit(Side::Divert, found);
}

#[cfg(test)]
mod tests {
    use crate::specimen::{day, observed};

    #[test]
    fn the_last_forward_sample_counts() {
        let of = |valve: &str, holding: &str| {
            observed(&day(valve).holding(holding).audit(), "cut_out_below_limit")
        };
        assert_eq!(
            of("F D", "160.9 150"),
            ["0..1000 n=1 temperature=160.9 °F limit=161 °F"]
        );
        assert_eq!(of("F D", "161.0 150"), [""; 0]);
        assert_eq!(
            of("F F V D", "165 160 150 150"),
            ["1000..3000 n=1 temperature=160 °F limit=161 °F"]
        );
        assert_eq!(of("F F D", "160 165 150"), [""; 0]);
        assert_eq!(of("F D", "_ 150"), [""; 0]);
    }
}
