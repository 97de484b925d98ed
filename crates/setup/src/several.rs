//! Which files are of one record: those with the same columns, and those whose columns complement each other,
//! which several loggers wrote.

use crate::draft::{Draft, Part};
use crate::looks::has_position;
use crate::sheets::Sheets;
use ingest::sheet::{Sheet, SheetColumn};
use ingest::{Error, Input, Progress};
use trace::Role;

impl Sheets {
    /// Looks at the files of a record. Those with the same columns are one logger's.
    ///
    /// # Errors
    /// As [`Sheet::read`]; [`Error::OtherColumns`] where files with other columns do not complement each other:
    /// two have all of a record, or one has nothing of it. [`Error::NoInput`] without a file.
    pub fn look(inputs: &[Input], progress: &Progress) -> Result<Self, Error> {
        let mut loggers: Vec<Self> = Vec::new();
        for input in inputs {
            let sheet = Sheet::read(input, progress)?;
            let is_same = |known: &&mut Self| {
                let names = |columns: &[SheetColumn]| -> Vec<String> {
                    columns.iter().map(|column| column.name.clone()).collect()
                };
                names(&known.columns) == names(&sheet.columns)
            };
            match loggers.iter_mut().find(is_same).and_then(|known| known.loggers.first_mut()) {
                Some(known) => known.files.push(sheet.file),
                None => loggers.push(Self::of(sheet)),
            }
        }
        if loggers.len() > 1 {
            let is_whole = |one: &Self| has_all(&Draft::of(one));
            let whole: Vec<&Self> = loggers.iter().filter(|one| is_whole(one)).collect();
            let alien = loggers.iter().find(|one| !one.has_any());
            let pair = match (whole.as_slice(), alien) {
                ([first, second, ..], _) => Some((*second, *first)),
                (_, Some(alien)) => {
                    loggers.iter().find(|one| one.has_any()).map(|one| (alien, one))
                }
                _ => None,
            };
            if let Some((other, first)) = pair {
                return Err(Error::OtherColumns { file: other.file(), first: first.file() });
            }
        }
        loggers.into_iter().reduce(Self::with).ok_or(Error::NoInput)
    }
}

