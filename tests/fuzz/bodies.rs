//! What is done with bytes that anybody may have written. Each is a fuzz target, and a test runs all of
//! them over the corpora. They must end without a panic; what else must hold is said with each.

use case::Case;
use chrono::{DateTime, Datelike as _, NaiveDateTime, Timelike as _};
use ingest::sheet::Sheet;
use ingest::{Input, Progress, parse_operator_entries, parse_run_sheet, read};
use plant::Plant;
use setup::{Draft, Sheets};
use std::io::{Cursor, Write as _};
use std::sync::Once;
use trace::{Decimal, DecimalMark, NotADecimal, Toward};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

/// The plants whose files are read: nothing said, columns bound in a zone with two passes of an hour,
/// and the long form.
const PLANTS: [&str; 3] = [
    "",
    "[files]\ndate_order = \"day-first\"\n[columns]\ntime = \"Time\"\n\
     valve = { column = \"FDV\", forward = [\"1\"], divert = [\"0\"] }\n\
     holding_temperature = { column = \"TT1\", unit = \"degC\" }\n\
     differential_pressure = { column = \"PD1\", unit = \"kPa\" }\n\
     flow_rate = { column = \"FT1\", unit = \"L/h\" }\n",
    "[files.long]\ntag = \"Tag\"\nvalue = \"Value\"\nquality = \"Quality\"\n[columns]\n\
     valve = { column = \"FDV\" }\nholding_temperature = { column = \"TT1\", unit = \"degF\" }\n\
     differential_pressure = { column = \"PD1\", unit = \"psi\" }\n",
];

fn plant(rest: &str) -> Plant {
    let text =
        format!("schema = 1\nplant = \"P\"\nunit = \"U\"\nzone = \"America/Chicago\"\n{rest}");
    match Plant::parse("plant.toml", &text) {
        Ok(plant) => plant,
        Err(error) => panic!("{error}"),
    }
}

fn input(bytes: &[u8]) -> Input {
    Input::Bytes { name: "f.csv".to_owned(), bytes: bytes.to_vec() }
}

/// Lets who reads workbooks panic, which is caught and told as an error; the fuzzer stops at any other panic.
fn let_workbooks_panic() {
    static ONCE: Once = Once::new();
    ONCE.call_once(|| {
        let before = std::panic::take_hook();
        std::panic::set_hook(Box::new(move |panic| {
            if !panic.location().is_some_and(|place| place.file().contains("/calamine-")) {
                before(panic);
            }
        }));
    });
}

/// A file, read and audited: every record can be told, and every error says something.
fn audited(bytes: &[u8], plant: Plant) {
    let_workbooks_panic();
    match read(&[input(bytes)], &plant, &Progress::default()) {
        Ok(read) => {
            let case = Case::new(read.record, plant, read.observations, read.assumptions);
            let told = (case.text(), case.json(), case.csv());
            assert!(told.1.is_ok() && told.2.is_ok());
        }
        Err(error) => assert!(error.to_string().starts_with("f.csv"), "{error}"),
    }
}

/// A logger's file; the first byte says by which plant file.
pub fn logger_file(data: &[u8]) {
    let Some((first, bytes)) = data.split_first() else { return };
    audited(bytes, plant(PLANTS[usize::from(*first) % PLANTS.len()]));
}

/// Rows as they stand, and with their first cells in quotes, which means the same (RFC 4180) and keeps a row
/// from being read at once: both are one record, or both are refused for the same cause.
pub fn plain_rows(data: &[u8]) {
    if data.contains(&b'"') {
        return;
    }
    let file = |quoted: bool| {
        let mut file = "Time,FDV,Hold Temp (\u{b0}F),Raw (psi),Past (psi),Product\n\
                        2026-03-10 06:00:00,FWD,161.2,24.1,26.2,milk\n"
            .as_bytes()
            .to_vec();
        for line in data.split(|byte| matches!(byte, b'\n' | b'\r')) {
            let end = line.iter().position(|&byte| byte == b',').unwrap_or(line.len());
            let (cell, rest) = line.split_at(end);
            let quote: &[u8] =
                if quoted && cell.first().is_some_and(u8::is_ascii_digit) { b"\"" } else { b"" };
            file.extend([quote, cell, quote, rest, b"\n"].concat());
        }
        file
    };
    let outcome = |quoted: bool| {
        let read = read(&[input(&file(quoted))], &plant(""), &Progress::default());
        let read = read.map_err(|error| error.to_string())?;
        let record = &read.record;
        let channels: Vec<_> = record.channels().into_iter().collect();
        let channels: Vec<_> =
            channels.iter().map(|(role, one)| (*role, one.scale(), one.mantissas())).collect();
        let seen: Vec<_> = read
            .observations
            .iter()
            .map(|one| (one.kind, one.count, one.position.as_ref().map(|place| place.line)))
            .collect();
        Ok::<_, String>(format!(
            "{:?}{:?}{channels:?}{:?}{:?}{seen:?}{:?}",
            record.instants(),
            record.valve(),
            record.product(),
            record.unplaced(),
            read.assumptions
        ))
    };
    assert_eq!(outcome(false), outcome(true));
}

