//! The register: who may change it, what it allows, and that no change to it goes unseen.

mod common;
#[path = "common/files.rs"]
mod files;
#[path = "common/outside.rs"]
mod outside;
#[path = "common/register.rs"]
mod register;

use common::{folder, stamp};
use files::write;
use journal::{Body, Digest, Entry, Journal, Signature};
use outside::{openssl, openssl_says};
use proptest::prelude::*;
use proptest::sample::Index;
use register::{open, refused};
use serde_json::{Value, json};
use signers::{
    Error, Ledger, LedgerFile, Meaning, Register, RegisterFile, Role, UnlockedKey, Verdict,
};
use std::path::PathBuf;
use tempfile::TempDir;
use tests::good;
use tests::people::{enrolment, id, new_key};

/// A plant with a supervisor and a technician; all people are invented.
struct Plant {
    folder: TempDir,
    file: RegisterFile,
    supervisor: UnlockedKey,
    technician: UnlockedKey,
}

impl Plant {
    /// The supervisor enrols themselves after 0 s, the technician after 100 s.
    fn new() -> Self {
        let folder = folder();
        let supervisor = new_key(folder.path(), "s.lindqvist");
        let technician = new_key(folder.path(), "m.ortega");
        let mut file = open(&folder.path().join("signers.jsonl"));
        good(file.found("Sanna Lindqvist", &supervisor, stamp(0)));
        let second = enrolment(&technician, "Mara Ortega", Role::Technician);
        good(file.enrol(second, &supervisor, stamp(100)));
        Self { folder, file, supervisor, technician }
    }

    fn path(&self) -> PathBuf {
        self.folder.path().join("signers.jsonl")
    }

    /// Enrols one more signer.
    fn with(&mut self, signer: &str, role: Role, at: i64) -> UnlockedKey {
        let key = new_key(self.folder.path(), signer);
        good(self.file.enrol(enrolment(&key, "One More", role), &self.supervisor, stamp(at)));
        key
    }

    fn bytes(&self) -> Vec<u8> {
        good(std::fs::read(self.path()))
    }
}

/// The register of a file's bytes, or what is wrong with them.
fn read(bytes: &[u8]) -> Result<Register, String> {
    let reading = journal::replay(bytes);
    match reading.fault {
        Some(fault) => Err(fault.to_string()),
        None => Register::replay(&reading.lines).map_err(|violation| violation.to_string()),
    }
}

/// The verdict on a signature by `key` that is dated `at` and names `head`.
fn verdict(
    register: &Register,
    key: &UnlockedKey,
    meaning: Meaning,
    at: i64,
    head: Digest,
) -> Verdict {
    let bytes = b"a line of a review journal";
    register.check(key.signer(), meaning, stamp(at), head, bytes, &key.sign(bytes))
}

#[test]
fn the_register_says_what_was_entered() {
    let mut plant = Plant::new();
    let gone = plant.with("t.berg", Role::Technician, 200);
    let change =
        plant.file.change_role(&id("m.ortega"), Role::Supervisor, &plant.supervisor, stamp(300));
    good(change);
    good(plant.file.revoke(gone.signer(), "left the plant", &plant.technician, stamp(400)));

    let again = open(&plant.path());
    let register = again.register();
    assert_eq!(register, plant.file.register(), "what was written is what is read");
    let list: Vec<_> = register
        .signers()
        .iter()
        .map(|signer| (signer.id().as_str(), signer.name(), signer.role(), signer.revoked()))
        .collect();
    assert_eq!(
        list,
        [
            ("s.lindqvist", "Sanna Lindqvist", Role::Supervisor, None),
            ("m.ortega", "Mara Ortega", Role::Supervisor, None),
            ("t.berg", "One More", Role::Technician, Some(stamp(400))),
        ]
    );
    let signer = register.signer(gone.signer()).unwrap_or_else(|| panic!("enrolled"));
    assert_eq!(signer.public_key(), gone.public_key());
    assert_eq!(signer.enrolled(), stamp(200));
    assert_eq!(register.signer(&id("nobody")), None);
}

