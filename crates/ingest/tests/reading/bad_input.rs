//! Damaged, strange and hostile files: an error or an observation that says where and what to do.

use crate::support::{HEADER, error, input, messages, observed, plant, read_all, read_one};
use ingest::observations::{INVALID_READINGS, RAGGED_ROW, TRUNCATED_ROW, UNREADABLE_ROW};
use ingest::{Error, Input, Progress, read};
use plant::Plant;
use trace::{Invalid, Reading, ValveState};

const ROWS: &str = "2026-03-08 06:00:00,FWD,161.2,24.3,26.3\n\
                    2026-03-08 06:00:01,FWD,161.3,24.3,26.4\n";

fn file(rows: &str) -> String {
    format!("{HEADER}{rows}")
}

#[test]
fn what_is_no_logger_file_is_refused() {
    let no_plant = Plant::assumed();
    for (bytes, part) in [
        (b"".to_vec(), "a.csv: the file is empty"),
        (b"\n\n\n".to_vec(), "no line with column names"),
        (b"\xef\xbb\xbf".to_vec(), "no line with column names"),
        (HEADER.as_bytes().to_vec(), "a.csv:1: there is no row of readings"),
        (format!("note\n{HEADER},,,\n").into_bytes(), "a.csv:2: there is no row of readings"),
        (b"\x1f\x8b\x08\0\0\0\0\0".to_vec(), "can't be unpacked"),
        (b"PK\x03\x04abcdef".to_vec(), "can't be unpacked"),
        (b"\xd0\xcf\x11\xe0abcdef".to_vec(), "an old Excel workbook"),
        (b"PAR1abcdef".to_vec(), "a Parquet file"),
        (b"\x7fELF\x02\x01\x01\0\0\0\0".to_vec(), "a binary file"),
        ((0..=255).collect(), "a binary file"),
        (vec![0; 4000], "a binary file"),
        (vec![b'x'; 3_000_000], "a.csv:1: the line is longer than 1 MiB"),
        ([file(ROWS).into_bytes(), vec![b','; 1_100_000]].concat(), "a.csv:4: the line is longer"),
        (b"hello\nworld\n".to_vec(), "no line with column names"),
        (
            b"a,b,c\n1,2,3\n".to_vec(),
            "a.csv:1: no column for the time; the columns are \"a\", \"b\", \"c\"; name it",
        ),
        (
            file(ROWS).replace("FDV", "Spare").into_bytes(),
            "no column for the position of the flow diversion device",
        ),
        (
            file(ROWS).replace("2026-03-08 ", "day 1 ").into_bytes(),
            "a.csv:2:1: no time stamp in the file can be read; the first is \"day 1 06:00:00\"",
        ),
        (
            file(ROWS).replace("2026-03-08 ", "").into_bytes(),
            "the first is \"06:00:00\"; export date and time",
        ),
        (file(ROWS).replace("2026-03-08", "\"2026").into_bytes(), "a.csv:2:1: no time stamp"),
    ] {
        let error = error(&bytes, &no_plant);
        assert!(error.contains(part), "{part}: {error}");
        assert!(error.starts_with("a.csv"), "{error}");
    }
}

#[test]
fn files_that_are_not_there_are_named() {
    let folder = tempfile::tempdir().unwrap_or_else(|error| panic!("{error}"));
    let missing = folder.path().join("missing.csv");
    let message = |input: Input| {
        read(&[input], &Plant::assumed(), &Progress::default())
            .map_or_else(|error| error.to_string(), |_ingested| "no error".to_owned())
    };
    let told = message(Input::File(missing.clone()));
    assert!(told.starts_with(&format!("{}: can't be read", missing.display())), "{told}");
    let told = message(Input::File(folder.path().to_owned()));
    assert!(told.contains("is a directory"), "{told}");
    assert!(matches!(read(&[], &Plant::assumed(), &Progress::default()), Err(Error::NoInput)));
    let real = folder.path().join("day.csv");
    assert!(std::fs::write(&real, file(ROWS)).is_ok());
    let progress = Progress::default();
    let ingested = read(&[Input::File(real)], &Plant::assumed(), &progress);
    assert_eq!(ingested.map(|ingested| ingested.record.samples()).ok(), Some(2));
    assert!((progress.fraction() - 1.0).abs() < f32::EPSILON);
}

