//! The ledger: what is cut off, put back or replaced is seen, and nobody enters what they may not.

mod common;
#[path = "common/register.rs"]
mod register;

use common::{folder, stamp};
use journal::{Body, Digest, Entry, Journal, Line};
use register::{open, refused};
use serde_json::{Value, json};
use signers::{
    Books, Entries, Error, Found, Ledger, LedgerFile, Meaning, Register, RegisterFile, Role, Stood,
    UnlockedKey,
};
use std::path::{Path, PathBuf};
use tempfile::TempDir;
use tests::good;
use tests::people::{enrolment, id, new_key};

/// The name of everybody.
const NAME: &str = "Somebody Invented";

/// A plant with two supervisors and a technician; all people are invented.
struct Plant {
    folder: TempDir,
    file: RegisterFile,
    first: UnlockedKey,
    second: UnlockedKey,
    technician: UnlockedKey,
}

impl Plant {
    fn new() -> Self {
        let folder = folder();
        let [first, second, technician] =
            ["s.lindqvist", "t.berg", "m.ortega"].map(|who| new_key(folder.path(), who));
        let mut file = open(&folder.path().join("signers.jsonl"));
        good(file.found("Sanna Lindqvist", &first, stamp(0)));
        for (key, role, at) in
            [(&technician, Role::Technician, 10), (&second, Role::Supervisor, 20)]
        {
            good(file.enrol(enrolment(key, NAME, role), &first, stamp(at)));
        }
        Self { folder, file, first, second, technician }
    }

    fn register(&self) -> &Register {
        self.file.register()
    }

    fn register_path(&self) -> PathBuf {
        self.folder.path().join("signers.jsonl")
    }

    fn ledger_path(&self) -> PathBuf {
        LedgerFile::beside(&self.register_path())
    }

    fn ledger(&self) -> LedgerFile {
        good(LedgerFile::open(&self.ledger_path(), self.register()))
    }

    /// What the ledger's file says, or what is wrong with it.
    fn read(&self) -> Result<Ledger, String> {
        let reading = journal::read(&self.ledger_path()).map_err(|error| error.to_string())?;
        Ledger::replay(&reading.lines, self.register()).map_err(|violation| violation.why)
    }
}

/// Lines of a journal, as long as asked.
fn lines(folder: &Path, name: &str, count: usize) -> Vec<Line> {
    let Ok((mut journal, None)) = Journal::open(&folder.join(name)) else { panic!("a journal") };
    for number in journal.lines().len()..count {
        let body: Body = match json!({"kind": "opened", "number": number}) {
            Value::Object(body) => body,
            _ => Body::new(),
        };
        let entry = Entry { at: stamp(100), by: "m.ortega".to_owned(), body };
        assert!(journal.append(entry, None).is_ok());
    }
    journal.lines().to_vec()
}

fn stood(journal: &str, lines: &[Line]) -> Stood {
    Stood {
        journal: journal.to_owned(),
        lines: lines.len() as u64,
        head: lines.last().map_or(Digest::NONE, Line::digest).to_string(),
        plant_file: None,
    }
}

#[test]
fn a_journal_that_was_cut_replaced_or_moved_is_told_from_what_was_signed() {
    let plant = Plant::new();
    let here = plant.folder.path();
    let all = lines(here, "a.review.jsonl", 5);
    let mut ledger = plant.ledger();
    good(ledger.enter(
        &stood("a.review.jsonl", &all[..3]),
        plant.register(),
        &plant.technician,
        stamp(200),
    ));
    good(ledger.enter(&stood("a.review.jsonl", &all), plant.register(), &plant.first, stamp(210)));
    let ledger = plant.read().unwrap_or_else(|why| panic!("{why}"));
    assert_eq!(ledger.len(), 5, "it begins, two are enrolled, two signatures");
    let agrees =
        |name: &str, lines: &[Line]| matches!(ledger.of_journal(name, lines), Found::Agrees(_));
    assert!(agrees("a.review.jsonl", &all));
    assert!(agrees("archive/a.review.jsonl", &all), "it was moved");
    for cut in 0..5 {
        let found = ledger.of_journal("a.review.jsonl", &all[..cut]);
        let Found::Contradicts(why) = found else { panic!("{cut}: {found:?}") };
        assert!(why.contains("lines were cut off"), "{why}");
    }
    // An older copy under another name is known by its lines, and is not the last that was signed.
    let older = ledger.of_journal("b.review.jsonl", &all[..3]);
    assert!(matches!(older, Found::Contradicts(_)), "{older:?}");
    assert_eq!(ledger.of_journal("c.review.jsonl", &all[..1]), Found::Nothing);
    // Another journal of the same length.
    let Ok((mut journal, None)) = Journal::open(&here.join("d.review.jsonl")) else {
        panic!("a journal")
    };
    for _ in 0..5 {
        let entry = Entry { at: stamp(100), by: "t.berg".to_owned(), body: Body::new() };
        assert!(journal.append(entry, None).is_ok());
    }
    let found = ledger.of_journal("a.review.jsonl", journal.lines());
    assert!(matches!(&found, Found::Contradicts(why) if why.contains("replaced")), "{found:?}");
}

