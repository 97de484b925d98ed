//! The long form, one reading a row with the name of its channel beside it, made into one row for each
//! time with a column for each channel.
//!
//! Readings of the same stamp are one row, whatever stands between them: some systems write all
//! channels of a second together, others all of the day channel by channel. The n-th reading of a channel
//! at a stamp belongs to the n-th row of that stamp, so that the two passes of the autumn hour stay apart,
//! and two readings of a channel at one instant are two rows that are merged as any others. A channel that has
//! no reading at a stamp has a blank there: nothing is carried over.
//!
//! Where the rows have a quality, a reading whose quality is not good is none: its cell says the quality
//! instead. A row that has too few or too many cells makes its whole stamp doubtful: a row of blanks.

use crate::bounds::MOST_ROWS;
use crate::cells::{DELIMITERS, Splitter, unwrapped, write_cell};
use crate::error::Error;
use crate::header::{MOST_LINES, names};
use crate::input::text;
use crate::lines::Line;
use crate::recognise::time_places;
use plant::{LongForm, Plant};
use std::collections::HashMap;

/// Where the columns of a file in the long form stand.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct LongColumns {
    pub(crate) delimiter: u8,
    pub(crate) names: Vec<String>,
    pub(crate) date: Option<usize>,
    pub(crate) time: usize,
    pub(crate) tag: usize,
    pub(crate) value: usize,
    pub(crate) quality: Option<usize>,
    /// Whether a channel without a reading has not changed.
    pub(crate) are_changes: bool,
}

impl LongColumns {
    /// The columns by their names; `time` and `date` by their places.
    pub(crate) fn of(
        (names, delimiter): (&[String], u8),
        form: &LongForm,
        (date, time): (Option<usize>, usize),
    ) -> Option<Self> {
        let find = |wanted: &str| {
            let wanted = wanted.trim().to_lowercase();
            names.iter().position(|name| name.trim().to_lowercase() == wanted)
        };
        let quality = match &form.quality {
            Some(quality) => Some(find(quality)?),
            None => None,
        };
        let (tag, value) = (find(&form.tag)?, find(&form.value)?);
        let names = names.to_vec();
        let are_changes = false;
        Some(Self { delimiter, names, date, time, tag, value, quality, are_changes })
    }
}

/// Collects readings until the file ends.
#[derive(Debug)]
pub(crate) struct Pivot {
    columns: LongColumns,
    /// The line of the header.
    header_line: u64,
    /// The channels, in the order in which they come.
    tags: Vec<String>,
    places: HashMap<Vec<u8>, u32>,
    rows: Vec<Row>,
    /// The rows of each stamp.
    stamps: HashMap<Vec<u8>, Vec<u32>>,
    /// The cells of all rows, one behind the other.
    bytes: Vec<u8>,
    /// Of a channel with several readings at a stamp the number of those behind the first, by the stamp's
    /// first row and the channel.
    repeated: HashMap<(u32, u32), u32>,
    /// Whether there is more than is held; then no more is taken.
    is_full: bool,
}

/// No record has more channels (ours), …
const MOST_CHANNELS: usize = 1000;

/// … more rows times channels (ours: a month of seconds with 25 channels) …
const MOST_CELLS: usize = 1 << 26;

/// … or more bytes in its cells (ours).
const MOST_BYTES_OF_CELLS: usize = 1 << 30;

/// One time.
#[derive(Debug)]
struct Row {
    /// The line of its first reading.
    line: u64,
    stamp: Cell,
    date: Option<Cell>,
    /// Its readings, each with the place of its channel.
    cells: Vec<(u32, Cell)>,
}

/// A cell among the bytes.
#[derive(Debug, Clone, Copy)]
struct Cell {
    start: usize,
    length: u32,
}

impl Pivot {
    pub(crate) fn new(columns: LongColumns, header_line: u64) -> Self {
        Self {
            columns,
            header_line,
            tags: Vec::new(),
            places: HashMap::new(),
            rows: Vec::new(),
            stamps: HashMap::new(),
            bytes: Vec::new(),
            repeated: HashMap::new(),
            is_full: false,
        }
    }

    /// Whether there is more than is held.
    pub(crate) const fn is_full(&self) -> bool {
        self.is_full
    }

