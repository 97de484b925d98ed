//! A sheet of an OpenDocument spreadsheet (OASIS OpenDocument 1.3, part 3, section 9) as lines of tabs.
//!
//! Numbers, dates and times are taken as they are stored, digit by digit, whatever their cells show. A cell whose
//! formula failed has no reading, though a number is stored with it. Cells and rows that are said to be
//! repeated are written as often, up to a bound: a few bytes can say that there are millions.

use crate::bounds::{SHEET_COLUMNS, SHEET_ROWS};
use crate::cells::{end_sheet_row, write_cell};
use crate::progress::Progress;
use crate::thousands::may_be_thousands;
use quick_xml::Reader;
use quick_xml::escape::{resolve_predefined_entity, unescape};
use quick_xml::events::{BytesRef, BytesStart, Event};
use std::borrow::Cow;

/// What a sheet gives.
pub(crate) struct SheetText {
    pub(crate) text: Vec<u8>,
    /// Whether none of its numbers stands there as a text that may group thousands.
    pub(crate) numbers_are_stored: bool,
}

/// The names of the sheets.
pub(crate) fn sheets(content: &str) -> Result<Vec<String>, String> {
    let mut reader = Reader::from_str(content);
    let mut names = Vec::new();
    loop {
        match reader.read_event().map_err(|cause| cause.to_string())? {
            Event::Start(start) if start.name().as_ref() == "table:table" => {
                names.push(attribute(&start, "table:name")?.unwrap_or_default());
            }
            Event::Eof => return Ok(names),
            _ => {}
        }
    }
}

/// The text of a sheet, of at most so many bytes.
pub(crate) fn sheet_text(
    content: &str,
    sheet: &str,
    most: u64,
    progress: &Progress,
) -> Result<SheetText, String> {
    let mut reader = Reader::from_str(content);
    let mut table = Table {
        text: Vec::new(),
        row: Row::default(),
        blank: 0,
        rows: 0,
        widest: 0,
        most,
        are_stored: true,
    };
    let mut is_chosen = false;
    let mut cell: Option<Cell> = None;
    // An annotation of a cell is no part of what it says.
    let mut annotations = 0_usize;
    loop {
        if progress.is_cancelled() {
            return Err("it is not read to its end".to_owned());
        }
        match reader.read_event().map_err(|cause| cause.to_string())? {
            Event::Start(start) => match start.name().as_ref() {
                "table:table" => {
                    is_chosen = attribute(&start, "table:name")?.as_deref() == Some(sheet);
                }
                "table:table-row" if is_chosen => table.row = Row::of(&start)?,
                "table:table-cell" | "table:covered-table-cell" if is_chosen => {
                    cell = Some(Cell::of(&start)?);
                }
                "office:annotation" => annotations += 1,
                "text:p" => {
                    if let Some(cell) = cell.as_mut().filter(|_| annotations == 0) {
                        cell.paragraph();
                    }
                }
                _ => {}
            },
            Event::Empty(start) => match start.name().as_ref() {
                "table:table-row" if is_chosen => {
                    table.row = Row::of(&start)?;
                    table.end_row()?;
                }
                "table:table-cell" | "table:covered-table-cell" if is_chosen => {
                    table.take(Cell::of(&start)?)?;
                }
                "text:s" => {
                    if let Some(cell) = cell.as_mut().filter(|_| annotations == 0) {
                        cell.shown.push(' ');
                    }
                }
                _ => {}
            },
            Event::End(end) => match end.name().as_ref() {
                "table:table" => is_chosen = false,
                "table:table-row" if is_chosen => table.end_row()?,
                "table:table-cell" | "table:covered-table-cell" => {
                    if let Some(cell) = cell.take() {
                        table.take(cell)?;
                    }
                }
                "office:annotation" => annotations = annotations.saturating_sub(1),
                _ => {}
            },
            Event::Text(text) => {
                if let Some(cell) =
                    cell.as_mut().filter(|cell| annotations == 0 && cell.paragraphs > 0)
                {
                    cell.shown += &text.xml10_content();
                }
            }
            Event::GeneralRef(reference) => {
                if let Some(cell) = cell.as_mut().filter(|_| annotations == 0) {
                    cell.shown.extend(character(&reference));
                }
            }
            Event::Eof => {
                return Ok(SheetText { text: table.text, numbers_are_stored: table.are_stored });
            }
            _ => {}
        }
    }
}

fn attribute(start: &BytesStart<'_>, name: &str) -> Result<Option<String>, String> {
    let attribute = start.try_get_attribute(name).map_err(|cause| cause.to_string())?;
    let value = attribute.map(|attribute| unescape(&attribute.value).map(Cow::into_owned));
    value.transpose().map_err(|cause| cause.to_string())
}

