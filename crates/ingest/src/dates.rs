//! The order of day, month and year, decided when the whole file has been seen.
//!
//! Tried one after the other: what the plant file says; a date that can be read in one order only;
//! the other files of the same run; and whether only one order makes the days follow each other.
//! When none of these tells, the file is refused: a record on the wrong day is worse than none.
//! Dates with dots are decided apart from those with other marks; they have the day first by common
//! practice, also where the plant file has another order for slashes, which is told.

use crate::date_text::{DateText, ORDERS};
use crate::error::Error;
use crate::stamp::DateSeen;
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

#[derive(Debug, Clone)]
enum Order {
    Known(DateOrder),
    /// The orders in which all dates can be read; they give different days.
    Open(Vec<DateOrder>),
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
        orders.push([dotted, other]);
        if let Some(short) = file.dates.iter().find(|date| date.short_year) {
            said.push(format!("Years of two digits were read as 20xx ({}).", short.text));
        }
    }
    for dotted in [true, false] {
        decide_together(files, &mut orders, dotted, &mut assumptions)?;
    }
    let days = files
        .iter()
        .zip(&orders)
        .map(|(file, orders)| {
            let day = |seen: &DateSeen| {
                let [dotted, other] = orders;
                let order = if is_kind(seen.date, true) { dotted } else { other };
                let Order::Known(order) = order else { return None };
                seen.date.day(*order)
            };
            // Every date was checked to exist in the order of its file.
            file.dates.iter().map(|seen| day(seen).unwrap_or_default()).collect()
        })
        .collect();
    Ok(Decided { days, assumptions })
}

fn is_kind(date: DateText, wanted: bool) -> bool {
    matches!(date, DateText::Numbers { dotted, .. } if dotted == wanted)
}

fn order_within(
    file: &DatesOfFile<'_>,
    dotted: bool,
    stated: Option<DateOrder>,
    said: &mut Vec<String>,
) -> Result<Order, Error> {
    let dates = || file.dates.iter().filter(|seen| is_kind(seen.date, dotted));
    let not = |order: DateOrder| dates().find(move |seen| seen.date.day(order).is_none());
    if let Some(order) = stated {
        if let Some(seen) = not(order) {
            return Err(Error::DateOrder {
                file: file.file.to_owned(),
                line: seen.line,
                text: seen.text.clone(),
                order: order.words(),
            });
        }
        return match dates().find(|seen| is_open(seen.date)) {
            Some(seen)
                if dotted
                    && order == DateOrder::MonthFirst
                    && not(DateOrder::DayFirst).is_none() =>
            {
                Err(Error::DotsMonthFirst {
                    file: file.file.to_owned(),
                    line: seen.line,
                    text: seen.text.clone(),
                })
            }
            _ => Ok(Order::Known(order)),
        };
    }
    let possible: Vec<DateOrder> =
        ORDERS.into_iter().filter(|&order| not(order).is_none()).collect();
    let open = dates().find(|seen| {
        let mut days = possible.iter().map(|&order| seen.date.day(order));
        let first = days.next();
        days.any(|day| Some(day) != first)
    });
    match (possible.as_slice(), open) {
        ([], _) => {
            let proof = |order| not(order).map(|seen| (seen.line, seen.text.clone()));
            Err(Error::ContradictoryDates {
                file: file.file.to_owned(),
                day_first: proof(DateOrder::MonthFirst).unwrap_or_default(),
                month_first: proof(DateOrder::DayFirst).unwrap_or_default(),
            })
        }
        (&[order], _) => {
            let only = |seen: &&DateSeen| {
                ORDERS.into_iter().filter(|&order| seen.date.day(order).is_some()).count() == 1
            };
            let proof = dates()
                .find(only)
                .or_else(|| ORDERS.into_iter().filter(|&other| other != order).find_map(not));
            if let Some(proof) = proof {
                let words = order.words();
                said.push(format!("Dates were read {words}; {} allows nothing else.", proof.text));
            }
            Ok(Order::Known(order))
        }
        // No date at all, or only ones like 05/05/2026.
        (&[order, ..], None) => Ok(Order::Known(order)),
        (&[DateOrder::DayFirst, DateOrder::MonthFirst], Some(seen)) if dotted => {
            said.push(format!(
                "Dates with dots were read day first, as is common practice ({}).",
                seen.text
            ));
            Ok(Order::Known(DateOrder::DayFirst))
        }
        (_, Some(_)) => Ok(Order::Open(possible)),
    }
}

