//! A logger file as a table of cells of which nothing is decided yet: what a person sees who opens
//! it for the first time, and what a plant file can be drafted from.
//!
//! The header is found by shape and not by words: it is the first line, right above the rows, that
//! has as many cells as they have and no reading in them. Every row of the file is looked at, and of
//! each column is kept what fits on a screen, however long the file is.

use crate::bounds::MOST_ROWS;
use crate::cells::Splitter;
use crate::error::Error;
use crate::header::{Kept, MOST_BYTES, MOST_LINES};
use crate::input::{Input, stream, text};
use crate::lines::{Line, Lines, Take};
use crate::long_form::{LongColumns, Pivot};
use crate::progress::Progress;
use crate::recognise::{any_unit, long_form, number_and_unit, quality, role_of, unit_in_name};
use crate::shape::{Shape, number, shape};
use crate::stamp::{DAY, Stamp, StampReader, Written};
pub use crate::stamp_cells::StatedStart;
use crate::stamp_cells::stated_start;
use plant::{AnyUnit, LongForm};
use std::collections::BTreeMap;
use std::convert::Infallible;
use trace::{DecimalMark, Role};

/// So many rows are kept as they are.
const FIRST_ROWS: usize = 8;

/// So many distinct words of a column are counted one by one.
const MOST_WORDS: usize = 24;

/// A column's curve has at most so many steps.
const MOST_STEPS: usize = 256;

/// Of so many rows it is seen whether a column holds stamps.
const ROWS_FOR_STAMPS: u64 = 50;

/// Of fewer steps between stamps it is not told whether they are regular.
const LEAST_STEPS: u64 = 12;

/// More columns than any logger has.
const MOST_COLUMNS: usize = 4096;

/// A logger file as a table of cells.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// The name as it was given.
    pub file: String,
    /// The sheet of the workbook, where it has several.
    pub sheet: Option<String>,
    /// The columns of a file that has one reading a row; then a column is a channel, a row a time.
    pub long: Option<LongForm>,
    /// What stands between two cells.
    pub delimiter: char,
    /// The line of the header, counted from 1.
    pub header_line: u64,
    /// The lines above it that state a date and time behind words.
    pub starts: Vec<StatedStart>,
    /// The first rows, with their lines.
    pub first_rows: Vec<(u64, Vec<String>)>,
    /// How many rows there are.
    pub rows: u64,
    /// The columns, from left to right.
    pub columns: Vec<SheetColumn>,
}

/// A column of a [`Sheet`].
#[derive(Debug, Clone, PartialEq)]
#[expect(clippy::struct_excessive_bools, reason = "each is another observation of its cells")]
pub struct SheetColumn {
    /// Its name in the header, without blanks around it.
    pub name: String,
    /// Whether it has a name that no other column has, by which a plant file can name it.
    pub is_named: bool,
    /// The unit that its name or the row of units below it says.
    pub unit: Option<AnyUnit>,
    /// The role that its name suggests, and how much it says about it, from 1 to 3.
    pub suggested: Option<(Role, u8)>,
    /// Whether its cells read as stamps.
    pub stamp: Option<StampKind>,
    /// Whether these are stamps of which no two in a row are most often as far apart as any others, as those of a
    /// logger are that reads at a step.
    pub is_irregular: bool,
    /// Whether no number is less than the one before.
    pub rises: bool,
    /// How many cells are blank.
    pub blank: u64,
    /// How many cells hold a number.
    pub numbers: u64,
    /// The mark of those numbers that have one.
    pub mark: Option<DecimalMark>,
    /// The least and the greatest number.
    pub span: Option<(f64, f64)>,
    /// The column over the file: the least and the greatest number of each step of as many rows;
    /// `None` where a step has no number. All columns of a file have the same steps.
    pub curve: Vec<Option<(f64, f64)>>,
    /// Its distinct words and numbers with how often they stand there, in the order in which they
    /// come; no more than a few.
    pub words: Vec<(String, u64)>,
    /// Whether there are more words than these.
    pub more_words: bool,
}

