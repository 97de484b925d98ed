//! A plant, with what is assumed where there is no file.

use crate::bounds::{Accepted, Beyond};
use crate::cleaning::CleaningPlan;
use crate::columns::Columns;
use crate::completeness::RequiredItem;
use crate::equipment::TestPlan;
use crate::limits::Limits;
use crate::loggers::{FileForm, Logger};
use crate::products::Products;
use crate::review::{Retention, Review};
use crate::shift::Shift;
use crate::tube::{Flow, Tube};
use crate::zone::Zone;
use trace::{Decimal, Duration, FlowUnit, Instant, Interval, Ratio};

/// What a plant file says, checked.
#[derive(Debug, Clone, PartialEq)]
pub struct Plant {
    /// The plant's name.
    pub name: String,
    /// The pasteurizer's name.
    pub unit: String,
    /// The zone of local stamps and of all times shown.
    pub zone: Zone,
    /// How the logger's files are written.
    pub form: FileForm,
    /// The logger's columns; of several loggers those of all.
    pub columns: Columns,
    /// The loggers that record a day together, the leading one first; none where one logger does.
    pub loggers: Vec<Logger>,
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
    /// Which thermometer the holding temperature is read from.
    pub thermometer: Thermometer,
    /// Required entries of a day.
    pub required: Vec<RequiredItem>,
    /// How the plant reviews its records.
    pub review: Review,
    /// How long the records are kept, where the plant says it.
    pub retention: Option<Retention>,
    /// Which tests of the equipment are made, and how often.
    pub tests: TestPlan,
    /// What is asked of cleanings.
    pub cleaning: CleaningPlan,
    /// How far the metered amount may be from the stated one, in percent; `None` for 3 % (common
    /// practice).
    pub amount_tolerance: Option<Decimal>,
    /// Who accepted the limits of `beyond`; there may be nothing for them to answer for.
    pub accepted: Option<Accepted>,
    /// The limits set beyond their bounds, in the order of the file.
    pub beyond: Vec<Beyond>,
    /// The file that says all this; `None` when it was assumed because there is no plant file.
    pub file: Option<PlantFile>,
}

/// Which of the two thermometers at the end of the holding tube a reading is from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Thermometer {
    /// The indicating thermometer: the official temperature (CFIA DEIM 1.17.10, archived guidance, text read).
    #[default]
    Indicating,
    /// The recorder-controller's: the readings of the indicating thermometer are then to be entered.
    Recorder,
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
            form: FileForm::default(),
            columns: Columns::default(),
            loggers: Vec::new(),
            limits: Limits::default(),
            products: Products::default(),
            shifts: Vec::new(),
            nominal_flow: None,
            tube: None,
            recorder: None,
            thermometer: Thermometer::Indicating,
            required: Vec::new(),
            review: Review::default(),
            retention: None,
            tests: TestPlan::default(),
            cleaning: CleaningPlan::default(),
            amount_tolerance: None,
            accepted: None,
            beyond: Vec::new(),
            file: None,
        }
    }

    /// The same plant as far as the files of one of its loggers are read.
    #[must_use]
    pub fn of_logger(&self, logger: &Logger) -> Self {
        Self {
            form: logger.form.clone(),
            columns: logger.columns.clone(),
            loggers: Vec::new(),
            ..self.clone()
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

    /// How far the metered amount may be from the stated one, in percent: the plant's own figure, else
    /// 3 % (common practice).
    pub fn amount_limit(&self) -> Decimal {
        self.amount_tolerance.unwrap_or(Decimal::whole(3))
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

    /// The shifts that an interval touches with what each is called there: its name, and before it the date on
    /// which it began where shifts of that name are touched on several dates.
    pub fn named_shifts_over(&self, interval: Interval) -> Vec<(Interval, String)> {
        let spans = self.shifts_over(interval);
        let began = |(span, shift): &(Interval, &Shift)| {
            let date = self.zone.local(span.start()).date_naive();
            let is_of_the_day_before = self.zone.time_of_day(span.start()) < shift.start;
            if is_of_the_day_before { date.pred_opt().unwrap_or(date) } else { date }
        };
        let called = |one: &(Interval, &Shift)| {
            let name = &one.1.name;
            let mut alike = spans.iter().filter(|(_, shift)| shift.name == *name);
            let first = alike.next().map(began);
            let is_on_several = alike.any(|other| Some(began(other)) != first);
            if is_on_several { format!("{} {name}", began(one)) } else { name.clone() }
        };
        spans.iter().map(|one| (one.0, called(one))).collect()
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

#[cfg(test)]
mod tests {
    use super::*;

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

    #[test]
    fn a_shift_that_is_touched_on_two_dates_is_called_by_date_and_name() {
        let text = "schema = 1\nplant = \"P\"\nunit = \"U\"\nzone = \"UTC\"\n[[shifts]]\nname = \"day\"\n\
                    start = \"06:00\"\nend = \"22:00\"\n[[shifts]]\nname = \"night\"\nstart = \"22:00\"\n\
                    end = \"06:00\"\n";
        let Ok(plant) = Plant::parse("plant.toml", text) else { panic!("the plant file") };
        // 2026-03-04T00:00:00Z.
        let hour =
            |hour: i64| Instant::from_unix_milliseconds(1_772_582_400_000 + hour * 3_600_000);
        let names = |from, to| -> Vec<String> {
            let spans = plant.named_shifts_over(Interval::between(hour(from), hour(to)));
            spans.into_iter().map(|(_, name)| name).collect()
        };
        assert_eq!(names(0, 23), ["2026-03-03 night", "day", "2026-03-04 night"]);
        assert_eq!(names(22, 31), ["night", "day"], "one night over midnight");
        assert_eq!(names(7, 23), ["day", "night"]);
    }
}
