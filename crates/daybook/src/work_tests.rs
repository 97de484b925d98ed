//! Who is to do what, on records made up for it.

use crate::entry::Entry;
use crate::summary_tests::{date, decided, record};
use crate::work::{WaitsFor, WorkList};
use chrono::NaiveDate;
use journal::Stamp;
use review::{Decision, Imprint, Known, Meaning, Reviewed, Role, Scope, Stage, State};
use signers::UnlockedKey;
use tests::people::{Hand, minutes_after, reviewed};
use tests::site::Site;

/// A Tuesday, by which a record of the 4th is overdue and one of the 6th is not.
const TODAY: &str = "2026-03-17";

fn today() -> NaiveDate {
    date(TODAY)
}

fn imprint(people: &[(&str, Role)]) -> Imprint {
    let known = people.iter().map(|(who, role)| Known {
        signer: (*who).to_owned(),
        name: format!("{who} Example (invented)"),
        role: *role,
        fingerprint: String::new(),
        is_revoked: *who == "dora",
        qualifications: Vec::new(),
    });
    Imprint {
        register: "signers.jsonl".to_owned(),
        register_lines: 3,
        register_head: String::new(),
        ledger_lines: 0,
        ledger_head: String::new(),
        signers: known.collect(),
    }
}

const PEOPLE: [(&str, Role); 4] = [
    ("anna", Role::Technician),
    ("ben", Role::Supervisor),
    ("cleo", Role::Supervisor),
    ("dora", Role::Technician),
];

/// A record of a pasteurizer that nobody has begun to review, at a plant of these people.
fn unread(unit: &str, on: &str, people: &[(&str, Role)]) -> Entry {
    let mut entry = record(on, Vec::new(), Vec::new(), &[]);
    entry.record = format!("{unit} {on}.csv").into();
    let Ok(day) = &mut entry.day else { panic!("it can be read") };
    unit.clone_into(&mut day.subject.unit);
    day.subject.shifts = vec!["early".to_owned(), "late".to_owned()];
    put_books(&mut entry, people);
    entry
}

fn put_books(entry: &mut Entry, people: &[(&str, Role)]) {
    entry.review.books = Some(imprint(people));
    let names = people.iter().map(|(who, _)| ((*who).to_owned(), format!("{who} Example")));
    entry.review.names = names.collect();
}

/// A plant with its two people, their keys and its register.
fn plant() -> Site {
    let at = minutes_after(1_770_000_000_000, 0);
    Site::new([at, at])
}

/// A record with these signatures under it, at some stage.
fn signed(
    plant: &Site,
    mut entry: Entry,
    stage: Stage,
    signatures: &[(&UnlockedKey, Meaning, Scope)],
) -> Entry {
    let Ok(day) = &entry.day else { panic!("it can be read") };
    let ends = day.ends_ms.1;
    let lines = (1..).zip(signatures).map(|(minute, (key, meaning, scope))| {
        let is_anna = key.signer().as_str() == "anna";
        let (name, role) = if is_anna {
            ("Anna Example (invented)", Role::Technician)
        } else {
            ("Ben Example (invented)", Role::Supervisor)
        };
        let decision = Decision::Signed {
            meaning: *meaning,
            scope: scope.clone(),
            name: name.to_owned(),
            role,
            register: plant.file.register().head().to_string(),
        };
        (Hand::Key(key), minutes_after(ends, minute), decision)
    });
    let state: State = reviewed(&day.subject, Some(plant.file.register()), lines);
    assert!(state.signatures().iter().all(review::Signed::stands), "{:?}", state.signatures());
    entry.review = Reviewed { stage, state: Some(state), ..entry.review };
    entry
}

fn told(list: &WorkList<'_>) -> Vec<String> {
    let row = |row: &crate::work::WorkRow<'_>| {
        let mine = if row.is_mine { "mine: " } else { "" };
        format!(
            "{mine}{} {} {} {}",
            row.record,
            row.waits_in_words(),
            row.scopes_in_words(),
            row.role_in_words()
        )
    };
    list.rows().iter().map(row).collect()
}

