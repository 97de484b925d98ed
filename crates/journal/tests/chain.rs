//! A chain on disk: what is written is read again, and no change goes unseen.

use journal::{Body, Digest, Entry, Error, Fault, Journal, Sign, Signature, Stamp, read, replay};
use proptest::prelude::*;
use std::path::{Path, PathBuf};
use trace::Instant;

fn stamp(seconds: i64) -> Stamp {
    let instant = Instant::from_unix_milliseconds(1_773_468_000_000 + 1000 * seconds);
    match Stamp::new(instant, -5 * 3600) {
        Some(stamp) => stamp,
        None => panic!("five hours are an offset"),
    }
}

fn entry(seconds: i64, text: &str) -> Entry {
    let mut body = Body::new();
    body.insert("kind".into(), "noted".into());
    body.insert("text".into(), text.into());
    Entry { at: stamp(seconds), by: "anna.example".into(), body }
}

fn open(path: &Path) -> Journal {
    match Journal::open(path) {
        Ok((journal, None)) => journal,
        other => panic!("{other:?}"),
    }
}

/// Three lines, the second one signed.
fn sample(folder: &Path) -> PathBuf {
    let path = folder.join("day.review.jsonl");
    let mut journal = open(&path);
    let sign = |bytes: &[u8]| {
        let mut signature = [7; 64];
        signature[..32].copy_from_slice(&Digest::of(bytes).0);
        Signature(signature)
    };
    for (seconds, text) in [(0, "first"), (1, "zweite, größer"), (2, "third\nof three")] {
        let sign: Option<Sign<'_>> = if seconds == 1 { Some(&sign) } else { None };
        assert!(journal.append(entry(seconds, text), sign).is_ok(), "{text}");
    }
    path
}

fn folder() -> tempfile::TempDir {
    tempfile::tempdir().unwrap_or_else(|error| panic!("{error}"))
}

fn bytes(path: &Path) -> Vec<u8> {
    std::fs::read(path).unwrap_or_else(|error| panic!("{error}"))
}

fn write(path: &Path, bytes: &[u8]) {
    assert!(std::fs::write(path, bytes).is_ok());
}

#[test]
fn what_is_written_is_read_again() {
    let folder = folder();
    let path = sample(folder.path());
    let journal = open(&path);
    let texts: Vec<_> = journal.lines().iter().map(|line| line.body()["text"].as_str()).collect();
    assert_eq!(texts, [Some("first"), Some("zweite, größer"), Some("third\nof three")]);
    let signed: Vec<_> = journal.lines().iter().map(|line| line.signature().is_some()).collect();
    assert_eq!(signed, [false, true, false]);
    let Ok(reading) = read(&path) else { panic!("it can be read") };
    assert_eq!(reading.lines, journal.lines());
    assert_eq!(reading.fault, None);
    assert_eq!(reading.head(), journal.head());
}

/// Every bit of the file, one at a time. A signature's own bits are for its key to check; a flip
/// there that leaves the line well-formed breaks the chain to the next line.
#[test]
fn every_flipped_bit_is_seen() {
    let folder = folder();
    let original = bytes(&sample(folder.path()));
    for place in 0..original.len() {
        for bit in 0..8 {
            let mut changed = original.clone();
            changed[place] ^= 1 << bit;
            let reading = replay(&changed);
            assert!(reading.fault.is_some(), "bit {bit} of byte {place}");
        }
    }
}

