//! The limits that do not depend on the product, with the defaults of the method, and who stands behind
//! each.

use crate::bounds::LONGEST_GAP;
use crate::limit::{PressureLimit, Source, TemperatureLimit};
use crate::setting::Setting;
use crate::tube::Flow;
use std::collections::BTreeSet;
use trace::{Decimal, Duration, TemperatureUnit};

/// The limits of the audit that do not depend on the product.
#[derive(Debug, Clone, PartialEq)]
pub struct Limits {
    /// The floor of pasteurized minus raw.
    pub differential: PressureLimit,
    /// Where that floor comes from.
    pub differential_source: Source,
    /// The moment in which the device may act (1.0 s; PMO Appendix I, test 5.6, not verified).
    pub response_allowance: Duration,
    /// Exceptions less than this apart are one episode (60 s; our choice).
    pub merge_time: Duration,
    /// A step longer than this is a gap; `None` for three times the median step, but at most 15 s
    /// (our choice).
    pub gap: Option<Duration>,
    /// How long the device may be between its positions (5 s; our choice).
    pub travel_allowance: Duration,
    /// The interval that the authority asks of an electronic record (5 s; PMO Appendix H, low
    /// confidence: a setting, not a citation).
    pub record_interval: Duration,
    /// Identical readings of one channel for longer than this are frozen; `None` for 600 s, and
    /// 3600 s for a channel that prints no decimals (our choice).
    pub frozen: Option<Duration>,
    /// Identical readings of all channels for longer than this are repeated rows (60 s; our
    /// choice).
    pub repeated_after: Duration,
    /// A hole between diverted samples that is longer than this can't be verified (60 s; our
    /// choice: time enough to go forward and divert again unseen).
    pub diverted_hole: Duration,
    /// A flow below this proves nothing; `None` for a tenth of the flow of the tube's test.
    pub low_flow: Option<Flow>,
    /// The set points of the high-flow and of the low-flow alarm, where the plant states them.
    pub flow_alarms: (Option<Flow>, Option<Flow>),
    /// How far pasteurized must be above raw while the booster pump runs: 1 psi (7 Pa. Code
    /// § 59.216c(a)(5)), 6.9 kPa (PMO 16p, not verified).
    pub booster_differential: PressureLimit,
    /// How far the two pressures of the regenerator may read apart while the pumps stand; `None` where the
    /// plant does not check their zero so: where it keeps its lines full they stand apart rightly.
    pub zero_check: Option<PressureLimit>,
    /// Whether the floor of the differential holds in every position of the device, as Québec
    /// (P-29, r. 1, s. 11.7.7) and the CFIA's manual (App. 19-6, archived guidance) ask.
    pub differential_at_all_times: bool,
    /// How far recorder and indicating thermometer may differ: 1 °F / 0.5 °C. Our choice: 3 CCR 585
    /// and Alabama's code print these figures as the recorder's accuracy.
    pub recorder_difference: TemperatureLimit,
    /// The warmest that cooled product may leave in forward flow: 40 °F (common practice, one
    /// figure; 1 NYCRR 2.49(b) prints 45 °F (7 °C), cultured products excepted).
    pub cooled_maximum: TemperatureLimit,
    /// The warmest that raw milk may arrive: 40 °F (common practice, one figure; 1 NYCRR 2.49(a)
    /// prints 45 °F (7 °C)).
    pub raw_maximum: TemperatureLimit,
    /// The least regeneration efficiency in percent; `None` when it is not watched (about 90 % is
    /// common practice).
    pub regeneration_minimum: Option<Decimal>,
    /// How fast readings may change.
    pub slew: SlewLimits,
    /// What the plant file sets; all else is built in.
    pub set: BTreeSet<Setting>,
}

