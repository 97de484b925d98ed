//! Cleanings in words, and how long product went forward between them.

use crate::Case;
use crate::figures::time_of_day;
use crate::lines::span;
use crate::sentences::{DisplayUnits, quantity};
use crate::words::plural;
use analysis::{
    BetweenCleanings, Border, Circulation, CleaningCycle, FollowedBy, cleaning_thermometer,
};
use plant::Zone;
use trace::{Instant, Role, RunRecord, Value};

/// Which thermometer stands for the return of a cleaning.
pub fn return_temperature(record: &RunRecord) -> &'static str {
    match cleaning_thermometer(record).0 {
        Role::CleaningReturnTemperature => {
            "return temperature by the thermometer in the CIP return"
        }
        _ => "return temperature by the holding thermometer at the FDD",
    }
}

/// Where that thermometer is.
const fn place(thermometer: Role) -> &'static str {
    match thermometer {
        Role::CleaningReturnTemperature => "in the CIP return",
        _ => "at the FDD",
    }
}

/// The least and the greatest temperature of a cleaning: `150.2 °F to 171.0 °F`.
pub fn return_temperatures(cycle: &CleaningCycle, units: DisplayUnits) -> Option<String> {
    let (least, greatest) = cycle.temperatures?;
    let [least, greatest] = [least, greatest]
        .map(|one| quantity(&Value::Temperature(one, cycle.unit), Zone::UTC, units));
    Some(format!("{least} to {greatest}"))
}

/// What followed: `production at 05:12:03`, `nothing in the record`.
pub fn followed(cycle: &CleaningCycle, zone: Zone) -> String {
    let clock = |at: Instant| match time_of_day(zone, at) {
        clock if zone.date(at) == zone.date(cycle.interval.start()) => clock,
        clock => format!("{} {clock}", zone.short_date(at)),
    };
    match cycle.followed_by {
        FollowedBy::Production(at) => format!("production at {}", clock(at)),
        FollowedBy::Cleaning(at) => format!("another cleaning at {}", clock(at)),
        FollowedBy::Nothing => "nothing in the record".to_owned(),
    }
}

/// What the record does not show of a cleaning, or shows against it; empty where there is nothing.
pub fn reservations(cycle: &CleaningCycle) -> Vec<&'static str> {
    let begin = match cycle.begin {
        Border::Seen => None,
        Border::Record => Some("may have begun before the record"),
        Border::Gap => Some("begins in a gap"),
    };
    let end = match cycle.end {
        Border::Seen => None,
        Border::Record => Some("may go on after the record"),
        Border::Gap => Some("ends in a gap"),
    };
    let circulation = match cycle.circulation {
        Circulation::Shown => None,
        Circulation::NotRecorded => Some("flow not recorded"),
        Circulation::NotShown => Some("no cleaning: nothing shows that anything flowed"),
    };
    let product = cycle.product_ran.then_some("no cleaning: product evidently ran forward");
    [product, circulation, begin, end].into_iter().flatten().collect()
}

impl Case {
    /// Why there is no cleaning in the list; `None` where there is one.
    pub fn no_cleaning(&self) -> Option<&'static str> {
        if !self.audit.cleaning_cycles.is_empty() {
            return None;
        }
        Some(match self.record.mode() {
            Some(_) => "The record shows no cleaning.",
            None => "No mode is recorded, so no cleaning can be found.",
        })
    }

    /// Where the temperature of a cleaning is taken: `at the FDD`, `in the CIP return`.
    pub fn cleaning_place(&self) -> &'static str {
        place(cleaning_thermometer(&self.record).0)
    }

    /// The plant's temperature of cleanings: `160 °F`; `None` where it sets none.
    pub fn cleaning_temperature(&self, units: DisplayUnits) -> Option<String> {
        let (_, returning) = cleaning_thermometer(&self.record);
        let limit = self.plant.cleaning.temperature?.figure(returning.unit());
        let limit = limit.decimal_not_below(returning.scale().max(1));
        Some(quantity(&Value::Temperature(limit, returning.unit()), self.plant.zone, units))
    }

    /// A cleaning in a line: when, how hot, for how long, what followed, and what is not shown.
    pub fn cleaning_cycle_line(&self, cycle: &CleaningCycle) -> String {
        let mut parts = vec![cycle.interval.duration().to_string()];
        parts.push(return_temperatures(cycle, DisplayUnits::RECORDED).map_or_else(
            || format!("no temperature {} while anything flowed", place(cycle.thermometer)),
            |temperatures| format!("{temperatures} {}", place(cycle.thermometer)),
        ));
        if let Some((hot, limit)) = cycle.hot.zip(self.cleaning_temperature(DisplayUnits::RECORDED))
        {
            parts.push(format!("{hot} at {limit} or more"));
        }
        parts.push(format!("then {}", followed(cycle, self.plant.zone)));
        parts.extend(reservations(cycle).into_iter().map(str::to_owned));
        format!("{}: {}", span(cycle.interval, self.plant.zone), parts.join("; "))
    }

    /// How long product went forward between two cleanings, in a line.
    pub fn between_line(&self, between: &BetweenCleanings) -> String {
        let time = between.interval.duration();
        let words = self.between_words(between);
        let colon = if words.is_empty() { "" } else { "; " };
        let span = span(between.interval, self.plant.zone);
        format!("{span}: production over {time}{colon}{words}")
    }

    /// The same without the times: whether the plant allows it, and what stands at its ends.
    pub fn between_words(&self, between: &BetweenCleanings) -> String {
        let mut parts = Vec::new();
        if let Some(longest) = self.plant.cleaning.longest_production_run {
            let side = if between.interval.duration() > longest { "longer than" } else { "within" };
            parts.push(format!("{side} the plant's {longest}"));
        }
        if between.not_counted > 0 {
            let count = plural(between.not_counted, "cleaning");
            parts.push(format!("{count} in between not counted"));
        }
        if !between.after_cleaning {
            parts.push("no cleaning before it in the record".to_owned());
        }
        if !between.before_cleaning {
            parts.push("none after it".to_owned());
        }
        parts.join("; ")
    }
}