#[test]
fn lines_that_are_missing_doubled_moved_or_foreign_are_seen() {
    let folder = folder();
    let original = bytes(&sample(folder.path()));
    let lines: Vec<&[u8]> = original.split_inclusive(|&byte| byte == b'\n').collect();
    let [first, second, third] = lines[..] else { panic!("three lines") };
    let other = self::folder();
    let mut journal = open(&other.path().join("other.jsonl"));
    assert!(journal.append(entry(0, "of another chain"), None).is_ok());
    let foreign = bytes(journal.path());
    for (what, chain) in [
        ("first missing", [second, third].concat()),
        ("middle missing", [first, third].concat()),
        ("doubled", [first, first, second, third].concat()),
        ("moved", [first, third, second].concat()),
        ("foreign begin", [&foreign[..], second, third].concat()),
        ("foreign end", [first, second, third, &foreign[..]].concat()),
        ("blank line", [first, b"\n", second, third].concat()),
        ("carriage return", [first.strip_suffix(b"\n").unwrap_or(first), b"\r\n"].concat()),
        ("not JSON", [first, b"hello\n"].concat()),
    ] {
        let reading = replay(&chain);
        assert!(matches!(reading.fault, Some(Fault::Damaged { .. })), "{what}: {reading:?}");
        write(&folder.path().join("damaged.jsonl"), &chain);
        let opened = Journal::open(&folder.path().join("damaged.jsonl"));
        assert!(matches!(opened, Err(Error::Faulty { .. })), "{what}");
        assert_eq!(bytes(&folder.path().join("damaged.jsonl")), chain, "{what}: left as it is");
    }
}

#[test]
fn a_torn_line_is_told_and_set_aside_by_the_next_entry_at_every_place() {
    let folder = folder();
    let path = sample(folder.path());
    let original = bytes(&path);
    let ends: Vec<usize> =
        (0..=original.len()).filter(|&end| end == 0 || original[end - 1] == b'\n').collect();
    // Each place of the last line, some of the others: every entry waits for the disk.
    let last = ends[ends.len() - 2];
    for cut in (0..last).step_by(37).chain(ends.clone()).chain(last..original.len()) {
        let kept = ends.iter().rfind(|&&end| end <= cut).copied().unwrap_or_default();
        write(&path, &original[..cut]);
        let (mut journal, torn) =
            Journal::open(&path).unwrap_or_else(|error| panic!("cut at {cut}: {error}"));
        assert_eq!(torn.map(|torn| torn.bytes), (kept < cut).then_some((cut - kept) as u64));
        assert_eq!(bytes(&path), original[..cut], "cut at {cut}: opening writes nothing");
        assert_eq!(names(folder.path()).len(), 1, "cut at {cut}: opening writes nothing");
        assert!(journal.append(entry(9, "goes on"), None).is_ok());
        assert_eq!(journal.aside().is_some(), kept < cut, "cut at {cut}");
        if let Some(aside) = journal.aside() {
            assert_eq!(bytes(aside), original[kept..cut], "cut at {cut}");
            assert!(std::fs::remove_file(aside).is_ok());
        }
        assert_eq!(bytes(&path)[..kept], original[..kept], "cut at {cut}");
        assert!(read(&path).is_ok_and(|reading| reading.fault.is_none()));
    }
}

fn names(folder: &Path) -> Vec<std::ffi::OsString> {
    let Ok(entries) = std::fs::read_dir(folder) else { panic!("a folder") };
    entries.flatten().map(|entry| entry.file_name()).collect()
}

fn torn(path: &Path, rest: &str) {
    let mut torn = bytes(path);
    torn.extend_from_slice(rest.as_bytes());
    write(path, &torn);
}

/// Many entries are a line each, and where writing them is cut off anywhere, what is there is whole lines and
/// a torn one, which is told.
#[test]
fn entries_that_are_made_at_once_are_a_line_each_wherever_they_are_cut_off() {
    let folder = folder();
    let path = sample(folder.path());
    let (before, many) = (bytes(&path), ["one", "two", "three"]);
    let mut journal = open(&path);
    let lines = journal.lines().len();
    let entries = many.iter().map(|text| (entry(9, text), None));
    assert!(journal.append_all(entries.collect()).is_ok());
    assert_eq!(journal.lines().len(), lines + many.len());
    let whole = bytes(&path);
    assert_eq!(open(&path).lines(), journal.lines(), "what is read is what was written");
    // It goes on after them, and so would an entry one by one.
    assert!(journal.append(entry(9, "goes on"), None).is_ok());
    for length in before.len()..whole.len() {
        write(&path, &whole[..length]);
        let cut = Journal::open(&path);
        let Ok((mut cut, torn)) = cut else { panic!("{length}: {cut:?}") };
        let made = cut.lines().len() - lines;
        let ends = whole[before.len()..length].split(|byte| *byte == b'\n').count() - 1;
        assert_eq!(made, ends, "{length}");
        assert_eq!(torn.is_some(), whole[length - 1] != b'\n', "{length}");
        let rest = many.iter().skip(made).map(|text| (entry(9, text), None));
        assert!(cut.append_all(rest.collect()).is_ok(), "{length}");
        assert_eq!(open(&path).lines().len(), lines + many.len(), "{length}");
    }
}