#[test]
fn an_empty_register_allows_nothing() {
    let folder = folder();
    let key = new_key(folder.path(), "m.ortega");
    let mut file = open(&folder.path().join("signers.jsonl"));
    assert_eq!(file.register().head(), Digest::NONE);
    let verdict = verdict(file.register(), &key, Meaning::Reviewed, 0, Digest::NONE);
    assert_eq!(verdict, Verdict::UnknownSigner);
    let first = enrolment(&key, "Mara Ortega", Role::Technician);
    assert!(refused(file.enrol(first, &key, stamp(0))).contains("enrols themselves"));
    assert!(refused(file.revoke(key.signer(), "x", &key, stamp(0))).contains("enrols themselves"));
    assert!(!folder.path().join("signers.jsonl").exists(), "nothing was written");
}

#[test]
fn only_a_supervisor_keeps_the_register() {
    let mut plant = Plant::new();
    let before = plant.bytes();
    let other = new_key(plant.folder.path(), "t.berg");
    let new = || enrolment(&other, "Tove Berg", Role::Technician);
    let (technician, supervisor) = (&plant.technician, plant.supervisor.signer());
    let file = &mut plant.file;
    for why in [
        refused(file.enrol(new(), technician, stamp(200))),
        refused(file.change_role(technician.signer(), Role::Supervisor, technician, stamp(200))),
        refused(file.revoke(supervisor, "in my way", technician, stamp(200))),
    ] {
        assert_eq!(why, "m.ortega is a technician; only a supervisor keeps the register");
    }
    assert!(refused(file.enrol(new(), &other, stamp(200))).contains("t.berg is not enrolled"));
    assert!(refused(file.found("Tove Berg", &other, stamp(200))).contains("already"));
    assert_eq!(plant.bytes(), before, "nothing was written");
}

#[test]
fn a_revoked_supervisor_keeps_the_register_no_more() {
    let mut plant = Plant::new();
    let second = plant.with("t.berg", Role::Supervisor, 200);
    good(plant.file.revoke(second.signer(), "left", &plant.supervisor, stamp(300)));
    let why = refused(plant.file.revoke(&id("m.ortega"), "spite", &second, stamp(400)));
    assert!(why.starts_with("t.berg was revoked"), "{why}");
}

#[test]
fn a_key_of_another_machine_does_not_act() {
    let mut plant = Plant::new();
    let elsewhere = folder();
    let same_name = new_key(elsewhere.path(), "s.lindqvist");
    let why = refused(plant.file.revoke(&id("m.ortega"), "no reason", &same_name, stamp(200)));
    assert!(why.contains("is not the one in the register"), "{why}");
    let register = plant.file.register();
    assert_eq!(
        register.may_sign(&same_name, Meaning::Approved, stamp(200)),
        Verdict::KeyDoesNotFit
    );
    assert_eq!(register.may_sign(&plant.supervisor, Meaning::Approved, stamp(200)), Verdict::Holds);
    let head = register.head();
    let verdict = verdict(register, &same_name, Meaning::Approved, 200, head);
    assert_eq!(verdict, Verdict::KeyDoesNotFit);
}

#[test]
fn the_last_supervisor_stays() {
    let mut plant = Plant::new();
    let last = plant.supervisor.signer().clone();
    let by = &plant.supervisor;
    for why in [
        refused(plant.file.revoke(&last, "leaving", by, stamp(200))),
        refused(plant.file.change_role(&last, Role::Technician, by, stamp(200))),
    ] {
        assert!(why.contains("is the last supervisor"), "{why}");
    }
    // A revoked supervisor does not count as another.
    let second = plant.with("t.berg", Role::Supervisor, 300);
    good(plant.file.revoke(second.signer(), "left", &plant.supervisor, stamp(400)));
    let why = refused(plant.file.revoke(&last, "leaving", &plant.supervisor, stamp(500)));
    assert!(why.contains("is the last supervisor"), "{why}");
    // With another one, the first can go, even by their own hand.
    plant.with("a.third", Role::Supervisor, 600);
    good(plant.file.revoke(&last, "leaving", &plant.supervisor, stamp(700)));
}

