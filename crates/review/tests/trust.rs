//! What is shown is what holds, and who decides what counts: a review that was forged, rolled back,
//! audited with limits that nobody approved, dated before it happened, or entered in somebody's name.

use journal::{Digest, Entry, Journal, Signature, Stamp};
use review::{
    Books, Decision, Desk, Error, Holder, Kind, Meaning, PlantSource, Reviewed, Scope, Settlement,
    Stage, Subject, Together,
};
use signers::{LedgerFile, Role, Stood};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use tests::good;
use tests::people::{NOW, enrolment, id, minutes_after, new_key};
use tests::site::{self, Site, exception};

/// Minutes after the record ends.
fn stamp(minutes: i64) -> Stamp {
    minutes_after(1_773_543_600_000, minutes)
}

fn plant_file() -> String {
    Digest::of(b"the plant file").to_string()
}

fn subject() -> Subject {
    Subject {
        plant_file: Some(PlantSource { name: "plant.toml".to_owned(), sha256: plant_file() }),
        shifts: vec!["early".to_owned()],
        exceptions: vec![exception("a1", "early")],
        ..site::subject()
    }
}

fn settled(disposition: &str) -> Decision {
    Decision::Settled(Settlement {
        exception: "a1".to_owned(),
        cause: "steam valve stuck".to_owned(),
        action: "valve freed".to_owned(),
        disposition: disposition.to_owned(),
        disposition_reason: "tested".to_owned(),
        hold_tag: if disposition == "held" { "H1".to_owned() } else { String::new() },
        ..Settlement::default()
    })
}

/// A plant whose supervisor Ben has enrolled the technician Anna and approved the plant file.
fn plant() -> Site {
    let mut plant = plant_without_approval();
    let approved =
        plant.file.approve_plant_file("plant.toml", &plant_file(), &plant.ben, stamp(-5));
    assert!(approved.is_ok(), "{approved:?}");
    plant
}

fn plant_without_approval() -> Site {
    Site::new([stamp(-20), stamp(-10)])
}

fn open(plant: &Site) -> Desk {
    plant.open(subject(), "somebody")
}

fn found(plant: &Site) -> Reviewed {
    plant.reviewed(&subject(), None)
}

fn fails(plant: &Site) -> Vec<(Kind, String)> {
    let links = found(plant).verification.links;
    let failing = links.into_iter().filter(|link| !link.holds);
    failing.map(|link| (link.kind, link.in_words())).collect()
}

fn sign(plant: &Site, desk: &mut Desk, minutes: i64) {
    let signed = plant.sign(desk, [stamp(minutes), stamp(minutes + 1)]);
    assert!(signed.is_ok(), "{signed:?}");
}

/// Resolved and signed twice.
fn signed(plant: &Site) {
    let mut desk = open(plant);
    assert!(desk.decide(&id("anna"), stamp(0), &settled("held")).is_ok());
    sign(plant, &mut desk, 1);
    assert_eq!(desk.stage(), Stage::Signed);
    assert_eq!(found(plant).stage, Stage::Signed);
}

/// Appends a line to the journal as no program of ours would.
fn forge(plant: &Site, by: &str, at: Stamp, decision: &Decision, signature: Option<[u8; 64]>) {
    let Ok((mut journal, None)) = Journal::open(&plant.journal()) else { panic!("a journal") };
    let Ok(serde_json::Value::Object(mut body)) = serde_json::to_value(decision) else {
        panic!("a body")
    };
    let register = plant.file.register().head().to_string();
    if signature.is_some() && !body.contains_key("register") {
        body.insert("register".to_owned(), register.into());
    }
    let entry = Entry { at, by: by.to_owned(), body };
    let sign = |_: &[u8]| Signature(signature.unwrap_or([0; 64]));
    good(journal.append(entry, if signature.is_some() { Some(&sign) } else { None }));
}

fn signature_of(plant: &Site, meaning: Meaning, name: &str, role: Role) -> Decision {
    let register = plant.file.register().head().to_string();
    Decision::Signed { meaning, scope: Scope::DAY, name: name.to_owned(), role, register }
}
fn not_relied_on(made: Result<(), Error>) -> String {
    match made {
        Err(Error::NotReliedOn { why }) => why.join("; "),
        other => panic!("{other:?}"),
    }
}

