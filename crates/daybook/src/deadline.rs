//! Until when a record is to be reviewed.
//!
//! 21 CFR 117.165(a)(4)(i): monitoring and corrective-action records are reviewed within seven
//! working days of their creation, or longer with a written reason (from memory; confirm with the
//! plant's authority). Working days are counted Monday to Friday; a plant's holidays are not known
//! here, so the date that is shown is never later than one that leaves them out.

use chrono::{Datelike as _, Days, NaiveDate, Weekday};

/// How many working days there are for the review.
pub const REVIEW_WITHIN_WORKING_DAYS: u32 = 7;

fn is_working(date: NaiveDate) -> bool {
    !matches!(date.weekday(), Weekday::Sat | Weekday::Sun)
}

/// The last day on which a record that was created on `created` is reviewed in time: the seventh
/// working day after it.
pub fn review_due(created: NaiveDate) -> NaiveDate {
    let mut date = created;
    let mut left = REVIEW_WITHIN_WORKING_DAYS;
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
    fn seven_working_days_by_the_calendar() {
        for (created, due) in [
            ("2026-03-04", "2026-03-13"),
            ("2026-03-06", "2026-03-17"),
            ("2026-03-07", "2026-03-17"),
            ("2026-03-08", "2026-03-17"),
            ("2026-03-09", "2026-03-18"),
        ] {
            assert_eq!(review_due(date(created)), date(due), "created {created}");
        }
        assert_eq!(working_days_between(date("2026-03-06"), date("2026-03-09")), 1);
        assert_eq!(working_days_between(date("2026-03-09"), date("2026-03-06")), -1);
    }

    proptest! {
        #[test]
        fn due_is_seven_working_days_after(days in 0_u64..40_000) {
            let Some(created) = date("1990-01-01").checked_add_days(Days::new(days)) else {
                panic!("within the calendar")
            };
            let due = review_due(created);
            prop_assert_eq!(working_days_between(created, due), 7);
            prop_assert!(is_working(due));
        }
    }
}
