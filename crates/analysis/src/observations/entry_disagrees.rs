//! An operator wrote down what the record does not show.

use super::look::{Found, Look};
use crate::entries::Check;
use trace::{Definition, FigureKind, Rank, Role};

pub(super) const DEFINITION: Definition = Definition {
    key: "entry_disagrees",
    title: "entry not confirmed by the record",
    rank: Rank::Close,
    figures: &[("text", FigureKind::Word), ("reason", FigureKind::Word)],
    sentence: "{text}: {reason}",
    about: &[Role::HoldingTemperature, Role::RecorderTemperature],
    why: "What the operator wrote down and what the logger recorded can't both be right.",
    what_to_do: "Ask whoever made the entry, compare thermometers and clocks, and write down which \
                 of the two is right.",
    source: "readings, tests and unusual circumstances are recorded: ATCP 65.66(3)(d) to (i) (text read); the comparison is Holdtrace's own",
};

pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    look.told_of_entries(found, |check| match check {
        Check::Disagrees(told) => Some(told),
        _ => None,
    });
}

#[cfg(test)]
mod tests {
    use crate::specimen::{Specimen, day, observed};
    use trace::EntryKind::{Alarm, CutIn, CutOut, Indicating, Occurrence, Recorder};

    fn told(specimen: Specimen) -> Vec<String> {
        let told = observed(&specimen.audit(), "entry_disagrees");
        told.iter().filter_map(|one| Some(one.split_once("reason=")?.1.to_owned())).collect()
    }

    /// Two minutes at 165 °F; a degree is allowed.
    #[test]
    fn a_reading_lies_within_what_the_record_shows_of_its_minute() {
        let of = |reading| told(day("F*120").holding("165.0~").entry(60, Indicating, reading));
        assert_eq!(of("164.0"), [""; 0]);
        assert_eq!(of("166.1"), [""; 0]);
        assert_eq!(of("163.9"), ["\"the record shows 165.0 to 165.1 °F\""]);
        assert_eq!(of("166.2").len(), 1);
        assert_eq!(
            told(day("F*120").entry(600, Indicating, "165.0")),
            ["\"the record has no usable reading at that time\""]
        );
        assert_eq!(told(day("F*120").holding("_").entry(0, Indicating, "165.0")).len(), 1);
    }

    #[test]
    fn a_recorder_is_held_to_the_recorder() {
        let of = |reading| told(day("F*120").recorder("160.0").entry(0, Recorder, reading));
        assert_eq!((of("160.5").len(), of("165.0").len()), (0, 1));
        assert_eq!(told(day("F*120").entry(0, Recorder, "165.0")), [""; 0], "there is none");
        let own = day("F*120").set(|plant| plant.thermometer = plant::Thermometer::Recorder);
        assert_eq!(told(own.entry(0, Recorder, "150.0")).len(), 1);
    }

    /// It cuts out at 162.0 °F at 60 s, falling, and in at 163.0 at 90 s, rising.
    #[test]
    fn a_test_is_one_that_the_record_shows_near_its_time() {
        let line = || {
            day("F*60 D*30 F*300").holding("165.0*55 164.0 163.0 162.0*3 162.1*30 163.0")
        };
        let of = |at, kind, reading| told(line().entry(at, kind, reading));
        assert_eq!(of(60, CutOut, "162.0"), [""; 0]);
        assert_eq!(of(60, CutIn, "162.5"), [""; 0]);
        assert_eq!(of(60, CutOut, "164.0"), ["\"the passage to divert was at 162.0 °F\""]);
        assert_eq!(
            of(300, CutOut, "162.0"),
            ["\"the record shows no passage to divert within a minute of it\""]
        );
        let by_hand = day("F*60 D*30").holding("165.0").entry(60, CutOut, "165.0");
        assert_eq!(
            told(by_hand),
            ["\"the passage to divert was at 165.0 °F, and the temperature did not fall\""]
        );
    }

    #[test]
    fn an_alarm_shows_in_an_alarm_or_a_divert() {
        assert_eq!(told(day("F*300").entry(60, Alarm, "")).len(), 1);
        assert_eq!(told(day("F*100 D*5 F*100").entry(60, Alarm, "")), [""; 0]);
        assert_eq!(told(day("F*300").alarms("off*70 on off", "off").entry(60, Alarm, "")), [""; 0]);
        assert_eq!(told(day("F*300").entry(60, Occurrence, "")), [""; 0], "words are not held to it");
    }
}
