//! A review on disk, with real keys: from unread to signed, and every change seen afterwards.

use journal::{Entry, Journal, Stamp, replay};
use review::{
    ClosingItem, Decision, Error, Evidence, Holder, Meaning, Scope, Settlement, Standing, Subject,
    Verification, verify,
};
use signers::Role;
use std::path::Path;
use tests::good;
use tests::people::{NOW, enrolment, id, minutes_after, new_key};
use tests::site::{self, Site, exception};

fn stamp(minutes: i64) -> Stamp {
    minutes_after(1_773_486_000_000, minutes)
}

fn subject() -> Subject {
    Subject {
        end: "2026-03-14T05:30:00.000-05:00".to_owned(),
        shifts: vec!["early".to_owned(), "late".to_owned()],
        exceptions: vec![exception("a1", "early"), exception("b2", "late")],
        ..site::subject()
    }
}

fn plant() -> Site {
    Site::new([stamp(-20), stamp(-10)])
}

fn settle(exception: &str) -> Decision {
    Decision::Settled(Settlement {
        exception: exception.to_owned(),
        cause: "steam valve stuck".to_owned(),
        action: "valve freed, product re-run".to_owned(),
        disposition: "re_pasteurized".to_owned(),
        quantity: "140 gal".to_owned(),
        lot: "L-1".to_owned(),
        ..Settlement::default()
    })
}

/// Settles everything and signs twice; the desk is closed again.
fn signed(plant: &Site) {
    let mut desk = plant.open(subject(), "anna");
    for (minutes, exception) in ["a1", "b2"].into_iter().enumerate() {
        good(desk.decide(&id("anna"), stamp(minutes as i64), &settle(exception)));
    }
    good(plant.sign(&mut desk, [stamp(3), stamp(4)]));
}

fn bytes(path: &Path) -> Vec<u8> {
    good(std::fs::read(path))
}

fn check(plant: &Site, journal: &[u8], fresh: &Subject) -> Verification {
    let (books, reading, path) = (plant.books(), replay(journal), plant.journal());
    verify(&Evidence::new((&reading, &path), &books, Ok(fresh), None, NOW))
}

fn failing(found: &Verification) -> Vec<&str> {
    found.links.iter().filter(|link| !link.holds).map(|link| link.what.as_str()).collect()
}

#[test]
fn a_signed_record_holds_link_by_link() {
    let plant = plant();
    signed(&plant);
    let found = check(&plant, &bytes(&plant.journal()), &subject());
    assert!(found.holds(), "{found:#?}");
    let what: Vec<&str> = found.links.iter().map(|link| link.what.as_str()).collect();
    let links = [
        "chain",
        "rules",
        "register of signers",
        "ledger",
        "file 2026-03-14.csv",
        "plant file",
        "audit",
        "signature, line 4",
        "signature, line 5",
        "sign-off",
    ];
    assert_eq!(what, links);
    assert_eq!(
        found.links[8].found,
        "approved, the whole record, by Ben Example (invented) (supervisor), \
         2026-03-14T06:04:00.000-05:00"
    );
}

/// Exhaustively: no bit of the journal can be flipped unseen, those of the last signature included.
#[test]
fn every_flipped_bit_of_a_signed_journal_is_seen() {
    let plant = plant();
    signed(&plant);
    let path = plant.journal();
    let original = bytes(&path);
    let books = plant.books();
    let fresh = subject();
    for place in 0..original.len() {
        for bit in 0..8 {
            let mut changed = original.clone();
            changed[place] ^= 1 << bit;
            // A broken chain fails the verification; what leaves the chain whole is checked through.
            let reading = replay(&changed);
            let journal = (&reading, path.as_path());
            let seen = reading.fault.is_some()
                || !verify(&Evidence::new(journal, &books, Ok(&fresh), None, NOW)).holds();
            assert!(seen, "bit {bit} of byte {place}");
        }
    }
}

