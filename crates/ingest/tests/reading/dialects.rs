//! The forms in which loggers write one and the same table.

use crate::support::{HEADER, error, input, messages, observed, plant, read_all, read_one, show};
use ingest::observations::{
    AVERAGED_READINGS, INVALID_READINGS, RAGGED_ROW, SINGLE_POSITION_SWITCH, SWITCHES_DISAGREE,
    UNMAPPED_WORD,
};
use plant::Plant;
use trace::ValveState;

const ROWS: &str = "2026-03-08 06:00:00,FWD,161.2,24.3,26.3\n\
                    2026-03-08 06:00:01,DIV,160.9,24.3,26.4\n";

const SAMPLES: &str = "\
2026-03-08T06:00:00.000 forward holding_temperature=161.2°F raw_pressure=24.3psi \
pasteurized_pressure=26.3psi differential_pressure=2.0psi
2026-03-08T06:00:01.000 divert holding_temperature=160.9°F raw_pressure=24.3psi \
pasteurized_pressure=26.4psi differential_pressure=2.1psi
";

#[test]
fn one_table_in_many_forms() {
    let comma = format!("{HEADER}{ROWS}");
    let semicolon = comma.replace(',', ";").replace('.', ",");
    let utf16 = |big: bool, text: &str| -> Vec<u8> {
        let bytes = |unit: u16| if big { unit.to_be_bytes() } else { unit.to_le_bytes() };
        text.encode_utf16().flat_map(bytes).collect()
    };
    let windows: Vec<u8> =
        comma.chars().map(|character| u8::try_from(u32::from(character)).unwrap_or(b'?')).collect();
    for (form, bytes) in [
        ("as it is", comma.clone().into_bytes()),
        ("line ends of Windows", comma.replace('\n', "\r\n").into_bytes()),
        ("line ends of old instruments", comma.replace('\n', "\r").into_bytes()),
        ("byte order mark", format!("\u{feff}{comma}").into_bytes()),
        ("no last line end", comma.trim_end().as_bytes().to_vec()),
        ("semicolons and commas", semicolon.clone().into_bytes()),
        ("semicolons and dots", comma.replace(',', ";").into_bytes()),
        ("tabs", comma.replace(',', "\t").into_bytes()),
        ("tabs and decimal commas", semicolon.replace(';', "\t").into_bytes()),
        ("Windows-1252", windows),
        ("UTF-16 low byte first", utf16(false, &format!("\u{feff}{comma}"))),
        ("UTF-16 high byte first", utf16(true, &format!("\u{feff}{comma}"))),
        ("UTF-16 without a mark", utf16(false, &comma)),
        ("UTF-16 big without a mark", utf16(true, &comma)),
        ("blank lines", comma.replace('\n', "\n\n\r\n").into_bytes()),
        ("lines of delimiters", format!("{comma},,,,\n,,,,\n").into_bytes()),
        ("trailing delimiters", comma.replace('\n', ",\n").into_bytes()),
        (
            "trailing delimiters in rows",
            format!("{HEADER}{}", ROWS.replace('\n', ",,\n")).into_bytes(),
        ),
        ("blanks around cells", comma.replace(',', " , ").into_bytes()),
        ("preamble", format!("Logger 7, serial 12\nExported 2026-03-09\n\n{comma}").into_bytes()),
        ("quotes", quoted(&comma, ",").into_bytes()),
        ("quotes, semicolons, decimal commas", quoted(&semicolon, ";").into_bytes()),
        ("quotes, commas, decimal commas", quoted(&semicolon, ";").replace(';', ",").into_bytes()),
        (
            "units row",
            comma
                .replace(" (°F)", "")
                .replace(" (psi)", "")
                .replacen('\n', "\n,,degF,psig,psig\n", 1)
                .replace("Raw", "Raw press")
                .replace("Past", "Past press")
                .into_bytes(),
        ),
        (
            "units row and a row of kinds",
            comma.replacen('\n', "\nTS,,degF,psig,psig\n,Smp,Smp,Smp,Smp\n", 1).into_bytes(),
        ),
        (
            "date and time apart",
            comma
                .replacen("Time", "Date,Time", 1)
                .replace("2026-03-08 ", "03/08/2026,")
                .replace("06:00:00,DIV", "")
                .replacen("03/08/2026,06:00:00", "3/8/2026,6:00:00 AM", 1)
                .into_bytes(),
        ),
        ("header repeated", format!("{comma}{HEADER}").into_bytes()),
        (
            "epoch seconds",
            comma
                .replace("2026-03-08 06:00:00", "1772949600")
                .replace("2026-03-08 06:00:01", "1772949601")
                .into_bytes(),
        ),
        (
            "offsets",
            comma
                .replace(" 06:", "T01:")
                .replace(",FWD", "-05:00,FWD")
                .replace(",DIV", "-05:00,DIV")
                .into_bytes(),
        ),
    ] {
        let plant = plant("[files]\ndate_order = \"month-first\"\n");
        let ingested = read_one(&bytes, &plant);
        assert_eq!(show(&ingested.record), SAMPLES, "{form}");
        assert_eq!(observed(&ingested), [], "{form}: {:?}", ingested.observations);
        assert_eq!(ingested.record.sources()[0].rows, 2, "{form}");
        assert_eq!(ingested.record.sources()[0].bytes, bytes.len() as u64, "{form}");
    }
}

