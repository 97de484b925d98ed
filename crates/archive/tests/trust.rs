//! Which books are the plant's: another register, a nearer one, or one that shows less than before is
//! an alarm and not used, until the user accepts it with the fingerprint on paper; and a record that
//! was signed and is gone is told.

use archive::{ScanProgress, Trust, scan};
use journal::{Entry, Journal, Stamp};
use review::Stage;
use signers::{Books, LedgerFile, RegisterFile, Stood, UnlockedKey};
use std::path::{Path, PathBuf};
use tests::good;
use tests::people::{NOW, minutes_after, new_key};

fn stamp(minutes: i64) -> Stamp {
    minutes_after(1_773_543_600_000, minutes)
}

struct World {
    /// The plant's folder.
    plant: tempfile::TempDir,
    /// The user's folder.
    config: tempfile::TempDir,
}

impl World {
    fn new() -> Self {
        let folder = || tempfile::tempdir().unwrap_or_else(|error| panic!("{error}"));
        let world = Self { plant: folder(), config: folder() };
        world.plant_file(Path::new(""), "Example Dairy (invented)");
        world
    }

    fn plant_file(&self, folder: &Path, name: &str) {
        let folder = self.plant.path().join(folder);
        assert!(std::fs::create_dir_all(&folder).is_ok());
        let sample = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../sample-runs/plant.toml");
        let text = std::fs::read_to_string(sample).unwrap_or_default();
        let text =
            text.replace("plant = \"Example Dairy (invented)\"", &format!("plant = {name:?}"));
        assert!(std::fs::write(folder.join("plant.toml"), text).is_ok());
        let read = plant::Plant::read(&folder.join("plant.toml"));
        assert!(read.is_ok_and(|plant| plant.name == name));
    }

    fn register_in(&self, folder: &Path) -> PathBuf {
        self.plant.path().join(folder).join("signers.jsonl")
    }

    /// A register that `who` begins; everybody is invented.
    fn begin(&self, folder: &Path, who: &str) -> (RegisterFile, UnlockedKey) {
        let key = new_key(&self.config.path().join(who), who);
        let opened = RegisterFile::open(&self.register_in(folder));
        let Ok((mut file, None)) = opened else { panic!("{opened:?}") };
        assert!(file.found("Somebody Invented", &key, stamp(0)).is_ok());
        (file, key)
    }

    fn trust(&self) -> Trust {
        Trust::new(Some(self.config.path().to_owned()), NOW)
    }

    fn books(&self, folder: &Path) -> Books {
        let plant = self.plant.path().join(folder).join("plant.toml");
        self.trust().books(&self.register_in(folder), Some(&plant))
    }
}

fn here() -> &'static Path {
    Path::new("")
}

fn only_alarm(books: &Books) -> &str {
    match books.alarms.as_slice() {
        [alarm] => alarm,
        other => panic!("{other:?}"),
    }
}

#[test]
fn the_first_register_is_taken_for_the_plants_and_another_one_is_refused() {
    let world = World::new();
    world.begin(here(), "ben");
    for _ in 0..2 {
        let books = world.books(here());
        assert!(books.register.is_ok() && books.alarms.is_empty(), "{:?}", books.alarms);
    }
    // In the same place.
    assert!(std::fs::remove_file(world.register_in(here())).is_ok());
    let gone = world.books(here());
    assert!(only_alarm(&gone).contains("had a register of signers"), "{:?}", gone.alarms);
    assert!(std::fs::remove_file(LedgerFile::beside(&world.register_in(here()))).is_ok());
    world.begin(here(), "mallory");
    let books = world.books(here());
    assert!(books.register.is_err() && books.ledger.is_err());
    assert!(only_alarm(&books).contains("ANOTHER REGISTER"), "{:?}", books.alarms);
    // In another folder, for the same plant.
    let elsewhere = World { plant: World::new().plant, config: world.config };
    elsewhere.plant_file(here(), "Example Dairy (invented)");
    elsewhere.begin(here(), "eve");
    let books = elsewhere.books(here());
    assert!(books.register.is_err());
    assert!(only_alarm(&books).contains("NOT the register"), "{:?}", books.alarms);
    // A plant of another name is another plant's affair.
    elsewhere.plant_file(Path::new("other"), "Other Dairy (invented)");
    let there = World { plant: World::new().plant, config: elsewhere.config };
    there.plant_file(here(), "Other Dairy (invented)");
    there.begin(here(), "frida");
    assert_eq!(there.books(here()).alarms, Vec::<String>::new());
}

