//! Rows that hold nothing out of the ordinary, read straight from the text.
//!
//! Nearly every row of a file looks like the one before: the same date, a time of two digits each, plain
//! digits, words that were seen. Such a row is read here from its first byte to its last in one pass,
//! without being cut into cells first. At the first byte that is anything else (a quote, a new date or
//! word, a reading out of range, another number of cells) nothing of the row is kept, and it goes the way of
//! all others through [`Body::row`]. So nothing is decided here, and what is read here must be what
//! would be read there: a property in `tests/reading/plain.rs` and a fuzz target hold it to that.

use crate::body::{Body, ValveColumns};
use crate::bounds::MOST_ROWS;
use crate::cells::is_plain;
use crate::lines::LONGEST_LINE;
use crate::stamp::{Stamp, Stated, Written};
use crate::store::{NUMBERS, SWITCHES, Store};
use crate::words::Words;
use plant::Plant;
use trace::{DecimalMark, Invalid, ValveState, power_of_ten};

/// What a column is to a row.
#[derive(Debug, Clone, Copy)]
enum Cell {
    Unused,
    /// Date and time.
    Stamp,
    Date,
    Time,
    /// By its place in [`Body::numbers`].
    Number(usize),
    Valve,
    Forward,
    Divert,
    /// By its place in [`SWITCHES`].
    Switch(usize),
    /// By its place in [`Body::texts`].
    Text(usize),
}

/// The columns of a file, in order.
#[derive(Debug)]
pub(crate) struct Columns {
    cells: Vec<Cell>,
    /// How often in a row no row was plain.
    in_vain: u32,
}

/// Where so many attempts in a row were in vain, only one line in so many is tried: some files have quotes in
/// every row.
const MOST_IN_VAIN: u32 = 32;

impl Columns {
    /// `None` for files whose rows are not read here: stamps of more cells, days by number, a channel that
    /// holds until it changes, two channels in one column.
    pub(crate) fn of(body: &Body, plant: &Plant) -> Option<Self> {
        let columns = &body.columns;
        let form = &plant.form;
        if columns.stamp.is_some()
            || form.on_change.is_some()
            || form.day_numbers.is_some()
            || form.times.is_some()
        {
            return None;
        }
        let mut cells = vec![Cell::Unused; body.header.width];
        let mut put = |column: usize, what: Cell| {
            let cell = cells.get_mut(column).filter(|cell| matches!(cell, Cell::Unused))?;
            *cell = what;
            Some(())
        };
        match columns.date {
            None => put(columns.time, Cell::Stamp)?,
            Some(date) => {
                put(date, Cell::Date)?;
                put(columns.time, Cell::Time)?;
            }
        }
        for (place, number) in body.numbers.iter().enumerate() {
            put(number.column, Cell::Number(place))?;
        }
        match body.valve {
            ValveColumns::Words { column, .. } => put(column, Cell::Valve)?,
            ValveColumns::Switches { forward, divert } => {
                put(forward, Cell::Forward)?;
                put(divert, Cell::Divert)?;
            }
            ValveColumns::Elsewhere => {}
        }
        for (place, switch) in body.switches.iter().enumerate() {
            if let Some((column, _)) = switch {
                put(*column, Cell::Switch(place))?;
            }
        }
        for (place, text) in body.texts.iter().enumerate() {
            put(text.column, Cell::Text(place))?;
        }
        Some(Self { cells, in_vain: 0 })
    }
}

/// How the readings of a column are written, as far as the rows before tell.
#[derive(Debug, Clone, Copy, Default)]
struct Numbers {
    slot: usize,
    /// The most digits behind the mark.
    scale: u8,
    /// The decimal mark; `None` where it may still part thousands.
    mark: Option<u8>,
    least: i64,
    greatest: i64,
    /// Whether a blank cell is nothing new.
    blank: bool,
}

