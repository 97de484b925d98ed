//! Files that could be read in two ways, or with a part left out: each is refused with its cause, or the
//! doubtful part vouches for nothing.

use crate::support::{
    HEADER, error, input, messages, observed, plant, plant_in, read_all, read_one, show, times,
};
use ingest::observations::{RAGGED_ROW, TRUNCATED_ROW, UNREADABLE_ROW};
use plant::Plant;
use std::fmt::Write as _;
use trace::ValveState;

/// Rows a second apart from 06:00:00 on, each made from its stamp's time.
fn rows(count: usize, row: impl Fn(usize, &str) -> String) -> String {
    (0..count).fold(String::new(), |mut rows, second| {
        let time = format!("06:{:02}:{:02}", second / 60, second % 60);
        writeln!(rows, "{}", row(second, &time)).unwrap_or_default();
        rows
    })
}

fn good(time: &str) -> String {
    format!("2026-03-10 {time},FWD,161.2,24.3,26.3")
}

#[test]
fn more_than_one_unreadable_stamp_in_fifty_is_refused() {
    let file = |every: usize| {
        let row = |second: usize, time: &str| {
            if second % every == 7 { good(time).replace(':', "h") } else { good(time) }
        };
        format!("{HEADER}{}", rows(600, row))
    };
    assert_eq!(read_one(file(50), &Plant::assumed()).record.unplaced().len(), 12);
    let error = error(file(49), &Plant::assumed());
    assert_eq!(
        error,
        "a.csv:9:1: 13 of 600 rows have no time stamp that can be read, the first has \
         \"2026-03-10 06h00h07\"; export every row with date and time such as 2026-03-08 06:00:00"
    );
}

#[test]
fn a_date_that_stands_only_now_and_then_is_named_as_the_cause() {
    let merged = |second: usize| if second.is_multiple_of(10) { "2026-03-10" } else { "" };
    let apart = rows(40, |second, time| format!("{},{time},FWD,161.2,24.3,26.3", merged(second)));
    let apart = format!("Date,{HEADER}{apart}");
    let together =
        rows(40, |second, time| format!("{} {time},FWD,161.2,24.3,26.3", merged(second)));
    let together = format!("{HEADER}{together}");
    for file in [apart, together] {
        let error = error(&file, &Plant::assumed());
        let expected = "a.csv:3:1: 36 of 40 rows have no time stamp that can be read, the first has \
                        \"06:00:01\"; the date is only in some rows, as with merged cells or on a \
                        printer's strip: export it in every row";
        assert_eq!(error, expected, "{file}");
    }
}

#[test]
fn a_note_with_line_breaks_is_one_row() {
    let note = |second: usize| match second {
        3 => "\"checked\nby me,\n\nand \"\"Bob\"\"\"",
        7 => "\"over\r\n\"",
        _ => "",
    };
    let file = |end: &str| {
        let rows = rows(10, |second, time| format!("{},{}", good(time), note(second)));
        format!("{},Note\n{rows}{end}", HEADER.trim_end())
    };
    let ingested = read_one(file(""), &Plant::assumed());
    assert_eq!(observed(&ingested), []);
    assert_eq!(ingested.record.samples(), 10);
    assert!(ingested.record.channels().iter().all(|(_, channel)| channel.value(3).is_some()));
    // Lines are counted as they stand in the file.
    let ingested = read_one(file("2026-03-10 06:01:00,FWD\n"), &Plant::assumed());
    assert!(observed(&ingested).contains(&(RAGGED_ROW, 16, 1)));
}

