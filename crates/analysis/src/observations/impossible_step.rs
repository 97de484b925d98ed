//! A reading that changed faster than its sensor can.

use super::look::{Found, Look};
use crate::context::Context;
use crate::doubts::recorded;
use plant::PressureLimit;
use trace::{ChannelView, Definition, FigureKind, Interval, PressureUnit, Rank, Ratio, TemperatureUnit, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "impossible_step",
    title: "impossible step",
    rank: Rank::Close,
    figures: &[("channel", FigureKind::Word), ("from", FigureKind::Temperature), ("from", FigureKind::Pressure), ("to", FigureKind::Temperature), ("to", FigureKind::Pressure), ("time", FigureKind::Time)],
    sentence: "{channel} went from {from} to {to} in {time}, faster than the sensor can; check its wiring",
    about: &[],
    why: "A reading that jumps faster than a sensor can follow is no measurement, and those near \
          it are in doubt.",
    what_to_do: "Check the sensor, its wiring and the input of the logger, and compare with \
                 another thermometer or gauge.",
    source: "10 °C/s and 300 kPa/s: Holdtrace's own figures",
};

pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    let context = look.context;
    let instants = context.record.instants();
    for (role, channel) in recorded(context.record) {
        let Some(slew) = slew_per_second(context, channel) else { continue };
        let slew = slew.ceiling_mantissa(channel.scale()).max(0).unsigned_abs();
        let mantissas = channel.mantissas();
        let pairs = mantissas.windows(2).zip(instants.windows(2)).enumerate();
        for (before, (readings, stamps)) in pairs {
            let (one, other) = (readings[0], readings[1]);
            let step = stamps[1].since(stamps[0]);
            // Too great to be held is greater than any sensor's step in any case.
            let change = one.abs_diff(other).saturating_mul(1000);
            if change <= slew.saturating_mul(step.milliseconds().unsigned_abs())
                || !ChannelView::is_valid(one)
                || !ChannelView::is_valid(other)
                || context.verdicts.gap_after(before)
                || (context.is_standing(before) && context.is_standing(before + 1))
            {
                continue;
            }
            let interval = Interval::between(stamps[0], stamps[1]);
            found.add(interval, 1, |found| {
                found
                    .with("channel", Value::Word(role.name().to_owned()))
                    .with("from", channel.quantity(one))
                    .with("to", channel.quantity(other))
                    .with("time", Value::Time(step))
            });
        }
    }
}

/// The fastest change a second in the channel's unit; none for flow, which a pump can stop at once.
fn slew_per_second(context: &Context<'_>, channel: ChannelView<'_>) -> Option<Ratio> {
    let slew = context.plant.limits.slew;
    match channel {
        ChannelView::Temperature(channel) => {
            let degree = TemperatureUnit::Celsius.per_degree(channel.unit());
            Some(Ratio::from(slew.celsius_per_second).times(degree))
        }
        ChannelView::Pressure(channel) => Some(
            PressureLimit::Single(slew.kilopascal_per_second, PressureUnit::Kilopascal)
                .figure(channel.unit()),
        ),
        ChannelView::Flow(_) => None,
    }
}

#[cfg(test)]
mod tests {
    use crate::specimen::{Specimen, day, observed};

    fn told(specimen: Specimen) -> Vec<String> {
        observed(&specimen.audit(), "impossible_step")
    }

    /// 10 °C in a second are 18 °F.
    #[test]
    fn exactly_the_fastest_change_is_possible() {
        assert_eq!(told(day("D*3").holding("165.0 183.0 165.0")), [""; 0]);
        assert_eq!(
            told(day("D*3").holding("165.0 183.1 180.0")),
            ["0..1000 n=1 channel=\"holding temperature\" from=165.0 °F to=183.1 °F time=1000 ms"]
        );
        // Falling, and within two seconds twice as much.
        assert_eq!(told(day("D*2").holding("183.1 165.0")).len(), 1);
        assert_eq!(told(day("D*5").step(1, 2000).holding("165*2 201")), [""; 0]);
        assert_eq!(told(day("D*5").step(1, 2000).holding("165.0*2 201.1")).len(), 1);
        assert_eq!(told(day("D*2").metric().holding("72 82").differential("30")), [""; 0]);
        assert_eq!(told(day("D*2").metric().holding("72.0 82.1").differential("30")).len(), 1);
    }

    /// 300 kPa in a second are 43.5 psi (300/6.894757 = 43.511).
    #[test]
    fn pressures_have_a_fastest_change_too() {
        assert_eq!(told(day("D*2").differential("5.0 48.5")), [""; 0]);
        assert_eq!(
            told(day("D*2").differential("5.0 48.6")),
            ["0..1000 n=1 channel=\"differential pressure\" from=5.0 psi to=48.6 psi time=1000 ms"]
        );
        // Of two pressures each is looked at, and not their difference.
        let pair = day("D*2").pressures("10.0 60.0", "15.0 65.0");
        assert_eq!(told(pair).len(), 2);
    }

    #[test]
    fn gaps_blanks_and_a_flow_are_silent() {
        assert_eq!(told(day("D*4").step(1, 4000).holding("60*2 165")), [""; 0]);
        assert_eq!(told(day("D*3").holding("60 _ 165")), [""; 0]);
        assert_eq!(told(day("D*2").flow("0 5000")), [""; 0]);
    }

    /// While the line stands nothing is observed of its readings; when it starts it is.
    #[test]
    fn a_standing_line_is_silent() {
        assert_eq!(told(day("D*2").holding("60 165").pump("off")), [""; 0]);
        assert_eq!(told(day("D*2").holding("60 165").pump("off on")).len(), 1);
    }
}