/// The last line of the register, which revoked somebody, is cut off: the ledger names it.
#[test]
fn a_register_cut_behind_a_revocation_is_seen() {
    let mut plant = Plant::new();
    good(plant.file.revoke(&id("m.ortega"), "left the plant", &plant.first, stamp(300)));
    let text = std::fs::read_to_string(plant.register_path()).unwrap_or_default();
    let kept: String = text.lines().take(3).map(|line| format!("{line}\n")).collect();
    assert!(std::fs::write(plant.register_path(), kept).is_ok());
    let books = Books::read(&plant.register_path());
    let Err(why) = &books.ledger else { panic!("{:?}", books.ledger) };
    assert!(why.contains("the register was cut short or replaced"), "{why}");
    assert!(books.register.is_ok(), "the register alone can't tell");
}

/// A revoked key dates its entry back and names an old line of the register; the ledger only grows.
#[test]
fn a_revoked_key_enters_nothing_behind_its_revocation() {
    let mut plant = Plant::new();
    let old = plant.register().clone();
    good(plant.file.revoke(&id("m.ortega"), "left the plant", &plant.first, stamp(300)));
    let all = lines(plant.folder.path(), "a.review.jsonl", 2);
    // By the program: refused.
    let why = refused(plant.ledger().enter(
        &stood("a.review.jsonl", &all),
        plant.register(),
        &plant.technician,
        stamp(250),
    ));
    assert!(why.contains("revoked"), "{why}");
    // By hand, naming the register as it was.
    let Ok((mut journal, None)) = Journal::open(&plant.ledger_path()) else { panic!("a ledger") };
    let body = json!({
        "kind": "entered",
        "journal": stood("a.review.jsonl", &all),
        "register": old.head().to_string(),
        "register_lines": old.len(),
    });
    let Value::Object(body) = body else { panic!("a body") };
    let entry = Entry { at: stamp(290), by: "m.ortega".to_owned(), body };
    assert!(journal.append(entry, Some(&|bytes| plant.technician.sign(bytes))).is_ok());
    let why = plant.read().map(|_| ()).err().unwrap_or_default();
    assert!(why.contains("and a line above with 4"), "{why}");
}

#[test]
fn nobody_takes_stock_but_a_supervisor_and_every_line_is_signed_by_its_signer() {
    let plant = Plant::new();
    let why = refused(plant.ledger().take_stock(
        ("restored", Vec::new()),
        plant.register(),
        &plant.technician,
        stamp(200),
    ));
    assert!(why.contains("only a supervisor"), "{why}");
    let original = std::fs::read(plant.ledger_path()).unwrap_or_default();
    // Every bit, of every line: the chain or the signature tells.
    for (place, bit) in (0..original.len()).flat_map(|place| (0..8).map(move |bit| (place, bit))) {
        let mut changed = original.clone();
        changed[place] ^= 1 << bit;
        let reading = journal::replay(&changed);
        let seen =
            reading.fault.is_some() || Ledger::replay(&reading.lines, plant.register()).is_err();
        assert!(seen, "bit {bit} of byte {place}");
    }
    // A line that somebody else signed in the supervisor's name, in a chain that is right.
    let Ok((mut journal, None)) = Journal::open(&plant.ledger_path()) else { panic!("a ledger") };
    let body = json!({
        "kind": "stock_taken", "reason": "forged", "journals": [],
        "register": plant.register().head().to_string(), "register_lines": plant.register().len(),
    });
    let Value::Object(body) = body else { panic!("a body") };
    let entry = Entry { at: stamp(200), by: "t.berg".to_owned(), body };
    assert!(journal.append(entry, Some(&|bytes| plant.technician.sign(bytes))).is_ok());
    let why = plant.read().map(|_| ()).err().unwrap_or_default();
    assert!(why.contains("the key is not the one"), "{why}");
}

