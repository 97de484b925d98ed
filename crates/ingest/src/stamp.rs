//! The text of time stamps.
//!
//! A stamp is kept as the index of its date's text and the milliseconds of the day, so that each
//! distinct date is read once, and the order of day and month is decided when the whole file has
//! been seen. An offset or the name of a zone that the stamp states is kept with it. Digits beyond the
//! millisecond are cut.

use crate::cells::trim;
use crate::date_text::{DateText, ORDERS, compact_date, date, since_unix_epoch};
use crate::time_text::{Time, ZoneText, hour, time, unpadded};
use plant::{DayNumbers, Times};
use std::collections::HashMap;

pub(crate) const DAY: i64 = 86_400_000;

/// A stamp as it was written, in 8 bytes: an instant, or a date, a time of day and the offset.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Stamp(u64);

/// What a [`Stamp`] holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Written {
    /// The row was recorded, but its stamp can't be read.
    Unreadable,
    /// Milliseconds since the epoch.
    Instant(i64),
    /// A date by its index in [`Dates`], and the time of day.
    Local { date: u32, milliseconds: i64, zone: Stated },
}

/// What a stamp says of its zone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Stated {
    Nothing,
    /// In minutes east of UTC.
    Offset(i64),
    /// A name such as `CST`, by its index in [`StampReader::zones`].
    Name(usize),
}

const INSTANT: u64 = 1 << 63;
const TIME_BITS: u32 = 27;
const OFFSET_BITS: u32 = 12;
/// The offset's code is 0 for none, else minutes plus this …
const OFFSET_ZERO: i64 = 1500;
/// … or the index of a name plus this.
const NAME_ZERO: i64 = 3000;
/// No logger knows more zones.
const MOST_ZONES: usize = 64;
/// More distinct dates are not numbered (ours): the years that are read have fewer days.
const MOST_DATES: usize = 1 << 17;

impl Stamp {
    /// Stands in a row whose stamp can't be read. No instant and no date has this code.
    pub(crate) const UNREADABLE: Self = Self(u64::MAX);

    /// The stamp, where it has no fraction of the second.
    pub(crate) fn of_a_whole_second(self) -> Option<Self> {
        let milliseconds = match self.written() {
            Written::Unreadable => return None,
            Written::Instant(milliseconds) | Written::Local { milliseconds, .. } => milliseconds,
        };
        (milliseconds % 1000 == 0).then_some(self)
    }

    /// The stamp so many milliseconds later in its second.
    pub(crate) fn later_by(self, milliseconds: i64) -> Option<Self> {
        (0..1000).contains(&milliseconds).then_some(Self(self.0 + milliseconds as u64))
    }

    const fn local(date: u32, milliseconds: u32, zone: Stated) -> Self {
        let offset = match zone {
            Stated::Nothing => 0,
            Stated::Offset(minutes) => minutes + OFFSET_ZERO,
            Stated::Name(index) => index as i64 + NAME_ZERO,
        };
        Self(
            ((date as u64) << (TIME_BITS + OFFSET_BITS))
                | ((offset as u64) << TIME_BITS)
                | milliseconds as u64,
        )
    }

    /// Instants of the years that are read lie far below 2^62.
    pub(crate) const fn instant(milliseconds: i64) -> Self {
        Self(INSTANT | milliseconds as u64)
    }

    pub(crate) const fn written(self) -> Written {
        if self.0 == Self::UNREADABLE.0 {
            return Written::Unreadable;
        }
        if self.0 & INSTANT != 0 {
            return Written::Instant((self.0 & !INSTANT) as i64);
        }
        let zone = match ((self.0 >> TIME_BITS) & ((1 << OFFSET_BITS) - 1)) as i64 {
            0 => Stated::Nothing,
            name @ NAME_ZERO.. => Stated::Name((name - NAME_ZERO) as usize),
            offset => Stated::Offset(offset - OFFSET_ZERO),
        };
        Written::Local {
            date: (self.0 >> (TIME_BITS + OFFSET_BITS)) as u32,
            milliseconds: (self.0 & ((1 << TIME_BITS) - 1)) as i64,
            zone,
        }
    }
}

