//! Stamps in forms that only a plant file can tell.

use crate::support::{error, plant_in, read_one, times};
use plant::Plant;

/// A plant with these keys under `[files]` and for the stamp under `[columns]`.
fn plant(files: &str, stamp: &str) -> Plant {
    plant_in(
        "America/Chicago",
        &format!(
            "[files]\n{files}\n[columns]\n{stamp}\nvalve = {{ column = \"FDV\" }}\n\
             holding_temperature = {{ column = \"Hold\", unit = \"degF\" }}\n\
             differential_pressure = {{ column = \"dP\", unit = \"psi\" }}\n"
        ),
    )
}

/// A file whose rows begin with these stamps.
fn file(header: &str, stamps: &[&str]) -> String {
    let rows: String = stamps.iter().map(|stamp| format!("{stamp};FWD;163.4;5.2\n")).collect();
    format!("{header};FDV;Hold;dP\n{rows}")
}

/// The times of day in UTC, or the message.
fn read(text: &str, plant: &Plant) -> Vec<String> {
    times(&read_one(text, plant).record)
}

#[test]
fn a_fraction_may_stand_in_a_column_of_its_own() {
    let stamp = "date = \"Date\"\ntime = \"Time\"\nfraction = { column = \"Part\", unit = \"ms\" }";
    let rows = ["2026-03-04;06:00:00;5", "2026-03-04;06:00:00;250", "2026-03-04;06:00:01;0"];
    let found = read(&file("Date;Time;Part", &rows), &plant("", stamp));
    assert_eq!(found, ["12:00:00.005", "12:00:00.250", "12:00:01"]);
    let found = read(
        &file("Date;Time;Part", &["2026-03-04;06:00:00;250000", "2026-03-04;06:00:01;5"]),
        &plant("", &stamp.replace("\"ms\"", "\"us\"")),
    );
    assert_eq!(found, ["12:00:00.250", "12:00:01"]);
    let found = read(
        &file("Date;Time;Part", &["2026-03-04;06:00:00;0,25", "2026-03-04;06:00:01;0"]),
        &plant("", &stamp.replace("\"ms\"", "\"s\"")),
    );
    assert_eq!(found, ["12:00:00.250", "12:00:01"]);
    for wrong in ["2026-03-04;06:00:00;1000", "2026-03-04;06:00:00;", "2026-03-04;06:00:00.5;5"] {
        let told = error(file("Date;Time;Part", &[wrong]), &plant("", stamp));
        assert!(told.contains("no time stamp in the file can be read"), "{wrong}: {told}");
    }
}

#[test]
fn year_and_day_of_the_year_may_stand_apart() {
    let stamp = "year = \"Year\"\nday_of_year = \"Day\"\ntime = \"Time\"";
    let found =
        read(&file("Year;Day;Time", &["2026;63;23:59:59", "2026;64;00:00:00"]), &plant("", stamp));
    assert_eq!(found, ["05:59:59", "06:00:00"]);
    for wrong in ["2026;366;06:00:00", "26;63;06:00:00", "2026;;06:00:00", "2026;0;06:00:00"] {
        let told = error(file("Year;Day;Time", &[wrong]), &plant("", stamp));
        assert!(told.contains("no time stamp in the file can be read"), "{wrong}: {told}");
    }
}

