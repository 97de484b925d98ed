//! Every output of the program, byte for byte: for each sample day, for each day of `simulate::proof`,
//! and for a folder with a record that was signed in its time.
//!
//! Each line of the snapshots is the SHA-256 and the length of one output. A change that only moves code
//! keeps all of them; one that is meant to change an output shows which, and is reviewed with
//! `cargo insta review`. Where the program writes the time of day, the library is asked with a fixed
//! one.

use archive::{Files, ScanProgress, Trust};
use chrono::{DateTime, FixedOffset, NaiveDate};
use daybook::{Range, Summary};
use ingest::Progress;
use paper::{Filing, Paper, RangeSummary};
use review::{Paths, Subject};
use sha2::{Digest as _, Sha256};
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use tests::good;
use tests::program::{Told, command, root};
use trace::{Instant, hexadecimal};

/// The lines of a snapshot.
#[derive(Default)]
struct Golden(String);

impl Golden {
    fn add(&mut self, name: &str, bytes: &[u8]) {
        let digest = hexadecimal(&Sha256::digest(bytes));
        good(writeln!(self.0, "{digest} {:>8} {name}", bytes.len()));
    }
}

/// A folder that the program is run in.
struct Folder(tempfile::TempDir);

impl Folder {
    fn new() -> Self {
        Self(good(tempfile::tempdir()))
    }

    fn path(&self) -> PathBuf {
        // As the program sees it: a temporary folder may lie behind a link.
        good(self.0.path().join("here").canonicalize())
    }

    fn write(&self, name: &str, bytes: &[u8]) {
        let path = self.0.path().join("here").join(name);
        good(std::fs::create_dir_all(path.parent().unwrap_or(&path)));
        good(std::fs::write(path, bytes));
    }

    fn run(&self, arguments: &[&str]) -> Told {
        let mut command = command(arguments);
        command
            .current_dir(self.path())
            .env("XDG_CONFIG_HOME", self.0.path().join("config"))
            .env("XDG_CACHE_HOME", self.0.path().join("cache"));
        good(command.output()).into()
    }

    /// What the program says, with its exit status.
    fn told(&self, golden: &mut Golden, arguments: &[&str]) -> Option<i32> {
        let Told { status, output, complaint } = self.run(arguments);
        let ended = status.map_or_else(|| "none".to_owned(), |status| status.to_string());
        let name = format!("{ended} {}", arguments.join(" "));
        golden.add(&name, format!("{output}{complaint}").as_bytes());
        status
    }

    /// What the program says of one record, the tables that it writes, and the record on paper.
    fn record(&self, golden: &mut Golden, file: &str, paper: Paper) {
        if self.told(golden, &["audit", file]) == Some(2) {
            return;
        }
        for format in ["json", "result", "csv"] {
            self.told(golden, &["audit", file, "--format", format]);
        }
        self.told(golden, &["audit", file, "--format", "csv", "--rows", "observations"]);
        self.told(golden, &["report", file, "--format", "csv"]);
        self.told(golden, &["report", file, "--format", "csv", "--rows", "observations"]);
        self.told(golden, &["report", file, "--format", "json"]);
        self.told(golden, &["review", "list", file]);
        self.told(golden, &["review", "list", file, "--json"]);
        let tables = ["record", "exceptions", "observations"];
        let outputs = tables.map(|table| (format!("--{table}"), format!("{table}.parquet")));
        let mut arguments = vec!["tables", file];
        arguments.extend(outputs.iter().flat_map(|(flag, to)| [flag.as_str(), to.as_str()]));
        let told = self.run(&arguments);
        assert_eq!(told.complaint, "", "{file}");
        for (_flag, to) in &outputs {
            golden.add(&format!("{file} {to}"), &good(std::fs::read(self.path().join(to))));
            good(std::fs::remove_file(self.path().join(to)));
        }
        self.on_paper(golden, file, paper);
    }