/// What kind of stamp a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StampKind {
    /// Date and time.
    DateAndTime,
    /// A date alone.
    Date,
    /// A time of day alone.
    Time,
}

/// The role that the words of a name and its unit suggest, and how much they say about it, from 1
/// to 3.
pub fn role_of_name(name: &str) -> Option<(Role, u8)> {
    role_of(name)
}

impl SheetColumn {
    fn new(name: &str) -> Self {
        Self {
            name: name.to_owned(),
            is_named: false,
            unit: unit_in_name(name).map(|hint| hint.unit),
            suggested: role_of(name),
            stamp: None,
            is_irregular: false,
            rises: true,
            blank: 0,
            numbers: 0,
            mark: None,
            span: None,
            curve: Vec::new(),
            words: Vec::new(),
            more_words: false,
        }
    }

    /// How many cells are neither blank nor a number.
    pub fn unusable(&self, rows: u64) -> u64 {
        rows.saturating_sub(self.blank + self.numbers)
    }

    /// Whether most of its cells are numbers.
    pub fn is_numeric(&self) -> bool {
        let words: u64 = self.words.iter().map(|(_, count)| count).sum();
        self.numbers > 0 && (self.more_words || self.numbers * 2 > words)
    }
}

impl Sheet {
    /// Looks at a file; of a workbook at the only sheet that is a table.
    ///
    /// # Errors
    /// When it can't be read, is no text, has no header above its rows, or more than one table.
    pub fn read(input: &Input, progress: &Progress) -> Result<Self, Error> {
        let which = match Self::read_one(input, None, progress) {
            Err(Error::WhichSheet { file, sheets }) => (file, sheets),
            read => return read,
        };
        let (file, sheets) = which;
        let tables = sheets.iter().map(|sheet| Self::read_one(input, Some(sheet), progress));
        let mut tables = tables.filter_map(Result::ok);
        match (tables.next(), tables.next()) {
            (Some(only), None) => Ok(only),
            _ => Err(Error::WhichSheet { file, sheets }),
        }
    }

    fn read_one(input: &Input, sheet: Option<&String>, progress: &Progress) -> Result<Self, Error> {
        progress.expect_bytes(input.length());
        let name = input.name();
        let mut reader = Reader { name: name.clone(), part: sheet.cloned(), ..Reader::default() };
        let mut lines = Lines::of(name);
        stream(input, progress, sheet.map(String::as_str), |chunk| {
            lines.feed(&chunk.text, &mut reader)
        })?;
        lines.finish(&mut reader)?;
        reader.finish()
    }
}

/// Collects the first lines until the shape of the table is known, and then counts.
#[derive(Default)]
struct Reader {
    name: String,
    part: Option<String>,
    head: Vec<Kept>,
    bytes: usize,
    splitter: Splitter,
    sheet: Option<Sheet>,
    /// The readings of a file in the long form.
    long: Option<(LongForm, Pivot)>,
    stamps: Vec<Stamps>,
    starts: Vec<StatedStart>,
    /// The number before, of each column.
    before: Vec<Option<f64>>,
    step: Step,
}

/// How many cells of a column read as a stamp of each kind, of those that are not blank.
#[derive(Default)]
struct Stamps {
    reader: StampReader,
    seen: u64,
    whole: u64,
    date: u64,
    time: u64,
    /// The time of day before, and how often the next was so much later.
    before: Option<i64>,
    steps: BTreeMap<i64, u64>,
}

/// A step of the curves: how many rows it takes, and how many it has.
struct Step {
    rows: u64,
    filled: u64,
}

impl Default for Step {
    fn default() -> Self {
        Self { rows: 1, filled: 1 }
    }
}