/// A gzip file, an archive, a workbook.
pub fn container(data: &[u8]) {
    audited(data, plant(PLANTS[0]));
}

/// A workbook whose parts are well packed whatever they say: its sheet, and behind zero bytes the texts that its
/// cells share, its styles and its list of sheets.
pub fn workbook(data: &[u8]) {
    const MAIN: &str = "xmlns=\"http://schemas.openxmlformats.org/spreadsheetml/2006/main\"";
    const REL: &str = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
    const PACKAGE: &str = "http://schemas.openxmlformats.org/package/2006/relationships";
    let relation = |id: &str, kind: &str, target: &str| {
        format!("<Relationship Id=\"{id}\" Type=\"{REL}/{kind}\" Target=\"{target}\"/>")
    };
    let relations =
        |all: String| format!("<Relationships xmlns=\"{PACKAGE}\">{all}</Relationships>");
    let begin = relations(relation("r1", "officeDocument", "xl/workbook.xml"));
    let of_book = relations(
        relation("r1", "worksheet", "worksheets/sheet1.xml")
            + &relation("r2", "styles", "styles.xml")
            + &relation("r3", "sharedStrings", "sharedStrings.xml"),
    );
    let styles = format!(
        "<styleSheet {MAIN}><cellXfs count=\"2\"><xf numFmtId=\"0\"/><xf numFmtId=\"22\"/></cellXfs></styleSheet>"
    );
    let book = format!(
        "<workbook {MAIN} xmlns:r=\"{REL}\"><sheets><sheet name=\"Day\" sheetId=\"1\" r:id=\"r1\"/></sheets></workbook>"
    );
    let strings = format!("<sst {MAIN}><si><t>FWD</t></si><si><t>DIV</t></si></sst>");
    let mut parts = data.split(|&byte| byte == 0);
    let mut part = |own: &str| parts.next().map_or_else(|| own.as_bytes().to_vec(), <[u8]>::to_vec);
    audited(
        &zipped(&[
            ("_rels/.rels", begin.as_bytes()),
            ("xl/_rels/workbook.xml.rels", of_book.as_bytes()),
            ("xl/worksheets/sheet1.xml", &part("")),
            ("xl/sharedStrings.xml", &part(&strings)),
            ("xl/styles.xml", &part(&styles)),
            ("xl/workbook.xml", &part(&book)),
        ]),
        plant(PLANTS[0]),
    );
}

/// A spreadsheet of OpenDocument with this content.
pub fn open_document(data: &[u8]) {
    audited(&zipped(&[("META-INF/manifest.xml", b""), ("content.xml", data)]), plant(PLANTS[0]));
}

/// An archive that packs nothing.
fn zipped(files: &[(&str, &[u8])]) -> Vec<u8> {
    let mut archive = ZipWriter::new(Cursor::new(Vec::new()));
    let stored = SimpleFileOptions::default().compression_method(CompressionMethod::Stored);
    for (name, text) in files {
        assert!(archive.start_file(*name, stored).is_ok() && archive.write_all(text).is_ok());
    }
    archive.finish().map(Cursor::into_inner).unwrap_or_default()
}

/// A Parquet file as it lies there; or its pages, whose length stands before them in two bytes, and its
/// description, put together so that only what they say can be wrong.
pub fn parquet(data: &[u8]) {
    if data.starts_with(b"PAR1") {
        return audited(data, plant(PLANTS[0]));
    }
    let Some((length, parts)) = data.split_first_chunk() else { return };
    let pages = parts.len().min(usize::from(u16::from_le_bytes(*length)));
    let footer = ((parts.len() - pages) as u32).to_le_bytes();
    audited(&[b"PAR1", parts, &footer, b"PAR1"].concat(), plant(PLANTS[0]));
}

/// A file that nobody has told how to read: a draft without a question is a plant file.
pub fn set_up(data: &[u8]) {
    let_workbooks_panic();
    let Ok(sheet) = Sheet::read(&input(data), &Progress::default()) else { return };
    let sheet = Sheets::of(sheet);
    let mut draft = Draft::of(&sheet);
    for said in [&mut draft.plant, &mut draft.unit] {
        "P".clone_into(said);
    }
    "America/Chicago".clone_into(&mut draft.zone);
    let text = draft.text(&sheet);
    match Plant::parse("draft", &text) {
        Ok(plant) => drop(read(&[input(data)], &plant, &Progress::default())),
        Err(error) => assert!(!draft.questions(&sheet).is_empty(), "{error}\n{text}"),
    }
}

/// A plant file.
pub fn plant_file(data: &[u8]) {
    let Ok(text) = std::str::from_utf8(data) else { return };
    if let Err(error) = Plant::parse("p.toml", text) {
        assert!(error.to_string().starts_with("p.toml"), "{error}");
    }
}