/// The right chain, no key: 64 bytes of 0xab.
#[test]
fn a_forged_signature_covers_nothing_and_nobody_approves_on_top_of_it() {
    let plant = plant();
    let mut desk = open(&plant);
    assert!(desk.decide(&id("anna"), stamp(0), &settled("held")).is_ok());
    drop(desk);
    let forged =
        signature_of(&plant, Meaning::Reviewed, "Anna Example (invented)", Role::Technician);
    forge(&plant, "anna", stamp(1), &forged, Some([0xab; 64]));
    let mut desk = open(&plant);
    let [signed] = desk.state().signatures() else { panic!("{:?}", desk.state().signatures()) };
    assert!(!signed.stands() && signed.is_current(), "{signed:?}");
    assert!(!desk.state().is_signed(Meaning::Reviewed, &Scope::DAY));
    assert_eq!(desk.state().covered_at(Meaning::Reviewed), None);
    assert_eq!(desk.stage(), Stage::ChangedSinceSigning);
    let why = not_relied_on(desk.sign(&plant.ben, stamp(2), Meaning::Approved, &Scope::DAY));
    assert!(why.contains("signature, line 3") && why.contains("the key is not the one"), "{why}");
    not_relied_on(desk.decide(&id("anna"), stamp(2), &settled("destroyed")));
    // Approved in the same way: no link about it holds, sign-off included.
    let forged =
        signature_of(&plant, Meaning::Approved, "Ben Example (invented)", Role::Supervisor);
    forge(&plant, "ben", stamp(3), &forged, Some([0xab; 64]));
    let failing: Vec<Kind> = fails(&plant).into_iter().map(|(kind, _)| kind).collect();
    assert_eq!(failing, [Kind::Ledger, Kind::Signature, Kind::Signature, Kind::SignOff]);
    assert_eq!(found(&plant).stage, Stage::ChangedSinceSigning);
}

#[test]
fn without_the_register_no_signature_holds_and_nothing_is_added() {
    let plant = plant();
    signed(&plant);
    assert!(std::fs::remove_file(plant.paths().register).is_ok());
    let mut desk = open(&plant);
    assert_eq!(desk.stage(), Stage::ChangedSinceSigning);
    assert!(desk.state().signatures().iter().all(|signed| !signed.stands()));
    let links = &desk.verification().links;
    let told = links.iter().find(|link| link.kind == Kind::Register);
    assert!(told.is_some_and(|link| !link.holds && link.found.contains("no register")), "{told:?}");
    let refused = desk.decide(&id("anna"), stamp(9), &settled("held"));
    assert!(matches!(refused, Err(Error::NotEntitled { .. })), "{refused:?}");
}

/// The last line of the journal, a supervisor's reopening, is cut off; then the whole journal is gone.
#[test]
fn a_journal_that_was_rolled_back_is_not_signed() {
    let plant = plant();
    signed(&plant);
    let before = std::fs::read(plant.journal()).unwrap_or_default();
    let mut desk = open(&plant);
    let reopened = Decision::Reopened { scope: Scope::DAY, reason: "a lot was missing".to_owned() };
    assert!(desk.decide_signed(&plant.ben, stamp(5), &reopened).is_ok());
    drop(desk);
    assert_eq!(found(&plant).stage, Stage::BeingReviewed);
    assert!(std::fs::write(plant.journal(), &before).is_ok());
    assert_eq!(found(&plant).stage, Stage::ChangedSinceSigning);
    let failing = fails(&plant);
    assert!(
        matches!(failing.as_slice(), [(Kind::Ledger, why)] if why.contains("cut off")),
        "{failing:?}"
    );
    not_relied_on(open(&plant).sign(&plant.ben, stamp(6), Meaning::Approved, &Scope::DAY));
    assert!(std::fs::remove_file(plant.journal()).is_ok());
    assert_eq!(found(&plant).stage, Stage::ChangedSinceSigning, "not unread");
    let mut desk = open(&plant);
    let why = not_relied_on(desk.decide(&id("anna"), stamp(6), &settled("held")));
    assert!(why.contains("lines were cut off"), "{why}");
    assert!(!plant.journal().exists(), "no journal is begun anew behind the ledger");
    // A supervisor who has seen it accepts what came from the backup.
    assert!(std::fs::write(plant.journal(), &before).is_ok());
    let lines = journal::read(&plant.journal()).map(|reading| reading.lines).unwrap_or_default();
    let Some(last) = lines.last() else { panic!("lines") };
    let stood = Stood {
        journal: "2026-03-14.review.jsonl".to_owned(),
        lines: lines.len() as u64,
        head: last.digest().to_string(),
        plant_file: Some(plant_file()),
    };
    let register = plant.file.register();
    let ledger = LedgerFile::open(&LedgerFile::beside(&plant.paths().register), register);
    let Ok(mut ledger) = ledger else { panic!("{ledger:?}") };
    let stock = ("from the backup", vec![stood]);
    assert!(ledger.take_stock(stock, register, &plant.ben, stamp(7)).is_ok());
    assert_eq!(found(&plant).stage, Stage::Signed);
}