/// A plant file and a register with own keys laid nearer to the records, under another plant's name.
#[test]
fn a_register_that_lies_nearer_than_the_pinned_one_is_refused() {
    let world = World::new();
    world.begin(here(), "ben");
    assert_eq!(world.books(here()).alarms, Vec::<String>::new());
    let nearer = Path::new("march/early");
    world.plant_file(nearer, "Another Name (invented)");
    world.begin(nearer, "mallory");
    let books = world.books(nearer);
    assert!(books.register.is_err());
    assert!(only_alarm(&books).contains("NEARER"), "{:?}", books.alarms);
    assert_eq!(world.books(here()).alarms, Vec::<String>::new(), "the pinned one goes on");
}

#[test]
fn what_shows_less_than_before_is_an_alarm_and_what_shows_more_is_not() {
    let world = World::new();
    let (mut file, key) = world.begin(here(), "ben");
    assert_eq!(world.books(here()).alarms, Vec::<String>::new());
    let register = world.register_in(here());
    let ledger = LedgerFile::beside(&register);
    let read = |path: &Path| std::fs::read(path).unwrap_or_else(|error| panic!("{error}"));
    let before = (read(&register), read(&ledger));
    good(file.approve_plant_file("plant.toml", &"ab".repeat(32), &key, stamp(1)));
    assert_eq!(world.books(here()).alarms, Vec::<String>::new(), "it goes on");
    let after = (read(&register), read(&ledger));
    // Both are put back together, so that they agree with each other.
    assert!(std::fs::write(&register, &before.0).is_ok());
    assert!(std::fs::write(&ledger, &before.1).is_ok());
    let books = world.books(here());
    assert_eq!(books.alarms.len(), 2, "{:?}", books.alarms);
    assert!(books.alarms[0].starts_with("the register of signers showed more"));
    assert!(books.alarms[1].starts_with("the ledger showed more"));
    // The alarm is sounded until it is put right.
    assert_eq!(world.books(here()).alarms.len(), 2);
    assert!(std::fs::write(&register, &after.0).is_ok());
    assert!(std::fs::write(&ledger, &after.1).is_ok());
    assert_eq!(world.books(here()).alarms, Vec::<String>::new());
    assert!(std::fs::remove_file(&ledger).is_ok());
    assert!(only_alarm(&world.books(here())).starts_with("the ledger showed more"));
}

#[test]
fn another_register_is_accepted_with_the_fingerprint_on_paper_only() {
    let world = World::new();
    world.begin(here(), "ben");
    assert!(world.books(here()).alarms.is_empty());
    let register = world.register_in(here());
    for path in [register.clone(), LedgerFile::beside(&register)] {
        assert!(std::fs::remove_file(path).is_ok());
    }
    let (file, _) = world.begin(here(), "cleo");
    let first = file.register().first().map(|first| first.public_key().fingerprint());
    let fingerprint = first.unwrap_or_default();
    assert!(!world.books(here()).alarms.is_empty());
    let plant = world.plant.path().join("plant.toml");
    let accept = |fingerprint: &str| world.trust().accept(&register, Some(&plant), fingerprint);
    for wrong in ["", "ab", &"0".repeat(64), &fingerprint[..70]] {
        assert!(accept(wrong).is_err(), "{wrong:?}");
    }
    assert!(!world.books(here()).alarms.is_empty());
    // However it is grouped.
    good(accept(&fingerprint.replace(' ', "").to_uppercase()));
    let books = world.books(here());
    assert!(books.alarms.is_empty() && books.register.is_ok(), "{:?}", books.alarms);
}

