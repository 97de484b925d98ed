//! Run sheets: a CSV of start, end, product, lot, destination tank and quantity.
//!
//! A sheet is written by people and is short, so it is read strictly: a cell that can't be
//! understood is an error with its line and column, never a guess.

use crate::error::Error;
use chrono::{DateTime, NaiveDateTime};
use plant::{LocalResolution, Plant, Zone};
use sha2::{Digest as _, Sha256};
use std::path::Path;
use std::sync::Arc;
use trace::{
    Decimal, DecimalMark, Instant, Interval, RunSheet, SheetRun, SourceFile, Toward, VolumeUnit,
};

/// The local times that are understood beside RFC 3339.
const LOCAL: [&str; 4] =
    ["%Y-%m-%d %H:%M:%S", "%Y-%m-%dT%H:%M:%S", "%Y-%m-%d %H:%M", "%Y-%m-%dT%H:%M"];

/// No run sheet is longer (16 MiB, ours): a run for each second of a day has room.
const LONGEST_FILE: u64 = 16 << 20;

/// No cell has more characters (ours). A lot or a tank is said again with every exception of its
/// run, so its length must not multiply with the length of the record.
const LONGEST_CELL: usize = 200;

/// At most so many runs of a sheet hold at one time (ours). A pasteurizer makes one product at a
/// time, and each exception names the lots and tanks of all the runs that it touches.
const MOST_AT_ONCE: usize = 50;

/// Reads the run sheet at `path`; it may be a link.
///
/// The header names `start`, `end` and `product`, and may name `lot`, `tank`, `quantity`, the latter
/// with its unit (`quantity (gal)` or `quantity (L)`), and `emptied`, when the tank was empty. Times are `2026-03-04 05:20` on the
/// plant's clock, or RFC 3339. In the repeated autumn hour a start is the first pass and an end the
/// second, so that no product is left out.
///
/// # Errors
/// When it can't be read or is too long, a column is missing, a cell can't be understood, or more
/// than fifty runs hold at one time; with line and column.
pub fn read_run_sheet(path: &Path, plant: &Plant) -> Result<RunSheet, Error> {
    let file = path.display().to_string();
    let bytes = disk::read(path, LONGEST_FILE, disk::Links::Follow)
        .map_err(|cause| Error::Read { file: file.clone(), cause: Arc::new(cause) })?;
    parse_run_sheet(&file, &bytes, plant)
}

struct Columns {
    start: usize,
    end: usize,
    product: usize,
    lot: Option<usize>,
    tank: Option<usize>,
    quantity: Option<(usize, VolumeUnit)>,
    emptied: Option<usize>,
}

