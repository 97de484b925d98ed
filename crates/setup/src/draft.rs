//! What each column is taken for. A draft begins with what names and readings say, and a person
//! changes what they say otherwise.

use crate::reads::reads_as_held;
use crate::sheets::Sheets;
use ingest::sheet::SheetColumn;
use plant::{AnyUnit, DateOrder, DayNumbers, ModeWords, TimeUnit, ValveWords};
use trace::{DecimalMark, Quantity, Role, TemperatureUnit, ValveState};

/// A plant file in the making.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Draft {
    /// The plant's name; blank while nobody said it.
    pub plant: String,
    /// The pasteurizer's name; blank while nobody said it.
    pub unit: String,
    /// The IANA name of the zone; blank while nobody said it.
    pub zone: String,
    /// How the files of each logger are written, in the order of the loggers.
    pub loggers: Vec<DraftLogger>,
    /// The key of the built-in row that the plant's product is held to, where the files name none;
    /// `None` for milk in the United States, which is assumed.
    pub row: Option<&'static str>,
    /// What each column of the files is taken for, in the order of the files.
    pub columns: Vec<DraftColumn>,
}

/// How the files of a logger are written, and, where it is one of several, how they are joined.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct DraftLogger {
    /// What it is called, where it is one of several.
    pub name: String,
    /// How its files are called, with one `*` for what differs from day to day; blank while nobody said it.
    pub files: String,
    /// How far a reading may lie from the row that takes it, such as `2 s`; blank while nobody said it.
    pub tolerance: String,
    /// Whether it does not change to daylight saving time.
    pub is_standard_clock: bool,
    /// Whether a row stands only where something changed.
    pub logging: Logging,
    /// What a count of days begins with, where the stamps are one.
    pub day_numbers: Option<DayNumbers>,
    /// The order of dates, where it must be said.
    pub date_order: Option<DateOrder>,
    /// The decimal mark, where it must be said.
    pub decimal_mark: Option<DecimalMark>,
    /// The unit of a time since a start.
    pub since: Option<TimeUnit>,
    /// How the line above the header begins that states the start.
    pub start: Option<String>,
}

/// Whether a row stands only where something changed, and what holds then.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Logging {
    /// `None` while nobody said it; then every row is a reading, and it is asked where the file looks otherwise.
    pub is_on_change: Option<bool>,
    /// How long a reading holds at most, such as `10 min`.
    pub longest_hold: String,
    /// How often the system looks, such as `1 s`.
    pub step: String,
}

impl Logging {
    /// Whether all is said that it takes.
    pub(crate) fn is_said(&self) -> bool {
        self.is_on_change != Some(true) || (is_time(&self.longest_hold) && is_time(&self.step))
    }
}

/// Whether a text is a time with its unit, such as `10 min`.
pub(crate) fn is_time(text: &str) -> bool {
    let (figure, unit) = text.trim().split_once(' ').unwrap_or_default();
    figure.parse::<f64>().is_ok_and(|figure| figure > 0.0)
        && matches!(unit.trim(), "ms" | "s" | "min" | "h")
}

/// What a column is taken for.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct DraftColumn {
    /// What it is.
    pub part: Part,
    /// Its unit, where it has one.
    pub unit: Option<AnyUnit>,
    /// Why it is taken for that.
    pub reason: Reason,
    /// What its words mean, for a device's position and for a mode.
    pub words: Vec<WordMeaning>,
}

/// What a column is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub enum Part {
    /// It is not used.
    #[default]
    Unused,
    /// The date, apart from the time.
    Date,
    /// The time, or date and time together.
    Time,
    /// The year, beside the day of the year.
    Year,
    /// The day of the year.
    DayOfYear,
    /// The time since a start, which is all of the stamp.
    SinceStart,
    /// It plays a role in the audit.
    Role(Role),
}

/// Why a column is taken for what it is.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub enum Reason {
    /// Nothing tells.
    #[default]
    None,
    /// Its name says so.
    Name,
    /// Its name says so in another language.
    ForeignName,
    /// Its cells look like it; how.
    Readings(String),
    /// A person said so.
    Person,
}

impl Reason {
    /// In a few words; none where nothing tells, or a person said so.
    pub fn words(&self) -> &str {
        match self {
            Self::None | Self::Person => "",
            Self::Name => "by its name",
            Self::ForeignName => "by its name in another language",
            Self::Readings(why) => why,
        }
    }
}

/// What a word of a column means.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WordMeaning {
    /// The word, as the logger writes it.
    pub word: String,
    /// How many rows have it.
    pub rows: u64,
    /// What it means; `None` while nobody said it.
    pub meaning: Option<Meaning>,
}

/// What a word can mean.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Meaning {
    /// A position of the flow diversion device.
    Position(ValveState),
    /// What the line is doing.
    Mode(plant::Mode),
    /// A product that is held to the built-in row of this key.
    Row(&'static str),
    /// Neither of those: a blank reading in words, such as `BAD`.
    Nothing,
}

impl Meaning {
    /// What the words of a column with this role can mean.
    pub fn of(role: Role) -> Vec<Self> {
        match role {
            Role::Valve => vec![
                Self::Position(ValveState::Forward),
                Self::Position(ValveState::Divert),
                Self::Position(ValveState::Travel),
                Self::Nothing,
            ],
            Role::Mode => vec![
                Self::Mode(plant::Mode::Production),
                Self::Mode(plant::Mode::Water),
                Self::Mode(plant::Mode::Cleaning),
            ],
            Role::Product => plant::ROWS.iter().map(|row| Self::Row(row.key)).collect(),
            _ => Vec::new(),
        }
    }

