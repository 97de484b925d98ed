//! Regeneration efficiency below the plant's floor, where it has one.

use super::{Found, Look};
use crate::trend::regeneration;
use trace::{FigureKind, ChannelView, Decimal, Definition, Rank, Role, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "low_regeneration",
    title: "low regeneration efficiency",
    rank: Rank::Note,
    figures: &[("least", FigureKind::Percent), ("limit", FigureKind::Percent)],
    sentence: "regeneration efficiency down to {least}; the plant's floor is {limit}",
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
    let floor = minimum.to_f64();
    let settled = look.settled();
    let runs = context.verdicts.runs(|sample| {
        context.verdicts.is_forward(sample)
            && settled[sample]
            && percent(sample).is_some_and(|found| found < floor)
    });
    for run in look.joined(runs) {
        found.add(run.interval, run.count(), |one| {
            let least = run.samples().filter_map(percent).fold(f64::INFINITY, f64::min);
            let least = Decimal::new((least * 10.0).floor() as i64, 1);
            one.with("least", Value::Percent(least)).with("limit", Value::Percent(minimum))
        });
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