/// One that can't be dated so keeps all of them out.
#[test]
fn of_entries_that_are_made_at_once_all_are_made_or_none() {
    let folder = folder();
    let path = sample(folder.path());
    let before = bytes(&path);
    let mut journal = open(&path);
    let entries = vec![(entry(9, "one"), None), (entry(-9_000, "long before"), None)];
    assert!(matches!(journal.append_all(entries), Err(Error::ClockBehind { .. })));
    assert_eq!(bytes(&path), before);
}

#[test]
fn a_second_torn_line_does_not_overwrite_the_first() {
    let folder = folder();
    let path = sample(folder.path());
    for number in 1..=3 {
        torn(&path, &format!("{{\"torn\":{number}"));
        let Ok((mut journal, Some(told))) = Journal::open(&path) else { panic!("it is torn") };
        let line = format!("line {} is incomplete: 9 bytes", 2 + 2 * number);
        assert!(told.to_string().contains(&line), "{told}");
        assert!(journal.append(entry(9, "goes on"), None).is_ok());
        let aside = journal.aside().unwrap_or(Path::new("")).to_string_lossy().into_owned();
        assert!(aside.ends_with(&format!(".torn-{number}")), "{aside:?}");
        // It is set aside once.
        assert!(journal.append(entry(9, "and on"), None).is_ok());
        assert_eq!(names(folder.path()).len(), 1 + number);
    }
}

#[test]
fn a_torn_line_that_is_not_the_one_that_was_told_stays() {
    let folder = folder();
    let path = sample(folder.path());
    torn(&path, "{\"torn\":1");
    let Ok((mut journal, Some(_))) = Journal::open(&path) else { panic!("it is torn") };
    let whole = bytes(&path).len() - 9;
    let mut other = bytes(&path)[..whole].to_vec();
    other.extend_from_slice(b"{\"torn\":2");
    write(&path, &other);
    assert!(matches!(journal.append(entry(9, "x"), None), Err(Error::MovedOn { .. })));
    assert_eq!(bytes(&path), other);
    assert_eq!(names(folder.path()).len(), 1);
}

#[test]
#[cfg(unix)]
fn a_journal_that_is_a_link_to_a_secret_is_neither_published_nor_emptied() {
    let folder = folder();
    let (secret, path) = (folder.path().join("secret"), folder.path().join("day.review.jsonl"));
    write(&secret, b"a secret without a line feed");
    assert!(std::os::unix::fs::symlink(&secret, &path).is_ok());
    for refused in [Journal::open(&path).err(), read(&path).err()] {
        let Some(error @ Error::Unreadable { .. }) = refused else { panic!("{refused:?}") };
        assert!(error.to_string().contains("it is a link"), "{error}");
    }
    assert_eq!(bytes(&secret), b"a secret without a line feed");
    assert_eq!(names(folder.path()).len(), 2);
}

#[test]
#[cfg(unix)]
fn nothing_is_begun_through_a_link() {
    let folder = folder();
    let (there, path) = (folder.path().join("there"), folder.path().join("day.review.jsonl"));
    let mut journal = open(&path);
    assert!(std::os::unix::fs::symlink(&there, &path).is_ok());
    assert!(matches!(journal.append(entry(0, "x"), None), Err(Error::NotWritten { .. })));
    assert!(!there.exists());
}