/// The only supervisor's key was lost: the old register goes with its records into a folder of its own,
/// a new one begins, and the user accepts both.
#[test]
fn an_old_and_a_new_register_of_a_plant_can_both_be_accepted() {
    let world = World::new();
    let old = Path::new("until-march");
    world.plant_file(old, "Example Dairy (invented)");
    let fingerprint = |file: &RegisterFile| {
        let first = file.register().first().map(|first| first.public_key().fingerprint());
        first.unwrap_or_default()
    };
    let (before, _) = world.begin(old, "ben");
    let (now, _) = world.begin(here(), "cleo");
    assert_eq!(world.books(here()).alarms, Vec::<String>::new());
    for (folder, file) in [(old, &before), (here(), &now)] {
        let plant = world.plant.path().join(folder).join("plant.toml");
        let path = world.register_in(folder);
        good(world.trust().accept(&path, Some(&plant), &fingerprint(file)));
    }
    for folder in [old, here(), old, here()] {
        let books = world.books(folder);
        assert!(books.alarms.is_empty() && books.register.is_ok(), "{:?}", books.alarms);
    }
}

/// What was seen is kept where only the user can write, and damaged it is no licence.
#[test]
#[cfg(unix)]
fn what_was_seen_is_the_users_own_and_damage_is_told() {
    use std::os::unix::fs::PermissionsExt as _;
    let world = World::new();
    world.begin(here(), "ben");
    assert!(world.books(here()).alarms.is_empty());
    let seen = world.config.path().join("seen.json");
    let mode = std::fs::metadata(&seen).map(|meta| meta.permissions().mode() & 0o777);
    assert_eq!(mode.ok(), Some(0o600));
    assert!(std::fs::write(&seen, "{").is_ok());
    assert!(only_alarm(&world.books(here())).contains("can't be read"));
    let bytes = std::fs::read(&seen).unwrap_or_default();
    assert_eq!(bytes, b"{", "it is not replaced");
}

/// Record and journal deleted: the day log says so, not "no record".
#[test]
fn a_record_that_was_signed_and_is_gone_is_told() {
    let world = World::new();
    let (file, key) = world.begin(here(), "ben");
    let journal = world.plant.path().join("2026-03-14.review.jsonl");
    let Ok((mut lines, None)) = Journal::open(&journal) else { panic!("a journal") };
    let entry = Entry { at: stamp(1), by: "ben".to_owned(), body: journal::Body::new() };
    assert!(lines.append(entry, None).is_ok());
    let stood = Stood {
        journal: "2026-03-14.review.jsonl".to_owned(),
        lines: 1,
        head: lines.head().to_string(),
        plant_file: None,
    };
    let path = LedgerFile::beside(&world.register_in(here()));
    let Ok(mut ledger) = LedgerFile::open(&path, file.register()) else { panic!("a ledger") };
    assert!(ledger.enter(&stood, file.register(), &key, stamp(2)).is_ok());
    // A day beside it keeps the folder's books known.
    let beside = world.plant.path().join("2026-03-15.csv");
    assert!(std::fs::write(&beside, "time,temperature\n").is_ok());
    let scanned = || {
        let scan = scan(world.plant.path(), None, &world.trust(), &ScanProgress::default());
        good(scan)
    };
    let names = |scan: &archive::Scan| -> Vec<(String, Stage)> {
        scan.entries.iter().map(|entry| (entry.name(), entry.review.stage)).collect()
    };
    assert_eq!(names(&scanned()).len(), 2);
    assert!(std::fs::remove_file(&journal).is_ok());
    let scan = scanned();
    let gone = ("2026-03-14.csv".to_owned(), Stage::ChangedSinceSigning);
    assert!(names(&scan).contains(&gone), "{:?}", names(&scan));
    let told = scan.entries.iter().find_map(|entry| entry.day.as_ref().err());
    assert!(told.is_some_and(|why| why.contains("line 2 of the ledger")), "{told:?}");
}