#[test]
fn mine_comes_first_across_pasteurizers() {
    let plant = plant();
    let day = |key, meaning| (key, meaning, Scope::DAY);
    let reviewed = [day(&plant.anna, Meaning::Reviewed)];
    let both = [day(&plant.anna, Meaning::Reviewed), day(&plant.ben, Meaning::Approved)];
    let entries = vec![
        signed(&plant, unread("HTST-2", "2026-03-03", &PEOPLE), Stage::Signed, &both),
        unread("HTST-1", "2026-03-04", &PEOPLE),
        signed(&plant, unread("HTST-2", "2026-03-05", &PEOPLE), Stage::Reviewed, &reviewed),
        unread("HTST-2", "2026-03-09", &PEOPLE),
        unread("HTST-1", "2026-03-09", &PEOPLE),
    ];
    let anna = WorkList::of(&entries, "anna", today());
    assert_eq!(anna.person(), Some("anna Example"));
    assert_eq!(
        told(&anna),
        [
            "mine: HTST-1 2026-03-04.csv to review, overdue  technician",
            "mine: HTST-1 2026-03-09.csv to review  technician",
            "mine: HTST-2 2026-03-09.csv to review  technician",
            "HTST-2 2026-03-05.csv to approve  supervisor",
        ]
    );
    assert_eq!(anna.counts_in_words(), "3 to review, 1 to approve, 1 overdue");
    let ben = WorkList::of(&entries, "ben", today());
    assert_eq!(told(&ben)[0], "mine: HTST-2 2026-03-05.csv to approve  supervisor");
    assert_eq!(ben.mine().count(), 1);
    let row = &ben.rows()[0];
    assert_eq!(row.standing_in_words(), "reviewed by anna Example, 2026-03-05 08:01");
    assert_eq!((row.place, row.due), (2, None));
    // Whoever no register knows has no work of their own, and goes through what is to be reviewed.
    for nobody in ["", "eve", "dora"] {
        let list = WorkList::of(&entries, nobody, today());
        assert_eq!((list.person(), list.mine().count()), (None, 0), "{nobody}");
        let places: Vec<usize> = list.round().iter().map(|row| row.place).collect();
        assert_eq!(places, [1, 4, 3]);
    }
}

#[test]
fn who_reviewed_leaves_the_approval_to_somebody_else() {
    let plant = plant();
    let own = [(&plant.ben, Meaning::Reviewed, Scope::DAY)];
    let mut entry = signed(&plant, unread("HTST-1", "2026-03-09", &PEOPLE), Stage::Reviewed, &own);
    let mine = |entry: &Entry, who: &str| {
        WorkList::of(std::slice::from_ref(entry), who, today()).mine().count()
    };
    assert_eq!((mine(&entry, "ben"), mine(&entry, "cleo")), (0, 1));
    let Ok(day) = &mut entry.day else { panic!("it can be read") };
    day.subject.same_person_may_approve = true;
    let entry = signed(&plant, entry, Stage::Reviewed, &own);
    assert_eq!(mine(&entry, "ben"), 1, "the plant file can allow the reviewer to");
}

#[test]
fn each_shift_waits_for_its_own() {
    let plant = plant();
    let early = [(&plant.anna, Meaning::Reviewed, Scope::shift("early"))];
    let entry =
        signed(&plant, unread("HTST-1", "2026-03-09", &PEOPLE), Stage::BeingReviewed, &early);
    let list = [entry];
    let list = WorkList::of(&list, "ben", today());
    assert_eq!(
        told(&list),
        [
            "mine: HTST-1 2026-03-09.csv to approve shift early supervisor",
            "HTST-1 2026-03-09.csv to review shift late technician",
        ]
    );
    assert_eq!(list.round().len(), 1, "a record is gone through once");
}

