//! What only a person can say before a file can be read.

use crate::draft::{Draft, Meaning, Part, Reason, is_time};
use crate::files::are_apart;
use crate::forms::{
    as_day_of_year, both_ways, changes, day_numbers, is_day_numbers, is_year, lengths, rising,
    symbol, year_day_time,
};
use crate::looks::{candidates, has_position};
use crate::sheets::{SeenLogger, Sheets};
use crate::zones::is_zone;
use chrono::NaiveDateTime;
use ingest::sheet::{SheetColumn, StampKind, StatedStart};
use plant::DateOrder;
use trace::Role;

/// Something that must be said.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Question {
    /// What the plant is called.
    Plant,
    /// What the pasteurizer is called.
    Unit,
    /// In which zone the logger's clock runs.
    Zone,
    /// How the files of a logger are called, of several.
    Files(usize),
    /// How far a reading of a logger may lie from the row that takes it.
    Tolerance(usize),
    /// Which column of a logger holds the time; those that could.
    Time {
        /// The logger.
        logger: usize,
        /// The columns.
        columns: Vec<usize>,
    },
    /// Whether a row stands only where something changed; or how long a reading holds then.
    OnChange {
        /// The logger.
        logger: usize,
        /// Why it seems so.
        why: String,
    },
    /// From which year a column counts days.
    DayNumbers(usize),
    /// Whether a column has days of the year.
    DayOfYear(usize),
    /// In which unit a column counts from a start.
    Since(usize),
    /// Which line above the header states the start from which a column counts.
    Start(usize),
    /// Which column is the role's; those that could be by what they read.
    Role(Role, Vec<usize>),
    /// In which unit a column reads.
    ColumnUnit(usize),
    /// What a word of a column means.
    Word {
        /// The column.
        column: usize,
        /// The word's place among the column's.
        word: usize,
    },
    /// In which order the dates are written; one that can be read in several.
    DateOrder {
        /// The logger that writes them.
        logger: usize,
        /// The date.
        date: String,
        /// The orders in which it can be read.
        orders: Vec<DateOrder>,
    },
    /// A column whose name is blank or another's as well, so that no plant file can name it.
    Name(usize),
}

/// Whose something is, where there are several loggers.
fn of_logger(sheets: &Sheets, draft: &Draft, logger: usize) -> String {
    let logger = draft.loggers.get(logger).filter(|_| sheets.are_several());
    logger.map_or_else(String::new, |logger| format!(" of {}", logger.name))
}

/// The name of a column in quotes.
fn named(sheets: &Sheets, draft: &Draft, column: usize) -> String {
    let of = of_logger(sheets, draft, sheets.logger_of(column));
    sheets.columns.get(column).map_or_else(String::new, |one| format!("{:?}{of}", one.name))
}

/// The lines above the header of a column's file that state a date and time.
fn starts(sheets: &Sheets, column: usize) -> &[StatedStart] {
    let logger = sheets.loggers.get(sheets.logger_of(column));
    logger.map_or(&[], |logger| &logger.sheet.starts)
}

impl Question {
    /// Whether the files can't be read before it is answered.
    pub const fn is_of_reading(&self) -> bool {
        !matches!(self, Self::Plant | Self::Unit | Self::Zone | Self::Word { .. } | Self::Name(_))
    }

    /// The question in words, without the answers that are offered beside it.
    pub fn brief(&self, sheets: &Sheets, draft: &Draft) -> String {
        let name = |column: usize| named(sheets, draft, column);
        match self {
            Self::Since(column) => {
                format!("In which unit does {} count from its start?", name(*column))
            }
            Self::Start(column) if starts(sheets, *column).is_empty() => format!(
                "{} counts from a start that no line above the header states. Set the logger to write one, such as Start time: 2026-03-08 06:00:00, or date and time in each row.",
                name(*column)
            ),
            Self::Start(column) => format!("From which start does {} count?", name(*column)),
            _ => self.text(sheets, draft),
        }
    }