/// The program is stopped between journal and ledger; the next signature mends it.
#[test]
fn a_signature_that_the_ledger_lacks_is_told_and_mended_by_the_next() {
    let plant = plant();
    let mut desk = open(&plant);
    assert!(desk.decide(&id("anna"), stamp(0), &settled("held")).is_ok());
    let ledger = LedgerFile::beside(&plant.paths().register);
    let before = std::fs::read(&ledger).unwrap_or_default();
    good(desk.sign(&plant.anna, stamp(1), Meaning::Reviewed, &Scope::DAY));
    drop(desk);
    assert!(std::fs::write(&ledger, before).is_ok());
    let failing = fails(&plant);
    let [(Kind::Ledger, why), (Kind::SignOff, _)] = failing.as_slice() else {
        panic!("{failing:?}")
    };
    assert!(why.contains("does not know the signature of line 3"), "{why}");
    assert_eq!(found(&plant).stage, Stage::Unproven);
    good(open(&plant).sign(&plant.ben, stamp(2), Meaning::Approved, &Scope::DAY));
    assert_eq!(fails(&plant), []);
    assert_eq!(found(&plant).stage, Stage::Signed);
}

#[test]
fn limits_that_nobody_approved_are_not_signed_and_fail_verification() {
    let mut plant = plant_without_approval();
    let unapproved = found(&plant).unapproved;
    assert!(unapproved.is_some_and(|why| why.contains("NOT APPROVED")), "with no journal yet");
    let mut desk = open(&plant);
    assert!(desk.decide(&id("anna"), stamp(0), &settled("held")).is_ok());
    let refused = desk.sign(&plant.anna, stamp(1), Meaning::Reviewed, &Scope::DAY);
    let Err(Error::Refused(why)) = refused else { panic!("{refused:?}") };
    assert!(why.to_string().contains("NOT APPROVED"), "{why}");
    assert!(desk.can_be_signed(Meaning::Reviewed, &Scope::DAY, &id("anna")).is_err());
    assert_eq!(fails(&plant)[0].0, Kind::Approval);
    // Approved later: the audit is entered again, under limits that count.
    let approved = plant.file.approve_plant_file("plant.toml", &plant_file(), &plant.ben, stamp(2));
    assert!(approved.is_ok());
    assert!(desk.reload(NOW).is_ok());
    let refused = desk.sign(&plant.anna, stamp(3), Meaning::Reviewed, &Scope::DAY);
    assert!(matches!(refused, Err(Error::Refused(_))), "{refused:?}");
    assert!(desk.re_audit(&id("anna"), stamp(4)).is_ok());
    assert!(matches!(desk.state().exception("a1"), review::Standing::Settled { .. }));
    sign(&plant, &mut desk, 5);
    drop(desk);
    assert_eq!(fails(&plant), []);
    assert_eq!(found(&plant).unapproved, None);
    // Withdrawn afterwards: what was signed under it stays signed.
    let withdrawn =
        plant.file.withdraw_plant_file(&plant_file(), "a new tube", &plant.ben, stamp(8));
    assert!(withdrawn.is_ok());
    assert_eq!(found(&plant).stage, Stage::Signed);
}