#[test]
fn a_stray_quote_swallows_no_row() {
    let file = |third: &str, fourth: &str| {
        let rows = rows(6, |second, time| match second {
            2 => format!("2026-03-10 {time},FWD,161.2,24.3,26.3,{third}"),
            3 => format!("2026-03-10 {time},FWD,150.1,24.3,26.3,{fourth}"),
            _ => format!("{},", good(time)),
        });
        format!("{},Note\n{rows}", HEADER.trim_end())
    };
    // Both rows have a quote that they do not close: as one, they would have the right number of cells.
    let ingested = read_one(file("\"5 in", "\"6 in"), &Plant::assumed());
    assert_eq!(ingested.record.samples(), 6);
    assert!(observed(&ingested).contains(&(UNREADABLE_ROW, 4, 2)));
    // The one below can't be placed, and is a row all the same.
    let unstamped = file("\"5 in", "6 in\"").replace("2026-03-10 06:00:03", "?");
    let ingested = read_one(unstamped, &Plant::assumed());
    assert_eq!(ingested.record.unplaced().len(), 1);
    assert!(observed(&ingested).contains(&(UNREADABLE_ROW, 4, 1)));
    // A quote that nothing closes to the end.
    let open = format!("{}remark\nEnd of report\n", file("", "\"6 in"));
    let ingested =
        read_one(open.replace("06:00:05", "x").replace("06:00:04", "y"), &Plant::assumed());
    assert_eq!(ingested.record.samples(), 4);
    assert_eq!(ingested.record.unplaced().iter().map(|group| group.rows.len()).sum::<usize>(), 2);
}

#[test]
fn columns_that_every_row_lacks_are_absent() {
    let header = format!("{},Lot,Note\n", HEADER.trim_end());
    let absent = rows(9, |_, time| good(time));
    let ingested = read_one(format!("{header}{absent}"), &Plant::assumed());
    assert_eq!(ingested.record.holding_temperature().value(0), Some(161.2));
    assert_eq!(ingested.record.lot().map(|lot| lot.words().to_vec()), Some(vec![String::new()]));
    assert_eq!(
        messages(&ingested, RAGGED_ROW),
        [
            "Every row ends before the column \"Lot\" of the header. That column and those behind it \
          count as absent."
        ]
    );
    // One row that has them shows that the others lack a cell, wherever it stands.
    for place in [0, 4, 8] {
        let mixed =
            rows(9, |second, time| good(time) + if second == place { ",L1,checked" } else { "" });
        let ingested = read_one(format!("{header}{mixed}"), &Plant::assumed());
        for sample in 0..9 {
            let reading = ingested.record.holding_temperature().value(sample);
            assert_eq!(reading.is_some(), sample == place, "{place} {sample}");
        }
        assert_eq!(show(&ingested.record).matches("unknown").count(), 8, "{place}");
        let told = messages(&ingested, RAGGED_ROW);
        assert!(told[0].starts_with("Rows with fewer cells than the header: 8."), "{told:?}");
    }
}

#[test]
fn a_lone_carriage_return_ends_a_line_wherever_a_line_feed_stands() {
    let lines = format!("{HEADER}{}", rows(9, |_, time| good(time)));
    let expected = times(&read_one(&lines, &Plant::assumed()).record);
    for at in lines.match_indices('\n').map(|(at, _)| at) {
        let mut bytes = lines.replace('\n', "\r").into_bytes();
        bytes[at] = b'\n';
        assert_eq!(times(&read_one(&bytes, &Plant::assumed()).record), expected, "{at}");
    }
    // Longer than what is read at once.
    let many = rows(3000, |_, time| good(time)).repeat(4);
    let long =
        format!("{HEADER}{many}").replace('\n', "\r") + "\n2026-03-10 07:00:00,FWD,161.2,1,3\n";
    assert_eq!(read_one(long, &Plant::assumed()).record.samples(), 3001);
}

