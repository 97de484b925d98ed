//! Files that are far too large, or made to be: each ends with a message or a result, in little memory. The
//! bounds are in docs/file-formats.md. Files with holes take no place on the disk.
#![cfg(unix)]

use flate2::Compression;
use flate2::write::GzEncoder;
use std::fmt::Write as _;
use std::fs::{self, File};
use std::io::{Seek as _, SeekFrom, Write as _};
use std::path::Path;
use std::process::Command;
use tests::containers::varint;
use tests::good;
use tests::program::{Told, program, root};
use tests::simple::PLANT_FILE as PLANT;

/// In KiB, as `ulimit` takes it.
const MEMORY: &str = "1000000";

const HEADER: &str = "Time,FDD,Hold,Raw,Past\n";
const ROW: &str = "2026-03-03 00:00:00,FWD,163.5,20.0,26.0\n";
const TWO_GIB: u64 = 2 << 30;

fn run(folder: &Path, arguments: &[&str]) -> Told {
    let output = Command::new("sh")
        .args(["-c", "ulimit -d \"$0\" && exec \"$@\"", MEMORY])
        .arg(program())
        .args(arguments)
        .current_dir(folder)
        .output();
    good(output).into()
}

/// A folder with a plant file and a file of this beginning, and no more data up to its length.
fn folder(name: &str, beginning: &[u8], length: u64) -> tempfile::TempDir {
    let folder = good(tempfile::tempdir());
    good(fs::write(folder.path().join("plant.toml"), PLANT));
    let mut file = good(File::create(folder.path().join(name)));
    good(file.write_all(beginning));
    good(file.set_len(length.max(beginning.len() as u64)));
    folder
}

/// It is refused with these words, for reading and for setting up.
fn refused(folder: &Path, name: &str, words: &str) {
    for command in ["audit", "setup"] {
        let told = run(folder, &[command, name]);
        assert_eq!(
            (told.status, told.output.as_str()),
            (Some(2), ""),
            "{command}: {}",
            told.complaint
        );
        assert!(told.complaint.contains(words), "{command}: {words}: {}", told.complaint);
        assert!(told.complaint.len() < 5000, "{command}: {}", told.complaint);
    }
}

fn packed(text: &[u8]) -> Vec<u8> {
    let mut gzip = GzEncoder::new(Vec::new(), Compression::fast());
    good(gzip.write_all(text));
    good(gzip.finish())
}

#[test]
fn two_gigabytes_of_zeros() {
    refused(folder("day.csv", b"", TWO_GIB).path(), "day.csv", "looks like a binary file");
    // A logger's file that was given its length before its rows.
    let rows = format!("{HEADER}{}", ROW.repeat(60));
    let zeros = folder("day.csv", rows.as_bytes(), TWO_GIB);
    refused(zeros.path(), "day.csv", "day.csv:62: the line is longer than 1 MiB");
    let zeros = packed(&vec![0; 1 << 24]).repeat(128);
    refused(folder("day.csv.gz", &zeros, 0).path(), "day.csv.gz", "looks like a binary file");
}

#[test]
fn a_field_of_a_gigabyte() {
    let open = format!("{HEADER}{}2026-03-03 00:00:00,\"FWD", ROW.repeat(60));
    let field = folder("day.csv", open.as_bytes(), 1 << 30);
    refused(field.path(), "day.csv", "day.csv:62: the line is longer than 1 MiB");
    let parts = [packed(open.as_bytes()), packed(&vec![b'7'; 1 << 24]).repeat(64)].concat();
    refused(folder("day.csv.gz", &parts, 0).path(), "day.csv.gz", "the line is longer than 1 MiB");
}

#[test]
fn a_million_columns() {
    let wide = folder("day.csv", format!("Time{}\n", ",C".repeat(1_000_000)).as_bytes(), 0);
    refused(wide.path(), "day.csv", "day.csv:1: the line is longer than 1 MiB");
    // As many as a line has room for.
    let cells = ",".repeat(1_000_000);
    let rows = format!("Time{cells}\n").repeat(3);
    let told = run(folder("day.csv", rows.as_bytes(), 0).path(), &["audit", "day.csv"]);
    assert_eq!(told.status, Some(2), "{}", told.complaint);
    let names: String = (0..4000).fold(String::new(), |names, column| format!("{names},C{column}"));
    let told = run(
        folder("day.csv", format!("Time{names}\n{ROW}").as_bytes(), 0).path(),
        &["audit", "day.csv"],
    );
    assert!(told.complaint.contains("\"C98\", and 3901 more; "), "{}", told.complaint);
    assert!(told.complaint.len() < 2000, "{}", told.complaint);
}