fn quoted(table: &str, delimiter: &str) -> String {
    let line = |line: &str| {
        let cells: Vec<_> = line.split(delimiter).map(|cell| format!("\"{cell}\"")).collect();
        cells.join(delimiter)
    };
    table.lines().map(|text| line(text) + "\n").collect()
}

#[test]
fn the_digest_is_over_the_bytes_of_the_file() {
    // FIPS 180-4 has no CSV; the digest of this text is from sha256sum (coreutils).
    let ingested = read_one(format!("{HEADER}{ROWS}"), &plant(""));
    let source = &ingested.record.sources()[0];
    assert_eq!(
        source.sha256_hex(),
        "803aa99f4982b5b50cd72da472ccde6b4a543246293e0884eee6f245b19216e1"
    );
}

#[test]
fn all_columns_with_a_plant_file() {
    let plant = plant(
        r#"
[files]
date_order = "day-first"
[columns]
date = "Datum"
time = "Zeit"
valve_forward = { column = "LS1" }
valve_divert = { column = "LS2" }
holding_temperature = { column = "TT-101", unit = "degC" }
differential_pressure = { column = "PD", unit = "bar", range = ["-1", "5.5"] }
recorder_temperature = { column = "TR-101" }
flow_rate = { column = "FT" }
raw_temperature = { column = "T1", unit = "degC" }
regenerated_temperature = { column = "T2", unit = "degC" }
heating_water_temperature = { column = "T3", unit = "degC" }
cooled_temperature = { column = "T4", unit = "degC" }
leak_detect = { column = "Leak" }
product = { column = "Product" }
lot = { column = "Lot" }
mode = { column = "Mode" }
"#,
    );
    let text = "Datum;Zeit;LS1;LS2;tt-101;PD;TR-101 [°C];FT (L/h);T1;T2;T3;T4;Leak;Product;Lot;Mode;X\n\
                ;;;;;bar;;;;;;;;;;;\n\
                03/08/2026;06:00:00;1;0;72,5;0,15;72,4;6000;4;60,1;75;3,5;0;Käse;L 1;run;\n\
                03/08/2026;06:00:01;0;0;72,5;5,6;72,4;6000;4;60,1;75;3,5;1;;;CIP;\n\
                03/08/2026;06:00:02;1;1;BAD;;72,4;6000;4;60,1;75;3,5;?;Käse;L 1;run;\n";
    let ingested = read_one(text, &plant);
    assert_eq!(
        show(&ingested.record),
        "2026-08-03T06:00:00.000 forward holding_temperature=72.5°C differential_pressure=0.15bar \
         recorder_temperature=72.4°C flow_rate=6000L/h raw_temperature=4°C \
         regenerated_temperature=60.1°C heating_water_temperature=75°C cooled_temperature=3.5°C \
         leak=Some(Some(false)) product=\"Käse\" lot=\"L 1\" mode=\"run\"\n\
         2026-08-03T06:00:01.000 travel holding_temperature=72.5°C differential_pressure=out of rangebar \
         recorder_temperature=72.4°C flow_rate=6000L/h raw_temperature=4°C \
         regenerated_temperature=60.1°C heating_water_temperature=75°C cooled_temperature=3.5°C \
         leak=Some(Some(true)) product=\"\" lot=\"\" mode=\"CIP\"\n\
         2026-08-03T06:00:02.000 unknown holding_temperature=not a number°C differential_pressure=blankbar \
         recorder_temperature=72.4°C flow_rate=6000L/h raw_temperature=4°C \
         regenerated_temperature=60.1°C heating_water_temperature=75°C cooled_temperature=3.5°C \
         leak=Some(None) product=\"Käse\" lot=\"L 1\" mode=\"run\"\n"
    );
    assert_eq!(
        observed(&ingested),
        [
            (INVALID_READINGS, 4, 1),
            (SWITCHES_DISAGREE, 5, 1),
            (INVALID_READINGS, 5, 1),
            (INVALID_READINGS, 5, 1),
            (UNMAPPED_WORD, 5, 1),
        ]
    );
    assert!(
        messages(&ingested, INVALID_READINGS).contains(
            &"Readings of the holding temperature that are not a number: 1. The first is \"BAD\". \
              None of them counts as safe."
                .to_owned()
        ),
        "{:?}",
        ingested.observations
    );
}

