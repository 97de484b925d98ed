//! `[limits]`: the limits that do not depend on the product, and their bounds.

use super::{RawLimits, Reader, Text};
use crate::bounds::{Beyond, LONGEST, greatest_difference};
use crate::error::Error;
use crate::limit::{PressureLimit, Provenance, Source, TemperatureLimit};
use crate::limits::Limits;
use crate::plant::Plant;
use crate::setting::Setting;
use trace::{Decimal, Duration, PressureUnit, Ratio, TemperatureUnit};

impl Reader<'_> {
    pub(super) fn limits(
        &self,
        raw: &RawLimits,
        thermometer: Option<TemperatureUnit>,
    ) -> Result<Limits, Error> {
        // Destructured, so that a new setting can't be forgotten here.
        let RawLimits {
            differential,
            differential_source,
            differential_at_all_times,
            response,
            episode,
            gap,
            travel,
            record_interval,
            frozen,
            repeated,
            diverted_hole,
            low_flow,
            high_flow_alarm,
            low_flow_alarm,
            booster_differential,
            zero_check,
            recorder_difference,
            cooled_maximum,
            raw_maximum,
            regeneration_minimum,
            temperature_slew,
            pressure_slew,
        } = raw;
        let mut limits = Limits::default();
        self.differential(&mut limits, differential.as_ref(), differential_source.as_ref())?;
        if let Some(at_all_times) = differential_at_all_times {
            limits.differential_at_all_times = *at_all_times;
            limits.set.insert(Setting::DifferentialAtAllTimes);
        }
        let (mut set_gap, mut set_frozen) = (Duration::ZERO, Duration::ZERO);
        for (setting, text, place) in [
            (Setting::Response, response, &mut limits.response_allowance),
            (Setting::Episode, episode, &mut limits.merge_time),
            (Setting::Gap, gap, &mut set_gap),
            (Setting::Travel, travel, &mut limits.travel_allowance),
            (Setting::RecordInterval, record_interval, &mut limits.record_interval),
            (Setting::Frozen, frozen, &mut set_frozen),
            (Setting::Repeated, repeated, &mut limits.repeated_after),
            (Setting::DivertedHole, diverted_hole, &mut limits.diverted_hole),
        ] {
            if let Some(text) = text {
                *place = self.duration(text, setting.key())?;
                self.not_longer(setting, text, *place);
                limits.set.insert(setting);
            }
        }
        limits.gap = gap.as_ref().map(|_| set_gap);
        limits.frozen = frozen.as_ref().map(|_| set_frozen);
        if let Some(text) = low_flow {
            limits.low_flow = Some(self.flow(text, Setting::LowFlow.key())?);
            limits.set.insert(Setting::LowFlow);
        }
        for (setting, text, place) in [
            (Setting::HighFlow, high_flow_alarm, &mut limits.flow_alarms.0),
            (Setting::LowFlowAlarm, low_flow_alarm, &mut limits.flow_alarms.1),
        ] {
            if let Some(text) = text {
                *place = Some(self.flow(text, setting.key())?);
                limits.set.insert(setting);
            }
        }
        let mut zero = None;
        for (setting, text, place) in [
            (Setting::BoosterDifferential, booster_differential, &mut limits.booster_differential),
            (
                Setting::ZeroCheck,
                zero_check,
                zero.insert(PressureLimit::Single(Decimal::ZERO, PressureUnit::Psi)),
            ),
        ] {
            if let Some(text) = text {
                let (value, unit) = self.quantity::<PressureUnit>(text, setting.key())?;
                if value < Decimal::ZERO {
                    return Err(self.wrong(text, setting.key(), "must not be negative"));
                }
                *place = PressureLimit::Single(value, unit);
                limits.set.insert(setting);
            }
        }
        limits.zero_check = zero_check.as_ref().and(zero);
        if let Some(text) = recorder_difference {
            limits.recorder_difference = self.difference(text, thermometer)?;
            limits.set.insert(Setting::RecorderDifference);
        }
        for (setting, text, place) in [
            (Setting::CooledMaximum, cooled_maximum, &mut limits.cooled_maximum),
            (Setting::RawMaximum, raw_maximum, &mut limits.raw_maximum),
        ] {
            if let Some(text) = text {
                let (value, unit) = self.quantity::<TemperatureUnit>(text, setting.key())?;
                *place = TemperatureLimit::Single(value, unit);
                limits.set.insert(setting);
            }
        }
        let mut regeneration = None;
        for (setting, text, unit, place) in [
            (
                Setting::RegenerationMinimum,
                regeneration_minimum,
                "%",
                regeneration.insert(Decimal::ZERO),
            ),
            (
                Setting::TemperatureSlew,
                temperature_slew,
                "degC/s",
                &mut limits.slew.celsius_per_second,
            ),
            (Setting::PressureSlew, pressure_slew, "kPa/s", &mut limits.slew.kilopascal_per_second),
        ] {
            if let Some(text) = text {
                *place = self.rate(text, setting.key(), unit)?;
                limits.set.insert(setting);
            }
        }
        limits.regeneration_minimum = regeneration_minimum.as_ref().and(regeneration);
        Ok(limits)
    }

    fn differential(
        &self,
        limits: &mut Limits,
        floor: Option<&Text>,
        source: Option<&Text>,
    ) -> Result<(), Error> {
        let Some(text) = floor else {
            return source.map_or(Ok(()), |source| {
                Err(self.wrong(
                    source,
                    "limits.differential_source",
                    "needs the differential that it speaks of beside it, such as differential = \
                     \"2 psi\"",
                ))
            });
        };
        let key = Setting::Differential.key();
        let (value, unit) = self.quantity::<PressureUnit>(text, key)?;
        if value < Decimal::ZERO {
            self.goes_beyond(
                text,
                Beyond {
                    key: key.to_owned(),
                    set: text.get_ref().trim().to_owned(),
                    bound: Setting::Differential.bound().unwrap_or_default(),
                    reason: "raw milk leaks into pasteurized milk where its pressure is higher"
                        .to_owned(),
                },
            );
        }
        limits.differential = PressureLimit::Single(value, unit);
        limits.differential_source = source.map_or_else(Source::plant, |source| {
            Source::new(source.get_ref().as_str(), Provenance::Plant)
        });
        limits.set.insert(Setting::Differential);
        Ok(())
    }

    /// Notes a time that is longer than its setting may be.
    fn not_longer(&self, setting: Setting, text: &Text, time: Duration) {
        let longest = LONGEST.iter().find(|(bounded, ..)| *bounded == setting);
        if let Some((_, longest, reason)) = longest
            && time > *longest
        {
            self.goes_beyond(
                text,
                Beyond {
                    key: setting.key().to_owned(),
                    set: text.get_ref().trim().to_owned(),
                    bound: setting.bound().unwrap_or_default(),
                    reason: (*reason).to_owned(),
                },
            );
        }
    }

    /// The allowed difference of recorder and indicating thermometer.
    fn difference(
        &self,
        text: &Text,
        thermometer: Option<TemperatureUnit>,
    ) -> Result<TemperatureLimit, Error> {
        let key = Setting::RecorderDifference.key();
        let (value, unit) = self.quantity::<TemperatureUnit>(text, key)?;
        if value < Decimal::ZERO {
            return Err(self.wrong(text, key, "must not be negative"));
        }
        // A difference of temperatures has no zero point: 1 °F is 5/9 °C. Both figures are kept,
        // the other one to nine digits behind the point, cut to the stricter side.
        let (numerator, denominator) = match unit {
            TemperatureUnit::Fahrenheit => (5, 9),
            TemperatureUnit::Celsius => (9, 5),
        };
        let exact = Ratio::from(value);
        let other = Ratio::new(exact.numerator() * numerator, exact.denominator() * denominator);
        let other = Decimal::new(other.ceiling_mantissa(9), 9);
        let (fahrenheit, celsius) = match unit {
            TemperatureUnit::Fahrenheit => (value, other),
            TemperatureUnit::Celsius => (other, value),
        };
        for judged in [Some(unit), thermometer].into_iter().flatten() {
            let figure = match judged {
                TemperatureUnit::Fahrenheit => fahrenheit,
                TemperatureUnit::Celsius => celsius,
            };
            if figure > greatest_difference(judged) {
                self.goes_beyond(
                    text,
                    Beyond {
                        key: key.to_owned(),
                        set: text.get_ref().trim().to_owned(),
                        bound: Setting::RecorderDifference.bound().unwrap_or_default(),
                        reason: "two thermometers at one place that differ by more can't both be \
                                 right"
                            .to_owned(),
                    },
                );
                break;
            }
        }
        Ok(TemperatureLimit::Printed { fahrenheit, celsius })
    }

    /// Notes a low-flow limit below a hundredth of the full flow, where that is known.
    pub(super) fn low_flow(&self, plant: &Plant, text: Option<&Text>) {
        let (Some(text), Some(low), Some(full)) = (text, plant.limits.low_flow, plant.full_flow())
        else {
            return;
        };
        let (low, full) = (low.exactly_in(full.unit), Ratio::from(full.value));
        if Ratio::new(full.numerator(), full.denominator() * 100).is_above(low) {
            self.goes_beyond(
                text,
                Beyond {
                    key: Setting::LowFlow.key().to_owned(),
                    set: text.get_ref().trim().to_owned(),
                    bound: Setting::LowFlow.bound().unwrap_or_default(),
                    reason: "a meter that has lost its signal shows next to nothing, and must not \
                             prove a long holding time"
                        .to_owned(),
                },
            );
        }
    }
}