/// A distinct date of a file.
#[derive(Debug, Clone)]
pub(crate) struct DateSeen {
    pub(crate) date: DateText,
    /// As it stands in the file.
    pub(crate) text: String,
    /// The first line that has it.
    pub(crate) line: u64,
    /// Whether the year has two digits only.
    pub(crate) short_year: bool,
}

/// Reads the stamps of one file and numbers its dates.
#[derive(Debug, Default)]
pub(crate) struct StampReader {
    pub(crate) dates: Vec<DateSeen>,
    /// The names of zones that stand behind times.
    pub(crate) zones: Vec<String>,
    index: HashMap<Vec<u8>, u32>,
    /// The date of the row before with what stood between it and the time, and its number.
    last: Vec<u8>,
    last_date: u32,
    /// What day numbers count from, where they are read.
    day_numbers: Option<DayNumbers>,
    /// A form of times that could be another thing.
    times: Option<Times>,
}

impl StampReader {
    /// One that reads what a plant file says of day numbers and of times.
    pub(crate) fn of(day_numbers: Option<DayNumbers>, times: Option<Times>) -> Self {
        Self { day_numbers, times, ..Self::default() }
    }

    /// One that has seen no stamp yet.
    pub(crate) fn like(&self) -> Self {
        Self::of(self.day_numbers, self.times)
    }

    #[inline]
    fn time<'a>(&self, text: &'a [u8]) -> Option<Time<'a>> {
        match self.times {
            None => time(text),
            Some(Times::Unpadded) => time(text).or_else(|| unpadded(text)),
            Some(Times::Hours) => hour(text),
        }
    }

    /// A day by its number and the milliseconds of it.
    #[cold]
    fn day_number(&mut self, cell: &[u8], line: u64) -> Option<(u32, u32)> {
        let (number, milliseconds) = day_and_part(cell)?;
        let unix = number - self.day_numbers?.of_unix_epoch();
        let date = since_unix_epoch(unix)?;
        let text = format!("{number}");
        Some((self.number(text.as_bytes(), date, line, false)?, milliseconds))
    }

    /// What stands before the time in the stamp of the row before, or its date in a cell of its own.
    pub(crate) fn prefix(&self) -> Option<&[u8]> {
        (!self.last.is_empty()).then_some(&self.last)
    }

    /// A time of whole seconds, as written, on the date of the row before.
    #[inline]
    pub(crate) const fn at(&self, milliseconds: u32) -> Stamp {
        Stamp::local(self.last_date, milliseconds, Stated::Nothing)
    }

    /// A time on the date of the row before.
    pub(crate) fn again(&mut self, time: &[u8]) -> Option<Stamp> {
        let time = self.time(time)?;
        self.local(self.last_date, time)
    }

    /// A cell that holds date and time, or seconds or milliseconds since the epoch.
    pub(crate) fn stamp(&mut self, cell: &[u8], line: u64) -> Option<Stamp> {
        let cell = trim(cell);
        if !self.last.is_empty()
            && let Some(rest) = cell.strip_prefix(self.last.as_slice())
            && let Some(time) = self.time(rest)
        {
            return self.local(self.last_date, time);
        }
        if self.day_numbers.is_some()
            && let Some((date, milliseconds)) = self.day_number(cell, line)
        {
            return Some(Stamp::local(date, milliseconds, Stated::Nothing));
        }
        self.new_date(cell, line).or_else(|| epoch(cell).map(Stamp::instant))
    }

    #[inline]
    fn local(&mut self, date: u32, time: Time<'_>) -> Option<Stamp> {
        let zone = match time.zone {
            ZoneText::Nothing => Stated::Nothing,
            ZoneText::Offset(minutes) => Stated::Offset(minutes.into()),
            ZoneText::Name(name) => Stated::Name(self.zone(name)?),
        };
        Some(Stamp::local(date, time.milliseconds, zone))
    }

    /// The number of a zone's name.
    fn zone(&mut self, name: &[u8]) -> Option<usize> {
        let known = self.zones.iter().position(|known| known.as_bytes() == name);
        known.or_else(|| {
            if self.zones.len() >= MOST_ZONES {
                return None;
            }
            self.zones.push(String::from_utf8_lossy(name).into_owned());
            Some(self.zones.len() - 1)
        })
    }

    #[cold]
    fn new_date(&mut self, cell: &[u8], line: u64) -> Option<Stamp> {
        let found = compact(cell).or_else(|| {
            let (date, length, short_year) = date(cell)?;
            let rest = cell.get(length..)?;
            let between = rest.len() - start_of_time(rest)?.len();
            Some(Found { date, date_length: length, time_at: length + between, short_year })
        })?;
        let time = self.time(cell.get(found.time_at..)?)?;
        let number =
            self.number(cell.get(..found.date_length)?, found.date, line, found.short_year)?;
        self.last.clear();
        self.last.extend_from_slice(cell.get(..found.time_at)?);
        self.last_date = number;
        self.local(number, time)
    }

    /// Date and time in a cell each.
    pub(crate) fn date_and_time(
        &mut self,
        date_cell: &[u8],
        time_cell: &[u8],
        line: u64,
    ) -> Option<Stamp> {
        let date_cell = trim(date_cell);
        if self.day_numbers.is_some()
            && let Some((date, 0)) = self.day_number(date_cell, line)
        {
            let milliseconds = match self.time(trim(time_cell)) {
                Some(time) => return self.local(date, time),
                None => part_of_day(trim(time_cell))?,
            };
            return Some(Stamp::local(date, milliseconds, Stated::Nothing));
        }
        let Some(time) = self.time(trim(time_cell)) else {
            // Some exports repeat the date in the time column.
            return self.stamp(time_cell, line);
        };
        if !self.last.is_empty() && date_cell == self.last.as_slice() {
            return self.local(self.last_date, time);
        }
        let (found, length, short_year) = date(date_cell).or_else(|| {
            let found = compact_date(date_cell).filter(|_date| date_cell.len() == 8)?;
            Some((found, 8, false))
        })?;
        let rest = date_cell.get(length..)?;
        // Spreadsheets put midnight behind a date that stands alone.
        if !rest.is_empty() && start_of_time(rest).and_then(self::time)?.milliseconds != 0 {
            return None;
        }
        let number = self.number(date_cell.get(..length)?, found, line, short_year)?;
        self.last.clear();
        self.last.extend_from_slice(date_cell);
        self.last_date = number;
        self.local(number, time)
    }

    fn number(&mut self, text: &[u8], date: DateText, line: u64, short_year: bool) -> Option<u32> {
        ORDERS.into_iter().find_map(|order| date.day(order))?;
        if let Some(&number) = self.index.get(text) {
            return Some(number);
        }
        if self.dates.len() >= MOST_DATES {
            return None;
        }
        let number = self.dates.len() as u32;
        let seen = String::from_utf8_lossy(text).into_owned();
        self.dates.push(DateSeen { date, text: seen, line, short_year });
        self.index.insert(text.to_vec(), number);
        Some(number)
    }
}

