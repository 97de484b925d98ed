//! What is shown is what holds, and who decides what counts: forged, missing, nearer, rolled-back and
//! unapproved things in a plant's folder, and what the window lets a person do about them.

#[expect(dead_code, reason = "a review brings its own record")]
mod common;

mod round;

use common::{Setup, Window, open, settle};
use desktop::DiskClock;
use egui::{Key, Modifiers};
use egui_kittest::kittest::Queryable as _;
use round::{
    PASSPHRASE, Place, all_but_signing, at_work, command, fill, focused, press, prove, push,
    review, settle_next, shows, sign, tab_to, text,
};
use std::path::PathBuf;
use std::time::{Duration, Instant};

type Outcome = Result<(), Box<dyn std::error::Error>>;

const JOURNAL: &str = "2026-03-14.review.jsonl";
/// In milliseconds. The clock of these tests goes on at each look, by hours in all.
const DAY: i64 = 86_400_000;
const BOTH: Modifiers = Modifiers { shift: true, ..Modifiers::COMMAND };

fn command_shift(window: &mut Window, key: Key) {
    window.key_press_modifiers(BOTH, key);
    settle(window);
}

/// Somebody who has seen nothing of the plant before, with the keys of this machine.
fn forget_what_was_seen(place: &Place) {
    let _gone = std::fs::remove_file(place.path("config/seen.json"));
}

/// What the supervisor finds who wants to approve: the reason, and no field for a passphrase.
fn cannot_approve(window: &mut Window, why: &str) {
    at_work(window, "Ben Example");
    command(window, Key::S);
    assert!(shows(window, why), "the dialog says why: {why}");
    assert!(window.query_by_label("Passphrase").is_none(), "nothing can be signed");
    press(window, Key::Escape);
}

fn without_last_line(text: &str) -> String {
    let kept = text.lines().count().saturating_sub(1);
    text.lines().take(kept).map(|line| format!("{line}\n")).collect()
}

/// The chain is right, and the signature 64 bytes of 0xab.
#[test]
fn a_forged_signature_is_shown_as_failing_and_nobody_approves_on_top() -> Outcome {
    let place = Place::new();
    let mut window = place.with_signers();
    all_but_signing(&mut window);
    let (journal, ledger) = (place.read(JOURNAL), place.read("ledger.jsonl"));
    sign(&mut window, "anna", PASSPHRASE);
    drop(window);
    let path = place.path(JOURNAL);
    let body = journal::read(&path)?.lines.last().map(|line| line.body().clone());
    let at = journal::read(&path)?.lines.last().map(journal::Line::at);
    let (body, at) = (body.ok_or("a body")?, at.ok_or("a date")?);
    place.write(JOURNAL, &journal);
    place.write("ledger.jsonl", &ledger);
    forget_what_was_seen(&place);
    let (mut forged, _) = journal::Journal::open(&path)?;
    let entry = journal::Entry { at, by: "anna".to_owned(), body };
    forged.append(entry, Some(&|_| journal::Signature([0xab; 64])))?;
    let before = place.read(JOURNAL);

    let mut window = place.open();
    assert_eq!(review(&window), "changed since signing");
    assert!(shows(&window, "This signature FAILS: the key is not the one"));
    assert!(shows(&window, "a signature FAILS"), "the scope says so as well");
    assert!(shows(&window, "This review can\u{2019}t be relied on"));
    cannot_approve(&mut window, "can\u{2019}t be relied on: signature, line");
    assert_eq!(place.read(JOURNAL), before);
    Ok(())
}

#[test]
fn a_missing_register_is_told_when_a_journal_needs_it() -> Outcome {
    let place = Place::new();
    let mut window = place.with_signers();
    settle_next(&mut window);
    drop(window);
    std::fs::remove_file(place.path("signers.jsonl"))?;
    // Who saw it before hears what it was.
    let window = place.open();
    assert!(shows(&window, "this folder had a register of signers of 3 lines"));
    drop(window);
    // And who sees the plant for the first time: nothing was signed, the journal is enough.
    forget_what_was_seen(&place);
    let window = place.open();
    assert!(shows(&window, "The register of signers is gone"));
    assert!(!shows(&window, "Nobody has set up signers"));
    drop(window);
    // With nothing that needs it, it is only not there yet.
    std::fs::remove_file(place.path(JOURNAL))?;
    std::fs::remove_file(place.path("ledger.jsonl"))?;
    let window = place.open();
    assert!(shows(&window, "Nobody has set up signers: the limits are not approved"));
    assert!(!shows(&window, "is gone"));
    Ok(())
}

