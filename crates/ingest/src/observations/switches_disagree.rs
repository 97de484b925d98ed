//! Both position switches of the flow diversion device are made at once.

use super::Notes;
use trace::{FigureKind, Definition, Rank, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "switches_disagree",
    title: "position switches disagree",
    rank: Rank::Close,
    figures: &[("rows", FigureKind::Count)],
    sentence: "Rows in which both position switches are made at once: {rows}. The position counts \
               as unknown there. Check the switches.",
    about: &[],
    why: "Both switches can't be made at once: one sticks or is wired wrongly, so the position is \
          not known.",
    what_to_do: "Have both switches inspected.",
    source: "method, section 1",
};

pub(super) fn find(notes: &mut Notes<'_>) {
    for (index, file) in notes.run.files.iter().enumerate() {
        let tally = file.problems.both_switches;
        if tally.count > 0 {
            notes.add_rows(index, tally, vec![("rows", Value::Count(tally.count))]);
        }
    }
}
