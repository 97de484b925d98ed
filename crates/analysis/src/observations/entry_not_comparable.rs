//! An operator wrote down a reading of something that is not recorded.

use super::look::{Found, Look};
use crate::entries::Check;
use trace::{Definition, FigureKind, Rank};

pub(super) const DEFINITION: Definition = Definition {
    key: "entry_not_comparable",
    title: "entry that the record can't confirm",
    rank: Rank::Note,
    figures: &[("text", FigureKind::Word), ("reason", FigureKind::Word)],
    sentence: "{text}: {reason}",
    about: &[],
    why: "No recorder is in the record, so nothing confirms what was written down about it.",
    what_to_do: "Nothing is wrong with the entry. Name the column of the recorder in the plant \
                 file if the logger writes one.",
    source: "readings, tests and unusual circumstances are recorded: ATCP 65.66(3)(d) to (i) (text read); the comparison is Holdtrace's own",
};

pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    look.told_of_entries(found, |check| match check {
        Check::NotComparable(told) => Some(told),
        _ => None,
    });
}

#[cfg(test)]
mod tests {
    use crate::specimen::{day, observed};
    use trace::EntryKind::Recorder;

    #[test]
    fn a_recorder_that_is_not_recorded_is_told() {
        let of = |day: crate::specimen::Specimen| {
            observed(&day.entry(0, Recorder, "165.0").audit(), "entry_not_comparable").len()
        };
        assert_eq!((of(day("F*60")), of(day("F*60").recorder("165.0"))), (1, 0));
    }
}
