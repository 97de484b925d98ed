//! Without a flow or a tube the time can't be judged.

use super::look::{Found, Look};
use trace::{FigureKind, Definition, Rank, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "holding_time_not_judged",
    title: "holding time not judged",
    rank: Rank::Note,
    figures: &[("missing", FigureKind::Word)],
    sentence: "{missing}; only temperature and differential pressure were judged, not the time",
    about: &[],
    why: "Temperature alone does not pasteurize: nothing in this record shows how long the product \
          was held.",
    what_to_do: "Have the flow recorded, and enter the certificate of the tube in the plant file. \
                 Until then the sealed pump and its last test have to show it.",
    source: "method, section 7",
};

pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    let context = look.context;
    if context.residence.is_some() {
        return;
    }
    let missing = match (context.record.flow_rate(), &context.plant.tube) {
        (None, None) => "no flow is recorded and the plant file describes no holding tube",
        (None, Some(_)) => "no flow is recorded",
        (Some(_), _) => "the plant file describes no holding tube",
    };
    found.add(context.record.interval(), 1, |one| {
        one.with("missing", Value::Word(missing.to_owned()))
    });
}

#[cfg(test)]
mod tests {
    use crate::specimen::{Specimen, day, observed};

    #[test]
    fn what_is_missing_is_named() {
        let of = |specimen: Specimen| observed(&specimen.audit(), "holding_time_not_judged");
        let told = |what: &str| [format!("0..1000 n=1 missing={what:?}")];
        assert_eq!(
            of(day("D F")),
            told("no flow is recorded and the plant file describes no holding tube")
        );
        assert_eq!(of(day("D F").tube(20, 16_000)), told("no flow is recorded"));
        assert_eq!(
            of(day("D F").flow("20")),
            told("the plant file describes no holding tube")
        );
        assert_eq!(of(day("D F").flow("20").tube(20, 16_000)), [""; 0]);
    }
}