/// A spreadsheet's count of days: the day, and the milliseconds of it to the nearest. From 1954 to 2119 in the
/// one epoch, four years later in the other; other figures are something else.
fn day_and_part(cell: &[u8]) -> Option<(i64, u32)> {
    let days = figure(cell).filter(|days| (20_000.0..80_000.0).contains(days))?;
    let milliseconds = (days.fract() * DAY as f64).round() as i64;
    Some((days as i64 + milliseconds / DAY, (milliseconds % DAY) as u32))
}

/// A part of a day in milliseconds: `0.25` is six o'clock.
fn part_of_day(cell: &[u8]) -> Option<u32> {
    let part = figure(cell).filter(|part| (0.0..1.0).contains(part))?;
    Some(((part * DAY as f64).round() as i64).min(DAY - 1) as u32)
}

/// Digits with one mark at most.
fn figure(cell: &[u8]) -> Option<f64> {
    let mut marks = 0;
    let is_plain = |byte: &u8| {
        marks += usize::from(matches!(byte, b'.' | b','));
        byte.is_ascii_digit() || matches!(byte, b'.' | b',')
    };
    if cell.is_empty() || !cell.iter().all(is_plain) || marks > 1 {
        return None;
    }
    std::str::from_utf8(cell).ok()?.replace(',', ".").parse().ok()
}

