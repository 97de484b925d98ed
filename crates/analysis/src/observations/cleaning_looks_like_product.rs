//! An exception in cleaning at which the cooler held product (method, section 4).

use super::look::{Found, Look};
use crate::cleaning::{evident_product, product_is_cold, stretch_of};
use trace::{FigureKind, ChannelView, Decimal, Definition, Rank, Role, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "cleaning_looks_like_product",
    title: "cleaning looks like product",
    rank: Rank::Close,
    figures: &[("cooled", FigureKind::Temperature), ("limit", FigureKind::Temperature)],
    sentence: "forward flow in mode cleaning with the cooled temperature at {cooled}, below {limit}, where product leaves the cooler; it is judged as production",
    about: &[Role::CooledTemperature],
    why: "Cold product at the outlet while the mode says cleaning suggests that milk was run in \
          the wrong mode.",
    what_to_do: "Ask the operator what was in the line, and have the mode signal checked. Resolve \
                 the exception as one of product unless it was water or cleaning solution.",
    source: "45 °F / 7 °C: 1 NYCRR 2.49(b) (text read)",
};

pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    let context = look.context;
    let Some(ChannelView::Temperature(cooled)) = context.record.channel(Role::CooledTemperature)
    else {
        return;
    };
    for exception in look.exceptions {
        if stretch_of(context, look.cleaning, exception).is_none() {
            continue;
        }
        let Some(sample) = evident_product(context, exception) else { continue };
        found.add(exception.observed, 1, |one| {
            let reading = Decimal::new(cooled.mantissas()[sample], cooled.scale());
            one.with("cooled", Value::Temperature(reading, cooled.unit()))
                .with("limit", Value::Temperature(product_is_cold(cooled.unit()), cooled.unit()))
        });
    }
}

#[cfg(test)]
mod tests {
    use crate::specimen::{day, observed};

    /// Cold milk leaves the cooler at sample 6 of a forward run that is short from 5 to 9.
    #[test]
    fn a_cooler_that_is_cold_in_forward_flow_shows_product() {
        let of = |cooled: &str, mode: &str| {
            let day = day("D*5 F*5 D*5").holding("150").cooled(cooled).mode(mode);
            observed(&day.audit(), "cleaning_looks_like_product")
        };
        assert_eq!(
            of("60*6 44.9 60", "cip"),
            ["5000..9000 n=1 cooled=44.9 °F limit=45 °F"]
        );
        // 45 °F itself is not below; nor is anything shown while diverted, or outside cleaning.
        assert_eq!(of("60*6 45.0 60", "cip"), [""; 0]);
        assert_eq!(of("60*3 40 60", "cip"), [""; 0]);
        assert_eq!(of("60*6 44.9 60", "production"), [""; 0]);
    }

    #[test]
    fn in_celsius_the_printed_seven_degrees_hold() {
        let of = |cooled: &str| {
            let day = day("D F*3 D").metric().holding("60").differential("30").cooled(cooled);
            observed(&day.mode("cip").audit(), "cleaning_looks_like_product")
        };
        assert_eq!(of("6.9"), ["1000..3000 n=1 cooled=6.9 °C limit=7 °C"]);
        assert_eq!(of("7.0"), [""; 0]);
    }

    /// Without an exception there is nothing to judge.
    #[test]
    fn legal_flow_in_cleaning_is_not_told() {
        let day = day("D F*3 D").cooled("40").mode("cip");
        assert_eq!(observed(&day.audit(), "cleaning_looks_like_product"), [""; 0]);
    }
}
