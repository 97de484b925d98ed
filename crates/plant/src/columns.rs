//! How the logger's columns are bound to roles, and what its words mean.

use std::collections::BTreeMap;
use trace::{Decimal, FlowUnit, PressureUnit, Quantity, Role, TemperatureUnit, Unit};

/// The order in which a date's day, month and year are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum DateOrder {
    /// 2026-03-08
    YearFirst,
    /// 03/08/2026
    MonthFirst,
    /// 08/03/2026
    DayFirst,
}

impl DateOrder {
    /// The name in a plant file.
    pub const fn name(self) -> &'static str {
        match self {
            Self::YearFirst => "year-first",
            Self::MonthFirst => "month-first",
            Self::DayFirst => "day-first",
        }
    }

    /// The same in words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::YearFirst => "year first",
            Self::MonthFirst => "month first",
            Self::DayFirst => "day first",
        }
    }

    /// Several, in words.
    pub fn either(orders: &[Self]) -> String {
        orders.iter().map(|order| order.words()).collect::<Vec<_>>().join(" or ")
    }
}

/// A column that plays a role.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Binding {
    /// The column's name in the header, as the logger writes it.
    pub column: String,
    /// The word for the unit; `None` when the header or the units row says it.
    pub unit: Option<String>,
    /// The physical range in that unit, ends included; `None` for the built-in one.
    pub range: Option<(Decimal, Decimal)>,
}

/// The columns of a file that has one reading a row beside the name of its channel.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LongForm {
    /// The column that names the channel.
    pub tag: String,
    /// The column that holds its reading.
    pub value: String,
    /// The column that tells the quality of the reading, where there is one.
    pub quality: Option<String>,
}

/// Columns of the stamp beside those of date and time.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct StampColumns {
    /// The part of the second that the time lacks, and its unit.
    pub fraction: Option<(String, TimeUnit)>,
    /// The year and the day of the year, instead of a date.
    pub year_and_day: Option<(String, String)>,
    /// The time since a start, instead of date and time.
    pub since_start: Option<SinceStart>,
}

/// A column of the time since a start that a line above the header states.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SinceStart {
    /// The column's name.
    pub column: String,
    /// The unit of its figures.
    pub unit: TimeUnit,
    /// How the line begins that states the start.
    pub start: String,
}

/// A unit of time in a column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TimeUnit {
    /// s
    Second,
    /// ms
    Millisecond,
    /// us
    Microsecond,
    /// min
    Minute,
    /// h
    Hour,
}

impl TimeUnit {
    /// The unit that a word of a plant file names.
    pub fn from_word(word: &str) -> Option<Self> {
        Some(match word.trim() {
            "s" => Self::Second,
            "ms" => Self::Millisecond,
            "us" | "\u{b5}s" => Self::Microsecond,
            "min" => Self::Minute,
            "h" => Self::Hour,
            _ => return None,
        })
    }

    /// How many milliseconds (the first) so many of it are (the second).
    pub const fn in_milliseconds(self) -> (i64, i64) {
        match self {
            Self::Second => (1000, 1),
            Self::Millisecond => (1, 1),
            Self::Microsecond => (1, 1000),
            Self::Minute => (60_000, 1),
            Self::Hour => (3_600_000, 1),
        }
    }
}

/// What a spreadsheet counts days from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DayNumbers {
    /// 1 is 1 January 1900; from March 1900 on a day is the count from 30 December 1899.
    From1900,
    /// 0 is 1 January 1904.
    From1904,
}

impl DayNumbers {
    /// The count of the day on which the Unix epoch begins.
    pub const fn of_unix_epoch(self) -> i64 {
        match self {
            Self::From1900 => 25_569,
            Self::From1904 => 24_107,
        }
    }
}

/// A form of the time of day that could be another thing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Times {
    /// `6:5:3`
    Unpadded,
    /// `6`
    Hours,
}

/// The columns of a logger file.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Columns {
    /// The column of the date, where it is apart from the time.
    pub date: Option<String>,
    /// The column of the time, or of date and time together.
    pub time: Option<String>,
    /// Where more of the stamp stands.
    pub stamp: StampColumns,
    /// The bound roles.
    pub roles: BTreeMap<Role, Binding>,
    /// The words of the `valve` column.
    pub valve_words: ValveWords,
    /// The words of position switches, of the leak sensor and of the timing pump.
    pub switch_words: SwitchWords,
    /// The words of the `mode` column.
    pub mode_words: ModeWords,
    /// Whether the files of other loggers have the rest of what an audit needs.
    pub are_part: bool,
}

impl Columns {
    /// The unit of the thermometers, as far as the plant file says it.
    pub fn temperature_unit(&self) -> Option<TemperatureUnit> {
        let binding = self.roles.get(&Role::HoldingTemperature)?;
        TemperatureUnit::from_word(binding.unit.as_deref()?)
    }