#[test]
fn reading_can_be_cancelled() {
    let progress = Progress::default();
    progress.cancel();
    let cancelled = read(&[input("a.csv", file(ROWS))], &Plant::assumed(), &progress);
    assert!(matches!(cancelled, Err(Error::Cancelled)));
}

#[test]
fn cells_that_are_no_readings() {
    for (cell, reason) in [
        ("", Invalid::Blank),
        ("   ", Invalid::Blank),
        ("BAD", Invalid::NotANumber),
        ("---", Invalid::NotANumber),
        ("#N/A", Invalid::NotANumber),
        ("NaN", Invalid::NotANumber),
        ("inf", Invalid::NotANumber),
        ("-Infinity", Invalid::NotANumber),
        ("1e999", Invalid::OutOfRange),
        ("9999", Invalid::OutOfRange),
        ("-40", Invalid::OutOfRange),
        ("\"1,234\"", Invalid::NotANumber),
        ("72.5°C", Invalid::NotANumber),
        ("=A1", Invalid::NotANumber),
    ] {
        let text = file(&ROWS.replace("161.3", cell));
        let ingested = read_one(text, &Plant::assumed());
        let reading = ingested.record.holding_temperature().reading(1);
        assert_eq!(reading, Reading::Invalid(reason), "{cell}");
        assert_eq!(observed(&ingested), [(INVALID_READINGS, 3, 1)], "{cell}");
        let interval = ingested.observations[0].interval;
        assert_eq!(
            interval.map(trace::Interval::start),
            ingested.record.instants().get(1).copied(),
            "{cell}"
        );
    }
}

#[test]
fn a_blank_channel_is_one_observation() {
    let text = file(&ROWS.replace("161.2", "").replace("161.3", ""));
    let ingested = read_one(text, &Plant::assumed());
    assert_eq!(observed(&ingested), [(INVALID_READINGS, 2, 2)]);
    assert_eq!(
        messages(&ingested, INVALID_READINGS),
        ["Readings of the holding temperature that are blank: 2. None of them counts as safe."]
    );
}

#[test]
fn a_row_that_is_too_short_vouches_for_nothing() {
    let text = file(&format!("{ROWS}2026-03-08 06:00:02,FWD,161.2\n2026-03-08 06:00:03\n"));
    let ingested = read_one(text, &Plant::assumed());
    assert_eq!(ingested.record.samples(), 4);
    // Nothing tells which cell is missing.
    assert_eq!(ingested.record.holding_temperature().value(2), None);
    assert_eq!(ingested.record.differential().value(2), None);
    assert_eq!(ingested.record.valve()[2..], [ValveState::Unknown; 2]);
    assert!(observed(&ingested).contains(&(RAGGED_ROW, 4, 2)));
    assert!(observed(&ingested).contains(&(INVALID_READINGS, 4, 2)));
}

#[test]
fn the_last_cell_of_a_cut_row_is_no_reading() {
    // `16` may have been `161.2`, `F` may have been `FWD`.
    for (rest, samples, valve, temperature) in [
        ("2026-03-08 06:00:02,FWD,16", 3, ValveState::Forward, None),
        ("2026-03-08 06:00:02,FWD,161.2", 3, ValveState::Forward, None),
        ("2026-03-08 06:00:02,FWD,161.2,", 3, ValveState::Forward, Some(161.2)),
        ("2026-03-08 06:00:02,FWD", 3, ValveState::Unknown, None),
        ("2026-03-08 06:00:02", 2, ValveState::Forward, Some(161.3)),
        ("2026-03-08 06:0", 2, ValveState::Forward, Some(161.3)),
        ("2026", 2, ValveState::Forward, Some(161.3)),
    ] {
        let ingested = read_one(file(&format!("{ROWS}{rest}")), &Plant::assumed());
        assert_eq!(ingested.record.unplaced(), [], "{rest}");
        let last = ingested.record.samples() - 1;
        assert_eq!(ingested.record.samples(), samples, "{rest}");
        assert_eq!(ingested.record.valve()[last], valve, "{rest}");
        assert_eq!(ingested.record.holding_temperature().value(last), temperature, "{rest}");
        assert!(observed(&ingested).contains(&(TRUNCATED_ROW, 4, 1)), "{rest}");
    }
}

