//! The settings of `[limits]` by name, and who stands behind each one that the plant leaves alone.
//!
//! Wherever a limit is printed, its provenance stands beside it: [`crate::Limits::source`] gives it.

use crate::limit::{Provenance, Source};

/// A setting of the `[limits]` section.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Setting {
    /// The floor of pasteurized minus raw.
    Differential,
    /// Whether that floor holds in every position of the device.
    DifferentialAtAllTimes,
    /// The moment in which the device may act.
    Response,
    /// How near exceptions are that make one episode.
    Episode,
    /// The gap limit.
    Gap,
    /// How long the device may be between its positions.
    Travel,
    /// The interval that the authority asks of an electronic record.
    RecordInterval,
    /// When one channel is frozen.
    Frozen,
    /// When all channels are repeated.
    Repeated,
    /// When a hole between diverted samples can't be verified.
    DivertedHole,
    /// The flow that proves nothing.
    LowFlow,
    /// The set point of the high-flow alarm.
    HighFlow,
    /// The set point of the low-flow alarm.
    LowFlowAlarm,
    /// How far pasteurized must be above raw while the booster pump runs.
    BoosterDifferential,
    /// How far the two pressures may read apart while the pumps stand.
    ZeroCheck,
    /// How far recorder and indicating thermometer may differ.
    RecorderDifference,
    /// The warmest that cooled product may leave.
    CooledMaximum,
    /// The warmest that raw milk may arrive.
    RawMaximum,
    /// The least regeneration efficiency.
    RegenerationMinimum,
    /// How fast a temperature may change.
    TemperatureSlew,
    /// How fast a pressure may change.
    PressureSlew,
}

impl Setting {
    /// All settings, in the order of the plant file's description.
    pub const ALL: [Self; 21] = [
        Self::Differential,
        Self::DifferentialAtAllTimes,
        Self::Response,
        Self::Episode,
        Self::Gap,
        Self::Travel,
        Self::RecordInterval,
        Self::Frozen,
        Self::Repeated,
        Self::DivertedHole,
        Self::LowFlow,
        Self::HighFlow,
        Self::LowFlowAlarm,
        Self::BoosterDifferential,
        Self::ZeroCheck,
        Self::RecorderDifference,
        Self::CooledMaximum,
        Self::RawMaximum,
        Self::RegenerationMinimum,
        Self::TemperatureSlew,
        Self::PressureSlew,
    ];

