//! The forms in which loggers write a day do not change what is found in it: columns in the files of two
//! loggers, rows only where something changed.

use analysis::Audit;
use ingest::{Input, Progress};
use plant::{Columns, FileForm, FilePattern, Logger, OnChange, Plant};
use tests::random::Choices;
use tests::specimen::Specimen;
use tests::table::{self, Dialect};
use tests::{containers, good};
use trace::{Duration, Role};

/// What only the leading logger may record.
const OF_LEADING: [Role; 5] = [Role::Valve, Role::Product, Role::Lot, Role::Mode, Role::ModeSwitch];

/// A specimen whose stamps a file can hold.
fn writable(seed: u64) -> Specimen {
    let mut specimen = Specimen::new(seed);
    specimen.start = 1_772_500_000_000 + (seed % 1000) as i64;
    table::limit_to_rows(&mut specimen);
    table::bind(&mut specimen, Dialect::PLAIN);
    specimen
}

fn audited(inputs: &[Input], plant: &Plant, context: &str) -> Audit {
    match ingest::read(inputs, plant, &Progress::default()) {
        Ok(read) => analysis::audit(&read.record, plant, Vec::new()),
        Err(error) => panic!("{context}: {error}"),
    }
}

fn bytes(name: &str, bytes: impl Into<Vec<u8>>) -> Input {
    Input::Bytes { name: name.to_owned(), bytes: bytes.into() }
}

/// The plant with these roles in the files of a second logger.
fn of_two_loggers(plant: &Plant, others: &[Role]) -> Plant {
    let logger = |name: &str, is_its: &dyn Fn(&Role) -> bool| {
        let mut columns = Columns { are_part: true, ..plant.columns.clone() };
        columns.roles.retain(|role, _| is_its(role));
        let files = FilePattern::new(&format!("*-{name}.csv"));
        Logger {
            name: name.to_owned(),
            files: files.unwrap_or_else(|| panic!("{name}")),
            form: FileForm::default(),
            columns,
            tolerance: Duration::from_milliseconds(1000),
            clock_ahead: 0,
        }
    };
    let loggers = vec![
        logger("one", &|role| !others.contains(role)),
        logger("two", &|role| others.contains(role)),
    ];
    Plant { loggers, ..plant.clone() }
}

#[test]
fn columns_in_the_files_of_two_loggers_are_the_record() {
    for seed in 60_000..60_400 {
        let specimen = writable(seed);
        let rows = table::stamped(&specimen);
        let file = table::write(&specimen, &rows, Dialect::PLAIN, seed);
        let context = format!("seed {seed}\n{specimen}");
        let expected = audited(&[bytes("day.csv", file.clone())], &specimen.plant, &context);
        let choices = &mut Choices::new(seed);
        let roles = specimen.plant.columns.roles.keys().copied();
        let others: Vec<Role> =
            roles.filter(|role| !OF_LEADING.contains(role) && choices.chance(1, 2)).collect();
        if others.is_empty() {
            continue;
        }
        let plant = of_two_loggers(&specimen.plant, &others);
        let inputs = [bytes("d-two.csv", file.clone()), bytes("d-one.csv", file)];
        let found = audited(&inputs, &plant, &context);
        assert_eq!(found.exceptions, expected.exceptions, "{context}");
        assert_eq!(found, expected, "{context}");
    }
}

/// The cells of a file.
fn cells(file: &[u8]) -> Vec<Vec<String>> {
    let mut reader = csv::ReaderBuilder::new().has_headers(false).flexible(true).from_reader(file);
    let line = |line: Result<csv::StringRecord, csv::Error>| {
        good(line).iter().map(ToOwned::to_owned).collect()
    };
    reader.records().map(line).collect()
}

/// A day reads back to the same audit out of whatever it lies in, or is refused; nothing third.
#[test]
fn what_a_day_lies_in_changes_nothing_that_is_found() {
    let (mut alike, mut refused) = (0, 0);
    for seed in 62_000..62_300 {
        let specimen = writable(seed);
        let rows = table::stamped(&specimen);
        let file = table::write(&specimen, &rows, Dialect::PLAIN, seed);
        let context = format!("seed {seed}\n{specimen}");
        let expected = audited(&[bytes("day.csv", file.clone())], &specimen.plant, &context);
        let cells = cells(&file);
        for (what, packed) in [
            ("archive", containers::archive(&[("day.csv", &file)])),
            ("workbook", containers::workbook(&cells)),
            ("OpenDocument", containers::open_document(&cells)),
            ("Parquet", Ok(containers::parquet(&cells))),
        ] {
            let input = bytes("day", good(packed));
            match ingest::read(&[input], &specimen.plant, &Progress::default()) {
                Ok(read) => {
                    let found = analysis::audit(&read.record, &specimen.plant, Vec::new());
                    assert_eq!(found, expected, "{what}, {context}");
                    alike += 1;
                }
                Err(error) => {
                    assert!(!error.to_string().is_empty(), "{what}, {context}");
                    refused += 1;
                }
            }
        }
    }
    assert!(alike > 1000, "{alike} alike, {refused} refused");
}

/// The cells of a file whose cells have no quotes; a blank one as something that can't be read, since a blank
/// cell of a logger that writes changes says something else.
fn without_blanks(file: &[u8]) -> Vec<Vec<String>> {
    let text = String::from_utf8_lossy(file);
    let cell = |cell: &str| if cell.trim().is_empty() { "?".to_owned() } else { cell.to_owned() };
    text.lines().map(|line| line.split(',').map(cell).collect()).collect()
}

fn joined(rows: &[Vec<String>]) -> String {
    rows.iter().map(|row| row.join(",") + "\n").collect()
}

#[test]
fn the_changes_of_a_day_are_the_record() {
    for seed in 61_000..61_300 {
        let mut specimen = writable(seed);
        for row in &mut specimen.rows {
            row.step = 1000;
        }
        let rows = table::stamped(&specimen);
        let file = table::write(&specimen, &rows, Dialect::PLAIN, seed);
        let mut whole = without_blanks(&file);
        let context = format!("seed {seed}\n{specimen}");
        let expected = audited(&[bytes("day.csv", joined(&whole))], &specimen.plant, &context);
        // What is as before is left out, but for every seventh second of each cell.
        let last = whole.len() - 1;
        let all = whole.clone();
        for (second, row) in whole.iter_mut().enumerate().skip(2) {
            for (column, cell) in row.iter_mut().enumerate().skip(1) {
                if all[second - 1][column] == *cell && !(second + column).is_multiple_of(7) {
                    cell.clear();
                }
            }
        }
        let mut second = 0;
        whole.retain(|row| {
            second += 1;
            second > last || row.iter().skip(1).any(|cell| !cell.is_empty())
        });
        let how = OnChange {
            longest_hold: Duration::from_milliseconds(7000),
            step: Duration::from_milliseconds(1000),
        };
        let mut plant = specimen.plant.clone();
        plant.form.on_change = Some(how);
        let found = audited(&[bytes("day.csv", joined(&whole))], &plant, &context);
        assert_eq!(found.exceptions, expected.exceptions, "{context}");
        assert_eq!(found, expected, "{context}");
    }
}