/// The same of bytes that are in memory already; `file` is their name for messages.
///
/// # Errors
/// As [`read_run_sheet`], but for what can't be read or is too long.
pub fn parse_run_sheet(file: &str, bytes: &[u8], plant: &Plant) -> Result<RunSheet, Error> {
    let mut source = SourceFile {
        name: file.into(),
        bytes: bytes.len() as u64,
        rows: 0,
        sha256: Sha256::digest(bytes).into(),
    };
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let wrong = |line: u64, column: usize, message: String| Error::RunSheet {
        file: file.to_owned(),
        line,
        column: column as u64 + 1,
        message,
    };
    let first_line = bytes.split(|&byte| byte == b'\n').next().unwrap_or_default();
    let delimiter = if first_line.contains(&b';') { b';' } else { b',' };
    let mut reader =
        csv::ReaderBuilder::new().delimiter(delimiter).trim(csv::Trim::All).from_reader(bytes);
    let broken = |cause: csv::Error| {
        let line = cause.position().map_or(1, csv::Position::line);
        wrong(line, 0, format!("{cause}; save the sheet as CSV in UTF-8"))
    };
    let header = reader.headers().map_err(broken)?.clone();
    let columns = columns(&header).map_err(|message| wrong(1, 0, message))?;
    let mut runs = Vec::new();
    for record in reader.records() {
        let record = record.map_err(broken)?;
        let line = record.position().map_or(1, csv::Position::line);
        let cell = |column: usize| record.get(column).unwrap_or_default();
        if record.iter().all(str::is_empty) {
            continue;
        }
        if let Some(column) =
            record.iter().position(|cell| cell.chars().nth(LONGEST_CELL).is_some())
        {
            let message = format!("the cell has more than {LONGEST_CELL} characters; shorten it");
            return Err(wrong(line, column, message));
        }
        let time = |column: usize, late: bool| {
            instant(cell(column), plant.zone, late).map_err(|message| wrong(line, column, message))
        };
        let (start, end) = (time(columns.start, false)?, time(columns.end, true)?);
        if end <= start {
            return Err(wrong(line, columns.end, "the run ends before it starts".to_owned()));
        }
        if cell(columns.product).is_empty() {
            return Err(wrong(line, columns.product, "the run names no product".to_owned()));
        }
        let quantity = match columns.quantity {
            Some((column, unit)) if !cell(column).is_empty() => {
                let mark = plant.form.decimal_mark.unwrap_or(DecimalMark::Dot);
                let value = Decimal::parse(cell(column).as_bytes(), mark, Toward::Down);
                Some((
                    value.map_err(|_not_a_decimal| {
                        wrong(line, column, format!("{:?} is not a number", cell(column)))
                    })?,
                    unit,
                ))
            }
            _ => None,
        };
        let emptied = match columns.emptied.filter(|&column| !cell(column).is_empty()) {
            Some(column) => {
                // Later keeps more in the tank.
                let emptied = time(column, true)?;
                if emptied < end {
                    let message = "the tank was emptied before the run ends".to_owned();
                    return Err(wrong(line, column, message));
                }
                if columns.tank.is_none_or(|tank| cell(tank).is_empty()) {
                    let message = "a tank was emptied, and the run names none".to_owned();
                    return Err(wrong(line, column, message));
                }
                Some(emptied)
            }
            None => None,
        };
        let text = |column: Option<usize>| column.map_or("", cell).to_owned();
        runs.push(SheetRun {
            interval: Interval::between(start, end),
            product: cell(columns.product).to_owned(),
            lot: text(columns.lot),
            tank: text(columns.tank),
            quantity,
            emptied,
            line,
        });
    }
    if let Some(line) = too_many_at_once(&runs) {
        let message = format!(
            "more than {MOST_AT_ONCE} runs hold at the start of this one; correct starts and ends"
        );
        return Err(wrong(line, columns.start, message));
    }
    source.rows = runs.len() as u64;
    Ok(RunSheet::new(source, runs))
}

/// The line of the first run that is one too many at its start.
fn too_many_at_once(runs: &[SheetRun]) -> Option<u64> {
    // A run holds before its end: of one instant, ends come first.
    let starts = runs.iter().map(|run| (run.interval.start(), 1, run.line));
    let ends = runs.iter().map(|run| (run.interval.end(), -1, run.line));
    let mut borders: Vec<(Instant, i64, u64)> = starts.chain(ends).collect();
    borders.sort_unstable();
    let mut holding = 0;
    borders
        .into_iter()
        .find(|&(_, change, _)| {
            holding += change;
            holding > MOST_AT_ONCE as i64
        })
        .map(|(.., line)| line)
}

fn columns(header: &csv::StringRecord) -> Result<Columns, String> {
    let names: Vec<String> = header.iter().map(str::to_lowercase).collect();
    let find = |wanted: &[&str]| {
        names
            .iter()
            .position(|name| wanted.contains(&name.split(['(', '[']).next().unwrap_or("").trim()))
    };
    let need = |wanted: &str| {
        find(&[wanted]).ok_or_else(|| {
            format!("the sheet needs a column {wanted:?}; it has {}", names.join(", "))
        })
    };
    let quantity = match find(&["quantity", "volume"]) {
        None => None,
        Some(column) => {
            let name = names.get(column).map_or("", String::as_str);
            let unit = if name.contains("gal") {
                VolumeUnit::Gallon
            } else if name.contains("(l)") || name.contains("[l]") || name.contains("lit") {
                VolumeUnit::Litre
            } else {
                return Err(format!(
                    "the column {name:?} needs its unit: \"quantity (gal)\" or \"quantity (L)\""
                ));
            };
            Some((column, unit))
        }
    };
    Ok(Columns {
        start: need("start")?,
        end: need("end")?,
        product: need("product")?,
        lot: find(&["lot"]),
        tank: find(&["tank", "destination", "destination tank"]),
        quantity,
        emptied: find(&["emptied", "tank emptied"]),
    })
}

