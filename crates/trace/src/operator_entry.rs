//! What the operator wrote down during the day, each with its time and name.

use crate::decimal::Decimal;
use crate::instant::Instant;
use crate::source_file::SourceFile;
use crate::units::{TemperatureUnit, Unit as _};

/// What an entry is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum EntryKind {
    /// The indicating thermometer, read.
    Indicating,
    /// The recorder's thermometer, read.
    Recorder,
    /// The temperature at which the device went forward, found by test.
    CutIn,
    /// The temperature at which the device diverted, found by test with the temperature falling.
    CutOut,
    /// An alarm.
    Alarm,
    /// An unusual occurrence.
    Occurrence,
    /// The seals, looked at.
    Seals,
}

impl EntryKind {
    /// All kinds, in the order of pages.
    pub const ALL: [Self; 7] = [
        Self::Indicating,
        Self::Recorder,
        Self::CutIn,
        Self::CutOut,
        Self::Alarm,
        Self::Occurrence,
        Self::Seals,
    ];

    /// The key in files.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Indicating => "indicating",
            Self::Recorder => "recorder",
            Self::CutIn => "cut_in",
            Self::CutOut => "cut_out",
            Self::Alarm => "alarm",
            Self::Occurrence => "occurrence",
            Self::Seals => "seals",
        }
    }

    /// The name for a person.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Indicating => "indicating thermometer",
            Self::Recorder => "recorder",
            Self::CutIn => "cut-in test",
            Self::CutOut => "cut-out test",
            Self::Alarm => "alarm",
            Self::Occurrence => "unusual occurrence",
            Self::Seals => "seals",
        }
    }

    /// The kind of a key; case, blanks and hyphens do not matter.
    pub fn from_word(word: &str) -> Option<Self> {
        let word = word.trim().to_lowercase().replace(['-', ' '], "_");
        Self::ALL.into_iter().find(|kind| kind.key() == word)
    }

    /// Whether an entry of this kind is a temperature; the others are words.
    pub const fn is_reading(self) -> bool {
        matches!(self, Self::Indicating | Self::Recorder | Self::CutIn | Self::CutOut)
    }
}

/// One entry.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OperatorEntry {
    /// When.
    pub at: Instant,
    /// Whether the time was written without seconds: it then means the whole minute.
    pub to_the_minute: bool,
    /// About what.
    pub kind: EntryKind,
    /// The temperature that was read; always there where the kind is one of a reading, else never.
    pub reading: Option<(Decimal, TemperatureUnit)>,
    /// Who made it; not blank.
    pub by: String,
    /// What else was written; not blank where the kind is one of words.
    pub note: String,
    /// The line of the file, counted from 1.
    pub line: u64,
}

impl OperatorEntry {
    /// The temperature that was read, with its unit; `None` for words.
    pub fn in_figures(&self) -> Option<String> {
        self.reading.map(|(value, unit)| format!("{value} {}", unit.symbol()))
    }
}

/// All entries of a day, in order of their times.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OperatorEntries {
    source: SourceFile,
    entries: Vec<OperatorEntry>,
}

impl OperatorEntries {
    /// Entries in any order.
    pub fn new(source: SourceFile, mut entries: Vec<OperatorEntry>) -> Self {
        entries.sort_by_key(|entry| (entry.at, entry.line));
        Self { source, entries }
    }

    /// Their file.
    pub const fn source(&self) -> &SourceFile {
        &self.source
    }

    /// The entries, in order of their times.
    pub fn entries(&self) -> &[OperatorEntry] {
        &self.entries
    }
}