#[test]
fn a_last_row_that_could_be_cut_is_doubtful() {
    let header = "Time,FDV,Hold Temp (°F),Past (psi),Raw (psi)\n";
    // `1` may have been `12`, though the row before it had one digit.
    for (cells, last, cut) in
        [(["12", "9"], "1", true), (["12", "9"], "10", false), (["8", "9"], "9", false)]
    {
        let before =
            rows(2, |second, time| format!("2026-03-10 {time},FWD,162,30,{}", cells[second]));
        let text = format!("{header}{before}2026-03-10 06:00:02,FWD,162,30,{last}");
        let ingested = read_one(text, &plant(""));
        assert_eq!(ingested.record.differential().value(2).is_none(), cut, "{cells:?} {last}");
        assert_eq!(messages(&ingested, TRUNCATED_ROW).len(), usize::from(cut), "{cells:?} {last}");
    }
    // A lot that no row before it had may be the beginning of one.
    let lots = |last: &str| {
        let before = rows(3, |_, time| format!("{},{}", good(time), "L12"));
        format!("{},Lot\n{before}{},{last}", HEADER.trim_end(), good("06:00:03"))
    };
    for (last, kept) in [("L12", "L12"), ("L1", ""), ("M1", ""), ("", "")] {
        let ingested = read_one(lots(last), &Plant::assumed());
        assert_eq!(ingested.record.lot().map(|lot| lot.word(3)), Some(kept), "{last}");
        let cut = messages(&ingested, TRUNCATED_ROW).len();
        assert_eq!(cut, usize::from(last != "L12"), "{last}");
    }
}

/// A file with a flow of these cells, apart by semicolons.
fn flow(unit: &str, cells: &[&str]) -> String {
    let rows = rows(cells.len(), |second, time| {
        format!("2026-03-10 {time};FWD;161;24;26;{}", cells[second])
    });
    format!("{};Flow ({unit})\n{rows}", HEADER.trim_end().replace(',', ";"))
}

#[test]
fn a_column_that_may_hold_thousands_is_refused() {
    for (cells, text, decimal) in [
        (&["11.379", "11.380"][..], "11.379", "11.379"),
        (&["11,380", "11,379"], "11,380", "11.38"),
        (&["950", "1.050"], "1.050", "1.05"),
    ] {
        let message = error(flow("L/h", cells), &Plant::assumed());
        let whole = text.replace(['.', ','], "");
        let expected =
            format!("{text} in column 6 \"Flow (L/h)\" can be {decimal} or {whole}, and no");
        assert!(message.contains(&expected), "{cells:?}: {message}");
        let mark = if text.contains(',') { "," } else { "." };
        let stated = plant(&format!("[files]\ndecimal_mark = \"{mark}\"\n"));
        let read = read_one(flow("L/h", cells), &stated).record;
        let last = cells[cells.len() - 1].replace(',', ".").parse::<f64>().ok();
        assert_eq!(
            read.flow_rate().and_then(|flow| flow.value(cells.len() - 1)),
            last,
            "{cells:?}"
        );
    }
    // Between tabs as well.
    let tabs = flow("L/h", &["11.379", "11.379"]).replace(';', "\t");
    assert!(error(tabs, &Plant::assumed()).contains("can be 11.379 or 11379"));
}

#[test]
fn one_reading_that_cannot_be_thousands_settles_its_column() {
    for (unit, cells) in [
        ("L/h", &["11.379", "11.37"][..]),
        ("L/h", &["11.379", "0.379"]),
        ("L/h", &["11.379", "1234.567"]),
        // More than two hundred thousand litres an hour are out of range.
        ("L/h", &["11.379", "600.125"]),
        ("gal/min", &["50.125", "50.250"]),
        ("L/h", &["11379", "11380"]),
    ] {
        let record = read_one(flow(unit, cells), &Plant::assumed()).record;
        let first = record.flow_rate().and_then(|flow| flow.value(0));
        assert_eq!(first, cells[0].parse::<f64>().ok(), "{cells:?}");
    }
    // What the thermometer shows does not settle the flow.
    let other = flow("L/h", &["11.379", "11.379"]).replace(";161;", ";161.5;");
    assert!(error(other, &Plant::assumed()).contains("Flow (L/h)"));
}