#[test]
#[cfg(unix)]
fn a_pipe_in_the_place_of_a_journal_is_told_at_once() {
    let folder = folder();
    let path = folder.path().join("day.review.jsonl");
    let made = std::process::Command::new("mkfifo").arg(&path).status();
    assert!(made.is_ok_and(|status| status.success()));
    for refused in [Journal::open(&path).err(), read(&path).err()] {
        let Some(error @ Error::Unreadable { .. }) = refused else { panic!("{refused:?}") };
        assert!(error.to_string().contains("it is a pipe"), "{error}");
    }
}

#[test]
fn a_journal_that_is_too_long_is_refused_before_it_is_read() {
    let folder = folder();
    let path = folder.path().join("day.review.jsonl");
    let file = std::fs::File::create(&path).unwrap_or_else(|error| panic!("{error}"));
    assert!(file.set_len(1 << 40).is_ok(), "a file with a hole takes no room");
    for refused in [Journal::open(&path).err(), read(&path).err()] {
        let Some(error @ Error::Unreadable { .. }) = refused else { panic!("{refused:?}") };
        assert!(error.to_string().contains("1099511627776 bytes; at most 67108864"), "{error}");
    }
}

/// Whoever may read a file can lock it.
#[test]
#[cfg(unix)]
fn a_reader_that_holds_the_lock_freezes_nobody() {
    let folder = folder();
    let path = sample(folder.path());
    let reader = std::fs::File::open(&path).unwrap_or_else(|error| panic!("{error}"));
    assert!(reader.lock().is_ok());
    let begun = std::time::Instant::now();
    let mut journal = open(&path);
    assert!(begun.elapsed() < disk::PATIENCE / 2, "what is whole is read without the lock");
    let before = bytes(&path);
    let refused = journal.append(entry(9, "x"), None);
    let Err(error @ Error::Locked { .. }) = refused else { panic!("{refused:?}") };
    assert!(error.to_string().contains("locked by another program"), "{error}");
    assert!(begun.elapsed() < 3 * disk::PATIENCE);
    assert_eq!(bytes(&path), before);
    drop(reader);
    assert!(journal.append(entry(9, "x"), None).is_ok());
}

#[test]
fn an_entry_on_a_chain_that_moved_on_is_refused() {
    let folder = folder();
    let path = sample(folder.path());
    let (mut one, mut other) = (open(&path), open(&path));
    assert!(one.append(entry(3, "one"), None).is_ok());
    let before = bytes(&path);
    assert!(matches!(other.append(entry(3, "other"), None), Err(Error::MovedOn { .. })));
    assert_eq!(bytes(&path), before);
    // The same length with other bytes at the end is another chain as well.
    let mut same_length = open(&path);
    let mut changed = before.clone();
    let place = before.len() - 10;
    changed[place] = if changed[place] == b'0' { b'1' } else { b'0' };
    write(&path, &changed);
    assert!(matches!(same_length.append(entry(4, "x"), None), Err(Error::MovedOn { .. })));
    // A journal that was taken away is not begun anew behind one's back.
    let mut gone = open(&sample(self::folder().path()));
    let path = gone.path().to_owned();
    let _absent = std::fs::remove_file(&path);
    assert!(matches!(gone.append(entry(5, "x"), None), Err(Error::NotWritten { .. })));
    assert!(!path.exists());
}

#[test]
fn two_new_journals_do_not_both_begin() {
    let folder = folder();
    let path = folder.path().join("new.jsonl");
    let (mut one, mut other) = (open(&path), open(&path));
    assert!(one.append(entry(0, "one"), None).is_ok());
    assert!(matches!(other.append(entry(0, "other"), None), Err(Error::MovedOn { .. })));
}

#[test]
fn threads_that_append_at_once_never_fork_the_chain() {
    let folder = folder();
    let path = folder.path().join("busy.jsonl");
    std::thread::scope(|scope| {
        for thread in 0..4 {
            let path = &path;
            scope.spawn(move || {
                let mut made = 0;
                while made < 25 {
                    let mut journal = open(path);
                    match journal.append(entry(0, &format!("{thread}.{made}")), None) {
                        Ok(_) => made += 1,
                        Err(Error::MovedOn { .. }) => {}
                        Err(error) => panic!("{error}"),
                    }
                }
            });
        }
    });
    let Ok(reading) = read(&path) else { panic!("it can be read") };
    assert_eq!((reading.lines.len(), reading.fault), (100, None));
}

