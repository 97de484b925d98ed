//! A folder gone through: what is found, what is kept, and what a folder of odd things does not do.

use archive::{Error, Files, Neighbours, Scan, ScanProgress, Trust, scan};
use daybook::Entry;
use review::Stage;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::time::Duration;

type Outcome = Result<(), Box<dyn std::error::Error>>;

const TOO_NEW: Duration = Duration::from_millis(2200);

/// So many seconds of a record, in forward flow with nothing wrong.
fn record(date: &str, seconds: u32) -> String {
    let mut text = "time,valve,holding temperature (°F),raw pressure (psi),pasteurized pressure \
                    (psi)\n"
        .to_owned();
    for second in 0..seconds {
        let (hour, minute) = (second / 3600, second / 60 % 60);
        let _infallible = writeln!(
            text,
            "{date}T{hour:02}:{minute:02}:{:02}-05:00,forward,162.4,10.0,14.0",
            second % 60
        );
    }
    text
}

fn plant(unit: &str) -> String {
    format!(
        "schema = 1\nplant = \"Example Dairy (invented)\"\nunit = \"{unit}\"\nzone = \
         \"America/Chicago\"\n"
    )
}

/// Nothing was seen before, and nothing is remembered.
fn trust() -> Trust {
    Trust::new(None, trace::Instant::from_unix_milliseconds(1_790_000_000_000))
}

fn scanned(folder: &Path, cache: Option<&Path>) -> Result<Scan, Error> {
    scan(folder, cache, &trust(), &ScanProgress::default())
}

fn kept(scan: &Scan) -> usize {
    scan.entries.iter().filter(|entry| entry.kept).count()
}

#[test]
fn a_stopped_scan_says_so_and_loses_nothing_that_was_read() -> Outcome {
    let (folder, cache) = (tempfile::tempdir()?, tempfile::tempdir()?);
    let all = 120;
    for record_number in 0..all {
        let date = format!("2026-{:02}-{:02}", record_number / 28 + 1, record_number % 28 + 1);
        std::fs::write(folder.path().join(format!("{date}.csv")), record(&date, 4000))?;
    }
    std::thread::sleep(TOO_NEW);
    let progress = ScanProgress::default();
    let stopped = std::thread::scope(|scope| {
        let scanning = scope.spawn(|| scan(folder.path(), Some(cache.path()), &trust(), &progress));
        while progress.done().0 == 0 && !scanning.is_finished() {
            std::thread::yield_now();
        }
        progress.cancel();
        scanning.join()
    });
    assert!(matches!(stopped, Ok(Err(Error::Cancelled))), "{stopped:?}");
    let (done, of) = progress.done();
    assert!(done >= 1 && done < all && of == all, "{done} of {of}");
    // What was read until then is read no more, and one that is stopped at once forgets nothing.
    let progress = ScanProgress::default();
    progress.cancel();
    let stopped = scan(folder.path(), Some(cache.path()), &trust(), &progress);
    assert!(matches!(stopped, Err(Error::Cancelled)), "{stopped:?}");
    assert_eq!(progress.done().0, 0);
    let whole = scanned(folder.path(), Some(cache.path()))?;
    assert_eq!((whole.entries.len(), kept(&whole)), (all, done));
    assert_eq!(kept(&scanned(folder.path(), Some(cache.path()))?), all);
    Ok(())
}