    /// The record with its review on paper.
    fn on_paper(&self, golden: &mut Golden, file: &str, paper: Paper) {
        let logger = self.path().join(file);
        let case = good(archive::read(&Files::one(logger.clone()), None, &Progress::default()));
        let plant = case.plant().file.as_ref().map(|file| PathBuf::from(&file.name));
        let fresh = good(Subject::new(&case));
        let paths = Paths::of(&logger, plant.as_deref());
        let trust = Trust::new(None, now());
        let reviewed = good(archive::read_review((&paths, plant.as_deref()), &fresh, None, &trust));
        let name = logger.file_stem().unwrap_or_default().to_string_lossy();
        let filing = Filing { case: &case, record: &name, reviewed: &reviewed, others: None };
        let pdf = good(filing.pdf(paper, now(), None));
        golden.add(&format!("{file} {paper:?} pdf"), &pdf);
    }

    /// All records of the folder.
    fn range(&self, golden: &mut Golden) {
        let trust = Trust::new(None, now());
        let scan = good(archive::scan(&self.path(), None, &trust, &ScanProgress::default()));
        let today = NaiveDate::from_ymd_opt(2026, 12, 1).unwrap_or_default();
        let summary = good(Summary::new(&scan.entries, Range::default(), today));
        golden.add("days text", String::from(summary.register_text()).as_bytes());
        golden.add("summary text", String::from(summary.text()).as_bytes());
        golden.add("summary days csv", good(summary.days().csv()).as_bytes());
        golden.add("summary exceptions csv", good(summary.exceptions().csv()).as_bytes());
        golden.add("summary json", summary.json("then").to_string().as_bytes());
        let (books, created): (Vec<_>, DateTime<FixedOffset>) =
            (scan.books.iter().filter_map(review::Books::imprint).collect(), made());
        let paper =
            RangeSummary { summary: &summary, paper: Paper::Letter, created, books: &books };
        golden.add("summary pdf", &good(paper::range_summary(&paper)));
    }
}

/// When everything is made.
fn made() -> DateTime<FixedOffset> {
    good(DateTime::parse_from_rfc3339("2026-12-01T06:00:00-06:00"))
}

fn now() -> Instant {
    Instant::from_unix_milliseconds(made().timestamp_millis())
}

#[test]
fn every_output_of_every_sample_day() {
    let (folder, mut golden) = (Folder::new(), Golden::default());
    let mut names = Vec::new();
    for (name, bytes) in good(simulate::sample_runs()) {
        let is_csv = Path::new(&name).extension().is_some_and(|ending| ending == "csv");
        if is_csv || name == "plant.toml" {
            folder.write(&name, &bytes);
        }
        if is_csv {
            names.push(name);
        }
    }
    for name in &names {
        folder.record(&mut golden, name, Paper::A4);
    }
    folder.range(&mut golden);
    folder.told(&mut golden, &["lot", ".", "0304-A"]);
    insta::assert_snapshot!(golden.0);
}

#[test]
fn every_output_of_every_proof_day() {
    let mut golden = Golden::default();
    for day in good(simulate::proof::proof_days()) {
        let folder = Folder::new();
        for file in &day.files {
            folder.write(file.name, file.text.as_bytes());
        }
        good(writeln!(golden.0, "{}", day.name));
        let name = day.files.first().map_or("", |file| file.name);
        folder.record(&mut golden, name, Paper::Letter);
    }
    insta::assert_snapshot!(golden.0);
}

/// A journal, a register and a ledger that were written and signed on 26 November 2026: what was signed
/// then holds now, and its audit is still the one whose digest the journal names.
#[test]
fn every_output_of_a_signed_record() {
    let (folder, mut golden) = (Folder::new(), Golden::default());
    let fixture = root().join("tests/fixtures/signed-review");
    for entry in good(std::fs::read_dir(fixture)).flatten() {
        folder.write(&entry.file_name().to_string_lossy(), &good(std::fs::read(entry.path())));
    }
    let verified = folder.run(&["verify", "2026-03-14.csv"]);
    assert_eq!(verified.status, Some(0), "{verified:#?}");
    insta::assert_snapshot!("a_signed_record_verified", verified.output);
    let result = folder.run(&["audit", "2026-03-14.csv", "--format", "result"]).output;
    let digest = hexadecimal(&Sha256::digest(result.as_bytes()));
    let journal = good(std::fs::read_to_string(folder.path().join("2026-03-14.review.jsonl")));
    assert!(journal.contains(&format!("\"audit\":\"{digest}\"")), "{digest}");
    folder.record(&mut golden, "2026-03-14.csv", Paper::Letter);
    folder.range(&mut golden);
    insta::assert_snapshot!(golden.0);
}
