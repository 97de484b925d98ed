//! The one error of this crate. Each message says what was wrong, where, and what to do.

use plant::DateOrder;
use std::fmt;
use std::sync::Arc;
use trace::{Decimal, Duration, Role, SourcePosition};

/// Why files could not be read into a run record.
#[derive(Debug, Clone, thiserror::Error)]
pub enum Error {
    /// Reading was cancelled.
    #[error("reading was cancelled")]
    Cancelled,
    /// No file was given.
    #[error("no file was given; name at least one CSV file")]
    NoInput,
    /// A folder holds no day.
    #[error("{folder}: no .csv file in this folder; choose another")]
    NoDays {
        /// Its name as given.
        folder: String,
    },
    /// A cell of a run sheet or of the operators' entries can't be understood.
    #[error("{file}:{line}:{column}: {message}")]
    Written {
        /// Its name as given.
        file: String,
        /// The line, counted from 1.
        line: u64,
        /// The column, counted from 1.
        column: u64,
        /// What is wrong.
        message: String,
    },
    /// A time can't be understood.
    #[error("{message}")]
    Time {
        /// What is wrong.
        message: String,
    },
    /// The file could not be read.
    #[error("{file}: can't be read ({cause}); check its path and permissions")]
    Read {
        /// Its name as given.
        file: String,
        /// What the system said.
        #[source]
        cause: Arc<std::io::Error>,
    },
    /// A directory was given where a file should be.
    #[error("{file}: is a directory; name the CSV files in it")]
    Directory {
        /// Its name as given.
        file: String,
    },
    /// A file that holds others can't be unpacked, or not to one text.
    #[error("{file}: {why}; unpack it and open the CSV files of one day")]
    Packed {
        /// Its name as given.
        file: String,
        /// What is wrong, as the rest of a sentence.
        why: String,
    },
    /// A Parquet file is damaged, too large, or holds what no logger writes.
    #[error(
        "{file}: {why}; export it again as a table of single values, packed by Snappy, gzip or Zstandard or \
         not at all, or as CSV"
    )]
    Parquet {
        /// Its name as given.
        file: String,
        /// What is wrong, as the rest of a sentence.
        why: String,
    },
    /// A workbook has several sheets, or none of the name that is wanted.
    #[error(
        "{file}: its readings could be on any of the sheets {}; set sheet under [files] in the plant \
         file to the one that has them",
        sheets.iter().map(|sheet| format!("{sheet:?}")).collect::<Vec<_>>().join(", ")
    )]
    WhichSheet {
        /// Its name as given.
        file: String,
        /// The sheets that are shown.
        sheets: Vec<String>,
    },
    /// A file is called as those of no logger of the plant file, or as those of two.
    #[error(
        "{file}: its name is that of {} of the plant file ({}); rename it to match the files of its logger, or correct files there",
        if *two { "two loggers" } else { "no logger" },
        patterns.join(", ")
    )]
    WhichLogger {
        /// Its name as given.
        file: String,
        /// The names that the plant file has, each with its logger.
        patterns: Vec<String>,
        /// Whether two of them fit.
        two: bool,
    },
    /// There is no file of the logger whose rows are the rows of the record.
    #[error(
        "{file}: the logger {logger:?} has the position of the flow diversion device, and none of the \
         files is its; open its file ({pattern}) together with those of the others"
    )]
    NoLeadingLogger {
        /// The first file as given.
        file: String,
        /// The name of the logger.
        logger: String,
        /// How its files are called.
        pattern: String,
    },
    /// The file holds no byte.
    #[error("{file}: the file is empty; export it again from the logger")]
    Empty {
        /// Its name as given.
        file: String,
    },
    /// The file is not text.
    #[error("{file}: looks like {what}, not like text; export it from the logger as CSV")]
    NotText {
        /// Its name as given.
        file: String,
        /// What it looks like instead.
        what: &'static str,
    },
    /// A line is longer than any row of a logger.
    #[error(
        "{file}:{line}: the line is longer than 1 MiB, which no row of a logger is; export the file as \
         CSV with one row a line"
    )]
    LineTooLong {
        /// Its name as given.
        file: String,
        /// The line, counted from 1.
        line: u64,
    },
    /// No line with column names was found.
    #[error(
        "{file}: no line with column names among the first lines; export the file with its header, \
         cells separated by comma, semicolon or tab"
    )]
    NoHeader {
        /// Its name as given.
        file: String,
    },
    /// A column that the audit needs was not found.
    #[error(
        "{file}:{line}: no column for {need}; the columns are {}; {remedy}",
        seen.join(", ")
    )]
    MissingColumn {
        /// Its name as given.
        file: String,
        /// The line of the header.
        line: u64,
        /// What the column is needed for.
        need: String,
        /// The columns that are there.
        seen: Vec<String>,
        /// What to do about it.
        remedy: String,
    },
    /// Two columns that would be used have one name.
    #[error(
        "{file}:{line}:{second}: columns {first} and {second} are both named {name:?}; give each \
         column its own name in the logger's export",
        first = columns.0,
        second = columns.1
    )]
    DuplicateColumn {
        /// The name of the file as given.
        file: String,
        /// The line of the header.
        line: u64,
        /// The name that both have.
        name: String,
        /// Their numbers, counted from 1.
        columns: (usize, usize),
    },
    /// Two columns could equally well play a needed role.
    #[error(
        "{file}:{line}:{second}: column {first} {:?} and column {second} {:?} could both be the \
         {need}; say in a plant file which it is",
        columns[0].1,
        columns[1].1,
        first = columns[0].0,
        second = columns[1].0
    )]
    AmbiguousColumn {
        /// The name of the file as given.
        file: String,
        /// The line of the header.
        line: u64,
        /// What they would be used for, and the key in a plant file.
        need: String,
        /// Their numbers, counted from 1, and names.
        columns: [(usize, String); 2],
    },
    /// A column of readings has no unit.
    #[error(
        "{file}:{line}:{column}: no unit is given for column {column} {name:?}, {need}; name it in the \
         plant file, in the header as in \"{name} ({})\", or in a row of units below the header; \
         understood are {units}",
        units.split(',').next().unwrap_or(units)
    )]
    NoUnit {
        /// The name of the file as given.
        file: String,
        /// The line of the header.
        line: u64,
        /// The number of the column, counted from 1.
        column: usize,
        /// Its name.
        name: String,
        /// What it is used for, and the key in a plant file.
        need: String,
        /// Words that would be understood.
        units: &'static str,
    },
    /// A column has a unit in one place and another in the other.
    #[error(
        "{file}:{line}:{column}: {} says {} for column {column} {name:?} and {} says {}; find out in \
         which unit the logger records it, then correct columns.{} in the plant file or the logger's \
         export",
        units[0].0,
        units[0].1,
        units[1].0,
        units[1].1,
        role.key()
    )]
    UnitContradiction {
        /// The name of the file as given.
        file: String,
        /// The line of the header.
        line: u64,
        /// The number of the column, counted from 1.
        column: usize,
        /// Its name.
        name: String,
        /// What it is used for.
        role: Role,
        /// Who says which unit.
        units: Box<[(Says, &'static str); 2]>,
    },
    /// A column has a unit of another quantity than its role.
    #[error(
        "{file}:{line}:{column}: {unit}, the unit of column {column} {name:?}, is no unit for {need}; \
         bind the right column in the plant file; understood are {units}"
    )]
    WrongUnit {
        /// The name of the file as given.
        file: String,
        /// The line of the header.
        line: u64,
        /// The number of the column, counted from 1.
        column: usize,
        /// Its name.
        name: String,
        /// The unit.
        unit: &'static str,
        /// What the column is used for, and the key in a plant file.
        need: Box<str>,
        /// Words that would be understood.
        units: &'static str,
    },
    /// One column would play two roles.
    #[error(
        "{file}:{line}:{column}: column {column} {name:?} would be the {} and the {}; bind each to a \
         column of its own in the plant file",
        roles[0],
        roles[1]
    )]
    TwoRoles {
        /// The name of the file as given.
        file: String,
        /// The line of the header.
        line: u64,
        /// The number of the column, counted from 1.
        column: usize,
        /// Its name.
        name: String,
        /// Both roles, each with its key in a plant file.
        roles: Box<[String; 2]>,
    },
    /// The two pressures of the regenerator are in different units.
    #[error(
        "{file}:{line}: the raw pressure is in {raw} and the pasteurized pressure in {pasteurized}; \
         set the logger to one unit for both, their difference is judged as recorded"
    )]
    PressureUnits {
        /// The name of the file as given.
        file: String,
        /// The line of the header.
        line: u64,
        /// The unit of the raw pressure.
        raw: &'static str,
        /// The unit of the pasteurized pressure.
        pasteurized: &'static str,
    },
    /// A channel has one unit in one file and another in the next.
    #[error(
        "{file}:{line}: the {channel} is in {unit} here and in {before} in the files before; audit \
         files with different units separately"
    )]
    UnitChanged {
        /// The name of the file as given.
        file: String,
        /// The line of the header.
        line: u64,
        /// Which channel.
        channel: &'static str,
        /// Its unit in this file.
        unit: &'static str,
        /// Its unit in the files before.
        before: &'static str,
    },
    /// Another header, with the columns in other places, stands among the rows.
    #[error(
        "{file}:{line}: another header with its columns in other places; the first is on line {first}; \
         split the file here and audit both parts together"
    )]
    HeaderChanged {
        /// The name of the file as given.
        file: String,
        /// The line of that header.
        line: u64,
        /// The line of the first header.
        first: u64,
    },
    /// There is a header, and no row below it.
    #[error(
        "{file}:{line}: there is no row of readings below the header; export a day that was recorded"
    )]
    NoRows {
        /// The name of the file as given.
        file: String,
        /// The line of the header.
        line: u64,
    },
    /// The lines above the header do not state the start from which the stamps count.
    #[error(
        "{file}:{line}: columns.since_start in the plant file says that a line above this header begins with \
         {label:?} and has date and time of the start, and none has one that can be read in one way only; \
         correct start there, set date_order under [files], or export date and time in each row"
    )]
    NoStart {
        /// The name of the file as given.
        file: String,
        /// The line of the header.
        line: u64,
        /// How that line is to begin.
        label: String,
    },
    /// Not one time stamp could be read.
    #[error(
        "{file}:{line}:{column}: no time stamp in the file can be read; the first is {text:?}; export \
         date and time such as 2026-03-08 06:00:00{remedy}"
    )]
    NoReadableStamp {
        /// The name of the file as given.
        file: String,
        /// The first line.
        line: u64,
        /// The number of the time column, counted from 1.
        column: usize,
        /// What stands there.
        text: String,
        /// What else can be done, where that is known.
        remedy: String,
    },
    /// More than a few time stamps can't be read.
    #[error(
        "{file}:{line}:{column}: {} of {} rows have no time stamp that can be read, the first has {text:?}; \
         {remedy}",
        rows[0],
        rows[1]
    )]
    UnreadableStamps {
        /// The name of the file as given.
        file: String,
        /// The first line without a stamp.
        line: u64,
        /// The number of the column that lacks it, counted from 1.
        column: usize,
        /// What stands in the time column.
        text: String,
        /// How many rows have none, and how many there are.
        rows: [u64; 2],
        /// The cause, where it is known, and what to do.
        remedy: &'static str,
    },
    /// Every local time stamp falls into an hour that the clock skipped.
    #[error(
        "{file}:{line}: no local time in the file exists in {zone}, where the clock skipped that hour; \
         correct the zone in the plant file or the logger's clock"
    )]
    NoPossibleStamp {
        /// The name of the file as given.
        file: String,
        /// The first line.
        line: u64,
        /// The time zone.
        zone: &'static str,
    },
    /// Every row has more cells than the header.
    #[error(
        "{file}:{line}: {cells} cells where the header has {header}, and every row is too long; \
         decimal commas between commas can't be told from new cells: export with semicolons or \
         decimal dots"
    )]
    WideRows {
        /// The name of the file as given.
        file: String,
        /// The first line.
        line: u64,
        /// How many cells it has.
        cells: usize,
        /// How many the header has.
        header: usize,
    },
    /// A date could be read in more than one order.
    #[error(
        "{file}:{line}: the date {text} can be read {}, and nothing in the file shows which; set \
         date_order under [files] in the plant file",
        DateOrder::either(ways)
    )]
    AmbiguousDate {
        /// The name of the file as given.
        file: String,
        /// The first line that has it.
        line: u64,
        /// The date.
        text: String,
        /// The orders.
        ways: Vec<DateOrder>,
    },
    /// Some dates can only be read day first, others only month first.
    #[error(
        "{file}:{}: the date {} can only be read day first, but {} on line {} only month first; the \
         file mixes two orders, split it and set date_order under [files] in a plant file for each \
         part",
        day_first.0,
        day_first.1,
        month_first.1,
        month_first.0
    )]
    ContradictoryDates {
        /// The name of the file as given.
        file: String,
        /// Line and text of a date that can only be read day first.
        day_first: (u64, String),
        /// Line and text of a date that can only be read month first.
        month_first: (u64, String),
    },
    /// A date can't be read in the order that the plant file states.
    #[error(
        "{file}:{line}: the date {text} can't be read {order}, as the plant file states; correct \
         date_order under [files] in the plant file"
    )]
    DateOrder {
        /// The name of the file as given.
        file: String,
        /// The first line that has it.
        line: u64,
        /// The date.
        text: String,
        /// The order in the plant file.
        order: &'static str,
    },
    /// A date has dots, and the plant file states month first.
    #[error(
        "{file}:{line}: the date {text} has dots, which is day first by common practice, but the plant \
         file states month first; set date_order = \"day-first\" under [files] there, or export dates such \
         as 2026-03-08"
    )]
    DotsMonthFirst {
        /// The name of the file as given.
        file: String,
        /// The first line that has it.
        line: u64,
        /// The date.
        text: String,
    },
    /// Two samples of a file that follow each other are further apart than a record is long.
    #[error(
        "{file}:{line}: more than a day lies between {} here and {} ({}:{}); a file is of one production \
         day: cut off the rows that the logger wrote before its clock was set, or audit the parts as files \
         of their own",
        from.1,
        to.1,
        to.0.file,
        to.0.line,
        file = from.0.file,
        line = from.0.line
    )]
    Jump {
        /// Where the earlier one stands, and its time.
        from: Box<(SourcePosition, String)>,
        /// Where the later one stands, and its time.
        to: Box<(SourcePosition, String)>,
    },
    /// A stamp names a zone that the plant is not in at that time.
    #[error(
        "{file}:{line}: the stamp says {name}, but in {zone} it is {here}; correct the zone in the plant \
         file, or say clock = \"standard\" under [files] there if the logger does not change to daylight saving time"
    )]
    ZoneName {
        /// The name of the file as given.
        file: String,
        /// The line.
        line: u64,
        /// What stands behind the time.
        name: String,
        /// The zone of the plant.
        zone: &'static str,
        /// Its name at that time.
        here: String,
    },
    /// The name of the time column states an offset that can't be read.
    #[error(
        "{file}:{line}: the offset in the name of the column {name:?} can't be read; write it such as \
         \"Time (UTC-06:00)\""
    )]
    HeaderOffset {
        /// The name of the file as given.
        file: String,
        /// The line of the header.
        line: u64,
        /// The name of the column.
        name: String,
    },
    /// Dots and commas are both used as decimal marks, or one of them groups thousands.
    #[error(
        "{file}:{}: {} here and {} on line {} can't both have the same decimal mark; set decimal_mark \
         under [files] in the plant file",
        other.0,
        other.1,
        first.1,
        first.0
    )]
    DecimalMarks {
        /// The name of the file as given.
        file: String,
        /// Line and text of the first.
        first: (u64, String),
        /// Line and text of one that contradicts it.
        other: (u64, String),
    },
    /// The readings of a column have three digits behind the mark, and may be thousands.
    #[error(
        "{file}:{line}:{}: {text} in column {} {:?} can be {} or {}, and no reading of the column shows which; if the mark is a decimal mark, set decimal_mark under [files] in the plant file, else \
         export without thousands separators",
        column.0,
        column.0,
        column.1,
        ways[0],
        ways[1]
    )]
    MayBeThousands {
        /// The name of the file as given.
        file: String,
        /// The first line.
        line: u64,
        /// The number of the column, counted from 1, and its name.
        column: (usize, String),
        /// The reading.
        text: String,
        /// What it can be.
        ways: Box<[Decimal; 2]>,
    },
    /// The words of a file do not tell where the flow diversion device is.
    #[error(
        "{file}:{line}:{}: the words of column {} {:?} tell the position of the flow diversion device in \
         too few rows; not known are {}; say under [columns] in the plant file what they \
         mean{others}: valve = {{ column = {:?}, forward = [\"...\"], divert = [\"...\"] }}",
        column.0,
        column.0,
        column.1,
        words.join(", "),
        column.1
    )]
    UnknownPositions {
        /// The name of the file as given.
        file: String,
        /// The first row.
        line: u64,
        /// The number of the column, counted from 1, and its name.
        column: (usize, String),
        /// The words, and in how many rows each stands.
        words: Vec<String>,
        /// What else the plant file has to bind.
        others: &'static str,
    },
    /// One reading a row, with the name of its channel beside it.
    #[error(
        "{file}:{line}: this is the long form, one reading a row: {tag:?} names the channel and {value:?} \
         holds its reading; name the two under [files.long] in the plant file, or export one row for \
         each time, with a column for each channel"
    )]
    LongForm {
        /// The name of the file as given.
        file: String,
        /// The line of the header.
        line: u64,
        /// The column that names the channel.
        tag: String,
        /// The column of readings.
        value: String,
    },
    /// No line is the header of the long form that the plant file tells of.
    #[error(
        "{file}: no line names the columns {tag:?} and {value:?} of [files.long] beside that of the time; \
         correct the names in the plant file, or leave [files.long] out where each channel has a column"
    )]
    NotLongForm {
        /// The name of the file as given.
        file: String,
        /// The column that is to name the channel.
        tag: String,
        /// The column that is to hold its reading.
        value: String,
    },
    /// Files that are looked at together have different columns.
    #[error("{file}: its columns are not those of {first}; set up each by itself")]
    OtherColumns {
        /// The name of the file as given.
        file: String,
        /// The name of the first file.
        first: String,
    },
    /// What holds would be more rows than a record needs.
    #[error(
        "{file}: rows at each {step} from what holds are more than eight million; say a longer step under \
         [files] in the plant file, or audit fewer days at once"
    )]
    HeldTooOften {
        /// The first file as given.
        file: String,
        /// The step of the plant file.
        step: Duration,
    },
    /// There are more rows than one record can hold.
    #[error("{file}: more than {} rows; audit fewer days at once", crate::bounds::MOST_ROWS)]
    TooManyRows {
        /// The name of the file as given.
        file: String,
    },
    /// There are more readings in the long form than are held.
    #[error(
        "{file}: more readings of different channels and times than are held in the long form \
         (docs/file-formats.md); export fewer channels or fewer days at once"
    )]
    TooManyReadings {
        /// The name of the file as given.
        file: String,
    },
    /// There are more different words than any plant has.
    #[error(
        "{file}:{line}: the column {column:?} has more than {} different words for the {what}; bind \
         another column",
        crate::bounds::MOST_WORDS
    )]
    TooManyWords {
        /// The name of the file as given.
        file: String,
        /// The line of the first word too many.
        line: u64,
        /// The name of the column.
        column: String,
        /// What it is to hold.
        what: &'static str,
    },
    /// The parts did not make a record: a mistake in this program.
    #[error(
        "the rows did not make a record ({0}); this is a mistake in the program, please report it with \
         the file"
    )]
    Record(#[from] trace::Error),
}

/// What prints the unit of a column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Says {
    /// The plant file.
    PlantFile,
    /// The column's name in the header.
    Header,
    /// The row of units below the header.
    UnitsRow,
}

impl fmt::Display for Says {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(match self {
            Self::PlantFile => "the plant file",
            Self::Header => "the header",
            Self::UnitsRow => "the row of units",
        })
    }
}
