//! Who decides what counts, by the real program: which register, which limits, what was signed and is
//! there no more.

use std::path::Path;
use tests::place::Place;
use tests::program::{Told, program};

const RECORD: &str = "2026-03-14.csv";

/// A signed day.
fn signed() -> Place {
    let place = Place::with_signers();
    place.round();
    let told = place.verify();
    assert_eq!(told.status, Some(0), "{told:#?}");
    place
}

/// Somebody else looks, who has seen nothing of this plant before.
fn as_somebody_new(place: &Place, arguments: &[&str]) -> Told {
    let mut command = place.command(&program());
    command.args(arguments).env("XDG_CONFIG_HOME", place.path("new-config"));
    Place::told(command)
}

/// What stands after a word in what the program said.
fn after<'a>(told: &'a Told, word: &str) -> &'a str {
    let rest = told.output.split_once(word).map(|(_, rest)| rest);
    rest.and_then(|rest| rest.lines().next()).unwrap_or_default().trim()
}

/// The arguments that open the signed day again.
fn reopened_by<'a>(by: &'a str, reason: &'a str) -> [&'a str; 9] {
    ["review", "reopen", RECORD, "--by", by, "--reason", reason, "--passphrase-fd", "0"]
}

fn copy(place: &Place, from: &str, to: &str) {
    assert!(std::fs::copy(place.path(from), place.path(to)).is_ok(), "{from} to {to}");
}

#[test]
fn verify_and_day_log_name_the_register_its_head_and_the_fingerprints() {
    let place = signed();
    let verified = place.verify();
    let days = place.expect(0, &["days", "."]);
    for told in [&verified, &days] {
        for words in [
            "register of signers",
            "signers.jsonl: 3 lines, the last with sha256",
            "ledger: ",
            "ben (Ben Example (invented)), supervisor, created the register: ",
            "anna (Anna Example (invented)), technician: ",
        ] {
            assert!(told.output.contains(words), "{words}: {told:#?}");
        }
    }
    // As paper prints them.
    let fingerprint = after(&verified, "created the register: ").to_owned();
    let head = after(&verified, "ledger: ").rsplit(' ').next().unwrap_or_default().to_owned();
    let with = |arguments: &[&str]| place.run(&[&["verify", RECORD][..], arguments].concat());
    let same = with(&["--fingerprint", &fingerprint, "--head", &head]);
    assert_eq!(same.status, Some(0), "{same:#?}");
    for (arguments, told_of) in [
        (["--fingerprint", &"0".repeat(64)], "FAILS  fingerprint"),
        (["--head", &"0".repeat(64)], "FAILS  head"),
    ] {
        let other = with(&arguments);
        assert_eq!(other.status, Some(1), "{other:#?}");
        assert!(other.output.contains(told_of), "{other:#?}");
    }
}

/// A plant file and a register with own keys, laid nearer to the records.
#[test]
fn a_nearer_register_does_not_make_a_forged_day_verify() {
    let place = signed();
    let forged = Place::with_signers();
    forged.round();
    let nearer = place.path("march");
    assert!(std::fs::create_dir(&nearer).is_ok());
    for name in [RECORD, "2026-03-14.review.jsonl", "plant.toml", "signers.jsonl", "ledger.jsonl"] {
        assert!(std::fs::copy(forged.path(name), nearer.join(name)).is_ok(), "{name}");
    }
    let record = nearer.join(RECORD).display().to_string();
    let told = place.run(&["verify", &record]);
    assert_eq!(told.status, Some(1), "{told:#?}");
    assert!(
        told.output.contains("FAILS  register of signers: this is NOT the register"),
        "{told:#?}"
    );
    assert!(!told.output.contains("holds  signature"), "{told:#?}");
    let days = place.run(&["days", "."]);
    assert_eq!(days.status, Some(1), "{days:#?}");
    assert!(days.complaint.contains("NOT the register"), "{days:#?}");
    let refused = place.run(&[
        "review",
        "reopen",
        &record,
        "--by",
        "ben",
        "--reason",
        "x",
        "--passphrase-fd",
        "0",
    ]);
    assert_eq!(refused.status, Some(2), "{refused:#?}");
    // Who accepts it does so with the fingerprint, and only with that.
    let register = nearer.join("signers.jsonl").display().to_string();
    let listed = place.run(&["signer", "list", "--register", &register]);
    let fingerprint = listed.output.lines().nth(1).unwrap_or_default().trim().to_owned();
    let trust = |fingerprint: &str| {
        place.run(&["signer", "trust", "--register", &register, "--fingerprint", fingerprint])
    };
    assert_eq!(trust(&"0".repeat(64)).status, Some(2));
    assert_eq!(place.run(&["verify", &record]).status, Some(1));
    let accepted = trust(&fingerprint);
    assert_eq!(accepted.status, Some(0), "{accepted:#?}");
}