/// A register with keys of one's own.
fn own_register(folder: &std::path::Path) -> Result<String, Box<dyn std::error::Error>> {
    let keys = signers::KeyFolder::under(&folder.join("keys"));
    let signer: signers::SignerId = "ben".parse()?;
    let passphrase = signers::Passphrase::new("another passphrase altogether".to_owned());
    let key = keys.create(&signer, &passphrase, signers::Cost::STRONG)?;
    let (mut register, _) = signers::RegisterFile::open(&folder.join("signers.jsonl"))?;
    register.found("Ben Example (invented)", &key, "2026-03-15T05:00:00.000-05:00".parse()?)?;
    Ok(key.public_key().fingerprint())
}

#[test]
fn a_nearer_register_is_an_alarm_and_accepted_only_from_paper() -> Outcome {
    let place = Place::new();
    drop(place.with_signers());
    // The same plant's record, with a plant file and a register laid beside it.
    let near = place.path("line 1");
    std::fs::create_dir(&near)?;
    for name in ["plant.toml", "2026-03-14.csv"] {
        std::fs::copy(place.path(name), near.join(name))?;
    }
    let fingerprint = own_register(&near)?;
    let here = || open(Setup { paths: vec![near.join("2026-03-14.csv")], ..place.setup() });
    let mut window = here();
    assert!(shows(&window, "is not what was seen before"));
    assert!(shows(&window, "this is NOT the register of signers that was used for Example Dairy"));
    // Nobody of it is at work.
    command(&mut window, Key::S);
    assert!(shows(&window, "choose who is at work first"));
    press(&mut window, Key::Escape);
    // Another plant's name does not help.
    let other = place.read("plant.toml").replace("Example Dairy", "Sample Dairy");
    std::fs::write(near.join("plant.toml"), other)?;
    drop(window);
    let mut window = here();
    assert!(shows(&window, "lies NEARER to the records than the one that was used so far"));

    // It is accepted with the fingerprint of its first supervisor, never by one click.
    command_shift(&mut window, Key::T);
    assert_eq!(focused(&window), "Fingerprint on paper");
    push(&mut window, "Accept this register");
    assert!(shows(&window, "enter the fingerprint"));
    fill(&mut window, "Fingerprint on paper", &"0".repeat(64));
    push(&mut window, "Accept this register");
    assert!(shows(&window, "the register of signers is not accepted"));
    press(&mut window, Key::Escape);
    assert!(shows(&window, "lies NEARER"));
    command_shift(&mut window, Key::T);
    fill(&mut window, "Fingerprint on paper", &fingerprint);
    push(&mut window, "Accept this register");
    assert!(!shows(&window, "lies NEARER"), "the record was opened again");
    assert!(!shows(&window, "is not what was seen before"));
    Ok(())
}

#[test]
fn unapproved_limits_are_told_and_nothing_is_signed_by_them() {
    let place = Place::new();
    let mut window = place.open();
    assert!(shows(&window, "Nobody has set up signers"));
    round::set_up(&mut window);
    round::enrol(&mut window);
    assert!(!shows(&window, "Limits not approved"));
    drop(window);
    // Somebody lays another plant file in its place.
    let other = format!("{}\n[limits.holding_time]\nseconds = 16.0\n", place.read("plant.toml"));
    let other = other.replace("\n[limits.holding_time]\nseconds = 16.0\n", "\n# other limits\n");
    place.write("plant.toml", &other);
    let mut window = place.open();
    assert!(shows(&window, "Limits not approved"));
    at_work(&mut window, "Anna Example");
    all_but_signing(&mut window);
    command(&mut window, Key::S);
    assert!(shows(&window, "NOT APPROVED: no supervisor has approved its limits"));
    assert!(window.query_by_label("Passphrase").is_none());
    press(&mut window, Key::Escape);
    // The technician can't approve them, the supervisor can.
    command_shift(&mut window, Key::U);
    assert!(shows(&window, "Created by"));
    push(&mut window, "Approve the plant file in use");
    prove(&mut window, "anna", PASSPHRASE);
    assert!(shows(&window, "a supervisor"), "a technician may not");
    press(&mut window, Key::Escape);
    command_shift(&mut window, Key::U);
    push(&mut window, "Approve the plant file in use");
    prove(&mut window, "ben", PASSPHRASE);
    assert!(shows(&window, "The limits of plant.toml are approved"));
    press(&mut window, Key::Escape);
    // What was audited before is audited again.
    assert!(shows(&window, "enter the new audit, then sign"));
    command_shift(&mut window, Key::A);
    assert!(!shows(&window, "Limits not approved"));
    sign(&mut window, "anna", PASSPHRASE);
    assert_eq!(review(&window), "reviewed");
}

