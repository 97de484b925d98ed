//! Text that lies in something else: a gzip file, a ZIP archive of one file, a sheet of a workbook
//! (Office Open XML, ECMA-376, or OpenDocument), a table in a Parquet file.
//!
//! What is taken out is text like that of a logger: a sheet becomes lines of tabs, one for each of its
//! rows, so that the line of a message is the row of the sheet. Its numbers and stamps are read as they
//! are stored, whatever their cells show. Everything is bounded: a small file can hold more than any
//! machine.

use crate::bounds::{SHEET_COLUMNS, SHEET_ROWS};
use crate::cells::{end_sheet_row, write_cell};
use crate::error::Error;
use crate::ods::{self, SheetText};
use crate::parquet;
use crate::progress::Progress;
use crate::thousands::may_be_thousands;
use calamine::{Data, DataRef, ExcelDateTime, Reader as _, SheetType, SheetVisible, Xlsx};
use flate2::read::MultiGzDecoder;
use std::borrow::Cow;
use std::io::{Cursor, Read, Seek, SeekFrom};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;

/// No more is taken out of one file (ours): twenty times the longest week of a logger that is known.
pub(crate) const MOST_UNPACKED: u64 = 4 << 30;

/// No larger archive or workbook is read (ours): it must be held as a whole.
const MOST_PACKED: u64 = 256 << 20;

/// No workbook that takes more than this unpacked is read (ours): its texts are held as a whole.
const MOST_WORKBOOK: u64 = 1 << 30;

/// So many sheets are named in a message.
const MOST_SHEETS: usize = 9;

/// How a file begins that holds text in something else.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Container {
    /// RFC 1952.
    Gzip,
    /// APPNOTE 6.3; workbooks are archives too.
    Zip,
    /// Apache Parquet.
    Parquet,
}

impl Container {
    /// What the first bytes of a file say.
    pub(crate) fn of(head: &[u8]) -> Option<Self> {
        if head.starts_with(b"\x1f\x8b") {
            Some(Self::Gzip)
        } else if head.starts_with(parquet::MAGIC) {
            Some(Self::Parquet)
        } else {
            head.starts_with(b"PK\x03\x04").then_some(Self::Zip)
        }
    }
}

/// What was in a container.
pub(crate) struct Opened<'a> {
    pub(crate) text: Box<dyn Read + 'a>,
    /// Whether it was a workbook, and none of its numbers stands there as a text that may group thousands.
    pub(crate) numbers_are_stored: bool,
}

/// The text that a file holds, to be read.
pub(crate) fn open<'a>(
    container: Container,
    source: impl Read + 'a,
    name: &str,
    sheet: Option<&str>,
    progress: &Progress,
) -> Result<Opened<'a>, Error> {
    let opened = match container {
        Container::Gzip => {
            let source = Bounded { source: MultiGzDecoder::new(source), left: MOST_UNPACKED };
            return Ok(Opened { text: Box::new(source), numbers_are_stored: false });
        }
        Container::Zip => whole(source, name).and_then(|bytes| {
            archive(Watched { source: Cursor::new(bytes), progress }, name, sheet)
        }),
        Container::Parquet => whole(source, name).and_then(|bytes| {
            parquet::text(&bytes, MOST_WORKBOOK, progress)
                .map_err(|why| Error::Parquet { file: name.to_owned(), why })
        }),
    };
    // What was not read to its end is not told as a fault of the file.
    if progress.is_cancelled() {
        return Err(Error::Cancelled);
    }
    let SheetText { text, numbers_are_stored } = opened?;
    Ok(Opened { text: Box::new(Cursor::new(text)), numbers_are_stored })
}

/// All bytes of a file that must be held as a whole.
fn whole(source: impl Read, name: &str) -> Result<Vec<u8>, Error> {
    let mut bytes = Vec::new();
    let read = source.take(MOST_PACKED + 1).read_to_end(&mut bytes);
    read.map_err(|cause| Error::Read { file: name.to_owned(), cause: Arc::new(cause) })?;
    if bytes.len() as u64 > MOST_PACKED {
        return Err(packed(name, format!("is larger than {} MiB", MOST_PACKED >> 20)));
    }
    Ok(bytes)
}

