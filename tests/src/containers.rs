//! Tables of cells put into what loggers' files may lie in: a workbook, a spreadsheet of OpenDocument, a Parquet
//! file. A cell is stored as a number where the number says the same digits, a stamp of a day as a date, all else as
//! text. The tests of `ingest` read this file as well.

use std::io::{Cursor, Write as _};

/// The day whose stamps are stored as dates: day 46,089 since 1899-12-30.
const DAY: &str = "2026-03-08 ";

/// Milliseconds from 1970 to that day.
const DAY_BEGINS: i64 = 1_772_928_000_000;

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('\u{0}', "")
}

/// A number that is written as it was.
fn number(cell: &str) -> Option<f64> {
    cell.parse::<f64>().ok().filter(|number| number.to_string() == cell)
}

/// The seconds of a stamp of the day.
fn seconds(cell: &str) -> Option<u32> {
    let clock = cell.strip_prefix(DAY)?;
    let mut parts = clock.split(':').map(str::parse::<u32>);
    match (parts.next(), parts.next(), parts.next(), parts.next()) {
        (Some(Ok(hour)), Some(Ok(minute)), Some(Ok(second)), None) => {
            Some(hour * 3600 + minute * 60 + second)
        }
        _ => None,
    }
}

/// An archive of these files.
///
/// # Errors
/// Never: it lies in memory.
pub fn archive(files: &[(&str, &[u8])]) -> std::io::Result<Vec<u8>> {
    let mut archive = zip::ZipWriter::new(Cursor::new(Vec::new()));
    for (name, bytes) in files {
        archive.start_file(*name, zip::write::SimpleFileOptions::default())?;
        archive.write_all(bytes)?;
    }
    Ok(archive.finish()?.into_inner())
}

/// A workbook of one sheet.
///
/// # Errors
/// Never: it lies in memory.
pub fn workbook(table: &[Vec<String>]) -> std::io::Result<Vec<u8>> {
    const MAIN: &str = "xmlns=\"http://schemas.openxmlformats.org/spreadsheetml/2006/main\"";
    const REL: &str = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
    const PACKAGE: &str = "http://schemas.openxmlformats.org/package/2006/relationships";
    let mut rows = String::new();
    for line in table {
        rows += "<row>";
        for cell in line {
            let stored = match (seconds(cell), number(cell)) {
                (Some(seconds), _) => {
                    format!("<c s=\"1\"><v>{}</v></c>", 46_089.0 + f64::from(seconds) / 86_400.0)
                }
                (None, Some(number)) => format!("<c><v>{number}</v></c>"),
                (None, None) => {
                    format!("<c t=\"inlineStr\"><is><t>{}</t></is></c>", escaped(cell))
                }
            };
            rows += &stored;
        }
        rows += "</row>";
    }
    let relation = |id: &str, kind: &str, target: &str| {
        format!("<Relationship Id=\"{id}\" Type=\"{REL}/{kind}\" Target=\"{target}\"/>")
    };
    let relations =
        |all: String| format!("<Relationships xmlns=\"{PACKAGE}\">{all}</Relationships>");
    archive(&[
        ("_rels/.rels", relations(relation("r1", "officeDocument", "xl/workbook.xml")).as_bytes()),
        (
            "xl/_rels/workbook.xml.rels",
            relations(
                relation("r1", "worksheet", "worksheets/sheet1.xml")
                    + &relation("r2", "styles", "styles.xml"),
            )
            .as_bytes(),
        ),
        (
            "xl/workbook.xml",
            format!(
                "<workbook {MAIN} xmlns:r=\"{REL}\"><sheets><sheet name=\"Day\" sheetId=\"1\" r:id=\"r1\"/>\
                 </sheets></workbook>"
            )
            .as_bytes(),
        ),
        (
            // Style 1 is a stamp that shows no seconds.
            "xl/styles.xml",
            format!(
                "<styleSheet {MAIN}><cellXfs count=\"2\"><xf numFmtId=\"0\"/><xf numFmtId=\"22\"/></cellXfs>\
                 </styleSheet>"
            )
            .as_bytes(),
        ),
        (
            "xl/worksheets/sheet1.xml",
            format!("<worksheet {MAIN}><sheetData>{rows}</sheetData></worksheet>").as_bytes(),
        ),
    ])
}