/// Whether all stamps are of whole minutes, and most rows have that of the row before.
pub(crate) fn have_lost_their_seconds(stamps: &[Stamp]) -> bool {
    let is_whole = |stamp: &Stamp| match stamp.written() {
        Written::Unreadable => true,
        Written::Instant(milliseconds) | Written::Local { milliseconds, .. } => {
            milliseconds % 60_000 == 0
        }
    };
    // The first few tell at once in the common case.
    let repeats = || stamps.windows(2).filter(|pair| pair[0] == pair[1]).count();
    stamps.len() > 2 && stamps.iter().all(is_whole) && repeats() * 2 > stamps.len()
}

/// Whether a cell holds a time of day and nothing else.
pub(crate) fn is_time_of_day(cell: &[u8]) -> bool {
    time(trim(cell)).is_some()
}

/// Whether a cell holds a date and nothing else.
pub(crate) fn is_date(cell: &[u8]) -> bool {
    let cell = trim(cell);
    date(cell).is_some_and(|(_, length, _)| length == cell.len())
}

struct Found {
    date: DateText,
    date_length: usize,
    time_at: usize,
    short_year: bool,
}

/// What follows a date up to the time: blanks, a T, a comma.
fn start_of_time(rest: &[u8]) -> Option<&[u8]> {
    let start = match rest {
        [b'T' | b't' | b'_' | b':', start @ ..] => start,
        // Hyphens throughout; otherwise it is the sign of an offset.
        [b'-', start @ ..] => start.get(2).is_some_and(|&byte| byte == b'-').then_some(start)?,
        [b',', start @ ..] => trim(start),
        _ => {
            let start = trim(rest);
            if start.len() == rest.len() {
                return None;
            }
            start
        }
    };
    start.first().is_some_and(u8::is_ascii_digit).then_some(start)
}

/// `20260308T060000`, `20260308 06:00:00`, `20260308060000`.
fn compact(cell: &[u8]) -> Option<Found> {
    let date = compact_date(cell)?;
    let rest = cell.get(8..)?;
    let digits = rest.iter().take_while(|byte| byte.is_ascii_digit()).count();
    let between = match digits {
        0 => rest.len() - start_of_time(rest)?.len(),
        4 | 6 | 9 if rest.get(digits).is_none_or(|byte| !byte.is_ascii_alphabetic()) => 0,
        _ => return None,
    };
    Some(Found { date, date_length: 8, time_at: 8 + between, short_year: false })
}

