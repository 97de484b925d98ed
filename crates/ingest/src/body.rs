//! The rows of one file: cells to readings in the [`Store`], and everything about them that is worth saying.
//!
//! Every row is kept, also when its time stamp can't be read: it was recorded, though it has no
//! place. A row with more or fewer cells than the header, or with a quote that is not closed, has its
//! readings invalid altogether: nothing tells which cell is which, and a reading that may belong to
//! the next column vouches for nothing. Only where every row lacks the same last cells are these
//! columns absent.

use crate::bounds::{MOST_ROWS, MOST_WORDS};
use crate::cells::{Cells, Splitter, is_plain, unwrapped};
use crate::error::{Error, Says};
use crate::header::Header;
use crate::input::text;
use crate::lines::Line;
use crate::mark::Mark;
use crate::open_row::OpenRow;
use crate::recognise::{Columns, any_unit, is_same, number_and_unit, unit_in_name, unit_word};
use crate::stamp::{Stamp, StampReader, Stated, Written, is_time_of_day};
use crate::stamp_cells::stamp_of;
use crate::store::{SWITCHES, Store, TEXTS, Unchanged, bit, number_slot, text_slot};
use crate::suggest::{StampCells, odd_stamp, stamp_cells};
use crate::thousands::Thousands;
use crate::words::{RowTally, Words};
use crate::zone;
use plant::{AnyUnit, OnChange, Plant};
use std::collections::BTreeMap;
use std::ops::Range;
use std::sync::Arc;
use trace::{
    ChannelView, Decimal, DecimalMark, Invalid, Quantity, Reading, Role, Toward, ValveState,
};

/// A file whose rows are in the store.
#[derive(Debug)]
pub(crate) struct FileRows {
    pub(crate) name: Arc<str>,
    pub(crate) bytes: u64,
    pub(crate) sha256: [u8; 32],
    /// Its rows in the store.
    pub(crate) rows: Range<usize>,
    pub(crate) lines: LineNumbers,
    pub(crate) stamps: StampReader,
    pub(crate) header_line: u64,
    /// The names in the header.
    pub(crate) names: Vec<String>,
    /// Numbers, words and texts that the file has, by role.
    pub(crate) columns: Columns,
    /// Columns of readings that call themselves averages.
    pub(crate) averaged: Vec<Averaged>,
    /// The first cell that was not usable, by channel and reason.
    pub(crate) unusable: BTreeMap<(Role, Invalid), FirstCell>,
    pub(crate) valve_words: BTreeMap<Role, Words<ValveState>>,
    pub(crate) switch_words: BTreeMap<Role, Words<bool>>,
    pub(crate) problems: Problems,
    pub(crate) assumptions: Vec<String>,
}

/// A column that calls itself an average.
#[derive(Debug, Clone)]
pub(crate) struct Averaged {
    pub(crate) role: Role,
    /// Its name in the header.
    pub(crate) name: String,
    /// The word that says so.
    pub(crate) word: String,
}

/// Where the first of several cells stands.
#[derive(Debug, Clone)]
pub(crate) struct FirstCell {
    pub(crate) line: u64,
    pub(crate) text: String,
}

/// Rows that are not as they should be.
#[derive(Debug, Default)]
pub(crate) struct Problems {
    /// Fewer cells than the header.
    pub(crate) short: RowTally,
    /// The first of the last columns that every row lacks.
    pub(crate) absent: Option<String>,
    /// More cells than the header.
    pub(crate) wide: RowTally,
    /// The most cells of those rows.
    pub(crate) widest: usize,
    /// Both position switches made at once.
    pub(crate) both_switches: RowTally,
    /// Time stamp not readable.
    pub(crate) unreadable: RowTally,
    /// How many of those rows have a time of day and no date.
    pub(crate) dateless: u64,
    /// Another column of the first of them that holds a date.
    pub(crate) date_elsewhere: Option<usize>,
    /// The first of each stretch of those rows, and what stands in place of the stamp.
    pub(crate) unreadable_texts: Vec<(usize, String)>,
    /// A quote that is not closed on its line.
    pub(crate) unclosed: RowTally,
    /// Lines without cells, such as a remark below the rows; not in the store.
    pub(crate) remarks: RowTally,
    /// The first of them.
    pub(crate) remark: String,
    /// The last line, cut within a row: its number, its row in the store, and the cell that is cut.
    pub(crate) truncated: Option<(u64, Option<usize>, String)>,
}

/// The first characters of a cell or a line, for messages.
fn beginning(bytes: &[u8]) -> String {
    text(bytes).trim().chars().take(40).collect()
}

impl Problems {
    #[cold]
    fn unreadable(&mut self, row: usize, line: u64, stamp: &[u8]) {
        let follows = self.unreadable.count > 0 && self.unreadable.last_row + 1 == row;
        if !follows && self.unreadable_texts.len() < MOST_TEXTS {
            self.unreadable_texts.push((row, beginning(stamp)));
        }
        self.unreadable.add(row, line);
    }
}

/// So many unreadable stamps are kept for messages.
const MOST_TEXTS: usize = 100;

/// Rows without a readable stamp are holes, but one row in fifty is a fault of the file as a whole, which
/// is refused. In a short file these few may be missing, as long as they are not most of it.
const ONE_UNREADABLE_IN: u64 = 50;
const FEW_UNREADABLE: u64 = 3;

/// The line of each row: rows mostly follow each other, so only the breaks are kept.
#[derive(Debug, Default)]
pub(crate) struct LineNumbers {
    /// From this row of the file on, lines count on from this line.
    breaks: Vec<(usize, u64)>,
    rows: usize,
}