    /// The names of the columns that come of it: date and time, then the channels.
    pub(crate) fn names(&self) -> Vec<String> {
        let columns = &self.columns;
        let of = |place: usize| columns.names.get(place).cloned().unwrap_or_default();
        columns
            .date
            .map(of)
            .into_iter()
            .chain([of(columns.time)])
            .chain(self.tags.clone())
            .collect()
    }

    pub(crate) const fn delimiter(&self) -> u8 {
        self.columns.delimiter
    }

    pub(crate) const fn header_line(&self) -> u64 {
        self.header_line
    }

    /// Takes a row of the file.
    pub(crate) fn line(&mut self, line: Line<'_>, splitter: &mut Splitter) {
        if line.bytes.trim_ascii().is_empty() || self.is_full {
            return;
        }
        let LongColumns { delimiter, date, time, tag, value, quality, .. } = self.columns;
        let width = self.columns.names.len();
        let split = splitter.split(line.bytes, delimiter);
        let (cells, whole) = match split {
            Ok(cells) => (cells, cells.filled() <= width),
            Err(_unclosed) => (splitter.before_quote(), false),
        };
        let cell = |place: usize| unwrapped(cells.get(place).unwrap_or_default().trim_ascii());
        let needed = [Some(time), Some(tag), Some(value), date, quality];
        let whole = whole && needed.into_iter().flatten().all(|place| place < cells.len());
        // A line that the end of the file cuts may lack digits.
        let whole = whole && line.ended && !cell(tag).is_empty();
        let stamp = [date.map_or(&b""[..], cell), cell(time)];
        let reading = match quality.map(|quality| text(cell(quality)).into_owned()) {
            // Never a number, whatever stands there.
            Some(word) if !is_good(&word) => format!("quality {word:?}").into_bytes(),
            _ => cell(value).to_vec(),
        };
        let tag = text(cell(tag)).into_owned();
        let row = self.row(line.number, stamp, whole.then_some(tag.as_str()));
        if whole {
            let place = self.place(&tag);
            let cell = self.keep(&reading);
            if let Some(row) = self.rows.get_mut(row) {
                row.cells.push((place, cell));
            }
        }
        let (rows, channels) = (self.rows.len(), self.tags.len());
        self.is_full = channels > MOST_CHANNELS
            || rows > MOST_ROWS
            || rows * channels > MOST_CELLS
            || self.bytes.len() > MOST_BYTES_OF_CELLS;
    }

    /// The first row of a stamp in which a channel has no reading yet, which may be a new one. A row
    /// that can't be read is a row of its own, without readings.
    fn row(&mut self, line: u64, [date, time]: [&[u8]; 2], tag: Option<&str>) -> usize {
        let stamp = [date, b"\x1f", time].concat();
        if let Some(tag) = tag
            && !time.is_empty()
            && let Some(rows) = self.stamps.get(&stamp)
            && let Some(&first) = rows.first()
        {
            let Some(&place) = self.places.get(tag.as_bytes()) else { return first as usize };
            let is_known = self.repeated.contains_key(&(first, place));
            if !is_known && !self.has_reading(first, place) {
                return first as usize;
            }
            let before = self.repeated.entry((first, place)).or_default();
            *before += 1;
            if let Some(&row) = rows.get(*before as usize) {
                return row as usize;
            }
        }
        let date = self.columns.date.map(|_| self.keep(date));
        let time = self.keep(time);
        let row = self.rows.len();
        self.rows.push(Row { line, stamp: time, date, cells: Vec::new() });
        if tag.is_some() {
            self.stamps.entry(stamp).or_default().push(row as u32);
        }
        row
    }

    fn has_reading(&self, row: u32, place: u32) -> bool {
        let row = self.rows.get(row as usize);
        row.is_some_and(|row| row.cells.iter().any(|(other, _)| *other == place))
    }

    fn place(&mut self, tag: &str) -> u32 {
        if let Some(&place) = self.places.get(tag.as_bytes()) {
            return place;
        }
        let place = self.tags.len() as u32;
        self.tags.push(tag.to_owned());
        self.places.insert(tag.as_bytes().to_vec(), place);
        place
    }

    fn keep(&mut self, cell: &[u8]) -> Cell {
        let start = self.bytes.len();
        self.bytes.extend_from_slice(cell);
        Cell { start, length: cell.len() as u32 }
    }

