//! A record that begins in forward flow: how it came there is not shown.

use super::look::{Found, Look};
use trace::{Definition, Interval, Rank};

pub(super) const DEFINITION: Definition = Definition {
    key: "begins_in_forward_flow",
    title: "begins in forward flow",
    rank: Rank::Note,
    figures: &[],
    sentence: "the record begins in forward flow; what came before it is not shown here",
    about: &[],
    why: "How the run began, and at which temperature the device went forward, is not in this \
          record.",
    what_to_do: "Check that the previous record is in the day log, or find the file with the start of the run.",
    source: "Holdtrace's own check (method, section 8)",
};

pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    let context = look.context;
    let sample = 0;
    if context.verdicts.is_forward(sample) {
        found.add(Interval::at(context.record.interval().start()), 1, |one| one);
    }
}

#[cfg(test)]
mod tests {
    use crate::specimen::{day, observed};

    #[test]
    fn only_a_first_sample_that_is_forward_speaks() {
        let of = |valve: &str| observed(&day(valve).audit(), "begins_in_forward_flow");
        assert_eq!(of("F D"), ["0..0 n=1"]);
        for valve in ["D F", "V F", "U F"] {
            assert_eq!(of(valve), [""; 0], "{valve}");
        }
    }
}