impl LineNumbers {
    fn push(&mut self, line: u64) {
        let follows = self
            .breaks
            .last()
            .is_some_and(|&(row, first)| first + (self.rows - row) as u64 == line);
        if !follows {
            self.breaks.push((self.rows, line));
        }
        self.rows += 1;
    }

    /// Rows on so many lines that follow each other.
    pub(crate) fn push_all(&mut self, first_line: u64, count: usize) {
        if count > 0 {
            self.push(first_line);
            self.rows += count - 1;
        }
    }

    /// The line of a row, counted from the file's first row.
    pub(crate) fn of(&self, row: usize) -> u64 {
        let after = self.breaks.partition_point(|&(first, _)| first <= row);
        after
            .checked_sub(1)
            .and_then(|at| self.breaks.get(at))
            .map_or(1, |&(first, line)| line + (row - first) as u64)
    }
}

/// What is done with a column of numbers.
#[derive(Debug)]
pub(crate) struct NumberColumn {
    pub(crate) column: usize,
    pub(crate) slot: usize,
    pub(crate) role: Role,
    pub(crate) unit: AnyUnit,
    pub(crate) toward: Toward,
    /// What its instrument can show.
    pub(crate) range: (Decimal, Decimal),
    pub(crate) thousands: Thousands,
}

impl NumberColumn {
    /// The number of a cell that has the column's unit behind it.
    #[cold]
    fn without_unit<'a>(&self, cell: &'a [u8]) -> Option<&'a [u8]> {
        let (number, word) = number_and_unit(cell)?;
        (unit_word(self.role, &word) == Some(self.unit)).then_some(number)
    }
}

/// What is done with a column of words, and the cell of the row before: words repeat for hours.
#[derive(Debug)]
pub(crate) struct TextColumn {
    pub(crate) column: usize,
    pub(crate) slot: usize,
    pub(crate) bytes: Vec<u8>,
    /// Whether these can stand in a cell without quotes.
    pub(crate) is_plain: bool,
    pub(crate) word: String,
}

#[derive(Debug, Clone, Copy)]
pub(crate) enum ValveColumns {
    Words {
        column: usize,
        single: Option<Role>,
    },
    Switches {
        forward: usize,
        divert: usize,
    },
    /// Another logger has it.
    Elsewhere,
}

/// The rows.
pub(crate) struct Body {
    pub(crate) header: Header,
    /// How many cells a row has: as many as the header, or fewer where no row so far had more.
    pub(crate) width: usize,
    /// A row whose quoted cell may go on in the next line.
    pub(crate) open: Option<OpenRow>,
    /// The names of the columns that are used, in lower case, to know them again further down.
    pub(crate) plain_names: BTreeMap<usize, String>,
    pub(crate) columns: Columns,
    pub(crate) described: Vec<Vec<u8>>,
    pub(crate) file: Arc<str>,
    pub(crate) valve: ValveColumns,
    pub(crate) numbers: Vec<NumberColumn>,
    /// The columns of the roles that are on or off, and what their words were.
    pub(crate) switches: [Option<(usize, Words<bool>)>; SWITCHES.len()],
    pub(crate) texts: Vec<TextColumn>,
    pub(crate) mark: Mark,
    pub(crate) stamps: StampReader,
    /// How many rows have a stamp that can be read.
    pub(crate) stamped: usize,
    pub(crate) local: bool,
    pub(crate) has_lost_its_seconds: bool,
    pub(crate) lines: LineNumbers,
    pub(crate) averaged: Vec<Averaged>,
    pub(crate) unusable: BTreeMap<(Role, Invalid), FirstCell>,
    pub(crate) valve_words: Words<ValveState>,
    pub(crate) forward_words: Words<bool>,
    pub(crate) divert_words: Words<bool>,
    pub(crate) problems: Problems,
    pub(crate) assumptions: Vec<String>,
}