#[test]
fn a_journal_that_was_rolled_back_is_told() {
    let place = Place::new();
    let mut window = place.with_signers();
    all_but_signing(&mut window);
    sign(&mut window, "anna", PASSPHRASE);
    at_work(&mut window, "Ben Example");
    command_shift(&mut window, Key::R);
    text(&mut window, "a lot was mixed up");
    prove(&mut window, "ben", PASSPHRASE);
    assert_eq!(review(&window), "being reviewed");
    drop(window);
    // The supervisor's reopening is cut off: what is left was signed once.
    let cut = without_last_line(&place.read(JOURNAL));
    place.write(JOURNAL, &cut);
    let mut window = place.open();
    assert_eq!(review(&window), "changed since signing");
    assert!(shows(&window, "This review can\u{2019}t be relied on"));
    // The signature holds, and the card does not say that the day is reviewed.
    assert!(shows(&window, "resolved, changed since signing"));
    assert!(!shows(&window, "resolved, reviewed"));
    cannot_approve(&mut window, "can\u{2019}t be relied on: ledger");
    assert_eq!(place.read(JOURNAL), cut);
}

/// The plant file is taken away, so that the limits are assumed.
#[test]
fn assumed_limits_are_told_where_others_are_approved() {
    let place = Place::new();
    drop(place.with_signers());
    let plant = place.read("plant.toml");
    std::fs::remove_file(place.path("plant.toml")).unwrap_or_else(|error| panic!("{error}"));
    let window = place.open();
    assert!(shows(&window, "Limits not approved"));
    assert!(shows(&window, "No plant file was used, and a supervisor has approved plant.toml"));
    drop(window);
    place.write("plant.toml", &plant);
    assert!(!shows(&place.open(), "Limits not approved"));
}

#[test]
fn books_that_show_less_than_before_are_an_alarm() {
    let place = Place::new();
    let mut window = place.with_signers();
    all_but_signing(&mut window);
    let (journal, ledger) = (place.read(JOURNAL), place.read("ledger.jsonl"));
    sign(&mut window, "anna", PASSPHRASE);
    drop(window);
    // Journal and ledger are put back together, so that neither contradicts the other.
    place.write(JOURNAL, &journal);
    place.write("ledger.jsonl", &ledger);
    let mut window = place.open();
    assert!(shows(&window, "the ledger showed more before"));
    at_work(&mut window, "Anna Example");
    command(&mut window, Key::S);
    assert!(shows(&window, "not what was seen before"));
    assert!(window.query_by_label("Passphrase").is_none());
    press(&mut window, Key::Escape);
    // Nor does a supervisor go on with the register.
    let register = place.read("signers.jsonl");
    command_shift(&mut window, Key::U);
    push(&mut window, "A clock was ahead");
    fill(&mut window, "Reason", "the year was wrong");
    prove(&mut window, "ben", PASSPHRASE);
    assert!(shows(&window, "nothing is entered: the ledger showed more before"));
    assert_eq!(place.read("signers.jsonl"), register);
}