#[test]
fn positions_in_words_that_nobody_mapped_are_refused() {
    let file = |words: &[&str]| {
        let rows = rows(words.len(), |second, time| {
            format!("2026-03-10 {time},{},161.2,24.3,26.3", words[second])
        });
        format!("{HEADER}{rows}")
    };
    for (words, told) in [
        (&["V1", "V1", "V2"][..], "not known are \"V1\" in 2 rows, \"V2\" in 1 rows;"),
        (&["", ""], "not known are \"\" in 2 rows;"),
        (&["FWD", "V1", "V2"], "not known are \"V1\" in 1 rows, \"V2\" in 1 rows;"),
    ] {
        let message = error(file(words), &Plant::assumed());
        assert!(message.starts_with("a.csv:2:2: the words of column 2 \"FDV\" tell"), "{message}");
        assert!(message.contains(told), "{message}");
        let line =
            "with the other columns: valve = { column = \"FDV\", forward = [\"...\"], divert";
        assert!(message.contains(line), "{message}");
    }
    assert_eq!(read_one(file(&["FWD", "V1"]), &Plant::assumed()).record.samples(), 2);
    let files = [input("a.csv", file(&["V1"])), input("b.csv", file(&["V1", "V2"]))];
    let both = ingest::read(&files, &Plant::assumed(), &ingest::Progress::default());
    let both = both.map_or_else(|error| error.to_string(), |_| String::new());
    assert!(both.contains("not known are \"V1\" in 2 rows, \"V2\" in 1 rows;"), "{both}");
    // Who sets the file up looks at it before the words are said.
    let look = ingest::preview(&files, &Plant::assumed(), &ingest::Progress::default());
    assert!(look.is_ok_and(|look| look.record.valve() == [ValveState::Unknown; 2]));
    // A night file may show none that is known, as long as the record does.
    let night = format!("{HEADER}2026-03-10 05:59:59,V1,161.2,24.3,26.3\n");
    let both = [input("night.csv", night), input("day.csv", file(&["FWD", "DIV"]))];
    assert_eq!(read_all(&both, &Plant::assumed()).record.samples(), 3);
    let switches = "Time,FDV forward,FDV divert,Hold Temp (°F),dP (psi)\n\
                    2026-03-10 06:00:00,Ein,0,161.2,3\n2026-03-10 06:00:01,Aus,1,161.2,3\n";
    let message = error(switches, &Plant::assumed());
    assert!(message.contains("2 \"FDV forward\" tell"), "{message}");
    assert!(message.contains("\"Ein\" in 1 rows, \"Aus\" in 1 rows"), "{message}");
}

#[test]
fn the_long_form_is_named_and_never_one_channel() {
    let long = |header: &str| {
        let rows = rows(3, |_, time| {
            format!("2026-03-10 {time},FDV,FWD,Good\n2026-03-10 {time},Hold Temp (°F),161.2,Good")
        });
        format!("{header}\n{rows}")
    };
    for header in
        ["Timestamp,Tag,Value,Quality", "Time,Tag name,Process value,Q", "Zeit,TagName,Wert,Q"]
    {
        let message = error(long(header), &Plant::assumed());
        assert!(
            message.starts_with("a.csv:1: this is the long form, one reading a row:"),
            "{message}"
        );
    }
    // Not even where the plant file takes the readings of all channels for one.
    let bound = plant(
        "[columns]\ntime = \"Timestamp\"\nvalve = { column = \"Tag\" }\n\
         holding_temperature = { column = \"Value\", unit = \"degF\" }\n\
         differential_pressure = { column = \"Quality\", unit = \"psi\" }\n",
    );
    let message = error(long("Timestamp,Tag,Value,Quality"), &bound);
    assert!(
        message.contains("\"Tag\" names the channel and \"Value\" holds its reading"),
        "{message}"
    );
}

/// A file of one row for each stamp.
fn stamped(time: &str, stamps: &[&str]) -> String {
    let header = HEADER.replacen("Time", time, 1);
    stamps.iter().fold(header, |file, stamp| format!("{file}{stamp},FWD,161.2,24.3,26.3\n"))
}

