//! What only a person can say before a file can be read.

use crate::draft::{Draft, Meaning, Part};
use crate::forms::{both_ways, changes, day_numbers, is_day_numbers};
use crate::looks::{candidates, has_position};
use crate::zones::is_zone;
use chrono::NaiveDateTime;
use ingest::sheet::{Sheet, StampKind};
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
    /// Which column holds the time; those that could.
    Time(Vec<usize>),
    /// Whether a row stands only where something changed, and why it seems so; or how long a reading holds then.
    OnChange(String),
    /// From which year a column counts days.
    DayNumbers(usize),
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
        /// The date.
        date: String,
        /// The orders in which it can be read.
        orders: Vec<DateOrder>,
    },
    /// A column whose name is blank or another's as well, so that no plant file can name it.
    Name(usize),
}

impl Question {
    /// The question in words.
    pub fn text(&self, sheet: &Sheet, draft: &Draft) -> String {
        let name = |column: usize| {
            sheet.columns.get(column).map_or_else(String::new, |one| format!("{:?}", one.name))
        };
        let names = |columns: &[usize]| {
            columns.iter().map(|&column| name(column)).collect::<Vec<_>>().join(", ")
        };
        match self {
            Self::Plant => "What is the plant called?".to_owned(),
            Self::Unit => "What is the pasteurizer called?".to_owned(),
            Self::Zone => "In which time zone does the logger's clock run?".to_owned(),
            Self::Time(columns) if columns.is_empty() => {
                "Which column holds date and time? No column reads as that.".to_owned()
            }
            Self::Time(columns) => {
                format!("Which column holds date and time: {}?", names(columns))
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
            Self::OnChange(why) => {
                format!("Does the system write only what has changed? It seems so: {why}.")
            }
            Self::DayNumbers(column) => {
                let seen = sheet.columns.get(*column).and_then(both_ways);
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
            Self::DateOrder { date, orders } => {
                format!("Is {date} {}? Nothing in the file tells.", DateOrder::either(orders))
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
    pub fn questions(&self, sheet: &Sheet) -> Vec<Question> {
        let mut questions = Vec::new();
        if self.column(Part::Time).is_none() {
            let stamps = sheet.columns.iter().enumerate();
            let stamps = stamps.filter(|(_, column)| {
                matches!(column.stamp, Some(StampKind::DateAndTime | StampKind::Time))
            });
            let mut stamps: Vec<usize> = stamps.map(|(index, _)| index).collect();
            if stamps.is_empty() {
                stamps = day_numbers(sheet);
            }
            questions.push(Question::Time(stamps));
        }
        let time = self.column(Part::Time);
        let counts = |&column: &usize| sheet.columns.get(column).is_some_and(is_day_numbers);
        if let Some(column) = time.filter(counts)
            && self.day_numbers.is_none()
        {
            questions.push(Question::DayNumbers(column));
        }
        if let Some(why) = changes(sheet, self)
            && (self.logging.is_on_change.is_none() || !self.logging.is_said())
        {
            questions.push(Question::OnChange(why));
        }
        let mut role = |role| {
            questions.push(Question::Role(role, candidates(sheet, self, role)));
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

    /// What the reading of the file asks, where it can't go on without.
    pub fn question_of(cause: &ingest::Error) -> Option<Question> {
        match cause {
            ingest::Error::AmbiguousDate { text, ways, .. } => {
                Some(Question::DateOrder { date: text.clone(), orders: ways.clone() })
            }
            _ => None,
        }
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
    use crate::draft::Reason;
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
                "What is the plant called?",
                "What is the pasteurizer called?",
                "In which time zone does the logger's clock run?",
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
        let question = Draft::question_of(&cause).map(|one| one.text(&sheet, &Draft::of(&sheet)));
        let expected = "Is 26/03/04 day first or year first? Nothing in the file tells.";
        assert_eq!(question.as_deref(), Some(expected));
        assert_eq!(Draft::question_of(&ingest::Error::NoInput), None);
    }
}