/// A spreadsheet of OpenDocument of one sheet, whose cells show something else than what they store.
///
/// # Errors
/// Never: it lies in memory.
pub fn open_document(table: &[Vec<String>]) -> std::io::Result<Vec<u8>> {
    let mut rows = String::new();
    for line in table {
        rows += "<table:table-row>";
        for cell in line {
            let stored = |kind: &str, key: &str, value: &str| {
                format!(
                    "<table:table-cell office:value-type=\"{kind}\" office:{key}=\"{value}\">\
                     <text:p>\u{2026}</text:p></table:table-cell>"
                )
            };
            let cell = match (seconds(cell), number(cell)) {
                (Some(_), _) => stored("date", "date-value", &cell.replace(' ', "T")),
                (None, Some(_)) => stored("float", "value", cell),
                (None, None) if cell.is_empty() => "<table:table-cell/>".to_owned(),
                (None, None) => format!(
                    "<table:table-cell office:value-type=\"string\"><text:p>{}</text:p></table:table-cell>",
                    escaped(cell)
                ),
            };
            rows += &cell;
        }
        rows += "</table:table-row>";
    }
    archive(&[
        ("META-INF/manifest.xml", b""),
        (
            "content.xml",
            format!(
                "<office:document-content><office:body><office:spreadsheet><table:table table:name=\"Day\">\
                 {rows}</table:table></office:spreadsheet></office:body></office:document-content>"
            )
            .as_bytes(),
        ),
    ])
}

/// A number of the compact protocol, in which a Parquet file says what it holds.
pub fn varint(mut number: u64) -> Vec<u8> {
    let mut bytes = Vec::new();
    while number >= 0x80 {
        bytes.push(number as u8 | 0x80);
        number >>= 7;
    }
    bytes.push(number as u8);
    bytes
}

/// The same of a number that may be negative in another one's place.
fn int(number: usize) -> Vec<u8> {
    varint(number as u64 * 2)
}

/// A Parquet file of one group of rows, a page a column, blank cells as nulls. The first line has the names.
pub fn parquet(table: &[Vec<String>]) -> Vec<u8> {
    let (names, rows) = table.split_first().map_or((&[][..], table), |(names, rows)| (names, rows));
    let mut file = b"PAR1".to_vec();
    let (mut schema, mut chunks) = (Vec::new(), Vec::new());
    for (place, name) in names.iter().enumerate() {
        let cells: Vec<&str> =
            rows.iter().map(|row| row.get(place).map_or("", String::as_str)).collect();
        let filled = || cells.iter().filter(|cell| !cell.is_empty());
        let mut values = Vec::new();
        // 2: 64 bits, with what says that it is a local stamp; 5: a double; 6: a text.
        let (kind, says): (u8, &[u8]) = if filled().all(|cell| seconds(cell).is_some()) {
            for seconds in filled().filter_map(|cell| seconds(cell)) {
                values.extend((DAY_BEGINS + i64::from(seconds) * 1000).to_le_bytes());
            }
            (2, &[0x6c, 0x8c, 0x12, 0x1c, 0x1c, 0, 0, 0, 0])
        } else if filled().all(|cell| number(cell).is_some()) {
            values.extend(filled().filter_map(|cell| number(cell)).flat_map(f64::to_le_bytes));
            (5, &[])
        } else {
            for cell in filled() {
                values.extend((cell.len() as u32).to_le_bytes());
                values.extend(cell.as_bytes());
            }
            (6, &[])
        };
        let mut levels = varint(cells.len().div_ceil(8) as u64 * 2 + 1);
        for eight in cells.chunks(8) {
            let bits =
                eight.iter().enumerate().map(|(bit, cell)| u8::from(!cell.is_empty()) << bit);
            levels.push(bits.sum());
        }
        let length = (levels.len() as u32).to_le_bytes();
        let page = [&length[..], &levels, &values].concat();
        schema.extend([&[0x15, kind * 2, 0x25, 2, 0x18][..], &varint(name.len() as u64)].concat());
        schema.extend([name.as_bytes(), says, &[0]].concat());
        chunks.extend(
            [&[0x3c, 0x15, kind * 2, 0x35, 0, 0x56][..], &varint(file.len() as u64 * 2)].concat(),
        );
        chunks.extend([0, 0]);
        let size = int(page.len());
        let head = [&[0x15, 0, 0x15][..], &size, &[0x15], &size, &[0x2c, 0x15], &int(cells.len())];
        file.extend([&head.concat()[..], &[0x15, 0, 0x15, 6, 0x15, 6, 0, 0], &page].concat());
    }
    let list = |count: usize| [&[0xfc][..], &varint(count as u64)].concat();
    let footer = [
        &[0x15, 2, 0x19][..],
        &list(names.len() + 1),
        &[0x48, 1, b's', 0x15],
        &int(names.len()),
        &[0],
        &schema,
        &[0x16],
        &int(rows.len()),
        &[0x19, 0x1c, 0x19],
        &list(names.len()),
        &chunks,
        &[0x26],
        &int(rows.len()),
        &[0, 0],
    ]
    .concat();
    let length = (footer.len() as u32).to_le_bytes();
    file.extend([&footer, &length[..], b"PAR1"].concat());
    file
}