#[test]
fn an_offset_in_the_header_is_that_offset() {
    for (name, utc) in [
        ("Time (GMT-04:00)", "10:00:00"),
        ("Time UTC-6", "12:00:00"),
        ("Time (UTC+01:00)", "05:00:00"),
        ("Time [UTC +0530]", "00:30:00"),
        ("Time (UTC\u{2212}6)", "12:00:00"),
        ("Date/Time (+01:00)", "05:00:00"),
        ("utc_time", "06:00:00"),
        ("Time (UTC)", "06:00:00"),
        ("Time", "11:00:00"),
    ] {
        let read =
            |plant: &Plant| times(&read_one(stamped(name, &["2026-07-10 06:00:00"]), plant).record);
        assert_eq!(read(&plant_in("America/Chicago", "")), [utc], "{name}");
        let columns = format!(
            "[columns]\ntime = \"{name}\"\nvalve = {{ column = \"FDV\" }}\n\
             holding_temperature = {{ column = \"Hold Temp\" }}\nraw_pressure = {{ column = \"Raw\" }}\n\
             pasteurized_pressure = {{ column = \"Past\" }}\n"
        );
        assert_eq!(read(&plant_in("America/Chicago", &columns)), [utc], "{name}, bound");
    }
    // The zone's winter hour is skipped and its autumn hour repeated; an offset knows neither.
    let spring = stamped("Time (UTC-06:00)", &["2026-03-08 02:30:00", "2026-03-08 02:30:01"]);
    let read = read_one(spring, &plant_in("America/Chicago", ""));
    assert_eq!(times(&read.record), ["08:30:00", "08:30:01"]);
    let strange = error(stamped("Time (UTC+99)", &["2026-07-10 06:00:00"]), &Plant::assumed());
    assert!(
        strange.contains("the offset in the name of the column \"Time (UTC+99)\""),
        "{strange}"
    );
    let said = read_one(stamped("Time (GMT-4)", &["2026-07-10 06:00:00"]), &Plant::assumed());
    let expected =
        "Time stamps were read with the offset -04:00, as the column \"Time (GMT-4)\" says.";
    assert!(said.assumptions.iter().any(|said| said == expected), "{:?}", said.assumptions);
}

#[test]
fn the_name_of_a_zone_tells_the_autumn_passes_apart() {
    let chicago = plant_in("America/Chicago", "");
    let stamps = ["00:30:00 CDT", "01:30:00 CDT", "01:30:00 CST", "02:30:00 CST"];
    let stamps = stamps.map(|time| format!("2026-11-01 {time}"));
    let file = stamped("Time", &stamps.each_ref().map(String::as_str));
    let read = read_one(&file, &chicago);
    assert_eq!(times(&read.record), ["05:30:00", "06:30:00", "07:30:00", "08:30:00"]);
    assert_eq!(observed(&read), []);
}

#[test]
fn the_name_of_another_zone_is_refused() {
    for (zone, files, stamp, here) in [
        ("America/Chicago", "", "2026-03-03 06:00:00 CDT", "CST"),
        ("America/Chicago", "", "2026-07-03 06:00:00 CST", "CDT"),
        ("America/Chicago", "", "2026-07-03 06:00:00 EST", "CDT"),
        ("America/Chicago", "", "2026-03-08 02:30:00 CST", "an hour that the clock skips"),
        ("UTC", "", "2026-07-03 06:00:00 CST", "UTC"),
        ("America/Chicago", "[files]\nclock = \"standard\"\n", "2026-07-03 06:00:00 CDT", "CST"),
    ] {
        let message = error(stamped("Time", &[stamp]), &plant_in(zone, files));
        let name = &stamp[20..];
        let expected = format!("a.csv:2: the stamp says {name}, but in {zone} it is {here};");
        assert!(message.starts_with(&expected), "{stamp}: {message}");
    }
    // In the header as well, whether the column is bound or not.
    let stamp = ["2026-07-03 06:00:00"];
    for (zone, name, told) in [
        ("America/Chicago", "Time (EST)", "the stamp says EST, but in America/Chicago it is CDT;"),
        ("America/Chicago", "Time (CST)", "the stamp says CST, but in America/Chicago it is CDT;"),
        ("Europe/Berlin", "Time [MEZ]", "the stamp says MEZ, but in Europe/Berlin it is CEST;"),
    ] {
        let message = error(stamped(name, &stamp), &plant_in(zone, ""));
        assert!(message.contains(told), "{name}: {message}");
    }
    let read = read_one(stamped("Time (CDT)", &stamp), &plant_in("America/Chicago", ""));
    assert_eq!(times(&read.record), ["11:00:00"]);
    for (zone, files, stamp, utc) in [
        ("Europe/Berlin", "", "2026-07-03 06:00:00 CEST", "04:00:00"),
        ("Europe/Berlin", "", "2026-07-03 06:00:00 MESZ", "04:00:00"),
        (
            "America/Chicago",
            "[files]\nclock = \"standard\"\n",
            "2026-07-03 06:00:00 CST",
            "12:00:00",
        ),
    ] {
        let read = read_one(stamped("Time", &[stamp]), &plant_in(zone, files));
        assert_eq!(times(&read.record), [utc], "{stamp}");
    }
}