/// What people write beside a record: of a run sheet a list of runs of products is read, of the operators'
/// entries a list in order of time, each a reading or words, by somebody.
pub fn run_sheet(data: &[u8]) {
    match parse_operator_entries("f.csv", data, &plant("")) {
        Ok(entries) => {
            assert!(entries.entries().is_sorted_by_key(|one| one.at));
            for one in entries.entries() {
                assert_eq!(one.kind.is_reading(), one.reading.is_some());
                assert!(!one.by.is_empty() && (one.reading.is_some() || !one.note.is_empty()));
            }
        }
        Err(error) => assert!(error.to_string().starts_with("f.csv"), "{error}"),
    }
    match parse_run_sheet("f.csv", data, &plant("")) {
        Ok(sheet) => {
            for run in sheet.runs() {
                assert!(run.interval.start() < run.interval.end() && !run.product.is_empty());
            }
        }
        Err(error) => assert!(error.to_string().starts_with("f.csv"), "{error}"),
    }
}

/// A number: the decimal that is read is the one whose nearest float the standard library finds, and
/// what is not read is blank, no number there either, or too large.
pub fn numbers(data: &[u8]) {
    let cell = data.trim_ascii();
    let float = std::str::from_utf8(cell).ok().and_then(|text| text.parse::<f64>().ok());
    // `inf` and `nan` are no readings.
    let float =
        float.filter(|_| !cell.iter().any(|byte| matches!(byte, b'i' | b'I' | b'n' | b'N')));
    let parse = |toward| Decimal::parse(data, DecimalMark::Dot, toward);
    match (parse(Toward::Down), parse(Toward::Up)) {
        (Ok(down), Ok(up)) => {
            let nearest = |one: Decimal| {
                assert_eq!(Ok(one.to_f64()), one.to_string().parse(), "{one}");
                one.to_f64()
            };
            let float = float.unwrap_or(f64::NAN);
            // The same digits where all of them fit; else the neighbours on either side.
            assert!(nearest(down) <= float && float <= nearest(up), "{float}: {down} to {up}");
            let apart = i128::from(up.mantissa()) - i128::from(down.mantissa());
            assert!(up.scale() == down.scale() && (0..=1).contains(&apart), "{down} to {up}");
        }
        (Err(one), Err(other)) => {
            assert_eq!(one, other);
            match one {
                NotADecimal::Blank => assert!(cell.is_empty()),
                NotADecimal::NotANumber => assert_eq!(float, None),
                NotADecimal::TooLarge => assert!(float.is_some_and(|float| float.abs() >= 1e18)),
            }
        }
        both => panic!("{both:?}"),
    }
}

/// The forms of stamps that chrono can be told.
const STAMPS: [&str; 8] = [
    "%Y-%m-%d %H:%M:%S%.f",
    "%Y-%m-%dT%H:%M:%S%.f",
    "%Y/%m/%d %H:%M:%S%.f",
    "%d.%m.%Y %H:%M:%S%.f",
    "%d-%b-%Y %H:%M:%S",
    "%b %d, %Y %I:%M:%S %p",
    "%Y-%jT%H:%M:%S",
    "%Y%m%d %H:%M:%S",
];

/// A stamp, on a clock of UTC: an instant that is read is the one that chrono reads, where it reads any, and
/// all of RFC 3339 is read but for offsets that no place has.
pub fn stamps(data: &[u8]) {
    let Ok(stamp) = std::str::from_utf8(data) else { return };
    if stamp.contains(|one: char| one.is_control() || matches!(one, '"' | '|')) {
        return;
    }
    let file = format!("Time|FDV|Hold temp (\u{b0}F)|dP (psi)\n{stamp}|DIV|161.5|5.0\n");
    let mut utc = plant("");
    utc.zone = plant::Zone::UTC;
    let read = read(&[input(file.as_bytes())], &utc, &Progress::default()).ok();
    let ours = read.as_ref().and_then(|read| read.record.instants().first());
    let ours = ours.map(|instant| instant.unix_milliseconds());
    // No place on earth is sixteen hours from UTC.
    let exact = DateTime::parse_from_rfc3339(stamp).ok();
    let exact = exact.filter(|stamp| stamp.offset().local_minus_utc().abs() < 16 * 3600);
    let exact = exact.map(|stamp| stamp.to_utc());
    let theirs = exact.or_else(|| {
        let form = |form| NaiveDateTime::parse_from_str(stamp, form).ok();
        STAMPS.into_iter().find_map(form).map(|stamp| stamp.and_utc())
    });
    // No second 60, and no year in which no logger wrote.
    let theirs = theirs
        .filter(|stamp| (1991..2199).contains(&stamp.year()) && stamp.nanosecond() < 1_000_000_000);
    let theirs = theirs.map(|stamp| stamp.timestamp_millis());
    if let (Some(ours), Some(theirs)) = (ours, theirs) {
        assert_eq!(ours, theirs, "{stamp}");
    }
    assert!(exact.is_none() || theirs.is_none() || ours.is_some(), "{stamp} is RFC 3339");
}

/// A journal, and the register of signers that its lines may be.
pub fn books(data: &[u8]) {
    let reading = journal::replay(data);
    drop(signers::Register::replay(&reading.lines));
}
