//! A folder that others can write to can't hurt those who open it: links, pipes, locks and files that
//! a killed program left, driven through the real program.

#![cfg(unix)]

use std::ffi::OsStr;
use std::fmt::Debug;
use std::fs::File;
use std::io::{Read as _, Write as _};
use std::os::unix::fs::{MetadataExt as _, symlink};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant, SystemTime};
use tests::good;
use tests::place::{PASSPHRASE, Place};
use tests::program::{Told, program};

/// By when every command has ended; it takes some hundredths of a second on a quiet machine.
const SOON: Duration = Duration::from_mins(1);

/// Every command that looks at a record, a register or a folder.
const LOOKING: [&[&str]; 9] = [
    &["audit", "2026-03-14.csv"],
    &["report", "2026-03-14.csv", "--format", "json"],
    &["review", "list", "2026-03-14.csv"],
    &["verify", "2026-03-14.csv"],
    &["verify", "2026-03-14.review.jsonl"],
    &["days", "."],
    &["summary", "."],
    &["lot", ".", "A-01"],
    &["signer", "list", "--register", "signers.jsonl"],
];

/// Runs a command that must end by itself.
fn soon(place: &Place, arguments: &[impl AsRef<OsStr> + Debug]) -> Told {
    let mut command = place.command(&program());
    command.args(arguments);
    let mut child = good(command.spawn());
    if let Some(mut input) = child.stdin.take() {
        // A command that asks for no passphrase may be gone already.
        let _gone = writeln!(input, "{PASSPHRASE}");
    }
    // What is said is less than a pipe holds, so nobody has to read it meanwhile.
    let begun = Instant::now();
    while matches!(child.try_wait(), Ok(None)) {
        if begun.elapsed() > SOON {
            let _ended = child.kill();
            let _ended = child.wait();
            panic!("{arguments:?} hangs");
        }
        std::thread::sleep(Duration::from_millis(5));
    }
    good(child.wait_with_output()).into()
}

/// What lies in the folder itself: name, bytes, and when it was last changed.
fn listing(place: &Place) -> Vec<(String, Vec<u8>, i64, i64)> {
    let Ok(entries) = std::fs::read_dir(place.path("")) else { panic!("a folder") };
    let mut listing = Vec::new();
    for entry in entries.flatten() {
        let Ok(meta) = entry.path().symlink_metadata() else { panic!("it is there") };
        let bytes = if meta.is_file() { std::fs::read(entry.path()).ok() } else { None };
        // The user's own folders are beside; what is in them is the user's.
        let times = if meta.is_dir() { (0, 0) } else { (meta.mtime(), meta.mtime_nsec()) };
        let name = entry.file_name().to_string_lossy().into_owned();
        if !name.starts_with('.') {
            listing.push((name, bytes.unwrap_or_default(), times.0, times.1));
        }
    }
    listing.sort();
    listing
}

/// Puts a pipe under a name, in place of what is there, which is given back.
fn pipe(place: &Place, name: &str) -> Option<Vec<u8>> {
    let path = place.path(name);
    let before = std::fs::read(&path).ok();
    let _absent = std::fs::remove_file(&path);
    let made = Command::new("mkfifo").arg(&path).status();
    assert!(made.is_ok_and(|status| status.success()), "{name}");
    before
}

fn put_back(place: &Place, name: &str, before: Option<Vec<u8>>) {
    assert!(std::fs::remove_file(place.path(name)).is_ok());
    if let Some(bytes) = before {
        assert!(std::fs::write(place.path(name), bytes).is_ok());
    }
}

/// One exception resolved, so that there is a journal.
fn begun() -> Place {
    let place = Place::with_signers();
    place.expect(0, &place.settle(&["--all-open"]));
    place
}