#[test]
fn what_was_assumed_is_said() {
    let text = format!(
        "{}{ROWS}",
        HEADER.replace("Past", "Note,Past").replace("Note,Past (psi)", "Past (psi),Note")
    );
    let ingested = read_one(&text, &Plant::assumed());
    assert_eq!(
        ingested.assumptions,
        [
            "Columns were recognised by their names: \"Time\" the time, \"FDV\" the flow diversion \
             device, \"Hold Temp (°F)\" the holding temperature in °F, \"Raw (psi)\" the raw \
             pressure in psi, \"Past (psi)\" the pasteurized pressure in psi.",
            "Columns not used: \"Note\".",
            "Time stamps without an offset were read in the zone UTC, as there is no plant file.",
            "Words were read: \"FWD\" as forward, \"DIV\" as divert.",
        ]
    );
    // What is the same in all files is said once.
    let second = text.replace(" 06:", " 07:").replace(",Note", ",Remark");
    let both = read_all(&[input("a.csv", &text), input("b.csv", &second)], &Plant::assumed());
    assert_eq!(both.assumptions.len(), 5, "{:?}", both.assumptions);
    assert_eq!(both.assumptions[4], "b.csv: Columns not used: \"Remark\".");
}

#[test]
fn zero_and_one_are_not_guessed_without_a_name_that_says_which() {
    let digits = ROWS.replace("FWD", "1").replace("DIV", "0");
    let plain = error(format!("{HEADER}{digits}"), &Plant::assumed());
    assert!(plain.contains("not known are \"1\" in 1 rows, \"0\" in 1 rows; say"), "{plain}");
    let named = HEADER.replace("FDV", "FDV forward");
    let told = read_one(format!("{named}{digits}"), &Plant::assumed());
    assert_eq!(told.record.valve(), [ValveState::Forward, ValveState::Unknown]);
    assert!(told.assumptions.iter().any(|said| said.contains("forward position switch only")));
    assert_eq!(observed(&told), [(SINGLE_POSITION_SWITCH, 1, 2)]);
    let plant = plant(
        "[columns]\ntime = \"Time\"\n\
         valve = { column = \"FDV\", forward = [\"0\"], divert = [\"1\"] }\n\
         holding_temperature = { column = \"Hold Temp\" }\n\
         raw_pressure = { column = \"Raw (psi)\" }\n\
         pasteurized_pressure = { column = \"Past\", unit = \"psi\" }\n",
    );
    let bound = read_one(format!("{HEADER}{digits}"), &plant);
    assert_eq!(bound.record.valve(), [ValveState::Divert, ValveState::Forward]);
    assert_eq!(bound.assumptions, Vec::<String>::new());
}