#[test]
fn an_identifier_and_a_key_are_given_once() {
    let mut plant = Plant::new();
    let other = new_key(plant.folder.path(), "t.berg");
    let mut twice = enrolment(&other, "Tove Berg", Role::Technician);
    twice.signer = id("m.ortega");
    let why = refused(plant.file.enrol(twice.clone(), &plant.supervisor, stamp(200)));
    assert!(why.contains("an identifier is given once"), "{why}");
    good(plant.file.revoke(&id("m.ortega"), "left", &plant.supervisor, stamp(300)));
    let why = refused(plant.file.enrol(twice, &plant.supervisor, stamp(400)));
    assert!(why.contains("an identifier is given once"), "even after a revocation: {why}");
    let mut alias = enrolment(&plant.technician, "Somebody Else", Role::Technician);
    alias.signer = id("alias");
    let why = refused(plant.file.enrol(alias, &plant.supervisor, stamp(500)));
    assert!(why.contains("the key of alias is the key of m.ortega"), "{why}");
}

#[test]
fn names_and_reasons_can_be_printed() {
    let mut plant = Plant::new();
    let other = new_key(plant.folder.path(), "t.berg");
    for text in ["", "  ", "Tove\nBerg", "Tove\u{1b}[2J"] {
        let new = enrolment(&other, text, Role::Technician);
        let why = refused(plant.file.enrol(new, &plant.supervisor, stamp(200)));
        assert!(why.contains("the name"), "{why}");
        let why = refused(plant.file.revoke(&id("m.ortega"), text, &plant.supervisor, stamp(200)));
        assert!(why.contains("the reason"), "{why}");
    }
}

#[test]
fn two_supervisors_at_once_do_not_fork_the_register() {
    let mut plant = Plant::new();
    let mut second = open(&plant.path());
    plant.with("t.berg", Role::Technician, 200);
    let late = new_key(plant.folder.path(), "u.holm");
    let new = || enrolment(&late, "Ulla Holm", Role::Technician);
    let error = second.enrol(new(), &plant.supervisor, stamp(300)).err();
    assert!(matches!(error, Some(Error::Journal(journal::Error::MovedOn { .. }))), "{error:?}");
    assert_eq!(second.register().signers().len(), 2, "what was not written is not entered");
    let mut again = open(&plant.path());
    good(again.enrol(new(), &plant.supervisor, stamp(300)));
    assert_eq!(again.register().signers().len(), 4);
}

#[test]
fn a_revoked_signers_later_signature_fails_and_an_earlier_one_holds() {
    let mut plant = Plant::new();
    let before = plant.file.register().head();
    good(plant.file.revoke(&id("m.ortega"), "left the plant", &plant.supervisor, stamp(1000)));
    let (register, key) = (plant.file.register(), &plant.technician);
    let reviewed = Meaning::Reviewed;
    assert_eq!(verdict(register, key, reviewed, 500, before), Verdict::Holds);
    assert_eq!(verdict(register, key, reviewed, 1000, before), Verdict::Holds);
    let now = register.head();
    assert_eq!(verdict(register, key, reviewed, 1500, now), Verdict::AlreadyRevoked);
    // Backdated, but naming the register as it is now.
    assert_eq!(verdict(register, key, reviewed, 500, now), Verdict::AlreadyRevoked);
    // Naming an old line of the register does not help: the date is after the revocation.
    let late = Verdict::AfterRevocation { revoked: stamp(1000) };
    assert_eq!(verdict(register, key, reviewed, 1001, before), late);
    assert_eq!(register.may_sign(key, reviewed, stamp(1001)), Verdict::AlreadyRevoked);
    assert!(late.to_string().contains(&stamp(1000).to_string()), "{late}");
}

#[test]
fn what_a_role_allows_follows_line_and_date() {
    let mut plant = Plant::new();
    let as_technician = plant.file.register().head();
    let signer = id("m.ortega");
    good(plant.file.change_role(&signer, Role::Supervisor, &plant.supervisor, stamp(1000)));
    let as_supervisor = plant.file.register().head();
    good(plant.file.change_role(&signer, Role::Technician, &plant.supervisor, stamp(1900)));
    assert!(plant.file.waits(), "there are two supervisors");
    assert_eq!(
        plant.file.register().role_at(&signer, plant.file.register().head()),
        Some(Role::Supervisor)
    );
    good(plant.file.second(4, &plant.technician, stamp(2000)));
    let at_last = plant.file.register().head();
    let (register, key) = (plant.file.register(), &plant.technician);
    let approved = Meaning::Approved;
    let may_not = Verdict::RoleMayNot { role: Role::Technician, act: approved.into() };
    let might_not = Verdict::RoleMightNotThen { act: approved.into() };
    for (at, head, expected) in [
        (500, as_technician, may_not),
        (1500, as_technician, may_not),
        (1000, as_supervisor, Verdict::Holds),
        (1500, as_supervisor, Verdict::Holds),
        (2000, as_supervisor, Verdict::Holds),
        (2500, at_last, may_not),
        // A line of the signer's choice, but the date does not agree.
        (999, as_supervisor, might_not),
        (2001, as_supervisor, might_not),
    ] {
        assert_eq!(verdict(register, key, approved, at, head), expected, "{at}");
        assert_eq!(verdict(register, key, Meaning::Reviewed, at, head), Verdict::Holds, "{at}");
    }
    assert_eq!(register.role_at(&signer, as_technician), Some(Role::Technician));
    assert_eq!(register.role_at(&signer, as_supervisor), Some(Role::Supervisor));
    assert_eq!(register.role_at(&signer, Digest::of(b"no line")), None);
}