/// Both days have the files of two loggers, the second without that of the pressures.
#[test]
fn the_files_of_several_loggers_are_one_record() -> Outcome {
    let folder = tempfile::tempdir()?;
    let loggers = "[[loggers]]\nname = \"pressures\"\nfiles = \"*-pressures.csv\"\ntolerance = \"1 s\"\n\
                   [loggers.columns]\nraw_pressure = { column = \"raw pressure\", unit = \"psi\" }\n\
                   pasteurized_pressure = { column = \"pasteurized pressure\", unit = \"psi\" }\n\
                   [[loggers]]\nname = \"valve\"\nfiles = \"*-valve.csv\"\n[loggers.columns]\n\
                   valve = { column = \"valve\" }\n\
                   holding_temperature = { column = \"holding temperature\", unit = \"degF\" }\n";
    std::fs::write(folder.path().join("plant.toml"), plant("HTST-1") + loggers)?;
    for (date, files) in [("2026-03-04", &["pressures", "valve"][..]), ("2026-03-05", &["valve"])] {
        for file in files {
            std::fs::write(folder.path().join(format!("{date}-{file}.csv")), record(date, 60))?;
        }
    }
    let entries = scanned(folder.path(), None)?.entries;
    let found: Vec<(String, usize, Option<usize>)> = entries
        .iter()
        .map(|entry| {
            let exceptions = entry.day.as_ref().ok().map(|day| day.exceptions.len());
            (entry.name(), entry.files.len(), exceptions)
        })
        .collect();
    let expected = [("2026-03-04-valve.csv", 2, Some(0)), ("2026-03-05-valve.csv", 1, Some(1))];
    let expected = expected.map(|(name, files, exceptions)| (name.to_owned(), files, exceptions));
    assert_eq!(found, expected);
    // Where the file of the leading logger is opened alone, the others come with it.
    let together = |name: &str| Files::one(folder.path().join(name)).together();
    let names = |name: &str| -> Vec<String> {
        let files = together(name).logger;
        let name =
            |file: PathBuf| file.file_name().unwrap_or_default().to_string_lossy().into_owned();
        files.into_iter().map(name).collect()
    };
    let both = ["2026-03-04-valve.csv", "2026-03-04-pressures.csv"];
    assert_eq!(names("2026-03-04-valve.csv"), both);
    assert_eq!(names("2026-03-05-valve.csv"), ["2026-03-05-valve.csv"]);
    assert_eq!(names("2026-03-04-pressures.csv"), ["2026-03-04-pressures.csv"]);
    // The run sheet is called like the file of the leading one.
    let sheet = folder.path().join("2026-03-04-valve.run-sheet.csv");
    assert_eq!(together("2026-03-04-valve.csv").run_sheet_in_use()?, None);
    std::fs::write(&sheet, "")?;
    assert_eq!(names("2026-03-04-valve.csv"), both);
    assert_eq!(together("2026-03-04-valve.csv").run_sheet_in_use()?, Some(sheet));
    Ok(())
}

#[test]
fn two_pasteurizers_in_two_folders_are_two_units() -> Outcome {
    let folder = tempfile::tempdir()?;
    for (inner, unit) in [("first line", "HTST-1"), ("second line", "HTST-2")] {
        let inner = folder.path().join(inner);
        std::fs::create_dir(&inner)?;
        std::fs::write(inner.join("plant.toml"), plant(unit))?;
        std::fs::write(inner.join("2026-03-04.csv"), record("2026-03-04", 60))?;
    }
    std::fs::write(folder.path().join("2026-03-05.csv"), record("2026-03-05", 60))?;
    // A hidden folder is a program's, not the plant's.
    std::fs::create_dir(folder.path().join(".old"))?;
    std::fs::write(folder.path().join(".old/2026-03-06.csv"), "")?;
    let Scan { entries, problems, .. } = scanned(folder.path(), None)?;
    assert!(problems.is_empty(), "{problems:?}");
    let units: Vec<(String, &str)> =
        entries.iter().map(|entry| (entry.name(), entry.unit())).collect();
    assert_eq!(units.len(), 3, "{units:?}");
    assert_eq!(units[0], ("2026-03-04.csv".to_owned(), "HTST-1"));
    assert_eq!(units[1], ("2026-03-04.csv".to_owned(), "HTST-2"));
    assert!(entries.iter().all(|entry| entry.day.is_ok()), "{entries:?}");
    Ok(())
}

/// A file may change once more within a tick of the file system's clock, and nothing would show.
#[test]
fn a_row_of_a_file_that_was_written_just_now_is_not_kept() -> Outcome {
    let (folder, cache) = (tempfile::tempdir()?, tempfile::tempdir()?);
    std::fs::write(folder.path().join("2026-03-04.csv"), record("2026-03-04", 60))?;
    for _ in 0..2 {
        assert_eq!(kept(&scanned(folder.path(), Some(cache.path()))?), 0);
    }
    std::thread::sleep(TOO_NEW);
    assert_eq!(kept(&scanned(folder.path(), Some(cache.path()))?), 0);
    assert_eq!(kept(&scanned(folder.path(), Some(cache.path()))?), 1);
    // A plant file that comes, and one that goes, is another plant.
    let file = folder.path().join("plant.toml");
    std::fs::write(&file, plant("HTST-9"))?;
    let found = scanned(folder.path(), Some(cache.path()))?;
    assert_eq!((kept(&found), found.entries[0].unit()), (0, "HTST-9"));
    std::fs::remove_file(&file)?;
    std::thread::sleep(TOO_NEW);
    let found = scanned(folder.path(), Some(cache.path()))?;
    assert_eq!(kept(&found), 0);
    assert_ne!(found.entries[0].unit(), "HTST-9");
    Ok(())
}