    /// The key in a plant file, with its section.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Differential => "limits.differential",
            Self::DifferentialAtAllTimes => "limits.differential_at_all_times",
            Self::Response => "limits.response",
            Self::Episode => "limits.episode",
            Self::Gap => "limits.gap",
            Self::Travel => "limits.travel",
            Self::RecordInterval => "limits.record_interval",
            Self::Frozen => "limits.frozen",
            Self::Repeated => "limits.repeated",
            Self::DivertedHole => "limits.diverted_hole",
            Self::LowFlow => "limits.low_flow",
            Self::HighFlow => "limits.high_flow_alarm",
            Self::LowFlowAlarm => "limits.low_flow_alarm",
            Self::BoosterDifferential => "limits.booster_differential",
            Self::ZeroCheck => "limits.zero_check",
            Self::RecorderDifference => "limits.recorder_difference",
            Self::CooledMaximum => "limits.cooled_maximum",
            Self::RawMaximum => "limits.raw_maximum",
            Self::RegenerationMinimum => "limits.regeneration_minimum",
            Self::TemperatureSlew => "limits.temperature_slew",
            Self::PressureSlew => "limits.pressure_slew",
        }
    }

    /// What holds where the plant file says nothing, as the plant file would say it or in words.
    pub const fn figure(self) -> &'static str {
        match self {
            Self::Differential => "2 psi (14 kPa)",
            Self::DifferentialAtAllTimes => "no: in forward flow",
            Self::Response => "1 s",
            Self::Episode | Self::Repeated | Self::DivertedHole => "60 s",
            Self::Gap => "three median steps, at most 15 s",
            Self::Travel | Self::RecordInterval => "5 s",
            Self::Frozen => "600 s; 3600 s without decimals",
            Self::LowFlow => "a tenth of the tube's test flow",
            Self::HighFlow | Self::LowFlowAlarm => "no set point is known",
            Self::BoosterDifferential => "1 psi (6.9 kPa)",
            Self::ZeroCheck => "not checked",
            Self::RecorderDifference => "1 \u{b0}F (0.5 \u{b0}C)",
            Self::CooledMaximum | Self::RawMaximum => "40 degF",
            Self::RegenerationMinimum => "not watched",
            Self::TemperatureSlew => "10 degC/s",
            Self::PressureSlew => "300 kPa/s",
        }
    }

    /// Who stands behind the built-in figure.
    pub fn built_in(self) -> Source {
        let (citation, provenance) = match self {
            Self::Differential => (
                "CFIA Dairy Establishment Inspection Manual, App. 19-6 (archived guidance, 2013): \
                 14 kPa (2 psi)",
                Provenance::Seen,
            ),
            Self::Response => ("PMO Appendix I, test 5.6: at most 1 s", Provenance::Memory),
            // A figure known from memory only, and not well enough to be printed as a citation.
            Self::RecordInterval => ("", Provenance::Memory),
            Self::RecorderDifference => (
                "3 CCR 585 prints 1 °F as the accuracy of a recorder, not as an allowed difference",
                Provenance::Ours,
            ),
            Self::CooledMaximum => (
                "40 °F; 1 NYCRR 2.49(b) prints 45 °F (7 °C), cultured products excepted",
                Provenance::CommonPractice,
            ),
            Self::RawMaximum => {
                ("40 °F; 1 NYCRR 2.49(a) prints 45 °F (7 °C)", Provenance::CommonPractice)
            }
            Self::BoosterDifferential => (
                "7 Pa. Code § 59.216c(a)(5): 1 psi (text read; 6.9 kPa, PMO 16p, is not verified; 1 NYCRR \
                 2.46 was not read)",
                Provenance::Seen,
            ),
            Self::RegenerationMinimum => {
                ("not watched; about 90 % is usual", Provenance::CommonPractice)
            }
            Self::DifferentialAtAllTimes
            | Self::ZeroCheck
            | Self::Episode
            | Self::Gap
            | Self::Travel
            | Self::Frozen
            | Self::Repeated
            | Self::DivertedHole
            | Self::LowFlow
            | Self::HighFlow
            | Self::LowFlowAlarm
            | Self::TemperatureSlew
            | Self::PressureSlew => ("", Provenance::Ours),
        };
        Source::new(citation, provenance)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What is said to be built in is what is built in.
    #[test]
    fn each_figure_is_the_built_in_one() {
        use crate::limits::Limits;
        use crate::plant::Plant;
        let head = "schema = 1\nplant = \"P\"\nunit = \"U\"\nzone = \"UTC\"\n[limits]\n";
        for setting in Setting::ALL {
            let key = setting.key().trim_start_matches("limits.");
            let text = format!("{head}{key} = \"{}\"\n", setting.figure());
            let in_words = matches!(
                setting,
                Setting::Differential
                    | Setting::DifferentialAtAllTimes
                    | Setting::Gap
                    | Setting::Frozen
                    | Setting::LowFlow
                    | Setting::HighFlow
                    | Setting::LowFlowAlarm
                    | Setting::BoosterDifferential
                    | Setting::ZeroCheck
                    | Setting::RecorderDifference
                    | Setting::RegenerationMinimum
            );
            match Plant::parse("p", &text) {
                Ok(plant) => {
                    assert!(!in_words, "{text}");
                    let set = plant.limits.set.clone();
                    let built_in = Limits { set, ..Limits::default() };
                    assert_eq!(plant.limits, built_in, "{text}");
                }
                Err(error) => assert!(in_words, "{error}"),
            }
        }
        // Those in words, against the limits that they speak of.
        let Limits { differential, recorder_difference, .. } = Limits::default();
        assert_eq!(
            format!("{differential:?}{recorder_difference:?}"),
            format!(
                "{:?}{:?}",
                crate::PressureLimit::Printed {
                    psi: trace::Decimal::whole(2),
                    kilopascal: trace::Decimal::whole(14)
                },
                crate::TemperatureLimit::Printed {
                    fahrenheit: trace::Decimal::whole(1),
                    celsius: trace::Decimal::new(5, 1)
                }
            )
        );
        let frozen = [true, false].map(|one| Limits::default().frozen_after(one).milliseconds());
        assert_eq!(frozen, [600_000, 3_600_000]);
    }

    /// No figure of low confidence is printed as a citation.
    #[test]
    fn the_record_interval_cites_nothing() {
        let words = Setting::RecordInterval.built_in().in_words();
        assert_eq!(words, "built in; not verified");
    }
}
