//! The leak sensor answered.

use super::look::{Found, Look};
use trace::{FigureKind, Definition, Rank, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "leak_detected",
    title: "leak detected",
    rank: Rank::Close,
    figures: &[("position", FigureKind::Word), ("lot", FigureKind::Word)],
    sentence: "the leak sensor answered while the flow diversion device was {position}[, lot {lot}]",
    about: &[],
    why: "The leak sensor answers when a valve of the device does not close tightly, so that \
          product may have passed the wrong way.",
    what_to_do: "Have seats and gaskets of the device inspected before the next run, and find out \
                 which product was affected.",
    source: "common practice",
};

pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    let context = look.context;
    let Some(leak) = context.record.leak_detect() else { return };
    for run in context.verdicts.runs(|sample| leak[sample] == Some(true)) {
        found.add(context.verdicts.observed(run), run.1 - run.0 + 1, |one| {
            let lot = context.record.lot().map_or("", |lot| lot.word(run.0));
            let position = context.verdicts.valve(run.0).name().to_owned();
            let one = one.with("position", Value::Word(position));
            if lot.is_empty() { one } else { one.with("lot", Value::Word(lot.to_owned())) }
        });
    }
}

#[cfg(test)]
mod tests {
    use crate::specimen::{Specimen, day, observed};

    #[test]
    fn each_answer_is_told_with_position_and_lot() {
        let of = |specimen: Specimen| observed(&specimen.audit(), "leak_detected");
        assert_eq!(
            of(day("F*3 D*3").leak("off*2 on*2 off").lot("_*3 B")),
            ["2000..3000 n=2 position=\"forward\""]
        );
        assert_eq!(
            of(day("D*4").leak("off on off on").lot("A")),
            [
                "1000..1000 n=1 position=\"divert\" lot=\"A\"",
                "3000..3000 n=1 position=\"divert\" lot=\"A\"",
            ]
        );
        // Also while the line stands.
        assert_eq!(of(day("D*2").leak("on").pump("off")).len(), 1);
    }

    #[test]
    fn off_and_what_is_not_readable_are_silent() {
        assert_eq!(observed(&day("F*3").leak("off ? off").audit(), "leak_detected"), [""; 0]);
        assert_eq!(observed(&day("F*3").audit(), "leak_detected"), [""; 0]);
    }
}