/// A plant file of one's own beside the right one: with two supervisors it takes both.
#[test]
fn limits_that_nobody_approved_are_not_signed() {
    let place = Place::with_signers();
    place.second_supervisor();
    let plant = String::from_utf8_lossy(&place.read("plant.toml")).into_owned();
    place.write("own.toml", &format!("{plant}\n# milder\n"));
    let own = ["--plant", "own.toml"];
    let approve =
        ["signer", "approve", "--plant", "own.toml", "--by", "ben", "--passphrase-fd", "0"];
    let waits = place.expect(0, &approve);
    assert!(waits.output.contains("line 5 waits for another supervisor"), "{waits:#?}");
    let listed = place.expect(0, &["signer", "list"]);
    assert!(listed.output.contains("ben wants to approve the plant file own.toml"), "{listed:#?}");
    let alone = ["signer", "second", "--line", "5", "--by", "ben", "--passphrase-fd", "0"];
    place.expect(2, &alone);
    place.expect(0, &place.settle(&[&["--all-open"][..], &own].concat()));
    let sign =
        ["review", "sign", RECORD, "--by", "anna", "--meaning", "reviewed", "--passphrase-fd", "0"];
    let told = place.expect(1, &[&["report", RECORD, "--format", "json"][..], &own].concat());
    assert!(told.output.contains("NOT APPROVED"), "{told:#?}");
    let verified = place.run(&[&["verify", RECORD][..], &own].concat());
    assert!(verified.output.contains("FAILS  plant file approval: NOT APPROVED"), "{verified:#?}");
    // All else is done, and still it can't be signed.
    for id in place.to_close_with(&own) {
        let close = ["review", "close", RECORD, "--by", "anna", "--reason", "looked into"];
        place.expect(0, &[&close[..], &["--observation", &id], &own].concat());
    }
    place.run(
        &[&["review", "acknowledge", RECORD, "--by", "anna", "--all-open"][..], &own].concat(),
    );
    let enter = ["review", "enter", RECORD, "--by", "anna", "--value", "none", "--entry"];
    place.expect(0, &[&enter[..], &["unusual circumstances"], &own].concat());
    let refused = place.expect(2, &[&sign[..], &own].concat());
    assert!(refused.complaint.contains("NOT APPROVED"), "{refused:#?}");
    place.expect(0, &["signer", "second", "--line", "5", "--by", "cleo", "--passphrase-fd", "0"]);
    // They count from now on: the audit is entered again.
    place.expect(2, &[&sign[..], &own].concat());
    place.expect(0, &[&["review", "re-audit", RECORD, "--by", "anna"][..], &own].concat());
    place.expect(0, &[&sign[..], &own].concat());
}

/// A supervisor's reopening is cut off, the journal is deleted, then the record as well.
#[test]
fn a_rolled_back_journal_is_neither_signed_nor_unread() {
    let place = signed();
    copy(&place, "2026-03-14.review.jsonl", "before");
    place.expect(0, &reopened_by("ben", "a lot was missing"));
    copy(&place, "before", "2026-03-14.review.jsonl");
    let told = place.verify();
    assert_eq!(told.status, Some(1), "{told:#?}");
    assert!(told.output.contains("FAILS  ledger: ") && told.output.contains("lines were cut off"));
    for gone in ["2026-03-14.review.jsonl", RECORD] {
        let days = place.expect(1, &["days", "."]);
        assert!(days.output.contains("changed since signing"), "{days:#?}");
        assert!(std::fs::remove_file(place.path(gone)).is_ok());
    }
    place.write("2026-03-15.csv", &tests::place::record("2026-03-15"));
    let days = place.expect(1, &["days", "."]);
    assert!(days.output.contains("neither the record nor its journal is there"), "{days:#?}");
}

