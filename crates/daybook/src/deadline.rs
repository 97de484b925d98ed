//! Until when a record is to be reviewed.
//!
//! Within how many working days is a setting of the plant, with its source. Working days are counted
//! Monday to Friday; a plant's holidays are not known here, so the date that is shown is never later
//! than one that leaves them out.

use chrono::{Datelike as _, Days, NaiveDate, Weekday};

fn is_working(date: NaiveDate) -> bool {
    !matches!(date.weekday(), Weekday::Sat | Weekday::Sun)
}

/// The last day on which a record that was created on `created` is reviewed in time: the working
/// day `within` working days after it.
pub fn review_due(created: NaiveDate, within: u32) -> NaiveDate {
    let mut date = created;
    let mut left = within;
    while left > 0 {
        let Some(next) = date.checked_add_days(Days::new(1)) else { return date };
        date = next;
        left -= u32::from(is_working(date));
    }
    date
}

/// The working days after `from` up to and including `to`; negative when `to` lies before.
pub fn working_days_between(from: NaiveDate, to: NaiveDate) -> i64 {
    let (early, late, sign) = if from <= to { (from, to, 1) } else { (to, from, -1) };
    let days = early.iter_days().skip(1).take_while(|date| *date <= late);
    sign * days.filter(|date| is_working(*date)).count() as i64
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn date(text: &str) -> NaiveDate {
        text.parse().unwrap_or_else(|cause| panic!("{text}: {cause}"))
    }

    /// The calendar of March 2026 on the wall: the 4th is a Wednesday.
    #[test]
    fn working_days_by_the_calendar() {
        for (created, within, due) in [
            ("2026-03-04", 7, "2026-03-13"),
            ("2026-03-06", 7, "2026-03-17"),
            ("2026-03-07", 7, "2026-03-17"),
            ("2026-03-08", 7, "2026-03-17"),
            ("2026-03-09", 7, "2026-03-18"),
            ("2026-03-06", 1, "2026-03-09"),
            ("2026-03-07", 0, "2026-03-07"),
        ] {
            assert_eq!(review_due(date(created), within), date(due), "created {created}");
        }
        assert_eq!(working_days_between(date("2026-03-06"), date("2026-03-09")), 1);
        assert_eq!(working_days_between(date("2026-03-09"), date("2026-03-06")), -1);
    }

    proptest! {
        #[test]
        fn due_is_so_many_working_days_after(days in 0_u64..40_000, within in 1_u32..30) {
            let Some(created) = date("1990-01-01").checked_add_days(Days::new(days)) else {
                panic!("within the calendar")
            };
            let due = review_due(created, within);
            prop_assert_eq!(working_days_between(created, due), i64::from(within));
            prop_assert!(is_working(due));
        }
    }
}