/// What one row says.
struct Row {
    stamp: Option<Stamp>,
    /// The readings, by the places of [`Body::numbers`]; `None` for a blank cell.
    numbers: [Option<i64>; NUMBERS.len()],
    /// The places of the words of the valve, or of its two switches.
    valve: [usize; 2],
    switches: [usize; SWITCHES.len()],
}

/// A place in the text.
#[derive(Clone, Copy)]
struct Cursor<'a> {
    rest: &'a [u8],
    delimiter: u8,
}

impl<'a> Cursor<'a> {
    /// The text behind the end of a cell; `None` when the cell does not end here.
    #[inline]
    fn behind_cell(self, is_last: bool) -> Option<Self> {
        let rest = match self.rest {
            [byte, rest @ ..] if !is_last && *byte == self.delimiter => rest,
            [b'\n', rest @ ..] | [b'\r', b'\n', rest @ ..] if is_last => rest,
            _ => return None,
        };
        Some(Self { rest, ..self })
    }

    /// Whether the delimiter, a line end or another control character is next.
    #[inline]
    fn may_end(self) -> bool {
        self.rest.first().is_some_and(|&byte| byte == self.delimiter || byte < b' ')
    }

    #[inline]
    fn behind(self, bytes: &[u8]) -> Option<Self> {
        Some(Self { rest: self.rest.strip_prefix(bytes)?, ..self })
    }

    /// The cell that begins here, and the text at its end, or at a quote in it, where no cell ends.
    #[inline]
    fn cell(self) -> Option<(&'a [u8], Self)> {
        let ends = |&byte: &u8| byte == self.delimiter || matches!(byte, b'\n' | b'\r' | b'"');
        let (cell, rest) = self.rest.split_at(self.rest.iter().position(ends)?);
        Some((cell, Self { rest, ..self }))
    }

    /// `hh:mm:ss` in milliseconds.
    #[inline]
    fn clock(self) -> Option<(u32, Self)> {
        let (text, rest) = self.rest.split_first_chunk::<8>()?;
        let [h, hh, b':', m, mm, b':', s, ss] = *text else { return None };
        let two = |tens: u8, ones: u8| {
            let (tens, ones) = (tens.wrapping_sub(b'0'), ones.wrapping_sub(b'0'));
            (tens < 10 && ones < 10).then_some(u32::from(tens) * 10 + u32::from(ones))
        };
        let (hour, minute, second) = (two(h, hh)?, two(m, mm)?, two(s, ss)?);
        (hour < 24 && minute < 60 && second < 60)
            .then_some(((hour * 3600 + minute * 60 + second) * 1000, Self { rest, ..self }))
    }

    /// Digits with at most one mark, as an integer at `scale`.
    #[inline]
    fn number(self, mark: Option<u8>, scale: u8) -> Option<(i64, Self)> {
        let (negative, digits) = match self.rest {
            [b'-', rest @ ..] => (true, rest),
            rest => (false, rest),
        };
        // More digits than fit are refused below, so what they wrap to does not matter.
        let take = |mut mantissa: i64, mut at: usize| {
            while let Some(digit) = digits.get(at).map(|byte| byte.wrapping_sub(b'0'))
                && digit < 10
            {
                mantissa = mantissa.wrapping_mul(10).wrapping_add(i64::from(digit));
                at += 1;
            }
            (mantissa, at)
        };
        let (mut mantissa, mut at) = take(0, 0);
        let (mut figures, mut behind) = (at, 0);
        if mark.is_some() && digits.get(at).copied() == mark {
            let from = at + 1;
            (mantissa, at) = take(mantissa, from);
            behind = at - from;
            figures += behind;
        }
        let missing = usize::from(scale).checked_sub(behind)?;
        if figures == 0 || figures + missing > 18 {
            return None;
        }
        if missing > 0 {
            mantissa *= power_of_ten(missing as u8);
        }
        let mantissa = if negative { -mantissa } else { mantissa };
        Some((mantissa, Self { rest: digits.get(at..)?, ..self }))
    }

