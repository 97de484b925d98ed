//! Ten files in ten shapes, each brought to a verdict in the window without a plant file and without a document
//! (tests/shapes, invented). What had to be answered stands with each.

#[expect(dead_code, reason = "a file is opened, and no sample run")]
mod common;

mod asked;

use asked::{press, says, type_into};

use common::{Setup, Window, open, settle};
use egui::accesskit::Role;
use egui_kittest::kittest::Queryable as _;
use std::path::PathBuf;

const UNITS: [&str; 2] = ["\u{b0}F", "psi"];

/// The temperature falls short a moment before the device diverts.
const ONE: &str = "1 exception (1 within the FDD's allowed response) in 4 min 00 s of forward flow; 1 observation to close";

/// Where no plant file says what is made, or what its product is held to, the strictest limit holds.
const STRICTEST: &str = "2 exceptions in 4 min 00 s of forward flow; 4 observations to close";

type Outcome = Result<(), Box<dyn std::error::Error>>;

fn shape(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../tests/shapes").join(name)
}

/// Opens a copy of the file in a folder of its own, and says what is asked beside the three names.
fn set_up(folder: &tempfile::TempDir, name: &str, answers: &[&str]) -> std::io::Result<Window> {
    let path = folder.path().join(name);
    std::fs::copy(shape(name), &path)?;
    let mut window = open(Setup { paths: vec![path], ..Setup::default() });
    // A unit is asked when the column is known.
    let asked = answers.iter().filter(|answer| !UNITS.contains(answer));
    let questions = format!("{} questions before {name} can be read", asked.count() + 3);
    assert!(says(&window, &questions), "{name}: not {questions}");
    for answer in answers {
        // `TAG is ROLE` is chosen in the list of columns, all else beside its question.
        if let Some((column, role)) = answer.split_once(" is ") {
            window.get_by_label(&format!("Used as: {column}")).click();
            window.run();
            press(&mut window, role);
        } else {
            // Several columns may have a unit to be said: that of the first question.
            let button = window.query_all_by_role_and_label(Role::Button, answer).next();
            button.unwrap_or_else(|| panic!("{name}: no {answer}")).click();
            settle(&mut window);
        }
    }
    type_into(&mut window, "The plant's name", "Example Dairy (invented)");
    type_into(&mut window, "The pasteurizer's name", "HTST-2");
    type_into(&mut window, "Time zone of the logger's clock", "America/Chicago");
    Ok(window)
}

fn reaches(name: &str, answers: &[&str], verdict: &str) -> Outcome {
    let folder = tempfile::tempdir()?;
    let mut window = set_up(&folder, name, answers)?;
    assert!(says(&window, &format!("{name} can be read")), "{name}");
    press(&mut window, "Save the plant file, open the day");
    let said = window.state().verdict().unwrap_or_default();
    assert!(said.starts_with(verdict), "{name}: {said}");
    Ok(())
}

#[test]
fn an_american_logger_needs_nothing_but_the_names() -> Outcome {
    reaches("01-us-logger.csv", &[], ONE)
}

/// Where the stamps say their offset, nothing is asked.
#[test]
fn stamps_with_an_offset_open_as_they_are() -> Outcome {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("offset.csv");
    let text = std::fs::read_to_string(shape("01-us-logger.csv"))?;
    let with_offset = text.replace("\nDate,Time,", "\nDate,Time (GMT-06:00),");
    assert_ne!(with_offset, text);
    std::fs::write(&path, with_offset)?;
    let window = open(Setup { paths: vec![path], ..Setup::default() });
    let said = window.state().verdict().unwrap_or_default();
    assert!(said.starts_with(STRICTEST), "{said}");
    Ok(())
}

#[test]
fn a_german_control_room_needs_the_words_of_the_device() -> Outcome {
    let answers = ["Vorlauf: forward", "Umlauf: divert"];
    reaches("02-german-scada.csv", &answers, ONE)
}

#[test]
fn short_tags_need_every_column() -> Outcome {
    let answers = [
        "holding temperature: TT204A",
        "raw pressure: PT201",
        "pasteurized pressure: PT202",
        "1: forward",
        "0: divert",
        "psi",
        "psi",
    ];
    reaches("03-tags.csv", &answers, ONE)
}

#[test]
fn a_historian_needs_the_sides_of_the_regenerator() -> Outcome {
    let answers =
        ["raw pressure: PAST2/PI101/PV", "pasteurized pressure: PAST2/PI102/PV", "psi", "psi"];
    reaches("04-historian.csv", &answers, ONE)
}

#[test]
fn a_french_file_needs_the_words_of_the_device() -> Outcome {
    let answers = ["Avant: forward", "Déviation: divert"];
    reaches("05-french.csv", &answers, ONE)
}

#[test]
fn position_switches_need_nothing_but_the_names() -> Outcome {
    reaches("06-switches.tsv.csv", &[], ONE)
}

#[test]
fn stamps_since_the_epoch_need_the_words_of_the_device() -> Outcome {
    reaches("07-epoch.csv", &["F: forward", "D: divert"], STRICTEST)
}

#[test]
fn a_spanish_file_needs_the_words_of_the_device() -> Outcome {
    reaches(
        "08-spanish.csv",
        &["Directo: forward", "Desvío: divert"],
        "No exception in 22 min 22 s of forward flow",
    )
}

#[test]
fn the_long_form_needs_the_sides_of_the_regenerator() -> Outcome {
    let answers = [
        "HTST.TEMP is holding temperature",
        "raw pressure: HTST.RAWP",
        "pasteurized pressure: HTST.PASTP",
        "\u{b0}F",
        "psi",
        "psi",
    ];
    reaches("09-long.csv", &answers, "No forward flow in 4 min 59 s of record")
}

/// Nothing tells on which day its other rows lie.
#[test]
fn a_printers_strip_is_refused() -> Outcome {
    let folder = tempfile::tempdir()?;
    let window = set_up(&folder, "10-strip.csv", &["time: Date Time"])?;
    assert!(says(&window, "10-strip.csv can't be read like this"));
    assert!(says(
        &window,
        "the date is only in some rows, as with merged cells or on a printer's strip"
    ));
    assert!(!folder.path().join("plant.toml").exists());
    Ok(())
}
