//! In which of the rarer forms a file seems to be written: rows only where something changed, stamps that are a
//! spreadsheet's count of days, a time since a start, or a year and a day of the year. What is seen here is asked,
//! unless the names of the columns say it.

use crate::draft::{Draft, Part};
use crate::sheets::Sheets;
use chrono::{DateTime, NaiveDate, NaiveDateTime, TimeDelta};
use ingest::sheet::{SheetColumn, StampKind};
use plant::{DayNumbers, TimeUnit};
use std::collections::BTreeSet;
use trace::Duration;

/// Days of loggers as a spreadsheet counts them: from 1982 to 2064 in the one epoch, four years later in the other.
const DAYS: (f64, f64) = (30_000.0, 60_000.0);

/// Years of loggers (ours).
const YEARS: (f64, f64) = (1990.0, 2100.0);

/// Rows of fewer say nothing.
const LEAST_ROWS: u64 = 12;

/// The units of a time since a start, with the words of names that say them.
const UNITS: [(TimeUnit, &str, &[&str]); 5] = [
    (
        TimeUnit::Second,
        "s",
        &[
            "s", "sec", "secs", "second", "seconds", "sek", "sekunden", "secondes", "segundos",
            "secondi",
        ],
    ),
    (
        TimeUnit::Millisecond,
        "ms",
        &[
            "ms",
            "msec",
            "millis",
            "millisec",
            "milliseconds",
            "millisekunden",
            "millisecondes",
            "milisegundos",
            "millisecondi",
        ],
    ),
    (
        TimeUnit::Minute,
        "min",
        &["min", "mins", "minute", "minutes", "minuten", "minutos", "minuti"],
    ),
    (
        TimeUnit::Hour,
        "h",
        &["h", "hr", "hrs", "hour", "hours", "std", "stunden", "heures", "horas", "ore"],
    ),
    (TimeUnit::Microsecond, "us", &["us", "\u{b5}s", "\u{3bc}s", "microseconds"]),
];

/// Stems by which a column says that it counts from a start (common practice).
const SINCE: [&str; 9] = [
    "elapsed",
    "since",
    "runtime",
    "run time",
    "laufzeit",
    "vergangen",
    "\u{e9}coul",
    "transcurrid",
    "trascors",
];

/// Words of a time, which with a unit behind them say the same.
const TIME: [&str; 7] = ["time", "t", "zeit", "temps", "tiempo", "tempo", "timer"];

/// Stems by which a line above the header says that it states a start.
const START: [&str; 10] = [
    "start",
    "started",
    "begin",
    "began",
    "begun",
    "beginn",
    "d\u{e9}but",
    "debut",
    "inicio",
    "inizio",
];

const YEAR: [&str; 7] = ["year", "yyyy", "jahr", "ann\u{e9}e", "annee", "a\u{f1}o", "anno"];

const DAY_OF_YEAR: [&str; 9] = [
    "doy",
    "yday",
    "julian",
    "day of year",
    "day of the year",
    "dayofyear",
    "tag des jahres",
    "jour de l'ann",
    "giorno dell'anno",
];

const DAY: [&str; 7] = ["day", "tag", "jour", "d\u{ed}a", "dia", "giorno", "ddd"];

/// Why the rows of a logger's files seem to stand only where something changed.
pub(crate) fn changes(sheets: &Sheets, draft: &Draft, logger: usize) -> Option<String> {
    let rows = sheets.loggers.get(logger)?.sheet.rows;
    if rows < LEAST_ROWS {
        return None;
    }
    let (mut all, mut blank) = (0_u32, 0_u32);
    for (place, seen) in sheets.columns_of(logger) {
        if draft.columns.get(place).is_some_and(|column| matches!(column.part, Part::Role(_))) {
            all += 1;
            blank += u32::from(seen.blank * 2 > rows);
        }
    }
    if all > 1 && blank * 2 > all {
        return Some(format!("{blank} of {all} columns that are used are blank in most rows"));
    }
    let time = draft.column_of(sheets, logger, Part::Time);
    let time = time.and_then(|column| sheets.columns.get(column))?;
    time.is_irregular.then(|| "the rows come at irregular times".to_owned())
}

/// The columns of a logger that seem to hold a spreadsheet's count of days.
pub(crate) fn day_numbers(sheets: &Sheets, logger: usize) -> Vec<usize> {
    let columns = sheets.columns_of(logger);
    columns.filter(|(_, column)| is_day_numbers(column)).map(|(index, _)| index).collect()
}

