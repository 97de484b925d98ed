//! Forward flow while the mode is water or cleaning.

use super::look::{Found, Look};
use plant::Mode;
use trace::{FigureKind, Definition, Rank, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "forward_not_production",
    title: "forward flow outside production",
    rank: Rank::Note,
    figures: &[("mode", FigureKind::Word)],
    sentence: "forward flow while the mode is {mode}; it is judged like product",
    about: &[],
    why: "In water and cleaning modes forward flow is judged as if it were product, so exceptions there may not involve milk.",
    what_to_do: "Ask what was in the line, and have the mode signal checked if it was switched \
                 late.",
    source: "Holdtrace's own check (method, section 8)",
};

pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    let context = look.context;
    for which in [Mode::Water, Mode::Cleaning] {
        if !context.modes.contains(&which) {
            continue;
        }
        let runs = context.verdicts.runs(|sample| {
            context.verdicts.is_forward(sample) && context.mode_at(sample) == which
        });
        for run in runs {
            found.add(context.verdicts.observed(run), run.1 - run.0 + 1, |one| {
                one.with("mode", Value::Word(which.name().to_owned()))
            });
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::specimen::{day, observed};

    #[test]
    fn water_and_cleaning_are_told_apart() {
        let day = day("F*2 D F*2").mode("water*3 cip").audit();
        assert_eq!(
            observed(&day, "forward_not_production"),
            ["0..1000 n=2 mode=\"water\"", "3000..4000 n=2 mode=\"cleaning\""]
        );
    }

    #[test]
    fn production_and_words_that_nobody_knows_are_silent() {
        for mode in ["production", "_", "whatever"] {
            let audit = day("F*3").mode(mode).audit();
            assert_eq!(observed(&audit, "forward_not_production"), [""; 0], "{mode}");
        }
        assert_eq!(observed(&day("D*3").mode("cip").audit(), "forward_not_production"), [""; 0]);
    }
}