/// Rows without end, of a few bytes each: a hundred megabytes out of a few hundred kilobytes.
#[test]
fn a_gzip_file_of_more_rows_than_a_record_has() {
    let rows = packed(",x\n".repeat(1 << 20).as_bytes()).repeat(17);
    let first = packed(format!("{HEADER}{}", ROW.repeat(300)).as_bytes());
    let bomb = [first, rows].concat();
    assert!(bomb.len() < 600_000, "{}", bomb.len());
    refused(folder("day.csv.gz", &bomb, 0).path(), "day.csv.gz", "more than 16777216 rows");
}

/// A file without a header is not looked through to its end.
#[test]
fn a_gigabyte_of_lines_without_a_header() {
    let lines = packed(",x\n".repeat(1 << 20).as_bytes()).repeat(340);
    let lines = folder("day.csv.gz", &lines, 0);
    let told = run(lines.path(), &["setup", "day.csv.gz"]);
    assert_eq!(told.status, Some(2), "{}", told.output);
    assert!(told.complaint.contains("no line with column names"), "{}", told.complaint);
}

/// Ten million lots would be as many lines of each list.
#[test]
fn a_lot_of_its_own_for_each_of_a_million_rows() {
    let columns = "product = { column = \"Product\" }\nlot = { column = \"Lot\" }\n";
    let mut text = "Time,FDD,Hold,Raw,Past,Product,Lot\n".to_owned();
    for row in 0..1_000_002 {
        let (second, hundredths) = (row / 100, row % 100);
        let (hour, minute) = (second / 3600, second / 60 % 60);
        good(writeln!(
            text,
            "2026-03-03 {hour:02}:{minute:02}:{:02}.{hundredths:02},FWD,163.5,20.0,26.0,milk,L{row}",
            second % 60
        ));
    }
    let folder = folder("day.csv", text.as_bytes(), 0);
    good(fs::write(folder.path().join("plant.toml"), format!("{PLANT}{columns}")));
    let told = run(folder.path(), &["audit", "day.csv"]);
    assert_eq!((told.status, told.output.as_str()), (Some(2), ""), "{}", told.complaint);
    let words =
        "day.csv:1000002: the column \"Lot\" has more than 1000000 different words for the lot";
    assert!(told.complaint.contains(words), "{}", told.complaint);
}

/// Each reading of another channel at another time would be a row of all channels; many readings of a
/// channel at one time were once looked through for each of them.
#[test]
fn the_long_form_is_held_to_a_bound() {
    let columns = PLANT.split("[columns]").nth(1).unwrap_or_default();
    let plant = PLANT.split("[columns]").next().unwrap_or_default();
    let plant =
        format!("{plant}[files.long]\ntag = \"Tag\"\nvalue = \"Value\"\n[columns]{columns}");
    let mut readings = "Time,Tag,Value\n".to_owned();
    for row in 0..20_000 {
        let (hour, minute, second) = (row / 3600, row / 60 % 60, row % 60);
        good(writeln!(readings, "2026-03-03 {hour:02}:{minute:02}:{second:02},T{row},1"));
    }
    let many = folder("day.csv", readings.as_bytes(), 0);
    good(fs::write(many.path().join("plant.toml"), &plant));
    refused(many.path(), "day.csv", "more readings of different channels and times");
    let mut readings = "Time,Tag,Value\n".to_owned();
    for (tag, reading) in [("FDD", "FWD"), ("Hold", "163.5"), ("Raw", "20.0"), ("Past", "26.0")] {
        readings += &format!("2026-03-03 00:00:00,{tag},{reading}\n").repeat(200_000);
    }
    let many = folder("day.csv", readings.as_bytes(), 0);
    good(fs::write(many.path().join("plant.toml"), &plant));
    let told = run(many.path(), &["audit", "day.csv"]);
    assert_eq!(told.status, Some(0), "{}", told.complaint);
    assert!(told.output.contains("200,000"), "{}", told.output);
}