    /// The question in words.
    pub fn text(&self, sheets: &Sheets, draft: &Draft) -> String {
        let of = |logger: usize| of_logger(sheets, draft, logger);
        let name = |column: usize| named(sheets, draft, column);
        let names = |columns: &[usize]| {
            columns.iter().map(|&column| name(column)).collect::<Vec<_>>().join(", ")
        };
        match self {
            Self::Plant => "What is the name of the plant?".to_owned(),
            Self::Unit => "What is the name of the pasteurizer?".to_owned(),
            Self::Zone => "In which time zone is the logger's clock?".to_owned(),
            Self::Files(logger) => {
                let seen = sheets.loggers.get(*logger);
                let file = seen.and_then(|seen| seen.files.first());
                let file = file.map_or("", |file| trace::file_name(file));
                format!(
                    "What are the files{} named, with one * for what differs from day to day? This file is {file}; the others have other names.",
                    of(*logger)
                )
            }
            Self::Tolerance(logger) => format!(
                "How far may a reading{} be from the row it is joined to, such as 2 s? At most 15 s; its own interval is the smallest value that loses none.",
                of(*logger)
            ),
            Self::Time { logger, columns } if columns.is_empty() => {
                format!("Which column{} has date and time? No column looks like that.", of(*logger))
            }
            Self::Time { columns, .. } => {
                let stamp = |&column: &usize| {
                    sheets
                        .columns
                        .get(column)
                        .is_some_and(|one| one.stamp.is_some() || is_day_numbers(one))
                };
                let what = if columns.iter().any(stamp) {
                    "date and time"
                } else {
                    "the time since a start"
                };
                format!("Which column has {what}: {}?", names(columns))
            }
            Self::Role(role, columns) => {
                let what = match role {
                    Role::HoldingTemperature => {
                        "the indicating thermometer at the outlet of the holding tube".to_owned()
                    }
                    Role::RawPressure => {
                        "the pressure on the raw side of the regenerator".to_owned()
                    }
                    Role::PasteurizedPressure => {
                        "the pressure on the pasteurized side of the regenerator".to_owned()
                    }
                    Role::Valve => "the position of the flow diversion device".to_owned(),
                    role => format!("the {}", role.name()),
                };
                match columns.as_slice() {
                    [] => format!("Which column is {what}?"),
                    some => format!("Which column is {what}? By what they read: {}", names(some)),
                }
            }
            Self::ColumnUnit(column) => format!("In which unit does {} read?", name(*column)),
            Self::Word { column, word } => {
                let word = draft.columns.get(*column).and_then(|one| one.words.get(*word));
                let (word, rows) = word.map_or(("", 0), |word| (word.word.as_str(), word.rows));
                format!("What does {word:?} in {} mean? {rows} rows have it.", name(*column))
            }
            Self::OnChange { logger, why } if sheets.are_several() => {
                format!("Are the rows{} only what has changed? It seems so: {why}.", of(*logger))
            }
            Self::OnChange { why, .. } => {
                format!("Does the system write only what has changed? It seems so: {why}.")
            }
            Self::DayOfYear(column) => {
                let year = draft.column_of(sheets, sheets.logger_of(*column), Part::Year);
                let year = year.and_then(|year| sheets.columns.get(year));
                let day = sheets.columns.get(*column);
                let as_date = day.zip(year).and_then(|(day, year)| as_day_of_year(day, year));
                let as_date = as_date
                    .map_or_else(String::new, |date| format!(" The file is then of {date}."));
                format!(
                    "Is {} the day of the year?{as_date} If it is the day of the month, have the logger write \
                     the date in one column.",
                    name(*column)
                )
            }
            Self::Since(column) => {
                let lengths = sheets.columns.get(*column).map_or_else(Vec::new, lengths);
                let lengths: Vec<String> = lengths
                    .iter()
                    .map(|&(unit, length)| format!("in {} {length}", symbol(unit)))
                    .collect();
                format!("{} The file takes {}.", self.brief(sheets, draft), lengths.join(", "))
            }
            Self::Start(column) => {
                let starts: Vec<String> = starts(sheets, *column)
                    .iter()
                    .map(|one| format!("{:?}, {}", one.label, one.text))
                    .collect();
                let above = match starts.as_slice() {
                    [] => String::new(),
                    some => format!(" Above the header stand {}.", some.join("; ")),
                };
                format!("{}{above}", self.brief(sheets, draft))
            }
            Self::DayNumbers(column) => {
                let seen = sheets.columns.get(*column).and_then(both_ways);
                let ways = seen.map_or_else(String::new, |[one, other]| {
                    let day = |stamp: NaiveDateTime| stamp.format("%-d %B %Y, %H:%M");
                    format!(
                        " It begins {} if from 1900, {} if from 1904.",
                        day(one.1),
                        day(other.1)
                    )
                });
                format!("{} counts days. From which year?{ways}", name(*column))
            }
            Self::DateOrder { date, orders, .. } => {
                format!("Is {date} {}? Nothing in the file says.", DateOrder::either(orders))
            }
            Self::Name(column) => format!(
                "Column {} has no name of its own, so that no plant file can name it. Give it one in the \
                 logger's export if it is needed.",
                column + 1
            ),
        }
    }
}