/// Within a day or a few, with a part of the day, of which no two are the same in many rows.
pub(crate) fn is_day_numbers(column: &SheetColumn) -> bool {
    let Some((least, greatest)) = column.span else { return false };
    let is_within = least >= DAYS.0 && greatest <= DAYS.1 && greatest - least < 32.0;
    is_within
        && greatest > least
        && column.is_named
        && column.unit.is_none()
        && column.stamp.is_none()
        && column.more_words
        && least.fract() + greatest.fract() > 0.0
        && !says_since(column)
}

/// The first count of a column as a date in both epochs.
pub(crate) fn both_ways(column: &SheetColumn) -> Option<[(DayNumbers, NaiveDateTime); 2]> {
    let (least, _) = column.span?;
    let of = |from: DayNumbers| {
        let epoch = DateTime::UNIX_EPOCH.naive_utc();
        let seconds = (least - from.of_unix_epoch() as f64) * 86_400.0;
        Some((from, epoch.checked_add_signed(TimeDelta::try_seconds(seconds.round() as i64)?)?))
    };
    Some([of(DayNumbers::From1900)?, of(DayNumbers::From1904)?])
}

/// The columns of a logger that rise from row to row, as a time since a start does and a count of rows.
pub(crate) fn rising(sheets: &Sheets, logger: usize) -> Vec<usize> {
    let columns = sheets.columns_of(logger);
    columns.filter(|(_, column)| is_rising(column)).map(|(index, _)| index).collect()
}

pub(crate) fn is_rising(column: &SheetColumn) -> bool {
    let Some((least, greatest)) = column.span else { return false };
    column.rises
        && least >= 0.0
        && greatest > least
        && column.is_named
        && column.unit.is_none()
        && column.stamp.is_none()
        && column.is_numeric()
        && !is_day_numbers(column)
}

/// Whether the name of a column says that it counts from a start.
pub(crate) fn says_since(column: &SheetColumn) -> bool {
    let name = column.name.to_lowercase();
    let words: Vec<&str> = words(&name).collect();
    let is_unit = |word: &&str| UNITS.iter().any(|(_, _, known)| known.contains(word));
    SINCE.iter().any(|stem| name.contains(stem))
        || (unit_of(column).is_some()
            && (words.iter().any(|word| TIME.contains(word)) || words.iter().all(is_unit)))
}

/// The unit that the name of a time since a start says.
pub(crate) fn unit_of(column: &SheetColumn) -> Option<TimeUnit> {
    let name = column.name.to_lowercase();
    let said = words(&name)
        .filter_map(|word| UNITS.iter().position(|(_, _, known)| known.contains(&word)));
    let said: BTreeSet<usize> = said.collect();
    match Vec::from_iter(said).as_slice() {
        [only] => UNITS.get(*only).map(|&(unit, ..)| unit),
        _ => None,
    }
}

/// The units of a time since a start as a plant file has them.
pub(crate) fn time_units() -> impl Iterator<Item = (TimeUnit, &'static str)> {
    UNITS.iter().map(|&(unit, symbol, _)| (unit, symbol))
}

/// The symbol of a unit of time for a person; a plant file may have "us" as well.
pub fn symbol(unit: TimeUnit) -> &'static str {
    if unit == TimeUnit::Microsecond {
        return "\u{b5}s";
    }
    time_units().find(|&(known, _)| known == unit).map_or("", |(_, symbol)| symbol)
}

/// The units in which a column may count from a start, each with how long the file is then.
pub fn lengths(column: &SheetColumn) -> Vec<(TimeUnit, Duration)> {
    let Some((least, greatest)) = column.span else { return Vec::new() };
    let length = |(unit, _): (TimeUnit, &str)| {
        let (per, of) = unit.in_milliseconds();
        let length = (greatest - least) * per as f64 / of as f64;
        (unit, Duration::from_milliseconds(length.round() as i64))
    };
    time_units().map(length).collect()
}

/// The only line above a logger's header that says that it states a start.
pub(crate) fn said_start(sheets: &Sheets, logger: usize) -> Option<String> {
    let starts = &sheets.loggers.get(logger)?.sheet.starts;
    let mut said = starts.iter().filter(|one| {
        let label = one.label.to_lowercase();
        words(&label).any(|word| START.contains(&word))
    });
    let only = said.next()?;
    said.next().is_none().then(|| only.label.clone())
}

/// Whole years, one or at a turn of the year two.
pub(crate) fn is_year(column: &SheetColumn) -> bool {
    let Some((least, greatest)) = column.span else { return false };
    column.is_named
        && column.unit.is_none()
        && !column.more_words
        && column.words.iter().all(|(word, _)| word.len() == 4)
        && least >= YEARS.0
        && greatest <= YEARS.1
        && greatest - least <= 1.0
}