/// People sign different records at the same time: whoever is second enters after the first.
#[test]
fn writers_at_once_lose_nothing_and_fork_nothing() {
    let plant = Plant::new();
    let all = lines(plant.folder.path(), "a.review.jsonl", 1);
    let before = plant.read().map(|ledger| ledger.len());
    std::thread::scope(|scope| {
        for writer in 0..4 {
            let (plant, all) = (&plant, &all);
            scope.spawn(move || {
                let mut ledger = plant.ledger();
                for number in 0..25 {
                    let journal = stood(&format!("{writer}/{number}.review.jsonl"), all);
                    good(ledger.enter(&journal, plant.register(), &plant.technician, stamp(200)));
                }
            });
        }
    });
    let ledger = plant.read().unwrap_or_else(|why| panic!("{why}"));
    assert_eq!(Ok(ledger.len()), before.map(|before| before + 100));
    assert_eq!(ledger.latest().count(), 100);
}

#[test]
fn a_ledger_begins_with_taking_stock() {
    let plant = Plant::new();
    assert!(std::fs::remove_file(plant.ledger_path()).is_ok());
    let all = lines(plant.folder.path(), "a.review.jsonl", 1);
    let mut ledger = plant.ledger();
    let none = ledger.enter(&stood("a", &all), plant.register(), &plant.first, stamp(200));
    assert!(matches!(none, Err(Error::NoLedger { .. })), "{none:?}");
    let stock = ("restored", vec![stood("a.review.jsonl", &all)]);
    good(ledger.take_stock(stock, plant.register(), &plant.first, stamp(200)));
    assert_eq!(plant.read().map(|ledger| ledger.stock_of(&all)), Ok(1));
    assert_eq!(plant.read().map(|ledger| ledger.stock_of(&all[..0])), Ok(0));
}

/// What gives a word the weight of a supervisor's, or sets the limits, takes two where there are two.
#[test]
fn two_supervisors_agree_where_there_are_two() {
    let mut plant = Plant::new();
    let digest = Digest::of(b"plant.toml").to_string();
    let now = stamp(900).instant();
    good(plant.file.approve_plant_file("plant.toml", &digest, &plant.first, stamp(300)));
    assert!(plant.file.waits());
    assert_eq!(plant.register().plant_file_at(&digest, now), None);
    let why = refused(plant.file.second(4, &plant.first, stamp(310)));
    assert!(why.contains("another supervisor"), "{why}");
    let why = refused(plant.file.second(4, &plant.technician, stamp(310)));
    assert!(why.contains("only a supervisor"), "{why}");
    good(plant.file.second(4, &plant.second, stamp(320)));
    let approval = plant.register().plant_file_at(&digest, now).cloned();
    let Some(approval) = approval else { panic!("approved") };
    assert_eq!((approval.by.as_str(), approval.second), ("s.lindqvist", Some(id("t.berg"))));
    assert_eq!(plant.register().plant_file_at(&digest, stamp(310).instant()), None, "not before");
    let why = refused(plant.file.second(4, &plant.second, stamp(330)));
    assert!(why.contains("does not wait"), "{why}");
    // A third supervisor: not by one alone, and not once the first is gone.
    let third = new_key(plant.folder.path(), "u.holm");
    good(plant.file.enrol(enrolment(&third, NAME, Role::Supervisor), &plant.second, stamp(400)));
    assert!(!plant.register().is_supervisor(&id("u.holm")));
    good(plant.file.withdraw_plant_file(&digest, "a new tube", &plant.second, stamp(410)));
    assert_eq!(plant.register().plant_file_at(&digest, now), None);
    assert!(plant.register().plant_file_at(&digest, stamp(405).instant()).is_some());
    good(plant.file.revoke(&id("t.berg"), "left the plant", &plant.first, stamp(420)));
    let why = refused(plant.file.second(6, &plant.first, stamp(430)));
    assert!(why.contains("no supervisor any more"), "{why}");
    // Alone again, the first may enrol.
    good(plant.file.enrol(enrolment(&third, NAME, Role::Supervisor), &plant.first, stamp(440)));
    assert!(plant.register().is_supervisor(&id("u.holm")));
    let again = open(&plant.register_path());
    assert_eq!(again.register(), plant.register());
    assert!(plant.read().is_ok(), "the ledger tells of each line");
}