#[test]
fn a_clock_that_was_set_back_is_refused_and_seen() {
    let folder = folder();
    let path = folder.path().join("clock.jsonl");
    let mut journal = open(&path);
    assert!(journal.append(entry(1000, "late"), None).is_ok());
    assert!(journal.append(entry(880, "just tolerated"), None).is_ok());
    let refused = journal.append(entry(759, "too early"), None);
    assert!(matches!(refused, Err(Error::ClockBehind { .. })), "{refused:?}");
    assert!(read(&path).is_ok_and(|reading| reading.lines.len() == 2));
}

/// Sixty steps of 119 s, each within the tolerance, would go back two hours.
#[test]
fn many_small_steps_back_count_as_one() {
    let folder = folder();
    let path = folder.path().join("clock.jsonl");
    let mut journal = open(&path);
    assert!(journal.append(entry(10_000, "now"), None).is_ok());
    assert!(journal.append(entry(9_881, "two minutes back"), None).is_ok());
    let refused = journal.append(entry(9_762, "and again"), None);
    assert!(matches!(refused, Err(Error::ClockBehind { .. })), "{refused:?}");
    assert!(journal.append(entry(10_001, "on"), None).is_ok());
    assert!(read(&path).is_ok_and(|reading| reading.fault.is_none()));
}

/// A signed line that corrects the clock goes back any time; an unsigned one, and the next, do not.
#[test]
fn only_a_signed_correction_goes_back() {
    let folder = folder();
    let path = folder.path().join("clock.jsonl");
    let mut journal = open(&path);
    let corrected = |seconds| {
        let mut entry = entry(seconds, "a year ahead");
        entry.body.insert("kind".into(), journal::CLOCK_CORRECTED.into());
        entry
    };
    assert!(journal.append(entry(1_000_000, "a clock ran ahead"), None).is_ok());
    let refused = journal.append(corrected(1000), None);
    assert!(matches!(refused, Err(Error::ClockBehind { .. })), "{refused:?}");
    let sign = |_: &[u8]| Signature([7; 64]);
    assert!(journal.append(corrected(1000), Some(&sign)).is_ok());
    assert!(journal.append(entry(1001, "right"), None).is_ok());
    let refused = journal.append(entry(800, "back"), None);
    assert!(matches!(refused, Err(Error::ClockBehind { .. })), "{refused:?}");
    assert_eq!(
        read(&path).map(|reading| (reading.lines.len(), reading.fault)).ok(),
        Some((3, None))
    );
}

#[test]
fn a_folder_that_is_not_there_is_told() {
    let folder = folder();
    let mut journal = open(&folder.path().join("missing").join("day.jsonl"));
    let refused = journal.append(entry(0, "x"), None);
    let Err(error @ Error::NotWritten { .. }) = refused else { panic!("{refused:?}") };
    assert!(error.to_string().contains("NOT made"), "{error}");
    assert!(journal.lines().is_empty());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]
    /// Whatever people write into an entry, the chain gives it back, from any prefix.
    #[test]
    fn any_text_survives(texts in prop::collection::vec(any::<String>(), 1..6)) {
        let folder = folder();
        let path = folder.path().join("any.jsonl");
        let mut journal = open(&path);
        for (seconds, text) in texts.iter().enumerate() {
            prop_assert!(journal.append(entry(seconds as i64, text), None).is_ok());
        }
        let bytes = bytes(&path);
        let reading = replay(&bytes);
        prop_assert_eq!(&reading.fault, &None);
        for (line, text) in reading.lines.iter().zip(&texts) {
            prop_assert_eq!(line.body()["text"].as_str(), Some(text.as_str()));
        }
        let last = reading.last as usize;
        let prefix = replay(&bytes[..bytes.len() - last]);
        prop_assert_eq!(&prefix.lines[..], &reading.lines[..texts.len() - 1]);
    }
}