/// Pipes never end, links lead back, folders bear the names of files: each is told or passed over
/// for a reason, and nothing hangs.
#[cfg(unix)]
#[test]
fn odd_things_in_a_folder_neither_stop_nor_hide_anything() -> Outcome {
    use std::os::unix::fs::symlink;
    let folder = tempfile::tempdir()?;
    let at = |name: &str| folder.path().join(name);
    for date in ["2026-03-02", "2026-03-03", "2026-03-04"] {
        std::fs::write(at(&format!("{date}.csv")), record(date, 60))?;
    }
    std::fs::write(at("2026-03-05.csv"), "")?;
    symlink("nowhere", at("2026-03-06.csv"))?;
    symlink("2026-03-07.csv", at("2026-03-07.csv"))?;
    symlink("/dev/zero", at("2026-03-08.csv"))?;
    for pipe in ["2026-03-09.csv", "2026-03-03.review.jsonl", "signers.jsonl"] {
        let made = std::process::Command::new("mkfifo").arg(at(pipe)).status()?;
        assert!(made.success(), "{pipe}");
    }
    std::fs::create_dir(at("2026-03-04.review.jsonl"))?;
    std::fs::create_dir(at("2026-03-10.csv"))?;
    symlink(".", at("around"))?;
    symlink("..", at("2026-03-10.csv/up"))?;
    let Scan { entries, problems, .. } = scanned(folder.path(), None)?;
    assert!(problems.is_empty(), "{problems:?}");
    let told = |entry: &Entry| (entry.name(), entry.day.is_ok(), entry.review.stage);
    let told: Vec<_> = entries.iter().map(told).collect();
    let name = |day: u32| format!("2026-03-{day:02}.csv");
    assert_eq!(
        told,
        [
            (name(2), true, Stage::Unread),
            (name(3), true, Stage::ChangedSinceSigning),
            (name(4), true, Stage::ChangedSinceSigning),
            (name(5), false, Stage::Unread),
            (name(6), false, Stage::Unread),
            (name(7), false, Stage::Unread),
            (name(8), false, Stage::Unread),
            (name(9), false, Stage::Unread),
        ]
    );
    Ok(())
}

/// So many seconds of a record in forward flow, from an hour of a date on.
fn record_from(date: &str, hour: u32, seconds: u32) -> String {
    let late = |line: &str| line.replace("T00:", &format!("T{hour:02}:"));
    record(date, seconds).lines().map(|line| late(line) + "\n").collect()
}

/// What lies before a record is told to whoever looks at it alone, in its folder and no other.
#[test]
fn the_neighbours_of_a_record_are_found_in_its_folder() -> Outcome {
    let folder = tempfile::tempdir()?;
    let at = |name: &str| folder.path().join(name);
    std::fs::write(at("b.csv"), record_from("2026-03-04", 8, 60))?;
    std::fs::create_dir(at("inner"))?;
    std::fs::write(at("inner/c.csv"), record_from("2026-03-04", 9, 60))?;
    let one = |name: &str| Files::one(at(name));
    let mut neighbours = Neighbours::new(None, trust());
    assert_eq!(neighbours.hole_before(&one("b.csv"), None)?, None);
    // In the inner folder nothing lies before it; in the outer one b.csv does.
    assert_eq!(neighbours.hole_before(&one("inner/c.csv"), None)?, None);
    let found = neighbours.hole_before(&one("inner/c.csv"), Some(folder.path()))?;
    assert_eq!(
        found.map(|hole| (hole.record, hole.length_ms)),
        Some(("b.csv".to_owned(), 3_541_000))
    );
    // A record that comes is seen by whoever looks anew.
    std::fs::write(at("a.csv"), record_from("2026-03-04", 7, 60))?;
    let mut neighbours = Neighbours::new(None, trust());
    let found = neighbours.hole_before(&one("b.csv"), None)?;
    assert_eq!(found.map(|hole| hole.record), Some("a.csv".to_owned()));
    // Two files that are looked at as one record: what lies before the first of them.
    let both = Files { logger: vec![at("b.csv"), at("a.csv")], ..Files::default() };
    assert_eq!(neighbours.hole_before(&both, None)?, None);
    let entries = scanned(folder.path(), None)?.entries;
    let holes: Vec<_> = entries.iter().map(|entry| entry.open_hole().is_some()).collect();
    assert_eq!(holes, [false, true, true]);
    Ok(())
}