/// Whether a draft has all that an audit needs.
fn has_all(draft: &Draft) -> bool {
    let has = |role| draft.column(Part::Role(role)).is_some();
    has_position(draft)
        && has(Role::HoldingTemperature)
        && (has(Role::DifferentialPressure)
            || (has(Role::RawPressure) && has(Role::PasteurizedPressure)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn look(files: &[(&str, &str)]) -> Result<Sheets, String> {
        let inputs: Vec<Input> = files
            .iter()
            .map(|(name, text)| Input::Bytes {
                name: (*name).to_owned(),
                bytes: text.as_bytes().to_vec(),
            })
            .collect();
        Sheets::look(&inputs, &Progress::default()).map_err(|error| error.to_string())
    }

    #[test]
    fn files_with_the_same_columns_are_of_one_logger() {
        let rows = "\n2026-11-03 01:00:00,1\n";
        let same = look(&[("a", &format!("t,T{rows}")), ("b", &format!("t,T{rows}"))]);
        let loggers = same.map(|sheets| sheets.loggers);
        let loggers = loggers.unwrap_or_else(|error| panic!("{error}"));
        assert_eq!((loggers.len(), loggers[0].files.clone()), (1, vec!["a".into(), "b".into()]));
        assert!(look(&[]).is_err());
    }

    #[test]
    fn columns_that_complement_each_other_are_of_several_loggers() {
        let temperatures = "Time,FDV,Hold Temp (\u{b0}F)\n2026-11-03 01:00:00,FWD,163\n";
        let pressures = "Stamp,dP (psi)\n2026-11-03 01:00:00,5\n";
        let both = look(&[("t", temperatures), ("p", pressures)]);
        let both = both.unwrap_or_else(|error| panic!("{error}"));
        assert_eq!((both.loggers.len(), both.columns.len(), both.logger_of(3)), (2, 5, 1));
        assert_eq!(both.first_cells_of(4).collect::<Vec<_>>(), [(2, "5")]);
    }

    #[test]
    fn two_that_have_all_of_a_record_are_no_record_together() {
        let one = "Time,FDV,Hold Temp (\u{b0}F),dP (psi)\n2026-11-03 01:00:00,FWD,163,5\n";
        let other = one.replace("dP", "DP");
        let expected = "b: its columns are not those of a; set up each by itself";
        assert_eq!(look(&[("a", one), ("b", &other)]).err().as_deref(), Some(expected));
        // Nor is a file that has nothing of a record.
        let notes: String =
            (0..30).map(|row| format!("2026-11-03 01:00:00,note {row}\n")).collect();
        let notes = format!("Time,Note\n{notes}");
        assert_eq!(look(&[("a", one), ("b", &notes)]).err().as_deref(), Some(expected));
    }

    /// Two loggers with clocks and steps of their own make one record by the draft.
    #[test]
    fn several_loggers_are_drafted_joined_and_read() {
        let rows = |row: &dyn Fn(u32) -> String, step: usize| -> String {
            (0..60).step_by(step).map(row).collect()
        };
        let row = |second: u32| format!("2026-03-04 06:00:{second:02},FWD,163.4\n");
        let temperatures = format!("Time,FDV,Hold Temp (\u{b0}F)\n{}", rows(&row, 1));
        let row = |second: u32| format!("04.03.2026 06:00:{second:02};20,1;26,4\n");
        let pressures = format!("Stamp;Raw (psi);Past (psi)\n{}", rows(&row, 2));
        let names = ["2026-03-04-pressures.csv", "2026-03-04-controller.csv"];
        let files = [(names[0], pressures.as_str()), (names[1], temperatures.as_str())];
        let sheets = look(&files).unwrap_or_else(|error| panic!("{error}"));
        let mut draft = Draft {
            plant: "Example Dairy (invented)".to_owned(),
            unit: "HTST-1".to_owned(),
            zone: "UTC".to_owned(),
            ..Draft::of(&sheets)
        };
        assert_eq!(draft.leading(&sheets), Some(1));
        let asked = |draft: &Draft| -> Vec<String> {
            draft.questions(&sheets).iter().map(|one| one.text(&sheets, draft)).collect()
        };
        let expected = "How far may a reading of pressures be from the row it is joined to, such as 2 s? At most \
                        15 s; its own interval is the smallest value that loses none.";
        assert_eq!(asked(&draft), [expected]);
        "2 s".clone_into(&mut draft.loggers[0].tolerance);
        assert_eq!(asked(&draft), Vec::<String>::new());
        let text = draft.text(&sheets);
        let plant = plant::Plant::parse("p", &text);
        let plant = plant.unwrap_or_else(|error| panic!("{error}\n{text}"));
        let input = |(name, text): (&str, &str)| Input::Bytes {
            name: name.to_owned(),
            bytes: text.as_bytes().to_vec(),
        };
        let read = ingest::read(&files.map(input), &plant, &Progress::default());
        let read = read.unwrap_or_else(|error| panic!("{error}\n{text}"));
        assert_eq!(read.record.samples(), 60);
        insta::assert_snapshot!(text);
    }

    #[test]
    fn how_files_are_called_is_asked_where_no_date_tells() {
        let temperatures = "Time,FDV,Hold Temp (\u{b0}F)\n2026-03-04 06:00:00,FWD,163.4\n";
        let pressures = "Time,dP (psi)\n2026-03-04 06:00:00,5\n";
        let sheets = look(&[("temperatures.csv", temperatures), ("pressures.csv", pressures)]);
        let sheets = sheets.unwrap_or_else(|error| panic!("{error}"));
        let mut draft = Draft::of(&sheets);
        let asks = |draft: &Draft| {
            let asked = draft.questions(&sheets);
            asked.into_iter().filter(|one| matches!(one, crate::Question::Files(_))).count()
        };
        assert_eq!(asks(&draft), 2);
        "temp*.csv".clone_into(&mut draft.loggers[0].files);
        "*.csv".clone_into(&mut draft.loggers[1].files);
        assert_eq!(asks(&draft), 2, "one file would be of both");
        "press*.csv".clone_into(&mut draft.loggers[1].files);
        assert_eq!(asks(&draft), 0);
    }

    /// Two devices: which one leads is asked and never guessed.
    #[test]
    fn of_two_positions_none_leads() {
        let one = "Time,FDV,Hold Temp (\u{b0}F)\n2026-03-04 06:00:00,FWD,163.4\n2026-03-04 06:00:01,DIV,163.4\n";
        let other = "Time,FDV,dP (psi)\n2026-03-04 06:00:00,FWD,5\n2026-03-04 06:00:01,DIV,5\n";
        let sheets = look(&[("20260304-t.csv", one), ("20260304-p.csv", other)]);
        let sheets = sheets.unwrap_or_else(|error| panic!("{error}"));
        let mut draft = Draft::of(&sheets);
        assert_eq!(draft.leading(&sheets), None);
        let asked = draft.questions(&sheets);
        let asked =
            asked.iter().map(|one| one.text(&sheets, &draft)).collect::<Vec<_>>().join("\n");
        let expected = "Which column is the position of the flow diversion device? By what they read: \"FDV\" of \
                        t, \"FDV\" of p";
        assert!(asked.contains(expected), "{asked}");
        draft.set(&sheets, 1, Part::Role(Role::Valve), crate::Reason::Person);
        assert_eq!(draft.leading(&sheets), Some(0));
    }
}
