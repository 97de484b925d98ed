//! A plant and its limits, with the defaults of the method where the file is silent.

use crate::bounds::{Accepted, Beyond};
use crate::columns::{Columns, DateOrder};
use crate::completeness::RequiredItem;
use crate::limit::{PressureLimit, Source, TemperatureLimit};
use crate::products::Products;
use crate::review::{Retention, Review};
use crate::setting::Setting;
use crate::shift::Shift;
use crate::tube::{Flow, Tube};
use crate::zone::{LoggerClock, Zone};
use std::collections::BTreeSet;
use trace::{Decimal, DecimalMark, Duration, FlowUnit, Instant, Interval, Ratio, TemperatureUnit};

/// What a plant file says, checked.
#[derive(Debug, Clone, PartialEq)]
pub struct Plant {
    /// The plant's name.
    pub name: String,
    /// The pasteurizer's name.
    pub unit: String,
    /// The zone of local stamps and of all times shown.
    pub zone: Zone,
    /// The clock of the logger's stamps.
    pub logger_clock: LoggerClock,
    /// The order of dates in the logger's files, where the plant says it.
    pub date_order: Option<DateOrder>,
    /// The decimal mark in the logger's files, where the plant says it.
    pub decimal_mark: Option<DecimalMark>,
    /// The logger's columns.
    pub columns: Columns,
    /// The limits.
    pub limits: Limits,
    /// The products.
    pub products: Products,
    /// The shifts, in the order of the file.
    pub shifts: Vec<Shift>,
    /// The flow to reckon volumes with where none is recorded.
    pub nominal_flow: Option<Flow>,
    /// The holding tube.
    pub tube: Option<Tube>,
    /// The number or place of the recorder.
    pub recorder: Option<String>,
    /// What the record of a day must hold.
    pub required: Vec<RequiredItem>,
    /// How the plant reviews its records.
    pub review: Review,
    /// How long the records are kept, where the plant says it.
    pub retention: Option<Retention>,
    /// Who accepted the limits of `beyond`; there may be nothing for them to answer for.
    pub accepted: Option<Accepted>,
    /// The limits set beyond their bounds, in the order of the file.
    pub beyond: Vec<Beyond>,
    /// The file that says all this; `None` when it was assumed because there is no plant file.
    pub file: Option<PlantFile>,
}

/// Which bytes a plant was read from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlantFile {
    /// The name as it was given.
    pub name: String,
    /// The SHA-256 of its bytes (FIPS 180-4).
    pub sha256: [u8; 32],
}

impl Plant {
    /// What is assumed without a plant file: stamps in UTC, milk at 161 °F (72 °C), a
    /// differential of 2 psi (14 kPa), columns recognised by their names.
    pub fn assumed() -> Self {
        Self {
            name: "plant not named".to_owned(),
            unit: "unit not named".to_owned(),
            zone: Zone::UTC,
            logger_clock: LoggerClock::Local,
            date_order: None,
            decimal_mark: None,
            columns: Columns::default(),
            limits: Limits::default(),
            products: Products::default(),
            shifts: Vec::new(),
            nominal_flow: None,
            tube: None,
            recorder: None,
            required: Vec::new(),
            review: Review::default(),
            retention: None,
            accepted: None,
            beyond: Vec::new(),
            file: None,
        }
    }

    /// Whether all this was assumed because there is no plant file.
    pub const fn is_assumed(&self) -> bool {
        self.file.is_none()
    }

    /// The flow below which a meter proves nothing (method, section 7): the plant's own, else a
    /// tenth of the flow of the tube's test, else a tenth of the nominal flow; `None` where none
    /// of the three is known.
    pub fn low_flow_limit(&self, unit: FlowUnit) -> Option<Ratio> {
        if let Some(set) = self.limits.low_flow {
            return Some(set.exactly_in(unit));
        }
        let full = self.full_flow()?.exactly_in(unit);
        Some(Ratio::new(full.numerator(), full.denominator() * 10))
    }

    /// The flow of the tube's test, else the nominal flow.
    pub fn full_flow(&self) -> Option<Flow> {
        let tested = self.tube.as_ref().and_then(Tube::certificate).map(|test| test.test_flow);
        tested.or(self.nominal_flow)
    }

