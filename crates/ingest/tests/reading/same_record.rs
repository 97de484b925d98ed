//! What must not change the record, and what must never happen.

use crate::containers;
use crate::support::{input, plant_in, read_all, show};
use ingest::{Input, Progress, read};
use plant::{DateOrder, Plant};
use proptest::prelude::*;
use std::io::Write as _;

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
    /// By its place in [`UNITS`].
    units: usize,
    said: Said,
    container: usize,
    /// One reading a row.
    long: bool,
}

/// Where the units stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Said {
    Header,
    /// Below the header.
    Row,
    /// And in the header.
    Cells,
}

/// Of temperatures and pressures.
const UNITS: [(&str, &str); 5] =
    [("°F", "psi"), ("degC", "kPa"), ("°C", "bar"), ("°F", "mbar"), ("°C", "MPa")];
const DELIMITERS: [&str; 4] = [",", ";", "\t", "|"];
const LINE_ENDS: [&str; 3] = ["\n", "\r\n", "\r"];

fn form() -> impl Strategy<Value = Form> {
    let said = prop_oneof![Just(Said::Header), Just(Said::Row), Just(Said::Cells)];
    (
        (0..DELIMITERS.len(), any::<bool>(), any::<bool>(), 0..LINE_ENDS.len()),
        (0..5_usize, 0..7_usize, any::<bool>(), 0..UNITS.len(), said, 0..=PARQUET),
    )
        .prop_map(|(cells, (encoding, stamps, preamble, units, said, container))| {
            let (delimiter, comma, quotes, line_end) = cells;
            Form {
                delimiter,
                comma,
                quotes,
                line_end,
                encoding,
                stamps,
                preamble,
                units,
                said,
                container,
                long: false,
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
    units: 0,
    said: Said::Header,
    container: 0,
    long: false,
};

/// From here on a file has no dialect: its cells are stored. The next is a spreadsheet of OpenDocument, the last
/// a Parquet file.
const WORKBOOK: usize = 3;
const PARQUET: usize = 5;

/// The names of the columns behind the stamp, in the units of a form.
fn names(form: &Form) -> [String; 5] {
    let (temperature, pressure) = UNITS[form.units];
    let name = |name: &str, unit: &str| match form.said {
        Said::Row => name.to_owned(),
        Said::Header | Said::Cells => format!("{name} ({unit})"),
    };
    [
        "FDV".to_owned(),
        name("Hold Temp", temperature),
        name("Raw pressure", pressure),
        name("Past pressure", pressure),
        "Product".to_owned(),
    ]
}

/// The cells of a file, line by line.
fn table(rows: &[Row], form: &Form) -> Vec<Vec<String>> {
    let (temperature, pressure) = UNITS[form.units];
    let number = |tenths: u32, unit: &str| {
        // A workbook drops a zero behind the mark.
        let tenths = tenths | 1;
        let mark = if form.comma && form.container < WORKBOOK { ',' } else { '.' };
        let unit = if form.said == Said::Cells { format!(" {unit}") } else { String::new() };
        format!("{}{mark}{}{unit}", tenths / 10, tenths % 10)
    };
    let stamp_names: &[&str] = if form.stamps == 6 { &["Date", "Time"] } else { &["Time"] };
    let stamp_names = stamp_names.iter().map(|name| (*name).to_owned());
    let mut table = Vec::new();
    // Nothing stands above a table that is stored as one.
    if form.preamble && form.container != PARQUET {
        table.push(vec!["Day log of a plant that does not exist".to_owned()]);
    }
    if form.long {
        let columns = ["Tag", "Value", "Quality"].map(str::to_owned);
        table.push(stamp_names.clone().chain(columns).collect());
    } else {
        table.push(stamp_names.clone().chain(names(form)).collect());
    }
    if form.said == Said::Row {
        let blanks = stamp_names.map(|_| String::new());
        let units = ["", temperature, pressure, pressure, ""].map(str::to_owned);
        table.push(blanks.chain(units).collect());
    }
    for row in rows {
        let (minute, second) = (row.second / 60, row.second % 60);
        let clock = format!("05:{minute:02}:{second:02}");
        let stamp = match form.stamps {
            0 => vec![format!("2026-03-08 {clock}")],
            1 => vec![format!("2026-03-08T{clock}.000Z")],
            2 => vec![format!("2026-03-07T23:{minute:02}:{second:02}-06:00")],
            3 => vec![format!("08.03.2026 {clock}")],
            4 => vec![format!("3/8/2026 5:{minute:02}:{second:02} AM")],
            5 => vec![(1_772_946_000 + row.second).to_string()],
            _ => vec!["8-Mar-2026".to_owned(), clock],
        };
        // Half as many degrees Celsius are in the range of an instrument, too.
        let degrees = if temperature.ends_with('C') { 2 } else { 1 };
        let readings = [
            VALVES[row.valve].to_owned(),
            number(row.temperature / degrees, temperature),
            number(row.raw, pressure),
            number(row.pasteurized, pressure),
            PRODUCTS[row.product].to_owned(),
        ];
        if form.long {
            for (tag, reading) in names(form).into_iter().zip(readings) {
                let cells = [tag, reading, "192".to_owned()];
                table.push(stamp.iter().cloned().chain(cells).collect());
            }
        } else {
            table.push(stamp.into_iter().chain(readings).collect());
        }
    }
    table
}

fn write(rows: &[Row], form: &Form) -> Vec<u8> {
    let table = table(rows, form);
    let stored = match form.container {
        0..WORKBOOK => None,
        WORKBOOK => Some(containers::workbook(&table)),
        PARQUET => Some(Ok(containers::parquet(&table))),
        _ => Some(containers::open_document(&table)),
    };
    if let Some(stored) = stored {
        return stored.unwrap_or_else(|error| panic!("{error}"));
    }
    let delimiter = DELIMITERS[form.delimiter];
    let mut text = String::new();
    for line in table {
        let is_remark = line.len() == 1;
        let cell = |text: String| {
            if !is_remark && form.quotes || text.contains(delimiter) || text.contains('"') {
                format!("\"{}\"", text.replace('"', "\"\""))
            } else {
                text
            }
        };
        text += &line.into_iter().map(cell).collect::<Vec<_>>().join(delimiter);
        text += LINE_ENDS[form.line_end];
    }
    let units = |mark: bool| {
        let mark = mark.then_some(0xfeff);
        mark.into_iter().chain(text.encode_utf16()).collect::<Vec<u16>>()
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
        _ => containers::archive(&[("day.csv", &bytes)]),
    }
}

const LONG: &str = "[files.long]\ntag = \"Tag\"\nvalue = \"Value\"\nquality = \"Quality\"\n";

/// The columns of a form, by their names.
fn bound(form: &Form) -> String {
    let [valve, held, raw, pasteurized, product] = names(form);
    let date = if form.stamps == 6 { "date = \"Date\"\n" } else { "" };
    format!(
        "[columns]\n{date}time = \"Time\"\nvalve = {{ column = \"{valve}\" }}\n\
         holding_temperature = {{ column = \"{held}\" }}\nraw_pressure = {{ column = \"{raw}\" }}\n\
         pasteurized_pressure = {{ column = \"{pasteurized}\" }}\nproduct = {{ column = \"{product}\" }}\n"
    )
}

fn plant_for(form: &Form) -> Plant {
    let mut plant = plant_in("UTC", "");
    if form.stamps == 4 {
        plant.form.date_order = Some(DateOrder::MonthFirst);
    }
    plant
}

fn inputs(files: &[(&[Row], &Form)]) -> Vec<Input> {
    let input = |(index, (rows, form)): (usize, &(&[Row], &Form))| {
        input(&format!("{index}.csv"), write(rows, form))
    };
    files.iter().enumerate().map(input).collect()
}

fn record(files: &[(&[Row], &Form)], plant: &Plant) -> String {
    show(&read_all(&inputs(files), plant).record)
}

proptest! {
    /// Whatever the form, and in up to three files of a form each; only dates whose order would have to be
    /// another one in each file are refused.
    #[test]
    fn the_form_of_files_does_not_change_the_record(
        rows in rows(), mut forms in prop::collection::vec(form(), 3),
        (first, second, turn) in (0_usize..40, 0_usize..40, any::<bool>())
    ) {
        let units = forms[0].units;
        for form in &mut forms {
            form.units = units;
        }
        let rows = in_order(rows);
        let plain = record(&[(&rows, &Form { units, ..PLAIN })], &plant_in("UTC", ""));
        let (first, second) = (first.min(second).min(rows.len()), first.max(second).min(rows.len()));
        let parts = [&rows[..first], &rows[first..second], &rows[second..]];
        let mut parts: Vec<(&[Row], &Form)> =
            parts.into_iter().zip(&forms).filter(|(rows, _)| !rows.is_empty()).collect();
        if turn {
            parts.reverse();
        }
        let has = |stamps: usize| parts.iter().find(|(_, form)| form.stamps == stamps);
        let plant = plant_for(has(4).map_or(&PLAIN, |(_, form)| form));
        match read(&inputs(&parts), &plant, &Progress::default()) {
            Ok(read) => prop_assert_eq!(show(&read.record), plain),
            Err(error) => prop_assert!(has(3).is_some() && has(4).is_some(), "{}", error),
        }
    }

    #[test]
    fn the_long_form_does_not_change_the_record(
        rows in rows(), form in form(), by_channel in any::<bool>()
    ) {
        let rows = in_order(rows);
        let form = Form { said: Said::Header, long: true, ..form };
        let plain = Form { units: form.units, ..PLAIN };
        let wide = record(&[(&rows, &plain)], &plant_in("UTC", &bound(&plain)));
        let mut plant = plant_in("UTC", &format!("{LONG}{}", bound(&form)));
        plant.form.date_order = plant_for(&form).form.date_order;
        prop_assert_eq!(&record(&[(&rows, &form)], &plant), &wide);
        if by_channel {
            let long = String::from_utf8_lossy(&write(&rows, &Form { long: true, ..plain.clone() })).into_owned();
            let (header, readings) = long.split_once('\n').unwrap_or_default();
            let mut readings: Vec<&str> = readings.lines().collect();
            readings.sort_by_key(|reading| reading.split(',').nth(1));
            let file = input("long.csv", format!("{header}\n{}\n", readings.join("\n")));
            let plant = plant_in("UTC", &format!("{LONG}{}", bound(&plain)));
            prop_assert_eq!(show(&read_all(&[file], &plant).record), wide);
        }
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