#[test]
fn years_of_two_digits_may_stand_first() {
    let file = stamped("Time", &["26/03/04 06:00:00", "26/03/04 06:00:01"]);
    let message = error(&file, &Plant::assumed());
    assert!(message.contains("26/03/04 can be read day first or year first"), "{message}");
    let stated = plant("[files]\ndate_order = \"year-first\"\n");
    let first = read_one(&file, &stated).record.instants()[0];
    assert_eq!(plant::Zone::UTC.date(first), "2026-03-04");
}

#[test]
fn a_clock_that_was_not_set_makes_no_record_of_years() {
    let unset = ["2000-01-01 00:00:00", "2000-01-01 00:00:01"];
    let set = ["2026-03-10 06:00:00", "2026-03-10 06:00:01"];
    let message = error(stamped("Time", &[unset, set].concat()), &Plant::assumed());
    assert!(
        message.starts_with(
            "a.csv:3: more than a day lies between 2000-01-01 00:00:01 here and 2026-03-10 06:00:00 \
             (a.csv:4); a file is of one production day: cut off"
        ),
        "{message}"
    );
    // Nor one that was lost in between.
    let lost = error(stamped("Time", &[set, unset].concat()), &Plant::assumed());
    assert!(lost.starts_with("a.csv:5: more than a day"), "{lost}");
    // Files of several days are given on purpose; the time between them is a hole of the record.
    let days = ["2026-03-10 06:00:00", "2026-03-13 06:00:00"];
    let files = days.map(|day| input(day, stamped("Time", &[day])));
    assert_eq!(read_all(&files, &Plant::assumed()).record.samples(), 2);
    let day = ["2026-03-10 06:00:00", "2026-03-11 06:00:00"];
    assert_eq!(read_one(stamped("Time", &day), &Plant::assumed()).record.samples(), 2);
}

#[test]
fn messages_show_the_header_above_the_rows() {
    let rows = "2026-03-10;06:00:00;FWD;161,2;24,3;26,3\n2026-03-10;06:00:01;FWD;161,2;24,3;26,3\n";
    for preamble in [
        "",
        "Report of the day, HTST 1, valve and time\n",
        "# Time; FDV; Hold Temp (°F); note; of; operator\n",
        "Operator;Bob\nValve;ok\nExported;2026-03-11 08:00:00;by;hand;on;time\n",
    ] {
        let header = "Datum;Uhrzeit;FDV;TT 7;Raw (psi);Past (psi)\n";
        for units in ["", ";;;°F;psi;psi\n"] {
            let message = error(format!("{preamble}{header}{units}{rows}"), &Plant::assumed());
            let line = preamble.lines().count() + 1;
            let start = format!("a.csv:{line}: no column for the time; the columns are \"Datum\",");
            assert!(message.starts_with(&start), "{message}");
            let keys = "under [columns] as time; the rows have it in date = \"Datum\" and time = \"Uhrzeit\"";
            assert!(message.ends_with(keys), "{message}");
        }
    }
    // A column without a name is bound by that.
    let nameless = HEADER.replacen("Time", "", 1) + &good("06:00:00") + "\n" + &good("06:00:01");
    let message = error(&nameless, &Plant::assumed());
    assert!(message.ends_with("; the rows have it in time = \"\""), "{message}");
    let bound = plant(
        "[columns]\ntime = \"\"\nvalve = { column = \"FDV\" }\n\
         holding_temperature = { column = \"Hold Temp\" }\nraw_pressure = { column = \"Raw\" }\n\
         pasteurized_pressure = { column = \"Past\" }\n",
    );
    assert_eq!(times(&read_one(&nameless, &bound).record), ["06:00:00", "06:00:01"]);
}