/// A container whose content can't be read.
pub(crate) fn broken(name: &str, cause: &std::io::Error) -> Error {
    packed(name, format!("can't be unpacked ({cause})"))
}

fn packed(name: &str, why: impl Into<String>) -> Error {
    Error::Packed { file: name.to_owned(), why: why.into() }
}

/// Reads no more than a number of bytes; more is an error and not an end.
struct Bounded<R> {
    source: R,
    left: u64,
}

impl<R: Read> Read for Bounded<R> {
    fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
        let read = self.source.read(buffer)?;
        self.left = self.left.checked_sub(read as u64).ok_or_else(|| {
            std::io::Error::other(
                "it holds more than is taken out of a file (docs/file-formats.md)",
            )
        })?;
        Ok(read)
    }
}

/// A file that is read no further once somebody has asked to stop.
struct Watched<'p, R> {
    source: R,
    progress: &'p Progress,
}

impl<R: Read> Read for Watched<'_, R> {
    fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
        if self.progress.is_cancelled() {
            return Err(std::io::Error::other("it is not read to its end"));
        }
        self.source.read(buffer)
    }
}

impl<R: Seek> Seek for Watched<'_, R> {
    fn seek(&mut self, to: SeekFrom) -> std::io::Result<u64> {
        self.source.seek(to)
    }
}

/// An archive in memory.
type Packed<'p> = Watched<'p, Cursor<Vec<u8>>>;

/// The text of an archive: of its one file, or of a sheet if it is a workbook.
fn archive(bytes: Packed<'_>, name: &str, sheet: Option<&str>) -> Result<SheetText, Error> {
    let progress = bytes.progress;
    let not_zip = |cause: zip::result::ZipError| broken(name, &cause.into());
    let mut archive = zip::ZipArchive::new(bytes).map_err(not_zip)?;
    let names = archive.file_names().map(|name| name.map(Cow::into_owned));
    let names: Vec<String> = names.collect::<Result<_, _>>().map_err(not_zip)?;
    let has = |part: &str| names.iter().any(|name| name == part);
    let is_open_document = has("content.xml") && has("META-INF/manifest.xml");
    if has("xl/workbook.xml") || is_open_document {
        // How large the parts say that they are is not believed.
        let mut all = 0;
        for part in 0..archive.len() {
            let entry = archive.by_index(part).map_err(not_zip)?;
            let size =
                std::io::copy(&mut entry.take(MOST_WORKBOOK + 1 - all), &mut std::io::sink());
            all += size.map_err(|cause| broken(name, &cause))?;
            if all > MOST_WORKBOOK {
                return Err(packed(name, "is a workbook of more than 1 GiB unpacked"));
            }
        }
        if !is_open_document {
            // Who reads workbooks for us reckons with the name of a cell before it looks how long it is.
            let book = AssertUnwindSafe(archive.into_inner());
            return catch_unwind(|| workbook({ book }.0, name, sheet)).unwrap_or_else(|_panic| {
                let why = "is a workbook that can't be read (a cell has a name that no cell has)";
                Err(packed(name, why))
            });
        }
        let mut content = Vec::new();
        let entry = archive.by_name("content.xml").map_err(not_zip)?;
        let read = entry.take(MOST_WORKBOOK).read_to_end(&mut content);
        read.map_err(|cause| broken(name, &cause))?;
        let not_book =
            |cause: String| packed(name, format!("is a workbook that can't be read ({cause})"));
        let content = String::from_utf8(content).map_err(|cause| not_book(cause.to_string()))?;
        let sheets = ods::sheets(&content).map_err(not_book)?;
        let chosen = chosen(&sheets, sheet, name)?;
        return ods::sheet_text(&content, &chosen, MOST_WORKBOOK, progress).map_err(not_book);
    }
    let is_file = |one: &&String| !one.ends_with('/') && !one.starts_with("__MACOSX/");
    let files: Vec<&String> = names.iter().filter(is_file).collect();
    let [only] = files.as_slice() else {
        let some: Vec<&str> = files.iter().take(5).map(|name| name.as_str()).collect();
        let why = match some.as_slice() {
            [] => "is an archive without a file".to_owned(),
            some => format!("is an archive of several files ({})", some.join(", ")),
        };
        return Err(packed(name, why));
    };
    let mut text = Vec::new();
    let entry = archive.by_name(only).map_err(not_zip)?;
    Bounded { source: entry, left: MOST_WORKBOOK }
        .read_to_end(&mut text)
        .map_err(|cause| broken(name, &cause))?;
    Ok(SheetText { text, numbers_are_stored: false })
}