#[test]
fn a_full_last_row_without_a_line_end_may_be_cut_in_its_last_cell() {
    for (last, cut) in [("26.3", false), ("126.3", false), ("26.", true), ("26", true), ("2", true)]
    {
        let rest = format!("2026-03-08 06:00:02,FWD,161.2,24.3,{last}");
        let ingested = read_one(file(&format!("{ROWS}{rest}")), &Plant::assumed());
        assert_eq!(ingested.record.samples(), 3, "{last}");
        assert_eq!(ingested.record.differential().value(2).is_none(), cut, "{last}");
        let told = messages(&ingested, TRUNCATED_ROW).len();
        assert_eq!(told, usize::from(cut), "{last}");
    }
    let words = "Time,Hold Temp (°F),dP (psi),FDV\n2026-03-08 06:00:00,162,3,forward\n\
                 2026-03-08 06:00:01,162,3,divert\n2026-03-08 06:00:02,162,3,";
    for (word, valve) in [
        ("forward", ValveState::Forward),
        ("divert", ValveState::Divert),
        ("div", ValveState::Unknown),
        ("for", ValveState::Unknown),
    ] {
        let ingested = read_one(format!("{words}{word}"), &Plant::assumed());
        assert_eq!(ingested.record.valve()[2], valve, "{word}");
    }
}

#[test]
fn a_stray_quote_spoils_its_own_line_only() {
    let text = file(&format!(
        "{ROWS}2026-03-08 06:00:02,FWD,\"161.2,24.3,26.3\n2026-03-08 06:00:03,FWD,161.2,24.3,26.3\n"
    ));
    let ingested = read_one(text, &Plant::assumed());
    // The stamp stands before the quote, so the row has a place, but no reading.
    assert_eq!(ingested.record.samples(), 4);
    assert_eq!(ingested.record.valve()[2], ValveState::Unknown);
    assert!(ingested.record.channels().iter().all(|(_, channel)| channel.value(2).is_none()));
    assert_eq!(ingested.record.holding_temperature().value(3), Some(161.2));
    assert_eq!(ingested.record.unplaced(), []);
    assert!(observed(&ingested).contains(&(UNREADABLE_ROW, 4, 1)));
    let told = messages(&ingested, UNREADABLE_ROW);
    assert_eq!(told, ["Rows with a quote that is not closed: 1. None of their readings is used."]);
}

#[test]
fn a_row_whose_stamp_stands_behind_an_open_quote_has_no_place() {
    let text = file(&format!(
        "{ROWS}\"2026-03-08 06:00:02,DIV,161.2,24.3,26.3\n2026-03-08 06:00:03,DIV,161.2,24.3,26.3\n"
    ));
    let ingested = read_one(text, &Plant::assumed());
    assert_eq!(ingested.record.samples(), 3);
    let [group] = ingested.record.unplaced() else { panic!("one group") };
    assert_eq!(group.rows.len(), 1);
    // Nothing tells which cell is the valve's.
    assert_eq!(group.rows[0].valve, ValveState::Unknown);
    assert_eq!(group.rows[0].temperature, Reading::Invalid(Invalid::Blank));
}

#[test]
fn remarks_are_no_rows() {
    for (remark, kept) in [
        ("End of report", false),
        ("Records: 2", false),
        ("# exported 2026-03-09", false),
        ("=======", false),
        ("2026-03-0", true),
        ("0,FWD", true),
        ("Total,FWD", true),
        ("\u{fffd}\u{fffd}", true),
    ] {
        let text = file(&format!("{ROWS}{remark}\n"));
        let ingested = read_one(text, &Plant::assumed());
        assert_eq!(ingested.record.unplaced().len(), usize::from(kept), "{remark}");
        let told = observed(&ingested).contains(&(UNREADABLE_ROW, 4, 1));
        assert_eq!(told, !kept, "{remark}");
    }
}