impl Take for Reader {
    fn line(&mut self, line: Line<'_>) -> Result<(), Error> {
        if let Some((_, pivot)) = &mut self.long {
            pivot.line(line, &mut self.splitter);
            return Ok(());
        }
        if let Some(sheet) = &self.sheet {
            if sheet.rows >= MOST_ROWS as u64 {
                return Err(Error::TooManyRows { file: self.name.clone() });
            }
            self.row(line.number, line.bytes);
            return Ok(());
        }
        self.bytes += line.bytes.len();
        let kept = Kept { number: line.number, bytes: line.bytes.to_vec(), ended: line.ended };
        self.head.push(kept);
        if self.head.len() >= MOST_LINES || self.bytes >= MOST_BYTES {
            self.end_head();
            if self.sheet.is_none() && self.long.is_none() {
                return Err(Error::NoHeader { file: self.name.clone() });
            }
        }
        Ok(())
    }
}

impl Reader {
    /// Finds header and rows among the first lines.
    fn end_head(&mut self) {
        let head = std::mem::take(&mut self.head);
        let lines: Vec<&[u8]> = head.iter().map(|line| line.bytes.as_slice()).collect();
        let Some(shape) = shape(&lines, &mut self.splitter) else { return };
        let below = head.get(shape.first_row..).unwrap_or_default();
        let header_line = head.get(shape.header).map_or(1, |line| line.number);
        if let Some((form, columns)) = long_columns(&shape, below, &mut self.splitter) {
            let mut pivot = Pivot::new(columns, header_line);
            for line in below {
                let line = Line { number: line.number, bytes: &line.bytes, ended: line.ended };
                pivot.line(line, &mut self.splitter);
            }
            self.long = Some((form, pivot));
            return;
        }
        let above = head.get(..shape.header).unwrap_or_default();
        let starts = above.iter().filter_map(|line| stated_start(&line.bytes, shape.delimiter));
        self.starts = starts.collect();
        self.begin(&shape.names, &shape.units, (shape.delimiter, header_line));
        for line in below {
            self.row(line.number, &line.bytes);
        }
    }

    /// Begins with the columns; their rows follow.
    fn begin(&mut self, names: &[String], units: &[String], (delimiter, header_line): (u8, u64)) {
        let mut columns: Vec<SheetColumn> =
            names.iter().take(MOST_COLUMNS).map(|name| SheetColumn::new(name)).collect();
        for (column, word) in columns.iter_mut().zip(units) {
            column.unit = column.unit.or_else(|| any_unit(word));
        }
        self.stamps = columns.iter().map(|_| Stamps::default()).collect();
        self.before = vec![None; columns.len()];
        self.sheet = Some(Sheet {
            file: self.name.clone(),
            sheet: self.part.clone(),
            long: None,
            delimiter: char::from(delimiter),
            header_line,
            starts: std::mem::take(&mut self.starts),
            first_rows: Vec::new(),
            rows: 0,
            columns,
        });
    }

    fn row(&mut self, number: u64, line: &[u8]) {
        let Some(sheet) = &mut self.sheet else { return };
        let Ok(cells) = self.splitter.split(line, sheet.delimiter as u8) else { return };
        if cells.filled() < 2 {
            return;
        }
        if sheet.first_rows.len() < FIRST_ROWS {
            let row = cells.iter().take(MOST_COLUMNS).map(|cell| text(cell).trim().to_owned());
            sheet.first_rows.push((number, row.collect()));
        }
        let begins = self.step.filled >= self.step.rows;
        if begins {
            if sheet.columns.first().is_some_and(|column| column.curve.len() >= MOST_STEPS) {
                for column in &mut sheet.columns {
                    column.curve = halved(&column.curve);
                }
                self.step.rows *= 2;
            }
            self.step.filled = 0;
        }
        self.step.filled += 1;
        for (index, column) in sheet.columns.iter_mut().enumerate() {
            if begins {
                column.curve.push(None);
            }
            let cell = cells.get(index).unwrap_or_default().trim_ascii();
            if cell.is_empty() {
                column.blank += 1;
                continue;
            }
            if sheet.rows < ROWS_FOR_STAMPS
                && let Some(stamps) = self.stamps.get_mut(index)
            {
                stamps.look(cell, number);
            }
            let value = column.cell(cell);
            if let (Some(value), Some(before)) = (value, self.before.get_mut(index)) {
                column.rises &= before.replace(value).is_none_or(|before| before <= value);
            }
        }
        sheet.rows += 1;
    }