#[test]
fn a_pipe_hangs_no_command_and_is_told() {
    let place = begun();
    // Which of the commands that look say so, in the order above: the others don't need the file, or
    // show it as a line of what they list.
    let sheet = "2026-03-14.run-sheet.csv";
    for (name, told_by) in [
        ("2026-03-14.csv", 0..7),
        ("2026-03-14.review.jsonl", 0..6),
        ("signers.jsonl", 2..5),
        ("plant.toml", 0..5),
        (sheet, 0..5),
        ("2026-03-15.csv", 5..7),
    ] {
        let before = pipe(&place, name);
        for (number, arguments) in LOOKING.iter().enumerate() {
            let told = soon(&place, arguments);
            let all = format!("{}{}", told.output, told.complaint);
            assert!(
                !told_by.contains(&number) || all.contains("pipe") || all.contains("1 not read"),
                "{name}, {arguments:?}: {told:#?}"
            );
        }
        let settle = place.settle(&["--all-open"]);
        soon(&place, &settle);
        put_back(&place, name, before);
    }
    // A key, its count and its lock.
    for name in ["anna.pem", "anna.tries", "anna.lock"] {
        let name = format!("config/holdtrace/keys/{name}");
        let before = pipe(&place, &name);
        let sign = ["review", "sign", "2026-03-14.csv", "--by", "anna", "--meaning", "reviewed"];
        let told = soon(&place, &[&sign[..], &["--passphrase-fd", "0"]].concat());
        assert_eq!(told.status, Some(2), "{name}: {told:#?}");
        put_back(&place, &name, before);
    }
}

#[test]
fn a_lock_file_that_is_a_link_does_not_empty_the_private_key() {
    let place = Place::with_signers();
    let key = "config/holdtrace/keys/anna.pem";
    let before = place.read(key);
    assert!(!before.is_empty());
    assert!(symlink(key, place.path("2026-03-14.review.hold")).is_ok());
    let settle = place.settle(&["--all-open"]);
    let told = place.expect(2, &settle);
    assert!(told.complaint.contains("it is a link"), "{told:#?}");
    assert_eq!(place.read(key), before);
    assert!(!place.path("2026-03-14.review.jsonl").exists());
    // Nor one that is another name of the key.
    assert!(std::fs::remove_file(place.path("2026-03-14.review.hold")).is_ok());
    assert!(std::fs::hard_link(place.path(key), place.path("2026-03-14.review.hold")).is_ok());
    place.expect(0, &settle);
    assert_eq!(place.read(key), before);
}

#[test]
fn a_journal_that_is_a_link_to_a_secret_is_neither_published_nor_emptied() {
    let place = Place::with_signers();
    place.write("config/secret", "a secret without a line feed");
    for name in ["2026-03-14.review.jsonl", "signers.jsonl"] {
        let before = std::fs::read(place.path(name)).ok();
        let _absent = std::fs::remove_file(place.path(name));
        assert!(symlink("config/secret", place.path(name)).is_ok());
        let listed = listing(&place);
        for arguments in LOOKING {
            let told = soon(&place, arguments);
            let all = format!("{}{}", told.output, told.complaint);
            assert!(!all.contains("a secret"), "{arguments:?}: {told:#?}");
        }
        let settle = place.settle(&["--all-open"]);
        let told = place.expect(2, &settle);
        assert!(told.complaint.contains("it is a link"), "{told:#?}");
        assert_eq!(listing(&place), listed, "{name}");
        assert_eq!(place.read("config/secret"), b"a secret without a line feed");
        put_back(&place, name, before);
    }
    // A journal that is not there yet is not begun through a link that leads nowhere.
    assert!(symlink("config/new", place.path("2026-03-14.review.jsonl")).is_ok());
    place.expect(2, &place.settle(&["--all-open"]));
    assert!(!place.path("config/new").exists());
}

#[test]
fn what_is_found_is_no_link_and_what_is_named_may_be_one() {
    let place = Place::new();
    place.write("config", "");
    assert!(std::fs::rename(place.path("2026-03-14.csv"), place.path("elsewhere.txt")).is_ok());
    assert!(symlink("elsewhere.txt", place.path("2026-03-14.csv")).is_ok());
    let told = soon(&place, &["days", "."]);
    assert!(told.output.contains("it is a link"), "{told:#?}");
    let told = soon(&place, &["audit", "2026-03-14.csv"]);
    assert_eq!(told.status, Some(1), "{told:#?}");
    // The plant file: found beside, or named.
    assert!(std::fs::rename(place.path("plant.toml"), place.path("elsewhere.toml")).is_ok());
    assert!(symlink("elsewhere.toml", place.path("plant.toml")).is_ok());
    let told = soon(&place, &["audit", "2026-03-14.csv"]);
    assert_eq!(told.status, Some(2), "{told:#?}");
    assert!(told.complaint.contains("plant.toml: it is a link"), "{told:#?}");
    let told = soon(&place, &["audit", "2026-03-14.csv", "--plant", "plant.toml"]);
    assert_eq!(told.status, Some(1), "{told:#?}");
}

