//! The booster pump ran though not everything that it needs was shown.

use super::look::{Found, Look, is_valid};
use trace::{Definition, FigureKind, Rank, Role, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "booster_out_of_turn",
    title: "booster pump ran when not allowed",
    rank: Rank::Close,
    figures: &[("time", FigureKind::Time), ("reason", FigureKind::Word)],
    sentence: "the booster pump ran for {time}, and {reason}",
    about: &[Role::DifferentialPressure, Role::RawPressure, Role::PasteurizedPressure],
    why: "The booster pump raises the pressure of the raw milk, which can then pass through a leak \
          in the regenerator into pasteurized milk.",
    what_to_do: "Have the interlock of the booster pump tested. Have the plates tested for leaks \
                 if the raw side was higher.",
    source: "7 Pa. Code § 59.216c(a)(5): only while the metering pump runs, the device is forward, and the \
             pasteurized side stands 1 psi higher (text read; 1 NYCRR 2.46 was not read)",
};

pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    let (context, record) = (look.context, look.context.record);
    let Some(booster) = record.switch(Role::BoosterPump) else { return };
    let verdicts = context.verdicts;
    let differential = record.differential();
    let floor = context.plant.limits.booster_differential.figure(differential.unit());
    let floor = floor.floor_mantissa(differential.scale());
    // What is not shown is no permission.
    let lacks = |sample: usize| {
        let mantissa = differential.mantissas()[sample];
        if !verdicts.is_forward(sample) {
            Some("the device was not forward")
        } else if record.timing_pump().is_some_and(|pump| pump[sample] != Some(true)) {
            Some("the timing pump was not shown to run")
        } else if !is_valid(mantissa) || mantissa < floor {
            Some("the pasteurized side was not shown to stand high enough above the raw side")
        } else {
            None
        }
    };
    let out_of_turn = |sample| booster[sample] == Some(true) && lacks(sample).is_some();
    for run in look.lasting(out_of_turn) {
        let reason = run.samples().find_map(lacks).unwrap_or_default();
        found.add(run.interval, run.count(), |one| {
            one.with("time", Value::Time(run.interval.duration()))
                .with("reason", Value::Word(reason.to_owned()))
        });
    }
}

#[cfg(test)]
mod tests {
    use crate::specimen::{Specimen, day, observed};

    fn told(specimen: Specimen) -> Vec<String> {
        observed(&specimen.audit(), "booster_out_of_turn")
    }

    fn reasons(specimen: Specimen) -> Vec<String> {
        told(specimen).iter().filter_map(|one| Some(one.split_once("reason=")?.1.to_owned())).collect()
    }

    #[test]
    fn it_needs_the_timing_pump_forward_flow_and_a_differential() {
        let ran = || day("F*9").booster("on");
        assert_eq!(told(ran().pump("on")), [""; 0]);
        assert_eq!(
            told(day("F*3 D*6").booster("on*7 off")),
            ["3000..6000 n=4 time=3000 ms reason=\"the device was not forward\""]
        );
        assert_eq!(reasons(ran().pump("on*3 off")), ["\"the timing pump was not shown to run\""]);
        assert_eq!(reasons(ran().pump("on*3 _")).len(), 1, "not readable is not running");
        assert_eq!(reasons(ran().differential("5*3 0.9")).len(), 1);
        assert_eq!(reasons(ran().differential("5*3 _")).len(), 1);
        assert_eq!(reasons(ran().differential("5*3 1.0")), [""; 0]);
    }

    #[test]
    fn it_may_stop_within_the_response_and_does_as_it_likes_in_cleaning() {
        assert_eq!(told(day("F*3 D*6").booster("on*5 off")), [""; 0]);
        assert_eq!(told(day("D*9").booster("on").mode("cip")), [""; 0]);
        assert_eq!(told(day("D*9").booster("_")), [""; 0]);
    }
}
