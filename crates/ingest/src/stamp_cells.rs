//! The cells of a row that make its stamp, wherever the plant file says that they stand: a fraction of the
//! second in a column of its own, year and day of the year, or the time since a start.

use crate::cells::{Cells, Splitter, unwrapped};
use crate::date_text::{DateText, ORDERS};
use crate::input::text;
use crate::recognise::Columns;
use crate::stamp::{Stamp, StampReader, Stated, Written};
use crate::thousands::may_be_thousands;
use chrono::DateTime;
use plant::{DateOrder, LocalResolution, LoggerClock, Plant, TimeUnit};
use trace::{Decimal, DecimalMark, Toward};

/// The stamp of a row.
#[inline]
pub(crate) fn stamp_of(
    stamps: &mut StampReader,
    columns: &Columns,
    cells: Cells<'_>,
    line: u64,
) -> Option<Stamp> {
    let time = cells.get(columns.time)?;
    if columns.stamp.is_none() {
        return match columns.date {
            None => stamps.stamp(time, line),
            Some(date) => stamps.date_and_time(cells.get(date)?, time, line),
        };
    }
    of_more_cells(stamps, columns, cells, line)
}

#[cold]
fn of_more_cells(
    stamps: &mut StampReader,
    columns: &Columns,
    cells: Cells<'_>,
    line: u64,
) -> Option<Stamp> {
    let more = columns.stamp.as_ref()?;
    let time = cells.get(columns.time)?;
    if let Some(since) = &more.since_start {
        let elapsed = milliseconds(time, since.unit, since.mark)?;
        return Some(Stamp::instant(since.start?.checked_add(elapsed)?));
    }
    let stamp = match (more.year_and_day, columns.date) {
        (Some((year, day)), _) => {
            let date = date_of_year(cells.get(year)?, cells.get(day)?)?;
            stamps.date_and_time(date.as_bytes(), time, line)?
        }
        (None, None) => stamps.stamp(time, line)?,
        (None, Some(date)) => stamps.date_and_time(cells.get(date)?, time, line)?,
    };
    match more.fraction {
        None => Some(stamp),
        Some((column, unit)) => {
            let later =
                milliseconds(cells.get(column)?, unit, None).filter(|&later| later < 1000)?;
            stamp.of_a_whole_second()?.later_by(later)
        }
    }
}

/// `2026` and `67` as `2026-067`.
fn date_of_year(year: &[u8], day: &[u8]) -> Option<String> {
    let [year, day] = [year, day].map(|cell| {
        let digits = unwrapped(cell.trim_ascii());
        let is_number = !digits.is_empty() && digits.iter().all(u8::is_ascii_digit);
        is_number.then(|| text(digits).parse::<u32>().ok())?
    });
    let (year, day) = (year.filter(|year| (1000..10_000).contains(year))?, day?);
    (1..=366).contains(&day).then(|| format!("{year}-{day:03}"))
}

/// A time of at least 0 in milliseconds, digits beyond them cut. A mark that may group thousands is read
/// only where the plant file says that it is the decimal mark.
fn milliseconds(cell: &[u8], unit: TimeUnit, stated: Option<DecimalMark>) -> Option<i64> {
    let cell = unwrapped(cell.trim_ascii());
    let mark = match stated {
        Some(mark) => mark,
        None if cell.contains(&b',') => DecimalMark::Comma,
        None => DecimalMark::Dot,
    };
    if stated.is_none() && may_be_thousands(cell) {
        return None;
    }
    let value =
        Decimal::parse(cell, mark, Toward::Down).ok().filter(|&value| value >= Decimal::ZERO)?;
    let (per, of) = unit.in_milliseconds();
    let scaled = i128::from(value.mantissa()) * i128::from(per);
    let divisor = i128::from(trace::power_of_ten(value.scale())) * i128::from(of);
    i64::try_from(scaled / divisor).ok().filter(|&time| time <= MOST_ELAPSED)
}

/// No run is longer (ours): two years.
const MOST_ELAPSED: i64 = 2 * 366 * 86_400_000;

/// The instant that the lines above a header state as the start.
pub(crate) fn start(above: &[Vec<u8>], delimiter: u8, label: &str, plant: &Plant) -> Option<i64> {
    let mut starts = above.iter().filter_map(|line| {
        let line = text(line).into_owned();
        Some(start_in(after_label(&line, label)?, delimiter, plant))
    });
    let first = starts.next()??;
    // A second line with another start leaves open which one holds.
    starts.all(|other| other == Some(first)).then_some(first)
}

/// What stands behind the label at the beginning of a line.
fn after_label<'a>(line: &'a str, label: &str) -> Option<&'a str> {
    let line =
        line.trim_start_matches(|one: char| one.is_whitespace() || "\"'#\u{feff}".contains(one));
    let (begins, rest) = line.split_at_checked(label.len())?;
    let is_it = begins.to_lowercase() == label.to_lowercase();
    (is_it && !rest.starts_with(char::is_alphanumeric)).then_some(rest)
}

