//! A plant file is drafted from the terminal: what names and readings say, and what must be asked.

use std::fmt::Write as _;
use std::path::Path;
use tests::program::{Told, run, run_with_input};

type Outcome = Result<(), Box<dyn std::error::Error>>;

const SAID: [&str; 6] =
    ["--name", "Example Dairy (invented)", "--pasteurizer", "HTST-1", "--zone", "America/Chicago"];

/// Ten minutes as several kinds of loggers write them; `row` gives stamp, held °F, raw psi,
/// pasteurized psi, whether forward.
fn file(header: &str, row: impl Fn(&str, f64, f64, f64, bool) -> String) -> String {
    let mut text = format!("{header}\n");
    for second in 0..600_u32 {
        let swing = (f64::from(second) / 20.0).sin();
        let stamp = format!("04:{:02}:{:02}", second / 60, second % 60);
        let row = row(&stamp, 163.4 + swing / 2.0, 21.0 + swing, 27.0 + swing, second >= 60);
        // Writing to a string can't fail.
        writeln!(text, "{row}").unwrap_or_default();
    }
    text
}

fn celsius(fahrenheit: f64) -> String {
    format!("{:.1}", (fahrenheit - 32.0) / 1.8).replace('.', ",")
}

fn draft(file: &Path, more: &[&str]) -> Told {
    run(&[&["setup", &file.to_string_lossy()], more].concat())
}

#[test]
fn a_file_in_the_trades_words_needs_only_the_names() -> Outcome {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("day.csv");
    let text = file(
        "Serial No,0042\nExported,by hand\n\nDate,Time,Hold Tube (F),FDV,Raw (psi),Past (psi)",
        |time, held, raw, past, forward| {
            let valve = if forward { "FWD" } else { "DIV" };
            format!("11/24/2026,{time},{held:.1},{valve},{raw:.1},{past:.1}")
        },
    );
    std::fs::write(&path, text)?;
    let asked = draft(&path, &[]);
    assert_eq!(asked.status, Some(1), "{}", asked.complaint);
    assert_eq!(asked.complaint.matches("required").count(), 3, "{}", asked.complaint);

    let plant = folder.path().join("plant.toml");
    let output = plant.to_string_lossy().into_owned();
    let told = draft(&path, &[&SAID[..], &["--output", &output]].concat());
    assert_eq!((told.status, told.complaint.as_str()), (Some(0), ""));
    let audit = run(&["audit", &path.to_string_lossy()]);
    assert_eq!(audit.status, Some(0), "{}{}", audit.output, audit.complaint);
    assert!(audit.output.contains("No exception in 8 min 59 s"), "{}", audit.output);
    Ok(())
}

#[test]
fn what_can_be_read_two_ways_is_asked_and_never_guessed() -> Outcome {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("tags.csv");
    let text = file("TS;TT1;TT2;PT1;PT2;XV1", |time, held, raw, past, forward| {
        let second = held - 0.3;
        let valve = u8::from(forward);
        format!("24.11.2026 {time};{held:.1};{second:.1};{raw:.1};{past:.1};{valve}")
    });
    std::fs::write(&path, text)?;
    let audit = run(&["audit", &path.to_string_lossy()]);
    assert_eq!(audit.status, Some(2));
    assert!(audit.complaint.contains("`holdtrace setup` drafts"), "{}", audit.complaint);
    let told = draft(&path, &SAID);
    assert_eq!(told.status, Some(1), "{}", told.complaint);
    for question in [
        "Which column is the indicating thermometer at the outlet of the holding tube? By what they \
         read: \"TT1\", \"TT2\"",
        "Which column is the pressure on the raw side of the regenerator? By what they read: \"PT1\", \
         \"PT2\"",
        "What does \"0\" in \"XV1\" mean? 60 rows have it.",
        "What does \"1\" in \"XV1\" mean? 540 rows have it.",
    ] {
        assert!(told.complaint.contains(question), "{question}: {}", told.complaint);
        assert!(told.output.contains(question), "{question}: {}", told.output);
    }
    assert!(!told.output.contains("pressure = {"), "no side is guessed: {}", told.output);
    Ok(())
}