    fn finish(mut self) -> Result<Sheet, Error> {
        if self.sheet.is_none() && self.long.is_none() {
            self.end_head();
        }
        if let Some((form, pivot)) = self.long.take() {
            if pivot.is_full() {
                return Err(Error::TooManyReadings { file: self.name });
            }
            self.begin(&pivot.names(), &[], (pivot.delimiter(), pivot.header_line()));
            let mut is_header = true;
            let handed: Result<(), Infallible> = pivot.hand_on(|line| {
                if !std::mem::take(&mut is_header) {
                    self.row(line.number, line.bytes);
                }
                Ok(())
            });
            let Ok(()) = handed;
            if let Some(sheet) = &mut self.sheet {
                sheet.long = Some(form);
            }
        }
        let Some(mut sheet) = self.sheet else {
            return Err(Error::NoHeader { file: self.name });
        };
        let mut names: BTreeMap<String, u32> = BTreeMap::new();
        for column in &sheet.columns {
            *names.entry(column.name.to_ascii_lowercase()).or_default() += 1;
        }
        for (column, stamps) in sheet.columns.iter_mut().zip(&self.stamps) {
            let name = column.name.to_ascii_lowercase();
            column.is_named = !name.is_empty() && names.get(&name) == Some(&1);
            column.stamp = stamps.kind();
            column.is_irregular =
                column.stamp.is_some_and(|kind| kind != StampKind::Date) && stamps.is_irregular();
            // `Raw` in psi is a pressure: the unit may stand below the name, or in the cells.
            if let Some(unit) = column.unit {
                let name = format!("{} ({})", column.name, unit.symbol());
                column.suggested = role_of(&name).or(column.suggested);
            }
        }
        Ok(sheet)
    }
}

impl Stamps {
    fn look(&mut self, cell: &[u8], line: u64) {
        self.seen += 1;
        // A date is missing from a time alone, and a time from a date.
        let whole = self.reader.stamp(cell, line);
        let time = self.reader.date_and_time(b"2026-01-01", cell, line);
        self.whole += u64::from(whole.is_some());
        self.date += u64::from(self.reader.date_and_time(cell, b"00:00", line).is_some());
        self.time += u64::from(time.is_some());
        if let Some(now) = whole.or(time).and_then(of_day)
            && let Some(before) = self.before.replace(now)
        {
            *self.steps.entry((now - before).rem_euclid(DAY)).or_default() += 1;
        }
    }

    /// Of a few rows nothing can be told.
    fn is_irregular(&self) -> bool {
        let all: u64 = self.steps.values().sum();
        let most = self.steps.values().max().copied().unwrap_or(0);
        all >= LEAST_STEPS && most * 2 < all
    }

    fn kind(&self) -> Option<StampKind> {
        // A cell here and there may be damaged.
        let most = |count: u64| self.seen > 0 && count * 10 >= self.seen * 9;
        if most(self.whole) {
            Some(StampKind::DateAndTime)
        } else if most(self.time) {
            Some(StampKind::Time)
        } else {
            most(self.date).then_some(StampKind::Date)
        }
    }
}

/// The milliseconds of a stamp since midnight.
fn of_day(stamp: Stamp) -> Option<i64> {
    match stamp.written() {
        Written::Unreadable => None,
        Written::Instant(milliseconds) | Written::Local { milliseconds, .. } => {
            Some(milliseconds.rem_euclid(DAY))
        }
    }
}

