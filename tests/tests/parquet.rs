//! A record is the same out of Parquet as out of text, whichever program wrote the file and however it is
//! packed and encoded. The writers are installed by `scripts/test.sh`.

use ingest::{Input, Progress};
use plant::Plant;
use std::fmt::Write as _;
use std::path::Path;
use std::process::Command;
use tests::good;
use tests::program::{Told, root, run};
use trace::{Reading, RunRecord};

const PLANT: &str =
    "schema = 1\nplant = \"Example Dairy (invented)\"\nunit = \"U\"\nzone = \"UTC\"\n";

/// The table of `tests/parquet_files.py` as a logger would write it.
fn as_text() -> String {
    let mut text = "Time,FDV,Hold temp (\u{b0}F),dP (psi),Flow (gal/min),Product,Lot\n".to_owned();
    for row in 0..300 {
        let (second, half) = (row / 2, if row % 2 == 1 { ".500" } else { "" });
        let valve = if row / 20 % 4 == 3 { "DIV" } else { "FWD" };
        let tenths = 1611 + row * 7 % 40;
        let held =
            if row % 50 == 7 { String::new() } else { format!("{}.{}", tenths / 10, tenths % 10) };
        let product = if row % 90 == 3 { "" } else { "whole milk" };
        good(writeln!(
            text,
            "2026-11-24 04:{:02}:{:02}{half},{valve},{held},{},{}.1,{product},0324-{}",
            second / 60,
            second % 60,
            row * 3 % 41 - 4,
            45 + row % 9,
            row / 100
        ));
    }
    text
}

fn plant(rest: &str) -> Plant {
    good(Plant::parse("plant.toml", &format!("{PLANT}{rest}")))
}

fn read(input: Input, plant: &Plant) -> Result<RunRecord, String> {
    let read = ingest::read(&[input], plant, &Progress::default());
    read.map(|read| read.record).map_err(|error| error.to_string())
}

/// Every sample of a record.
fn told(record: &RunRecord) -> String {
    let mut told = String::new();
    for (sample, instant) in record.instants().iter().enumerate() {
        good(write!(told, "{} {:?}", instant.unix_milliseconds(), record.valve()[sample]));
        for (role, channel) in record.channels() {
            let reading = match channel.reading(sample) {
                // 163.0 is 163.
                Reading::Valid(decimal) => decimal.to_f64().to_string(),
                Reading::Invalid(_) => "none".to_owned(),
            };
            good(write!(told, " {}={reading}{}", role.key(), channel.symbol()));
        }
        for text in [record.product(), record.lot(), record.mode()].into_iter().flatten() {
            good(write!(told, " {}", text.word(sample)));
        }
        told.push('\n');
    }
    told
}

#[test]
fn every_writer_and_every_way_gives_the_same_record() {
    let folder = good(tempfile::tempdir());
    let python = root().join("target/readers/bin/python");
    assert!(
        python.is_file(),
        "{} is not there: scripts/install-readers.sh makes it, as scripts/test.sh does",
        python.display()
    );
    let script = root().join("tests/parquet_files.py");
    let written: Told = good(Command::new(&python).arg(&script).arg(folder.path()).output()).into();
    assert_eq!(written.status, Some(0), "{written:#?}");
    let plant = plant("");
    let text = Input::Bytes { name: "day.csv".to_owned(), bytes: as_text().into_bytes() };
    let expected = told(&good(read(text, &plant)));
    assert_eq!(expected.lines().count(), 300);
    let mut alike = 0;
    for file in good(std::fs::read_dir(folder.path())) {
        let path = good(file).path();
        let name = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
        let outcome = read(Input::File(path), &plant);
        let refused = match name.as_str() {
            "nested" | "struct" => "whose column \"Pair\" has several values a row (it is nested)",
            "lz4" | "brotli" => "whose column \"Time\" is packed in a way that is not read",
            _ => {
                let record = outcome.unwrap_or_else(|error| panic!("{name}: {error}"));
                assert_eq!(told(&record), expected, "{name}");
                alike += 1;
                continue;
            }
        };
        let error = outcome.err().unwrap_or_default();
        assert!(error.contains(refused), "{name}: {error}");
    }
    assert_eq!(alike, 48);
}

/// The columns under which this program writes the channels of the sample days.
const OWN: &str = "[columns]
time = \"instant\"
valve = { column = \"valve\" }
holding_temperature = { column = \"holding_temperature_degf\", unit = \"degF\" }
raw_pressure = { column = \"raw_pressure_psi\", unit = \"psi\" }
pasteurized_pressure = { column = \"pasteurized_pressure_psi\", unit = \"psi\" }
recorder_temperature = { column = \"recorder_temperature_degf\", unit = \"degF\" }
flow_rate = { column = \"flow_rate_gpm\", unit = \"gal/min\" }
raw_temperature = { column = \"raw_temperature_degf\", unit = \"degF\" }
regenerated_temperature = { column = \"regenerated_temperature_degf\", unit = \"degF\" }
heating_water_temperature = { column = \"heating_water_temperature_degf\", unit = \"degF\" }
cooled_temperature = { column = \"cooled_temperature_degf\", unit = \"degF\" }
product = { column = \"product\" }
lot = { column = \"lot\" }
mode = { column = \"mode\" }
";

/// What this program writes it reads: a record as Parquet and back.
#[test]
fn a_record_that_was_written_is_read_back() {
    let folder = good(tempfile::tempdir());
    let own = good(std::fs::read_to_string(root().join("sample-runs/plant.toml")));
    let own = good(Plant::parse("plant.toml", &own));
    for day in ["2026-03-04-stuck-valve", "2026-03-17-dropouts-and-gaps"] {
        let csv = root().join("sample-runs").join(format!("{day}.csv"));
        let parquet = folder.path().join(format!("{day}.parquet"));
        let shown = |path: &Path| path.display().to_string();
        let written = run(&["tables", &shown(&csv), "--record", &shown(&parquet)]);
        assert_eq!(written.status, Some(1), "{written:#?}");
        let expected = good(read(Input::File(csv), &own));
        let back = good(read(Input::File(parquet), &plant(OWN)));
        assert_eq!(told(&back), told(&expected), "{day}");
    }
}