#[test]
fn looking_never_writes() {
    let place = begun();
    for name in ["2026-03-14.review.jsonl", "signers.jsonl"] {
        let whole = String::from_utf8_lossy(&place.read(name)).into_owned();
        place.write(name, &format!("{whole}{{\"at\":\"2026"));
    }
    let before = listing(&place);
    for arguments in LOOKING {
        soon(&place, arguments);
        assert_eq!(listing(&place), before, "{arguments:?}");
    }
    let told = soon(&place, LOOKING[2]);
    assert_eq!(told.complaint.matches("is incomplete").count(), 2, "{told:#?}");
    // Who decides sets it aside, and nothing is lost.
    place.expect(0, &["review", "acknowledge", "2026-03-14.csv", "--by", "anna", "--all-open"]);
    assert_eq!(place.read("2026-03-14.review.jsonl.torn-1"), b"{\"at\":\"2026");
}

/// Whoever can read a file can lock it.
#[test]
fn a_reader_with_a_lock_freezes_nobody() {
    let place = begun();
    let locked: Vec<File> = ["2026-03-14.review.jsonl", "signers.jsonl"]
        .iter()
        .filter_map(|name| File::open(place.path(name)).ok())
        .filter(|file| file.lock().is_ok())
        .collect();
    assert_eq!(locked.len(), 2);
    for arguments in LOOKING {
        let told = soon(&place, arguments);
        assert!(!told.complaint.contains("locked"), "whole files need no lock: {told:#?}");
    }
    let before = listing(&place);
    let acknowledge = ["review", "acknowledge", "2026-03-14.csv", "--by", "anna", "--all-open"];
    let told = soon(&place, &acknowledge);
    assert_eq!(told.status, Some(2), "{told:#?}");
    assert!(told.complaint.contains("it is locked by another program"), "{told:#?}");
    let journal = |listing: Vec<(String, Vec<u8>, i64, i64)>| {
        listing.into_iter().find(|(name, ..)| name == "2026-03-14.review.jsonl")
    };
    assert_eq!(journal(listing(&place)), journal(before));
    drop(locked);
    place.expect(0, &acknowledge);
}

/// A device that forgets what is written to it. The administrator gets one of their own, since a
/// program that replaces devices would take the machine's away from everybody; others can't lose it.
fn device(place: &Place) -> Option<String> {
    let own = place.path("null");
    let is_administrator = place.path("").metadata().is_ok_and(|meta| meta.uid() == 0);
    if !is_administrator {
        return Some("/dev/null".to_owned());
    }
    let made = Command::new("mknod").arg(&own).args(["c", "1", "3"]).stderr(Stdio::null()).status();
    made.is_ok_and(|status| status.success()).then(|| own.display().to_string())
}

#[test]
fn a_result_goes_where_it_was_sent_and_replaces_no_device_and_no_link() {
    let place = Place::new();
    let to = |output: &str| {
        soon(&place, &["audit", "2026-03-14.csv", "--format", "result", "--output", output])
    };
    let plain = soon(&place, &["audit", "2026-03-14.csv", "--format", "result"]);
    assert!(!plain.output.is_empty());
    // `-` comes first: a program that takes it for a name fails there, before it replaces a device.
    for output in ["-", "/dev/fd/1", "/dev/stdout"] {
        assert_eq!(to(output), plain, "{output}");
    }
    if let Some(null) = device(&place) {
        let told = to(&null);
        assert_eq!((told.status, told.output.as_str()), (Some(1), ""), "{told:#?}");
        let null = Path::new(&null).symlink_metadata();
        assert!(null.is_ok_and(|meta| !meta.is_file() && !meta.is_symlink()), "a device still");
    }
    to("result.json");
    assert_eq!(place.read("result.json"), plain.output.as_bytes());
    // A link is neither replaced nor written through.
    place.write("other", "other");
    assert!(symlink("other", place.path("link")).is_ok());
    let told = to("link");
    assert_eq!(told.status, Some(2), "{told:#?}");
    assert!(told.complaint.contains("link: can't be written: it is a link"), "{told:#?}");
    assert!(place.path("link").is_symlink());
    assert_eq!(place.read("other"), b"other");
    // A pipe is written to.
    let name = place.path("pipe");
    pipe(&place, "pipe");
    let reader = std::thread::spawn(move || {
        let mut text = String::new();
        File::open(name).and_then(|mut pipe| pipe.read_to_string(&mut text)).map(|_| text)
    });
    assert_eq!(to("pipe").status, Some(1));
    assert_eq!(reader.join().ok().and_then(Result::ok), Some(plain.output));
}