#[test]
fn both_limit_switches_are_read_together() {
    use ValveState::{Divert, Forward, Travel, Unknown};
    let text = "Time,FDV forward,FDV divert,Hold Temp (°F),dP (psi)\n\
                2026-03-08 06:00:00,1,0,161,2\n\
                2026-03-08 06:00:01,0,1,161,2\n\
                2026-03-08 06:00:02,0,0,161,2\n\
                2026-03-08 06:00:03,1,1,161,2\n\
                2026-03-08 06:00:04,,0,161,2\n\
                2026-03-08 06:00:05,maybe,0,161,2\n";
    let ingested = read_one(text, &Plant::assumed());
    assert_eq!(ingested.record.valve(), [Forward, Divert, Travel, Unknown, Unknown, Unknown]);
    assert_eq!(
        observed(&ingested),
        [(SWITCHES_DISAGREE, 5, 1), (INVALID_READINGS, 6, 1), (UNMAPPED_WORD, 7, 1)]
    );
}

#[test]
fn units_must_be_known_and_agree() {
    let no_plant = Plant::assumed();
    for (header, part) in [
        (
            "Time,FDV,Hold Temp,Raw (psi),Past (psi)",
            "a.csv:1:3: no unit is given for column 3 \"Hold Temp\", the holding temperature",
        ),
        (
            "Time,FDV,Hold Temp (°F),Raw (psi),Past (kPa)",
            "the raw pressure is in psi and the pasteurized pressure in kPa",
        ),
    ] {
        let error = error(format!("{header}\n{ROWS}"), &no_plant);
        assert!(error.contains(part), "{error}");
    }
    let files = [
        input("a.csv", format!("{HEADER}{ROWS}")),
        input("b.csv", format!("{}{ROWS}", HEADER.replace("°F", "°C"))),
    ];
    match ingest::read(&files, &no_plant, &ingest::Progress::default()) {
        Ok(_) => panic!("units differ"),
        Err(error) => assert_eq!(
            error.to_string(),
            "b.csv:1: the holding temperature is in °C here and in °F in the files before; audit \
             files with different units separately"
        ),
    }
}

fn bound(holding: &str, rest: &str) -> Plant {
    plant(&format!(
        "[columns]\nvalve = {{ column = \"FDV\" }}\nholding_temperature = {holding}\n\
         raw_pressure = {{ column = \"Raw\" }}\npasteurized_pressure = {{ column = \"Past\" }}\n{rest}"
    ))
}

#[test]
fn a_header_that_contradicts_the_bound_unit_is_refused() {
    let degrees = bound("{ column = \"Hold Temp\", unit = \"degC\" }", "");
    let told = error(format!("{HEADER}{ROWS}"), &degrees);
    assert_eq!(
        told,
        "a.csv:1:3: the plant file says °C for column 3 \"Hold Temp (°F)\" and the header says °F; \
         find out in which unit the logger records it, then correct columns.holding_temperature \
         in the plant file or the logger's export"
    );
    // The row of units is part of the header.
    let units = format!("Time,FDV,Hold Temp,Raw (psi),Past (psi)\n,,degF,,\n{ROWS}");
    let told = error(units, &degrees);
    assert!(told.contains("the plant file says °C"), "{told}");
    assert!(told.contains("the row of units says °F"), "{told}");
    // So it is where the name agrees with the plant file.
    let fahrenheit = bound("{ column = \"Hold Temp\", unit = \"degF\" }", "");
    let told = error(format!("{HEADER},,degC,,\n{ROWS}"), &fahrenheit);
    assert!(told.contains("the plant file says °F") && told.contains("units says °C"), "{told}");
    // Name and row of units can contradict each other as well.
    let both = format!("{HEADER},,degC,,\n{ROWS}");
    let told = error(both, &Plant::assumed());
    assert!(told.contains("the header says °F for column 3"), "{told}");
    assert!(told.contains("the row of units says °C"), "{told}");
    // A unit of another quantity in brackets is one as well.
    let pressure = format!("{}{ROWS}", HEADER.replace("(°F)", "(psi)"));
    let told = error(&pressure, &bound("{ column = \"Hold Temp\", unit = \"degF\" }", ""));
    assert!(told.contains("the plant file says °F") && told.contains("says psi"), "{told}");
    let told = error(&pressure, &bound("{ column = \"Hold Temp (psi)\" }", ""));
    assert!(told.contains("psi, the unit of column 3 \"Hold Temp (psi)\", is no unit"), "{told}");
}

