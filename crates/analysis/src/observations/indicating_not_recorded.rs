//! The temperature that was judged is not the official one.

use super::look::{Found, Look};
use plant::Thermometer;
use trace::{Definition, Rank, Role};

pub(super) const DEFINITION: Definition = Definition {
    key: "indicating_not_recorded",
    title: "holding temperature read from the recorder",
    rank: Rank::Note,
    figures: &[],
    sentence: "the holding temperature is read from the recorder's thermometer; the readings of the indicating \
               thermometer, which is the official one, are to be entered",
    about: &[Role::HoldingTemperature],
    why: "The indicating thermometer is the official one, and the record has the readings of the \
          recorder instead.",
    what_to_do: "Enter the readings that were taken of the indicating thermometer, on the page \
                 Required entries.",
    source: "the indicating thermometer is the official temperature: CFIA DEIM 1.17.10 (archived guidance, text \
             read); its readings are recorded: ATCP 65.66(3)(d) (text read)",
};

pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    if look.context.plant.thermometer == Thermometer::Recorder {
        found.add(look.context.record.interval(), 1, |one| one);
    }
}

#[cfg(test)]
mod tests {
    use crate::specimen::{day, observed};
    use plant::Thermometer;

    #[test]
    fn a_plant_that_records_the_indicating_thermometer_is_not_told() {
        let of = |thermometer| {
            let audit = day("D F").set(|plant| plant.thermometer = thermometer).audit();
            observed(&audit, "indicating_not_recorded").len()
        };
        assert_eq!((of(Thermometer::Recorder), of(Thermometer::Indicating)), (1, 0));
    }
}