impl Body {
    pub(crate) fn new(
        file: &Arc<str>,
        plant: &Plant,
        store: &mut Store,
        header: Header,
        columns: Columns,
        units: &[String],
        described: Vec<Vec<u8>>,
    ) -> Result<Self, Error> {
        let mut assumptions = Vec::new();
        let mut known = BTreeMap::new();
        for (&role, &column) in &columns.roles {
            if number_slot(role).is_some() {
                let unit = unit_of(file, plant, &header, role, column, units)?;
                known.insert(role, unit);
            }
        }
        if let (Some(raw), Some(pasteurized)) =
            (known.get(&Role::RawPressure), known.get(&Role::PasteurizedPressure))
            && raw != pasteurized
        {
            return Err(Error::PressureUnits {
                file: file.to_string(),
                line: header.line,
                raw: raw.symbol(),
                pasteurized: pasteurized.symbol(),
            });
        }
        let mut numbers = Vec::new();
        for (&role, &unit) in &known {
            let range = plant.columns.roles.get(&role).and_then(|binding| binding.range);
            let range = range.unwrap_or_else(|| unit.physical_range(role));
            store.open(role, unit, range).map_err(|before| Error::UnitChanged {
                file: file.to_string(),
                line: header.line,
                channel: role.name(),
                unit: unit.symbol(),
                before,
            })?;
            if let (Some(slot), Some(&column)) = (number_slot(role), columns.roles.get(&role)) {
                let thousands = match plant.form.decimal_mark {
                    Some(_) => Thousands::Settled,
                    None => Thousands::Unmarked,
                };
                let toward = role.worse();
                numbers.push(NumberColumn { column, slot, role, unit, toward, range, thousands });
            }
        }
        let column_of = |role: Role| columns.roles.get(&role).copied();
        let valve = match (
            column_of(Role::Valve),
            column_of(Role::ValveForward),
            column_of(Role::ValveDivert),
        ) {
            (None, Some(forward), Some(divert)) => ValveColumns::Switches { forward, divert },
            (None, ..) if plant.columns.are_part => ValveColumns::Elsewhere,
            // Recognition and binding make sure that there is one or the other.
            (column, ..) => ValveColumns::Words {
                column: column.unwrap_or_default(),
                single: columns.single_switch,
            },
        };
        if plant.form.on_change.is_some() {
            let rows = store.rows();
            store.unchanged.get_or_insert_with(Unchanged::default).pad(rows);
        }
        let switches = SWITCHES.map(|role| {
            let column = column_of(role)?;
            store.open_switch(role);
            Some((column, Words::default()))
        });
        let mut texts = Vec::new();
        for role in TEXTS {
            if let (Some(column), Some(slot)) = (column_of(role), text_slot(role)) {
                store.open_text(role);
                let (bytes, word) = (Vec::new(), String::new());
                texts.push(TextColumn { column, slot, bytes, is_plain: false, word });
            }
        }
        if columns.by_name {
            assumptions.splice(0..0, by_name(&header, &columns, &known));
        }
        if let Some(offset) = columns.offset {
            let name = header.names.get(columns.time).map_or("", String::as_str);
            let zone = match offset {
                0 => "as UTC".to_owned(),
                _ => format!(
                    "with the offset {}{:02}:{:02}",
                    if offset < 0 { '-' } else { '+' },
                    offset.abs() / 60,
                    offset.abs() % 60
                ),
            };
            assumptions.push(format!("Time stamps were read {zone}, as the column {name:?} says."));
        }
        let stamp = columns.of_stamp().map(|(column, _)| column);
        let used = columns.roles.values().copied().chain(stamp);
        let plain_names = used
            .filter_map(|column| Some((column, header.names.get(column)?.to_lowercase())))
            .collect();
        Ok(Self {
            plain_names,
            file: Arc::clone(file),
            mark: Mark::new(plant.form.decimal_mark, header.delimiter),
            width: header.width,
            open: None,
            header,
            columns,
            described,
            valve,
            numbers,
            switches,
            texts,
            stamps: StampReader::of(plant.form.day_numbers, plant.form.times),
            stamped: 0,
            local: false,
            has_lost_its_seconds: false,
            lines: LineNumbers::default(),
            averaged: Vec::new(),
            unusable: BTreeMap::new(),
            valve_words: Words::default(),
            forward_words: Words::default(),
            divert_words: Words::default(),
            problems: Problems::default(),
            assumptions,
        })
    }

    pub(crate) fn row(
        &mut self,
        line: Line<'_>,
        splitter: &mut Splitter,
        store: &mut Store,
        plant: &Plant,
    ) -> Result<(), Error> {
        if self.open.is_some() {
            return self.below_open_quote(line, splitter, store, plant);
        }
        if line.bytes.is_empty() {
            return Ok(());
        }
        match splitter.split(line.bytes, self.header.delimiter) {
            Ok(cells) => self.cells(line, cells, store, plant),
            Err(_open) if line.ended => {
                self.open = Some(OpenRow::new(line));
                Ok(())
            }
            Err(_open) => self.row_with_open_quote(line, splitter.before_quote(), store, plant),
        }
    }

    /// The line below one whose quote is open: it goes on with the cell, or begins a row.
    #[cold]
    fn below_open_quote(
        &mut self,
        line: Line<'_>,
        splitter: &mut Splitter,
        store: &mut Store,
        plant: &Plant,
    ) -> Result<(), Error> {
        let Some(mut open) = self.open.take() else { return Ok(()) };
        if self.may_be_a_row(line, splitter) || !open.add(line) {
            self.part(&open, splitter, store, plant)?;
            return self.row(line, splitter, store, plant);
        }
        if line.bytes.contains(&b'"') {
            let joined = open.joined();
            if let Ok(cells) = splitter.split(&joined, self.header.delimiter)
                && cells.len() == self.width
            {
                return self.cells(open.line(&joined), cells, store, plant);
            }
        }
        self.open = Some(open);
        Ok(())
    }

    /// Whether a line could be a row by itself: it has as many delimiters, or a stamp.
    fn may_be_a_row(&self, line: Line<'_>, splitter: &mut Splitter) -> bool {
        let delimiter = self.header.delimiter;
        if memchr::memchr_iter(delimiter, line.bytes).count() + 1 >= self.width {
            return true;
        }
        let whole = splitter.split(line.bytes, delimiter).is_ok();
        let cells = if whole {
            let Ok(cells) = splitter.split(line.bytes, delimiter) else { return true };
            cells
        } else {
            splitter.before_quote()
        };
        stamp_of(&mut self.stamps.like(), &self.columns, cells, line.number).is_some()
    }

    /// Rows of a line each, as the quote in the first of them belongs to no cell of the file.
    #[cold]
    pub(crate) fn part(
        &mut self,
        open: &OpenRow,
        splitter: &mut Splitter,
        store: &mut Store,
        plant: &Plant,
    ) -> Result<(), Error> {
        for line in open.each().filter(|line| !line.bytes.is_empty()) {
            match splitter.split(line.bytes, self.header.delimiter) {
                Ok(cells) => self.cells(line, cells, store, plant)?,
                Err(_open) => {
                    self.row_with_open_quote(line, splitter.before_quote(), store, plant)?;
                }
            }
        }
        Ok(())
    }

