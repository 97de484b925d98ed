//! In which of the rarer forms a file seems to be written: rows only where something changed, stamps that are a
//! spreadsheet's count of days. What is seen here is asked and never taken for granted.

use crate::draft::{Draft, Part};
use chrono::{DateTime, NaiveDateTime, TimeDelta};
use ingest::sheet::{Sheet, SheetColumn};
use plant::DayNumbers;

/// Days of loggers as a spreadsheet counts them: from 1982 to 2064 in the one epoch, four years later in the other.
const DAYS: (f64, f64) = (30_000.0, 60_000.0);

/// Rows of fewer say nothing.
const LEAST_ROWS: u64 = 12;

/// Why the rows of a file seem to stand only where something changed.
pub(crate) fn changes(sheet: &Sheet, draft: &Draft) -> Option<String> {
    if sheet.rows < LEAST_ROWS {
        return None;
    }
    let readings = draft.columns.iter().zip(&sheet.columns);
    let readings = readings.filter(|(column, _)| matches!(column.part, Part::Role(_)));
    let (all, blank) = readings.fold((0_u32, 0_u32), |(all, blank), (_, seen)| {
        (all + 1, blank + u32::from(seen.blank * 2 > sheet.rows))
    });
    if all > 1 && blank * 2 > all {
        return Some(format!("{blank} of {all} columns that are used are blank in most rows"));
    }
    let time = draft.column(Part::Time).and_then(|column| sheet.columns.get(column))?;
    time.is_irregular.then(|| "the rows come at irregular times".to_owned())
}

/// The columns that seem to hold a spreadsheet's count of days.
pub(crate) fn day_numbers(sheet: &Sheet) -> Vec<usize> {
    let columns = sheet.columns.iter().enumerate();
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

    fn asks(draft: &Draft, sheet: &Sheet) -> Option<String> {
        let questions = draft.questions(sheet);
        let is_it = |question: &&Question| matches!(question, Question::OnChange(_));
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
        draft.logging.is_on_change = Some(true);
        assert!(asks(&draft, &blank).is_some(), "how long a reading holds is not said");
        (draft.logging.longest_hold, draft.logging.step) = ("10 min".to_owned(), "1 s".to_owned());
        assert_eq!(asks(&draft, &blank), None);
        draft.plant = "Example Dairy (invented)".to_owned();
        (draft.unit, draft.zone) = ("HTST-1".to_owned(), "UTC".to_owned());
        let text = draft.text(&blank);
        let plant = Plant::parse("p", &text).unwrap_or_else(|error| panic!("{error}\n{text}"));
        assert!(plant.form.on_change.is_some(), "{text}");
        draft.logging.is_on_change = Some(false);
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
        draft.day_numbers = Some(DayNumbers::From1900);
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
}