impl Draft {
    /// What is still to be said, in the order in which one would be asked.
    pub fn questions(&self, sheets: &Sheets) -> Vec<Question> {
        let mut questions = Vec::new();
        for logger in 0..sheets.loggers.len() {
            self.stamp_questions(sheets, logger, &mut questions);
        }
        let mut role = |role| {
            questions.push(Question::Role(role, candidates(sheets, self, role)));
        };
        if !has_position(self) {
            role(Role::Valve);
        }
        if !self.has(Role::HoldingTemperature) {
            role(Role::HoldingTemperature);
        }
        if !self.has(Role::DifferentialPressure) {
            for side in [Role::RawPressure, Role::PasteurizedPressure] {
                if !self.has(side) {
                    role(side);
                }
            }
        }
        for (index, column) in self.columns.iter().enumerate() {
            if column.part.has_unit() && column.unit.is_none() {
                questions.push(Question::ColumnUnit(index));
            }
            // A product that is held to no row of its own is held to the strictest.
            let words = column.words.iter().enumerate();
            for (word, one) in words.filter(|_| column.part != Part::Role(Role::Product)) {
                if one.meaning.is_none() {
                    questions.push(Question::Word { column: index, word });
                }
            }
        }
        self.joining_questions(sheets, &mut questions);
        if self.plant.trim().is_empty() {
            questions.push(Question::Plant);
        }
        if self.unit.trim().is_empty() {
            questions.push(Question::Unit);
        }
        if !is_zone(self.zone.trim()) {
            questions.push(Question::Zone);
        }
        questions
    }

    /// What is to be said of a logger's stamps and rows.
    fn stamp_questions(&self, sheets: &Sheets, logger: usize, questions: &mut Vec<Question>) {
        let Some(said) = self.loggers.get(logger) else { return };
        let seen = |column: usize| sheets.columns.get(column);
        let time = self.time_of(sheets, logger);
        if time.is_none() {
            let stamps = sheets.columns_of(logger).filter(|(_, column)| {
                matches!(column.stamp, Some(StampKind::DateAndTime | StampKind::Time))
                    && !is_year(column)
            });
            let mut columns: Vec<usize> = stamps.map(|(index, _)| index).collect();
            if columns.is_empty() {
                columns = day_numbers(sheets, logger);
                columns.extend(rising(sheets, logger));
            }
            questions.push(Question::Time { logger, columns });
        }
        if let Some(column) = time.filter(|&column| seen(column).is_some_and(is_day_numbers))
            && said.day_numbers.is_none()
            && self.columns.get(column).is_some_and(|one| one.part == Part::Time)
        {
            questions.push(Question::DayNumbers(column));
        }
        let has = |part| self.column_of(sheets, logger, part);
        if has(Part::Year).is_some()
            && has(Part::DayOfYear).is_none()
            && let Some([_, day, _]) = year_day_time(sheets, logger)
        {
            questions.push(Question::DayOfYear(day));
        }
        if let Some(column) = has(Part::SinceStart) {
            if said.since.is_none() {
                questions.push(Question::Since(column));
            }
            let starts = sheets.loggers.get(logger).map_or(&[][..], |one| &one.sheet.starts);
            match starts.iter().find(|one| Some(&one.label) == said.start.as_ref()) {
                None => questions.push(Question::Start(column)),
                Some(start) if start.orders.len() > 1 && said.date_order.is_none() => {
                    let (date, orders) = (start.text.clone(), start.orders.clone());
                    questions.push(Question::DateOrder { logger, date, orders });
                }
                Some(_) => {}
            }
        }
        if let Some(why) = changes(sheets, self, logger)
            && (said.logging.is_on_change.is_none() || !said.logging.is_said())
        {
            questions.push(Question::OnChange { logger, why });
        }
    }

    /// What is to be said of how several loggers make one record.
    fn joining_questions(&self, sheets: &Sheets, questions: &mut Vec<Question>) {
        if !sheets.are_several() {
            return;
        }
        let patterns: Vec<String> =
            self.loggers.iter().map(|logger| logger.files.clone()).collect();
        if !are_apart(sheets, &patterns) {
            questions.extend((0..self.loggers.len()).map(Question::Files));
        }
        let leading = self.leading(sheets);
        for (place, logger) in self.loggers.iter().enumerate() {
            if leading.is_some_and(|leading| leading != place) && !is_time(&logger.tolerance) {
                questions.push(Question::Tolerance(place));
            }
        }
    }

