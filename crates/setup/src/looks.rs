//! What a column looks like by its readings alone. Only what no other column looks like is
//! proposed; which of two pressures is the raw side is never guessed, since the wrong way round
//! would hide what must not happen.

use crate::draft::{Draft, Part};
use crate::reads::{middle, reads_as_held, together};
use crate::sheets::Sheets;
use ingest::sheet::SheetColumn;
use plant::AnyUnit;
use trace::{Quantity, Role};

/// A device has so many words for its positions at most: three, and one for a bad reading.
const MOST_POSITIONS: usize = 4;

/// Each with each other is compared for so many columns (ours); of more none is offered.
const MOST_COMPARED: usize = 64;

/// Curves that move together have at least this correlation (ours).
const TOGETHER: f64 = 0.8;

/// The columns that look like a part of the audit that no name gave, and why.
pub(crate) fn by_readings(sheets: &Sheets, draft: &Draft) -> Vec<(usize, Role, String)> {
    let mut found = Vec::new();
    if !has_position(draft)
        && let [only] = candidates(sheets, draft, Role::Valve).as_slice()
        && let Some(column) = sheets.columns.get(*only)
    {
        let words: Vec<&str> = column.words.iter().map(|(word, _)| word.as_str()).collect();
        let why = format!("the only column with nothing but the words {}", words.join(", "));
        found.push((*only, Role::Valve, why));
    }
    if !draft.has(Role::HoldingTemperature)
        && let [only] = candidates(sheets, draft, Role::HoldingTemperature).as_slice()
        && let Some(middle) = sheets.columns.get(*only).and_then(middle)
    {
        let why = format!("the only column that reads around {middle:.0} for most of the file");
        found.push((*only, Role::HoldingTemperature, why));
    }
    found
}

/// Whether the draft says where the flow diversion device is.
pub(crate) fn has_position(draft: &Draft) -> bool {
    draft.has(Role::Valve) || draft.has(Role::ValveForward) || draft.has(Role::ValveDivert)
}

/// The columns that could play a role by their readings, of those that play none.
pub(crate) fn candidates(sheets: &Sheets, draft: &Draft, role: Role) -> Vec<usize> {
    let free = |index: &usize| {
        draft.columns.get(*index).is_some_and(|column| column.part == Part::Unused)
            && sheets
                .columns
                .get(*index)
                .is_some_and(|column| column.stamp.is_none() && column.is_named)
    };
    let fits = |index: &usize| {
        sheets.columns.get(*index).is_some_and(|column| match role {
            Role::Valve => is_of_few_words(column),
            Role::HoldingTemperature => reads_as_held(column).is_some(),
            // A thermometer of the tube is no pressure.
            _ => {
                fits_quantity(column, role)
                    && column.is_numeric()
                    && (column.unit.is_some() || reads_as_held(column).is_none())
            }
        })
    };
    let columns: Vec<usize> = (0..sheets.columns.len()).filter(free).filter(fits).collect();
    if role.quantity() != Quantity::Pressure {
        return columns;
    }
    if columns.len() > MOST_COMPARED {
        return Vec::new();
    }
    // Of many columns the pressures on both sides of a regenerator are those that move together.
    let moves = |&one: &usize| {
        columns.iter().any(|&other| other != one && together(sheets, one, other) > TOGETHER)
    };
    let moving: Vec<usize> = columns.iter().copied().filter(moves).collect();
    if moving.len() > 1 { moving } else { columns }
}

/// Whether a column's unit, if it says one, is one of the role's quantity.
fn fits_quantity(column: &SheetColumn, role: Role) -> bool {
    column.unit.is_none_or(|unit| AnyUnit::from_word(role, unit.symbol()).is_some())
}