#[test]
fn messages_name_what_to_write() {
    let bind = |time: &str, hold: &str| {
        plant(&format!(
            "[columns]\ntime = \"{time}\"\nvalve = {{ column = \"FDV\" }}\n\
             holding_temperature = {{ column = \"{hold}\" }}\nraw_pressure = {{ column = \"Raw\" }}\n\
             pasteurized_pressure = {{ column = \"Past\" }}\n"
        ))
    };
    let apart = format!("Day,{HEADER}2026-03-10,06:00:00,FWD,161.2,24.3,26.3\n");
    for (file, plant, end) in [
        (
            apart.as_str(),
            bind("Time", "Hold Temp"),
            "or say date = \"Day\" and time = \"Time\" under [columns] in the plant file",
        ),
        (
            apart.as_str(),
            bind("Time", "Hold Tmp"),
            "correct the name there or in the logger's export; the nearest name is \"Hold Temp (°F)\"",
        ),
        (
            apart.as_str(),
            bind("Stamp", "Hold Temp"),
            "the rows have it in date = \"Day\" and time = \"Time\"",
        ),
        (
            &stamped("Time", &["46091.25", "46091.250012"]),
            Plant::assumed(),
            "begins in 1900 or in 1904: give the column a format of date and time there before exporting",
        ),
    ] {
        let message = error(file, &plant);
        assert!(message.ends_with(end), "{message}");
    }
}

/// A unit behind a number is taken off only where it is the column's own: `72.5 C` in a column of °F is
/// no 72.5 °F.
#[test]
fn a_unit_within_a_cell_must_be_the_columns() {
    let file = |cell: &str| format!("{HEADER}2026-03-10 06:00:00,FWD,{cell},24.3 psi,26.3psi\n");
    let read = |cell: &str| show(&read_one(file(cell), &Plant::assumed()).record);
    let pressures = "raw_pressure=24.3psi pasteurized_pressure=26.3psi";
    for cell in ["161.2", "161.2 F", "161.2\u{b0}F", "161.2 degF", "=\"161.2 F\""] {
        let shown = read(cell);
        assert!(shown.contains("holding_temperature=161.2\u{b0}F"), "{cell}: {shown}");
        assert!(shown.contains(pressures), "{cell}: {shown}");
    }
    for cell in ["72.5 C", "161.2 psi", "161.2 x", "161 .2 F", "F 161.2", "161.2 F F"] {
        let shown = read(cell);
        assert!(shown.contains("holding_temperature=not a number"), "{cell}: {shown}");
    }
}

/// The degree sign of Windows-1252 is no UTF-8, and made a reading with its unit no number.
#[test]
fn a_unit_within_a_cell_of_windows_1252() {
    let file = format!("{HEADER}2026-03-10 06:00:00,FWD,161.2 \u{b0}F,24.3,26.3\n");
    let bytes: Vec<u8> = file.chars().filter_map(|one| u8::try_from(u32::from(one)).ok()).collect();
    let shown = show(&read_one(bytes, &Plant::assumed()).record);
    assert!(shown.contains("holding_temperature=161.2\u{b0}F"), "{shown}");
}
