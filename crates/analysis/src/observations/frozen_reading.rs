//! A channel that the rules do not need that did not move for too long.

use super::look::{Found, Look};
use crate::doubts::{is_needed, recorded};
use plant::Mode;
use trace::{FigureKind, ChannelView, Definition, Rank, Role, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "frozen_reading",
    title: "reading did not move",
    rank: Rank::Note,
    figures: &[("channel", FigureKind::Word), ("reading", FigureKind::Temperature), ("reading", FigureKind::Pressure), ("reading", FigureKind::Flow), ("time", FigureKind::Time)],
    sentence: "{channel} stood at exactly {reading} for {time}; check that the sensor works",
    about: &[],
    why: "A reading that stands still for so long may come from a sensor that has failed, or from \
          a logger that repeats its last value.",
    what_to_do: "Check that the sensor works, and compare it with another one.",
    source: "600 s, 3600 s for whole figures: Holdtrace's own figures",
};

pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    let context = look.context;
    let verdicts = context.verdicts;
    for (role, channel) in recorded(context.record) {
        if is_needed(context.record, context.residence.is_some(), role) {
            continue;
        }
        let after = context.plant.limits.frozen_after(channel.scale() > 0);
        let mantissas = channel.mantissas();
        let mut first = 0;
        for sample in 1..=mantissas.len() {
            let goes_on = sample < mantissas.len()
                && mantissas[sample] == mantissas[sample - 1]
                && !verdicts.gap_after(sample - 1)
                && !context.is_standing(sample)
                && !context.is_standing(sample - 1)
                && (role != Role::CleaningReturnTemperature
                    || [sample - 1, sample].iter().all(|&one| context.mode_at(one) == Mode::Cleaning));
            if goes_on {
                continue;
            }
            let run = (first, sample - 1);
            first = sample;
            if run.0 == run.1 || !ChannelView::is_valid(mantissas[run.0]) {
                continue;
            }
            let interval = verdicts.observed(run);
            if interval.duration() > after {
                found.add(interval, run.1 - run.0 + 1, |one| {
                    one.with("channel", Value::Word(role.name().to_owned()))
                        .with("reading", channel.quantity(mantissas[run.0]))
                        .with("time", Value::Time(interval.duration()))
                });
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::specimen::{Specimen, day, observed};

    fn told(specimen: Specimen) -> Vec<String> {
        observed(&specimen.audit(), "frozen_reading")
    }

    /// 601 samples are 600 s, 602 are more.
    #[test]
    fn a_channel_that_no_rule_needs_freezes_after_ten_minutes() {
        assert_eq!(told(day("D*700").cooled("38.5*601 39.0~")), [""; 0]);
        assert_eq!(
            told(day("D*700").cooled("38.5*602 39.0~")),
            ["0..601000 n=602 channel=\"cooled product temperature\" reading=38.5 °F \
              time=601000 ms"]
        );
        // In forward flow likewise.
        assert_eq!(told(day("F*700").cooled("38.5*602 39.0~")).len(), 1);
    }

    #[test]
    fn whole_figures_may_stand_for_an_hour() {
        assert_eq!(told(day("D*3700").cooled("38*3601 40~")), [""; 0]);
        assert_eq!(told(day("D*3700").cooled("38*3602 40~")).len(), 1);
    }

    #[test]
    fn what_the_rules_need_is_no_observation() {
        assert_eq!(told(day("D*700").holding("165.5").differential("5.5")), [""; 0]);
        // The flow is needed where the time is judged.
        assert_eq!(told(day("D*700").flow("20.5").tube(20, 16_000)), [""; 0]);
        assert_eq!(told(day("D*700").flow("20.5")).len(), 1);
    }

    /// The line by which the solution comes back is empty while product runs.
    #[test]
    fn the_return_of_a_cleaning_is_looked_at_in_a_cleaning_only() {
        let of = |mode: &str| told(day("D*700").cleaning_return("70.5").mode(mode));
        assert_eq!(of("production"), [""; 0]);
        assert_eq!(of("production*500 cip"), [""; 0]);
        assert_eq!(of("cip*602 production").len(), 1);
    }

    #[test]
    fn a_standing_line_and_a_blank_are_silent() {
        assert_eq!(told(day("D*700").cooled("38.5").pump("off")), [""; 0]);
        assert_eq!(told(day("D*700").cooled("_")), [""; 0]);
        // Half of the time it stood: neither half is long enough.
        assert_eq!(told(day("D*1000").cooled("38.5").pump("on*500 off")), [""; 0]);
    }
}
