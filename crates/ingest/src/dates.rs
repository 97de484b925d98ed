//! The order of day and month, decided when the whole file has been seen.
//!
//! Tried one after the other: what the plant file says; a date that can be read in one order only;
//! the other files of the same run; and whether only one order makes the days follow each other.
//! When none of these tells, the file is refused: a record on the wrong day is worse than none.

use crate::error::Error;
use crate::stamp::{DateSeen, DateText};
use plant::DateOrder;

/// The dates of one file.
pub(crate) struct DatesOfFile<'a> {
    pub(crate) file: &'a str,
    pub(crate) dates: &'a [DateSeen],
}

/// For each file its days since the epoch by number of date, and a sentence on what was assumed.
pub(crate) struct Decided {
    pub(crate) days: Vec<Vec<i32>>,
    pub(crate) assumptions: Vec<Vec<String>>,
}

#[derive(Debug, Clone, Copy)]
enum Order {
    Known(DateOrder),
    Open,
}

/// Decides the order for all files of a run.
pub(crate) fn decide(
    files: &[DatesOfFile<'_>],
    stated: Option<DateOrder>,
) -> Result<Decided, Error> {
    let mut assumptions: Vec<Vec<String>> = vec![Vec::new(); files.len()];
    let mut orders = Vec::with_capacity(files.len());
    for (file, said) in files.iter().zip(&mut assumptions) {
        let dotted = order_within(file, true, stated, said)?;
        let other = order_within(file, false, stated, said)?;
        orders.push((dotted, other));
        if let Some(short) = file.dates.iter().find(|date| date.short_year) {
            said.push(format!("Years of two digits were read as 20xx ({}).", short.text));
        }
    }
    decide_together(files, &mut orders, &mut assumptions)?;
    let days = files
        .iter()
        .zip(&orders)
        .map(|(file, &(dotted, other))| {
            file.dates
                .iter()
                .map(|seen| {
                    let order = match (seen.date, dotted, other) {
                        (DateText::DayMonth { dotted: true, .. }, Order::Known(order), _)
                        | (DateText::DayMonth { dotted: false, .. }, _, Order::Known(order)) => {
                            order
                        }
                        _ => DateOrder::DayFirst,
                    };
                    // Every date was checked to exist in the order of its file.
                    seen.date.day(order).unwrap_or_default()
                })
                .collect()
        })
        .collect();
    Ok(Decided { days, assumptions })
}

fn is_kind(date: DateText, wanted: bool) -> bool {
    matches!(date, DateText::DayMonth { dotted, .. } if dotted == wanted)
}

fn order_within(
    file: &DatesOfFile<'_>,
    dotted: bool,
    stated: Option<DateOrder>,
    said: &mut Vec<String>,
) -> Result<Order, Error> {
    let dates = || file.dates.iter().filter(|seen| is_kind(seen.date, dotted));
    if let Some(order) = stated {
        return match dates().find(|seen| seen.date.day(order).is_none()) {
            None => Ok(Order::Known(order)),
            Some(seen) => Err(Error::DateOrder {
                file: file.file.to_owned(),
                line: seen.line,
                text: seen.text.clone(),
                order: match order {
                    DateOrder::YearFirst => "year first",
                    DateOrder::MonthFirst => "month first",
                    DateOrder::DayFirst => "day first",
                },
            }),
        };
    }
    let day_first = dates().find(|seen| seen.date.day(DateOrder::MonthFirst).is_none());
    let month_first = dates().find(|seen| seen.date.day(DateOrder::DayFirst).is_none());
    match (day_first, month_first) {
        (Some(day_first), Some(month_first)) => Err(Error::ContradictoryDates {
            file: file.file.to_owned(),
            day_first: (day_first.line, day_first.text.clone()),
            month_first: (month_first.line, month_first.text.clone()),
        }),
        (Some(proof), None) => {
            said.push(format!("Dates were read day first; {} allows nothing else.", proof.text));
            Ok(Order::Known(DateOrder::DayFirst))
        }
        (None, Some(proof)) => {
            said.push(format!("Dates were read month first; {} allows nothing else.", proof.text));
            Ok(Order::Known(DateOrder::MonthFirst))
        }
        (None, None) => match dates().find(|seen| is_open(seen.date)) {
            // No date at all, or only ones like 05/05/2026.
            None => Ok(Order::Known(DateOrder::DayFirst)),
            Some(seen) if dotted => {
                said.push(format!(
                    "Dates with dots were read day first, as is common practice ({}).",
                    seen.text
                ));
                Ok(Order::Known(DateOrder::DayFirst))
            }
            Some(_) => Ok(Order::Open),
        },
    }
}

/// Whether the two orders give different days.
fn is_open(date: DateText) -> bool {
    date.day(DateOrder::DayFirst) != date.day(DateOrder::MonthFirst)
}

/// Files that are open by themselves: as the other files, or by days that follow each other.
fn decide_together(
    files: &[DatesOfFile<'_>],
    orders: &mut [(Order, Order)],
    assumptions: &mut [Vec<String>],
) -> Result<(), Error> {
    let open: Vec<usize> =
        (0..files.len()).filter(|&file| matches!(orders[file].1, Order::Open)).collect();
    let Some(&first_open) = open.first() else { return Ok(()) };
    let slashed = |file: usize| files[file].dates.iter().filter(|seen| is_kind(seen.date, false));
    let mut proved = (0..files.len())
        .filter(|&file| slashed(file).any(|seen| is_open(seen.date)))
        .filter_map(|file| match orders[file].1 {
            Order::Known(order) => Some((file, order)),
            Order::Open => None,
        });
    let from_others = proved
        .next()
        .filter(|&(_, order)| proved.all(|(_, other)| other == order))
        .map(|(file, order)| (order, format!("as the dates of {} prove", files[file].file)));
    let by_days = || {
        let follow = |order| {
            let mut days: Vec<i32> = open
                .iter()
                .flat_map(|&file| slashed(file))
                .filter_map(|seen| seen.date.day(order))
                .collect();
            days.sort_unstable();
            days.dedup();
            days.len() > 1 && days.windows(2).all(|pair| pair[1] - pair[0] == 1)
        };
        match (follow(DateOrder::DayFirst), follow(DateOrder::MonthFirst)) {
            (true, false) => Some(DateOrder::DayFirst),
            (false, true) => Some(DateOrder::MonthFirst),
            _ => None,
        }
        .map(|order| (order, "which alone makes the days follow each other".to_owned()))
    };
    let Some((order, reason)) = from_others.or_else(by_days) else {
        let seen = slashed(first_open).find(|seen| is_open(seen.date));
        return Err(Error::AmbiguousDate {
            file: files[first_open].file.to_owned(),
            line: seen.map_or(1, |seen| seen.line),
            text: seen.map_or_else(String::new, |seen| seen.text.clone()),
        });
    };
    for file in open {
        orders[file].1 = Order::Known(order);
        let words = if order == DateOrder::DayFirst { "day first" } else { "month first" };
        assumptions[file].push(format!("Dates were read {words}, {reason}."));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stamp::StampReader;
    use chrono::NaiveDate;

    fn decide_texts(
        files: &[&[&str]],
        stated: Option<DateOrder>,
    ) -> Result<Vec<Vec<String>>, String> {
        let readers: Vec<_> = files
            .iter()
            .map(|dates| {
                let mut reader = StampReader::new(stated);
                for (line, date) in dates.iter().enumerate() {
                    let cell = format!("{date} 06:00:00");
                    assert!(reader.stamp(cell.as_bytes(), line as u64 + 1).is_some(), "{date}");
                }
                reader
            })
            .collect();
        let dates: Vec<_> = readers
            .iter()
            .map(|reader| DatesOfFile { file: "f.csv", dates: &reader.dates })
            .collect();
        let decided = decide(&dates, stated).map_err(|error| error.to_string())?;
        let show = |&day: &i32| {
            (NaiveDate::default() + chrono::Days::new(u64::try_from(day).unwrap_or(0))).to_string()
        };
        Ok(decided.days.iter().map(|days| days.iter().map(show).collect()).collect())
    }

    #[test]
    fn what_decides_the_order() {
        let day_first = Some(DateOrder::DayFirst);
        let month_first = Some(DateOrder::MonthFirst);
        for (dates, stated, expected) in [
            (vec!["03/08/2026"], day_first, vec!["2026-08-03"]),
            (vec!["03/08/2026"], month_first, vec!["2026-03-08"]),
            (vec!["08.03.2026"], None, vec!["2026-03-08"]),
            (vec!["08.03.2026"], month_first, vec!["2026-08-03"]),
            (vec!["05/05/2026"], None, vec!["2026-05-05"]),
            (vec!["03/08/2026", "03/13/2026"], None, vec!["2026-03-08", "2026-03-13"]),
            (vec!["03/08/2026", "13/08/2026"], None, vec!["2026-08-03", "2026-08-13"]),
            (vec!["03/08/2026", "04/08/2026"], None, vec!["2026-08-03", "2026-08-04"]),
            (vec!["03/08/2026", "03/09/2026"], None, vec!["2026-03-08", "2026-03-09"]),
            (vec!["2026-03-08"], day_first, vec!["2026-03-08"]),
            (vec!["26/03/08"], Some(DateOrder::YearFirst), vec!["2026-03-08"]),
        ] {
            let expected = vec![expected.into_iter().map(ToOwned::to_owned).collect::<Vec<_>>()];
            assert_eq!(decide_texts(&[&dates], stated), Ok(expected), "{dates:?} {stated:?}");
        }
    }

    #[test]
    fn what_can_be_read_two_ways_is_refused() {
        for (dates, stated, part) in [
            (vec!["03/08/2026"], None, "f.csv:1: the date 03/08/2026 can be read"),
            (vec!["03/08/2026", "03/11/2026"], None, "set date_order"),
            (
                vec!["03/13/2026", "13/03/2026"],
                None,
                "f.csv:2: the date 13/03/2026 can only be read day first, but 03/13/2026 on line 1",
            ),
            (
                vec!["03/08/2026", "03/13/2026"],
                Some(DateOrder::DayFirst),
                "f.csv:2: the date 03/13/2026 can't be read day first",
            ),
            (vec!["03/08/2026"], Some(DateOrder::YearFirst), "can't be read year first"),
        ] {
            let error = decide_texts(&[&dates], stated).err().unwrap_or_default();
            assert!(error.contains(part), "{dates:?}: {error}");
        }
    }

    #[test]
    fn files_of_one_run_help_each_other() {
        let decided = decide_texts(&[&["03/08/2026"], &["03/13/2026"]], None);
        assert_eq!(decided.map(|days| days[0][0].clone()).as_deref(), Ok("2026-03-08"));
        let decided = decide_texts(&[&["03/08/2026"], &["03/09/2026"]], None);
        assert_eq!(decided.map(|days| days[1][0].clone()).as_deref(), Ok("2026-03-09"));
        let split = decide_texts(&[&["03/08/2026"], &["03/13/2026"], &["13/03/2026"]], None);
        assert!(split.is_err());
    }
}
