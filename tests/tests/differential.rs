//! Numbers and stamps are read as others read them: numbers as the standard library reads floats, stamps as
//! chrono does. What must hold of one is said with the fuzz targets; here are more than a fuzzer tries that look
//! like numbers and stamps, and readings on their way through a file.

#[expect(dead_code, reason = "the corpora drive the others")]
#[path = "../fuzz/bodies.rs"]
mod bodies;

use ingest::{Input, Progress, read};
use plant::Plant;
use proptest::prelude::*;
use std::fmt::Write as _;
use trace::{Invalid, Reading};

const PLANT: &str = "schema = 1\nplant = \"Example Dairy (invented)\"\nunit = \"U\"\nzone = \"UTC\"\n\
                     [files]\ndecimal_mark = \".\"\n";

/// What may stand in the column of the holding temperature, mostly a number.
fn cell() -> impl Strategy<Value = String> {
    prop_oneof![
        4 => "[-+]?[0-9]{1,4}[.]?[0-9]{0,8}",
        2 => "[-+]?[0-9]{0,20}[.]?[0-9]{0,24}([eE][-+]?[0-9]{1,3})?",
        1 => "[-+.0-9eE ]{0,12}",
        1 => "[ -!#-+.-{}~]{0,8}",
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(4000))]

    #[test]
    fn a_number_is_the_float_that_the_standard_library_reads(cell in cell()) {
        bodies::numbers(cell.as_bytes());
    }

    #[test]
    fn a_stamp_is_the_instant_that_chrono_reads(
        (year, month, day) in (1980..2210_u32, 0..14_u32, 0..33_u32),
        (hour, minute, second) in (0..26_u32, 0..62_u32, 0..62_u32),
        (form, fraction, zone) in (0..9_u32, "([.][0-9]{1,9})?", "(Z|[-+](0[0-9]|1[0-4]):[0-5][0-9])?"),
    ) {
        let name = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]
            [month as usize % 12];
        let time = format!("{hour:02}:{minute:02}:{second:02}");
        let stamp = match form {
            0 => format!("{year}-{month:02}-{day:02} {time}{fraction}"),
            1 => format!("{year}/{month:02}/{day:02} {time}{fraction}"),
            2 => format!("{day:02}.{month:02}.{year} {time}{fraction}"),
            3 => format!("{day}-{name}-{year} {time}"),
            4 => format!("{name} {day}, {year} {}:{minute:02}:{second:02} PM", hour % 12),
            5 => format!("{year}-{:03}T{time}", month * 31 + day),
            6 => format!("{year}{month:02}{day:02} {time}"),
            _ => format!("{year}-{month:02}-{day:02}T{time}{fraction}{zone}"),
        };
        bodies::stamps(stamp.as_bytes());
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(100))]

    /// A reading of a file is the number of its cell, or says why there is none.
    #[test]
    fn a_reading_is_the_number_of_its_cell(cells in prop::collection::vec(cell(), 100)) {
        let mut file = "Time|FDV|Hold temp (\u{b0}F)|dP (psi)\n".to_owned();
        for (row, cell) in cells.iter().enumerate() {
            // Writing to a string can't fail.
            writeln!(file, "2026-03-08 05:{:02}:{:02}|DIV|{cell}|5.0", row / 60, row % 60)
                .unwrap_or_default();
        }
        let plant = Plant::parse("p", PLANT).unwrap_or_else(|error| panic!("{error}"));
        let input = Input::Bytes { name: "f.csv".to_owned(), bytes: file.into_bytes() };
        let read = read(&[input], &plant, &Progress::default());
        let read = read.unwrap_or_else(|error| panic!("{error}"));
        let channel = read.record.holding_temperature();
        prop_assert_eq!(channel.len(), cells.len());
        for (row, cell) in cells.iter().enumerate() {
            let cell = cell.trim();
            let float = cell.parse::<f64>().ok().filter(|_| !cell.contains(['n', 'N']));
            match (channel.reading(row), float) {
                (Reading::Valid(read), Some(float)) => {
                    // What a channel can't hold of its digits is cut, downwards.
                    let near = (float - read.to_f64()).abs() <= 1e-12 * float.abs();
                    prop_assert!(near && (32.0..=230.0).contains(&float), "{}: {}", cell, read);
                }
                // `''` is a cell in apostrophes with nothing in it.
                (Reading::Invalid(Invalid::Blank), None) => {
                    prop_assert!(matches!(cell, "" | "''"), "{}", cell);
                }
                // `161.2 F` and `'161.2'` are numbers of a cell, and none for the standard library.
                (Reading::Valid(_), None) => {
                    let is_wrapped = cell.starts_with(['\'', '=']) || cell.ends_with(['F', 'f']);
                    prop_assert!(is_wrapped, "{}", cell);
                }
                (Reading::Invalid(Invalid::NotANumber), None) => {}
                (Reading::Invalid(Invalid::OutOfRange), float) => {
                    prop_assert!(float.is_none_or(|float| !(32.0..=230.0).contains(&float)), "{}", cell);
                }
                (reading, float) => prop_assert!(false, "{}: {:?}, {:?}", cell, reading, float),
            }
        }
    }
}