    /// A line in its cells.
    #[inline]
    fn cells(
        &mut self,
        line: Line<'_>,
        cells: Cells<'_>,
        store: &mut Store,
        plant: &Plant,
    ) -> Result<(), Error> {
        let row = store.rows();
        // Cells from this one on can't be used.
        let mut usable = usize::MAX;
        let (mut wide, mut short, mut truncated) = (false, false, false);
        if cells.len() != self.width {
            let filled = cells.filled();
            if filled == 0 {
                return Ok(());
            }
            self.another_width(line, cells.len(), store);
            wide = filled > self.width;
            truncated = !line.ended && cells.len() < self.width;
            short = !truncated && cells.len() < self.width;
            if wide || short {
                usable = 0;
            } else if truncated {
                // `16` may be the beginning of `161.2`, and `F` of anything.
                usable = cells.len() - 1;
            }
        }
        if !line.ended && cells.len() == self.width && self.looks_cut(cells, store) {
            truncated = true;
            usable = self.width - 1;
        }
        let stamp_cut = truncated && self.columns.of_stamp().any(|(column, _)| column >= usable);
        let stamp = if stamp_cut {
            None
        } else {
            stamp_of(&mut self.stamps, &self.columns, cells, line.number)
        };
        let stamp = match stamp {
            Some(stamp) => stamp,
            None if self.is_row(line, cells, truncated, usable)? => {
                self.without_stamp(row, line.number, cells);
                Stamp::UNREADABLE
            }
            None => {
                if self.lines.rows == 0 {
                    self.width = self.header.width;
                }
                return Ok(());
            }
        };
        if truncated {
            let cut = beginning(cells.get(cells.len() - 1).unwrap_or_default());
            self.problems.truncated = Some((line.number, Some(row), cut));
        } else if wide {
            self.problems.wide.add(row, line.number);
            self.problems.widest = self.problems.widest.max(cells.len());
        } else if short {
            self.problems.short.add(row, line.number);
        }
        self.push(line.number, stamp, cells, usable, store, plant)
    }

    /// A row has another number of cells than those before it. The first one may lack the last columns,
    /// which are absent as long as all others lack them too; when one has them, the rows before it were
    /// short.
    #[cold]
    fn another_width(&mut self, line: Line<'_>, cells: usize, store: &mut Store) {
        let header = self.header.width;
        if self.lines.rows == 0 && line.ended && cells < header {
            self.width = cells;
        } else if self.width < header && cells > self.width {
            self.width = header;
            let first = store.rows() - self.lines.rows;
            for row in first..store.rows() {
                self.problems.short.add(row, self.lines.of(row - first));
            }
            store.blank_from(first);
            for number in &self.numbers {
                note(&mut self.unusable, number.role, Invalid::Blank, self.lines.of(0), b"");
            }
        }
    }

    #[cold]
    fn without_stamp(&mut self, row: usize, line: u64, cells: Cells<'_>) {
        let time = cells.get(self.columns.time).unwrap_or_default();
        let date = self.columns.date.and_then(|date| cells.get(date)).unwrap_or_default();
        let dateless = date.trim_ascii().is_empty() && is_time_of_day(time);
        if dateless
            && self.problems.dateless == 0
            && let Some(StampCells::Apart { date, .. }) = stamp_cells(cells)
        {
            self.problems.date_elsewhere = Some(date);
        }
        self.problems.dateless += u64::from(dateless);
        self.problems.unreadable(row, line, time);
    }

    /// Adds a row to the store. Cells from number `usable` on can't be used.
    #[inline]
    fn push(
        &mut self,
        line: u64,
        stamp: Stamp,
        cells: Cells<'_>,
        usable: usize,
        store: &mut Store,
        plant: &Plant,
    ) -> Result<(), Error> {
        let row = store.rows();
        if row >= MOST_ROWS {
            return Err(Error::TooManyRows { file: self.file.to_string() });
        }
        self.local |= matches!(stamp.written(), Written::Local { zone: Stated::Nothing, .. });
        self.lines.push(line);
        self.stamped += usize::from(stamp != Stamp::UNREADABLE);
        store.stamps.push(stamp);
        let cell = |column: usize| {
            if column < usable { cells.get(column).unwrap_or_default() } else { &[] }
        };
        let unchanged = match &store.unchanged {
            Some(_) => self.unchanged(cells, usable),
            None => 0,
        };
        let (valve, switches) = self.valve_state(cell, (row, line), unchanged, plant);
        store.valve.push(valve);
        if let Some(cells) = &mut store.unchanged {
            cells.push(unchanged, switches);
        }
        for number in &mut self.numbers {
            let mut bytes = cell(number.column);
            let mut reading = self.mark.read(bytes, number.toward, line);
            if matches!(reading, Ok(Reading::Invalid(Invalid::NotANumber)))
                && let Some(bare) = number.without_unit(bytes)
            {
                bytes = bare;
                reading = self.mark.read(bytes, number.toward, line);
            }
            let reading = match reading {
                Ok(reading) => reading,
                Err(clash) => {
                    return Err(Error::DecimalMarks {
                        file: self.file.to_string(),
                        first: clash.first,
                        other: clash.other,
                    });
                }
            };
            if let Reading::Valid(decimal) = reading
                && decimal.scale() > 0
                && !number.thousands.is_settled()
            {
                number.thousands.look(bytes, decimal, line, number.range);
            }
            let Some(Some(channel)) = store.numbers.get_mut(number.slot) else { continue };
            if let Some(reason) = channel.push(reading) {
                note(&mut self.unusable, number.role, reason, line, bytes);
            }
        }
        let at = (row, line);
        let state = |word: &str| plant.columns.switch_words.state(word);
        let switches = SWITCHES.into_iter().zip(&mut self.switches).zip(&mut store.switches);
        for ((role, read), states) in switches {
            let (Some((column, words)), Some(states)) = (read, states) else { continue };
            let words = (unchanged & bit(role) == 0).then_some(words);
            states.push(words.and_then(|words| words.read(cell(*column), at, state)));
        }
        for column in &mut self.texts {
            let bytes = cell(column.column);
            if column.bytes != bytes {
                column.bytes = bytes.to_vec();
                column.is_plain = is_plain(bytes);
                column.word = text(unwrapped(bytes.trim_ascii())).into_owned();
            }
            if let Some(Some(channel)) = store.texts.get_mut(column.slot) {
                channel.push(&column.word);
            }
        }
        match self.too_many_words(store) {
            Some(role) => Err(self.too_many(role, line)),
            None => Ok(()),
        }
    }