impl SheetColumn {
    /// Counts a cell; gives its number.
    fn cell(&mut self, cell: &[u8]) -> Option<f64> {
        let mut found = number(cell);
        if found.is_none()
            && let Some((bare, word)) = number_and_unit(cell)
            && let Some(unit) = any_unit(&word)
            && *self.unit.get_or_insert(unit) == unit
        {
            found = number(bare);
        }
        if let Some((value, mark)) = found {
            self.numbers += 1;
            self.mark = self.mark.or(mark);
            let (least, greatest) = self.span.unwrap_or((value, value));
            self.span = Some((least.min(value), greatest.max(value)));
            if let Some(step) = self.curve.last_mut() {
                let (least, greatest) = step.unwrap_or((value, value));
                *step = Some((least.min(value), greatest.max(value)));
            }
        }
        let value = found.map(|(value, _)| value);
        if self.more_words && found.is_some() {
            return value;
        }
        let word = text(cell);
        if let Some((_, count)) = self.words.iter_mut().find(|(known, _)| *known == word) {
            *count += 1;
        } else if self.words.len() < MOST_WORDS {
            self.words.push((word.into_owned(), 1));
        } else {
            self.more_words = true;
        }
        value
    }
}

/// The columns of a file that has one reading a row, by their names and by the stamps below them.
fn long_columns(
    shape: &Shape,
    below: &[Kept],
    splitter: &mut Splitter,
) -> Option<(LongForm, LongColumns)> {
    let (tag, value) = long_form(&shape.names)?;
    let form = LongForm { tag, value, quality: quality(&shape.names) };
    let mut stamps: Vec<Stamps> = shape.names.iter().map(|_| Stamps::default()).collect();
    for line in below.iter().take(ROWS_FOR_STAMPS as usize) {
        let Ok(cells) = splitter.split(&line.bytes, shape.delimiter) else { continue };
        for (stamps, cell) in stamps.iter_mut().zip(cells.iter()) {
            stamps.look(cell.trim_ascii(), line.number);
        }
    }
    let of = |kind| stamps.iter().position(|stamps| stamps.kind() == Some(kind));
    let places = match (of(StampKind::DateAndTime), of(StampKind::Date), of(StampKind::Time)) {
        (Some(whole), ..) => (None, whole),
        (None, Some(date), Some(time)) => (Some(date), time),
        _ => return None,
    };
    let columns = LongColumns::of((&shape.names, shape.delimiter), &form, places)?;
    Some((form, columns))
}

