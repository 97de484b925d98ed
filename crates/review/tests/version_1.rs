//! A review that version 1 of the program wrote, signed and approved: it opens, what was signed is
//! told and not called signed any more, and it goes on with the new audit. `tests/fixtures` has the
//! files, with what that program printed of them.

use journal::{Body, Journal, Reading, Stamp, read};
use review::{
    AUDIT, Books, Decision, Desk, Error, Evidence, Holder, Kind, Meaning, Paths, Reviewed,
    SIGN_OFF, Scope, SignerId, Stage, State, Subject, verify,
};
use std::path::{Path, PathBuf};
use tests::good;
use trace::Instant;

fn fixture() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/fixtures/version-1-review")
}

fn journal() -> Reading {
    good(read(&fixture().join("2026-03-12.review.jsonl")))
}

/// Some days later.
const NOW: Instant = Instant::from_unix_milliseconds(1_773_900_000_000);

/// The books of that time: no ledger, and no plant file approved.
fn books() -> Books {
    Books::read(&fixture().join("signers.jsonl"))
}

fn evidence<'a>(
    reading: &'a Reading,
    books: &'a Books,
    fresh: Result<&'a Subject, String>,
) -> Evidence<'a> {
    let path = Path::new("2026-03-12.review.jsonl");
    Evidence::new((reading, path), books, fresh, None, NOW)
}

fn stage_of(reading: &Reading, fresh: Result<&Subject, String>) -> Stage {
    Reviewed::of(&evidence(reading, &books(), fresh)).stage
}

fn first(reading: &Reading) -> Subject {
    match State::replay(&reading.lines, None) {
        Ok(Some(state)) => state.subject().clone(),
        other => panic!("{other:?}"),
    }
}

/// The links about the register, the ledger and what is signed that version 1 knew nothing of.
const OF_BOOKS: [&str; 4] = ["register of signers", "ledger", "plant file approval", "line "];

fn body(decision: &Decision) -> Body {
    match serde_json::to_value(decision) {
        Ok(serde_json::Value::Object(body)) => body,
        other => panic!("{other:?}"),
    }
}

/// What there is to say of the audit that only the program of version 1 can do again.
const AUDIT_TOLD: &str = "FAILS  audit: done by version 1 of the method (holdtrace 0.1.0), this program follows version 3: \
     the result with sha256 570ced62d3846bca7c410748fdc7104a3faba8e7c17c52e10142e900bd15230b is that \
     program's and can't be worked out again here; enter the new audit (re-audit)";

/// What this program might find in the same bytes.
fn fresh() -> Subject {
    let mut fresh = Subject {
        method: 2,
        program: "holdtrace 99".to_owned(),
        audit: "ab".repeat(32),
        ..first(&journal())
    };
    fresh.exceptions.truncate(1);
    fresh
}

fn verdicts(reading: &Reading, fresh: Result<&Subject, String>) -> Vec<(bool, String)> {
    let found = verify(&evidence(reading, &books(), fresh));
    found.links.into_iter().map(|link| (link.holds, link.in_words())).collect()
}

#[test]
fn its_lines_are_read_and_written_as_they_stand() {
    let reading = journal();
    assert!(reading.fault.is_none() && reading.lines.len() == 14, "{:?}", reading.fault);
    for line in &reading.lines {
        match Decision::of(line.body()) {
            Ok((decision, _)) => {
                assert_eq!(&body(&decision), line.body(), "line {}", line.sequence());
            }
            Err(error) => panic!("line {}: {error}", line.sequence()),
        }
    }
    let subject = first(&reading);
    assert_eq!(subject.method, 1);
    assert!(subject.is_of_older_method());
}