#[test]
fn a_changed_source_plant_file_or_audit_is_seen() {
    let plant = plant();
    signed(&plant);
    let journal = bytes(&plant.journal());
    let mut source = subject();
    source.sources[0].sha256 = "ef".repeat(32);
    let mut gone = subject();
    gone.sources.clear();
    let mut audit = subject();
    audit.audit = "01".repeat(32);
    let mut lists = subject();
    lists.exceptions.pop();
    let mut to_close = subject();
    to_close.to_close.push(ClosingItem {
        id: "e5".to_owned(),
        kind: "leak_detected".to_owned(),
        start: None,
        end: None,
        shifts: Vec::new(),
        count: 1,
    });
    for (what, fresh) in [
        ("file 2026-03-14.csv", source),
        ("file 2026-03-14.csv", gone),
        ("audit", audit),
        ("audit", lists),
        ("audit", to_close),
    ] {
        let found = check(&plant, &journal, &fresh);
        assert_eq!(failing(&found), [what]);
    }
    let newer = Subject { program: "holdtrace 99".to_owned(), ..subject() };
    assert!(check(&plant, &journal, &newer).holds());
}

/// A signature can't be moved under another record's journal, nor to another place.
#[test]
fn a_signature_can_not_be_transferred() {
    let one = plant();
    signed(&one);
    let journal = String::from_utf8(bytes(&one.journal())).unwrap_or_default();
    let lines: Vec<&str> = journal.lines().collect();
    let signature = lines[3].rsplit('"').nth(1).unwrap_or_default();
    let other = lines[4].rsplit('"').nth(1).unwrap_or_default();
    assert_eq!(signature.len(), 128, "a line ends with its signature");
    let moved = journal.replacen(other, signature, 1);
    assert!(!check(&one, moved.as_bytes(), &subject()).holds());
    // Another record with the same entries: the first line differs, so nothing fits.
    let mut elsewhere = subject();
    elsewhere.unit = "HTST-2".to_owned();
    assert!(!check(&one, journal.as_bytes(), &elsewhere).holds());
}

/// A genuine signature under somebody else's name, or in another role: the key fits, the print does
/// not.
#[test]
fn a_signature_under_another_name_or_role_fails() {
    for (member, wrong, line) in [("name", "Cleo Example (invented)", 5), ("role", "supervisor", 4)]
    {
        let plant = plant();
        signed(&plant);
        let path = plant.journal();
        let lines = replay(&bytes(&path)).lines;
        let Some(last) = lines.get(line - 1) else { panic!("five lines") };
        let key = if last.by() == "ben" { &plant.ben } else { &plant.anna };
        let mut body = last.body().clone();
        assert!(body.insert(member.to_owned(), wrong.into()).is_some(), "{body:?}");
        let text = String::from_utf8(bytes(&path)).unwrap_or_default();
        let kept = text.lines().take(line - 1).map(|line| format!("{line}\n"));
        assert!(std::fs::write(&path, kept.collect::<String>()).is_ok());
        let Ok((mut journal, None)) = Journal::open(&path) else { panic!("a whole journal") };
        let entry = Entry { at: last.at(), by: last.by().to_owned(), body };
        good(journal.append(entry, Some(&|bytes| key.sign(bytes))));

        let found = check(&plant, &bytes(&path), &subject());
        let failing = failing(&found);
        assert!(failing.contains(&format!("signature, line {line}").as_str()), "{found:#?}");
        assert!(!failing.contains(&"rules") && !found.is_intact(), "{found:#?}");
    }
}

/// Entries are not signed, so whoever made one has to have been enrolled, and not revoked, then.
#[test]
fn an_entry_of_somebody_revoked_before_fails() {
    let mut plant = plant();
    let mut desk = plant.open(subject(), "anna");
    assert!(desk.decide(&id("anna"), stamp(5), &settle("a1")).is_ok());
    assert!(desk.decide(&id("anna"), stamp(7), &settle("b2")).is_ok());
    drop(desk);
    assert!(plant.file.revoke(&id("anna"), "left the plant", &plant.ben, stamp(6)).is_ok());
    let found = check(&plant, &bytes(&plant.journal()), &subject());
    let failing = failing(&found);
    assert_eq!(failing, ["line 3", "sign-off"], "{found:#?}");
}