#[test]
fn the_time_since_a_start_above_the_header_is_read() {
    let stamp = "since_start = { column = \"Elapsed\", unit = \"s\", start = \"Start time\" }";
    for line in [
        "Start time: 2026-03-04 06:00:00",
        "Start time;2026-03-04;06:00:00",
        "\"start time\" = 2026-03-04T06:00:00-06:00",
        "# Start time\t4 Mar 2026 6:00 AM;;",
    ] {
        let text = format!("Logger 7\n{line}\n{}", file("Elapsed", &["0", "1.5", "86400"]));
        assert_eq!(
            read(&text, &plant("", stamp)),
            ["12:00:00", "12:00:01.500", "12:00:00"],
            "{line}"
        );
    }
    let in_milliseconds = plant("", &stamp.replace("\"s\"", "\"ms\""));
    let text = format!("Start time: 2026-03-04 06:00:00\n{}", file("Elapsed", &["0", "1500"]));
    assert_eq!(read(&text, &in_milliseconds), ["12:00:00", "12:00:01.500"]);
    for above in [
        "",
        "Started: 2026-03-04 06:00:00\n",
        "Start time: soon\n",
        // Two readings, two starts, an hour that comes twice, one that does not come.
        "Start time: 03/04/2026 06:00:00\n",
        "Start time: 2026-03-04 06:00:00\nStart time: 2026-03-04 07:00:00\n",
        "Start time: 2026-11-01 01:30:00\n",
        "Start time: 2026-03-08 02:30:00\n",
    ] {
        let told = error(format!("{above}{}", file("Elapsed", &["0", "1"])), &plant("", stamp));
        assert!(
            told.contains("line above this header begins with \"Start time\""),
            "{above}: {told}"
        );
    }
    // `1.500` may be fifteen hundred seconds, unless the plant file says what the mark is.
    let text = format!("Start time: 2026-03-04 06:00:00\n{}", file("Elapsed", &["1.500"]));
    assert!(error(&text, &plant("", stamp)).contains("no time stamp in the file can be read"));
    assert_eq!(read(&text, &plant("decimal_mark = \".\"", stamp)), ["12:00:01.500"]);
}

#[test]
fn day_numbers_are_read_from_the_year_that_the_plant_file_says() {
    let rows = file("Time", &["46085.25", "46085.2500115741", "46085,999999999"]);
    let told = error(&rows, &plant("", "time = \"Time\""));
    assert!(told.contains("a spreadsheet's count of days"), "{told}");
    let from_1900 = plant("day_numbers = \"1900\"", "time = \"Time\"");
    let read = read_one(&rows, &from_1900);
    assert_eq!(times(&read.record), ["12:00:00", "12:00:01", "06:00:00"]);
    // 2026-03-04 06:00 in Chicago, and four years and a day later by the other count.
    assert_eq!(read.record.instants()[0].unix_milliseconds(), 1_772_625_600_000);
    let from_1904 = plant("day_numbers = \"1904\"", "time = \"Time\"");
    let later = read_one(&rows, &from_1904).record.instants()[0].unix_milliseconds();
    assert_eq!(later - 1_772_625_600_000, 1462 * 86_400_000);
    // A date and a time of day apart.
    let apart = plant("day_numbers = \"1900\"", "date = \"Date\"\ntime = \"Time\"");
    let rows = file("Date;Time", &["46085;0.25", "46085;06:00:01"]);
    assert_eq!(times(&read_one(rows, &apart).record), ["12:00:00", "12:00:01"]);
    for wrong in ["19999.5", "80000", "4.6085E4", "46085.5.1"] {
        let told = error(file("Time", &[wrong]), &from_1900);
        assert!(told.contains("no time stamp in the file can be read"), "{wrong}: {told}");
    }
}

#[test]
fn times_that_could_be_another_thing_need_the_plant_file() {
    let rows = file("Time", &["2026-03-04 6:5:3", "2026-03-04 6:5:14", "2026-03-04 6:50"]);
    let told = error(&rows, &plant("", "time = \"Time\""));
    assert!(told.contains("time stamp"), "{told}");
    let found = read(&rows, &plant("times = \"unpadded\"", "time = \"Time\""));
    assert_eq!(found, ["12:05:03", "12:05:14", "12:50:00"]);
    let rows = file("Date;Time", &["2026-03-04;5", "2026-03-04;6", "2026-03-04;07"]);
    let stamp = "date = \"Date\"\ntime = \"Time\"";
    let told = error(&rows, &plant("", stamp));
    assert!(told.contains("time stamp"), "{told}");
    let found = read(&rows, &plant("times = \"hours\"", stamp));
    assert_eq!(found, ["11:00:00", "12:00:00", "13:00:00"]);
    let told = error(file("Date;Time", &["2026-03-04;24"]), &plant("times = \"hours\"", stamp));
    assert!(told.contains("time stamp"), "{told}");
}