#[test]
fn a_signature_needs_a_line_at_which_the_signer_is_enrolled() {
    let plant = Plant::new();
    let register = plant.file.register();
    let reading = journal::replay(&plant.bytes());
    let heads: Vec<_> = reading.lines.iter().map(journal::Line::digest).collect();
    let [first, second] = heads[..] else { panic!("{heads:?}") };
    let reviewed = |at, head| verdict(register, &plant.technician, Meaning::Reviewed, at, head);
    assert_eq!(reviewed(100, second), Verdict::Holds);
    assert_eq!(reviewed(99, second), Verdict::BeforeEnrolment { enrolled: stamp(100) });
    assert_eq!(reviewed(100, first), Verdict::NotYetEnrolled);
    assert_eq!(reviewed(100, Digest::NONE), Verdict::UnknownRegisterHead);
    assert_eq!(reviewed(100, Digest::of(b"another register")), Verdict::UnknownRegisterHead);
    let (key, bytes) = (&plant.technician, b"signed");
    let signature = key.sign(bytes);
    let check = |signer: &str, bytes: &[u8], signature: &Signature| {
        register.check(&id(signer), Meaning::Reviewed, stamp(100), second, bytes, signature)
    };
    assert_eq!(check("m.ortega", bytes, &signature), Verdict::Holds);
    assert_eq!(check("s.lindqvist", bytes, &signature), Verdict::KeyDoesNotFit);
    assert_eq!(check("nobody", bytes, &signature), Verdict::UnknownSigner);
    assert_eq!(check("m.ortega", b"changed", &signature), Verdict::KeyDoesNotFit);
    assert_eq!(check("m.ortega", bytes, &Signature([0; 64])), Verdict::KeyDoesNotFit);
}

/// Every single bit of a register, flipped.
#[test]
fn every_flipped_bit_is_detected() {
    let mut plant = Plant::new();
    good(plant.file.revoke(&id("m.ortega"), "left the plant", &plant.supervisor, stamp(300)));
    let bytes = plant.bytes();
    assert!(read(&bytes).is_ok());
    let mut by_signature = 0;
    for place in 0..bytes.len() {
        for bit in 0..8 {
            let mut changed = bytes.clone();
            changed[place] ^= 1 << bit;
            match read(&changed) {
                Ok(_) => panic!("byte {place}, bit {bit} can be flipped unseen"),
                Err(why) if why.contains("signature does not fit") => by_signature += 1,
                Err(_) => {}
            }
        }
    }
    assert!(by_signature > 100, "the last line is held by its signature: {by_signature}");
}

#[test]
fn lines_that_were_dropped_doubled_or_moved_are_detected() {
    let mut plant = Plant::new();
    plant.with("t.berg", Role::Technician, 200);
    let text = String::from_utf8_lossy(&plant.bytes()).into_owned();
    let lines: Vec<_> = text.split_inclusive('\n').collect();
    let [one, two, three] = lines[..] else { panic!("{text}") };
    assert!(read([one, two, three].concat().as_bytes()).is_ok());
    for order in [
        vec![two, three],
        vec![one, three],
        vec![one, one, two, three],
        vec![one, three, two],
        vec![one, two, two, three],
        vec![one, two, three, three],
        vec![one, two, three, "\n"],
        vec![one, two, &three[..three.len() - 1]],
    ] {
        assert!(read(order.concat().as_bytes()).is_err(), "{order:?}");
    }
}

