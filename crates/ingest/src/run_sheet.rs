//! Run sheets: a CSV of start, end, product, lot, destination tank and quantity.
//!
//! A sheet is written by people and is short, so it is read strictly: a cell that can't be
//! understood is an error with its line and column, never a guess.

use crate::error::Error;
use crate::written::{Written, bytes_of, instant, wrong};
use plant::Plant;
use std::path::Path;
use trace::{Decimal, DecimalMark, Instant, Interval, RunSheet, SheetRun, Toward, VolumeUnit};

/// What the file is called in messages.
const WHAT: &str = "sheet";

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
    parse_run_sheet(&path.display().to_string(), &bytes_of(path)?, plant)
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
    let written = Written::parse(file, bytes, WHAT)?;
    let columns = columns(&written)?;
    let mut runs = Vec::new();
    for (line, row) in &written.rows {
        let cell = |column: usize| row.get(column).unwrap_or_default();
        let wrong = |column, message: String| wrong(file, *line, column, message);
        let time = |column: usize, late: bool| {
            instant(cell(column), plant.zone, late).map_err(|message| wrong(column, message))
        };
        let (start, end) = (time(columns.start, false)?, time(columns.end, true)?);
        if end <= start {
            return Err(wrong(columns.end, "the run ends before it starts".to_owned()));
        }
        if cell(columns.product).is_empty() {
            return Err(wrong(columns.product, "the run names no product".to_owned()));
        }
        let quantity = match columns.quantity {
            Some((column, unit)) if !cell(column).is_empty() => {
                let mark = plant.form.decimal_mark.unwrap_or(DecimalMark::Dot);
                let value = Decimal::parse(cell(column).as_bytes(), mark, Toward::Down);
                Some((
                    value.map_err(|_not_a_decimal| {
                        wrong(column, format!("{:?} is not a number", cell(column)))
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
                    return Err(wrong(column, message));
                }
                if columns.tank.is_none_or(|tank| cell(tank).is_empty()) {
                    let message = "a tank was emptied, and the run names none".to_owned();
                    return Err(wrong(column, message));
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
            line: *line,
        });
    }
    if let Some(line) = too_many_at_once(&runs) {
        let message = format!(
            "more than {MOST_AT_ONCE} runs hold at the start of this one; correct starts and ends"
        );
        return Err(wrong(file, line, columns.start, message));
    }
    let mut source = written.source;
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

fn columns(written: &Written) -> Result<Columns, Error> {
    let find = |wanted: &[&str]| written.find(wanted);
    let quantity = match find(&["quantity", "volume"]) {
        None => None,
        Some(column) => {
            let name = written.names.get(column).map_or("", String::as_str);
            let unit = if name.contains("gal") {
                VolumeUnit::Gallon
            } else if name.contains("(l)") || name.contains("[l]") || name.contains("lit") {
                VolumeUnit::Litre
            } else {
                let message = format!(
                    "the column {name:?} needs its unit: \"quantity (gal)\" or \"quantity (L)\""
                );
                return Err(wrong(&written.source.name, 1, 0, message));
            };
            Some((column, unit))
        }
    };
    Ok(Columns {
        start: written.need("start", WHAT)?,
        end: written.need("end", WHAT)?,
        product: written.need("product", WHAT)?,
        lot: find(&["lot"]),
        tank: find(&["tank", "destination", "destination tank"]),
        quantity,
        emptied: find(&["emptied", "tank emptied"]),
    })
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
