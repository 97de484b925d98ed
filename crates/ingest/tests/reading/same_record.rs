//! What must not change the record, and what must never happen.

use crate::support::{input, plant_in, read_all, show};
use ingest::{Input, Progress, read};
use plant::{DateOrder, Plant};
use proptest::prelude::*;
use std::io::{Cursor, Write as _};

/// One row of a made-up day.
#[derive(Debug, Clone)]
struct Row {
    /// Seconds after 05:00.
    second: u32,
    valve: usize,
    temperature: u32,
    raw: u32,
    pasteurized: u32,
    product: usize,
}

const VALVES: [&str; 5] = ["FWD", "DIV", "TRV", "", "?"];
const PRODUCTS: [&str; 4] = ["milk", "crème", "", "a \"b\""];

fn rows() -> impl Strategy<Value = Vec<Row>> {
    let row = (
        0_u32..300,
        0..VALVES.len(),
        1500_u32..1700,
        200_u32..300,
        200_u32..320,
        0..PRODUCTS.len(),
    )
        .prop_map(|(second, valve, temperature, raw, pasteurized, product)| Row {
            second,
            valve,
            temperature,
            raw,
            pasteurized,
            product,
        });
    prop::collection::vec(row, 1..40).prop_filter("positions that are refused", |rows| {
        let has = |word: &str| rows.iter().filter(|row| VALVES[row.valve] == word).count();
        has("?") * 2 <= rows.len() && has("?") + has("") < rows.len()
    })
}

/// In order of time; rows of one instant stay as they are.
fn in_order(mut rows: Vec<Row>) -> Vec<Row> {
    rows.sort_by_key(|row| row.second);
    rows
}

/// How a file is written.
#[expect(clippy::struct_excessive_bools, reason = "each is a form of its own")]
#[derive(Debug, Clone)]
struct Form {
    delimiter: usize,
    comma: bool,
    quotes: bool,
    line_end: usize,
    encoding: usize,
    stamps: usize,
    preamble: bool,
    units_row: bool,
    container: usize,
}

const DELIMITERS: [&str; 3] = [",", ";", "\t"];
const LINE_ENDS: [&str; 2] = ["\n", "\r\n"];

fn form() -> impl Strategy<Value = Form> {
    (
        (0..DELIMITERS.len(), any::<bool>(), any::<bool>(), 0..LINE_ENDS.len()),
        (0..5_usize, 0..7_usize, any::<bool>(), any::<bool>(), 0..3_usize),
    )
        .prop_map(|(cells, (encoding, stamps, preamble, units_row, container))| {
            let (delimiter, comma, quotes, line_end) = cells;
            Form {
                delimiter,
                comma,
                quotes,
                line_end,
                encoding,
                stamps,
                preamble,
                units_row,
                container,
            }
        })
}

const PLAIN: Form = Form {
    delimiter: 0,
    comma: false,
    quotes: false,
    line_end: 0,
    encoding: 0,
    stamps: 0,
    preamble: false,
    units_row: false,
    container: 0,
};