#[test]
fn what_is_returned_or_held_or_does_not_hold_waits_for_somebody() {
    let settled = |disposition: &str, hold_tag: &str| {
        Decision::Settled(review::Settlement {
            exception: "a1".to_owned(),
            cause: "steam valve stuck".to_owned(),
            action: "valve freed".to_owned(),
            disposition: disposition.to_owned(),
            hold_tag: hold_tag.to_owned(),
            ..review::Settlement::default()
        })
    };
    let with_one = |on: &str| {
        let mut entry = unread("HTST-1", on, &PEOPLE);
        let Ok(day) = &mut entry.day else { panic!("it can be read") };
        day.subject.exceptions = vec![tests::site::exception("a1", "early")];
        entry
    };
    let held = with_one("2026-03-10");
    let mut held = Entry { review: decided(&held, settled("held", "H1")), ..held };
    put_books(&mut held, &PEOPLE);
    let plant = plant();
    let mut returned = with_one("2026-03-11");
    let Ok(day) = &returned.day else { panic!("it can be read") };
    let at = |minute| minutes_after(day.ends_ms.1, minute);
    let remark = "which valve?".to_owned();
    let lines: [(Hand<'_>, Stamp, Decision); 2] = [
        (Hand::Name("anna"), at(1), settled("destroyed", "")),
        (Hand::Key(&plant.ben), at(2), Decision::SentBack { exception: "a1".to_owned(), remark }),
    ];
    let state = reviewed(&day.subject, Some(plant.file.register()), lines);
    returned.review.state = Some(state);
    returned.review.stage = Stage::BeingReviewed;
    let changed = |stage: Stage| {
        let mut entry = unread("HTST-2", "2026-03-12", &PEOPLE);
        entry.review.stage = stage;
        entry.review.faults = vec!["a fault".to_owned()];
        entry
    };
    // It bears both signatures, and something else keeps it from being signed.
    let both =
        [(&plant.anna, Meaning::Reviewed, Scope::DAY), (&plant.ben, Meaning::Approved, Scope::DAY)];
    let unfinished = unread("HTST-2", "2026-03-13", &PEOPLE);
    let unfinished = signed(&plant, unfinished, Stage::Reviewed, &both);
    let mut unreadable = unread("HTST-2", "2026-03-13", &PEOPLE);
    unreadable.day = Err("it is no trace".to_owned());
    unreadable.record = "broken.csv".into();
    let entries = vec![
        held,
        returned,
        changed(Stage::ChangedSinceSigning),
        changed(Stage::Unproven),
        changed(Stage::MethodChanged),
        unfinished,
        unreadable,
    ];
    let anna = WorkList::of(&entries, "anna", today());
    assert_eq!(
        told(&anna),
        [
            "mine: broken.csv to look at  anyone",
            "mine: HTST-2 2026-03-12.csv to look at  anyone",
            "mine: HTST-1 2026-03-11.csv returned  technician",
            "mine: HTST-1 2026-03-10.csv to review  technician",
            "mine: HTST-2 2026-03-12.csv to review  technician",
            "HTST-2 2026-03-12.csv to look at  supervisor",
            "HTST-2 2026-03-13.csv to look at  supervisor",
            "HTST-1 2026-03-10.csv on hold  supervisor",
        ]
    );
    assert_eq!(anna.rows()[1].standing_in_words(), "changed since signing: a fault");
    let words = anna.rows()[2].standing_in_words();
    assert!(
        words.starts_with("returned by ben Example, 2026-03-11 08:02: which valve?; "),
        "{words}"
    );
    let words = anna.rows()[7].standing_in_words();
    assert!(words.contains("put on hold by anna Example") && words.contains("H1: "), "{words}");
    // One that can't be read is on the list, and is not opened on the way.
    assert_eq!(anna.round().iter().map(|row| row.place).collect::<Vec<_>>(), [2, 1, 0, 4]);
    assert_eq!(anna.count(WaitsFor::Look), 4);
    let text = anna.text().to_string();
    assert!(
        text.contains("For anna Example: 5 items") && text.contains("For others: 3 items"),
        "{text}"
    );
    let json = anna.json();
    assert_eq!(json["items"][2]["before"][0]["remark"], "which valve?", "{json:#}");
    assert_eq!(json["items"][7]["role"], "supervisor", "{json:#}");
}

/// Where there is no technician the supervisors review, and one who ends holds by the plant file is told.
#[test]
fn a_plant_of_supervisors_reviews_by_them() {
    let people =
        [("ben", Role::Supervisor), ("cleo", Role::Supervisor), ("dora", Role::Technician)];
    let entries = [unread("HTST-1", "2026-03-09", &people)];
    let ben = WorkList::of(&entries, "ben", today());
    assert_eq!(told(&ben), ["mine: HTST-1 2026-03-09.csv to review  supervisor"]);
}

/// Operators sign their entries and review nothing: no work is theirs, and a plant with operators and supervisors
/// is reviewed by the supervisors.
#[test]
fn no_review_waits_for_an_operator() {
    let people = [("ben", Role::Supervisor), ("vale", Role::Operator)];
    let mut unreadable = unread("HTST-1", "2026-03-08", &people);
    unreadable.day = Err("it can't be read".to_owned());
    let entries = [unreadable, unread("HTST-1", "2026-03-09", &people)];
    let mine = |who| WorkList::of(&entries, who, today()).mine().count();
    assert_eq!((mine("ben"), mine("vale")), (2, 0));
}
