//! The forms in which loggers write one and the same table.

use crate::support::{HEADER, error, input, messages, observed, plant, read_all, read_one, show};
use plant::Plant;
use trace::{ObservationKind, ValveState};

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
            comma.replacen('\n', "\nTS,,degF,psig,psig\n,Smp,Avg,Avg,Avg\n", 1).into_bytes(),
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
differential_pressure = { column = "PD", range = ["-1", "5.5"] }
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
            (ObservationKind::InvalidReadings, 4, 1),
            (ObservationKind::InvalidReadings, 5, 1),
            (ObservationKind::InvalidReadings, 5, 1),
            (ObservationKind::SwitchesDisagree, 5, 1),
            (ObservationKind::UnmappedWord, 5, 1),
        ]
    );
    assert!(
        messages(&ingested, ObservationKind::InvalidReadings)
            .iter()
            .any(|message| message
                .contains("holding temperature: a reading is not a number (\"BAD\")")),
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
             valve, \"Hold Temp (°F)\" the holding temperature in °F, \"Raw (psi)\" the raw \
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
    let plain = read_one(format!("{HEADER}{digits}"), &Plant::assumed());
    assert_eq!(plain.record.valve(), [ValveState::Unknown, ValveState::Unknown]);
    assert_eq!(
        observed(&plain),
        [(ObservationKind::UnmappedWord, 2, 1), (ObservationKind::UnmappedWord, 3, 1)]
    );
    let named = HEADER.replace("FDV", "FDV forward");
    let told = read_one(format!("{named}{digits}"), &Plant::assumed());
    assert_eq!(told.record.valve(), [ValveState::Forward, ValveState::Divert]);
    assert!(told.assumptions.iter().any(|said| said.contains("forward limit switch only")));
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
        [
            (ObservationKind::SwitchesDisagree, 5, 1),
            (ObservationKind::InvalidReadings, 6, 1),
            (ObservationKind::UnmappedWord, 7, 1)
        ]
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
    // The plant file goes before the header, and the difference is said.
    let plant = plant(
        "[columns]\nvalve = { column = \"FDV\" }\n\
         holding_temperature = { column = \"Hold Temp\", unit = \"degC\" }\n\
         raw_pressure = { column = \"Raw\" }\npasteurized_pressure = { column = \"Past\" }\n",
    );
    let ingested = read_one(format!("{HEADER}{}", ROWS.replace("16", "7")), &plant);
    assert_eq!(ingested.record.holding_temperature().unit(), trace::TemperatureUnit::Celsius);
    assert!(ingested.assumptions[0].contains("says °F, the plant file °C"));
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
            messages(&ingested, ObservationKind::InvalidReadings),
            ["flow: this file has no such column, other files do"]
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
    assert_eq!(observed(&ingested)[0], (ObservationKind::RaggedRow, 4, 1));
}
