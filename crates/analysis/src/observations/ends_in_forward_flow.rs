//! A record that ends in forward flow: what followed is not shown.

use super::look::{Found, Look};
use trace::{Definition, Interval, Rank};

pub(super) const DEFINITION: Definition = Definition {
    key: "ends_in_forward_flow",
    title: "ends in forward flow",
    rank: Rank::Note,
    figures: &[],
    sentence: "the record ends in forward flow; what came after it is not shown here",
    about: &[],
    why: "How the run ended, and whether the device diverted then, is not in this record.",
    what_to_do: "Check that the next record is in the day log, or find the file with the end of the run.",
    source: "Holdtrace's own check (method, section 8)",
};

pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    let context = look.context;
    let sample = context.record.samples() - 1;
    if context.verdicts.is_forward(sample) {
        found.add(Interval::at(context.record.interval().end()), 1, |one| one);
    }
}

#[cfg(test)]
mod tests {
    use crate::specimen::{day, observed};

    #[test]
    fn only_a_last_sample_that_is_forward_speaks() {
        let of = |valve: &str| observed(&day(valve).audit(), "ends_in_forward_flow");
        assert_eq!(of("D F"), ["1000..1000 n=1"]);
        for valve in ["F D", "F V", "F U"] {
            assert_eq!(of(valve), [""; 0], "{valve}");
        }
    }
}
