//! What is done with bytes that anybody may have written. Each is a fuzz target, and a test runs all of
//! them over the corpora. They must end without a panic; what else must hold is said with each.

use case::Case;
use ingest::sheet::Sheet;
use ingest::{Input, Progress, read};
use plant::Plant;
use setup::Draft;

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

/// A file, read and audited: every record can be told, and every error says something.
fn audited(bytes: &[u8], plant: Plant) {
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

/// A gzip file, an archive, a workbook.
pub fn container(data: &[u8]) {
    audited(data, plant(PLANTS[0]));
}

/// A file that nobody has told how to read: a draft without a question is a plant file.
pub fn set_up(data: &[u8]) {
    let Ok(sheet) = Sheet::read(&input(data), &Progress::default()) else { return };
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

/// A journal, and the register of signers that its lines may be.
pub fn books(data: &[u8]) {
    let reading = journal::replay(data);
    drop(signers::Register::replay(&reading.lines));
}