    /// The role of a column that has more different words than any plant has.
    #[inline]
    fn too_many_words(&self, store: &Store) -> Option<Role> {
        let states = [
            (Role::Valve, self.valve_words.are_too_many()),
            (Role::ValveForward, self.forward_words.are_too_many()),
            (Role::ValveDivert, self.divert_words.are_too_many()),
        ];
        let switches = SWITCHES.into_iter().zip(&self.switches);
        let switches = switches.map(|(role, read)| {
            (role, read.as_ref().is_some_and(|(_, words)| words.are_too_many()))
        });
        let state = states
            .into_iter()
            .chain(switches)
            .find(|(_, too_many)| *too_many)
            .map(|(role, _)| role);
        state.or_else(|| {
            let words = |role: Role| store.texts.get(text_slot(role)?)?.as_ref();
            let is_full =
                |role: &Role| words(*role).is_some_and(|words| words.words().len() > MOST_WORDS);
            TEXTS.into_iter().find(is_full)
        })
    }

    #[cold]
    fn too_many(&self, role: Role, line: u64) -> Error {
        let column =
            self.columns.roles.get(&role).and_then(|&column| self.header.names.get(column));
        Error::TooManyWords {
            file: self.file.to_string(),
            line,
            column: column.cloned().unwrap_or_default(),
            what: role.name(),
        }
    }

    /// The channels whose cells are there, can be used, and are blank: nothing changed.
    fn unchanged(&self, cells: Cells<'_>, usable: usize) -> u32 {
        let is_blank = |&(_, &column): &(&Role, &usize)| {
            let given = cells.get(column).filter(|_cell| column < usable);
            given.is_some_and(|cell| cell.trim_ascii().is_empty())
        };
        let blank = self.columns.roles.iter().filter(is_blank);
        blank.fold(0, |bits, (&role, _)| bits | bit(role))
    }

    /// Whether the last cell of a file without a last line end can be the beginning of a longer
    /// one, judged by the rows before. `2` may have been `25.0`.
    #[cold]
    fn looks_cut(&self, cells: Cells<'_>, store: &Store) -> bool {
        if self.lines.rows == 0 {
            return false;
        }
        let last = self.width.saturating_sub(1);
        let cell = cells.get(last).unwrap_or_default().trim_ascii();
        if self.columns.of_stamp().any(|(column, _)| column == last) {
            return true;
        }
        if let Some(text) = self.texts.iter().find(|text| text.column == last) {
            // A word that no row had may be the beginning of one; so may one of those before.
            let channel = store.texts.get(text.slot).and_then(Option::as_ref);
            let word = crate::input::text(cell);
            return text.bytes.len() > cell.len() && text.bytes.starts_with(cell)
                || channel.is_none_or(|channel| channel.words().iter().all(|seen| *seen != word));
        }
        let words = match self.valve {
            ValveColumns::Words { column, .. } if column == last => {
                return !self.valve_words.has_seen(cell);
            }
            ValveColumns::Switches { forward, .. } if forward == last => &self.forward_words,
            ValveColumns::Switches { divert, .. } if divert == last => &self.divert_words,
            _ if let Some((_, words)) =
                self.switches.iter().flatten().find(|(column, _)| *column == last) =>
            {
                words
            }
            _ => {
                let number = self.numbers.iter().find(|number| number.column == last);
                let channel = number.and_then(|number| store.numbers.get(number.slot)?.as_ref());
                return channel.is_some_and(|channel| shorter_than_before(cell, channel.view()));
            }
        };
        !words.has_seen(cell)
    }

