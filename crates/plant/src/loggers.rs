//! Several loggers that record one pasteurizer together, each with its own files, columns and clock.

use crate::columns::{Columns, DateOrder, DayNumbers, LongForm, StampColumns, Times};
use crate::zone::LoggerClock;
use trace::{DecimalMark, Duration};

/// How the files of a logger are written.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct FileForm {
    /// The clock of its stamps.
    pub logger_clock: LoggerClock,
    /// The order of its dates, where the plant says it.
    pub date_order: Option<DateOrder>,
    /// The decimal mark, where the plant says it.
    pub decimal_mark: Option<DecimalMark>,
    /// The sheet of a workbook that has the readings, where the plant says it.
    pub sheet: Option<String>,
    /// How its files have one reading a row, where they do; then columns are names of channels.
    pub long: Option<LongForm>,
    /// What its day numbers count from, where it writes such.
    pub day_numbers: Option<DayNumbers>,
    /// How its times of day are written, where they could be another thing.
    pub times: Option<Times>,
    /// How readings hold, where a row stands only where something changed.
    pub on_change: Option<OnChange>,
}

/// How readings hold in files that have a row where something changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct OnChange {
    /// How long a reading holds at most.
    pub longest_hold: Duration,
    /// How often the logger looks whether something changed.
    pub step: Duration,
}

/// One of several loggers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Logger {
    /// Its name.
    pub name: String,
    /// How its files are called.
    pub files: FilePattern,
    /// How they are written.
    pub form: FileForm,
    /// Its columns.
    pub columns: Columns,
    /// How far a reading may lie from the row that takes it; the leading logger has none.
    pub tolerance: Duration,
    /// How many milliseconds its clock is ahead of that of the leading logger.
    pub clock_ahead: i64,
}

/// The name of a logger's files, with one `*` for what differs from day to day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FilePattern {
    before: String,
    after: String,
}

/// What the loggers record together, as the columns of one.
pub(crate) fn all_columns(loggers: &[Logger]) -> Columns {
    let Some((leading, others)) = loggers.split_first() else { return Columns::default() };
    let mut all = Columns {
        date: None,
        time: None,
        stamp: StampColumns::default(),
        are_part: false,
        ..leading.columns.clone()
    };
    for (role, binding) in others.iter().flat_map(|logger| &logger.columns.roles) {
        all.roles.entry(*role).or_insert_with(|| binding.clone());
    }
    all
}

impl FilePattern {
    /// A pattern with one `*`; `None` where it has none, several, or names a folder.
    pub fn new(text: &str) -> Option<Self> {
        let (before, after) = text.trim().split_once('*')?;
        let is_plain = !after.contains('*') && !text.contains(['/', '\\']);
        is_plain.then(|| Self { before: before.to_lowercase(), after: after.to_lowercase() })
    }

    /// What stands in the place of the `*` in the name of a file, in lower case; `None` where it is called
    /// otherwise. A compressed file may have `.gz` behind its name.
    pub fn day(&self, file: &str) -> Option<String> {
        let name = file.to_lowercase();
        let of = |name: &str| {
            let rest = name.strip_prefix(self.before.as_str())?;
            rest.strip_suffix(self.after.as_str()).map(ToOwned::to_owned)
        };
        of(&name).or_else(|| of(name.strip_suffix(".gz")?))
    }
}

impl std::fmt::Display for FilePattern {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(formatter, "{}*{}", self.before, self.after)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pattern_tells_the_day() {
        let Some(pattern) = FilePattern::new("line1-*-pressures.csv") else { panic!("a pattern") };
        for (file, day) in [
            ("line1-2026-03-04-pressures.csv", Some("2026-03-04")),
            ("LINE1-2026-03-04-Pressures.CSV", Some("2026-03-04")),
            ("line1-2026-03-04-pressures.csv.gz", Some("2026-03-04")),
            ("line1--pressures.csv", Some("")),
            ("line1-pressures.csv", None),
            ("line1-2026-03-04-valve.csv", None),
        ] {
            assert_eq!(pattern.day(file).as_deref(), day, "{file}");
        }
        for wrong in ["day.csv", "*-*.csv", "folder/*.csv", "..\\*.csv"] {
            assert_eq!(FilePattern::new(wrong), None, "{wrong}");
        }
    }
}