#[test]
fn its_chain_and_signatures_hold_and_the_audit_says_that_the_method_changed() {
    let told = verdicts(&journal(), Ok(&fresh()));
    let told: Vec<String> = told
        .into_iter()
        .map(|(holds, text)| format!("{}  {text}", if holds { "holds" } else { "FAILS" }))
        .collect();
    // What version 1 printed of it, but for what the method changed, in the words of today.
    let before = std::fs::read_to_string(fixture().join("verify.txt")).unwrap_or_default();
    let before = before
        .replace("the whole day", "the whole record")
        .replace("standing signatures", "current signatures");
    let of_method = "; on an audit by version 1 of the method";
    let expected: Vec<String> = before
        .lines()
        .filter_map(|line| line.strip_prefix("  "))
        .filter(|line| !line.starts_with("last line"))
        .map(|line| match line.split_once(": ") {
            Some(("holds  audit", _)) => AUDIT_TOLD.to_owned(),
            Some(("holds  sign-off", _)) => {
                format!("{line}, as audited by version 1 of the method")
            }
            Some((what, _)) if what.starts_with("holds  signature") => {
                match line.split_once("; superseded") {
                    Some((given, superseded)) => {
                        format!("{given}{of_method}; superseded{superseded}")
                    }
                    None => format!("{line}{of_method}"),
                }
            }
            _ => line.to_owned(),
        })
        .collect();
    assert_eq!(expected.len(), 9);
    // What that time did not ask for is told beside it: it is for a supervisor to take stock.
    let (of_books, told): (Vec<String>, Vec<String>) = told.into_iter().partition(|text| {
        OF_BOOKS.iter().any(|what| text.get(7..).is_some_and(|text| text.starts_with(what)))
    });
    assert_eq!(told, expected);
    assert_eq!(of_books.len(), 6, "{of_books:#?}");
    assert!(of_books[0].starts_with("holds  register of signers"), "{}", of_books[0]);
    assert!(of_books[1..].iter().all(|text| text.starts_with("FAILS")), "{of_books:#?}");
    let (journal, books, fresh) = (journal(), books(), fresh());
    let reviewed = Reviewed::of(&evidence(&journal, &books, Ok(&fresh)));
    assert_eq!(reviewed.stage, Stage::MethodChanged, "neither signed nor changed since");
    assert!(!reviewed.verification.holds() && !reviewed.verification.is_intact());
    assert_eq!(reviewed.verification.other_method, Some(1));
}

/// The change of the method excuses nothing else.
#[test]
fn what_was_changed_beside_the_method_is_seen() {
    let stage = stage_of;
    let failing = |fresh: Result<&Subject, String>| -> Vec<String> {
        let links = verify(&evidence(&journal(), &books(), fresh)).links;
        let failing = links.into_iter().filter(|link| !link.holds);
        // What that time did not know yet is told apart.
        let of_books = [Kind::Ledger, Kind::Approval, Kind::Unsigned];
        let failing = failing.filter(|link| !of_books.contains(&link.kind));
        failing.map(|link| link.what).collect()
    };
    let mut source = fresh();
    source.sources[0].sha256 = "ef".repeat(32);
    let mut plant_file = fresh();
    plant_file.plant_file = None;
    let unit = Subject { unit: "HTST-2".to_owned(), ..fresh() };
    let person = Subject { same_person_may_approve: true, ..fresh() };
    for (what, changed) in [
        ("file 2026-03-12.csv", source),
        ("plant file", plant_file),
        ("record", unit),
        ("record", person),
    ] {
        assert_eq!(failing(Ok(&changed)), [what, AUDIT]);
        assert_eq!(stage(&journal(), Ok(&changed)), Stage::ChangedSinceSigning, "{what}");
    }
    let unreadable = || Err("plant.toml: line 3: the gap limit is beyond its bound".to_owned());
    assert_eq!(failing(unreadable()), ["files", AUDIT]);
    assert_eq!(stage(&journal(), unreadable()), Stage::ChangedSinceSigning);
    // A signed line that says something else.
    let path = fixture().join("2026-03-12.review.jsonl");
    let text = std::fs::read_to_string(path).unwrap_or_default();
    let changed = journal::replay(text.replacen("Ben Example", "Bob Example", 1).as_bytes());
    assert_eq!(stage(&changed, Ok(&fresh())), Stage::ChangedSinceSigning);
}

