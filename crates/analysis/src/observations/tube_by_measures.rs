//! A holding tube that is known by its measures only.

use super::look::{Found, Look};
use trace::{Definition, Rank};

pub(super) const DEFINITION: Definition = Definition {
    key: "tube_by_measures",
    title: "holding tube known by dimensions only",
    rank: Rank::Note,
    figures: &[],
    sentence: "the holding tube is known by its measures only; no test shows its holding time",
    about: &[],
    why: "Length and diameter give a calculated holding time; only a test shows how long the tube \
          holds.",
    what_to_do: "Have the holding time tested, and enter the certificate in the plant file.",
    source: "holding time tests: PMO App. I, test 11 (not verified)",
};

pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    let context = look.context;
    let by_measures = matches!(context.plant.tube, Some(plant::Tube::Measured(_)));
    if by_measures && context.residence.is_some() {
        found.add(context.record.interval(), 1, |one| one);
    }
}

#[cfg(test)]
mod tests {
    use crate::specimen::{Specimen, day, observed};

    #[test]
    fn a_tube_that_was_never_tested_is_told() {
        let tube = plant::Tube::Measured(plant::Geometry {
            length_metres: 15.0,
            inner_diameter_metres: 0.0729,
            density_kilograms_per_cubic_metre: 1004.0,
            viscosity_pascal_seconds: 0.0006,
        });
        let of = |specimen: Specimen| observed(&specimen.audit(), "tube_by_measures");
        let measured = || day("D F").flow("40").set(|plant| plant.tube = Some(tube.clone()));
        assert_eq!(of(measured()), ["0..1000 n=1"]);
        assert_eq!(of(day("D F").flow("20").tube(20, 16_000)), [""; 0]);
        // Where time is not judged another observation says so.
        assert_eq!(of(day("D F").set(|plant| plant.tube = Some(tube.clone()))), [""; 0]);
    }
}
