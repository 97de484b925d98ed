//! One file, from its bytes to its rows: the lines above the header, the header, what stands below it, and the
//! rows (`body`, `plain`).

use crate::body::{Averaged, Body, FileRows};
use crate::cells::Splitter;
use crate::error::Error;
use crate::header::{Head, Header, Kept, descriptions};
use crate::input::{Input, stream};
use crate::lines::{Line, Lines, Take};
use crate::long_form::LongReader;
use crate::plain;
use crate::progress::Progress;
use crate::recognise::{Columns, Named, average_word, columns, unit_word};
use crate::stamp::{StampReader, have_lost_their_seconds};
use crate::stamp_cells::{stamp_of, start};
use crate::store::{Store, number_slot};
use crate::suggest::time_keys;
use crate::thousands::Thousands;
use plant::Plant;
use std::cell::Cell;
use std::collections::VecDeque;
use std::sync::Arc;

/// Reads one file into the store.
pub(crate) fn read_file(
    input: &Input,
    plant: &Plant,
    store: &mut Store,
    progress: &Progress,
) -> Result<FileRows, Error> {
    let name: Arc<str> = input.name().into();
    let mut lines = Lines::of(name.to_string());
    let numbers_are_stored = Cell::new(false);
    let reader = Reader {
        plant,
        numbers_are_stored: &numbers_are_stored,
        name: Arc::clone(&name),
        length: input.length(),
        first_row: store.rows(),
        store,
        phase: Phase::Head(Head::default()),
        splitter: Splitter::default(),
    };
    let mut rows = Rows { long: LongReader::of(plant), reader };
    let print = stream(input, progress, plant.form.sheet.as_deref(), |chunk| {
        numbers_are_stored.set(chunk.numbers_are_stored);
        lines.feed(&chunk.text, &mut rows)
    })?;
    lines.finish(&mut rows)?;
    let Rows { long, mut reader } = rows;
    if let Some(long) = long {
        long.finish(&name, |line| reader.line(line))?;
    }
    let mut file = reader.finish()?;
    file.bytes = print.bytes;
    file.sha256 = print.sha256;
    Ok(file)
}

/// Takes the lines of a file: as rows, or as readings of which rows are made later.
struct Rows<'a> {
    long: Option<LongReader<'a>>,
    reader: Reader<'a>,
}

impl Take for Rows<'_> {
    fn line(&mut self, line: Line<'_>) -> Result<(), Error> {
        match &mut self.long {
            Some(long) => {
                long.line(line);
                Ok(())
            }
            None => self.reader.line(line),
        }
    }

    fn lines(&mut self, text: &[u8], first: u64) -> (usize, u64) {
        match (&self.long, &mut self.reader.phase) {
            (None, Phase::Body { body, plain: Some(plain) }) => {
                plain.rows(body, text, first, self.reader.store)
            }
            _ => (0, 0),
        }
    }
}

struct Reader<'a> {
    plant: &'a Plant,
    /// Whether no number of the file can hold thousands, as a workbook stores them.
    numbers_are_stored: &'a Cell<bool>,
    name: Arc<str>,
    /// In bytes, as far as known.
    length: u64,
    first_row: usize,
    store: &'a mut Store,
    phase: Phase,
    splitter: Splitter,
}

enum Phase {
    Head(Head),
    Below(Box<Below>),
    Body {
        body: Box<Body>,
        /// The columns, where rows that are plain can be read straight from the text.
        plain: Option<plain::Columns>,
    },
}

/// The header is known, the units perhaps not yet.
struct Below {
    header: Header,
    columns: Columns,
    /// Reads stamps as the plant file says.
    stamps: StampReader,
    /// The cells of the units row.
    units: Vec<String>,
    /// Lines below the header that are no rows, to know them again further down.
    described: Vec<Vec<u8>>,
    /// Their cells.
    descriptions: Vec<Vec<String>>,
}

/// Room is made for at most so many rows at once: three months, one row a second.
const MOST_RESERVED: u64 = 8_000_000;

/// At most so many lines below the header are units or descriptions.
const MOST_DESCRIPTIONS: usize = 3;