    fn cell(&self, cell: Cell) -> &[u8] {
        self.bytes.get(cell.start..cell.start + cell.length as usize).unwrap_or_default()
    }

    /// Hands on the header and the rows, each with the line of its first reading.
    pub(crate) fn hand_on<E>(
        &self,
        mut each: impl FnMut(Line<'_>) -> Result<(), E>,
    ) -> Result<(), E> {
        let delimiter = self.columns.delimiter;
        let mut bytes = Vec::new();
        for name in self.names() {
            write_cell(&mut bytes, name.as_bytes(), delimiter);
        }
        each(Line { number: self.header_line, bytes: without_last(&bytes), ended: true })?;
        let mut cells: Vec<Option<Cell>> = vec![None; self.tags.len()];
        for row in &self.rows {
            cells.fill(None);
            for &(place, cell) in &row.cells {
                if let Some(slot) = cells.get_mut(place as usize) {
                    *slot = Some(cell);
                }
            }
            bytes.clear();
            for cell in row.date.into_iter().chain([row.stamp]) {
                write_cell(&mut bytes, self.cell(cell), delimiter);
            }
            // Blanks would say that nothing changed: the row gets too few cells instead.
            if self.columns.are_changes && row.cells.is_empty() {
                each(Line { number: row.line, bytes: without_last(&bytes), ended: true })?;
                continue;
            }
            for cell in &cells {
                write_cell(&mut bytes, cell.map_or(&[], |cell| self.cell(cell)), delimiter);
            }
            each(Line { number: row.line, bytes: without_last(&bytes), ended: true })?;
        }
        Ok(())
    }
}

fn without_last(bytes: &[u8]) -> &[u8] {
    bytes.split_last().map_or(bytes, |(_, rest)| rest)
}

/// Whether a quality says that a reading is good: the word, or a quality of OPC Data Access 3.0,
/// section 6.8, whose two upper bits are set (from 192 to 255; recalled from memory). `0` is bad
/// there and good elsewhere, and counts as bad.
fn is_good(quality: &str) -> bool {
    let word = quality.trim().to_lowercase();
    match word.parse::<u32>() {
        Ok(code) => (192..=255).contains(&code),
        Err(_word) => {
            let first = word.split(|one: char| !one.is_alphabetic()).next().unwrap_or_default();
            matches!(first, "good" | "ok" | "gut" | "bon" | "buena" | "bueno" | "buono" | "buona")
        }
    }
}

/// Looks for the header of a file in the long form, and collects what stands below it.
pub(crate) struct LongReader<'a> {
    form: &'a LongForm,
    plant: &'a Plant,
    looked_at: usize,
    pivot: Option<Pivot>,
    splitter: Splitter,
}

impl<'a> LongReader<'a> {
    /// For the files of a plant whose plant file says that they are in the long form.
    pub(crate) fn of(plant: &'a Plant) -> Option<Self> {
        let form = plant.form.long.as_ref()?;
        Some(Self { form, plant, looked_at: 0, pivot: None, splitter: Splitter::default() })
    }

    pub(crate) fn line(&mut self, line: Line<'_>) {
        if let Some(pivot) = &mut self.pivot {
            pivot.line(line, &mut self.splitter);
        } else if self.looked_at < MOST_LINES {
            self.looked_at += 1;
            self.pivot = DELIMITERS.into_iter().find_map(|delimiter| {
                let names = names(&mut self.splitter, line.bytes, delimiter)?;
                let stamp = time_places(&names, self.plant)?;
                let columns = LongColumns::of((&names, delimiter), self.form, stamp)?;
                let are_changes = self.plant.form.on_change.is_some();
                let columns = LongColumns { are_changes, ..columns };
                Some(Pivot::new(columns, line.number))
            });
        }
    }