/// The sheet that is meant.
fn chosen(sheets: &[String], wanted: Option<&str>, name: &str) -> Result<String, Error> {
    match (wanted, sheets) {
        (Some(wanted), all) if all.iter().any(|sheet| sheet == wanted) => Ok(wanted.to_owned()),
        (None, [only]) => Ok(only.clone()),
        (_, all) => {
            let sheets = all.iter().take(MOST_SHEETS).cloned().collect();
            Err(Error::WhichSheet { file: name.to_owned(), sheets })
        }
    }
}

/// A sheet of a workbook as lines of tabs.
fn workbook(bytes: Packed<'_>, name: &str, wanted: Option<&str>) -> Result<SheetText, Error> {
    let not_book = |cause: calamine::XlsxError| {
        packed(name, format!("is a workbook that can't be read ({cause})"))
    };
    let mut book: Xlsx<_> = Xlsx::new(bytes).map_err(not_book)?;
    let is_shown = |sheet: &&calamine::Sheet| {
        sheet.typ == SheetType::WorkSheet && sheet.visible == SheetVisible::Visible
    };
    let sheets: Vec<String> =
        book.sheets_metadata().iter().filter(is_shown).map(|sheet| sheet.name.clone()).collect();
    let chosen = chosen(&sheets, wanted, name)?;
    let mut reader = book.worksheet_cells_reader(&chosen).map_err(not_book)?;
    let mut text = Vec::new();
    let mut numbers_are_stored = true;
    let mut row = Row { cells: Vec::new(), number: 0, widest: 0 };
    while let Some(cell) = reader.next_cell().map_err(not_book)? {
        let (number, column) = cell.get_position();
        if number as usize >= SHEET_ROWS || column as usize >= SHEET_COLUMNS {
            return Err(packed(name, "has a cell beyond the last row and column of a sheet"));
        }
        while row.number < number {
            row.end(&mut text);
        }
        let value = cell.get_value();
        let words = words(value);
        let is_text = matches!(value, DataRef::String(_) | DataRef::SharedString(_));
        numbers_are_stored &= !is_text || !may_be_thousands(words.as_bytes());
        if number < row.number || !row.add(column as usize, words) {
            return Err(packed(name, "has cells that are not in the order of rows and columns"));
        }
        if text.len() as u64 > MOST_WORKBOOK {
            return Err(packed(name, "has a sheet of more than 1 GiB as text"));
        }
    }
    row.end(&mut text);
    Ok(SheetText { text, numbers_are_stored })
}

/// The row of a sheet that is being read.
struct Row {
    cells: Vec<String>,
    number: u32,
    widest: usize,
}

impl Row {
    /// Adds a cell; `false` where one stands there or to the right of it.
    fn add(&mut self, column: usize, words: String) -> bool {
        let is_new = self.cells.len() <= column;
        if is_new {
            self.cells.resize(column, String::new());
            self.cells.push(words);
        }
        is_new
    }

    /// Writes the row, with the quotes of RFC 4180 where they are needed.
    fn end(&mut self, text: &mut Vec<u8>) {
        let cells = self.cells.len();
        for cell in self.cells.drain(..) {
            write_cell(text, cell.as_bytes(), b'\t');
        }
        end_sheet_row(text, cells, &mut self.widest);
        self.number += 1;
    }
}