    fn valve_state<'c>(
        &mut self,
        cell: impl Fn(usize) -> &'c [u8],
        at: (usize, u64),
        unchanged: u32,
        plant: &Plant,
    ) -> (ValveState, Option<[Option<bool>; 2]>) {
        let switch = |word: &str| plant.columns.switch_words.state(word);
        let is_given = |role: Role| unchanged & bit(role) == 0;
        let state = match self.valve {
            ValveColumns::Words { .. } if !is_given(Role::Valve) => ValveState::Unknown,
            ValveColumns::Words { column, single } => {
                let meaning = |word: &str| {
                    let position = plant.columns.valve_words.position(word);
                    position.or_else(|| Some(single_switch(single?, switch(word)?)))
                };
                self.valve_words.read(cell(column), at, meaning).unwrap_or(ValveState::Unknown)
            }
            ValveColumns::Switches { forward, divert } => {
                let words = is_given(Role::ValveForward).then_some(&mut self.forward_words);
                let forward = words.and_then(|words| words.read(cell(forward), at, switch));
                let words = is_given(Role::ValveDivert).then_some(&mut self.divert_words);
                let divert = words.and_then(|words| words.read(cell(divert), at, switch));
                if (forward, divert) == (Some(true), Some(true)) {
                    self.problems.both_switches.add(at.0, at.1);
                }
                let state = ValveState::from_switches(forward, divert);
                return (state, Some([forward, divert]));
            }
            ValveColumns::Elsewhere => ValveState::Unknown,
        };
        (state, None)
    }

    /// A row with a quote that is not closed: nothing tells which cell is which from there on.
    #[cold]
    fn row_with_open_quote(
        &mut self,
        line: Line<'_>,
        cells: Cells<'_>,
        store: &mut Store,
        plant: &Plant,
    ) -> Result<(), Error> {
        let row = store.rows();
        self.problems.unclosed.add(row, line.number);
        let stamp = stamp_of(&mut self.stamps, &self.columns, cells, line.number);
        let stamp = stamp.unwrap_or_else(|| {
            self.problems.unreadable(row, line.number, line.bytes);
            Stamp::UNREADABLE
        });
        self.push(line.number, stamp, cells, 0, store, plant)
    }

    /// Whether a line whose stamp can't be read is a row all the same; notes what else it is.
    #[cold]
    fn is_row(
        &mut self,
        line: Line<'_>,
        cells: Cells<'_>,
        truncated: bool,
        usable: usize,
    ) -> Result<bool, Error> {
        let known = line.bytes == self.header.bytes
            || self.described.iter().any(|known| known == line.bytes);
        if known || cells.filled() == 0 {
            return Ok(false);
        }
        let mut used = self.columns.roles.values().filter(|&&column| column < usable);
        if truncated
            && used.all(|&column| cells.get(column).unwrap_or_default().trim_ascii().is_empty())
        {
            // It ends before its first reading.
            self.problems.truncated = Some((line.number, None, beginning(line.bytes)));
            return Ok(false);
        }
        match self.header_again(cells) {
            Some(true) => return Ok(false),
            Some(false) => {
                return Err(Error::HeaderChanged {
                    file: self.file.to_string(),
                    line: line.number,
                    first: self.header.line,
                });
            }
            None => {}
        }
        if cells.len() == 1 && is_remark(line.bytes) {
            let problems = &mut self.problems;
            if problems.remarks.count == 0 {
                problems.remark = beginning(line.bytes);
            }
            problems.remarks.add(self.lines.rows, line.number);
            return Ok(false);
        }
        Ok(true)
    }

    /// Whether a row is a header: the same columns in the same places, or in other ones.
    fn header_again(&self, cells: Cells<'_>) -> Option<bool> {
        let used = || {
            let stamp = self.columns.of_stamp().map(|(column, _)| column);
            stamp.chain(self.columns.roles.values().copied())
        };
        let place = |column: usize| {
            let wanted = self.plain_names.get(&column).map_or("", String::as_str);
            cells.iter().position(|cell| is_same(text(cell).trim(), wanted))
        };
        // Most rows without a stamp are no headers: ask for one name first.
        place(self.columns.time)?;
        let found: Vec<_> =
            used().filter_map(|column| place(column).map(|at| (column, at))).collect();
        if found.len() < 3 {
            return None;
        }
        let all = found.len() == used().count();
        Some(all && found.iter().all(|(column, at)| column == at))
    }

    pub(crate) fn finish(
        mut self,
        name: Arc<str>,
        rows: Range<usize>,
        plant: &Plant,
    ) -> Result<FileRows, Error> {
        let problems = &self.problems;
        let file = || name.to_string();
        if self.stamped == 0 && !rows.is_empty() {
            let text = problems.unreadable_texts.first();
            let text = text.map_or_else(String::new, |(_, text)| text.clone());
            let name = |column: usize| self.header.names.get(column).map_or("", String::as_str);
            let remedy = match problems.date_elsewhere {
                Some(date) => format!(
                    ", or say date = {:?} and time = {:?} under [columns] in the plant file",
                    name(date),
                    name(self.columns.time)
                ),
                None => odd_stamp(text.as_bytes()).unwrap_or_default().to_owned(),
            };
            return Err(Error::NoReadableStamp {
                file: file(),
                line: problems.unreadable.first_line,
                column: self.columns.time + 1,
                text,
                remedy,
            });
        }
        let (unreadable, most) = (problems.unreadable.count, rows.len() as u64);
        if unreadable * ONE_UNREADABLE_IN > most
            && (unreadable > FEW_UNREADABLE || unreadable * 2 > most)
        {
            let text = problems.unreadable_texts.first();
            let dateless = problems.dateless * 2 > unreadable;
            let column = self.columns.date.filter(|_| dateless).unwrap_or(self.columns.time);
            return Err(Error::UnreadableStamps {
                file: file(),
                line: problems.unreadable.first_line,
                column: column + 1,
                text: text.map_or_else(String::new, |(_, text)| text.clone()),
                rows: [unreadable, most],
                remedy: if dateless {
                    "the date is only in some rows, as with merged cells or on a printer's strip: \
                     export it in every row"
                } else {
                    "export every row with date and time such as 2026-03-08 06:00:00"
                },
            });
        }
        if !rows.is_empty() && problems.wide.count == rows.len() as u64 {
            return Err(Error::WideRows {
                file: file(),
                line: problems.wide.first_line,
                cells: problems.widest,
                header: self.header.width,
            });
        }
        for number in &self.numbers {
            let Thousands::Possible(line, text, decimal) = &number.thousands else { continue };
            let name = self.header.names.get(number.column).cloned().unwrap_or_default();
            return Err(Error::MayBeThousands {
                file: file(),
                line: *line,
                column: (number.column + 1, name),
                text: text.clone(),
                ways: Box::new([decimal.trimmed(), Decimal::whole(decimal.mantissa())]),
            });
        }
        if let Some(OnChange { longest_hold, step }) = plant.form.on_change {
            self.assumptions.push(format!(
                "A reading holds until the channel is read again, for at most {longest_hold}; between two \
                 rows it was taken each {step}. Both are set in the plant file."
            ));
        }
        if plant.form.decimal_mark.is_none() && self.mark.found() == Some(DecimalMark::Comma) {
            self.assumptions.push("Readings were read with a decimal comma.".to_owned());
        }
        if plant.is_assumed() && self.local && self.columns.offset.is_none() {
            self.assumptions.push(zone::assumed(plant.zone));
        }
        if self.width < self.header.width && !rows.is_empty() {
            self.problems.absent = self.header.names.get(self.width).cloned();
        }
        if self.has_lost_its_seconds {
            self.assumptions.push(
                "Stamps show minutes only, and most rows have that of the row before: the format of the \
                 cells has cut off their seconds. Give the column a format with seconds, and export again."
                    .to_owned(),
            );
        }
        self.say_valve_words(plant);
        let valve_words = match self.valve {
            ValveColumns::Words { .. } => BTreeMap::from([(Role::Valve, self.valve_words)]),
            ValveColumns::Switches { .. } | ValveColumns::Elsewhere => BTreeMap::new(),
        };
        let mut switch_words = BTreeMap::new();
        if let ValveColumns::Switches { .. } = self.valve {
            switch_words.insert(Role::ValveForward, self.forward_words);
            switch_words.insert(Role::ValveDivert, self.divert_words);
        }
        for (role, read) in SWITCHES.into_iter().zip(self.switches) {
            switch_words.extend(read.map(|(_, words)| (role, words)));
        }
        Ok(FileRows {
            name,
            bytes: 0,
            sha256: [0; 32],
            rows,
            lines: self.lines,
            stamps: self.stamps,
            header_line: self.header.line,
            names: self.header.names,
            columns: self.columns,
            averaged: self.averaged,
            unusable: self.unusable,
            valve_words,
            switch_words,
            problems: self.problems,
            assumptions: self.assumptions,
        })
    }

    /// What the valve's words were taken for, where the plant file does not bind the column.
    fn say_valve_words(&mut self, plant: &Plant) {
        if plant.columns.is_bound() {
            return;
        }
        let mut said: Vec<String> = Vec::new();
        for word in self.valve_words.seen() {
            if let Some(position) = word.meaning {
                said.push(format!("{:?} as {}", word.text, position.name()));
            }
        }
        for (words, on, off) in [
            (&self.forward_words, "forward switch made", "forward switch not made"),
            (&self.divert_words, "divert switch made", "divert switch not made"),
        ]
        .into_iter()
        .chain(SWITCHES.into_iter().zip(&self.switches).filter_map(|(role, read)| {
            let (on, off) = switch_states(role);
            read.as_ref().map(|(_, words)| (words, on, off))
        })) {
            for word in words.seen() {
                if let Some(state) = word.meaning {
                    said.push(format!("{:?} as {}", word.text, if state { on } else { off }));
                }
            }
        }
        if !said.is_empty() {
            said.truncate(20);
            self.assumptions.push(format!("Words were read: {}.", said.join(", ")));
        }
    }
}