/// A time as a person writes it: `2026-03-14 09:00` on the plant's clock, or RFC 3339. In the repeated
/// autumn hour it is the first pass.
///
/// # Errors
/// When it is no time, or one that the plant's clock does not show.
pub fn time_on_clock(text: &str, zone: Zone) -> Result<Instant, Error> {
    instant(text.trim(), zone, false).map_err(|message| Error::Time { message })
}

fn instant(text: &str, zone: Zone, late: bool) -> Result<Instant, String> {
    if let Ok(absolute) = DateTime::parse_from_rfc3339(text) {
        return Ok(Instant::from_unix_milliseconds(absolute.timestamp_millis()));
    }
    let local = LOCAL
        .iter()
        .find_map(|format| NaiveDateTime::parse_from_str(text, format).ok())
        .ok_or_else(|| format!("{text:?} is no time such as \"2026-03-04 05:20\""))?;
    match zone.resolve(local) {
        LocalResolution::One(instant) => Ok(instant),
        LocalResolution::Two(first, second) => Ok(if late { second } else { first }),
        LocalResolution::None => {
            Err(format!("{text} does not exist in {}; clocks went forward", zone.name()))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Result<RunSheet, Error> {
        parse_run_sheet("sheet.csv", text.as_bytes(), &Plant::assumed())
    }

    #[test]
    fn a_sheet_in_either_dialect() {
        for text in [
            "Start,End,Product,Lot,Destination tank,Quantity (gal)\n\
             2026-03-04 05:20,2026-03-04 08:15,whole milk,0304-A,T2,8561\n",
            "\u{feff}start;end;product;lot;tank;quantity [gal]\r\n\
             2026-03-04T05:20:00Z;2026-03-04T08:15:00Z;whole milk;0304-A;T2;8561\r\n",
        ] {
            let Ok(sheet) = read(text) else { panic!("{text}: {:?}", read(text)) };
            let [run] = sheet.runs() else { panic!("one run: {sheet:?}") };
            assert_eq!(run.interval.duration().milliseconds(), 10_500_000);
            assert_eq!(
                (run.product.as_str(), run.lot.as_str(), run.tank.as_str()),
                ("whole milk", "0304-A", "T2")
            );
            assert_eq!(run.quantity, Some((Decimal::whole(8561), VolumeUnit::Gallon)));
        }
    }

    #[test]
    fn mistakes_say_where() {
        for (text, message) in [
            ("start,product\n", "sheet.csv:1:1: the sheet needs a column \"end\""),
            ("start,end,product\n1,2,milk\n", "sheet.csv:2:1: \"1\" is no time"),
            (
                "start,end,product\n2026-03-04 05:20,2026-03-04 05:20,milk\n",
                "sheet.csv:2:2: the run ends before it starts",
            ),
            (
                "start,end,product\n2026-03-04 05:20,2026-03-04 06:20,\n",
                "sheet.csv:2:3: the run names",
            ),
            ("start,end,product,quantity\n", "needs its unit"),
            (
                "start,end,product,quantity (L)\n2026-03-04 05:20,2026-03-04 06:20,milk,much\n",
                "sheet.csv:2:4: \"much\" is not a number",
            ),
        ] {
            let error = read(text).map_or_else(|error| error.to_string(), |_| String::new());
            assert!(error.contains(message), "{text}: {error}");
        }
    }
}