    /// The name for a person.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Position(state) => state.name(),
            Self::Mode(mode) => mode.name(),
            Self::Row(key) => key,
            Self::Nothing => "no position",
        }
    }
}

impl Part {
    /// The name for a person.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Unused => "not used",
            Self::Date => "date",
            Self::Time => "time",
            Self::Year => "year",
            Self::DayOfYear => "day of the year",
            Self::SinceStart => "time since a start",
            Self::Role(role) => role.name(),
        }
    }

    /// All that a column can be, in the order in which they are offered.
    pub fn all() -> impl Iterator<Item = Self> {
        use Part::{Date, DayOfYear, SinceStart, Time, Unused, Year};
        let first = [Unused, Date, Time].into_iter().chain(Role::ALL.map(Self::Role));
        first.chain([Year, DayOfYear, SinceStart])
    }

    /// Whether a logger can't have a column of this part beside one of the other.
    fn excludes(self, other: Self) -> bool {
        use Part::{Date, DayOfYear, SinceStart, Time, Year};
        let one_way = |one, other| match one {
            SinceStart => matches!(other, Date | Time | Year | DayOfYear),
            Date => matches!(other, Year | DayOfYear),
            _ => false,
        };
        self == other || one_way(self, other) || one_way(other, self)
    }

    /// Whether readings of this part have a unit.
    pub const fn has_unit(self) -> bool {
        match self {
            Self::Role(role) => !matches!(role.quantity(), Quantity::State | Quantity::Text),
            _ => false,
        }
    }
}

impl Draft {
    /// Takes a column for something. What was taken for it before is not used any more: two columns
    /// can't play one part, nor one logger have two stamps.
    pub fn set(&mut self, sheets: &Sheets, column: usize, part: Part, reason: Reason) {
        if part != Part::Unused {
            let is_reading = matches!(part, Part::Role(_));
            let own = sheets.loggers.get(sheets.logger_of(column));
            let is_own = |place| own.is_some_and(|own| own.columns.contains(&place));
            for (place, other) in self.columns.iter_mut().enumerate() {
                if part.excludes(other.part) && (is_reading || is_own(place)) {
                    *other = DraftColumn { reason: Reason::Person, ..DraftColumn::default() };
                }
            }
        }
        let (Some(seen), Some(column)) = (sheets.columns.get(column), self.columns.get_mut(column))
        else {
            return;
        };
        let unit = match part {
            Part::Role(role) => unit(role, seen),
            _ => None,
        };
        let words = match part {
            Part::Role(role) => meanings(role, seen),
            _ => Vec::new(),
        };
        *column = DraftColumn { part, unit, reason, words };
    }

    /// The column that is taken for a part.
    pub fn column(&self, part: Part) -> Option<usize> {
        self.columns.iter().position(|column| column.part == part)
    }

    /// The column of a logger that is taken for a part.
    pub fn column_of(&self, sheets: &Sheets, logger: usize, part: Part) -> Option<usize> {
        let mut columns = sheets.columns_of(logger).map(|(place, _)| place);
        columns.find(|&place| self.columns.get(place).is_some_and(|column| column.part == part))
    }

    /// The column of a logger's time, or of the time since a start.
    pub fn time_of(&self, sheets: &Sheets, logger: usize) -> Option<usize> {
        let mut parts = [Part::Time, Part::SinceStart].into_iter();
        parts.find_map(|part| self.column_of(sheets, logger, part))
    }

    /// The logger that has the position of the flow diversion device: its rows are those of the record.
    pub fn leading(&self, sheets: &Sheets) -> Option<usize> {
        let mut roles = [Role::Valve, Role::ValveForward, Role::ValveDivert].into_iter();
        let column = roles.find_map(|role| self.column(Part::Role(role)))?;
        Some(sheets.logger_of(column))
    }

    /// Whether a column plays a role.
    pub(crate) fn has(&self, role: Role) -> bool {
        self.column(Part::Role(role)).is_some()
    }
}

/// The unit of a column that plays a role, as far as it is said or nothing else is possible.
fn unit(role: Role, column: &SheetColumn) -> Option<AnyUnit> {
    let said = column.unit.filter(|unit| AnyUnit::from_word(role, unit.symbol()).is_some());
    // Milk that reads around 161 is not held at so many degrees Celsius: water boils at 100.
    let is_held = matches!(role, Role::HoldingTemperature | Role::RecorderTemperature);
    let fahrenheit = || {
        let unit = reads_as_held(column).filter(|_| is_held && column.unit.is_none());
        unit.filter(|&unit| unit == TemperatureUnit::Fahrenheit).map(AnyUnit::Temperature)
    };
    said.or_else(fahrenheit)
}

/// What the words of a column mean, as far as that is plain.
fn meanings(role: Role, column: &SheetColumn) -> Vec<WordMeaning> {
    if Meaning::of(role).is_empty() || column.more_words {
        return Vec::new();
    }
    let (positions, modes) = (ValveWords::default(), ModeWords::default());
    let means = |word: &str| match role {
        Role::Valve => positions.position(word).map(Meaning::Position),
        // A word that is not known counts as production; one that is said to be is.
        Role::Mode => Some(Meaning::Mode(modes.mode(word))),
        // No name of a product tells its fat and sugar.
        _ => None,
    };
    let word = |(word, rows): &(String, u64)| WordMeaning {
        meaning: means(word),
        word: word.clone(),
        rows: *rows,
    };
    column.words.iter().map(word).collect()
}