/// The books beside a record: a journal, the register of signers, the ledger.
#[test]
fn books_of_two_gigabytes() {
    let signed = root().join("tests/fixtures/signed-review");
    for book in ["2026-03-14.review.jsonl", "signers.jsonl", "ledger.jsonl"] {
        let folder = good(tempfile::tempdir());
        for file in good(fs::read_dir(&signed)) {
            let file = good(file);
            good(fs::copy(file.path(), folder.path().join(file.file_name())));
        }
        let mut grown = good(File::options().append(true).open(folder.path().join(book)));
        good(grown.set_len(TWO_GIB));
        good(grown.seek(SeekFrom::End(0)));
        for arguments in [&["verify", "2026-03-14.csv"][..], &["review", "list", "2026-03-14.csv"]]
        {
            let told = run(folder.path(), arguments);
            assert_ne!(told.status, Some(0), "{book}: {}", told.output);
            let said = format!("{}{}", told.output, told.complaint);
            assert!(said.contains("at most 67108864"), "{book}, {arguments:?}: {said}");
        }
    }
}

/// A Parquet file of one column of texts whose only page says that it has so many bytes unpacked.
fn parquet(codec: u64, unpacked: u64, rows: u64, page: &[u8]) -> Vec<u8> {
    let int = |number: u64| varint(number * 2);
    let head = [
        &[0x15, 0, 0x15][..],
        &int(unpacked),
        &[0x15],
        &int(page.len() as u64),
        &[0x2c, 0x15],
        &int(rows),
        &[0x15, 0, 0x15, 6, 0x15, 6, 0, 0],
    ];
    let chunk = [&[0x3c, 0x15, 12, 0x35][..], &int(codec), &[0x56, 8, 0, 0]];
    let footer = [
        &[0x15, 2, 0x19, 0x2c, 0x48, 1, b's', 0x15, 2, 0][..],
        // Time, as texts that are always there.
        &[0x15, 12, 0x25, 0, 0x18, 4, b'T', b'i', b'm', b'e', 0],
        &[0x16],
        &int(rows),
        &[0x19, 0x1c, 0x19, 0x1c],
        &chunk.concat(),
        &[0x26],
        &int(rows),
        &[0, 0],
    ];
    let (head, footer) = (head.concat(), footer.concat());
    let length = (footer.len() as u32).to_le_bytes();
    [b"PAR1", &head[..], page, &footer, &length, b"PAR1"].concat()
}

/// What a Parquet file says of itself takes no memory before it is seen.
#[test]
fn a_parquet_file_that_says_it_is_large() {
    // Texts of one letter each: what is said is true, and there is no valve.
    let text = [&[1, 0, 0, 0][..], b"x"].concat();
    let small = folder("day.parquet", &parquet(0, 10, 2, &text.repeat(2)), 0);
    refused(small.path(), "day.parquet", "day.parquet: ");
    let rows = 1 << 40;
    for (file, words) in [
        (parquet(0, 10, rows, &text.repeat(2)), "too many rows"),
        (parquet(6, 250 << 20, 2, &text), "damaged or cut off"),
        (parquet(6, 300 << 20, 2, &text), "more than 1 GiB unpacked"),
        (parquet(1, 250 << 20, 2, &text), "damaged or cut off"),
        (parquet(0, 10, 3, &text.repeat(2)), "damaged or cut off"),
        (parquet(5, 10, 2, &text.repeat(2)), "packed in a way that is not read"),
        ([&b"PAR1"[..], &[0xff, 0xff, 0xff, 0x7f], b"PAR1"].concat(), "description is larger"),
        ([&b"PAR1"[..], &[9, 0, 0, 0], b"PAR1"].concat(), "damaged or cut off"),
    ] {
        let folder = folder("day.parquet", &file, 0);
        refused(folder.path(), "day.parquet", words);
    }
    // A file of two gigabytes is not held.
    let large = folder("day.parquet", b"PAR1", TWO_GIB);
    refused(large.path(), "day.parquet", "is larger than 256 MiB");
}