/// A register that began under the first rules follows the new ones from the next line on.
#[test]
fn an_old_register_follows_the_new_rules_from_its_next_line() {
    let folder = folder();
    let [first, second] = ["a", "b"].map(|who| new_key(folder.path(), who));
    let path = folder.path().join("signers.jsonl");
    let Ok((mut journal, None)) = Journal::open(&path) else { panic!("a journal") };
    for (key, at) in [(&first, 0), (&second, 10)] {
        let mut body = json!({"kind": "enrolled"});
        let fields = serde_json::to_value(enrolment(key, NAME, Role::Supervisor));
        let (Value::Object(body), Ok(Value::Object(fields))) = (&mut body, fields) else {
            panic!("objects")
        };
        body.extend(fields);
        let entry = Entry { at: stamp(at), by: "a".to_owned(), body: body.clone() };
        assert!(journal.append(entry, Some(&|bytes| first.sign(bytes))).is_ok());
    }
    let mut file = open(&path);
    assert_eq!((file.register().rules(), file.register().supervisors()), (1, 2));
    let third = new_key(folder.path(), "c");
    good(file.enrol(enrolment(&third, NAME, Role::Supervisor), &second, stamp(20)));
    assert_eq!((file.register().rules(), file.register().len()), (2, 4));
    assert!(file.waits(), "one alone could enrol a supervisor before");
    assert!(!LedgerFile::beside(&path).exists(), "stock is taken by a supervisor");
}

/// A clock that ran ahead a year once: a supervisor's signed line lets the right date follow.
#[test]
fn a_clock_that_ran_ahead_is_corrected_by_a_supervisor() {
    let mut plant = Plant::new();
    let year = 365 * 86_400;
    let holm = new_key(plant.folder.path(), "u.holm");
    good(plant.file.enrol(enrolment(&holm, NAME, Role::Technician), &plant.first, stamp(year)));
    let late = new_key(plant.folder.path(), "v.dahl");
    let new = || enrolment(&late, NAME, Role::Technician);
    let locked = plant.file.enrol(new(), &plant.first, stamp(500));
    let behind = matches!(locked, Err(Error::Journal(journal::Error::ClockBehind { .. })));
    assert!(behind, "{locked:?}");
    let why = refused(plant.file.correct_clock("a year ahead", &plant.technician, stamp(500)));
    assert!(why.contains("only a supervisor"), "{why}");
    good(plant.file.correct_clock("a year ahead", &plant.second, stamp(500)));
    good(plant.file.enrol(new(), &plant.first, stamp(510)));
    assert_eq!(plant.register().corrections().len(), 1);
    assert!(plant.read().is_ok_and(|ledger| ledger.len() == 6));
    // One step only.
    let again = plant.file.revoke(&id("v.dahl"), "left", &plant.first, stamp(300));
    assert!(matches!(again, Err(Error::Journal(journal::Error::ClockBehind { .. }))), "{again:?}");
    let now = plant.register().may_sign(&plant.technician, Meaning::Reviewed, stamp(520));
    assert!(now.holds());
}

/// An operator signs what was entered on the day, and nothing else; entries that were changed afterwards are told
/// from those that were signed.
#[test]
fn operators_entries_are_signed_by_an_operator_who_does_nothing_else() {
    let mut plant = Plant::new();
    let operator = new_key(plant.folder.path(), "r.vale");
    let enrolled = enrolment(&operator, "Robin Vale (invented)", Role::Operator);
    good(plant.file.enrol(enrolled, &plant.first, stamp(100)));
    let entries = |digit: &str| Entries {
        file: "2026-03-14.entries.csv".to_owned(),
        sha256: digit.repeat(64),
    };
    let mut ledger = plant.ledger();
    good(ledger.sign_entries(&entries("a"), plant.register(), &operator, stamp(200)));
    let journal = stood("a.review.jsonl", &lines(plant.folder.path(), "a.review.jsonl", 2));
    let why = refused(ledger.enter(&journal, plant.register(), &operator, stamp(210)));
    assert!(why.contains("the signer was an operator then, who may not do this"), "{why}");
    let stock = ("all", vec![journal]);
    let why = refused(ledger.take_stock(stock, plant.register(), &operator, stamp(210)));
    assert!(why.contains("operator") && why.contains("only a supervisor"), "{why}");

    let ledger = plant.read().unwrap_or_else(|why| panic!("{why}"));
    let found = |digit: &str| -> Vec<(String, u64)> {
        let Entries { file, sha256 } = entries(digit);
        let found = ledger.of_entries(&file, &sha256).into_iter();
        found.map(|one| (one.entries.sha256.clone(), one.line)).collect()
    };
    assert_eq!(found("a"), [("a".repeat(64), 5)]);
    assert_eq!(found("b"), [("a".repeat(64), 5)], "other bytes under the name that was signed");
    assert!(ledger.of_entries("other.entries.csv", &"b".repeat(64)).is_empty());
    assert!(!plant.register().had(&id("r.vale"), stamp(300).instant()), "no reviewer");
    // A digest that is none is refused, whoever signs.
    let none = Entries { sha256: "a".to_owned(), ..entries("a") };
    let why = refused(plant.ledger().sign_entries(&none, plant.register(), &operator, stamp(220)));
    assert!(why.contains("digest") || why.contains("64"), "{why}");
}
