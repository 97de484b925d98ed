//! Rows that are read straight from the text, against the same rows cut into cells: a stamp in quotes means
//! the same (RFC 4180) and keeps a row from being read at once.

use crate::support::{input, observed, plant, show};
use ingest::{Progress, read};
use plant::Plant;
use proptest::prelude::*;
use proptest::sample::select;

/// What may stand in a row beside what stands in all others, by column.
const STAMPS: [&str; 16] = [
    "06:00:07.250",
    "06:00:07,5",
    "6:00:07",
    "24:00:00",
    "23:59:60",
    "06:00",
    "06:00:07 PM",
    "06:00:07Z",
    "06:00:07+02:00",
    "06:00:07 CST",
    " 06:00:07",
    "06:00:07 ",
    "06h00",
    "0a:00:00",
    "",
    "060007",
];
const DATES: [&str; 7] =
    ["2026-03-10", "2026-03-11", "2026-03-1", "10.03.2026", "", " 2026-03-10", "2026-02-30"];
const POSITIONS: [&str; 9] = ["FWD", "DIV", "FWD ", " DIV", "FWDX", "fwd", "", "?", "\"FWD\""];
const NUMBERS: [&str; 32] = [
    "161.2",
    "161.25",
    "161",
    "161.",
    ".5",
    "-0.5",
    "-0",
    "+1.5",
    " 161.2",
    "161.2 ",
    "161.2\t",
    "1e2",
    "161.2F",
    "",
    "  ",
    "-",
    ".",
    "---",
    "BAD",
    "161,2",
    "1612345678901234567",
    "123456789012345678",
    "0.123456789012345678",
    "000000000000000161.2",
    "99999",
    "-99999",
    "1.234.5",
    "\u{2212}2.5",
    "'161.2'",
    "=\"161.2\"",
    "\"161.2\"",
    "161 .2",
];
const WORDS: [&str; 8] =
    ["milk", "cream", "", " milk", "milk ", "\"milk\"", "cr\u{e8}me", "mi\"lk"];
const NOTES: [&str; 6] = ["", "x", "\"a,b\"", "\"open", "a\rb", "1.5"];
const SWITCHES: [&str; 6] = ["on", "off", "1", "", "ON ", "maybe"];

#[derive(Debug, Clone)]
struct Edit {
    row: usize,
    column: usize,
    text: &'static str,
}

fn edit() -> impl Strategy<Value = Edit> {
    let column = prop_oneof![
        (Just(0_usize), select(&DATES[..])),
        (Just(1), select(&STAMPS[..])),
        (Just(2), select(&POSITIONS[..])),
        (3_usize..6, select(&NUMBERS[..])),
        (3_usize..6, select(&NUMBERS[..])),
        (3_usize..6, select(&NUMBERS[..])),
        (Just(6), select(&SWITCHES[..])),
        (Just(7), select(&WORDS[..])),
        (Just(8), select(&NOTES[..])),
        // A cell too many, or a line end within the row.
        (3_usize..8, select(&["161.2,7", "\n", "\r\n", "161.2\r"][..])),
    ];
    (0_usize..60, column).prop_map(|(row, (column, text))| Edit { row, column, text })
}

#[derive(Debug, Clone)]
struct Form {
    apart: bool,
    semicolons: bool,
    line_end: &'static str,
    /// So many cells of each row are not written.
    lacks: usize,
}

fn form() -> impl Strategy<Value = Form> {
    let lacks = prop_oneof![4 => Just(0_usize), 1 => Just(1), 1 => Just(4)];
    (any::<bool>(), any::<bool>(), select(&["\n", "\r\n", "\r"][..]), lacks).prop_map(
        |(apart, semicolons, line_end, lacks)| Form { apart, semicolons, line_end, lacks },
    )
}

/// The file, its stamps in quotes or not.
fn file(form: &Form, edits: &[Edit], quoted: bool) -> String {
    let mut text = String::new();
    let mut line = |cells: &[String], is_row: bool| {
        let is_stamp =
            |cell: &str| cell.starts_with(|one: char| one.is_ascii_digit()) && !cell.contains(',');
        let quote = |cell: &str| {
            let mark = if quoted && is_row && is_stamp(cell) { "\"" } else { "" };
            [mark, cell, mark].concat()
        };
        let mut shown = if form.apart {
            vec![quote(&cells[0]), cells[1].clone()]
        } else {
            vec![quote(&format!("{} {}", cells[0], cells[1]))]
        };
        shown.extend_from_slice(&cells[2..cells.len() - if is_row { form.lacks } else { 0 }]);
        let joined = shown.join(",");
        text +=
            &if form.semicolons { joined.replace('.', "\u{1}").replace(',', ";") } else { joined };
        text += form.line_end;
    };
    let names = [
        "Date",
        "Time",
        "FDV",
        "Hold Temp (°F)",
        "Raw (psi)",
        "Past (psi)",
        "Timing pump",
        "Product",
        "Note",
    ];
    line(&names.map(str::to_owned), false);
    for row in 0..60 {
        let mut cells: Vec<String> = vec![
            "2026-03-10".to_owned(),
            format!("06:00:{row:02}"),
            (if row % 11 == 7 { "DIV" } else { "FWD" }).to_owned(),
            format!("16{}.{}", row % 3, row % 10),
            format!("24.{}", row * 7 % 10),
            format!("2{}.{}", row % 5 + 6, row % 9),
            "on".to_owned(),
            (if row < 30 { "milk" } else { "cream" }).to_owned(),
            "n".to_owned(),
        ];
        for edit in edits.iter().filter(|edit| edit.row == row) {
            edit.text.clone_into(&mut cells[edit.column]);
        }
        line(&cells, true);
    }
    text.replace('\u{1}', if form.semicolons { "," } else { "." })
}

