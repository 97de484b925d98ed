//! Regeneration efficiency below the plant's floor, where it has one.

use super::look::{Found, Look};
use crate::doubts::Lower;
use crate::trend::regeneration;
use trace::{
    Channel, ChannelView, Decimal, Definition, FigureKind, Rank, Ratio, Role, RunRecord,
    TemperatureUnit, Value,
};

pub(super) const DEFINITION: Definition = Definition {
    key: "low_regeneration",
    title: "low regeneration efficiency",
    rank: Rank::Note,
    figures: &[("least", FigureKind::Percent), ("limit", FigureKind::Percent)],
    sentence: "regeneration efficiency down to {least}; the plant's floor is {limit}",
    about: &[Role::RegeneratedTemperature, Role::RawTemperature],
    why: "Falling regeneration points to fouled plates, a changed flow or a leak.",
    what_to_do: "Follow it on the Trends page. Have the plates cleaned or inspected if it keeps falling.",
    source: "about 90 %: common practice; the floor is set by the plant",
};

pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    let context = look.context;
    let Some(minimum) = context.plant.limits.regeneration_minimum else { return };
    let record = context.record;
    let unit = record.holding_temperature().unit();
    let value = |role: Role, sample: usize| match record.channel(role)? {
        ChannelView::Temperature(channel) => {
            channel.value(sample).map(|value| channel.unit().convert(value, unit))
        }
        ChannelView::Pressure(_) | ChannelView::Flow(_) => None,
    };
    let percent = |sample: usize| {
        regeneration(
            value(Role::RawTemperature, sample)?,
            value(Role::RegeneratedTemperature, sample)?,
            value(Role::HoldingTemperature, sample)?,
        )
        .map(|fraction| fraction * 100.0)
    };
    let Some((raw, regenerated)) = temperatures(record) else { return };
    let holding = record.holding_temperature();
    let nothing = Ratio::from(Decimal::ZERO);
    let rise = Lower::new(raw, holding, nothing);
    let lost = Lower::new(regenerated, holding, nothing);
    let is_low = |sample: usize| {
        let differences = rise.difference(sample).zip(lost.difference(sample));
        differences.is_some_and(|(all, short)| is_below(rise.ratio(all), lost.ratio(short), minimum))
    };
    let settled = look.settled();
    let runs = context.verdicts.runs(|sample| {
        context.verdicts.is_forward(sample)
            && settled[sample]
            && is_low(sample)
    });
    for run in look.joined(runs) {
        found.add(run.interval, run.count(), |one| {
            let least = run.samples().filter_map(percent).fold(f64::INFINITY, f64::min);
            let least = Decimal::new((least * 10.0).floor() as i64, 1);
            one.with("least", Value::Percent(least)).with("limit", Value::Percent(minimum))
        });
    }
}

/// The thermometers before and after the regenerator.
fn temperatures(record: &RunRecord) -> Option<(Thermometer<'_>, Thermometer<'_>)> {
    let of = |role: Role| match record.channel(role)? {
        ChannelView::Temperature(channel) => Some(channel),
        ChannelView::Pressure(_) | ChannelView::Flow(_) => None,
    };
    Some((of(Role::RawTemperature)?, of(Role::RegeneratedTemperature)?))
}

type Thermometer<'a> = &'a Channel<TemperatureUnit>;

/// Whether of a rise of at least a degree so much is lost that the rest is less than `floor` percent
/// of it; exact unless the products have more than 38 digits.
fn is_below(rise: Ratio, lost: Ratio, floor: Decimal) -> bool {
    if rise.numerator() < rise.denominator() {
        return false;
    }
    let whole = i128::from(trace::power_of_ten(floor.scale()));
    let may_be_lost = 100 * whole - i128::from(floor.mantissa());
    let product = |factors: [i128; 4]| {
        factors.into_iter().try_fold(1_i128, i128::checked_mul)
    };
    let is_lost = product([100, whole, lost.numerator(), rise.denominator()]);
    let most = product([may_be_lost, 1, rise.numerator(), lost.denominator()]);
    match (is_lost, most) {
        (Some(is_lost), Some(most)) => is_lost > most,
        _ => 100.0 * lost.to_f64() > (100.0 - floor.to_f64()) * rise.to_f64(),
    }
}

#[cfg(test)]
mod tests {
    use crate::specimen::{day, observed};
    use trace::Decimal;

    /// Raw at 40, holding at 140: a rise of 100 °F, of which the regenerator gave so much.
    fn told(valve: &str, regenerated: &str, minimum: Option<i64>) -> Vec<String> {
        let day = day(valve).holding("140").raw("40").regenerated(regenerated);
        let day = day.set(|plant| {
            plant.limits.regeneration_minimum = minimum.map(Decimal::whole);
        });
        observed(&day.audit(), "low_regeneration")
    }

    #[test]
    fn below_the_plants_floor_is_told() {
        assert_eq!(told("F*3", "125", Some(85)), [""; 0]);
        assert_eq!(
            told("F*3", "125 124.5 124.75", Some(85)),
            ["1000..2000 n=2 least=84.5 % limit=85 %"]
        );
    }

    #[test]
    fn a_plant_without_a_floor_is_silent() {
        assert_eq!(told("F*3", "60", None), [""; 0]);
    }

    /// Equal to the floor is good enough, to the last digit.
    #[test]
    fn a_regenerator_at_its_floor_is_good_enough() {
        let of = |regenerated: &str, floor: Decimal| {
            let day = day("F*3").holding("162.9").raw("38.4").regenerated(regenerated);
            let day = day.set(|plant| plant.limits.regeneration_minimum = Some(floor));
            observed(&day.audit(), "low_regeneration").len()
        };
        // 124.5 °F of rise; 89.9 % of it are 111.9255 °F.
        assert_eq!(of("150.3255", Decimal::new(899, 1)), 0);
        assert_eq!(of("150.3254", Decimal::new(899, 1)), 1);
    }

    /// The cut-in is at sample 10, five minutes later is sample 310.
    #[test]
    fn a_line_that_is_not_settled_is_silent() {
        assert_eq!(
            told("D*10 F*400", "60", Some(85)),
            ["310000..409000 n=100 least=20.0 % limit=85 %"]
        );
        assert_eq!(told("D*10 F*300", "60", Some(85)), [""; 0]);
        assert_eq!(told("D*3", "60", Some(85)), [""; 0]);
    }
}