#[test]
fn a_header_unit_that_is_unreadable_is_no_contradiction() {
    let plant = bound("{ column = \"Hold Temp (deg)\", unit = \"degF\" }", "");
    let ingested = read_one(format!("{}{ROWS}", HEADER.replace("°F", "deg")), &plant);
    assert_eq!(ingested.record.holding_temperature().unit(), trace::TemperatureUnit::Fahrenheit);
    // A letter that stands for a line and no unit of pressure.
    let header = HEADER.replace("Raw (psi)", "Raw C").replace("Past (psi)", "Past C");
    let plant = plant_of_line_c();
    let ingested = read_one(format!("{header}{ROWS}"), &plant);
    assert_eq!(ingested.record.differential().value(0), Some(2.0));
}

fn plant_of_line_c() -> Plant {
    plant(
        "[columns]\nvalve = { column = \"FDV\" }\n\
         holding_temperature = { column = \"Hold Temp\" }\n\
         raw_pressure = { column = \"Raw C\", unit = \"psi\" }\n\
         pasteurized_pressure = { column = \"Past C\", unit = \"psi\" }\n",
    )
}

#[test]
fn one_column_in_two_roles_is_refused() {
    let recorder = bound(
        "{ column = \"Hold Temp\" }",
        "recorder_temperature = { column = \"Hold Temp (°F)\" }\n",
    );
    assert_eq!(
        error(format!("{HEADER}{ROWS}"), &recorder),
        "a.csv:1:3: column 3 \"Hold Temp (°F)\" would be the holding temperature \
         (columns.holding_temperature) and the recorder temperature \
         (columns.recorder_temperature); bind each to a column of its own in the plant file"
    );
    let time = bound("{ column = \"Hold Temp\" }", "lot = { column = \"time\" }\n");
    let told = error(format!("{HEADER}{ROWS}"), &time);
    assert!(told.contains("would be the time (columns.time) and the lot (columns.lot)"), "{told}");
}

#[test]
fn one_switch_alone_says_no_more_than_it_can() {
    use ValveState::{Divert, Forward, Unknown};
    let rows = "2026-03-08 06:00:00,1,161.2,24.3,26.3\n2026-03-08 06:00:01,0,161.2,24.3,26.3\n\
                2026-03-08 06:00:02,,161.2,24.3,26.3\n";
    let switch = |key: &str| {
        plant(&format!(
            "[columns]\n{key} = {{ column = \"FDV\" }}\n\
             holding_temperature = {{ column = \"Hold Temp\" }}\n\
             raw_pressure = {{ column = \"Raw\" }}\npasteurized_pressure = {{ column = \"Past\" }}\n"
        ))
    };
    for (key, states, part) in [
        ("valve_forward", [Forward, Unknown, Unknown], "the forward position switch"),
        ("valve_divert", [Divert, Forward, Unknown], "the divert position switch"),
    ] {
        let ingested = read_one(format!("{HEADER}{rows}"), &switch(key));
        assert_eq!(ingested.record.valve(), states, "{key}");
        let told = messages(&ingested, SINGLE_POSITION_SWITCH);
        assert_eq!(told.len(), 1);
        assert!(told[0].contains(part) && told[0].contains("(\"FDV\")"), "{told:?}");
        assert_eq!(messages(&ingested, UNMAPPED_WORD), Vec::<String>::new());
    }
    let missing = error(format!("{}{rows}", HEADER.replace("FDV", "X")), &switch("valve_forward"));
    assert!(missing.contains("binds columns.valve_forward to \"FDV\""), "{missing}");
}