#[test]
fn another_header_among_the_rows_is_refused() {
    let text = file(&format!("{ROWS}Time,Hold Temp (°F),FDV,Raw (psi),Past (psi)\n{ROWS}"));
    let error = error(text, &Plant::assumed());
    assert!(error.starts_with("a.csv:4: another header"), "{error}");
}

#[test]
fn a_file_without_rows_beside_others_is_told() {
    let ingested =
        read_all(&[input("a.csv", HEADER), input("b.csv", file(ROWS))], &Plant::assumed());
    assert_eq!(ingested.record.samples(), 2);
    assert_eq!(observed(&ingested), [(UNREADABLE_ROW, 1, 1)]);
    assert_eq!(ingested.record.sources().len(), 2);
}

#[test]
fn thousands_of_unmapped_words_make_a_few_observations() {
    let rows: String = (0..4000)
        .map(|row| {
            let word = if row % 2 == 0 { "FWD".to_owned() } else { format!("w{row}") };
            let (hour, minute) = (6 + row / 3600, row / 60 % 60);
            format!("2026-03-08 {hour:02}:{minute:02}:{:02},{word},161.2,24.3,26.3\n", row % 60)
        })
        .collect();
    let ingested = read_one(file(&rows), &Plant::assumed());
    let unmapped = observed(&ingested);
    assert_eq!(unmapped.len(), 21);
    assert_eq!(unmapped.iter().map(|one| one.2).sum::<u64>(), 2000);
}

#[test]
fn numbers_that_contradict_the_presumed_mark_are_refused() {
    let text = "Time;FDV;Flow (L/h);Hold Temp (°C);dP (bar)\n\
                2026-03-08 06:00:00;FWD;6.000;72;\n\
                2026-03-08 06:00:01;FWD;6.000;72;0,2\n";
    let message = error(text, &Plant::assumed());
    assert!(message.starts_with("a.csv:3: 0,2 here and 6.000 on line 2 can't"), "{message}");
    let stated = plant("[files]\ndecimal_mark = \",\"\n");
    let ingested = read_one(text, &stated);
    assert_eq!(ingested.record.flow_rate().map(|flow| flow.value(0)), Some(None));
    assert_eq!(ingested.record.differential().value(1), Some(0.2));
}

#[test]
fn a_bound_column_that_no_file_has_is_an_error() {
    let plant = plant(
        "[columns]\nvalve = { column = \"FDV\" }\nholding_temperature = { column = \"Hold Temp\" }\n\
         raw_pressure = { column = \"Raw\" }\npasteurized_pressure = { column = \"Past\" }\n\
         flow_rate = { column = \"FT 7\", unit = \"L/h\" }\n",
    );
    let error = error(file(ROWS), &plant);
    assert!(error.contains("no column for the flow;"), "{error}");
    assert!(error.contains("binds columns.flow_rate to \"FT 7\""), "{error}");
}

/// Four tebibytes by its length, of which a few bytes are there.
#[cfg(target_os = "linux")]
#[test]
fn a_length_that_is_a_lie_is_not_believed() {
    let folder = tempfile::tempdir().unwrap_or_else(|error| panic!("{error}"));
    let path = folder.path().join("day.csv");
    assert!(std::fs::write(&path, file(&ROWS.repeat(20))).is_ok());
    let grown = std::fs::File::options().write(true).open(&path);
    assert!(grown.and_then(|file| file.set_len(1 << 42)).is_ok());
    let outcome = read(&[Input::File(path)], &Plant::assumed(), &Progress::default());
    let message = outcome.map_or_else(|error| error.to_string(), |_ingested| String::new());
    assert!(message.contains(":42: the line is longer than 1 MiB"), "{message}");
}