/// The signature is the journal's first decision, so that no line entered the audit before it.
#[test]
fn a_day_with_nothing_to_resolve_is_not_signed_under_limits_that_nobody_approved() {
    let plant = plant_without_approval();
    let mut desk = plant.open(Subject { exceptions: Vec::new(), ..subject() }, "somebody");
    assert!(desk.can_be_signed(Meaning::Reviewed, &Scope::DAY, &id("anna")).is_err());
    let refused = desk.sign(&plant.anna, stamp(1), Meaning::Reviewed, &Scope::DAY);
    assert!(matches!(refused, Err(Error::Refused(_))), "{refused:?}");
    assert!(!plant.journal().exists());
}

/// The plant file is taken away, so that the plant is assumed, although a supervisor approved one.
#[test]
fn an_assumed_plant_does_not_get_round_the_approved_limits() {
    let plant = plant();
    let assumed = Subject { plant_file: None, exceptions: Vec::new(), ..subject() };
    let mut desk = plant.open(assumed, "somebody");
    let refused = desk.sign(&plant.anna, stamp(1), Meaning::Reviewed, &Scope::DAY);
    let Err(Error::Refused(why)) = refused else { panic!("{refused:?}") };
    assert!(why.to_string().contains("no plant file was used"), "{why}");
}

/// The folder is put back while the record is open: the books are compared again before anything is signed.
#[test]
fn an_alarm_since_the_record_was_opened_keeps_the_signature_out() {
    let plant = plant();
    let (path, alarm) = (plant.paths().register, Arc::new(AtomicBool::new(false)));
    let sounds = alarm.clone();
    let books = move || {
        let mut books = Books::read(&path);
        if sounds.load(Ordering::Relaxed) {
            books.alarms.push("the ledger showed more before".to_owned());
        }
        books
    };
    let opened = Desk::open(plant.paths(), books, subject(), Holder("anna".to_owned()), NOW);
    let Ok((mut desk, None)) = opened else { panic!("{opened:?}") };
    assert!(desk.decide(&id("anna"), stamp(0), &settled("held")).is_ok());
    alarm.store(true, Ordering::Relaxed);
    let why = not_relied_on(desk.sign(&plant.anna, stamp(1), Meaning::Reviewed, &Scope::DAY));
    assert!(why.contains("the ledger showed more before"), "{why}");
    assert_eq!(desk.lines().len(), 2);
}

/// Release, return and reopening prove who made them; a name alone does not.
#[test]
fn what_weighs_is_signed() {
    let plant = plant();
    let mut desk = open(&plant);
    for disposition in ["released", "Released to the customer"] {
        let by_name = desk.decide(&id("anna"), stamp(0), &settled(disposition));
        assert!(matches!(by_name, Err(Error::NeedsKey { .. })), "{disposition}: {by_name:?}");
    }
    let together = Decision::SettledTogether(Together {
        of: review::Bundle::Episode(1),
        exceptions: vec!["a1".to_owned()],
        cause: "x".to_owned(),
        action: "y".to_owned(),
        disposition: "released".to_owned(),
        disposition_reason: "tested".to_owned(),
        quantity: String::new(),
        lot: String::new(),
        correction: None,
        hold_tag: String::new(),
        tank: String::new(),
        note: String::new(),
    });
    let by_name = desk.decide(&id("anna"), stamp(0), &together);
    assert!(matches!(by_name, Err(Error::NeedsKey { .. })), "{by_name:?}");
    good(desk.decide_signed(&plant.anna, stamp(1), &settled("released")));
    sign(&plant, &mut desk, 2);
    drop(desk);
    assert_eq!(fails(&plant), []);
    let Ok(lines) = journal::read(&plant.journal()) else { panic!("a journal") };
    assert!(lines.lines[1].signature().is_some());
}

