//! The text of a date, as far as it can be understood by itself.

use crate::cells::trim;
use crate::months::month_name;
use chrono::{Datelike, NaiveDate};
use plant::DateOrder;

/// A date's text, as far as it can be understood by itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum DateText {
    /// Days since the epoch.
    Day(i32),
    /// Three numbers, of which nothing but the order tells which is the day.
    Numbers {
        first: u8,
        second: u8,
        /// The year of the last number, where it can be one.
        year: Option<i32>,
        /// The last number, where it can be the day and the first one the year.
        last: Option<u8>,
        /// Written with dots, which is day first by common practice.
        dotted: bool,
    },
}

impl DateText {
    /// The day in the given order; `None` when there is no such day.
    pub(crate) fn day(self, order: DateOrder) -> Option<i32> {
        match (self, order) {
            (Self::Day(day), _) => Some(day),
            (Self::Numbers { first, second, year, .. }, DateOrder::DayFirst) => {
                day(year?, second.into(), first.into())
            }
            (Self::Numbers { first, second, year, .. }, DateOrder::MonthFirst) => {
                day(year?, first.into(), second.into())
            }
            (Self::Numbers { first, second, last, .. }, DateOrder::YearFirst) => {
                day(2000 + i32::from(first), second.into(), last?.into())
            }
        }
    }
}

/// All orders in which a date can be read.
pub(crate) const ORDERS: [DateOrder; 3] =
    [DateOrder::DayFirst, DateOrder::MonthFirst, DateOrder::YearFirst];

/// Years outside these are misread numbers, or a logger whose clock was never set.
const YEARS: std::ops::RangeInclusive<i32> = 1990..=2199;

fn day(year: i32, month: u32, day: u32) -> Option<i32> {
    NaiveDate::from_ymd_opt(year, month, day).and_then(since_epoch)
}

/// A day by its count since the Unix epoch.
pub(crate) fn since_unix_epoch(days: i64) -> Option<DateText> {
    let date = NaiveDate::default().checked_add_signed(chrono::TimeDelta::try_days(days)?)?;
    since_epoch(date).map(DateText::Day)
}

fn since_epoch(date: NaiveDate) -> Option<i32> {
    let days = date.signed_duration_since(NaiveDate::default()).num_days();
    i32::try_from(days).ok().filter(|_| YEARS.contains(&date.year()))
}

/// A number of digits, the count of them, and what follows.
fn number(text: &[u8]) -> Option<(u32, usize, &[u8])> {
    let digits = text.iter().take_while(|byte| byte.is_ascii_digit()).count();
    if digits == 0 || digits > 8 {
        return None;
    }
    let (figure, rest) = text.split_at(digits);
    let value = figure.iter().fold(0, |value, byte| value * 10 + u32::from(byte - b'0'));
    Some((value, digits, rest))
}

fn year(value: u32, digits: usize) -> Option<i32> {
    match digits {
        4 => Some(value as i32),
        2 => Some(2000 + value as i32),
        _ => None,
    }
}

/// The date at the start of a text, its length, and whether its year is short.
pub(crate) fn date(text: &[u8]) -> Option<(DateText, usize, bool)> {
    if !text.first()?.is_ascii_digit() {
        return date_with_leading_word(text);
    }
    let (first, first_digits, rest) = number(text)?;
    let [separator, rest @ ..] = rest else { return None };
    let separator = *separator;
    if !matches!(separator, b'-' | b'/' | b'.' | b' ') {
        return None;
    }
    let length = |rest: &[u8]| text.len() - rest.len();
    let word = if separator == b'.' { rest.trim_ascii_start() } else { rest };
    if let Some((month, rest)) = month_name(word) {
        // 8-Mar-2026, 8 Mar 2026, 8. März 2026
        let rest = rest.strip_prefix(b".").unwrap_or(rest);
        let [behind, rest @ ..] = rest else { return None };
        if !matches!(behind, b'-' | b'/' | b'.' | b' ') || first_digits > 2 {
            return None;
        }
        let (value, digits, rest) = number(rest)?;
        let date = day(year(value, digits)?, month, first)?;
        return Some((DateText::Day(date), length(rest), digits == 2));
    }
    let (second, second_digits, rest) = number(rest)?;
    if (first_digits, separator, second_digits) == (4, b'-', 3) {
        // 2026-067: the day of the year.
        let date = NaiveDate::from_yo_opt(year(first, 4)?, second).and_then(since_epoch)?;
        return Some((DateText::Day(date), length(rest), false));
    }
    let [behind, rest @ ..] = rest else { return None };
    if *behind != separator || second_digits > 2 {
        return None;
    }
    let (third, third_digits, rest) = number(rest)?;
    if first_digits == 4 {
        if third_digits > 2 {
            return None;
        }
        let date = day(year(first, first_digits)?, second, third)?;
        return Some((DateText::Day(date), length(rest), false));
    }
    // Blanks part other things too, so there must be a whole year.
    if first_digits > 2 || separator == b' ' && third_digits != 4 {
        return None;
    }
    let date = DateText::Numbers {
        first: first as u8,
        second: second as u8,
        year: year(third, third_digits),
        last: (first_digits == 2 && third_digits <= 2).then_some(third as u8),
        dotted: separator == b'.',
    };
    Some((date, length(rest), third_digits <= 2))
}

/// `Mar 8, 2026`, with or without the day of the week before it; `Sun 03/08/2026`.
fn date_with_leading_word(text: &[u8]) -> Option<(DateText, usize, bool)> {
    const DAYS: [&[u8]; 7] = [b"mon", b"tue", b"wed", b"thu", b"fri", b"sat", b"sun"];
    let word = text.iter().take_while(|byte| byte.is_ascii_alphabetic()).count();
    let (name, rest) = text.split_at(word);
    let is_weekday = name.len() >= 3 && DAYS.iter().any(|day| name[..3].eq_ignore_ascii_case(day));
    if is_weekday {
        let rest = trim(rest.strip_prefix(b",").unwrap_or(rest));
        if rest.is_empty()
            || rest.first().is_some_and(u8::is_ascii_alphabetic) && month_name(rest).is_none()
        {
            return None;
        }
        let (date, length, short) = date(rest)?;
        return Some((date, text.len() - rest.len() + length, short));
    }
    let (month, rest) = month_name(text)?;
    let rest = trim(rest.strip_prefix(b".").unwrap_or(rest));
    let rest = rest.strip_prefix(b"-").unwrap_or(rest);
    let (in_month, digits, rest) = number(rest)?;
    if digits > 2 {
        return None;
    }
    let rest = rest.strip_prefix(b",").unwrap_or(rest);
    let rest = rest.strip_prefix(b"-").unwrap_or_else(|| trim(rest));
    let (value, digits, rest) = number(rest)?;
    let date = day(year(value, digits)?, month, in_month)?;
    Some((DateText::Day(date), text.len() - rest.len(), digits == 2))
}

/// Eight digits: `20260308`.
pub(crate) fn compact_date(text: &[u8]) -> Option<DateText> {
    let (value, digits, _rest) = number(text.get(..8)?)?;
    if digits != 8 {
        return None;
    }
    day((value / 10_000) as i32, value / 100 % 100, value % 100).map(DateText::Day)
}