/// Two steps become one.
fn halved(curve: &[Option<(f64, f64)>]) -> Vec<Option<(f64, f64)>> {
    let both = |pair: &[Option<(f64, f64)>]| {
        let some = pair.iter().flatten().copied();
        some.reduce(|one, other| (one.0.min(other.0), one.1.max(other.1)))
    };
    curve.chunks(2).map(both).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fmt::Write as _;

    fn look(file: &str) -> Sheet {
        let input = Input::Bytes { name: "f.csv".to_owned(), bytes: file.as_bytes().to_vec() };
        Sheet::read(&input, &Progress::default()).unwrap_or_else(|error| panic!("{error}"))
    }

    fn names(sheet: &Sheet) -> Vec<&str> {
        sheet.columns.iter().map(|column| column.name.as_str()).collect()
    }

    #[test]
    fn the_header_is_found_by_its_shape() {
        let rows = "03.11.2026;01:30:00;72,5;1\n03.11.2026;01:30:01;72,4;1\n";
        for preamble in [
            "",
            "Anlage 4\n\n",
            "Gerät;7\nBericht;Tag;3. November\n",
            "# einer; von; vier; Kommentaren\n",
        ] {
            let sheet = look(&format!("{preamble}Datum;Zeit;TT 104;USV 3\n;;\u{b0}C;\n{rows}"));
            assert_eq!(names(&sheet), ["Datum", "Zeit", "TT 104", "USV 3"], "{preamble}");
            assert_eq!(sheet.header_line, preamble.lines().count() as u64 + 1);
            assert_eq!(sheet.columns[2].unit.map(AnyUnit::symbol), Some("\u{b0}C"));
            assert_eq!((sheet.delimiter, sheet.rows), (';', 2));
            let stamps: Vec<_> = sheet.columns.iter().map(|column| column.stamp).collect();
            assert_eq!(stamps, [Some(StampKind::Date), Some(StampKind::Time), None, None]);
        }
    }

    #[test]
    fn a_column_is_counted() {
        let file = "t,T,V\n2026-11-03 01:00:00,161.2,F\n2026-11-03 01:00:01,,F\n\
                    2026-11-03 01:00:02,BAD,D\n2026-11-03 01:00:03,160.9,F\n";
        let sheet = look(file);
        let [stamp, temperature, valve] = sheet.columns.as_slice() else { panic!("three") };
        assert_eq!(stamp.stamp, Some(StampKind::DateAndTime));
        assert_eq!((temperature.blank, temperature.numbers), (1, 2));
        assert_eq!(temperature.unusable(sheet.rows), 1);
        assert_eq!(temperature.span, Some((160.9, 161.2)));
        assert_eq!(valve.words, [("F".to_owned(), 3), ("D".to_owned(), 1)]);
        assert!(!valve.is_numeric() && temperature.is_numeric());
    }

    /// A printer writes the unit into each cell.
    #[test]
    fn units_within_cells_are_seen() {
        let sheet = look("Time;Hold;P\n04:00:00;163.4 F;21 psi\n04:00:01;163,1 F;20.5 bar\n");
        let [_, held, pressure] = sheet.columns.as_slice() else { panic!("three") };
        assert_eq!(held.unit.map(AnyUnit::symbol), Some("\u{b0}F"));
        assert_eq!((held.numbers, held.span), (2, Some((163.1, 163.4))));
        assert_eq!(held.suggested.map(|(role, _)| role), Some(Role::HoldingTemperature));
        // One of two units is no number.
        assert_eq!((pressure.numbers, pressure.unusable(sheet.rows)), (1, 1));
    }

    /// Switches and words outnumber the readings of many loggers.
    #[test]
    fn a_row_of_words_with_a_stamp_is_a_row() {
        let sheet = look("Logged\tT degF\tFwd\tDiv\tPump\n24-Nov-2026 04:00:00\t60\tOFF\tON\tON\n");
        assert_eq!(names(&sheet), ["Logged", "T degF", "Fwd", "Div", "Pump"]);
        let sheet = look("Time;Hold;FDD\n04:00:00;163.4 F;DIV\n04:00:01;163.4 F;DIV\n");
        assert_eq!((names(&sheet), sheet.rows), (vec!["Time", "Hold", "FDD"], 2));
    }

    /// Whatever the length, a short excursion is in the curve.
    #[test]
    fn the_curve_of_a_long_file_keeps_its_extremes() {
        let mut file = "t,T\n".to_owned();
        for row in 0..10_000 {
            let reading = if row == 7_777 { 20 } else { 163 };
            let (hour, minute, second) = (row / 3600, row / 60 % 60, row % 60);
            let _written = writeln!(file, "2026-11-03 {hour:02}:{minute:02}:{second:02},{reading}");
        }
        let sheet = look(&file);
        let curve = &sheet.columns[1].curve;
        assert!(curve.len() <= MOST_STEPS, "{}", curve.len());
        assert_eq!(curve.iter().flatten().filter(|step| step.0 < 21.0).count(), 1);
        assert_eq!(sheet.rows, 10_000);
    }

    #[test]
    fn without_a_header_there_is_no_sheet() {
        let input =
            |text: &str| Input::Bytes { name: "f.csv".to_owned(), bytes: text.as_bytes().to_vec() };
        for file in ["1,2,3\n4,5,6\n", "a note\n"] {
            let read = Sheet::read(&input(file), &Progress::default());
            assert!(matches!(read, Err(Error::NoHeader { .. })), "{file}");
        }
    }
}
