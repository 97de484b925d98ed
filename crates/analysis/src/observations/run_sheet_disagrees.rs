//! The run sheet names another product than the logger (method, section 6).

use super::look::{Found, Look};
use crate::limits::is_same;
use trace::{FigureKind, Definition, Interval, Rank, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "run_sheet_disagrees",
    title: "run sheet and logger name different products",
    rank: Rank::Close,
    figures: &[("product", FigureKind::Word), ("sheet", FigureKind::Word)],
    sentence: "the logger names {product}, the run sheet {sheet}; the stricter limit of both was used; correct whichever is wrong",
    about: &[],
    why: "The limit follows from the product and the lots to hold follow from the sheet; with two \
          names for one time either may be wrong.",
    what_to_do: "Ask which product it was, and correct the run sheet or the product that the \
                 logger was set to.",
    source: "method, section 6: Holdtrace's own choice",
};

pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    let record = look.context.record;
    let instants = record.instants();
    for span in look.context.spans.iter().filter(|span| span.sheet_disagrees) {
        let interval = Interval::between(instants[span.first], instants[span.last]);
        found.add(interval, span.last - span.first + 1, |one| {
            let word = record.product().map_or("", |text| text.word(span.first));
            let runs = record.run_sheet().into_iter();
            let mut others = runs
                .flat_map(|sheet| sheet.runs_at(instants[span.first]))
                .filter(|run| !is_same(&run.product, word));
            // More than one run may claim the instant; the first is named.
            let sheet = others.next().map_or("", |run| &run.product);
            one.with("product", Value::Word(word.to_owned()))
                .with("sheet", Value::Word(sheet.to_owned()))
        });
    }
}

#[cfg(test)]
mod tests {
    use crate::specimen::{Specimen, day, observed};

    #[test]
    fn both_words_are_named() {
        let day = || day("F*10").product("Milk");
        let of = |specimen: Specimen| observed(&specimen.audit(), "run_sheet_disagrees");
        // A run ends before its end.
        assert_eq!(
            of(day().run((2000, 5000), "cream", "", "")),
            ["2000..4000 n=3 product=\"Milk\" sheet=\"cream\""]
        );
        assert_eq!(of(day().run((2000, 5000), " milk", "", "")), [""; 0]);
        // Of two runs that claim the time the one that differs is named.
        assert_eq!(
            of(day().run((0, 99_000), "milk", "", "").run((2000, 5000), "cream", "", "")),
            ["2000..4000 n=3 product=\"Milk\" sheet=\"cream\""]
        );
    }

    /// A sheet that gives the record its words can't disagree with it.
    #[test]
    fn a_record_that_has_its_words_from_the_sheet_is_silent() {
        let day = day("F*10").run((2000, 5000), "cream", "", "");
        assert_eq!(observed(&day.audit(), "run_sheet_disagrees"), [""; 0]);
    }
}