pub(crate) fn says_year(column: &SheetColumn) -> bool {
    let name = column.name.to_lowercase();
    words(&name).any(|word| YEAR.contains(&word))
}

/// Whole days of a year, of a day or a few.
pub(crate) fn is_day_of_year(column: &SheetColumn) -> bool {
    let Some((least, greatest)) = column.span else { return false };
    let name = column.name.to_lowercase();
    column.is_named
        && column.unit.is_none()
        && column.stamp.is_none()
        && !column.more_words
        && least >= 1.0
        && greatest <= 366.0
        && least.fract() + greatest.fract() == 0.0
        && (says_day_of_year(column) || words(&name).any(|word| DAY.contains(&word)))
}

/// Whether nothing but a day of the year can be meant: the name says it, or no month has so many days.
pub(crate) fn says_day_of_year(column: &SheetColumn) -> bool {
    let name = column.name.to_lowercase();
    DAY_OF_YEAR.iter().any(|stem| name.contains(stem))
        || column.span.is_some_and(|(_, greatest)| greatest > 31.0)
}

/// The columns of a logger that have year, day of the year and time of day, where there is one of each. The
/// time is none of the years, which read as times.
pub(crate) fn year_day_time(sheets: &Sheets, logger: usize) -> Option<[usize; 3]> {
    let only = |is: &dyn Fn(&SheetColumn) -> bool| {
        let mut columns = sheets.columns_of(logger).filter(|(_, column)| is(column));
        let (only, _) = columns.next()?;
        columns.next().is_none().then_some(only)
    };
    let year = only(&|column| is_year(column) && says_year(column)).or_else(|| only(&is_year))?;
    let day = only(&|column| is_day_of_year(column) && says_day_of_year(column))
        .or_else(|| only(&is_day_of_year))?;
    let time = only(&|column| {
        column.is_named && column.stamp == Some(StampKind::Time) && !is_year(column)
    })?;
    Some([year, day, time])
}

/// The day of a month that the first day of a column would be in January, as a date of the year.
pub(crate) fn as_day_of_year(column: &SheetColumn, year: &SheetColumn) -> Option<String> {
    let (day, _) = column.span?;
    let (year, _) = year.span?;
    let date = NaiveDate::from_yo_opt(year as i32, day as u32)?;
    Some(date.format("%-d %B %Y").to_string())
}