/// What on and off are called of a role.
const fn switch_states(role: Role) -> (&'static str, &'static str) {
    match role {
        Role::LeakDetect => ("leak", "no leak"),
        Role::TimingPump => ("pump running", "pump stopped"),
        Role::BoosterPump => ("booster running", "booster stopped"),
        _ => ("alarm", "no alarm"),
    }
}

/// What one position switch alone says. A forward switch that is not made does not show that the
/// device is diverted: it may have stopped halfway. A divert switch that is not made is taken for
/// forward, which is judged at least as strictly as the way there.
fn single_switch(switch: Role, made: bool) -> ValveState {
    match (switch, made) {
        (Role::ValveDivert, true) => ValveState::Divert,
        (Role::ValveDivert, false) | (Role::ValveForward, true) => ValveState::Forward,
        _ => ValveState::Unknown,
    }
}

/// Whether a line without cells is a remark, such as `End of report`: a row begins with its stamp
/// or with the delimiter of a blank cell.
fn is_remark(line: &[u8]) -> bool {
    let first = text(line).trim().chars().next();
    first.is_some_and(|first| first.is_alphabetic() || matches!(first, '#' | '*' | '-' | '=' | '/'))
}

/// Whether a number has fewer digits than one before it: behind the mark where there are any, else in all.
fn shorter_than_before(cell: &[u8], channel: ChannelView<'_>) -> bool {
    let mark = cell.iter().position(|byte| matches!(byte, b'.' | b','));
    let behind = mark.map_or(0, |at| cell.len() - at - 1);
    if channel.scale() > 0 {
        return behind < usize::from(channel.scale());
    }
    let valid = channel.mantissas().iter().filter(|&&mantissa| ChannelView::is_valid(mantissa));
    let digits = |mantissa: u64| mantissa.checked_ilog10().unwrap_or_default() + 1;
    let longest = valid.map(|mantissa| digits(mantissa.unsigned_abs())).max();
    let figures = cell.iter().filter(|byte| byte.is_ascii_digit()).count();
    longest.is_some_and(|longest| figures < longest as usize)
}

