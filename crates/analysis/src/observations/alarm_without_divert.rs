//! A flow alarm was on, and the device stayed forward.

use super::look::{Found, Look};
use trace::{Definition, FigureKind, Rank, Role, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "alarm_without_divert",
    title: "flow alarm without a divert",
    rank: Rank::Close,
    figures: &[("channel", FigureKind::Word), ("time", FigureKind::Time), ("limit", FigureKind::Time)],
    sentence: "the {channel} was on for {time} in forward flow; the device has to divert within {limit}",
    about: &[Role::FlowRate],
    why: "A flow outside its set points shortens the holding time, or the meter has lost it; the \
          device has to divert then by itself.",
    what_to_do: "See whether the flow was outside its set points. If it was, have the alarm and \
                 its divert tested before the next run.",
    source: "the alarms' status is recorded: ATCP 65.66(4)(d) (text read); after excess flow the device is \
             diverted: PMO App. I, test 11.2 (not verified)",
};

pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    let (context, verdicts) = (look.context, look.context.verdicts);
    let allowance = context.plant.limits.response_allowance;
    for role in [Role::HighFlowAlarm, Role::LowFlowAlarm] {
        let Some(alarm) = context.record.switch(role) else { continue };
        let on = |sample| alarm[sample] == Some(true) && verdicts.is_forward(sample);
        for run in look.lasting(on) {
            found.add(run.interval, run.count(), |one| {
                one.with("channel", Value::Word(role.name().to_owned()))
                    .with("time", Value::Time(run.interval.duration()))
                    .with("limit", Value::Time(allowance))
            });
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::specimen::{Specimen, day, observed};

    fn told(specimen: Specimen) -> Vec<String> {
        observed(&specimen.audit(), "alarm_without_divert")
    }

    #[test]
    fn an_alarm_that_does_not_divert_within_the_response_is_told() {
        assert_eq!(
            told(day("F*9").alarms("off*3 on*3 off", "off")),
            ["3000..5000 n=3 channel=\"high-flow alarm\" time=2000 ms limit=1000 ms"]
        );
        assert_eq!(told(day("F*9").alarms("off", "off*3 on*3 off")).len(), 1);
        // Two samples are a second, which is allowed.
        assert_eq!(told(day("F*5 D*4").alarms("off*3 on", "off")), [""; 0]);
        assert_eq!(told(day("D*9").alarms("on", "on")), [""; 0]);
        assert_eq!(told(day("F*9").alarms("on", "on").mode("cip")), [""; 0]);
    }
}