    /// The place of the word of the cell that begins here, where it was seen before.
    #[inline]
    fn word<T: Copy>(self, words: &Words<T>) -> Option<(usize, Self)> {
        if let Some((place, word)) = words.last()
            && let Some(behind) = self.behind(word)
            && behind.may_end()
        {
            return Some((place, behind));
        }
        let (cell, behind) = self.cell()?;
        Some((words.place(cell.trim_ascii())?, behind))
    }

    #[inline]
    fn skip_blanks(self) -> Self {
        let mut rest = self.rest;
        while let [b' ', more @ ..] = rest {
            rest = more;
        }
        Self { rest, ..self }
    }
}

impl Columns {
    /// Takes as many of the rows at the beginning of `text` as are plain, of which the first is line `line`:
    /// how many bytes and lines they are.
    pub(crate) fn rows(
        &mut self,
        body: &mut Body,
        text: &[u8],
        line: u64,
        store: &mut Store,
    ) -> (usize, u64) {
        let is_tried = self.in_vain < MOST_IN_VAIN || line.is_multiple_of(u64::from(MOST_IN_VAIN));
        let taken = if is_tried { body.take_plain_rows(self, text, line, store) } else { None };
        let taken = taken.unwrap_or_default();
        self.in_vain = if taken.1 == 0 { self.in_vain.saturating_add(1) } else { 0 };
        taken
    }
}

impl Body {
    fn take_plain_rows(
        &mut self,
        columns: &Columns,
        text: &[u8],
        first_line: u64,
        store: &mut Store,
    ) -> Option<(usize, u64)> {
        let delimiter = self.header.delimiter;
        let cells = columns.cells.get(..self.width)?;
        let mark = match self.mark.known()? {
            DecimalMark::Dot => b'.',
            DecimalMark::Comma => b',',
        };
        let prefix = self.stamps.prefix().filter(|prefix| is_plain(prefix))?.to_vec();
        if self.open.is_some()
            || store.unchanged.is_some()
            || mark == delimiter
            || text.len() > LONGEST_LINE
        {
            return None;
        }
        let mut numbers = [Numbers::default(); NUMBERS.len()];
        for (here, number) in numbers.iter_mut().zip(&self.numbers) {
            let channel = store.numbers.get(number.slot)?.as_ref()?;
            let scale = channel.view().scale();
            let mark = number.thousands.is_settled().then_some(mark);
            let (least, greatest) = channel.bounds();
            let blank = self.unusable.contains_key(&(number.role, Invalid::Blank));
            *here = Numbers { slot: number.slot, scale, mark, least, greatest, blank };
        }
        let mut cursor = Cursor { rest: text, delimiter };
        let mut lines = 0;
        let last = cells.len().checked_sub(1)?;
        // Each row writes all of it anew, but for the readings of columns that are not there.
        let mut row = Row {
            stamp: None,
            numbers: [None; NUMBERS.len()],
            valve: [0; 2],
            switches: [0; SWITCHES.len()],
        };
        while store.rows() < MOST_ROWS {
            row.stamp = None;
            let mut next = Some(cursor);
            for (column, &cell) in cells.iter().enumerate() {
                let Some(here) = next else { break };
                next = self
                    .plain_cell(here, cell, &mut row, (&numbers, &prefix))
                    .and_then(|here| here.behind_cell(column == last));
            }
            let Some(next) = next else { break };
            if !self.keep_plain_row(&row, first_line + lines, &numbers, store) {
                break;
            }
            lines += 1;
            cursor = next;
        }
        self.lines.push_all(first_line, lines as usize);
        self.stamped += lines as usize;
        Some((text.len() - cursor.rest.len(), lines))
    }