    /// Hands on a row for each time.
    pub(crate) fn finish(
        self,
        file: &str,
        each: impl FnMut(Line<'_>) -> Result<(), Error>,
    ) -> Result<(), Error> {
        let pivot = self.pivot.ok_or_else(|| Error::NotLongForm {
            file: file.to_owned(),
            tag: self.form.tag.clone(),
            value: self.form.value.clone(),
        })?;
        if pivot.is_full() {
            return Err(Error::TooManyReadings { file: file.to_owned() });
        }
        pivot.hand_on(each)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pivot(file: &str, quality: bool) -> Vec<String> {
        let mut lines = file.lines();
        let names: Vec<String> =
            lines.next().unwrap_or_default().split(',').map(ToOwned::to_owned).collect();
        let form = LongForm {
            tag: "tag".to_owned(),
            value: "Value".to_owned(),
            quality: quality.then(|| "Quality".to_owned()),
        };
        let Some(columns) = LongColumns::of((&names, b','), &form, (None, 0)) else {
            panic!("{names:?}")
        };
        let mut pivot = Pivot::new(columns, 1);
        let mut splitter = Splitter::default();
        for (number, line) in lines.enumerate() {
            let line = Line { number: number as u64 + 2, bytes: line.as_bytes(), ended: true };
            pivot.line(line, &mut splitter);
        }
        let mut rows = Vec::new();
        let done: Result<(), ()> = pivot.hand_on(|line| {
            rows.push(format!("{}: {}", line.number, String::from_utf8_lossy(line.bytes)));
            Ok(())
        });
        assert!(done.is_ok());
        rows
    }

    #[test]
    fn readings_of_a_stamp_are_a_row_however_they_are_ordered() {
        let by_time = "Time,Tag,Value\n1,T,160\n1,P,5\n2,T,161\n2,P,6\n";
        assert_eq!(pivot(by_time, false), ["1: Time,T,P", "2: 1,160,5", "4: 2,161,6"]);
        let by_channel = "Time,Tag,Value\n1,T,160\n2,T,161\n1,P,5\n2,P,6\n";
        assert_eq!(pivot(by_channel, false), ["1: Time,T,P", "2: 1,160,5", "3: 2,161,6"]);
    }

    #[test]
    fn nothing_is_carried_over_and_nothing_is_lost() {
        // A channel without a reading, a stamp that comes twice, a row with too few cells.
        let file = "Time,Tag,Value\n1,T,160\n2,T,161\n2,P,6\n1,T,159\n1,P,5\n1,P,4\n2,P\n";
        assert_eq!(
            pivot(file, false),
            ["1: Time,T,P", "2: 1,160,5", "3: 2,161,6", "5: 1,159,4", "8: 2,,"]
        );
    }

    /// The readings of one time are counted, and not looked through for each of them.
    #[test]
    fn many_readings_of_a_channel_at_one_time_are_a_row_each() {
        let file = format!("Time,Tag,Value\n{}1,P,7\n", "1,T,160\n".repeat(50_000));
        let rows = pivot(&file, false);
        assert_eq!((rows.len(), rows[1].as_str()), (50_001, "2: 1,160,7"));
    }

    #[test]
    fn a_reading_that_is_not_good_is_none() {
        let file =
            "Time,Tag,Value,Quality\n1,T,160,Good\n1,P,5,Bad\n2,T,161,192\n2,P,6,0\n3,T,1,\n";
        assert_eq!(
            pivot(file, true),
            [
                "1: Time,T,P",
                "2: 1,160,\"quality \"\"Bad\"\"\"",
                "4: 2,161,\"quality \"\"0\"\"\"",
                "6: 3,\"quality \"\"\"\"\","
            ]
        );
    }

    const PLANT: &str = "schema = 1\nplant = \"Example Dairy (invented)\"\nunit = \"U\"\nzone = \"UTC\"\n\
         FORM[columns]\ntime = \"Time\"\nvalve = { column = \"FDV\" }\n\
         holding_temperature = { column = \"TT1\", unit = \"degF\" }\n\
         differential_pressure = { column = \"PD1\", unit = \"psi\" }\n";
    const FORM: &str = "[files.long]\ntag = \"Tag\"\nvalue = \"Value\"\nquality = \"Quality\"\n";

    fn read(file: &str, plant: &str) -> Result<crate::Ingested, String> {
        let plant = Plant::parse("p", plant).map_err(|error| error.to_string())?;
        let bytes = file.as_bytes().to_vec();
        let input = crate::Input::Bytes { name: "f.csv".to_owned(), bytes };
        crate::read(&[input], &plant, &crate::Progress::default())
            .map_err(|error| error.to_string())
    }

    /// Ten rows in both forms; in the long one by time, or channel by channel.
    fn both(by_channel: bool) -> (String, String) {
        let mut wide = "Time,FDV,TT1,PD1\n".to_owned();
        let mut readings = Vec::new();
        for second in 0..10 {
            let stamp = format!("2026-11-24 04:00:0{second}");
            let cells = [
                ("FDV", if second < 4 { "DIV" } else { "FWD" }.to_owned()),
                ("TT1", format!("16{}.{second}", second % 4)),
                ("PD1", format!("{second}.5")),
            ];
            let words: Vec<&str> = cells.iter().map(|(_, cell)| cell.as_str()).collect();
            wide = format!("{wide}{stamp},{}\n", words.join(","));
            for (tag, cell) in cells {
                readings.push((tag, format!("{stamp},{tag},{cell},Good\n")));
            }
        }
        if by_channel {
            readings.sort_by_key(|(tag, _)| *tag);
        }
        let readings: String = readings.into_iter().map(|(_, line)| line).collect();
        (wide, format!("Time,Tag,Value,Quality\n{readings}"))
    }

    #[test]
    fn both_forms_are_the_same_record() {
        for by_channel in [false, true] {
            let (wide, long) = both(by_channel);
            let wide = read(&wide, &PLANT.replace("FORM", ""));
            let long = read(&long, &PLANT.replace("FORM", FORM));
            let (Ok(wide), Ok(long)) = (wide, long) else { panic!("{by_channel}") };
            assert_eq!(wide.record.instants(), long.record.instants());
            assert_eq!(wide.record.valve(), long.record.valve());
            let same = wide.record.holding_temperature() == long.record.holding_temperature();
            assert!(same && wide.record.differential() == long.record.differential());
            assert!(long.observations.is_empty(), "{:?}", long.observations);
        }
    }

    /// A quality of `0` is no reading of 0, and a reading without its quality is none.
    #[test]
    fn doubtful_readings_of_the_long_form_are_invalid() {
        for (from, to) in [
            ("04:00:05,TT1,161.5,Good", "04:00:05,TT1,161.5,0"),
            ("04:00:05,TT1,161.5,Good", "04:00:05,TT1,161.5,"),
            ("04:00:05,TT1,161.5,Good", "04:00:05,TT1,161.5,Uncertain"),
            ("04:00:05,TT1,161.5,Good", "04:00:05,TT1"),
            ("2026-11-24 04:00:05,TT1,161.5,Good\n", ""),
        ] {
            let (_, long) = both(false);
            assert!(long.contains(from), "{from}");
            let plant = PLANT.replace("FORM", FORM);
            let read =
                read(&long.replace(from, to), &plant).unwrap_or_else(|error| panic!("{error}"));
            let reading = read.record.holding_temperature().reading(5);
            assert!(reading.valid().is_none(), "{to}: {reading:?}");
            assert!(!read.observations.is_empty(), "{to} is told");
        }
    }

    /// `21.0` may be all that was written of `21.05`, and `2` of `21.0`.
    #[test]
    fn the_last_line_without_its_end_vouches_for_nothing() {
        let (_, long) = both(false);
        let plant = PLANT.replace("FORM", FORM);
        let last = |text: &str| {
            let read = read(text, &plant).unwrap_or_else(|error| panic!("{error}"));
            read.record.holding_temperature().reading(9).valid().is_some()
        };
        assert!(last(&long));
        assert!(!last(long.trim_end()));
    }

    #[test]
    fn a_file_in_another_form_is_told() {
        let (wide, long) = both(false);
        let error = read(&wide, &PLANT.replace("FORM", FORM)).err().unwrap_or_default();
        assert!(error.contains("[files.long]"), "{error}");
        let error = read(&long, &PLANT.replace("FORM", "")).err().unwrap_or_default();
        assert!(error.contains("name the two under [files.long]"), "{error}");
    }

    #[test]
    fn the_long_form_is_known_at_first_sight() {
        let (_, long) = both(true);
        let input = crate::Input::Bytes { name: "f.csv".to_owned(), bytes: long.into_bytes() };
        let sheet = crate::sheet::Sheet::read(&input, &crate::Progress::default());
        let sheet = sheet.unwrap_or_else(|error| panic!("{error}"));
        let names: Vec<&str> = sheet.columns.iter().map(|column| column.name.as_str()).collect();
        assert_eq!(names, ["Time", "FDV", "PD1", "TT1"]);
        assert_eq!(sheet.rows, 10);
        let quality = sheet.long.and_then(|form| form.quality);
        assert_eq!(quality.as_deref(), Some("Quality"));
    }
}