#[cold]
fn note(
    unusable: &mut BTreeMap<(Role, Invalid), FirstCell>,
    role: Role,
    reason: Invalid,
    line: u64,
    cell: &[u8],
) {
    unusable.entry((role, reason)).or_insert_with(|| FirstCell { line, text: beginning(cell) });
}

/// The unit of a column: from the plant file, from its name or from the units row, which must not
/// contradict each other.
fn unit_of(
    file: &Arc<str>,
    plant: &Plant,
    header: &Header,
    role: Role,
    column: usize,
    units: &[String],
) -> Result<AnyUnit, Error> {
    let name = header.names.get(column).map_or("", String::as_str);
    let binding = plant.columns.roles.get(&role);
    let stated = binding
        .and_then(|binding| binding.unit.as_deref())
        .and_then(|word| AnyUnit::from_word(role, word));
    // A unit in brackets is a unit whatever the role; `C` at the end of a name may be a letter.
    let in_name = unit_in_name(name).filter(|hint| hint.bracketed || fits(role, hint.unit));
    let in_name = in_name.map(|hint| hint.unit);
    let in_row =
        units.get(column).and_then(|word| unit_word(role, word).or_else(|| any_unit(word)));
    let mut said = [(stated, Says::PlantFile), (in_name, Says::Header), (in_row, Says::UnitsRow)]
        .into_iter()
        .filter_map(|(unit, says)| Some((unit?, says)));
    let contradiction = |units: [(Says, &'static str); 2]| Error::UnitContradiction {
        file: file.to_string(),
        line: header.line,
        column: column + 1,
        name: name.to_owned(),
        role,
        units: Box::new(units),
    };
    let Some((unit, says)) = said.next() else {
        return Err(Error::NoUnit {
            file: file.to_string(),
            line: header.line,
            column: column + 1,
            name: name.to_owned(),
            need: format!("the {} (columns.{})", role.name(), role.key()),
            units: units_of(role),
        });
    };
    match said.find(|&(other, _)| other != unit) {
        Some((other, also)) => Err(contradiction([(says, unit.symbol()), (also, other.symbol())])),
        None if fits(role, unit) => Ok(unit),
        None => Err(Error::WrongUnit {
            file: file.to_string(),
            line: header.line,
            column: column + 1,
            name: name.to_owned(),
            unit: unit.symbol(),
            need: format!("the {} (columns.{})", role.name(), role.key()).into(),
            units: units_of(role),
        }),
    }
}

/// Words for units that are understood for a role.
fn units_of(role: Role) -> &'static str {
    match role.quantity() {
        Quantity::Temperature => "degF, degC, °F, °C",
        Quantity::Pressure => "psi, kPa, bar, mbar, MPa",
        Quantity::Flow | Quantity::State | Quantity::Text => "L/h, L/min, m3/h, gal/min, gal/h",
    }
}

fn fits(role: Role, unit: AnyUnit) -> bool {
    matches!(
        (role.quantity(), unit),
        (Quantity::Temperature, AnyUnit::Temperature(_))
            | (Quantity::Pressure, AnyUnit::Pressure(_))
            | (Quantity::Flow, AnyUnit::Flow(_))
    )
}

/// What the names of columns were taken for.
fn by_name(header: &Header, columns: &Columns, units: &BTreeMap<Role, AnyUnit>) -> Vec<String> {
    let name = |column: usize| header.names.get(column).map_or("", String::as_str);
    let mut taken = Vec::new();
    if let Some(date) = columns.date {
        taken.push(format!("{:?} is the date", name(date)));
    }
    taken.push(format!("{:?} the time", name(columns.time)));
    let mut used: Vec<usize> = columns.date.into_iter().chain([columns.time]).collect();
    for (role, &column) in &columns.roles {
        let unit = units.get(role).map_or(String::new(), |unit| format!(" in {}", unit.symbol()));
        taken.push(format!("{:?} the {}{unit}", name(column), role.name()));
        used.push(column);
    }
    let mut said = vec![format!("Columns were recognised by their names: {}.", taken.join(", "))];
    match columns.single_switch {
        Some(Role::ValveForward) => said.push(
            "There is a forward position switch only: made was read as forward, not made as \
             unknown."
                .to_owned(),
        ),
        Some(_) => said.push(
            "There is a divert position switch only: made was read as divert, not made as forward."
                .to_owned(),
        ),
        None => {}
    }
    for (role, first, second) in &columns.unclear {
        said.push(format!(
            "{:?} and {:?} could both be the {}; neither is used, a plant file can say which.",
            name(*first),
            name(*second),
            role.name()
        ));
    }
    let unused: Vec<_> = (0..header.width)
        .filter(|column| !used.contains(column) && !name(*column).is_empty())
        .map(|column| format!("{:?}", name(column)))
        .collect();
    if !unused.is_empty() {
        said.push(format!("Columns not used: {}.", unused.join(", ")));
    }
    said
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn line_numbers_keep_only_the_breaks() {
        let mut lines = LineNumbers::default();
        for line in [4, 5, 6, 9, 10, 20] {
            lines.push(line);
        }
        assert_eq!(lines.breaks.len(), 3);
        let seen: Vec<_> = (0..6).map(|row| lines.of(row)).collect();
        assert_eq!(seen, [4, 5, 6, 9, 10, 20]);
    }
}