    /// Whether the plant file binds any column; if not, columns are recognised by their names.
    pub fn is_bound(&self) -> bool {
        self.time.is_some() || self.stamp.since_start.is_some() || !self.roles.is_empty()
    }
}

/// The words for positions of the flow diversion device; case does not matter.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ValveWords {
    /// Forward flow.
    pub forward: Vec<String>,
    /// Diverted flow.
    pub divert: Vec<String>,
    /// Between the two.
    pub travel: Vec<String>,
}

/// The words for on and off; case does not matter.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SwitchWords {
    /// Switch made, leak seen, pump running.
    pub on: Vec<String>,
    /// Switch not made, no leak, pump stopped.
    pub off: Vec<String>,
}

/// The words for modes; case does not matter.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ModeWords {
    /// Product is made.
    pub production: Vec<String>,
    /// The line runs on water.
    pub water: Vec<String>,
    /// The line is cleaned.
    pub cleaning: Vec<String>,
}

/// What the line is doing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Mode {
    /// Product is made, or nothing says otherwise.
    Production,
    /// The line runs on water.
    Water,
    /// The line is cleaned.
    Cleaning,
}

impl Mode {
    /// The name in reports.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Production => "production",
            Self::Water => "water",
            Self::Cleaning => "cleaning",
        }
    }
}

fn owned(words: &[&str]) -> Vec<String> {
    words.iter().map(|&word| word.to_owned()).collect()
}

fn has(words: &[String], word: &str) -> bool {
    let word = word.trim().to_lowercase();
    words.iter().any(|known| known.trim().to_lowercase() == word)
}

impl Default for ValveWords {
    /// Words whose meaning is plain. `0` and `1` are not among them: only a plant knows which is
    /// which.
    fn default() -> Self {
        Self {
            forward: owned(&["forward", "forward flow", "fwd", "ff"]),
            divert: owned(&["divert", "diverted", "divert flow", "diverted flow", "div", "df"]),
            travel: owned(&["travel", "traveling", "travelling", "trv", "moving", "transit"]),
        }
    }
}

impl Default for SwitchWords {
    fn default() -> Self {
        Self {
            on: owned(&[
                "1", "on", "true", "yes", "made", "closed", "leak", "run", "running", "alarm",
            ]),
            off: owned(&[
                "0", "off", "false", "no", "open", "ok", "none", "stop", "stopped", "normal",
            ]),
        }
    }
}

impl Default for ModeWords {
    fn default() -> Self {
        Self {
            production: owned(&["production", "product", "prod", "run", "milk"]),
            water: owned(&["water", "rinse", "flush"]),
            cleaning: owned(&["cleaning", "clean", "cip", "wash", "sanitize", "sanitise"]),
        }
    }
}

impl ValveWords {
    /// The position that a word stands for; `None` for an unmapped word.
    pub fn position(&self, word: &str) -> Option<trace::ValveState> {
        if has(&self.forward, word) {
            Some(trace::ValveState::Forward)
        } else if has(&self.divert, word) {
            Some(trace::ValveState::Divert)
        } else if has(&self.travel, word) {
            Some(trace::ValveState::Travel)
        } else {
            None
        }
    }
}

impl SwitchWords {
    /// On, off, or `None` for an unmapped word.
    pub fn state(&self, word: &str) -> Option<bool> {
        if has(&self.on, word) {
            Some(true)
        } else if has(&self.off, word) {
            Some(false)
        } else {
            None
        }
    }
}

impl ModeWords {
    /// The mode that a word stands for. A word that is not known counts as production: milk may
    /// be in the line.
    pub fn mode(&self, word: &str) -> Mode {
        if has(&self.cleaning, word) {
            Mode::Cleaning
        } else if has(&self.water, word) {
            Mode::Water
        } else {
            Mode::Production
        }
    }
}

/// A unit of any quantity.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AnyUnit {
    /// °F or °C
    Temperature(TemperatureUnit),
    /// psi, kPa, …
    Pressure(PressureUnit),
    /// L/h, gal/min, …
    Flow(FlowUnit),
}

impl AnyUnit {
    /// The unit that `word` names for a role; `None` when it names none of that quantity.
    pub fn from_word(role: Role, word: &str) -> Option<Self> {
        match role.quantity() {
            Quantity::Temperature => TemperatureUnit::from_word(word).map(Self::Temperature),
            Quantity::Pressure => PressureUnit::from_word(word).map(Self::Pressure),
            Quantity::Flow => FlowUnit::from_word(word).map(Self::Flow),
            Quantity::State | Quantity::Text => None,
        }
    }