/// A technician reopens an approved day with a name and no secret; the line is there, in a right chain.
#[test]
fn an_unsigned_reopening_is_seen() {
    let plant = plant();
    signed(&plant);
    let reopened = Decision::Reopened { scope: Scope::DAY, reason: "why not".to_owned() };
    forge(&plant, "ben", stamp(5), &reopened, None);
    let failing = fails(&plant);
    let kinds: Vec<Kind> = failing.iter().map(|(kind, _)| *kind).collect();
    assert_eq!(kinds, [Kind::Unsigned, Kind::SignOff], "{failing:?}");
    assert!(failing[0].1.contains("ben made it without a signature"), "{failing:?}");
    assert_eq!(found(&plant).stage, Stage::ChangedSinceSigning);
    let why = not_relied_on(open(&plant).decide(&id("anna"), stamp(6), &settled("held")));
    assert!(why.contains("without a signature"), "{why}");
}

/// The key of somebody who may not: signed by the technician in their own name.
#[test]
fn a_technicians_signature_under_a_return_does_not_hold() {
    let plant = plant();
    let mut desk = open(&plant);
    assert!(desk.decide(&id("anna"), stamp(0), &settled("held")).is_ok());
    let back = Decision::SentBack { exception: "a1".to_owned(), remark: "why?".to_owned() };
    let refused = desk.decide_signed(&plant.anna, stamp(1), &back);
    assert!(matches!(refused, Err(Error::NotEntitled { .. })), "{refused:?}");
    good(desk.decide_signed(&plant.ben, stamp(1), &back));
    assert_eq!(desk.stage(), Stage::BeingReviewed);
}

#[test]
fn dates_that_can_not_be_true_are_told() {
    // Before the record ends: refused, and seen where it was forged.
    let plant = plant();
    let mut desk = open(&plant);
    let early = desk.decide(&id("anna"), stamp(-2), &settled("held"));
    assert!(
        matches!(&early, Err(Error::Refused(why)) if why.to_string().contains("ends at")),
        "{early:?}"
    );
    drop(desk);
    forge(&plant, "anna", stamp(-4), &Decision::Opened { subject: subject() }, None);
    forge(&plant, "anna", stamp(-3), &settled("held"), None);
    let failing = fails(&plant);
    let lines: Vec<&str> = failing
        .iter()
        .filter(|(_, told)| told.contains("before the record ends"))
        .filter_map(|(_, told)| told.split(':').next())
        .collect();
    assert_eq!(lines, ["line 1", "line 2"], "{failing:?}");

    // After now.
    let plant = self::plant();
    let far = stamp(60 * 24 * 365);
    forge(&plant, "anna", stamp(0), &Decision::Opened { subject: subject() }, None);
    forge(&plant, "anna", far, &settled("held"), None);
    assert!(fails(&plant).iter().any(|(kind, told)| {
        *kind == Kind::Line && told.starts_with("line 2") && told.contains("later than it is now")
    }));
    // The clock that ran ahead is corrected, told for ever, and forgiven.
    let mut desk = open(&plant);
    let locked = desk.decide(&id("anna"), stamp(5), &settled("destroyed"));
    let behind = matches!(locked, Err(Error::Journal(journal::Error::ClockBehind { .. })));
    assert!(behind, "{locked:?}");
    let correction = Decision::ClockCorrected { reason: "the year was wrong".to_owned() };
    let by_name = desk.decide(&id("ben"), stamp(5), &correction);
    assert!(matches!(by_name, Err(Error::NeedsKey { .. })), "{by_name:?}");
    let corrected = desk.decide_signed(&plant.ben, stamp(5), &correction);
    assert!(corrected.is_ok(), "{corrected:?}");
    sign(&plant, &mut desk, 6);
    drop(desk);
    assert_eq!(fails(&plant), []);
    let links = found(&plant).verification.links;
    assert!(links.iter().any(|link| link.holds && link.found.contains("corrected the clock")));
}

/// Entered in somebody's name before they were there.
#[test]
fn a_line_of_somebody_not_enrolled_then_is_told() {
    let mut plant = plant();
    let cleo = new_key(plant.folder.path(), "cleo");
    let enrolment = enrolment(&cleo, "Cleo Example (invented)", Role::Technician);
    assert!(plant.file.enrol(enrolment, &plant.ben, stamp(60)).is_ok());
    forge(&plant, "cleo", stamp(10), &Decision::Opened { subject: subject() }, None);
    let failing = fails(&plant);
    assert!(
        failing.iter().any(|(_, told)| told == "line 1: cleo was not enrolled yet"),
        "{failing:?}"
    );
}
