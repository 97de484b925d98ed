//! A blank or unknown product in a record that names others (method, section 6).

use super::look::{Found, Look};
use trace::{FigureKind, Definition, Interval, Rank, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "unknown_product",
    title: "product blank or unknown",
    rank: Rank::Close,
    figures: &[("product", FigureKind::Word), ("limit", FigureKind::Temperature), ("time", FigureKind::Time)],
    sentence: "{product}; held to the strictest limit, {limit} and {time}",
    about: &[],
    why: "The limit follows from the product. As it is not known, the strictest one was used, so \
          there may be more exceptions than with the right one.",
    what_to_do: "Find out which product it was. Correct the run sheet, or add the product to the \
                 plant file, and read the record again.",
    source: "method, section 6: Holdtrace's own choice",
};

pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    let context = look.context;
    let record = context.record;
    let instants = record.instants();
    let holding = record.holding_temperature();
    for span in context.spans.iter().filter(|span| span.unknown_product) {
        // While all of it is diverted the limit is not used (ours).
        if !(span.first..=span.last).any(|sample| context.verdicts.is_exposed(sample)) {
            continue;
        }
        let interval = Interval::between(instants[span.first], instants[span.last]);
        found.add(interval, span.last - span.first + 1, |one| {
            let word = record.product().map_or("", |text| text.word(span.first));
            let what = if word.is_empty() {
                "the product cell is blank".to_owned()
            } else {
                format!("the product {word:?} is not in the plant file")
            };
            let limit = span.exact.decimal_not_below(holding.scale());
            one.with("product", Value::Word(what))
                .with("limit", Value::Temperature(limit, holding.unit()))
                .with("time", Value::Time(span.minimum_time))
        });
    }
}

#[cfg(test)]
mod tests {
    use crate::specimen::{Specimen, day, observed};

    #[test]
    fn blank_and_unknown_products_are_told_with_what_they_are_held_to() {
        let of = |specimen: Specimen| observed(&specimen.audit(), "unknown_product");
        assert_eq!(
            of(day("F*6").product("milk*3 eggnog")),
            ["3000..5000 n=3 product=\"the product \\\"eggnog\\\" is not in the plant file\" \
              limit=166 °F time=15000 ms"]
        );
        assert_eq!(
            of(day("F*6").product("milk*3 _")),
            ["3000..5000 n=3 product=\"the product cell is blank\" limit=166 °F time=15000 ms"]
        );
        // Known, or none named at all.
        assert_eq!(of(day("F*6").product("milk")), [""; 0]);
        assert_eq!(of(day("F*6").product("_")), [""; 0]);
    }

    /// While all of it is diverted the limit is not used.
    #[test]
    fn a_diverted_stretch_is_silent() {
        let of = |valve: &str| {
            observed(&day(valve).product("milk*3 _").audit(), "unknown_product").len()
        };
        assert_eq!((of("F*3 D*3"), of("F*3 D*2 V"), of("F*3 D*2 U")), (0, 1, 1));
    }
}