#[test]
fn a_file_of_another_language_is_drafted_from_standard_input() {
    let text = file(
        "Datum;Uhrzeit;Hei\u{df}halter Temp. [\u{b0}C];Druck roh [bar];Druck past. [bar];Umschaltventil",
        |time, held, raw, past, forward| {
            let valve = if forward { "forward" } else { "divert" };
            let bar = |psi: f64| format!("{:.2}", psi * 0.068_948).replace('.', ",");
            let (held, raw, past) = (celsius(held), bar(raw), bar(past));
            format!("24.11.2026;{time};{held};{raw};{past};{valve}")
        },
    );
    let told = run_with_input(&[&["setup", "-"], &SAID[..]].concat(), text.as_bytes());
    assert_eq!((told.status, told.complaint.as_str()), (Some(0), ""), "{}", told.output);
    for line in [
        "date = \"Datum\"",
        "holding_temperature = { column = \"Hei\u{df}halter Temp. [\u{b0}C]\", unit = \"\u{b0}C\" }",
        "raw_pressure = { column = \"Druck roh [bar]\", unit = \"bar\" }",
    ] {
        assert!(told.output.contains(line), "{line}: {}", told.output);
    }
}

/// Seconds since a start that stands above the header, from two loggers with clocks and steps of their own.
#[test]
fn files_of_two_loggers_are_drafted_together() -> Outcome {
    let folder = tempfile::tempdir()?;
    let mut controller =
        "Start time: 2026-03-04 04:00:00\n\nElapsed (s),FDV,Hold Temp (F)\n".to_owned();
    let mut pressures = "Year;DOY;Time;Raw (psi);Past (psi)\n".to_owned();
    for second in 0..600_u32 {
        writeln!(controller, "{second},FWD,163.{}", second % 7).unwrap_or_default();
        if second % 2 == 0 {
            let time = format!("04:{:02}:{:02}", second / 60, second % 60);
            writeln!(pressures, "2026;63;{time};20,{};27,1", second % 7).unwrap_or_default();
        }
    }
    let paths =
        [("2026-03-04-controller.csv", controller), ("2026-03-04-pressures.csv", pressures)];
    for (name, text) in &paths {
        std::fs::write(folder.path().join(name), text)?;
    }
    let [controller, pressures] =
        paths.map(|(name, _)| folder.path().join(name).to_string_lossy().into_owned());
    let told = run(&[&["setup", &controller, &pressures], &SAID[..]].concat());
    assert_eq!(told.status, Some(1), "{}", told.complaint);
    assert_eq!(told.complaint.matches("required").count(), 1, "{}", told.complaint);
    assert!(
        told.complaint.contains("How far may a reading of pressures be from"),
        "{}",
        told.complaint
    );
    for line in [
        "since_start = { column = \"Elapsed (s)\", unit = \"s\", start = \"Start time\" }",
        "year = \"Year\"\n# its cells read as days of a year\nday_of_year = \"DOY\"",
        "# tolerance = \"\"   # required: such as \"2 s\"",
    ] {
        assert!(
            told.output.replace("# its cells read as a year\n", "").contains(line),
            "{line}: {}",
            told.output
        );
    }
    let text = told.output.replace("# tolerance = \"\"", "tolerance = \"2 s\"");
    std::fs::write(folder.path().join("plant.toml"), text)?;
    // The file of the leading logger brings the other.
    let audit = run(&["audit", &controller]);
    assert_eq!(audit.status, Some(0), "{}{}", audit.output, audit.complaint);
    assert!(audit.output.contains("No exception in 9 min 59 s"), "{}", audit.output);
    Ok(())
}

#[test]
fn what_is_no_table_and_what_is_no_zone_is_said() -> Outcome {
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("letter.csv");
    std::fs::write(&path, "Dear reader,\nthere is no table here.\n")?;
    let told = draft(&path, &[]);
    assert_eq!(told.status, Some(2));
    assert!(told.complaint.contains("no line with column names"), "{}", told.complaint);
    let told = draft(&path, &["--zone", "new york"]);
    assert_eq!(told.status, Some(2));
    Ok(())
}