fn write(rows: &[Row], form: &Form) -> Vec<u8> {
    let delimiter = DELIMITERS[form.delimiter];
    let end = LINE_ENDS[form.line_end];
    let cell = |text: String| {
        if form.quotes || text.contains(delimiter) || text.contains('"') {
            format!("\"{}\"", text.replace('"', "\"\""))
        } else {
            text
        }
    };
    let number = |tenths: u32| {
        let mark = if form.comma { ',' } else { '.' };
        format!("{}{mark}{}", tenths / 10, tenths % 10)
    };
    let mut text = String::new();
    if form.preamble {
        text += "Day log of a plant that does not exist";
        text += end;
    }
    let two_columns = form.stamps == 6;
    let mut header: Vec<&str> = if two_columns { vec!["Date", "Time"] } else { vec!["Time"] };
    let units = if form.units_row {
        header.extend(["FDV", "Hold Temp", "Raw pressure", "Past pressure", "Product"]);
        let mut units = vec![""; header.len() - 4];
        units.extend(["degF", "psi", "psi", ""]);
        units
    } else {
        header.extend(["FDV", "Hold Temp (°F)", "Raw (psi)", "Past (psi)", "Product"]);
        Vec::new()
    };
    let mut add = |cells: Vec<String>| {
        text += &cells.into_iter().map(cell).collect::<Vec<_>>().join(delimiter);
        text += end;
    };
    add(header.into_iter().map(ToOwned::to_owned).collect());
    if !units.is_empty() {
        add(units.into_iter().map(ToOwned::to_owned).collect());
    }
    for row in rows {
        let (minute, second) = (row.second / 60, row.second % 60);
        let clock = format!("05:{minute:02}:{second:02}");
        let mut cells = match form.stamps {
            0 => vec![format!("2026-03-08 {clock}")],
            1 => vec![format!("2026-03-08T{clock}.000Z")],
            2 => vec![format!("2026-03-07T23:{minute:02}:{second:02}-06:00")],
            3 => vec![format!("08.03.2026 {clock}")],
            4 => vec![format!("3/8/2026 5:{minute:02}:{second:02} AM")],
            5 => vec![(1_772_946_000 + row.second).to_string()],
            _ => vec!["8-Mar-2026".to_owned(), clock],
        };
        cells.extend([
            VALVES[row.valve].to_owned(),
            number(row.temperature),
            number(row.raw),
            number(row.pasteurized),
            PRODUCTS[row.product].to_owned(),
        ]);
        add(cells);
    }
    let units = |mark: bool| {
        text.encode_utf16().collect::<Vec<_>>().into_iter().fold(
            if mark { vec![0xfeff] } else { Vec::new() },
            |mut all: Vec<u16>, unit| {
                all.push(unit);
                all
            },
        )
    };
    let bytes = match form.encoding {
        0 => text.into_bytes(),
        1 => format!("\u{feff}{text}").into_bytes(),
        2 => text.chars().map(|one| u8::try_from(u32::from(one)).unwrap_or(b'?')).collect(),
        3 => units(true).iter().flat_map(|unit| unit.to_le_bytes()).collect(),
        _ => units(false).iter().flat_map(|unit| unit.to_be_bytes()).collect(),
    };
    packed(bytes, form.container).unwrap_or_else(|error| panic!("{error}"))
}

/// As it is, as gzip, or in an archive.
fn packed(bytes: Vec<u8>, container: usize) -> std::io::Result<Vec<u8>> {
    match container {
        0 => Ok(bytes),
        1 => {
            let mut packed = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::fast());
            packed.write_all(&bytes)?;
            packed.finish()
        }
        _ => {
            let mut archive = zip::ZipWriter::new(Cursor::new(Vec::new()));
            archive.start_file("day.csv", zip::write::SimpleFileOptions::default())?;
            archive.write_all(&bytes)?;
            Ok(archive.finish()?.into_inner())
        }
    }
}

/// One reading a row, all of a time together or channel by channel.
fn in_long_form(rows: &[Row], by_channel: bool) -> String {
    let mut readings = Vec::new();
    for row in rows {
        let stamp = format!("2026-03-08 05:{:02}:{:02}", row.second / 60, row.second % 60);
        let tenths = |value: u32| format!("{}.{}", value / 10, value % 10);
        let product = format!("\"{}\"", PRODUCTS[row.product].replace('"', "\"\""));
        for (tag, reading) in [
            ("FDV", VALVES[row.valve].to_owned()),
            ("Hold Temp (\u{b0}F)", tenths(row.temperature)),
            ("Raw (psi)", tenths(row.raw)),
            ("Past (psi)", tenths(row.pasteurized)),
            ("Product", product),
        ] {
            readings.push((tag, format!("{stamp},{tag},{reading},192\n")));
        }
    }
    if by_channel {
        readings.sort_by_key(|(tag, _)| *tag);
    }
    let readings: String = readings.into_iter().map(|(_, line)| line).collect();
    format!("Time,Tag,Value,Quality\n{readings}")
}

/// The columns of [`PLAIN`], named.
const BOUND: &str = "[columns]\ntime = \"Time\"\nvalve = { column = \"FDV\" }\n\
    holding_temperature = { column = \"Hold Temp (\u{b0}F)\" }\n\
    raw_pressure = { column = \"Raw (psi)\" }\n\
    pasteurized_pressure = { column = \"Past (psi)\" }\nproduct = { column = \"Product\" }\n";
const LONG: &str = "[files.long]\ntag = \"Tag\"\nvalue = \"Value\"\nquality = \"Quality\"\n";