/// Whether a column has the words of a device, or 0 and 1.
fn is_of_few_words(column: &SheetColumn) -> bool {
    (2..=MOST_POSITIONS).contains(&column.words.len())
        && !column.more_words
        && column.unit.is_none()
        && column.suggested.is_none_or(|(role, _)| role == Role::Valve)
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use ingest::sheet::Sheet;
    use ingest::{Input, Progress};
    use std::fmt::Write as _;

    /// A file of a header with made-up rows: a stamp, words under names of a device, numbers.
    pub(crate) fn sheet(header: &str) -> Sheets {
        let delimiter = if header.contains(';') { ";" } else { "," };
        let mut file = format!("{header}\n");
        for row in 0..9 {
            let cells = header.split(delimiter).enumerate().map(|(column, name)| {
                let name = name.to_lowercase();
                if column == 0 {
                    format!("2026-11-03 01:00:0{row}")
                } else if ["fdv", "valv", "vanne", "ventil"].iter().any(|word| name.contains(word))
                {
                    if row < 5 { "FWD" } else { "DIV" }.to_owned()
                } else {
                    format!("{}.5", 12 + row % 3)
                }
            });
            file.push_str(&cells.collect::<Vec<_>>().join(delimiter));
            file.push('\n');
        }
        of(&file)
    }

    pub(crate) fn of(file: &str) -> Sheets {
        let input = Input::Bytes { name: "f.csv".to_owned(), bytes: file.as_bytes().to_vec() };
        let read = Sheet::read(&input, &Progress::default());
        Sheets::of(read.unwrap_or_else(|error| panic!("{error}")))
    }

    /// Short tags: a thermometer of the tube, two pressures that move together, hot water, a device.
    pub(crate) fn tags(rows: usize) -> String {
        let mut file = "TS,TT1,TT2,PT1,PT2,XV9\n".to_owned();
        for row in 0..rows {
            let swing = (row as f64 / 7.0).sin();
            let _written = writeln!(
                file,
                "2026-11-03 01:{:02}:{:02},{:.1},{:.1},{:.1},{:.1},{}",
                row / 60,
                row % 60,
                163.0 + swing / 3.0,
                100.0 + 3.0 * (row as f64 / 3.0).cos(),
                20.0 + swing,
                26.0 + 1.1 * swing,
                u8::from(row < rows / 2),
            );
        }
        file
    }

    #[test]
    fn short_tags_are_known_by_what_they_read() {
        let sheet = of(&tags(300));
        let draft = Draft::of(&sheet);
        assert_eq!(draft.column(Part::Time), Some(0));
        assert_eq!(draft.column(Part::Role(Role::HoldingTemperature)), Some(1));
        assert_eq!(draft.column(Part::Role(Role::Valve)), Some(5));
        // What 0 and 1 mean nobody knows but the plant, nor which pressure is the raw side.
        assert!(draft.columns[5].words.iter().all(|word| word.meaning.is_none()));
        assert!(!draft.has(Role::RawPressure) && !draft.has(Role::PasteurizedPressure));
        assert_eq!(candidates(&sheet, &draft, Role::RawPressure), [3, 4]);
    }

    /// An export of a whole plant has thousands of channels, and all are asked about with every answer.
    #[test]
    fn thousands_of_columns_are_not_compared_with_each_other() {
        let names: String = (0..3000).map(|column| format!(",C{column}")).collect();
        let row = |row: usize| {
            let cells: String =
                (0..3000).map(|cell| format!(",{}", (cell * 7 + row * row) % 97)).collect();
            format!("2026-11-03 01:00:{row:02}{cells}\n")
        };
        let sheet = of(&format!("TS{names}\n{}", (0..40).map(row).collect::<String>()));
        let draft = Draft::of(&sheet);
        assert!(candidates(&sheet, &draft, Role::RawPressure).is_empty());
        assert!(draft.questions(&sheet).len() > 4);
    }

    #[test]
    fn two_thermometers_that_read_alike_are_not_guessed_at() {
        let file = tags(300).replace("TS,", "TS,TX,").replace("01:00:00,", "01:00:00,163,");
        let rows = file.lines().map(|line| match line.split_once(',') {
            Some((stamp, rest)) if stamp != "TS" && !rest.starts_with("163,") => {
                format!("{stamp},163.{},{rest}", rest.len() % 10)
            }
            _ => line.to_owned(),
        });
        let sheet = of(&format!("{}\n", rows.collect::<Vec<_>>().join("\n")));
        let draft = Draft::of(&sheet);
        assert!(!draft.has(Role::HoldingTemperature));
        assert_eq!(candidates(&sheet, &draft, Role::HoldingTemperature), [1, 2]);
    }
}
