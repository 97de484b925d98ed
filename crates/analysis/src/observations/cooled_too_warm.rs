//! Cooled product above its limit in forward flow, from five minutes after a passage into it on.

use super::look::{Found, Look};
use plant::Mode;
use trace::{FigureKind, ChannelView, Decimal, Definition, Rank, Role, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "cooled_too_warm",
    title: "cooled product too warm",
    rank: Rank::Note,
    figures: &[("channel", FigureKind::Word), ("most", FigureKind::Temperature), ("limit", FigureKind::Temperature)],
    sentence: "{channel} up to {most}; the limit is {limit}",
    about: &[Role::CooledTemperature],
    why: "Bacteria grow faster in product that leaves the cooler too warm, and it keeps for less \
          time.",
    what_to_do: "Check cooling medium and flow, and see how warm the product was in the tank.",
    source: "40 °F: common practice; at most 45 °F / 7 °C: 1 NYCRR 2.49(b) (text read), cultured products excepted",
};

pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    let context = look.context;
    let Some(ChannelView::Temperature(channel)) = context.record.channel(Role::CooledTemperature) else {
        return;
    };
    let unit = channel.unit();
    let limit = context.plant.limits.cooled_maximum.figure(unit);
    let most = limit.ceiling_mantissa(channel.scale());
    let mantissas = channel.mantissas();
    // The cooler has its temperatures five minutes after the product came (ours).
    let settled = look.settled();
    // An invalid reading is the least of integers, and so never above. Water is no milk.
    let runs = context.verdicts.runs(|sample| {
        context.verdicts.is_forward(sample)
            && mantissas[sample] > most
            && context.mode_at(sample) == Mode::Production
            && settled[sample]
            && !context.span(sample).cooled_exempt
    });
    for run in look.joined(runs) {
        found.add(run.interval, run.count(), |one| {
            let (_, warmest) = run.extremes(mantissas);
            let warmest = Decimal::new(warmest, channel.scale());
            one.with("channel", Value::Word(Role::CooledTemperature.name().to_owned()))
                .with("most", Value::Temperature(warmest, unit))
                .with("limit", Value::Temperature(limit.decimal_not_above(channel.scale()), unit))
        });
    }
}

#[cfg(test)]
mod tests {
    use crate::specimen::{Specimen, day, observed};

    const TOLD: &str = "channel=\"cooled product temperature\"";

    fn told(specimen: Specimen) -> Vec<String> {
        observed(&specimen.audit(), "cooled_too_warm")
    }

    #[test]
    fn equal_to_the_limit_is_cold_enough() {
        assert_eq!(told(day("F*3").cooled("40.0")), [""; 0]);
        assert_eq!(
            told(day("F*3").cooled("40.1 41.5 39")),
            [format!("0..1000 n=2 {TOLD} most=41.5 °F limit=40 °F")]
        );
        // 40 °F is 4.44… °C.
        let metric = |cooled: &str| {
            told(day("F*3").metric().holding("74").differential("30").cooled(cooled))
        };
        assert_eq!(metric("4.4"), [""; 0]);
        assert_eq!(metric("4.5"), [format!("0..2000 n=3 {TOLD} most=4.5 °C limit=4.4 °C")]);
    }

    /// The cut-in is at sample 10; five minutes later is sample 310.
    #[test]
    fn from_five_minutes_after_a_cut_in_on() {
        assert_eq!(
            told(day("D*10 F*400").cooled("60")),
            [format!("310000..409000 n=100 {TOLD} most=60 °F limit=40 °F")]
        );
        // Travel in between is no cut-in.
        assert_eq!(
            told(day("D*10 F*350 V F*49").cooled("60*360 30 60")),
            [format!("310000..409000 n=99 {TOLD} most=60 °F limit=40 °F")]
        );
        assert_eq!(told(day("D*10 F*300").cooled("60")), [""; 0]);
    }

    #[test]
    fn only_product_in_forward_flow_is_meant() {
        assert_eq!(told(day("D*3").cooled("60")), [""; 0]);
        assert_eq!(told(day("F*3").cooled("60").mode("water")), [""; 0]);
        assert_eq!(told(day("F*3").cooled("_")), [""; 0]);
    }

    #[test]
    fn a_product_may_be_exempt() {
        let day = |product: &str| {
            day("F*3").cooled("60").product(product).set(|plant| {
                let mut milk = plant.products.default_product().clone();
                let cultured =
                    plant::Product { name: "buttermilk".to_owned(), cooled_exempt: true, ..milk.clone() };
                milk.cooled_exempt = false;
                plant.products = plant::Products::new(milk, vec![cultured], 0);
            })
        };
        assert_eq!(told(day("buttermilk")), [""; 0]);
        // The sheet says otherwise.
        assert_eq!(told(day("buttermilk").run((0, 9000), "milk", "", "")).len(), 1);
        assert_eq!(told(day("milk")).len(), 1);
        // Nobody knows what it is, so that it is not exempt.
        assert_eq!(told(day("buttermilk*2 _")), [format!("2000..2000 n=1 {TOLD} most=60 °F limit=40 °F")]);
    }

    /// A record that names no product is of the plant's default product.
    #[test]
    fn a_default_product_may_be_exempt() {
        let day = day("F*3").cooled("60").set(|plant| {
            let mut product = plant.products.default_product().clone();
            product.cooled_exempt = true;
            plant.products = plant::Products::new(product, Vec::new(), 0);
        });
        assert_eq!(told(day), [""; 0]);
    }
}