/// Whether two orders give different days.
fn is_open(date: DateText) -> bool {
    let mut days = ORDERS.into_iter().filter_map(|order| date.day(order));
    let first = days.next();
    days.any(|day| Some(day) != first)
}

/// Files that are open by themselves: as the other files, or by days that follow each other.
fn decide_together(
    files: &[DatesOfFile<'_>],
    orders: &mut [[Order; 2]],
    dotted: bool,
    assumptions: &mut [Vec<String>],
) -> Result<(), Error> {
    let kind = usize::from(!dotted);
    let mut open: Vec<usize> = Vec::new();
    let mut possible = ORDERS.to_vec();
    for (file, orders) in orders.iter().enumerate() {
        if let Order::Open(ways) = &orders[kind] {
            open.push(file);
            possible.retain(|order| ways.contains(order));
        }
    }
    let Some(&first_open) = open.first() else { return Ok(()) };
    let dates = |file: usize| files[file].dates.iter().filter(|seen| is_kind(seen.date, dotted));
    let mut proved = (0..files.len())
        .filter(|&file| {
            let day = |seen: &DateSeen, order| seen.date.day(order);
            dates(file)
                .any(|seen| day(seen, DateOrder::DayFirst) != day(seen, DateOrder::MonthFirst))
        })
        .filter_map(|file| match &orders[file][kind] {
            Order::Known(order) => Some((file, *order)),
            Order::Open(_) => None,
        });
    let from_others = proved
        .next()
        .filter(|&(_, order)| proved.all(|(_, other)| other == order) && possible.contains(&order))
        .map(|(file, order)| (order, format!("as the dates of {} prove", files[file].file)));
    let by_days = || {
        let follow = |order: &DateOrder| {
            let mut days: Vec<i32> = open
                .iter()
                .flat_map(|&file| dates(file))
                .filter_map(|seen| seen.date.day(*order))
                .collect();
            days.sort_unstable();
            days.dedup();
            days.len() > 1 && days.windows(2).all(|pair| pair[1] - pair[0] == 1)
        };
        let following: Vec<DateOrder> = possible.iter().copied().filter(follow).collect();
        match following.as_slice() {
            &[order] => Some((order, "which alone makes the days follow each other".to_owned())),
            _ => None,
        }
    };
    let Some((order, reason)) = from_others.or_else(by_days) else {
        let seen = dates(first_open).find(|seen| is_open(seen.date));
        let ways = match &orders[first_open][kind] {
            Order::Open(ways) => ways.clone(),
            Order::Known(_) => Vec::new(),
        };
        return Err(Error::AmbiguousDate {
            file: files[first_open].file.to_owned(),
            line: seen.map_or(1, |seen| seen.line),
            text: seen.map_or_else(String::new, |seen| seen.text.clone()),
            ways,
        });
    };
    for file in open {
        orders[file][kind] = Order::Known(order);
        assumptions[file].push(format!("Dates were read {}, {reason}.", order.words()));
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
                let mut reader = StampReader::default();
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
            (vec!["08.03.2026"], day_first, vec!["2026-03-08"]),
            (vec!["08.03.2026", "08.25.2026"], month_first, vec!["2026-08-03", "2026-08-25"]),
            (vec!["12/31/25"], None, vec!["2025-12-31"]),
            (vec!["26-3-8"], None, vec!["2026-03-08"]),
            (vec!["26/03/04", "26/03/05"], None, vec!["2026-03-04", "2026-03-05"]),
            (vec!["26/03/04"], day_first, vec!["2004-03-26"]),
            (vec!["31.03.26", "01.04.26"], None, vec!["2026-03-31", "2026-04-01"]),
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
            (vec!["26/03/04"], None, "the date 26/03/04 can be read day first or year first, and"),
            (vec!["08.03.26"], None, "can be read day first or month first or year first, and"),
            (vec!["03/08/26"], None, "can be read day first or month first or year first, and"),
            (
                vec!["08.03.2026"],
                Some(DateOrder::MonthFirst),
                "f.csv:1: the date 08.03.2026 has dots, which is day first by common practice, but the \
                 plant file states month first",
            ),
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
