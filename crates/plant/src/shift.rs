//! Shifts: named stretches of the day on the plant's clock.

use chrono::NaiveTime;

/// A shift, from `start` (included) to `end` (not included) on the plant's clock; it may run past
/// midnight.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Shift {
    /// The name in records and reports.
    pub name: String,
    /// When it begins.
    pub start: NaiveTime,
    /// When it ends; equal to the start for a shift of a whole day.
    pub end: NaiveTime,
}

impl Shift {
    /// Whether the time of day lies in the shift.
    pub fn contains(&self, time: NaiveTime) -> bool {
        if self.start < self.end {
            self.start <= time && time < self.end
        } else {
            self.start <= time || time < self.end
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_shift_may_pass_midnight() {
        let time = |hour| NaiveTime::from_hms_opt(hour, 0, 0).unwrap_or(NaiveTime::MIN);
        let night = Shift { name: "night".to_owned(), start: time(22), end: time(6) };
        for (hour, inside) in [(21, false), (22, true), (0, true), (5, true), (6, false)] {
            assert_eq!(night.contains(time(hour)), inside, "{hour}");
        }
    }
}