    /// Reads the cell that begins here; the place of its end.
    #[inline]
    fn plain_cell<'a>(
        &mut self,
        here: Cursor<'a>,
        cell: Cell,
        row: &mut Row,
        (numbers, prefix): (&[Numbers; NUMBERS.len()], &[u8]),
    ) -> Option<Cursor<'a>> {
        match cell {
            Cell::Unused => here.cell().map(|(_, behind)| behind),
            Cell::Stamp => self.plain_time(here.behind(prefix)?, row),
            Cell::Time => self.plain_time(here, row),
            Cell::Date => here.behind(prefix),
            Cell::Number(place) => {
                let number = numbers.get(place)?;
                let here = here.skip_blanks();
                let reading = row.numbers.get_mut(place)?;
                let Some((mantissa, behind)) = here.number(number.mark, number.scale) else {
                    *reading = None;
                    let is_blank = number.blank && here.cell()?.0.is_empty();
                    return is_blank.then_some(here);
                };
                *reading = Some(mantissa);
                let is_in_range = (number.least..=number.greatest).contains(&mantissa);
                is_in_range.then(|| behind.skip_blanks())
            }
            Cell::Valve => {
                let (place, behind) = here.word(&self.valve_words)?;
                row.valve[0] = place;
                Some(behind)
            }
            Cell::Forward => {
                let (place, behind) = here.word(&self.forward_words)?;
                row.valve[0] = place;
                Some(behind)
            }
            Cell::Divert => {
                let (place, behind) = here.word(&self.divert_words)?;
                row.valve[1] = place;
                Some(behind)
            }
            Cell::Switch(at) => {
                let (_, words) = self.switches.get(at)?.as_ref()?;
                let (place, behind) = here.word(words)?;
                *row.switches.get_mut(at)? = place;
                Some(behind)
            }
            Cell::Text(place) => {
                let text = self.texts.get(place)?;
                if text.is_plain { here.behind(&text.bytes) } else { None }
            }
        }
    }

    /// The time of a row whose date is that of the row before.
    #[inline]
    fn plain_time<'a>(&mut self, here: Cursor<'a>, row: &mut Row) -> Option<Cursor<'a>> {
        if let Some((milliseconds, behind)) = here.clock()
            && behind.may_end()
        {
            row.stamp = Some(self.stamps.at(milliseconds));
            return Some(behind);
        }
        let (cell, behind) = here.cell()?;
        let stamp = self.stamps.again(cell.trim_ascii_end())?;
        row.stamp = Some(stamp);
        Some(behind)
    }

    /// Adds a row of which everything was understood; `false`, and nothing added, where two switches are
    /// made at once.
    #[inline]
    fn keep_plain_row(
        &mut self,
        row: &Row,
        line: u64,
        numbers: &[Numbers; NUMBERS.len()],
        store: &mut Store,
    ) -> bool {
        let at = (store.rows(), line);
        let Some(stamp) = row.stamp else { return false };
        let valve = match self.valve {
            ValveColumns::Words { .. } => {
                let [place, _] = row.valve;
                self.valve_words.again(place, at).unwrap_or(ValveState::Unknown)
            }
            ValveColumns::Switches { .. } => {
                let [forward, divert] = row.valve;
                let made = |words: &Words<bool>, place| words.meaning(place);
                let states = [made(&self.forward_words, forward), made(&self.divert_words, divert)];
                if states == [Some(true); 2] {
                    return false;
                }
                self.forward_words.again(forward, at);
                self.divert_words.again(divert, at);
                ValveState::from_switches(states[0], states[1])
            }
            ValveColumns::Elsewhere => ValveState::Unknown,
        };
        self.local =
            self.local || matches!(stamp.written(), Written::Local { zone: Stated::Nothing, .. });
        store.stamps.push(stamp);
        store.valve.push(valve);
        for ((number, &mantissa), _) in numbers.iter().zip(&row.numbers).zip(&self.numbers) {
            if let Some(Some(channel)) = store.numbers.get_mut(number.slot) {
                channel.push_mantissa(mantissa);
            }
        }
        let switches = self.switches.iter_mut().zip(&mut store.switches).zip(row.switches);
        for ((read, states), place) in switches {
            if let (Some((_, words)), Some(states)) = (read, states) {
                states.push(words.again(place, at));
            }
        }
        for text in &self.texts {
            if let Some(Some(channel)) = store.texts.get_mut(text.slot) {
                channel.push_again();
            }
        }
        true
    }
}