/// The fastest change that a sensor can show, per second. Our own choice, generous: an indicating
/// thermometer needs up to 4 s for 12 °F (1 NYCRR App. 9), and a faster probe is no fault.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SlewLimits {
    /// °C a second; 1.8 times as many °F.
    pub celsius_per_second: Decimal,
    /// kPa a second.
    pub kilopascal_per_second: Decimal,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            differential: PressureLimit::Printed {
                psi: Decimal::whole(2),
                kilopascal: Decimal::whole(14),
            },
            differential_source: Setting::Differential.built_in(),
            response_allowance: Duration::from_seconds(1),
            merge_time: Duration::from_seconds(60),
            gap: None,
            travel_allowance: Duration::from_seconds(5),
            record_interval: Duration::from_seconds(5),
            frozen: None,
            repeated_after: Duration::from_seconds(60),
            diverted_hole: Duration::from_seconds(60),
            low_flow: None,
            flow_alarms: (None, None),
            booster_differential: PressureLimit::Printed {
                psi: Decimal::whole(1),
                kilopascal: Decimal::new(69, 1),
            },
            zero_check: None,
            differential_at_all_times: false,
            recorder_difference: TemperatureLimit::Printed {
                fahrenheit: Decimal::whole(1),
                celsius: Decimal::new(5, 1),
            },
            cooled_maximum: TemperatureLimit::Single(
                Decimal::whole(40),
                TemperatureUnit::Fahrenheit,
            ),
            raw_maximum: TemperatureLimit::Single(Decimal::whole(40), TemperatureUnit::Fahrenheit),
            regeneration_minimum: None,
            slew: SlewLimits {
                celsius_per_second: Decimal::whole(10),
                kilopascal_per_second: Decimal::whole(300),
            },
            set: BTreeSet::new(),
        }
    }
}

impl Limits {
    /// The gap limit for a record with the given median step: three steps, but never more than
    /// 15 s, unless the plant sets it. No legal HTST holding time is shorter, so whole parcels
    /// would pass unseen.
    pub fn gap_limit(&self, sampling_interval: Duration) -> Duration {
        let built_in = || sampling_interval.times(3).min(LONGEST_GAP);
        self.gap.unwrap_or_else(built_in)
    }

    /// How long one channel may show the same reading before it counts as frozen. A channel none
    /// of whose readings prints a decimal stands still for longer without being broken.
    pub fn frozen_after(&self, prints_decimals: bool) -> Duration {
        let built_in = Duration::from_seconds(if prints_decimals { 600 } else { 3600 });
        self.frozen.unwrap_or(built_in)
    }

    /// Who stands behind a setting: the plant where its file sets it, else the built-in source.
    pub fn source(&self, setting: Setting) -> Source {
        if setting == Setting::Differential {
            self.differential_source.clone()
        } else if self.set.contains(&setting) {
            Source::plant()
        } else {
            setting.built_in()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::limit::Provenance;

    #[test]
    fn the_gap_limit_is_never_above_15_s_by_itself() {
        let limits = Limits::default();
        for (sampling, gap) in [(1, 3), (4, 12), (5, 15), (6, 15), (60, 15)] {
            let gap = Duration::from_seconds(gap);
            assert_eq!(limits.gap_limit(Duration::from_seconds(sampling)), gap, "{sampling}");
        }
        let set = Limits { gap: Some(Duration::from_seconds(2)), ..Limits::default() };
        assert_eq!(set.gap_limit(Duration::from_seconds(60)), Duration::from_seconds(2));
    }

    #[test]
    fn a_channel_without_decimals_may_stand_still_for_longer() {
        let limits = Limits::default();
        assert_eq!(limits.frozen_after(true), Duration::from_seconds(600));
        assert_eq!(limits.frozen_after(false), Duration::from_seconds(3600));
    }

    #[test]
    fn a_setting_of_the_plant_is_said_to_be_the_plants() {
        let mut limits = Limits::default();
        for setting in Setting::ALL {
            assert_eq!(limits.source(setting), setting.built_in(), "{}", setting.key());
            assert_ne!(limits.source(setting).provenance, Provenance::Plant, "{}", setting.key());
        }
        limits.set.insert(Setting::Gap);
        assert_eq!(limits.source(Setting::Gap).in_words(), "set by the plant");
        assert_eq!(
            limits.source(Setting::Response).in_words(),
            "PMO Appendix I, test 5.6: at most 1 s (built in; not verified)"
        );
        assert_eq!(limits.source(Setting::Frozen).in_words(), "built in; chosen by this program");
    }
}