/// All that came of a file.
fn outcome(text: &str, plant: &Plant) -> String {
    match read(&[input("a.csv", text)], plant, &Progress::default()) {
        Ok(read) => {
            let seen = observed(&read);
            format!("{}{seen:?}\n{:?}\n", show(&read.record), read.assumptions)
        }
        Err(error) => error.to_string(),
    }
}

fn plants() -> [Plant; 3] {
    ["", "decimal_mark = \",\"\n", "decimal_mark = \".\"\n"]
        .map(|mark| plant(&format!("[files]\n{mark}")))
}

/// The rows of a file with and without quotes around their stamps, after a first row.
fn same(header: &str, rows: &[&str], plant: &Plant) {
    let file = |quote: &str| {
        let mut text = format!("{header}\n");
        for row in rows {
            let (stamp, rest) = row.split_at(19);
            text += &[quote, stamp, quote, rest, "\n"].concat();
        }
        text
    };
    assert_eq!(outcome(&file(""), plant), outcome(&file("\""), plant), "{rows:?}");
}

#[test]
fn what_a_row_leaves_open_is_left_open() {
    const WORDS: &str = "Time,FDV,Hold Temp (°F),Raw (psi),Past (psi)";
    const SWITCHES: &str =
        "Time,FDV forward switch,FDV divert switch,Hold Temp (°F),Raw (psi),Past (psi)";
    let [plain, comma, _] = plants();
    // A comma parts cells here, where it also is the decimal mark of readings in quotes.
    same(
        WORDS,
        &[
            "2026-03-10 06:00:00,FWD,\"161,5\",\"24,1\",\"26,2\"",
            "2026-03-10 06:00:01,FWD,161,24,26",
            "2026-03-10 06:00:02,FWD,161,2,24,1,26,2",
            "2026-03-10 06:00:03,FWD,162,25,28",
        ],
        &comma,
    );
    // Only the last reading tells that none holds thousands.
    for last in ["11.37", "11.379", "11", "11\u{0}379"] {
        let last = format!("2026-03-10 06:00:03,FWD,161.2,24.1,26.2,{last}");
        same(
            &format!("{WORDS},Flow (L/h)"),
            &[
                "2026-03-10 06:00:00,FWD,161.2,24.1,26.2,11.379",
                "2026-03-10 06:00:01,FWD,161.2,24.1,26.3,11.380",
                &last,
            ],
            &plain,
        );
    }
    // The first reading out of range is told with its line.
    same(
        WORDS,
        &[
            "2026-03-10 06:00:00,FWD,161.2,24.1,26.2",
            "2026-03-10 06:00:01,FWD,99999.9,-99999.9,26.3",
            "2026-03-10 06:00:02,FWD,161.2,24.1,26.2",
        ],
        &plain,
    );
    // Both switches made at once.
    same(
        SWITCHES,
        &[
            "2026-03-10 06:00:00,1,0,161.2,24.1,26.2",
            "2026-03-10 06:00:01,0,1,161.2,24.1,26.2",
            "2026-03-10 06:00:02,1,1,161.2,24.1,26.2",
            "2026-03-10 06:00:03,1,0,161.2,24.1,26.2",
        ],
        &plain,
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn rows_read_at_once_are_those_read_cell_by_cell(
        form in form(),
        edits in prop::collection::vec(edit(), 0..10),
        plant in 0_usize..3,
    ) {
        let plant = &plants()[plant];
        let [plain, quoted] = [false, true].map(|quoted| file(&form, &edits, quoted));
        let (at_once, by_cell) = (outcome(&plain, plant), outcome(&quoted, plant));
        let first = at_once.lines().zip(by_cell.lines()).find(|(one, other)| one != other);
        prop_assert!(at_once == by_cell, "{first:#?}\n{plain}");
    }
}