fn start_in(rest: &str, delimiter: u8, plant: &Plant) -> Option<i64> {
    let (date, milliseconds, zone) = match written(rest, delimiter)? {
        Start::Instant(instant) => return Some(instant),
        Start::Local { date, milliseconds, zone } => (date, milliseconds, zone),
    };
    let mut days: Vec<i32> = match plant.form.date_order {
        Some(order) => date.day(order).into_iter().collect(),
        None => ORDERS.into_iter().filter_map(|order| date.day(order)).collect(),
    };
    days.dedup();
    let [day] = days.as_slice() else { return None };
    let local = i64::from(*day) * crate::stamp::DAY + milliseconds;
    match zone {
        Stated::Offset(minutes) => Some(local - minutes * 60_000),
        Stated::Name(_) => None,
        Stated::Nothing => {
            let local = DateTime::from_timestamp_millis(local)?.naive_utc();
            match plant.form.logger_clock {
                LoggerClock::Standard => {
                    Some(plant.zone.resolve_standard(local).unix_milliseconds())
                }
                LoggerClock::Local => match plant.zone.resolve(local) {
                    LocalResolution::One(instant) => Some(instant.unix_milliseconds()),
                    LocalResolution::Two(..) | LocalResolution::None => None,
                },
            }
        }
    }
}

/// Date and time of a start as they are written.
enum Start {
    Instant(i64),
    Local { date: DateText, milliseconds: i64, zone: Stated },
}

/// The stamp behind a label, in one cell or two.
fn written(rest: &str, delimiter: u8) -> Option<Start> {
    let rest = rest.trim_matches(is_around);
    let mut splitter = Splitter::default();
    let joined = splitter.split(rest.as_bytes(), delimiter).ok().map(|cells| {
        let cells: Vec<String> = cells.iter().map(|cell| text(cell).trim().to_owned()).collect();
        cells.join(" ")
    });
    let mut stamps = StampReader::default();
    let stamp = stamps.stamp(rest.as_bytes(), 1).or_else(|| stamps.stamp(joined?.as_bytes(), 1))?;
    match stamp.written() {
        Written::Unreadable => None,
        Written::Instant(instant) => Some(Start::Instant(instant)),
        Written::Local { date, milliseconds, zone } => {
            let date = stamps.dates.get(date as usize)?.date;
            Some(Start::Local { date, milliseconds, zone })
        }
    }
}

/// What stands around a label and a stamp.
fn is_around(one: char) -> bool {
    one.is_whitespace() || "\":=,;|\t".contains(one)
}

/// A line above a header that has date and time behind words: the words, the stamp, and the orders in which
/// its date can be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StatedStart {
    /// How the line begins.
    pub label: String,
    /// Date and time as they stand there.
    pub text: String,
    /// The orders in which the date can be read; none where it is an instant.
    pub orders: Vec<DateOrder>,
}

/// So many digits of a line may begin its stamp.
const MOST_TRIED: usize = 8;

/// The date and time that a line above a header states behind words.
pub(crate) fn stated_start(line: &[u8], delimiter: u8) -> Option<StatedStart> {
    let line = text(line);
    let line = line.trim_start_matches(|one: char| is_around(one) || "'#\u{feff}".contains(one));
    let begins = line.char_indices().filter(|&(at, one)| {
        one.is_ascii_digit() && !line[..at].ends_with(|before: char| before.is_alphanumeric())
    });
    begins.take(MOST_TRIED).find_map(|(at, _)| {
        let (label, rest) = line.split_at(at);
        let label = label.trim_matches(is_around);
        if !label.contains(char::is_alphabetic) {
            return None;
        }
        let orders = match written(rest, delimiter)? {
            Start::Instant(_) => Vec::new(),
            Start::Local { zone: Stated::Name(_), .. } => return None,
            Start::Local { date, .. } => {
                let mut days: Vec<(i32, DateOrder)> = Vec::new();
                for order in ORDERS {
                    if let Some(day) = date.day(order)
                        && days.iter().all(|&(known, _)| known != day)
                    {
                        days.push((day, order));
                    }
                }
                days.into_iter().map(|(_, order)| order).collect()
            }
        };
        let text = rest.trim_matches(is_around).to_owned();
        Some(StatedStart { label: label.to_owned(), text, orders })
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_that_states_date_and_time_is_known_by_its_words() {
        for (line, label, text, orders) in [
            ("Start time: 2026-03-08 06:00:00", "Start time", "2026-03-08 06:00:00", 1),
            ("\"Start time\",\"2026-03-08 06:00:00\"", "Start time", "2026-03-08 06:00:00", 1),
            ("# Logger 7 began 2026-03-08T06:00:00Z", "Logger 7 began", "2026-03-08T06:00:00Z", 1),
            ("Begun,03/08/2026,06:00", "Begun", "03/08/2026,06:00", 2),
        ] {
            let found = stated_start(line.as_bytes(), b',');
            let found = found.map(|one| (one.label, one.text, one.orders.len()));
            assert_eq!(found, Some((label.to_owned(), text.to_owned(), orders)), "{line}");
        }
        for line in ["2026-03-08 06:00:00", "Logger 7", "Serial No: 0042", "Day: 2026-03-08"] {
            assert_eq!(stated_start(line.as_bytes(), b','), None, "{line}");
        }
    }
}
