//! A plant and its limits, with the defaults of the method where the file is silent.

use crate::columns::{Columns, DateOrder};
use crate::completeness::RequiredItem;
use crate::limit::{PressureLimit, Provenance, Source, TemperatureLimit};
use crate::products::Products;
use crate::review::Review;
use crate::shift::Shift;
use crate::tube::{Flow, Tube};
use crate::zone::Zone;
use trace::{Decimal, DecimalMark, Duration, Instant, Interval};

/// What a plant file says, checked.
#[derive(Debug, Clone, PartialEq)]
pub struct Plant {
    /// The plant's name.
    pub name: String,
    /// The pasteurizer's name.
    pub unit: String,
    /// The zone of local stamps and of all times shown.
    pub zone: Zone,
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
            file: None,
        }
    }

    /// Whether all this was assumed because there is no plant file.
    pub const fn is_assumed(&self) -> bool {
        self.file.is_none()
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
    /// The moment in which the device may act (1.0 s; PMO Appendix I, test 5.6, from memory).
    pub response_allowance: Duration,
    /// Exceptions less than this apart are one episode (60 s; our choice).
    pub merge_time: Duration,
    /// A step longer than this is a gap; `None` for three times the median step (our choice).
    pub gap: Option<Duration>,
    /// How long the device may be between its positions (5 s; our choice).
    pub travel_allowance: Duration,
    /// The interval that the authority asks of an electronic record (5 s; PMO Appendix H, low
    /// confidence: a setting, not a citation).
    pub record_interval: Duration,
    /// Identical readings for longer than this are frozen (600 s; our choice).
    pub frozen_after: Duration,
    /// How far recorder and indicating thermometer may differ: 1 °F / 0.5 °C as printed
    /// (3 CCR 585; Ala. Admin. Code 420-3-17-.05, °F seen).
    pub recorder_difference: TemperatureLimit,
    /// The warmest that cooled product may leave in forward flow: 40 °F / 4 °C (common practice; at
    /// most 45 °F / 7 °C by 1 NYCRR 2.49(b), seen).
    pub cooled_maximum: TemperatureLimit,
    /// The warmest that raw milk may arrive: 40 °F / 4 °C (common practice).
    pub raw_maximum: TemperatureLimit,
    /// The least regeneration efficiency in percent; `None` when it is not watched (about 90 % is
    /// common practice).
    pub regeneration_minimum: Option<Decimal>,
    /// How fast readings may change.
    pub slew: SlewLimits,
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
            differential_source: Source::new(
                "CFIA Dairy Establishment Inspection Manual, App. 19-6 (archived guidance, 2013): \
                 14 kPa (2 psi)",
                Provenance::Seen,
            ),
            response_allowance: Duration::from_seconds(1),
            merge_time: Duration::from_seconds(60),
            gap: None,
            travel_allowance: Duration::from_seconds(5),
            record_interval: Duration::from_seconds(5),
            frozen_after: Duration::from_seconds(600),
            recorder_difference: TemperatureLimit::Printed {
                fahrenheit: Decimal::whole(1),
                celsius: Decimal::new(5, 1),
            },
            cooled_maximum: TemperatureLimit::Printed {
                fahrenheit: Decimal::whole(40),
                celsius: Decimal::whole(4),
            },
            raw_maximum: TemperatureLimit::Printed {
                fahrenheit: Decimal::whole(40),
                celsius: Decimal::whole(4),
            },
            regeneration_minimum: None,
            slew: SlewLimits {
                celsius_per_second: Decimal::whole(10),
                kilopascal_per_second: Decimal::whole(300),
            },
        }
    }
}

impl Limits {
    /// The gap limit for a record with the given median step.
    pub fn gap_limit(&self, sampling_interval: Duration) -> Duration {
        self.gap.unwrap_or_else(|| sampling_interval.times(3))
    }
}