/// Somebody writes a chain that is whole, but not by the rules.
#[test]
fn a_chain_made_with_other_keys_is_not_a_register() {
    let plant = Plant::new();
    let other = new_key(plant.folder.path(), "t.berg");
    let enrolled = |signer: &str, role: &str, key: &UnlockedKey| {
        json!({"kind": "enrolled", "signer": signer, "name": "Tove Berg", "role": role,
               "public_key": key.public_key().to_pem()})
    };
    let promoted = json!({"kind": "role_changed", "signer": "m.ortega", "role": "supervisor"});
    let odd = json!({"kind": "enrolled", "signer": "t.berg"});
    let technician = &plant.technician;
    for (by, body, key, why) in [
        (
            "s.lindqvist",
            enrolled("t.berg", "supervisor", &other),
            Some(&other),
            "does not fit the key",
        ),
        ("t.berg", enrolled("t.berg", "supervisor", &other), Some(&other), "is not enrolled"),
        ("m.ortega", promoted.clone(), Some(technician), "only a supervisor"),
        ("s.lindqvist", promoted.clone(), Some(technician), "does not fit the key"),
        ("s.lindqvist", promoted, None, "it is not signed"),
        ("S. Lindqvist", odd.clone(), Some(&other), "not an identifier"),
        ("s.lindqvist", odd, Some(&plant.supervisor), "body is not one of a register"),
    ] {
        let path = plant.folder.path().join("forged.jsonl");
        write(&path, &plant.bytes());
        let (mut journal, _) = good(Journal::open(&path));
        let Value::Object(body) = body else { panic!("an object") };
        append(&mut journal, by, body, key);
        let violation = Register::replay(journal.lines()).err();
        let violation = violation.unwrap_or_else(|| panic!("not seen: {why}"));
        assert_eq!(violation.line, 3);
        assert!(violation.why.contains(why), "{violation}");
        match RegisterFile::open(&path) {
            Err(Error::Violated { violation: same, .. }) => assert_eq!(same, violation),
            other => panic!("{other:?}"),
        }
    }
}

fn append(journal: &mut Journal, by: &str, body: Body, key: Option<&UnlockedKey>) {
    let entry = Entry { at: stamp(200), by: by.to_owned(), body };
    let sign = |bytes: &[u8]| key.map_or(Signature([0; 64]), |key| key.sign(bytes));
    let result = match key {
        Some(_) => journal.append(entry, Some(&sign)).map(|_| ()),
        None => journal.append(entry, None).map(|_| ()),
    };
    good(result);
}

/// The check that `docs/review.md` describes, with nothing of ours: the bytes of a line as they
/// stand in the file, the public key as it stands in the first line, and `openssl`.
#[test]
fn openssl_verifies_every_line_of_a_register() {
    let plant = Plant::new();
    let here = plant.folder.path();
    let text = String::from_utf8_lossy(&plant.bytes()).into_owned();
    let first: Value = serde_json::from_str(text.lines().next().unwrap_or_default())
        .unwrap_or_else(|error| panic!("{error}"));
    let public = first["body"]["public_key"].as_str().unwrap_or_default();
    write(&here.join("public.pem"), public.as_bytes());
    let verify = ["pkeyutl", "-verify", "-pubin", "-inkey", "public.pem", "-rawin", "-in", "line"];
    let verify = [&verify[..], &["-sigfile", "signature"]].concat();
    let mut lines = 0;
    for line in text.lines() {
        let Some((covered, rest)) = line.rsplit_once(",\"signature\":\"") else { panic!("{line}") };
        let digits = rest.strip_suffix("\"}").unwrap_or_default();
        let signature: Vec<u8> = (0..digits.len() / 2)
            .filter_map(|place| u8::from_str_radix(&digits[2 * place..2 * place + 2], 16).ok())
            .collect();
        assert_eq!(signature.len(), 64, "{line}");
        write(&here.join("line"), format!("{covered}}}").as_bytes());
        write(&here.join("signature"), &signature);
        let said = openssl_says(here, &verify);
        assert!(said.contains("Signature Verified Successfully"), "{said}");
        write(&here.join("line"), format!("{covered}}} ").as_bytes());
        assert!(!openssl(here, &verify).status.success(), "one byte more");
        lines += 1;
    }
    assert_eq!(lines, 2);
}