#[test]
fn a_supervisor_takes_stock_of_a_folder_without_a_ledger() -> Outcome {
    let place = Place::new();
    let mut window = place.with_signers();
    all_but_signing(&mut window);
    drop(window);
    std::fs::remove_file(place.path("ledger.jsonl"))?;
    forget_what_was_seen(&place);
    let mut window = place.open();
    assert!(shows(&window, "The existing records are not in the ledger yet"));
    at_work(&mut window, "Ben Example");
    command_shift(&mut window, Key::U);
    push(&mut window, "Check the journals");
    assert!(shows(&window, "2026-03-14.review.jsonl, "), "the journals are listed");
    assert!(shows(&window, "being reviewed"));
    fill(&mut window, "Reason", "the folder is older than the ledger");
    prove(&mut window, "", PASSPHRASE);
    assert!(shows(&window, "Stock is taken of 1 journals"));
    press(&mut window, Key::Escape);
    assert!(!shows(&window, "The existing records are not in the ledger yet"));
    at_work(&mut window, "Anna Example");
    sign(&mut window, "anna", PASSPHRASE);
    assert_eq!(review(&window), "reviewed");
    Ok(())
}

#[test]
fn releasing_product_is_signed() {
    let place = Place::new();
    let mut window = place.with_signers();
    press(&mut window, Key::T);
    text(&mut window, "steam valve stuck");
    fill(&mut window, "Corrective action", "valve freed");
    fill(&mut window, "Disposition", "released, with reason");
    fill(&mut window, "Reason for the disposition", "the laboratory found nothing");
    command(&mut window, Key::Enter);
    assert!(shows(&window, "Release the product of an exception"));
    assert!(shows(&window, "0 of 2 resolved"));
    // Nothing is entered when it is cancelled, and what was typed is there.
    press(&mut window, Key::Escape);
    assert!(shows(&window, "the laboratory found nothing"));
    assert_eq!(place.read(JOURNAL), "");
    command(&mut window, Key::Enter);
    prove(&mut window, "anna", PASSPHRASE);
    assert!(shows(&window, "1 of 2 resolved"));
    let last = place.read(JOURNAL);
    let last = last.lines().last().unwrap_or_default();
    assert!(last.contains("\"disposition\":\"released\"") && last.contains("\"signature\":\""));
    // It is taken back without.
    tab_to(&mut window, "Menu");
    command(&mut window, Key::Z);
    assert!(shows(&window, "0 of 2 resolved"));
}

#[test]
fn a_clock_that_differs_from_the_disk_asks_first_and_once() {
    let place = Place::new();
    drop(place.with_signers());
    let ahead =
        DiskClock(|_| Some("this machine's clock is 90 min ahead of that of the disk".to_owned()));
    let mut window = open(Setup { disk_clock: ahead, ..place.setup() });
    settle_next(&mut window);
    assert!(shows(&window, "This machine's clock is 90 min ahead"));
    press(&mut window, Key::Escape);
    assert_eq!(place.read(JOURNAL), "");
    command(&mut window, Key::Enter);
    push(&mut window, "Continue anyway");
    assert!(shows(&window, "1 of 2 resolved"));
    settle_next(&mut window);
    assert!(shows(&window, "2 of 2 resolved"), "whoever said so is not asked again");
}

#[test]
fn a_clock_that_ran_ahead_is_corrected_by_a_supervisor_and_shown() {
    let place = Place::new();
    drop(place.with_signers());
    let in_a_month = || trace::Instant::from_unix_milliseconds(common::MORNING + 30 * DAY);
    let mut window = open(Setup { clock: desktop::Clock(in_a_month), ..place.setup() });
    settle_next(&mut window);
    drop(window);
    let mut window = place.open();
    settle_next(&mut window);
    assert!(shows(&window, "1 of 2 resolved"), "the clock is behind the last entry");
    press(&mut window, Key::Escape);
    at_work(&mut window, "Ben Example");
    command_shift(&mut window, Key::K);
    text(&mut window, "the clock was a month ahead");
    prove(&mut window, "ben", PASSPHRASE);
    press(&mut window, Key::Escape);
    assert!(shows(&window, "ben corrected the clock to"));
    at_work(&mut window, "Anna Example");
    settle_next(&mut window);
    assert!(shows(&window, "2 of 2 resolved"));
}