    /// The units in which a role's readings can be; none for a state or a text.
    pub fn of_role(role: Role) -> Vec<Self> {
        match role.quantity() {
            Quantity::Temperature => vec![
                Self::Temperature(TemperatureUnit::Fahrenheit),
                Self::Temperature(TemperatureUnit::Celsius),
            ],
            Quantity::Pressure => vec![
                Self::Pressure(PressureUnit::Psi),
                Self::Pressure(PressureUnit::Kilopascal),
                Self::Pressure(PressureUnit::Bar),
                Self::Pressure(PressureUnit::Millibar),
                Self::Pressure(PressureUnit::Megapascal),
            ],
            Quantity::Flow => vec![
                Self::Flow(FlowUnit::GallonPerMinute),
                Self::Flow(FlowUnit::GallonPerHour),
                Self::Flow(FlowUnit::LitrePerHour),
                Self::Flow(FlowUnit::LitrePerMinute),
                Self::Flow(FlowUnit::CubicMetrePerHour),
            ],
            Quantity::State | Quantity::Text => Vec::new(),
        }
    }

    /// The symbol, as printed.
    pub fn symbol(self) -> &'static str {
        match self {
            Self::Temperature(unit) => unit.symbol(),
            Self::Pressure(unit) => unit.symbol(),
            Self::Flow(unit) => unit.symbol(),
        }
    }

    /// The built-in physical range: a reading outside it is the sensor's fault, not the milk's.
    ///
    /// Our own choice, generous on both sides (common practice for dairy sensors): holding and
    /// recorder temperature 0 to 110 °C, other temperatures −10 to 150 °C, −1 bar to 20 bar,
    /// −1 to 200 m³/h. An open thermometer circuit reads far above what an HTST holding tube can
    /// hold, and must not pass for hot milk; a plant file can set narrower ranges.
    pub fn physical_range(self, role: Role) -> (Decimal, Decimal) {
        let whole = |least, greatest| (Decimal::whole(least), Decimal::whole(greatest));
        let held = matches!(role, Role::HoldingTemperature | Role::RecorderTemperature);
        match self {
            Self::Temperature(TemperatureUnit::Celsius) if held => whole(0, 110),
            Self::Temperature(TemperatureUnit::Fahrenheit) if held => whole(32, 230),
            Self::Temperature(TemperatureUnit::Celsius) => whole(-10, 150),
            Self::Temperature(TemperatureUnit::Fahrenheit) => whole(14, 302),
            Self::Pressure(PressureUnit::Psi) => whole(-15, 300),
            Self::Pressure(PressureUnit::Kilopascal) => whole(-100, 2000),
            Self::Pressure(PressureUnit::Bar) => whole(-1, 20),
            Self::Pressure(PressureUnit::Millibar) => whole(-1000, 20_000),
            Self::Pressure(PressureUnit::Megapascal) => (Decimal::new(-1, 1), Decimal::whole(2)),
            Self::Flow(FlowUnit::LitrePerHour) => whole(-1000, 200_000),
            Self::Flow(FlowUnit::CubicMetrePerHour) => whole(-1, 200),
            Self::Flow(FlowUnit::LitrePerMinute) => whole(-17, 3333),
            Self::Flow(FlowUnit::GallonPerMinute) => whole(-5, 880),
            Self::Flow(FlowUnit::GallonPerHour) => whole(-264, 52_800),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use trace::ValveState;

    /// An open thermometer circuit reads 250 °F, and no holding tube is that hot.
    #[test]
    fn the_holding_temperature_has_a_range_of_its_own() {
        let (celsius, fahrenheit) = (
            AnyUnit::Temperature(TemperatureUnit::Celsius),
            AnyUnit::Temperature(TemperatureUnit::Fahrenheit),
        );
        let whole = |least, greatest| (Decimal::whole(least), Decimal::whole(greatest));
        for role in Role::ALL {
            let (in_celsius, in_fahrenheit) = match role {
                Role::HoldingTemperature | Role::RecorderTemperature => {
                    (whole(0, 110), whole(32, 230))
                }
                _ => (whole(-10, 150), whole(14, 302)),
            };
            assert_eq!(celsius.physical_range(role), in_celsius, "{role:?}");
            assert_eq!(fahrenheit.physical_range(role), in_fahrenheit, "{role:?}");
        }
    }

    #[test]
    fn words_are_told_apart_without_case() {
        let words = ValveWords::default();
        assert_eq!(words.position(" FWD "), Some(ValveState::Forward));
        assert_eq!(words.position("Diverted"), Some(ValveState::Divert));
        assert_eq!(words.position("1"), None);
        assert_eq!(words.position(""), None);
        assert_eq!(ModeWords::default().mode("CIP"), Mode::Cleaning);
        assert_eq!(ModeWords::default().mode("?"), Mode::Production);
    }
}
