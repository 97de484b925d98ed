//! The flow left the set points of the alarms, and no alarm came.

use super::look::{Found, Look, is_valid};
use trace::{Decimal, Definition, FigureKind, Rank, Role, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "flow_without_alarm",
    title: "flow beyond a set point without an alarm",
    rank: Rank::Close,
    figures: &[
        ("reading", FigureKind::Flow),
        ("time", FigureKind::Time),
        ("channel", FigureKind::Word),
    ],
    sentence: "the flow reached {reading} within {time} beyond the plant's set point, and the {channel} was not \
               shown to be on",
    about: &[Role::FlowRate],
    why: "A flow beyond its set point shortens the holding time, and the alarm that has to answer \
          did not.",
    what_to_do: "See whether the holding time was short at that moment, and have the set point of \
                 the alarm tested before the next run.",
    source: "flow and the status of the alarms are recorded: ATCP 65.66(4) (text read); the set points are \
             the plant's",
};

pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    let (context, verdicts) = (look.context, look.context.verdicts);
    let limits = &context.plant.limits;
    let Some(flow) = context.record.flow_rate() else { return };
    let (high, low) = limits.flow_alarms;
    for (role, set) in [(Role::HighFlowAlarm, high), (Role::LowFlowAlarm, low)] {
        let (Some(alarm), Some(set)) = (context.record.switch(role), set) else { continue };
        let set = set.exactly_in(flow.unit());
        let is_high = role == Role::HighFlowAlarm;
        let (most, least) = (set.ceiling_mantissa(flow.scale()), set.floor_mantissa(flow.scale()));
        let runs = look.lasting(|sample| {
            let mantissa = flow.mantissas()[sample];
            let beyond = if is_high { mantissa > most } else { mantissa < least };
            is_valid(mantissa)
                && beyond
                && alarm[sample] != Some(true)
                && verdicts.is_exposed(sample)
        });
        for run in runs {
            let (lowest, highest) = run.extremes(flow.mantissas());
            let furthest = Decimal::new(if is_high { highest } else { lowest }, flow.scale());
            found.add(run.interval, run.count(), |one| {
                one.with("reading", Value::Flow(furthest, flow.unit()))
                    .with("time", Value::Time(run.interval.duration()))
                    .with("channel", Value::Word(role.name().to_owned()))
            });
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::specimen::{Specimen, day, observed};
    use plant::Flow;
    use trace::{Decimal, FlowUnit};

    /// Set points of 20 and 10 gal/min.
    fn told(specimen: Specimen) -> Vec<String> {
        let set = |value| Some(Flow { value: Decimal::whole(value), unit: FlowUnit::GallonPerMinute });
        let specimen = specimen.set(|plant| plant.limits.flow_alarms = (set(20), set(10)));
        observed(&specimen.audit(), "flow_without_alarm")
    }

    #[test]
    fn a_flow_beyond_a_set_point_has_to_raise_its_alarm() {
        let fast = || day("F*9").flow("15*3 20.1 20.4 20.1 15");
        assert_eq!(
            told(fast().alarms("off", "off")),
            ["3000..5000 n=3 reading=20.4 gal/min time=2000 ms channel=\"high-flow alarm\""]
        );
        assert_eq!(told(fast().alarms("_", "off")).len(), 1, "not readable is not on");
        assert_eq!(told(fast().alarms("off*3 on*3 off", "off")), [""; 0]);
        assert_eq!(told(day("F*9").flow("15*3 9.9*3 15").alarms("off", "off")).len(), 1);
        // At the set point, within the response, diverted, or without such an alarm.
        assert_eq!(told(day("F*9").flow("20 10").alarms("off", "off")), [""; 0]);
        assert_eq!(told(day("F*9").flow("15*3 21*2 15").alarms("off", "off")), [""; 0]);
        assert_eq!(told(day("D*9").flow("21").alarms("off", "off")), [""; 0]);
        assert_eq!(told(fast()), [""; 0]);
    }
}