fn plant_for(form: &Form) -> Plant {
    let mut plant = plant_in("UTC", "");
    if form.stamps == 4 {
        plant.date_order = Some(DateOrder::MonthFirst);
    }
    plant
}

fn record(files: &[(&[Row], &Form)], plant: &Plant) -> String {
    let inputs: Vec<Input> = files
        .iter()
        .enumerate()
        .map(|(index, (rows, form))| input(&format!("{index}.csv"), write(rows, form)))
        .collect();
    show(&read_all(&inputs, plant).record)
}

proptest! {
    #[test]
    fn the_form_of_a_file_does_not_change_the_record(rows in rows(), form in form()) {
        let plain = record(&[(&rows, &PLAIN)], &plant_in("UTC", ""));
        prop_assert_eq!(record(&[(&rows, &form)], &plant_for(&form)), plain);
    }

    #[test]
    fn the_long_form_does_not_change_the_record(rows in rows(), by_channel in any::<bool>()) {
        let rows = in_order(rows);
        let wide = record(&[(&rows, &PLAIN)], &plant_in("UTC", BOUND));
        let long = input("long.csv", in_long_form(&rows, by_channel));
        let plant = plant_in("UTC", &format!("{LONG}{BOUND}"));
        prop_assert_eq!(show(&read_all(&[long], &plant).record), wide);
    }

    #[test]
    fn splitting_a_file_does_not_change_the_record(
        rows in rows(), first in 0_usize..40, second in 0_usize..40, turn in any::<bool>()
    ) {
        let rows = in_order(rows);
        let whole = record(&[(&rows, &PLAIN)], &plant_in("UTC", ""));
        let (first, second) = (first.min(second).min(rows.len()), first.max(second).min(rows.len()));
        let mut parts: Vec<(&[Row], &Form)> =
            [&rows[..first], &rows[first..second], &rows[second..]]
                .into_iter()
                .map(|part| (part, &PLAIN))
                .collect();
        if turn {
            parts.reverse();
        }
        prop_assert_eq!(record(&parts, &plant_in("UTC", "")), whole);
    }

    #[test]
    fn the_order_of_rows_of_one_instant_does_not_change_the_record(
        rows in rows(), seed in any::<u64>()
    ) {
        // Many rows of few instants.
        let rows = rows.into_iter().map(|row| Row { second: row.second % 10, ..row }).collect();
        let rows = in_order(rows);
        let whole = record(&[(&rows, &PLAIN)], &plant_in("UTC", ""));
        let mut shuffled = rows;
        let mut state = seed | 1;
        for index in (1..shuffled.len()).rev() {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            shuffled.swap(index, (state >> 33) as usize % (index + 1));
        }
        let shuffled = in_order(shuffled);
        prop_assert_eq!(record(&[(&shuffled, &PLAIN)], &plant_in("UTC", "")), whole);
    }

    #[test]
    fn any_bytes_are_read_or_refused(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
        let read = read(&[input("a.csv", &bytes)], &Plant::assumed(), &Progress::default());
        if let Err(error) = read {
            prop_assert!(!error.to_string().is_empty());
        }
    }

    #[test]
    fn any_damage_is_read_or_refused(
        rows in rows(), form in form(), damage in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..8),
        cut in any::<prop::sample::Index>(), chop in any::<bool>()
    ) {
        let mut bytes = write(&rows, &form);
        for (at, byte) in damage {
            let at = at.index(bytes.len());
            bytes[at] = byte;
        }
        if chop {
            bytes.truncate(cut.index(bytes.len()));
        }
        // Records that come of it obey their contract, or they could not have been made.
        let outcome = read(&[input("a.csv", &bytes)], &plant_for(&form), &Progress::default());
        if let Err(error) = outcome {
            prop_assert!(error.to_string().starts_with("a.csv"), "{}", error);
        }
    }

    #[test]
    fn lines_made_of_what_matters_are_read_or_refused(
        text in "(Time,FDV,Hold Temp \\(F\\),dP \\(psi\\)\n)?([0-9]{1,2}[:/.,;\"\t -]{1,2}|FWD|2026-03-08 0[0-9]:00:00|\n|\r|,|1e9|°|\u{feff}){0,60}"
    ) {
        let outcome = read(&[input("a.csv", &text)], &Plant::assumed(), &Progress::default());
        if let Err(error) = outcome {
            prop_assert!(error.to_string().starts_with("a.csv"), "{}", error);
        }
    }
}