#[test]
fn another_supervisor_agrees_to_what_the_first_approves() -> Outcome {
    let place = Place::new();
    let mut window = place.with_signers();
    // A second supervisor, enrolled by the first.
    let keys = signers::KeyFolder::under(&place.path("config"));
    let passphrase = || signers::Passphrase::new(PASSPHRASE.to_owned());
    let carla: signers::SignerId = "carla".parse()?;
    let public_key = keys.create(&carla, &passphrase(), signers::Cost::STRONG)?.public_key();
    let later = trace::Instant::from_unix_milliseconds(common::MORNING + 20 * DAY);
    let ben = keys.unlock(&"ben".parse()?, &passphrase(), later)?;
    let (mut register, _) = signers::RegisterFile::open(&place.path("signers.jsonl"))?;
    let (name, role) = ("Carla Example (invented)".to_owned(), signers::Role::Supervisor);
    let enrolment = signers::Enrolment { signer: carla, name, role, public_key };
    register.enrol(enrolment, &ben, "2026-04-04T07:30:00.000-05:00".parse()?)?;
    place.write("plant.toml", &format!("{}# other limits\n", place.read("plant.toml")));
    let late = || {
        static NOW: std::sync::atomic::AtomicI64 =
            std::sync::atomic::AtomicI64::new(common::MORNING + 21 * DAY);
        let now = NOW.fetch_add(4_000, std::sync::atomic::Ordering::Relaxed);
        trace::Instant::from_unix_milliseconds(now)
    };
    drop(window);
    window = open(Setup { clock: desktop::Clock(late), ..place.setup() });
    command_shift(&mut window, Key::U);
    push(&mut window, "Approve the plant file in use");
    prove(&mut window, "ben", PASSPHRASE);
    assert!(shows(&window, "It counts when another supervisor agrees to it"));
    assert!(shows(&window, "Waits for a second supervisor"));
    press(&mut window, Key::Escape);
    assert!(shows(&window, "another one agrees to it"), "the banner says what is left");
    command_shift(&mut window, Key::U);
    push(&mut window, "Agree to line");
    prove(&mut window, "carla", PASSPHRASE);
    assert!(shows(&window, "of the register is in force"));
    press(&mut window, Key::Escape);
    assert!(!shows(&window, "Limits not approved"));
    Ok(())
}

/// A reader with a lock on the journal froze the whole window.
#[test]
fn no_frame_waits_for_a_lock() -> Outcome {
    let place = Place::new();
    let mut window = place.with_signers();
    settle_next(&mut window);
    let held = std::fs::File::open(place.path(JOURNAL))?;
    held.lock()?;
    let begin = Instant::now();
    // All but the last key.
    press(&mut window, Key::T);
    press(&mut window, Key::ArrowDown);
    press(&mut window, Key::Enter);
    fill(&mut window, "Corrective action", "valve freed by hand");
    fill(&mut window, "Disposition", "held");
    let (mut longest, entering) = (Duration::ZERO, Instant::now());
    window.key_press_modifiers(Modifiers::COMMAND, Key::Enter);
    let mut told = false;
    while entering.elapsed() < Duration::from_secs(1) {
        let frame = Instant::now();
        window.step();
        longest = longest.max(frame.elapsed());
        told |= shows(&window, "Entering");
        std::thread::sleep(Duration::from_millis(10));
    }
    assert!(longest < Duration::from_millis(500), "a frame took {longest:?}");
    assert!(told, "the screen says that something is being entered");
    assert!(shows(&window, "1 of 2 resolved"), "what was is still drawn");
    held.unlock()?;
    settle(&mut window);
    assert!(shows(&window, "2 of 2 resolved"), "after {:?}", begin.elapsed());
    Ok(())
}

/// The files of a record that is gone stand in the register of days.
#[test]
fn what_the_ledger_knows_and_is_gone_stands_in_the_month() -> Outcome {
    let place = Place::new();
    let mut window = place.with_signers();
    all_but_signing(&mut window);
    sign(&mut window, "anna", PASSPHRASE);
    drop(window);
    for name in ["2026-03-14.csv", JOURNAL] {
        std::fs::remove_file(place.path(name))?;
    }
    let folder: Vec<PathBuf> = vec![place.folder.path().to_owned()];
    let mut window = open(Setup { paths: folder, ..place.setup() });
    assert!(shows(&window, "changed since signing"));
    window.get_by_label_contains("2026-03-14").click();
    settle(&mut window);
    assert!(shows(&window, "neither the record nor its journal is there any more"));
    Ok(())
}