#[test]
fn what_the_shell_opens_is_read() {
    let place = Place::new();
    let plain = soon(&place, &["audit", "2026-03-14.csv", "--format", "csv"]);
    for name in ["/dev/stdin", "/dev/fd/0", "-"] {
        let Ok(input) = File::open(place.path("2026-03-14.csv")) else { panic!("it is there") };
        let mut command = place.command(&program());
        command.args(["audit", name, "--plant", "plant.toml", "--format", "csv"]);
        command.stdin(Stdio::from(input));
        let Ok(output) = command.output() else { panic!("it runs") };
        let told = Told::from(output);
        assert_eq!((told.status, &told.output), (plain.status, &plain.output), "{name}: {told:#?}");
    }
}

#[test]
fn left_over_temporary_files_are_swept() {
    let place = Place::new();
    let leave = |name: &str, age: u64| {
        place.write(name, "half a file");
        let then = SystemTime::now() - Duration::from_hours(age);
        let set = File::options().write(true).open(place.path(name));
        assert!(set.is_ok_and(|file| file.set_modified(then).is_ok()));
    };
    leave(".holdtrace-Ab3dEf", 25);
    leave(".holdtrace-Fresh1", 1);
    leave(".holdtrace-my-notes", 25);
    soon(&place, &["audit", "2026-03-14.csv", "--output", "audit.txt"]);
    assert!(!place.path(".holdtrace-Ab3dEf").exists());
    assert!(place.path(".holdtrace-Fresh1").exists(), "somebody may be at work on it");
    assert!(place.path(".holdtrace-my-notes").exists(), "it is not the program's");
}

#[test]
fn what_is_kept_of_records_is_for_its_owner_only() {
    let place = Place::new();
    let cache = place.path("cache");
    let mut command = place.command(&program());
    command.args(["days", "."]).env("XDG_CACHE_HOME", &cache);
    // What was written just now is not kept.
    let old = SystemTime::now() - Duration::from_mins(1);
    let _ctime_is_now = ["plant.toml", "2026-03-14.csv"].map(|name| {
        File::options().write(true).open(place.path(name)).map(|file| file.set_modified(old))
    });
    std::thread::sleep(Duration::from_millis(2500));
    let told = Place::told(command);
    assert!(told.output.contains("2026-03-14.csv"), "{told:#?}");
    let rows = std::fs::read_dir(cache.join("holdtrace/rows")).into_iter().flatten().flatten();
    let modes: Vec<u32> =
        rows.filter_map(|row| row.metadata().ok()).map(|meta| meta.mode() & 0o777).collect();
    assert_eq!(modes, [0o600]);
}

/// A record whose retention has ended stays, with all that lies beside it; the day log says that it has ended.
#[test]
fn nothing_is_deleted_when_a_retention_has_ended() {
    let place = Place::with_signers();
    let plant = good(String::from_utf8(place.read("plant.toml")));
    let retention = "retention = \"1 month\"\nretention_source = \"the plant (invented)\"\n";
    place.write(
        "plant.toml",
        &plant.replace("[completeness]\n", &format!("{retention}[completeness]\n")),
    );
    place.approve();
    place.round();
    let before = listing(&place);
    for arguments in LOOKING.into_iter().chain([&["holds", "."][..]]) {
        let _told = soon(&place, arguments);
    }
    let log = soon(&place, &["days", "."]);
    assert!(log.output.contains("retention: 1 record at the end"), "{log:#?}");
    assert_eq!(listing(&place), before);
}
