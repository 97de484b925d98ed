//! Raw milk above its limit in forward flow.

use super::look::{Found, Look};
use plant::Mode;
use trace::{FigureKind, ChannelView, Decimal, Definition, Rank, Role, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "raw_too_warm",
    title: "raw milk too warm",
    rank: Rank::Note,
    figures: &[("channel", FigureKind::Word), ("most", FigureKind::Temperature), ("limit", FigureKind::Temperature)],
    sentence: "{channel} up to {most}; the limit is {limit}",
    about: &[Role::RawTemperature],
    why: "Bacteria grow in raw milk that is too warm, and some leave behind what heating does not \
          remove.",
    what_to_do: "Check the cooling of the raw milk tank and the age of the milk.",
    source: "40 °F: common practice; at most 45 °F / 7 °C: 1 NYCRR 2.49(a) (text read)",
};

pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    let context = look.context;
    let Some(ChannelView::Temperature(channel)) = context.record.channel(Role::RawTemperature) else {
        return;
    };
    let unit = channel.unit();
    let limit = context.plant.limits.raw_maximum.figure(unit);
    let most = limit.ceiling_mantissa(channel.scale());
    let mantissas = channel.mantissas();
    // An invalid reading is the least of integers, and so never above. Water is no milk.
    let runs = context.verdicts.runs(|sample| {
        context.verdicts.is_forward(sample)
            && mantissas[sample] > most
            && context.mode_at(sample) == Mode::Production
    });
    for run in look.joined(runs) {
        found.add(run.interval, run.count(), |one| {
            let (_, warmest) = run.extremes(mantissas);
            let warmest = Decimal::new(warmest, channel.scale());
            one.with("channel", Value::Word(Role::RawTemperature.name().to_owned()))
                .with("most", Value::Temperature(warmest, unit))
                .with("limit", Value::Temperature(limit.decimal_not_above(channel.scale()), unit))
        });
    }
}

#[cfg(test)]
mod tests {
    use crate::specimen::{Specimen, day, observed};

    fn told(specimen: Specimen) -> Vec<String> {
        observed(&specimen.audit(), "raw_too_warm")
    }

    #[test]
    fn equal_to_the_limit_is_cold_enough() {
        assert_eq!(told(day("D F*3 D").raw("40.0")), [""; 0]);
        assert_eq!(
            told(day("D F*3 D").raw("50 40.1 42 40.1 50")),
            ["1000..3000 n=3 channel=\"raw milk temperature\" most=42.0 °F limit=40 °F"]
        );
    }

    #[test]
    fn only_product_in_forward_flow_is_meant() {
        assert_eq!(told(day("D*3").raw("50")), [""; 0]);
        assert_eq!(told(day("F*3").raw("50").mode("cip")), [""; 0]);
        assert_eq!(told(day("F*3").raw("50").mode("water")), [""; 0]);
        assert_eq!(told(day("F*3").raw("_")), [""; 0]);
    }

    /// 59 s apart are one, 60 s are two.
    #[test]
    fn a_reading_that_flickers_is_one() {
        let of = |between: usize| {
            told(day("F*100").raw(&format!("41 40*{between} 41 40"))).len()
        };
        assert_eq!((of(58), of(59)), (1, 2));
    }
}