impl Reader<'_> {
    fn line(&mut self, line: Line<'_>) -> Result<(), Error> {
        if let Phase::Body { body, .. } = &mut self.phase {
            return body.row(line, &mut self.splitter, self.store, self.plant);
        }
        self.line_before_rows(line)
    }

    fn line_before_rows(&mut self, line: Line<'_>) -> Result<(), Error> {
        match &mut self.phase {
            Phase::Head(head) => {
                let kept =
                    Kept { number: line.number, bytes: line.bytes.to_vec(), ended: line.ended };
                if head.add(kept, self.plant) { self.end_head() } else { Ok(()) }
            }
            Phase::Below(below) => {
                if line.bytes.trim_ascii().is_empty() || below.describes(line, &mut self.splitter) {
                    return Ok(());
                }
                self.end_below(Some(line.bytes.len()))?;
                self.line(line)
            }
            Phase::Body { .. } => self.line(line),
        }
    }

    fn end_head(&mut self) -> Result<(), Error> {
        let Phase::Head(head) = &mut self.phase else { return Ok(()) };
        let no_header = || Error::NoHeader { file: self.name.to_string() };
        let head = std::mem::take(head);
        if self.plant.form.long.is_none()
            && let Some((line, tag, value)) = head.long_form(self.plant)
        {
            return Err(Error::LongForm { file: self.name.to_string(), line, tag, value });
        }
        let (header, rest) = head.finish(self.plant).ok_or_else(no_header)?;
        let named = Named { file: &self.name, line: header.line, names: &header.names };
        let mut columns = columns(named, self.plant).map_err(|error| match error {
            Error::MissingColumn { file, line, need, seen, remedy }
                if matches!(need.as_str(), "the time" | "time" | "date") =>
            {
                let lines = rest.iter().map(|line| line.bytes.as_slice());
                let keys = time_keys(&header.names, lines, header.delimiter);
                let keys = keys.map(|keys| format!("; the rows have it in {keys}"));
                let remedy = remedy + &keys.unwrap_or_default();
                Error::MissingColumn { file, line, need, seen, remedy }
            }
            other => other,
        })?;
        let since = columns.stamp.as_mut().and_then(|more| more.since_start.as_mut());
        if let (Some(since), Some(stated)) = (since, &self.plant.columns.stamp.since_start) {
            let found = start(&header.above, header.delimiter, &stated.start, self.plant);
            since.start = Some(found.ok_or_else(|| Error::NoStart {
                file: self.name.to_string(),
                line: header.line,
                label: stated.start.clone(),
            })?);
        }
        self.phase = Phase::Below(Box::new(Below {
            header,
            columns,
            stamps: StampReader::of(self.plant.form.day_numbers, self.plant.form.times),
            units: Vec::new(),
            described: Vec::new(),
            descriptions: Vec::new(),
        }));
        self.replay(rest)
    }

    fn replay(&mut self, lines: VecDeque<Kept>) -> Result<(), Error> {
        for kept in lines {
            let Kept { number, bytes, ended } = kept;
            self.line(Line { number, bytes: &bytes, ended })?;
        }
        Ok(())
    }

    fn end_below(&mut self, line_length: Option<usize>) -> Result<(), Error> {
        let Phase::Below(below) = &mut self.phase else { return Ok(()) };
        let Below { header, columns, units, described, descriptions, .. } = std::mem::replace(
            below.as_mut(),
            Below {
                header: Header::default(),
                columns: Columns::default(),
                stamps: StampReader::default(),
                units: Vec::new(),
                described: Vec::new(),
                descriptions: Vec::new(),
            },
        );
        let averaged = averaged(&header, &columns, &descriptions);
        let mut body =
            Body::new(&self.name, self.plant, self.store, header, columns, &units, described)?;
        body.averaged = averaged;
        if self.numbers_are_stored.get() {
            for number in &mut body.numbers {
                number.thousands = Thousands::Settled;
            }
        }
        let plain = plain::Columns::of(&body, self.plant);
        self.phase = Phase::Body { body: Box::new(body), plain };
        if let Some(length) = line_length {
            // About as many rows as the file has bytes for. The length may be a lie (a file with
            // holes), so there is a bound; beyond it columns grow as they do.
            let rows = self.length / (length as u64 + 1).max(16);
            self.store.reserve((rows + rows / 16).min(MOST_RESERVED) as usize);
        }
        Ok(())
    }

    fn finish(mut self) -> Result<FileRows, Error> {
        if matches!(self.phase, Phase::Head(_)) {
            self.end_head()?;
        }
        self.end_below(None)?;
        let Phase::Body { mut body, .. } = self.phase else {
            return Err(Error::NoHeader { file: self.name.to_string() });
        };
        if let Some(open) = body.open.take() {
            body.part(&open, &mut self.splitter, self.store, self.plant)?;
        }
        self.store.pad();
        let stamps = self.store.stamps.get(self.first_row..).unwrap_or_default();
        body.has_lost_its_seconds = have_lost_their_seconds(stamps);
        body.finish(self.name, self.first_row..self.store.rows(), self.plant)
    }
}

impl Below {
    /// Whether the line has units or descriptions and no row; keeps the units.
    fn describes(&mut self, line: Line<'_>, splitter: &mut Splitter) -> bool {
        if self.described.len() >= MOST_DESCRIPTIONS {
            return false;
        }
        let Ok(cells) = splitter.split(line.bytes, self.header.delimiter) else { return false };
        let mut stamps = self.stamps.like();
        if stamp_of(&mut stamps, &self.columns, cells, line.number).is_some() {
            return false;
        }
        let words = descriptions(cells);
        let mut unit = false;
        for (&role, &column) in &self.columns.roles {
            let Some(word) = words.get(column) else { continue };
            if number_slot(role).is_some() {
                unit |= unit_word(role, word).is_some();
                if word.replace(',', ".").parse::<f64>().is_ok() {
                    return false;
                }
            }
        }
        let time = words.get(self.columns.time).map_or("", String::as_str);
        if !(unit || time.is_empty() && words.len() == self.header.width) {
            return false;
        }
        if unit && self.units.is_empty() {
            self.units.clone_from(&words);
        }
        self.descriptions.push(words);
        self.described.push(line.bytes.to_vec());
        true
    }
}

/// The columns of readings that call themselves averages, in the header or below it.
fn averaged(header: &Header, columns: &Columns, descriptions: &[Vec<String>]) -> Vec<Averaged> {
    let mut averaged = Vec::new();
    for (&role, &column) in &columns.roles {
        if number_slot(role).is_none() {
            continue;
        }
        let name = header.names.get(column).map_or("", String::as_str);
        let below = descriptions.iter().filter_map(|words| words.get(column));
        let mut said = std::iter::once(name).chain(below.map(String::as_str));
        if let Some(word) = said.find_map(average_word) {
            averaged.push(Averaged { role, name: name.to_owned(), word });
        }
    }
    averaged
}
