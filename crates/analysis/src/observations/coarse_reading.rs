//! A channel that the rules need whose readings are no finer than a whole step.

use super::look::{Found, Look};
use crate::doubts::{is_needed, recorded};
use trace::{ChannelView, Decimal, Definition, FigureKind, PressureUnit, Rank, Ratio, TemperatureUnit, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "coarse_reading",
    title: "coarse reading",
    rank: Rank::Note,
    figures: &[("channel", FigureKind::Word), ("step", FigureKind::TemperatureDifference), ("step", FigureKind::Pressure)],
    sentence: "no reading of the {channel} is finer than {step}; a shortfall smaller than that does not show",
    about: &[],
    why: "A logger that rounds its readings hides a shortfall that is smaller than one step.",
    what_to_do: "Have the logger record finer readings. Until then look closely at readings near \
                 the limit.",
    source: "1 °F / 0.5 °C, 1 psi / 10 kPa: Holdtrace's own figures",
};

pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    let record = look.context.record;
    for (role, channel) in recorded(record) {
        if !is_needed(record, false, role) {
            continue;
        }
        let (step, quantity) = match channel {
            ChannelView::Temperature(channel) => {
                let unit = channel.unit();
                let step = match unit {
                    TemperatureUnit::Fahrenheit => Decimal::whole(1),
                    TemperatureUnit::Celsius => Decimal::new(5, 1),
                };
                (step, Value::TemperatureDifference(step, unit))
            }
            ChannelView::Pressure(channel) => {
                let unit = channel.unit();
                let step = match unit {
                    PressureUnit::Psi => Decimal::whole(1),
                    PressureUnit::Kilopascal => Decimal::whole(10),
                    PressureUnit::Bar => Decimal::new(1, 1),
                    PressureUnit::Millibar => Decimal::whole(100),
                    PressureUnit::Megapascal => Decimal::new(1, 2),
                };
                (step, Value::Pressure(step, unit))
            }
            ChannelView::Flow(_) => continue,
        };
        let step = Ratio::from(step).ceiling_mantissa(channel.scale());
        // While the line stands nothing is asked of readings. A scale too small for the step is
        // coarser than it in any case.
        let mut readings = channel
            .mantissas()
            .iter()
            .enumerate()
            .filter(|&(sample, &one)| ChannelView::is_valid(one) && !look.context.is_standing(sample))
            .map(|(_, &mantissa)| step == 0 || mantissa % step == 0)
            .peekable();
        if readings.peek().is_some() && readings.all(|coarse| coarse) {
            found.add(record.interval(), 1, |one| {
                one.with("channel", Value::Word(role.name().to_owned())).with("step", quantity)
            });
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::specimen::{day, observed};
    use trace::PressureUnit;

    #[test]
    fn whole_degrees_are_coarse_and_one_finer_reading_is_enough() {
        let of = |holding: &str| observed(&day("D*3").holding(holding).audit(), "coarse_reading");
        assert_eq!(
            of("165 166.0 _"),
            ["0..2000 n=1 channel=\"holding temperature\" step=1 °F apart"]
        );
        assert_eq!(of("165 166 165.5"), [""; 0]);
        // Without a reading nothing is coarse.
        assert_eq!(of("_"), [""; 0]);
    }

    #[test]
    fn each_unit_has_its_step() {
        let celsius = |holding: &str| {
            let day = day("D*3").metric().holding(holding).differential("31~");
            observed(&day.audit(), "coarse_reading")
        };
        assert_eq!(
            celsius("72.5 73.0 74.5"),
            ["0..2000 n=1 channel=\"holding temperature\" step=0.5 °C apart"]
        );
        assert_eq!(celsius("72.5 73.0 74.4"), [""; 0]);
        for (unit, coarse, fine, step) in [
            (PressureUnit::Psi, "5 6.0 7", "5 6.5 7", "1 psi"),
            (PressureUnit::Kilopascal, "30 40 50", "30 40 55", "10 kPa"),
            (PressureUnit::Bar, "0.3 0.4 0.5", "0.3 0.4 0.55", "0.1 bar"),
            (PressureUnit::Millibar, "300 400 500", "300 400 550", "100 mbar"),
            (PressureUnit::Megapascal, "0.03 0.04 0.05", "0.03 0.04 0.055", "0.01 MPa"),
        ] {
            let of = |cells: &str| {
                let day = day("D*3").pressure_in(unit).differential(cells);
                observed(&day.audit(), "coarse_reading")
            };
            let told = format!("0..2000 n=1 channel=\"differential pressure\" step={step}");
            assert_eq!(of(coarse), [told], "{coarse}");
            assert_eq!(of(fine), [""; 0], "{fine}");
        }
    }

    /// Of two pressures each is told; what no rule needs is not.
    #[test]
    fn only_what_the_rules_need_is_told() {
        let day = day("D*3").pressures("10~", "20~").raw("38~").flow("20~");
        let told = observed(&day.audit(), "coarse_reading");
        assert_eq!(
            told,
            [
                "0..2000 n=1 channel=\"raw pressure\" step=1 psi",
                "0..2000 n=1 channel=\"pasteurized pressure\" step=1 psi",
            ]
        );
    }
}