#[test]
fn a_revoked_signer_fails_later_and_holds_earlier() {
    let mut plant = plant();
    signed(&plant);
    let cleo = new_key(plant.folder.path(), "cleo");
    let enrolment = enrolment(&cleo, "Cleo Example (invented)", Role::Supervisor);
    assert!(plant.file.enrol(enrolment, &plant.ben, stamp(5)).is_ok());
    assert!(plant.file.revoke(&id("ben"), "left the plant", &cleo, stamp(6)).is_ok());
    let found = check(&plant, &bytes(&plant.journal()), &subject());
    assert!(found.holds(), "an earlier signature holds: {found:#?}");
    let mut desk = plant.open(subject(), "ben");
    let reopen = Decision::Reopened { scope: Scope::DAY, reason: "a lot was missing".to_owned() };
    assert!(matches!(desk.decide(&id("ben"), stamp(7), &reopen), Err(Error::NotEntitled { .. })));
    assert!(matches!(desk.decide(&id("cleo"), stamp(7), &reopen), Err(Error::NeedsKey { .. })));
    good(desk.decide_signed(&cleo, stamp(7), &reopen));
    let signed = desk.sign(&plant.ben, stamp(8), Meaning::Reviewed, &Scope::DAY);
    assert!(matches!(signed, Err(Error::NotEntitled { .. })), "{signed:?}");
}

#[test]
fn who_is_at_work_is_told_to_others() {
    let plant = plant();
    let mut anna = plant.open(subject(), "Anna at QA-1");
    let mut ben = plant.open(subject(), "Ben at OFFICE");
    assert!(anna.decide(&id("anna"), stamp(0), &settle("a1")).is_ok());
    let refused = ben.decide(&id("ben"), stamp(1), &settle("b2"));
    let Err(Error::Held { by }) = refused else { panic!("{refused:?}") };
    assert_eq!(by, Holder("Anna at QA-1".to_owned()));
    drop(anna);
    // The chain has moved on since Ben opened it: he sees it before he adds to it.
    let refused = ben.decide(&id("ben"), stamp(1), &settle("a1"));
    assert!(matches!(refused, Err(Error::MovedOn)), "{refused:?}");
    assert!(matches!(ben.state().exception("a1"), Standing::Settled { .. }));
    assert!(ben.decide(&id("ben"), stamp(1), &settle("b2")).is_ok());
    assert_eq!(ben.lines().len(), 3);
}

#[test]
fn a_record_that_changed_is_not_gone_on_with_in_silence() {
    let plant = plant();
    let mut desk = plant.open(subject(), "anna");
    assert!(desk.decide(&id("anna"), stamp(0), &settle("a1")).is_ok());
    drop(desk);
    let mut changed = subject();
    changed.sources[0].sha256 = "ef".repeat(32);
    changed.audit = "01".repeat(32);
    let mut desk = plant.open(changed, "anna");
    assert_eq!(desk.changes().len(), 2, "{:?}", desk.changes());
    let refused = desk.decide(&id("anna"), stamp(1), &settle("b2"));
    assert!(matches!(refused, Err(Error::Changed { .. })), "{refused:?}");
    assert!(desk.re_audit(&id("anna"), stamp(1)).is_ok());
    assert!(desk.changes().is_empty());
    assert!(matches!(desk.state().exception("a1"), Standing::Settled { .. }));
    assert!(desk.decide(&id("anna"), stamp(2), &settle("b2")).is_ok());
}

#[test]
fn nobody_unknown_decides_and_no_technician_approves_or_sends_back() {
    let plant = plant();
    let mut desk = plant.open(subject(), "anna");
    let unknown = desk.decide(&id("dora"), stamp(0), &settle("a1"));
    assert!(matches!(unknown, Err(Error::NotEntitled { .. })), "{unknown:?}");
    assert!(!plant.journal().exists(), "nothing was written");
    for exception in ["a1", "b2"] {
        assert!(desk.decide(&id("anna"), stamp(0), &settle(exception)).is_ok());
    }
    let back = Decision::SentBack { exception: "a1".to_owned(), remark: "why?".to_owned() };
    let refused = desk.decide(&id("anna"), stamp(1), &back);
    assert!(matches!(refused, Err(Error::NeedsKey { .. })), "{refused:?}");
    let refused = desk.decide_signed(&plant.anna, stamp(1), &back);
    assert!(matches!(refused, Err(Error::NotEntitled { .. })), "{refused:?}");
    let refused = desk.sign(&plant.anna, stamp(1), Meaning::Approved, &Scope::DAY);
    assert!(matches!(refused, Err(Error::NotEntitled { .. })), "{refused:?}");
    assert_eq!(desk.lines().len(), 3);
}
