//! The medium that heats or cools the product stood as high as the product.

use super::look::{Found, Look, is_valid};
use plant::Mode;
use trace::{
    Channel, ChannelView, Decimal, Definition, FigureKind, PressureUnit, Rank, Ratio, Reading, Role, Toward,
    Value,
};

pub(super) const DEFINITION: Definition = Definition {
    key: "medium_above_product",
    title: "heating or cooling medium above the product",
    rank: Rank::Close,
    figures: &[
        ("channel", FigureKind::Word),
        ("least", FigureKind::Pressure),
        ("limit", FigureKind::Pressure),
    ],
    sentence: "the product stood only {least} above the medium, by the {channel}; it has to stand more than \
               {limit} above it",
    about: &[Role::PasteurizedPressure],
    why: "Where the medium stands higher than the product, it can pass through a leak into the \
          product.",
    what_to_do: "Find out why the pressures came close, and have that section tested for leaks. If \
                 there is one, decide about the product.",
    source: "product above the medium: CFIA DEIM 1.11.12, 1.11.07 (archived guidance, text read); by 14 kPa: \
             Québec P-29, r. 1, s. 11.7.7 (text read)",
};

pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    let context = look.context;
    let record = context.record;
    // The pasteurized side is the lowest that the product has between heater and cooler.
    let Some((_, product)) = record.pressures() else { return };
    let limits = &context.plant.limits;
    let floor = limits.differential_at_all_times.then_some(context.floor.exact);
    for role in [Role::HeatingMediumPressure, Role::CoolingMediumPressure] {
        let Some(ChannelView::Pressure(medium)) = record.channel(role) else { continue };
        let over = Channel::difference(product, &in_unit_of(product, medium));
        let (scale, unit) = (over.scale(), over.unit());
        let is_low = |mantissa: i64| match floor {
            Some(floor) => mantissa < floor.floor_mantissa(scale),
            None => mantissa <= 0,
        };
        let runs = context.verdicts.runs(|sample| {
            let mantissa = over.mantissas()[sample];
            is_valid(mantissa) && is_low(mantissa) && context.mode_at(sample) != Mode::Cleaning
        });
        for run in look.joined(runs) {
            found.add(run.interval, run.count(), |one| {
                let (least, _) = run.extremes(over.mantissas());
                let limit = floor.map_or(Decimal::ZERO, |floor| floor.decimal_not_below(scale));
                one.with("channel", Value::Word(role.name().to_owned()))
                    .with("least", Value::Pressure(Decimal::new(least, scale), unit))
                    .with("limit", Value::Pressure(limit, unit))
            });
        }
    }
}

/// The medium's pressure in the unit of the product's; rounded up where it has no end.
fn in_unit_of(
    product: &Channel<PressureUnit>,
    medium: &Channel<PressureUnit>,
) -> Channel<PressureUnit> {
    let (unit, own) = (product.unit(), medium.unit());
    if unit == own {
        return medium.clone();
    }
    let scale = medium.scale().saturating_add(8).min(12);
    let whole = Decimal::whole(999_999_999);
    let mut converted = Channel::new(unit, (Decimal::whole(-999_999_999), whole), Toward::Up);
    for sample in 0..medium.mantissas().len() {
        converted.push(match medium.reading(sample) {
            Reading::Valid(reading) => {
                let exact = own.convert_exactly(Ratio::from(reading), unit);
                Reading::Valid(exact.decimal_not_below(scale))
            }
            invalid @ Reading::Invalid(_) => invalid,
        });
    }
    converted
}

#[cfg(test)]
mod tests {
    use crate::specimen::{Specimen, day, observed};

    fn told(specimen: Specimen) -> Vec<String> {
        observed(&specimen.audit(), "medium_above_product")
    }

    #[test]
    fn the_product_has_to_stand_above_the_medium_in_every_position() {
        let day = |cooling: &str| day("F*3 D*6").pressures("10", "20").cooling(cooling);
        assert_eq!(
            told(day("12*3 21 20 12")),
            ["3000..4000 n=2 channel=\"cooling medium pressure\" least=-1 psi limit=0 psi"]
        );
        assert_eq!(told(day("19.9")), [""; 0]);
        assert_eq!(told(day("_")), [""; 0]);
        assert_eq!(told(day("21").mode("cip")), [""; 0]);
        // 2 psi where the plant asks for its floor at all times.
        let strict = day("18.1").set(|plant| plant.limits.differential_at_all_times = true);
        assert_eq!(told(strict).len(), 1);
        let strict = day("18.0").set(|plant| plant.limits.differential_at_all_times = true);
        assert_eq!(told(strict), [""; 0]);
    }
}