#[test]
fn columns_that_call_themselves_averages_are_told() {
    let named = bound("{ column = \"Hold Temp Avg (°F)\" }", "");
    let text = format!("{}{ROWS}", HEADER.replace("Hold Temp", "Hold Temp Avg"));
    let ingested = read_one(&text, &named);
    assert_eq!(observed(&ingested), [(AVERAGED_READINGS, 1, 2)]);
    assert_eq!(
        messages(&ingested, AVERAGED_READINGS),
        ["The column \"Hold Temp Avg (°F)\", the holding temperature, calls itself an average \
          (\"avg\"). A short excursion can hide in an average. Set the logger to record single \
          readings."]
    );
    // A row of kinds below the header says it for several; files of one day say it once.
    let kinds = format!("{HEADER}TS,,degF,psi,psi\n,Smp,Avg,Avg,Smp\n{ROWS}");
    let later = kinds.replace(" 06:", " 07:");
    let files = [input("a.csv", &kinds), input("b.csv", &later)];
    let ingested = read_all(&files, &Plant::assumed());
    assert_eq!(observed(&ingested), [(AVERAGED_READINGS, 1, 4), (AVERAGED_READINGS, 1, 4)]);
}

#[test]
fn the_timing_pump_is_read() {
    let header = format!("{},Timing pump\n", HEADER.trim_end());
    let row = |second: u32, pump: &str| {
        format!("2026-03-08 06:00:{second:02},FWD,161.2,24.3,26.3,{pump}\n")
    };
    let rows: String =
        (0..).zip(["Running", "0", "", "broken", "on"]).map(|(at, pump)| row(at, pump)).collect();
    let expected = [Some(true), Some(false), None, None, Some(true)];
    let by_name = read_one(format!("{header}{rows}"), &Plant::assumed());
    assert_eq!(by_name.record.timing_pump(), Some(expected.as_slice()));
    assert_eq!(observed(&by_name), [(INVALID_READINGS, 4, 1), (UNMAPPED_WORD, 5, 1)]);
    let plant = bound("{ column = \"Hold Temp\" }", "timing_pump = { column = \"P 1\" }\n");
    let bound = read_one(format!("{header}{rows}").replace("Timing pump", "P 1"), &plant);
    assert_eq!(bound.record.timing_pump(), Some(expected.as_slice()));
}

#[test]
fn a_channel_that_a_file_does_not_have_is_blank_there() {
    let with_flow = format!("{},Flow (gpm)\n{}", HEADER.trim_end(), ROWS.replace('\n', ",26\n"));
    let without = format!("{HEADER}{}", ROWS.replace(" 06:", " 07:"));
    for files in [
        [input("a.csv", &with_flow), input("b.csv", &without)],
        [input("b.csv", &without), input("a.csv", &with_flow)],
    ] {
        let ingested = read_all(&files, &Plant::assumed());
        let Some(flow) = ingested.record.flow_rate() else { panic!("there is a flow") };
        let readings: Vec<_> = (0..4).map(|sample| flow.value(sample)).collect();
        assert_eq!(readings, [Some(26.0), Some(26.0), None, None]);
        assert_eq!(
            messages(&ingested, INVALID_READINGS),
            ["The file has no column for the flow, though other files of the record have one; \
                 rows without the reading: 2. None of them counts as safe."]
        );
    }
}

#[test]
fn decimal_commas_between_commas_are_never_taken_for_cells() {
    let rows = ROWS.replace('.', ",");
    let message = error(format!("{HEADER}{rows}"), &Plant::assumed());
    assert!(message.starts_with("a.csv:2: 8 cells where the header has 5"), "{message}");
    // One such row among others is there, but nothing in it is a reading.
    let mixed = format!("{HEADER}{ROWS}2026-03-08 06:00:02,FWD,161,5,24.3,26.5\n");
    let ingested = read_one(mixed, &Plant::assumed());
    assert_eq!(ingested.record.samples(), 3);
    assert_eq!(ingested.record.valve()[2], ValveState::Unknown);
    assert!(ingested.record.channels().iter().all(|(_, channel)| channel.value(2).is_none()));
    assert!(observed(&ingested).contains(&(RAGGED_ROW, 4, 1)));
}