/// One operation on a register by one of a few people, allowed or not.
#[derive(Debug, Clone)]
enum Operation {
    Enrol(Index, Role, Index),
    ChangeRole(Index, Role, Index),
    Revoke(Index, Index),
    Approve(u8, Index),
    Second(u64, Index),
}

fn operation() -> impl Strategy<Value = Operation> {
    let role = || prop_oneof![Just(Role::Technician), Just(Role::Supervisor)];
    prop_oneof![
        (any::<Index>(), role(), any::<Index>()).prop_map(|(a, b, c)| Operation::Enrol(a, b, c)),
        (any::<Index>(), role(), any::<Index>())
            .prop_map(|(a, b, c)| Operation::ChangeRole(a, b, c)),
        (any::<Index>(), any::<Index>()).prop_map(|(a, b)| Operation::Revoke(a, b)),
        (0..3_u8, any::<Index>()).prop_map(|(a, b)| Operation::Approve(a, b)),
        (1..12_u64, any::<Index>()).prop_map(|(a, b)| Operation::Second(a, b)),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 32,
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    /// Whatever is asked of a register, each of its prefixes is a register with a supervisor,
    /// and what a prefix says of a signature, the whole says as well.
    #[test]
    fn every_prefix_is_a_register_with_a_supervisor(
        operations in prop::collection::vec(operation(), 0..24),
    ) {
        let folder = folder();
        let people = ["a", "b", "c", "d"].map(|name| new_key(folder.path(), name));
        let path = folder.path().join("signers.jsonl");
        let mut file = open(&path);
        good(file.found("First", &people[0], stamp(0)));
        let mut heads = vec![file.register().clone()];
        for (at, operation) in (1..).zip(operations) {
            let result = match operation {
                Operation::Enrol(who, role, by) => {
                    let enrolment = enrolment(who.get(&people), "Somebody", role);
                    file.enrol(enrolment, by.get(&people), stamp(at))
                }
                Operation::ChangeRole(who, role, by) => {
                    file.change_role(who.get(&people).signer(), role, by.get(&people), stamp(at))
                }
                Operation::Revoke(who, by) => {
                    file.revoke(who.get(&people).signer(), "why not", by.get(&people), stamp(at))
                }
                Operation::Approve(what, by) => {
                    let sha256 = Digest::of(&[what]).to_string();
                    file.approve_plant_file("plant.toml", &sha256, by.get(&people), stamp(at))
                }
                Operation::Second(line, by) => file.second(line, by.get(&people), stamp(at)),
            };
            match result {
                Ok(()) => heads.push(file.register().clone()),
                Err(Error::Refused { .. }) => {
                    prop_assert_eq!(Some(file.register()), heads.last());
                }
                Err(error) => panic!("{error}"),
            }
        }
        let reading = good(journal::read(&path));
        prop_assert_eq!(reading.fault, None);
        prop_assert_eq!(reading.lines.len(), heads.len());
        for (count, register) in (1..).zip(&heads) {
            let replayed = Register::replay(&reading.lines[..count]);
            prop_assert_eq!(replayed.as_ref(), Ok(register));
            let supervisors = register.signers().iter().filter(|signer| {
                signer.role() == Role::Supervisor && signer.revoked().is_none()
            });
            prop_assert!(supervisors.count() >= 1, "{:?}", register);
        }
        // The ledger tells of each of them, in their order.
        let ledger = journal::read(&LedgerFile::beside(&path));
        let ledger = good(ledger);
        prop_assert_eq!(ledger.lines.len(), heads.len());
        let ledger = Ledger::replay(&ledger.lines, file.register());
        prop_assert!(ledger.is_ok(), "{:?}", ledger);
        let bytes = b"signed then";
        for (register, line) in heads.iter().zip(&reading.lines) {
            for key in &people {
                for meaning in [Meaning::Reviewed, Meaning::Approved] {
                    let then = register.may_sign(key, meaning, line.at());
                    let signature = key.sign(bytes);
                    let now = file.register().check(
                        key.signer(), meaning, line.at(), line.digest(), bytes, &signature,
                    );
                    let ever = file.register().signer(key.signer()).is_some();
                    match then {
                        Verdict::UnknownSigner if ever => {
                            prop_assert_eq!(now, Verdict::NotYetEnrolled);
                        }
                        _ => prop_assert_eq!(now, then),
                    }
                }
            }
        }
    }
}