#[test]
fn it_goes_on_with_the_new_audit_and_nothing_signed_is_lost() {
    let Ok(folder) = tempfile::tempdir() else { panic!("a folder") };
    for name in ["2026-03-12.csv", "2026-03-12.review.jsonl", "plant.toml", "signers.jsonl"] {
        assert!(std::fs::copy(fixture().join(name), folder.path().join(name)).is_ok(), "{name}");
    }
    let paths = Paths::of(&folder.path().join("2026-03-12.csv"), None);
    let path = paths.journal.clone();
    let register = paths.register.clone();
    let books = move || Books::read(&register);
    let opened = Desk::open(paths, books, fresh(), Holder("anna".to_owned()), NOW);
    let Ok((mut desk, None)) = opened else { panic!("{opened:?}") };
    let changes = desk.changes().to_vec();
    assert_eq!(changes.len(), 1, "{changes:?}");
    assert!(changes[0].contains("version 1 of the method"), "{changes:?}");
    let (Ok(anna), Ok(at)) =
        ("anna".parse::<SignerId>(), "2026-03-16T08:00:00.000-05:00".parse::<Stamp>())
    else {
        panic!("a person and a time")
    };
    let reopen = Decision::Reopened { scope: Scope::DAY, reason: "why not".to_owned() };
    let refused = desk.decide(&anna, at, &reopen);
    assert!(matches!(refused, Err(Error::NeedsKey { .. })), "{refused:?}");
    let close = Decision::Acknowledged { observation: "any".to_owned(), note: String::new() };
    let refused = desk.decide(&anna, at, &close);
    assert!(matches!(refused, Err(Error::Changed { .. })), "{refused:?}");
    let before = std::fs::read(&path).unwrap_or_default();
    good(desk.re_audit(&anna, at));
    assert!(desk.changes().is_empty());
    let after = std::fs::read(&path).unwrap_or_default();
    assert!(after.starts_with(&before) && after.len() > before.len(), "lines are only added");
    let state = desk.state();
    assert_eq!((state.subject().method, state.signatures().len()), (2, 3));
    assert!(state.signatures().iter().all(|one| !one.stands() && one.method == 1));
    assert!(!state.is_signed(Meaning::Reviewed, &Scope::DAY));
    assert_eq!(state.progress().exceptions, (1, 1), "the same exception is still resolved");
    drop(desk);
    let Ok((reopened, None)) = Journal::open(&path) else { panic!("a whole journal") };
    drop(reopened);
    let Ok(reading) = read(&path) else { panic!("a journal") };
    let told = verdicts(&reading, Ok(&fresh()));
    let failing = told.iter().filter(|(holds, _)| !holds).map(|(_, text)| text);
    let of_books = |text: &&String| OF_BOOKS.iter().any(|what| text.starts_with(what));
    let failing: Vec<_> = failing.filter(|text| !of_books(text)).collect();
    assert_eq!(failing, [&format!("{SIGN_OFF}: no current signatures cover the whole record")]);
    let given: Vec<_> = told.iter().filter(|(_, text)| text.starts_with("signature")).collect();
    assert_eq!(given.len(), 3);
    for (holds, text) in given {
        assert!(*holds && text.contains("on an audit by version 1 of the method"), "{text}");
        assert!(text.contains("superseded by line 1"), "{text}");
    }
    assert_eq!(stage_of(&reading, Ok(&fresh())), Stage::BeingReviewed);
}

/// A journal of a program that follows a newer method than this one is not taken back.
#[test]
fn a_newer_method_asks_for_its_program() {
    let mut reading = journal();
    let newer = Subject { method: 3, ..fresh() };
    let Some(first) = reading.lines.first().cloned() else { panic!("a first line") };
    let entry = journal::Entry {
        at: first.at(),
        by: first.by().to_owned(),
        body: body(&Decision::Opened { subject: newer }),
    };
    let Ok(folder) = tempfile::tempdir() else { panic!("a folder") };
    let path = folder.path().join("2026-03-12.review.jsonl");
    let Ok((mut file, None)) = Journal::open(&path) else { panic!("a journal") };
    assert!(file.append(entry, None).is_ok());
    drop(file);
    match read(&path) {
        Ok(read) => reading = read,
        Err(error) => panic!("{error}"),
    }
    let told = verdicts(&reading, Ok(&fresh()));
    let audit: Vec<_> = told.iter().filter(|(_, text)| text.starts_with(AUDIT)).collect();
    assert!(audit[0].1.ends_with("use that program or a newer one"), "{audit:?}");
    assert!(!audit[0].0);
    assert_eq!(stage_of(&reading, Ok(&fresh())), Stage::BeingReviewed);
}