fn words(name: &str) -> impl Iterator<Item = &str> {
    name.split(|one: char| !one.is_alphanumeric()).filter(|word| !word.is_empty())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draft::Reason;
    use crate::looks::tests::of;
    use crate::question::Question;
    use plant::Plant;
    use std::fmt::Write as _;

    const HEADER: &str = "Time,FDV,Hold Temp (\u{b0}F),dP (psi)\n";

    /// Rows at these seconds, of which blank cells say that nothing changed.
    fn file(rows: impl Iterator<Item = (u32, bool)>) -> String {
        let mut file = HEADER.to_owned();
        for (second, is_whole) in rows {
            let stamp = format!("2026-11-24 04:{:02}:{:02}", second / 60, second % 60);
            let rest = if is_whole { "FWD,163.4,5.2" } else { ",163.5," };
            assert!(writeln!(file, "{stamp},{rest}").is_ok());
        }
        file
    }

    fn asks(draft: &Draft, sheet: &Sheets) -> Option<String> {
        let questions = draft.questions(sheet);
        let is_it = |question: &&Question| matches!(question, Question::OnChange { .. });
        questions.iter().find(is_it).map(|question| question.text(sheet, draft))
    }

    #[test]
    fn rows_of_what_changed_are_asked_about_and_not_taken_for_it() {
        let blank = of(&file((0..60).map(|second| (second, second % 20 == 0))));
        let mut draft = Draft::of(&blank);
        let asked = "Does the system write only what has changed? It seems so: 2 of 3 columns that are used \
                     are blank in most rows.";
        assert_eq!(asks(&draft, &blank).as_deref(), Some(asked));
        assert!(!draft.text(&blank).contains("\nlogging"));
        draft.loggers[0].logging.is_on_change = Some(true);
        assert!(asks(&draft, &blank).is_some(), "how long a reading holds is not said");
        (draft.loggers[0].logging.longest_hold, draft.loggers[0].logging.step) =
            ("10 min".to_owned(), "1 s".to_owned());
        assert_eq!(asks(&draft, &blank), None);
        draft.plant = "Example Dairy (invented)".to_owned();
        (draft.unit, draft.zone) = ("HTST-1".to_owned(), "UTC".to_owned());
        let text = draft.text(&blank);
        let plant = Plant::parse("p", &text).unwrap_or_else(|error| panic!("{error}\n{text}"));
        assert!(plant.form.on_change.is_some(), "{text}");
        draft.loggers[0].logging.is_on_change = Some(false);
        assert_eq!(asks(&draft, &blank), None);
        assert!(!draft.text(&blank).contains("logging"));
    }

    #[test]
    fn irregular_rows_are_asked_about_and_regular_ones_are_not() {
        let irregular = of(&file((0..40).map(|row| (row * row / 4 + row, true))));
        assert!(asks(&Draft::of(&irregular), &irregular).is_some());
        // Every second, every fifth, with a gap, and of a few rows only.
        for rows in [
            (0..60).map(|row| (row, true)).collect::<Vec<_>>(),
            (0..60).map(|row| (row * 5, true)).collect(),
            (0..60).map(|row| (if row > 30 { row + 400 } else { row }, true)).collect(),
            (0..9).map(|row| (row * row, true)).collect(),
        ] {
            let regular = of(&file(rows.into_iter()));
            assert_eq!(asks(&Draft::of(&regular), &regular), None);
        }
    }

    #[test]
    fn a_count_of_days_is_asked_about() {
        let mut file = HEADER.to_owned();
        for row in 0..60 {
            let day = 46_091.25 + f64::from(row) / 86_400.0;
            assert!(writeln!(file, "{day},FWD,163.4,5.2").is_ok());
        }
        let sheet = of(&file);
        let mut draft = Draft::of(&sheet);
        let time = draft.column(Part::Time);
        let reason = Reason::Readings("its cells read as a count of days".to_owned());
        assert_eq!(time.map(|column| &draft.columns[column].reason), Some(&reason));
        let asked = draft.questions(&sheet);
        let asked = asked.iter().find(|asked| matches!(asked, Question::DayNumbers(_)));
        let words = "\"Time\" counts days. From which year? It begins 10 March 2026, 06:00 if from 1900, 11 March \
                     2030, 06:00 if from 1904.";
        assert_eq!(asked.map(|asked| asked.text(&sheet, &draft)).as_deref(), Some(words));
        draft.loggers[0].day_numbers = Some(DayNumbers::From1900);
        draft.plant = "Example Dairy (invented)".to_owned();
        (draft.unit, draft.zone) = ("HTST-1".to_owned(), "UTC".to_owned());
        assert_eq!(draft.questions(&sheet), []);
        let text = draft.text(&sheet);
        let plant = Plant::parse("p", &text).unwrap_or_else(|error| panic!("{error}\n{text}"));
        let input = ingest::Input::Bytes { name: "f.csv".to_owned(), bytes: file.into_bytes() };
        let read = ingest::read(&[input], &plant, &ingest::Progress::default());
        let read = read.unwrap_or_else(|error| panic!("{error}\n{text}"));
        assert_eq!(read.record.instants()[0].unix_milliseconds(), 1_773_122_400_000);
    }

    /// Rows of a minute with a stamp of some kind in front.
    fn stamped(head: &str, stamp: impl Fn(u32) -> String) -> String {
        let mut file = format!("{head},FDV,Hold Temp (\u{b0}F),dP (psi)\n");
        for second in 0..60 {
            assert!(writeln!(file, "{},FWD,163.4,5.2", stamp(second)).is_ok());
        }
        file
    }

    /// A draft with all names said, and the questions that are left.
    fn drafted(sheet: &Sheets) -> (Draft, Vec<String>) {
        let draft = Draft {
            plant: "Example Dairy (invented)".to_owned(),
            unit: "HTST-1".to_owned(),
            zone: "UTC".to_owned(),
            ..Draft::of(sheet)
        };
        let asked = draft.questions(sheet).iter().map(|one| one.text(sheet, &draft)).collect();
        (draft, asked)
    }

    /// The first instant of a file as its draft reads it.
    fn begins(file: &str, sheet: &Sheets, draft: &Draft) -> String {
        let text = draft.text(sheet);
        let plant = Plant::parse("p", &text).unwrap_or_else(|error| panic!("{error}\n{text}"));
        let input = ingest::Input::Bytes { name: "f.csv".to_owned(), bytes: file.into() };
        let read = ingest::read(&[input], &plant, &ingest::Progress::default());
        let read = read.unwrap_or_else(|error| panic!("{error}\n{text}"));
        assert_eq!(read.record.samples(), 60);
        plant.zone.local(read.record.instants()[0]).format("%F %T").to_string()
    }

    #[test]
    fn a_time_since_a_start_is_proposed_by_its_name() {
        for (name, unit, per) in
            [("Elapsed (s)", "s", 1), ("Time [ms]", "ms", 1000), ("Seconds", "s", 1)]
        {
            let head =
                format!("Start time: 2026-03-08 06:00:00\nExported: 2026-03-09 10:00:00\n\n{name}");
            let file = stamped(&head, |second| (second * per).to_string());
            let sheet = of(&file);
            let (draft, asked) = drafted(&sheet);
            assert_eq!(asked, Vec::<String>::new(), "{name}");
            let line = format!(
                "since_start = {{ column = \"{name}\", unit = \"{unit}\", start = \"Start time\" }}"
            );
            assert!(draft.text(&sheet).contains(&line), "{}", draft.text(&sheet));
            assert_eq!(begins(&file, &sheet, &draft), "2026-03-08 06:00:00");
        }
    }

    #[test]
    fn a_start_and_a_unit_that_nothing_says_are_asked() {
        let head = "Logger 7,2026-03-08 06:00:00\nPrinted,2026-03-09 10:00:00\n\nElapsed";
        let file = stamped(head, |second| (second * 1000).to_string());
        let sheet = of(&file);
        let (mut draft, asked) = drafted(&sheet);
        let expected = [
            "In which unit does \"Elapsed\" count from its start? The file takes in s 16 h 23 min, in ms 59 s, in \
             min 983 h 20 min, in h 59000 h 00 min, in \u{b5}s 0.059 s.",
            "From which start does \"Elapsed\" count? Above the header stand \"Logger 7\", 2026-03-08 06:00:00; \
             \"Printed\", 2026-03-09 10:00:00.",
        ];
        assert_eq!(asked, expected);
        assert!(draft.text(&sheet).contains("\n# since_start = {"), "{}", draft.text(&sheet));
        draft.loggers[0].since = Some(TimeUnit::Millisecond);
        draft.loggers[0].start = Some("Logger 7".to_owned());
        assert_eq!(draft.questions(&sheet), []);
        assert_eq!(begins(&file, &sheet, &draft), "2026-03-08 06:00:00");

        // No line states a start, or its date can be read two ways.
        let sheet = of(&stamped("Elapsed (s)", |second| second.to_string()));
        let asked = drafted(&sheet).1;
        assert!(
            asked[0].contains("from a start that no line above the header states"),
            "{asked:?}"
        );
        let sheet =
            of(&stamped("Start: 03/08/2026 06:00\n\nElapsed (s)", |second| second.to_string()));
        let asked = drafted(&sheet).1;
        assert!(asked[0].starts_with("Is 03/08/2026 06:00 day first or month first?"), "{asked:?}");
    }

    /// Rows may be counted as well: what rises without saying so is no time.
    #[test]
    fn a_column_that_rises_is_taken_for_a_time_by_a_person_only() {
        let file = stamped("Start: 2026-03-08 06:00:00\n\nNo", |second| second.to_string());
        let sheet = of(&file);
        let (mut draft, asked) = drafted(&sheet);
        assert_eq!(asked, ["Which column has the time since a start: \"No\"?"]);
        draft.take_for_time(&sheet, 0);
        assert_eq!(draft.column(Part::SinceStart), Some(0));
        draft.loggers[0].since = Some(TimeUnit::Second);
        assert_eq!(begins(&file, &sheet, &draft), "2026-03-08 06:00:00");
    }

    #[test]
    fn year_and_day_of_the_year_are_proposed_or_asked() {
        let rows = |day: u32| move |second: u32| format!("2026,{day},06:00:{second:02}");
        for (head, day) in [("Year,DOY,Time", 8), ("Jahr,Tag,Zeit", 67)] {
            let file = stamped(head, rows(day));
            let sheet = of(&file);
            let (draft, asked) = drafted(&sheet);
            assert_eq!(asked, Vec::<String>::new(), "{head}");
            let expected = if day == 8 { "2026-01-08 06:00:00" } else { "2026-03-08 06:00:00" };
            assert_eq!(begins(&file, &sheet, &draft), expected);
        }
        // A day of the month reads the same.
        let file = stamped("Year,Day,Time", rows(12));
        let sheet = of(&file);
        let (mut draft, asked) = drafted(&sheet);
        let expected = "Is \"Day\" the day of the year? The file is then of 12 January 2026. If it is the day of the \
                        month, have the logger write the date in one column.";
        assert_eq!(asked, [expected]);
        draft.set(&sheet, 1, Part::DayOfYear, Reason::Person);
        assert_eq!(draft.questions(&sheet), []);
        assert_eq!(begins(&file, &sheet, &draft), "2026-01-12 06:00:00");
    }
}
