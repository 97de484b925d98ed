//! Data that other people published, through the same door as a logger's file. They have no valve, so that no
//! audit is made of them; what stands in their columns is what Python's csv module finds there
//! (tests/published/figures.csv).

use ingest::sheet::Sheet;
use ingest::{Input, Progress, preview};
use plant::Plant;
use std::path::PathBuf;
use tests::good;
use tests::program::{root, run};
use trace::{Channel, Instant, Reading, Unit};

fn path(name: &str) -> PathBuf {
    root().join("tests/published").join(name)
}

/// The rows of the table for a file: `file,name,rows,first,last`, then `number,column,numbers,least,greatest`.
fn figures(name: &str) -> (Vec<String>, Vec<Vec<String>>) {
    let mut table =
        good(csv::ReaderBuilder::new().has_headers(false).from_path(path("figures.csv")));
    let rows = table.records().map(|row| good(row).iter().map(str::to_owned).collect::<Vec<_>>());
    let mut rows = rows.skip_while(|row| row[0] != "file" || row[1] != name);
    let head = rows.next().unwrap_or_else(|| panic!("{name}"));
    (head, rows.take_while(|row| row[0] != "file").collect())
}

fn number(text: &str) -> f64 {
    text.parse().unwrap_or_else(|error| panic!("{text}: {error}"))
}

/// Its valid readings: how many, the least and the greatest.
fn span<U: Unit>(channel: &Channel<U>) -> (usize, f64, f64) {
    let readings = (0..channel.len()).filter_map(|sample| match channel.reading(sample) {
        Reading::Valid(value) => Some(value.to_f64()),
        Reading::Invalid(_) => None,
    });
    let span = (0, f64::INFINITY, f64::NEG_INFINITY);
    readings.fold(span, |(count, least, greatest), value| {
        (count + 1, least.min(value), greatest.max(value))
    })
}

#[test]
fn every_column_is_what_it_is_for_others() {
    for name in ["household-power.csv", "appliances-energy.csv"] {
        let sheet = good(Sheet::read(&Input::File(path(name)), &Progress::default()));
        let (head, columns) = figures(name);
        assert_eq!(sheet.rows.to_string(), head[2], "{name}");
        assert_eq!(sheet.columns.len(), columns.len(), "{name}");
        for (column, figures) in sheet.columns.iter().zip(&columns) {
            let [_, title, count, least, greatest] = figures.as_slice() else {
                panic!("{figures:?}")
            };
            assert_eq!((&column.name, &column.numbers.to_string()), (title, count), "{name}");
            let span = column.span.map(|(least, greatest)| [least, greatest]);
            let theirs = (!least.is_empty()).then(|| [number(least), number(greatest)]);
            assert_eq!(span, theirs, "{name}, {title}");
        }
    }
}

/// As a record, with columns bound to what they are not: instants and readings are those of the file.
#[test]
fn every_row_is_placed_where_others_place_it() {
    let household = "valve = { column = \"Sub_metering_2\" }\n\
         holding_temperature = { column = \"Global_intensity\", unit = \"degC\" }\n\
         differential_pressure = { column = \"Voltage\", unit = \"kPa\" }\n";
    let appliances = "valve = { column = \"WeekStatus\" }\n\
         holding_temperature = { column = \"T6\", unit = \"degC\" }\n\
         differential_pressure = { column = \"rv1\", unit = \"kPa\" }\n";
    for (name, time, columns, held, pressure) in [
        ("household-power.csv", "date = \"Date\"\ntime = \"Time\"\n", household, 5, 4),
        ("appliances-energy.csv", "time = \"date\"\n", appliances, 13, 27),
    ] {
        let plant = format!(
            "schema = 1\nplant = \"Nobody's (invented)\"\nunit = \"U\"\nzone = \"UTC\"\n\
             [files]\ndecimal_mark = \".\"\n[columns]\n{time}{columns}"
        );
        let plant = good(Plant::parse("plant.toml", &plant));
        let read = good(preview(&[Input::File(path(name))], &plant, &Progress::default()));
        let record = &read.record;
        let (head, figures) = figures(name);
        let instants = record.instants();
        assert_eq!(instants.len().to_string(), head[2], "{name}");
        let stamp = |instant: Option<&Instant>| instant.map(|&at| plant.zone.rfc3339(at));
        for (instant, theirs) in [(instants.first(), &head[3]), (instants.last(), &head[4])] {
            assert_eq!(stamp(instant), Some(format!("{theirs}.000+00:00")), "{name}");
        }
        let ours = [span(record.holding_temperature()), span(record.differential())];
        for (ours, column) in ours.into_iter().zip([held, pressure]) {
            let figures = &figures[column];
            let count = figures[2].parse().unwrap_or_default();
            assert_eq!(
                ours,
                (count, number(&figures[3]), number(&figures[4])),
                "{name}: {figures:?}"
            );
        }
    }
}

#[test]
fn no_audit_is_made_of_what_is_no_record_of_a_pasteurizer() {
    for name in ["household-power.csv", "appliances-energy.csv", "occupancy.csv"] {
        let path = path(name).display().to_string();
        let audit = run(&["audit", &path]);
        assert_eq!((audit.status, audit.output.as_str()), (Some(2), ""), "{name}");
        assert!(audit.complaint.contains("no column for"), "{name}: {}", audit.complaint);
        let setup = run(&["setup", &path]);
        assert_eq!(setup.status, Some(1), "{name}: {}", setup.complaint);
        let question = "required: Which column is the indicating thermometer at the outlet";
        assert!(setup.complaint.contains(question), "{name}: {}", setup.complaint);
    }
}

/// Its rows begin with a number that has no name in the header, so that each cell stands one place to the
/// right of its name: no cell may be taken for that of another column.
#[test]
fn rows_with_a_cell_more_than_the_header_are_not_read() {
    let name = "occupancy.csv";
    let plant = "schema = 1\nplant = \"Nobody's (invented)\"\nunit = \"U\"\nzone = \"UTC\"\n[columns]\n\
         time = \"date\"\nvalve = { column = \"Occupancy\", forward = [\"1\"], divert = [\"0\"] }\n\
         holding_temperature = { column = \"Temperature\", unit = \"degC\" }\n\
         differential_pressure = { column = \"CO2\", unit = \"kPa\" }\n";
    let plant = good(Plant::parse("plant.toml", plant));
    let read = ingest::read(&[Input::File(path(name))], &plant, &Progress::default());
    let error = read.err().map(|error| error.to_string()).unwrap_or_default();
    assert!(error.contains("occupancy.csv:2"), "{error}");
}