/// A cell as a logger would write it.
fn words(value: &DataRef<'_>) -> String {
    match Data::from(value.clone()) {
        Data::Int(value) => value.to_string(),
        Data::Float(value) => value.to_string(),
        Data::String(text) | Data::DateTimeIso(text) | Data::DurationIso(text) => text,
        Data::Bool(value) => value.to_string(),
        Data::DateTime(stamp) => stamp_in_words(stamp),
        // No reading: `#N/A`, `#DIV/0!`.
        Data::Error(cause) => cause.to_string(),
        Data::Empty => String::new(),
    }
}

/// A stamp, a date or a time of day, with thousandths where there are any.
fn stamp_in_words(stamp: ExcelDateTime) -> String {
    let (year, month, day, hour, minute, second, thousandths) = stamp.to_ymd_hms_milli();
    let mut time = format!("{hour:02}:{minute:02}:{second:02}");
    if thousandths > 0 {
        time = format!("{time}.{thousandths:03}");
    }
    let serial = stamp.as_f64();
    if serial < 1.0 {
        return time;
    }
    let date = format!("{year:04}-{month:02}-{day:02}");
    if serial.fract() == 0.0 { date } else { format!("{date} {time}") }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Input, Progress, read};
    use plant::Plant;
    use sha2::{Digest as _, Sha256};
    use std::io::Write as _;
    use zip::write::SimpleFileOptions;

    const PLANT: &str =
        "schema = 1\nplant = \"Example Dairy (invented)\"\nunit = \"U\"\nzone = \"UTC\"\n";
    const CSV: &str = "Time,FDV,Hold temp (\u{b0}F),dP (psi)\n\
                       2026-11-24 04:00:00,FWD,163.4,5.2\n\
                       2026-11-24 04:00:01,FWD,160.9,5.1\n\
                       2026-11-24 04:00:02.500,DIV,163.3,5\n";

    /// What a record is made of, as text, and the digest of its file.
    fn readings(bytes: Vec<u8>, plant: &str) -> Result<(String, [u8; 32]), String> {
        let plant = Plant::parse("p", plant).map_err(|error| error.to_string())?;
        let input = Input::Bytes { name: "f".to_owned(), bytes };
        let read =
            read(&[input], &plant, &Progress::default()).map_err(|error| error.to_string())?;
        let record = &read.record;
        let text = format!(
            "{:?} {:?} {:?} {:?}",
            record.instants(),
            record.valve(),
            record.holding_temperature(),
            record.differential()
        );
        Ok((text, record.sources()[0].sha256))
    }

    fn zipped(files: &[(&str, &str)]) -> Vec<u8> {
        let mut archive = zip::ZipWriter::new(Cursor::new(Vec::new()));
        for (name, text) in files {
            let began = archive.start_file(*name, SimpleFileOptions::default());
            assert!(began.is_ok() && archive.write_all(text.as_bytes()).is_ok(), "{name}");
        }
        archive.finish().map(Cursor::into_inner).unwrap_or_default()
    }

    /// A workbook whose sheets have these rows, as XML.
    fn workbook_of(sheets: &[(&str, &str)]) -> Vec<u8> {
        const MAIN: &str = "xmlns=\"http://schemas.openxmlformats.org/spreadsheetml/2006/main\"";
        const REL: &str = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
        const PACKAGE: &str = "http://schemas.openxmlformats.org/package/2006/relationships";
        let mut files = Vec::new();
        let (mut list, mut relations) = (String::new(), String::new());
        for (place, (name, rows)) in sheets.iter().enumerate() {
            let id = place + 1;
            list = format!("{list}<sheet name=\"{name}\" sheetId=\"{id}\" r:id=\"r{id}\"/>");
            relations = format!(
                "{relations}<Relationship Id=\"r{id}\" Type=\"{REL}/worksheet\" \
                 Target=\"worksheets/sheet{id}.xml\"/>"
            );
            let sheet = format!("<worksheet {MAIN}><sheetData>{rows}</sheetData></worksheet>");
            files.push((format!("xl/worksheets/sheet{id}.xml"), sheet));
        }
        relations = format!(
            "{relations}<Relationship Id=\"styles\" Type=\"{REL}/styles\" Target=\"styles.xml\"/>"
        );
        // Style 1 is a stamp: number format 22, `m/d/yy h:mm`, which shows no seconds.
        let styles = format!(
            "<styleSheet {MAIN}><cellXfs count=\"2\"><xf numFmtId=\"0\"/><xf numFmtId=\"22\"/>\
             </cellXfs></styleSheet>"
        );
        files.push((
            "xl/workbook.xml".to_owned(),
            format!("<workbook {MAIN} xmlns:r=\"{REL}\"><sheets>{list}</sheets></workbook>"),
        ));
        files.push((
            "xl/_rels/workbook.xml.rels".to_owned(),
            format!("<Relationships xmlns=\"{PACKAGE}\">{relations}</Relationships>"),
        ));
        files.push(("xl/styles.xml".to_owned(), styles));
        files.push((
            "_rels/.rels".to_owned(),
            format!(
                "<Relationships xmlns=\"{PACKAGE}\"><Relationship Id=\"r1\" \
                 Type=\"{REL}/officeDocument\" Target=\"xl/workbook.xml\"/></Relationships>"
            ),
        ));
        let files: Vec<(&str, &str)> =
            files.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
        zipped(&files)
    }

    /// The rows of [`CSV`] in a sheet. 2026-11-24 is day 46350 since 1899-12-30; a second is 1/86,400.
    fn rows() -> String {
        let text = |at: &str, words: &str| {
            format!("<c r=\"{at}\" t=\"inlineStr\"><is><t>{words}</t></is></c>")
        };
        let mut rows = format!(
            "<row r=\"1\">{}{}{}{}</row>",
            text("A1", "Time"),
            text("B1", "FDV"),
            text("C1", "Hold temp (\u{b0}F)"),
            text("D1", "dP (psi)")
        );
        for (row, seconds, valve, held, pressure) in [
            (2, 14_400.0, "FWD", "163.4", "5.2"),
            (3, 14_401.0, "FWD", "160.9", "5.1"),
            (4, 14_402.5, "DIV", "163.3", "5"),
        ] {
            let stamp = 46_350.0 + seconds / 86_400.0;
            rows = format!(
                "{rows}<row r=\"{row}\"><c r=\"A{row}\" s=\"1\"><v>{stamp}</v></c>{}\
                 <c r=\"C{row}\"><v>{held}</v></c><c r=\"D{row}\"><v>{pressure}</v></c></row>",
                text(&format!("B{row}"), valve)
            );
        }
        rows
    }

    fn gzipped(text: &[u8]) -> Vec<u8> {
        let mut packed = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::fast());
        assert!(packed.write_all(text).is_ok());
        packed.finish().unwrap_or_default()
    }

    /// A spreadsheet of OpenDocument whose sheets have these rows.
    fn open_document(sheets: &[(&str, &str)]) -> Vec<u8> {
        let sheets: Vec<String> = sheets
            .iter()
            .map(|(name, rows)| format!("<table:table table:name=\"{name}\">{rows}</table:table>"))
            .collect();
        let content = format!(
            "<?xml version=\"1.0\"?><office:document-content><office:body><office:spreadsheet>{}\
             </office:spreadsheet></office:body></office:document-content>",
            sheets.concat()
        );
        zipped(&[
            ("mimetype", "application/vnd.oasis.opendocument.spreadsheet"),
            ("META-INF/manifest.xml", ""),
            ("content.xml", &content),
        ])
    }

    /// A cell that shows something else than what it stores.
    fn stored(kind: &str, key: &str, value: &str) -> String {
        format!(
            "<table:table-cell office:value-type=\"{kind}\" office:{key}=\"{value}\"><text:p>…</text:p>\
             </table:table-cell>"
        )
    }

    fn shown(words: &str) -> String {
        format!(
            "<table:table-cell office:value-type=\"string\"><office:annotation><text:p>a note</text:p>\
             </office:annotation><text:p>{words}</text:p></table:table-cell>"
        )
    }

    fn row_of(cells: &[String]) -> String {
        format!(
            "<table:table-row>{}<table:table-cell table:number-columns-repeated=\"16380\"/>\
             </table:table-row>",
            cells.concat()
        )
    }

    /// The rows of [`CSV`], with a million blank ones below.
    fn open_rows() -> String {
        let names = ["Time", "FDV", "Hold temp (&#176;F)", "dP (psi)"].map(shown);
        let mut rows = row_of(&names);
        for (stamp, valve, held, pressure) in [
            ("2026-11-24T04:00:00", "FWD", "163.4", "5.2"),
            ("2026-11-24T04:00:01", "FWD", "160.9", "5.1"),
            ("2026-11-24T04:00:02.500000000", "DIV", "163.3", "5"),
        ] {
            rows += &row_of(&[
                stored("date", "date-value", stamp),
                shown(valve),
                stored("float", "value", held),
                stored("float", "value", pressure),
            ]);
        }
        rows + "<table:table-row table:number-rows-repeated=\"1048570\"><table:table-cell/></table:table-row>"
    }

    #[test]
    fn a_formula_that_failed_has_no_reading() {
        let failed = "<table:table-cell office:value-type=\"float\" office:value=\"0\" \
                      calcext:value-type=\"error\"><text:p>#DIV/0!</text:p></table:table-cell>";
        let rows = open_rows().replace(&stored("float", "value", "160.9"), failed);
        let read = readings(open_document(&[("Day", &rows)]), PLANT);
        let read = read.map(|(text, _)| text).unwrap_or_default();
        let plain = readings(CSV.replace("160.9", "#DIV/0!").into_bytes(), PLANT);
        assert_eq!(Ok(read), plain.map(|(text, _)| text));
    }

    #[test]
    fn what_is_repeated_without_end_is_refused() {
        for (from, to) in [
            ("<table:table-row>", "<table:table-row table:number-rows-repeated=\"99999999999\">"),
            (
                "office:value-type=\"float\"",
                "table:number-columns-repeated=\"20000\" office:value-type=\"float\"",
            ),
            (
                "office:value-type=\"float\"",
                "table:number-columns-repeated=\"-1\" office:value-type=\"float\"",
            ),
            ("</table:table-row>", ""),
        ] {
            let told = readings(open_document(&[("Day", &open_rows().replace(from, to))]), PLANT);
            let told = told.err().unwrap_or_default();
            assert!(told.contains("is a workbook that can't be read"), "{to}: {told}");
        }
    }

    /// A workbook stores numbers: `11.379` is eleven and a bit, but as a text it may be thousands.
    #[test]
    fn numbers_of_a_workbook_hold_no_thousands() {
        let plant = format!("{PLANT}nominal_flow = \"50 gal/min\"\n");
        let cells = |cell: &dyn Fn(&str) -> String| {
            let mut rows = row_of(
                &["Time", "FDV", "Hold temp (&#176;F)", "dP (psi)", "Flow (L/h)"].map(shown),
            );
            for (second, flow) in ["11.379", "11.380", "12.001"].iter().enumerate() {
                rows += &row_of(&[
                    stored("date", "date-value", &format!("2026-11-24T04:00:0{second}")),
                    shown("FWD"),
                    stored("float", "value", "163.4"),
                    stored("float", "value", "5.2"),
                    cell(flow),
                ]);
            }
            readings(open_document(&[("Day", &rows)]), &plant)
        };
        assert!(cells(&|flow| stored("float", "value", flow)).is_ok());
        let told = cells(&shown).err().unwrap_or_default();
        assert!(told.contains("can be 11.379 or 11379"), "{told}");
        // Five thousand millibars would be possible.
        let xlsx = |first: &str| {
            let rows =
                rows().replace("dP (psi)", "dP (mbar)").replace("<v>5.1</v>", "<v>4.125</v>");
            let rows = rows.replace("<v>5</v>", "<v>6.125</v>");
            let rows = rows.replace("<c r=\"D2\"><v>5.2</v></c>", first);
            readings(workbook_of(&[("Day", &rows)]), PLANT)
        };
        assert!(xlsx("<c r=\"D2\"><v>5.125</v></c>").is_ok());
        let told = xlsx("<c r=\"D2\" t=\"inlineStr\"><is><t>5.125</t></is></c>").err();
        assert!(told.unwrap_or_default().contains("can be 5.125 or 5125"));
    }

    #[test]
    fn seconds_that_a_format_cut_off_are_told() {
        let rows: String =
            (0..6).map(|row| format!("2026-11-24 04:0{},FWD,163.4,5.2\n", row / 3)).collect();
        let plant = Plant::parse("p", PLANT).unwrap_or_else(|error| panic!("{error}"));
        let told = |rows: &str| {
            let text = format!("Time,FDV,Hold temp (\u{b0}F),dP (psi)\n{rows}");
            let input = Input::Bytes { name: "f".to_owned(), bytes: text.into_bytes() };
            let read = read(&[input], &plant, &Progress::default());
            let read = read.unwrap_or_else(|error| panic!("{error}"));
            read.assumptions.iter().any(|said| said.contains("cut off their seconds"))
        };
        assert!(told(&rows));
        assert!(!told(&rows.replacen("04:00,", "04:00:01,", 1)));
    }

    /// A long sheet is left in its midst.
    #[test]
    fn a_sheet_is_left_in_its_midst() {
        let row = "<table:table-row><table:table-cell office:value-type=\"float\" office:value=\"1\"/></table:table-row>";
        let content = format!("<table:table table:name=\"Day\">{}</table:table>", row.repeat(500));
        let stopped = Progress::default();
        let read = || ods::sheet_text(&content, "Day", MOST_WORKBOOK, &stopped);
        assert!(read().is_ok());
        stopped.cancel();
        assert!(read().is_err());
    }

    #[test]
    fn a_container_holds_the_same_record() {
        let plain = readings(CSV.as_bytes().to_vec(), PLANT).map(|(text, _)| text);
        for (what, bytes) in [
            ("gzip", gzipped(CSV.as_bytes())),
            (
                "two parts",
                [gzipped(&CSV.as_bytes()[..60]), gzipped(&CSV.as_bytes()[60..])].concat(),
            ),
            ("ZIP", zipped(&[("a/day.csv", CSV), ("__MACOSX/a/._day.csv", "")])),
            ("workbook", workbook_of(&[("Day", &rows())])),
            ("OpenDocument", open_document(&[("Day", &open_rows())])),
        ] {
            let digest: [u8; 32] = Sha256::digest(&bytes).into();
            let read = readings(bytes, PLANT);
            assert_eq!(read.as_ref().map(|(text, _)| text), plain.as_ref(), "{what}");
            assert_eq!(read.map(|(_, sha256)| sha256), Ok(digest), "{what}: of the file itself");
        }
    }

    #[test]
    fn the_sheet_is_said_where_there_are_several() {
        let book = || workbook_of(&[("Notes", ""), ("Day", &rows())]);
        let error = readings(book(), PLANT).err().unwrap_or_default();
        assert!(
            error.contains("the sheets \"Notes\", \"Day\"; set sheet under [files]"),
            "{error}"
        );
        let said = format!("{PLANT}[files]\nsheet = \"Day\"\n");
        assert!(readings(book(), &said).is_ok());
        let other = format!("{PLANT}[files]\nsheet = \"Night\"\n");
        assert!(readings(book(), &other).is_err());
        // Whoever looks at it for the first time finds the one that is a table.
        let look = |bytes| {
            let input = Input::Bytes { name: "f.xlsx".to_owned(), bytes };
            crate::sheet::Sheet::read(&input, &Progress::default())
        };
        let found = look(book()).unwrap_or_else(|error| panic!("{error}"));
        assert_eq!((found.sheet.as_deref(), found.rows), (Some("Day"), 3));
        let two = workbook_of(&[("Night", &rows()), ("Day", &rows())]);
        assert!(matches!(look(two), Err(Error::WhichSheet { .. })));
    }

    /// A sheet does not store the blank cells at the end of a row.
    #[test]
    fn blank_cells_at_the_end_of_a_row_are_no_missing_ones() {
        let lot = |at: &str| format!("<c r=\"{at}\" t=\"inlineStr\"><is><t>Lot</t></is></c></row>");
        let with_lot = rows().replacen("</row>", &lot("E1"), 1);
        let name = shown("dP (psi)");
        let open = open_rows().replace(&name, &format!("{name}{}", shown("Lot")));
        let whole = readings(workbook_of(&[("Day", &rows())]), PLANT).map(|(text, _)| text);
        assert!(whole.is_ok());
        for bytes in [workbook_of(&[("Day", &with_lot)]), open_document(&[("Day", &open)])] {
            assert_eq!(readings(bytes, PLANT).map(|(text, _)| text), whole);
        }
    }

    #[test]
    fn what_cannot_be_unpacked_is_told() {
        let far = "<row r=\"1048577\"><c r=\"A1048577\"><v>1</v></c></row>";
        let beyond = "<row r=\"1\"><c r=\"B66666666664\"><v>1</v></c></row>";
        let cell = |at: &str| format!("<c r=\"{at}\"><v>1</v></c>");
        let back = format!("<row r=\"2\">{}</row><row r=\"1\">{}</row>", cell("A2"), cell("A1"));
        let twice = format!("<row r=\"1\">{}{}</row>", cell("B1"), cell("B1"));
        for (bytes, part) in [
            (zipped(&[("a.csv", CSV), ("b.csv", CSV)]), "several files (a.csv, b.csv)"),
            (zipped(&[]), "looks like"),
            (b"PK\x03\x04 and no more".to_vec(), "can't be unpacked"),
            (workbook_of(&[("Day", far)]), "beyond the last row"),
            (workbook_of(&[("Day", beyond)]), "a cell has a name that no cell has"),
            (workbook_of(&[("Day", &back)]), "not in the order of rows and columns"),
            (workbook_of(&[("Day", &twice)]), "not in the order of rows and columns"),
            (zipped(&[("xl/workbook.xml", "<no")]), "is a workbook that can't be read"),
            (gzipped(&vec![0; 70_000]), "a binary file"),
            (gzipped(CSV.as_bytes())[..40].to_vec(), "can't be unpacked"),
        ] {
            let error = readings(bytes, PLANT).err().unwrap_or_default();
            assert!(error.contains(part), "{part}: {error}");
        }
    }

    /// And what was not read to its end is no fault of the file.
    #[test]
    fn unpacking_is_cancelled() {
        let stopped = Progress::default();
        stopped.cancel();
        for (what, container, bytes) in [
            ("ZIP", Container::Zip, zipped(&[("a/day.csv", CSV)])),
            ("workbook", Container::Zip, workbook_of(&[("Day", &rows())])),
            ("OpenDocument", Container::Zip, open_document(&[("Day", &open_rows())])),
            ("Parquet", Container::Parquet, b"PAR1".to_vec()),
        ] {
            let open = |progress| open(container, Cursor::new(bytes.clone()), "f", None, progress);
            assert!(matches!(open(&stopped), Err(Error::Cancelled)), "{what}");
            assert!(!matches!(open(&Progress::default()), Err(Error::Cancelled)), "{what}");
        }
    }

    #[test]
    fn what_is_unpacked_has_a_bound() {
        let mut bounded = Bounded { source: Cursor::new([7; 20]), left: 10 };
        let mut read = Vec::new();
        assert!(bounded.read_to_end(&mut read).is_err());
        let mut bounded = Bounded { source: Cursor::new([7; 20]), left: 20 };
        assert_eq!(bounded.read_to_end(&mut read).ok(), Some(20));
    }

    #[test]
    fn cells_in_words() {
        for (value, words_of) in [
            (DataRef::Float(163.4), "163.4"),
            (DataRef::Float(5.0), "5"),
            (DataRef::Float(0.000_01), "0.00001"),
            (DataRef::Int(-3), "-3"),
            (DataRef::Bool(true), "true"),
            (DataRef::Empty, ""),
            (DataRef::Error(calamine::CellErrorType::NA), "#N/A"),
        ] {
            assert_eq!(words(&value), words_of);
        }
        let mut row = Row { cells: Vec::new(), number: 0, widest: 0 };
        assert!(row.add(2, "a \"b\"\nc".to_owned()));
        let mut text = Vec::new();
        row.end(&mut text);
        assert_eq!(String::from_utf8_lossy(&text), "\t\t\"a \"\"b\"\"\nc\"\n");
    }
}