/// Register and ledger are put back together, as a whole folder might be: they agree with each other,
/// and not with what this user has seen.
#[test]
fn a_folder_that_shows_less_than_before_is_told() {
    let place = signed();
    let names = ["signers.jsonl", "ledger.jsonl", "2026-03-14.review.jsonl"];
    for name in names {
        copy(&place, name, &format!("{name}.before"));
    }
    place.expect(0, &reopened_by("ben", "a lot was missing"));
    place.expect(
        0,
        &[
            "signer",
            "revoke",
            "--signer",
            "anna",
            "--reason",
            "left",
            "--by",
            "ben",
            "--passphrase-fd",
            "0",
        ],
    );
    place.expect(1, &["days", "."]);
    for name in names {
        copy(&place, &format!("{name}.before"), name);
    }
    let told = place.verify();
    assert_eq!(told.status, Some(1), "{told:#?}");
    assert!(told.output.contains("the register of signers showed more before"), "{told:#?}");
    assert!(told.output.contains("the ledger showed more before"), "{told:#?}");
    // Who never looked at it before can't know; paper can.
    let head = String::from_utf8_lossy(&place.read("ledger.jsonl")).lines().count();
    let new = as_somebody_new(&place, &["verify", RECORD]);
    assert_eq!((new.status, head), (Some(0), 5), "{new:#?}");
    let paper = as_somebody_new(&place, &["verify", RECORD, "--head", &"ab".repeat(32)]);
    assert_eq!(paper.status, Some(1), "{paper:#?}");
}

/// A folder from before there was a ledger: a supervisor takes stock.
#[test]
fn an_old_folder_gets_a_ledger_by_taking_stock() {
    let place = signed();
    assert!(std::fs::remove_file(place.path("ledger.jsonl")).is_ok());
    assert!(std::fs::remove_file(place.path("config/holdtrace/seen.json")).is_ok());
    let told = place.verify();
    assert_eq!(told.status, Some(1), "{told:#?}");
    assert!(told.output.contains("FAILS  ledger: there is no ledger"), "{told:#?}");
    let days = place.expect(1, &["days", "."]);
    assert!(days.output.contains("signed, not verifiable"), "{days:#?}");
    let stock = |by: &str| {
        place.run(&["ledger", "stock", "--by", by, "--reason", "begun", "--passphrase-fd", "0"])
    };
    assert_eq!(stock("anna").status, Some(2));
    let taken = stock("ben");
    assert_eq!(taken.status, Some(0), "{taken:#?}");
    assert!(taken.output.contains("1 journals are accepted as they are"), "{taken:#?}");
    let told = place.verify();
    assert_eq!(told.status, Some(0), "{told:#?}");
    place.expect(0, &["ledger", "show"]);
}

/// A name and no secret: nothing that weighs is entered.
#[test]
fn what_weighs_needs_the_passphrase_of_who_may() {
    let place = signed();
    let reopen = |by: &str| place.run(&reopened_by(by, "x"));
    let refused = reopen("anna");
    assert_eq!(refused.status, Some(2), "{refused:#?}");
    assert!(refused.complaint.contains("only a supervisor may do this"), "{refused:#?}");
    let mut command = place.command(&program());
    command.args(["review", "reopen", RECORD, "--by", "ben", "--reason", "x"]);
    command.args(["--passphrase-fd", "0"]).stdin(std::process::Stdio::null());
    match command.output() {
        Ok(output) => assert_eq!(output.status.code(), Some(2), "{output:?}"),
        Err(error) => panic!("{error}"),
    }
    // A wrong passphrase makes the next try wait a second.
    std::thread::sleep(std::time::Duration::from_millis(1100));
    let reopened = reopen("ben");
    assert_eq!(reopened.status, Some(0), "{reopened:#?}");
    assert!(Path::new(&place.path("ledger.jsonl")).exists());
}