/// Seconds (10 digits, a fraction allowed), milliseconds (13), microseconds (16) or nanoseconds (19) since
/// the epoch, as loggers write them from 2001 to 2286. More digits that begin with a date of the calendar
/// could be either.
fn epoch(cell: &[u8]) -> Option<i64> {
    let digits = cell.iter().take_while(|byte| byte.is_ascii_digit()).count();
    let (whole, rest) = cell.split_at(digits);
    let value =
        whole.iter().take(13).fold(0_i64, |value, byte| value * 10 + i64::from(byte - b'0'));
    match (digits, rest) {
        (13, []) => Some(value),
        (16 | 19, []) if compact_date(cell).is_none() => Some(value),
        (10, []) => Some(value * 1000),
        (10 | 13, [b'.' | b',', fraction @ ..]) if fraction.iter().all(u8::is_ascii_digit) => {
            if digits == 13 {
                return Some(value);
            }
            let thousandths = [100, 10, 1]
                .iter()
                .zip(fraction)
                .map(|(place, byte)| place * i64::from(byte - b'0'))
                .sum::<i64>();
            Some(value * 1000 + thousandths)
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::NaiveDate;
    use plant::DateOrder;
    use proptest::prelude::*;

    /// The stamp in ISO 8601, both orders where they differ.
    fn read(cell: &str) -> String {
        let mut reader = StampReader::default();
        let Some(stamp) = reader.stamp(cell.as_bytes(), 1) else { return "unreadable".to_owned() };
        describe(stamp, &reader)
    }

    fn describe(stamp: Stamp, reader: &StampReader) -> String {
        match stamp.written() {
            Written::Unreadable => "unreadable".to_owned(),
            Written::Instant(milliseconds) => format!("@{milliseconds}"),
            Written::Local { date, milliseconds, zone } => {
                let date = reader.dates[date as usize].date;
                let show = |order| {
                    date.day(order).map_or("none".to_owned(), |day| {
                        let day = chrono::Days::new(u64::try_from(day).unwrap_or(0));
                        (NaiveDate::default() + day).to_string()
                    })
                };
                let (one, other) = (show(DateOrder::DayFirst), show(DateOrder::MonthFirst));
                let year_first = show(DateOrder::YearFirst);
                let date = if one == other { one } else { format!("{one}|{other}") };
                let date = match date.as_str() {
                    _ if year_first == "none" || year_first == date => date,
                    _ => format!("{date}|{year_first}"),
                };
                let seconds = milliseconds / 1000;
                let time = format!(
                    "{:02}:{:02}:{:02}.{:03}",
                    seconds / 3600,
                    seconds / 60 % 60,
                    seconds % 60,
                    milliseconds % 1000
                );
                match zone {
                    Stated::Nothing => format!("{date} {time}"),
                    Stated::Offset(minutes) => format!("{date} {time} {minutes:+}"),
                    Stated::Name(name) => format!("{date} {time} {}", reader.zones[name]),
                }
            }
        }
    }

    #[test]
    fn no_stamp_has_the_code_of_an_unreadable_one() {
        assert_eq!(Stamp::UNREADABLE.written(), Written::Unreadable);
        for zone in [Stated::Nothing, Stated::Offset(-959), Stated::Offset(959), Stated::Name(63)] {
            let (date, milliseconds) = (MOST_DATES as u32 - 1, 86_400_000);
            let stamp = Stamp::local(date, milliseconds, zone);
            let milliseconds = i64::from(milliseconds);
            assert_eq!(stamp.written(), Written::Local { date, milliseconds, zone });
        }
        let stamp = Stamp::instant(7_258_118_399_999);
        assert_eq!(stamp.written(), Written::Instant(7_258_118_399_999));
    }

    #[test]
    fn stamps_of_loggers() {
        for (cell, expected) in [
            ("2026-03-08T06:00:00", "2026-03-08 06:00:00.000"),
            ("2026-03-08 06:00:00", "2026-03-08 06:00:00.000"),
            ("2026-03-08  6:00", "2026-03-08 06:00:00.000"),
            (" 2026-03-08 06:00:00.123456 ", "2026-03-08 06:00:00.123"),
            ("2026-03-08 06:00:00,5", "2026-03-08 06:00:00.500"),
            ("2026-03-08T06:00:00Z", "2026-03-08 06:00:00.000 +0"),
            ("2026-03-08T06:00:00.250-06:00", "2026-03-08 06:00:00.250 -360"),
            ("2026-03-08T06:00:00+0530", "2026-03-08 06:00:00.000 +330"),
            ("2026-03-08 06:00:00 +01", "2026-03-08 06:00:00.000 +60"),
            ("2026-03-08 06:00:00 UTC", "2026-03-08 06:00:00.000 +0"),
            ("2026-03-08 06:00:00 GMT-6", "2026-03-08 06:00:00.000 -360"),
            ("2026/03/08 06:00:00", "2026-03-08 06:00:00.000"),
            ("2026.03.08 06:00:00", "2026-03-08 06:00:00.000"),
            ("2026-3-8 6:00:00", "2026-03-08 06:00:00.000"),
            ("03/08/2026 06:00:00", "2026-08-03|2026-03-08 06:00:00.000"),
            ("05/05/2026 06:00:00", "2026-05-05 06:00:00.000"),
            ("3/25/2026 6:00 AM", "none|2026-03-25 06:00:00.000"),
            ("25/3/2026 06:00", "2026-03-25|none 06:00:00.000"),
            ("25/3/26 06:00", "2026-03-25|none|2025-03-26 06:00:00.000"),
            ("26/03/04 06:00", "2004-03-26|none|2026-03-04 06:00:00.000"),
            ("26-3-8 06:00", "none|2026-03-08 06:00:00.000"),
            ("3/8/26 06:00", "2026-08-03|2026-03-08 06:00:00.000"),
            ("08.03.2026 06:00:00", "2026-03-08|2026-08-03 06:00:00.000"),
            ("08-03-2026 06:00:00", "2026-03-08|2026-08-03 06:00:00.000"),
            ("8-Mar-2026 06:00:00", "2026-03-08 06:00:00.000"),
            ("08-MAR-26 06:00:00", "2026-03-08 06:00:00.000"),
            ("8 March 2026 06:00:00", "2026-03-08 06:00:00.000"),
            ("8. März 2026 06:00:00", "2026-03-08 06:00:00.000"),
            ("8. 3. 2026 06:00:00", "unreadable"),
            ("Mar 8, 2026 6:00:00 PM", "2026-03-08 18:00:00.000"),
            ("Mar 8, 2026, 6:00:00\u{202f}PM", "2026-03-08 18:00:00.000"),
            ("Sun, 8 Mar 2026 06:00:00", "2026-03-08 06:00:00.000"),
            ("Sun Mar 8 2026 06:00:00", "2026-03-08 06:00:00.000"),
            ("2026-03-08 12:00:00 AM", "2026-03-08 00:00:00.000"),
            ("2026-03-08 12:30 pm", "2026-03-08 12:30:00.000"),
            ("2026-03-08 11:59:59.9 p.m.", "2026-03-08 23:59:59.900"),
            ("2026-03-08 06:00:00PM", "2026-03-08 18:00:00.000"),
            ("2026-03-08 24:00:00", "2026-03-08 24:00:00.000"),
            ("20260308T060000", "2026-03-08 06:00:00.000"),
            ("20260308T060000Z", "2026-03-08 06:00:00.000 +0"),
            ("20260308 06:00:01", "2026-03-08 06:00:01.000"),
            ("20260308060000", "2026-03-08 06:00:00.000"),
            ("202603080600", "2026-03-08 06:00:00.000"),
            ("1772949600", "@1772949600000"),
            ("1772949600.25", "@1772949600250"),
            ("1772949600250", "@1772949600250"),
            ("2028-02-29 00:00", "2028-02-29 00:00:00.000"),
            ("", "unreadable"),
            ("06:00:00", "unreadable"),
            ("2026-03-08", "unreadable"),
            ("2026-02-29 00:00:00", "unreadable"),
            ("2026-13-01 00:00:00", "unreadable"),
            ("13/13/2026 00:00:00", "unreadable"),
            ("2026-03-08 25:00:00", "unreadable"),
            ("2026-03-08 06:60:00", "unreadable"),
            ("2026-03-08 06:00:60", "unreadable"),
            ("2026-03-08 24:00:01", "unreadable"),
            ("2026-03-08 13:00 AM", "unreadable"),
            ("2026-03-08 06:00:00 CST", "2026-03-08 06:00:00.000 CST"),
            ("2026-03-08 6:00 PM AEDT", "2026-03-08 18:00:00.000 AEDT"),
            ("2026-03-08 06:00:00 PST", "2026-03-08 06:00:00.000 PST"),
            ("2026-03-08 06:00:00 a", "unreadable"),
            ("2026-03-08 06:00:00 Cst", "unreadable"),
            ("2026-03-08 06:00:00 CST6CDT", "unreadable"),
            ("2026-03-08 06:00:00+99:00", "unreadable"),
            ("2026-03-08 06:00:0", "unreadable"),
            ("2026-03-0806:00:00", "unreadable"),
            ("1899-12-30 06:00:00", "unreadable"),
            ("46089.25", "unreadable"),
            ("2026-03-08 06:00:00:250", "2026-03-08 06:00:00.250"),
            ("2026-03-08 06:00:00:25", "unreadable"),
            ("2026-03-08 06:00:00 250999", "2026-03-08 06:00:00.250"),
            ("2026-03-08 06:00:00 25", "unreadable"),
            ("2026-03-08 6:00:00 250 PM", "2026-03-08 18:00:00.250"),
            ("08.03.2026 06.00.00", "2026-03-08|2026-08-03 06:00:00.000"),
            ("08.03.2026 06.00", "unreadable"),
            ("08 03 2026 06:00:00", "2026-03-08|2026-08-03 06:00:00.000"),
            ("2026 03 08 06:00:00", "2026-03-08 06:00:00.000"),
            ("2026-03-08-06-00-00", "2026-03-08 06:00:00.000"),
            // A date with an offset and no time.
            ("2026-03-08-06:00", "unreadable"),
            ("2026-03-08 0600-06", "2026-03-08 06:00:00.000 -360"),
            ("20260308:0600", "2026-03-08 06:00:00.000"),
            ("08/Mar/2026:06:00:00 -0600", "2026-03-08 06:00:00.000 -360"),
            ("20260308060000250", "2026-03-08 06:00:00.250"),
            ("20260308T060000250", "2026-03-08 06:00:00.250"),
            ("2026-067 06:00:00", "2026-03-08 06:00:00.000"),
            ("2026-366 06:00:00", "unreadable"),
            ("8 mars 2026 06:00:00", "2026-03-08 06:00:00.000"),
            ("8-août-2026 06:00:00", "2026-08-08 06:00:00.000"),
            ("8 Dez 2026 06:00:00", "2026-12-08 06:00:00.000"),
            ("1772949600250000", "@1772949600250"),
            ("1772949600250999999", "@1772949600250"),
            // A date and hundredths, or microseconds of the year 2034.
            ("2026030806000000", "unreadable"),
            ("BAD", "unreadable"),
            ("\u{fffd}", "unreadable"),
        ] {
            assert_eq!(read(cell), expected, "{cell:?}");
        }
    }

    #[test]
    fn date_and_time_in_two_cells() {
        for (date, time, expected) in [
            ("2026-03-08", "06:00:00", "2026-03-08 06:00:00.000"),
            ("03/25/2026", "6:00 PM", "none|2026-03-25 18:00:00.000"),
            ("20260308", "060000", "2026-03-08 06:00:00.000"),
            ("2026-03-08 00:00:00", "06:00:00", "2026-03-08 06:00:00.000"),
            ("2026-03-08 01:00:00", "06:00:00", "unreadable"),
            ("2026-03-08", "2026-03-08 06:00:00", "2026-03-08 06:00:00.000"),
            ("8-Mar-2026", "06:00:00Z", "2026-03-08 06:00:00.000 +0"),
            ("", "06:00:00", "unreadable"),
            ("2026-03-08", "", "unreadable"),
        ] {
            let mut reader = StampReader::default();
            let first = reader.date_and_time(date.as_bytes(), time.as_bytes(), 1);
            let again = reader.date_and_time(date.as_bytes(), time.as_bytes(), 2);
            let shown = first.map_or("unreadable".to_owned(), |stamp| describe(stamp, &reader));
            assert_eq!(shown, expected, "{date:?} {time:?}");
            assert_eq!(first, again, "{date:?} {time:?}");
        }
    }

    #[test]
    fn each_date_is_numbered_once_with_its_first_line() {
        let mut reader = StampReader::default();
        for (line, cell) in
            ["2026-03-08 23:59:59", "2026-03-09 00:00:00", "2026-03-08 23:59:58"].iter().enumerate()
        {
            assert!(reader.stamp(cell.as_bytes(), line as u64 + 1).is_some(), "{cell}");
        }
        let seen: Vec<_> =
            reader.dates.iter().map(|date| (date.text.as_str(), date.line)).collect();
        assert_eq!(seen, [("2026-03-08", 1), ("2026-03-09", 2)]);
    }

    proptest! {
        #[test]
        fn nothing_panics(cell in proptest::collection::vec(any::<u8>(), 0..40), other in "[0-9:/. TZAPM+-]{0,30}") {
            let mut reader = StampReader::default();
            reader.stamp(&cell, 1);
            reader.stamp(other.as_bytes(), 2);
            reader.date_and_time(&cell, other.as_bytes(), 3);
            reader.date_and_time(other.as_bytes(), &cell, 4);
        }

        #[test]
        fn every_second_of_the_calendar_is_read_back(day in 7305_i32..80_000, milliseconds in 0_i64..DAY) {
            let date = NaiveDate::default() + chrono::Days::new(u64::try_from(day).unwrap_or(0));
            let time = chrono::NaiveTime::MIN + chrono::TimeDelta::milliseconds(milliseconds);
            let mut reader = StampReader::default();
            let stamp = reader.stamp(format!("{date}T{time}").as_bytes(), 1);
            let read = stamp.map(Stamp::written);
            prop_assert_eq!(read, Some(Written::Local { date: 0, milliseconds, zone: Stated::Nothing }));
            prop_assert_eq!(reader.dates[0].date, DateText::Day(day));
        }
    }
}