    /// What the reading of the files asks, where it can't go on without.
    pub fn question_of(cause: &ingest::Error, sheets: &Sheets) -> Option<Question> {
        match cause {
            ingest::Error::AmbiguousDate { file, text, ways, .. } => {
                let is_its = |one: &SeenLogger| one.files.contains(file);
                let logger = sheets.loggers.iter().position(is_its).unwrap_or(0);
                Some(Question::DateOrder { logger, date: text.clone(), orders: ways.clone() })
            }
            _ => None,
        }
    }

    /// Takes a column for that of the time, as it reads: stamps, a count of days, or a time since a start.
    pub fn take_for_time(&mut self, sheets: &Sheets, column: usize) {
        let is_stamp = |one: &SheetColumn| one.stamp.is_some() || is_day_numbers(one);
        let is_stamp = sheets.columns.get(column).is_none_or(is_stamp);
        let part = if is_stamp { Part::Time } else { Part::SinceStart };
        self.set(sheets, column, part, Reason::Person);
    }

    /// What all words of a column that have no meaning yet are taken for.
    pub fn say(&mut self, column: usize, word: usize, meaning: Meaning) {
        if let Some(word) =
            self.columns.get_mut(column).and_then(|column| column.words.get_mut(word))
        {
            word.meaning = Some(meaning);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::looks::tests::{of, tags};
    use plant::{AnyUnit, Plant};
    use trace::{PressureUnit, ValveState};

    #[test]
    fn what_is_answered_is_asked_no_more_and_then_the_file_can_be_read() {
        let file = tags(300);
        let sheet = of(&file);
        let mut draft = Draft::of(&sheet);
        let asked = |draft: &Draft| -> Vec<String> {
            draft.questions(&sheet).iter().map(|one| one.text(&sheet, draft)).collect()
        };
        assert_eq!(
            asked(&draft),
            [
                "Which column is the pressure on the raw side of the regenerator? By what they read: \
                 \"PT1\", \"PT2\"",
                "Which column is the pressure on the pasteurized side of the regenerator? By what \
                 they read: \"PT1\", \"PT2\"",
                "What does \"1\" in \"XV9\" mean? 150 rows have it.",
                "What does \"0\" in \"XV9\" mean? 150 rows have it.",
                "What is the name of the plant?",
                "What is the name of the pasteurizer?",
                "In which time zone is the logger's clock?",
            ]
        );
        draft.set(&sheet, 3, Part::Role(Role::RawPressure), Reason::Person);
        draft.set(&sheet, 4, Part::Role(Role::PasteurizedPressure), Reason::Person);
        for column in [3, 4] {
            draft.columns[column].unit = Some(AnyUnit::Pressure(PressureUnit::Psi));
        }
        draft.say(5, 0, Meaning::Position(ValveState::Forward));
        draft.say(5, 1, Meaning::Position(ValveState::Divert));
        draft.plant = "Example Dairy (invented)".to_owned();
        draft.unit = "HTST \"2\"".to_owned();
        draft.zone = "America/Chicago".to_owned();
        assert_eq!(asked(&draft), Vec::<String>::new());

        let text = draft.text(&sheet);
        let plant =
            Plant::parse("plant.toml", &text).unwrap_or_else(|error| panic!("{error}\n{text}"));
        assert_eq!(plant.unit, "HTST \"2\"");
        let bytes = file.into_bytes();
        let input = ingest::Input::Bytes { name: "f.csv".to_owned(), bytes };
        let read = ingest::read(&[input], &plant, &ingest::Progress::default());
        let read = read.unwrap_or_else(|error| panic!("{error}\n{text}"));
        assert_eq!(read.record.samples(), 300);
        insta::assert_snapshot!(text);
    }

    #[test]
    fn a_date_that_can_be_read_two_ways_is_asked_about() {
        let cause = ingest::Error::AmbiguousDate {
            file: "f.csv".to_owned(),
            line: 2,
            text: "26/03/04".to_owned(),
            ways: vec![DateOrder::DayFirst, DateOrder::YearFirst],
        };
        let file = tags(1);
        let sheet = of(&file);
        let question =
            Draft::question_of(&cause, &sheet).map(|one| one.text(&sheet, &Draft::of(&sheet)));
        let expected = "Is 26/03/04 day first or year first? Nothing in the file says.";
        assert_eq!(question.as_deref(), Some(expected));
        assert_eq!(Draft::question_of(&ingest::Error::NoInput, &sheet), None);
    }
}