/// How often a cell or a row stands there.
fn repeated(start: &BytesStart<'_>, name: &str) -> Result<usize, String> {
    let value = attribute(start, name)?;
    value.map_or(Ok(1), |value| value.parse().map_err(|_no_count| format!("{name} is {value:?}")))
}

/// `&amp;`, `&#176;`.
fn character(reference: &BytesRef<'_>) -> Option<char> {
    if let Ok(Some(character)) = reference.resolve_char_ref() {
        return Some(character);
    }
    resolve_predefined_entity(reference).and_then(|text| text.chars().next())
}

/// A cell as it is read.
#[derive(Default)]
struct Cell {
    times: usize,
    kind: String,
    value: String,
    is_error: bool,
    /// Its paragraphs, as they are shown.
    shown: String,
    paragraphs: usize,
}

impl Cell {
    fn of(start: &BytesStart<'_>) -> Result<Self, String> {
        let kind = attribute(start, "office:value-type")?.unwrap_or_default();
        let stored = match kind.as_str() {
            "date" => "office:date-value",
            "time" => "office:time-value",
            "boolean" => "office:boolean-value",
            "string" => "office:string-value",
            _ => "office:value",
        };
        Ok(Self {
            times: repeated(start, "table:number-columns-repeated")?,
            value: attribute(start, stored)?.unwrap_or_default(),
            is_error: attribute(start, "calcext:value-type")?.as_deref() == Some("error"),
            kind,
            ..Self::default()
        })
    }

    fn paragraph(&mut self) {
        if self.paragraphs > 0 {
            self.shown.push('\n');
        }
        self.paragraphs += 1;
    }

    /// As a logger would write it, and whether it is a text.
    fn words(self) -> (String, bool) {
        match self.kind.as_str() {
            // The number beside an error is none.
            _ if self.is_error => (self.shown, true),
            "time" => (time_of_day(&self.value).unwrap_or(self.value), false),
            "string" | "" if self.value.is_empty() => (self.shown, true),
            "string" => (self.value, true),
            _ => (self.value, false),
        }
    }
}

/// `PT04H00M01.5S` as `04:00:01.5`; `None` for a time that is none of the day.
fn time_of_day(duration: &str) -> Option<String> {
    let (hours, rest) = duration.strip_prefix("PT")?.split_once('H')?;
    let (minutes, rest) = rest.split_once('M')?;
    let seconds = rest.strip_suffix('S')?.replace(',', ".");
    let of_day = hours.parse::<u8>().ok()? < 24;
    of_day.then(|| format!("{hours}:{minutes}:{seconds}"))
}

/// The row that is being read.
#[derive(Default)]
struct Row {
    times: usize,
    cells: Vec<String>,
    /// Blank cells of which it is not known yet whether one with words follows.
    blank: usize,
}

impl Row {
    fn of(start: &BytesStart<'_>) -> Result<Self, String> {
        let times = repeated(start, "table:number-rows-repeated")?;
        Ok(Self { times, ..Self::default() })
    }
}

struct Table {
    text: Vec<u8>,
    row: Row,
    /// Blank rows of which it is not known yet whether one with cells follows.
    blank: usize,
    rows: usize,
    widest: usize,
    most: u64,
    are_stored: bool,
}

impl Table {
    fn take(&mut self, cell: Cell) -> Result<(), String> {
        let times = cell.times;
        let (words, is_text) = cell.words();
        let row = &mut self.row;
        if words.is_empty() {
            row.blank = row.blank.saturating_add(times);
            return Ok(());
        }
        self.are_stored &= !is_text || !may_be_thousands(words.as_bytes());
        let cells = row.cells.len().saturating_add(row.blank).saturating_add(times);
        let bytes = words.len().saturating_mul(times).saturating_add(self.text.len());
        if cells > SHEET_COLUMNS || bytes as u64 > self.most {
            return Err("a row has more cells than a sheet has columns".to_owned());
        }
        row.cells.resize(row.cells.len() + std::mem::take(&mut row.blank), String::new());
        row.cells.resize(cells, words);
        Ok(())
    }

    fn end_row(&mut self) -> Result<(), String> {
        let Row { times, cells, .. } = std::mem::take(&mut self.row);
        if cells.is_empty() {
            self.blank = self.blank.saturating_add(times);
            return Ok(());
        }
        let mut line = Vec::new();
        for cell in &cells {
            write_cell(&mut line, cell.as_bytes(), b'\t');
        }
        end_sheet_row(&mut line, cells.len(), &mut self.widest);
        let blank = std::mem::take(&mut self.blank);
        self.rows = self.rows.saturating_add(blank).saturating_add(times);
        let bytes = line.len().saturating_mul(times).saturating_add(self.text.len());
        if self.rows > SHEET_ROWS || bytes as u64 > self.most {
            return Err("it has more rows than a sheet has".to_owned());
        }
        self.text.resize(self.text.len() + blank, b'\n');
        for _ in 0..times {
            self.text.extend_from_slice(&line);
        }
        Ok(())
    }
}