    /// The first shift that holds `instant`.
    pub fn shift_at(&self, instant: Instant) -> Option<&Shift> {
        if self.shifts.is_empty() {
            return None;
        }
        let time = self.zone.time_of_day(instant);
        self.shifts.iter().find(|shift| shift.contains(time))
    }

    /// The shifts that an interval touches, cut at its ends. They begin and end on whole minutes.
    pub fn shifts_over(&self, interval: Interval) -> Vec<(Interval, &Shift)> {
        let mut shifts: Vec<(Interval, &Shift)> = Vec::new();
        if self.shifts.is_empty() {
            return shifts;
        }
        let minute = Duration::from_seconds(60);
        let into_minute = interval.start().unix_milliseconds().rem_euclid(60_000);
        let mut at = interval.start();
        let mut next = at - Duration::from_milliseconds(into_minute) + minute;
        loop {
            let end = next.min(interval.end());
            if let Some(shift) = self.shift_at(at) {
                match shifts.last_mut() {
                    Some((held, same)) if *same == shift && held.end() == at => {
                        *held = held.hull(Interval::at(end));
                    }
                    _ => shifts.push((Interval::between(at, end), shift)),
                }
            }
            if next >= interval.end() {
                return shifts;
            }
            at = end;
            next = next + minute;
        }
    }
}

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
        let built_in = || sampling_interval.times(3).min(Duration::from_seconds(15));
        self.gap.unwrap_or_else(built_in)
    }

    /// How long one channel may show the same reading before it counts as frozen. A channel none
    /// of whose readings prints a decimal stands still for longer without being broken.
    pub fn frozen_after(&self, prints_decimals: bool) -> Duration {
        let built_in = Duration::from_seconds(if prints_decimals { 600 } else { 3600 });
        self.frozen.unwrap_or(built_in)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

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
    fn the_low_flow_limit_is_a_tenth_of_the_test_flow() {
        let flow = |value, unit| Flow { value: Decimal::whole(value), unit };
        let (gallons, litres) = (FlowUnit::GallonPerMinute, FlowUnit::LitrePerHour);
        let mut plant = Plant::assumed();
        assert_eq!(plant.low_flow_limit(gallons), None);
        plant.nominal_flow = Some(flow(40, gallons));
        let least = |plant: &Plant, unit, scale| {
            plant.low_flow_limit(unit).map(|limit| limit.floor_mantissa(scale))
        };
        assert_eq!(least(&plant, gallons, 1), Some(40));
        plant.tube = Some(Tube::Certified(crate::tube::Certificate {
            test_flow: flow(50, gallons),
            test_time: Duration::from_seconds(16),
            tested_on: None,
            tested_by: None,
        }));
        assert_eq!(least(&plant, gallons, 1), Some(50));
        assert_eq!(least(&plant, FlowUnit::GallonPerHour, 0), Some(300));
        // 5 gal/min are 1135.6235352 L/h.
        assert_eq!(least(&plant, litres, 7), Some(11_356_235_352));
        plant.limits.low_flow = Some(flow(600, litres));
        assert_eq!(least(&plant, litres, 0), Some(600));
        assert_eq!(least(&plant, FlowUnit::CubicMetrePerHour, 1), Some(6));
        assert_eq!(least(&plant, FlowUnit::LitrePerMinute, 0), Some(10));
    }

    #[test]
    fn the_most_digits_of_a_plant_file_still_fit() {
        let mut plant = Plant::assumed();
        let units = [
            FlowUnit::LitrePerHour,
            FlowUnit::LitrePerMinute,
            FlowUnit::CubicMetrePerHour,
            FlowUnit::GallonPerMinute,
            FlowUnit::GallonPerHour,
        ];
        for own in units {
            for value in [Decimal::whole(999_999_999), Decimal::new(999_999_999, 9)] {
                plant.limits.low_flow = Some(Flow { value, unit: own });
                for unit in units {
                    let limit =
                        plant.low_flow_limit(unit).map_or(0, |limit| limit.floor_mantissa(18));
                    assert!(limit > 0, "{own:?} {unit:?}");
                }
            }
        }
    }
}
