//! The hole before a record: it stands between the reviewer and the signature, its closing is signed
//! with everything else, and one that comes later is told.

use journal::Stamp;
use review::{
    Decision, Desk, Error, HOLE, HoleBefore, ItemKind, Meaning, Reviewed, Scope, Stage, Subject,
};
use tests::people::{NOW, id, minutes_after};
use tests::site::{self, Site};

const START: &str = "2026-03-14T16:00:00.000-05:00";

fn stamp(minutes: i64) -> Stamp {
    minutes_after(1_773_572_400_000, minutes)
}

fn subject() -> Subject {
    Subject { start: START.to_owned(), shifts: vec!["late".to_owned()], ..site::subject() }
}

fn hole() -> HoleBefore {
    HoleBefore {
        record: "early.csv".to_owned(),
        from: "2026-03-14T14:00:00.000-05:00".to_owned(),
        position_before: "forward".to_owned(),
        to: START.to_owned(),
        position_after: "forward".to_owned(),
        length_ms: 7_200_000,
    }
}

fn plant() -> Site {
    Site::new([stamp(-20), stamp(-10)])
}

fn open(plant: &Site, subject: Subject, hole: Option<HoleBefore>) -> Desk {
    let mut desk = plant.open(subject, "anna");
    desk.comes_after(hole, NOW);
    desk
}

fn closed(hole: HoleBefore, reason: &str) -> Decision {
    Decision::HoleClosed { hole, reason: reason.to_owned(), note: String::new() }
}

fn refused(made: Result<(), Error>) -> String {
    match made {
        Err(Error::Refused(refusal)) => refusal.to_string(),
        other => panic!("{other:?}"),
    }
}

#[test]
fn nothing_is_signed_before_the_hole_is_closed() -> Result<(), Error> {
    let plant = plant();
    let mut desk = open(&plant, subject(), Some(hole()));
    for scope in [Scope::DAY, Scope::shift("late")] {
        let why = refused(desk.sign(&plant.anna, stamp(0), Meaning::Reviewed, &scope));
        assert!(why.contains("is not closed") && why.contains("2 h 00 min"), "{why}");
    }
    assert!(desk.can_be_signed(Meaning::Reviewed, &Scope::DAY, &id("anna")).is_err());
    // Not without a reason, nor with that of a hole which lies elsewhere.
    assert!(refused(desk.decide(&id("anna"), stamp(0), &closed(hole(), " "))).contains("reason"));
    let elsewhere = HoleBefore { to: "2026-03-14T17:00:00.000-05:00".to_owned(), ..hole() };
    refused(desk.decide(&id("anna"), stamp(0), &closed(elsewhere, "none")));
    // Another hole that ends here as well does not close this one.
    let shorter = HoleBefore { length_ms: 1, ..hole() };
    desk.decide(&id("anna"), stamp(0), &closed(shorter, "logger restarted"))?;
    assert_eq!(desk.open_hole(), Some(&hole()));
    desk.decide(&id("anna"), stamp(1), &closed(hole(), "logger restarted; product held"))?;
    assert_eq!(desk.open_hole(), None);
    plant.sign(&mut desk, [stamp(2), stamp(3)])?;
    // What is signed is not withdrawn.
    let item = hole().to;
    let withdrawn = Decision::Withdrawn { of: ItemKind::Hole, item };
    assert!(refused(desk.decide(&id("anna"), stamp(4), &withdrawn)).contains("reopen"));

    let Reviewed { stage, verification, state, .. } = plant.reviewed(&subject(), Some(&hole()));
    assert_eq!(stage, Stage::Signed);
    let link = verification.links.iter().find(|link| link.what == HOLE);
    assert!(link.is_some_and(|link| link.holds && link.found.contains("product held")), "{link:?}");
    assert!(state.is_some_and(|state| state.hole_closed(&hole()).is_some()));
    // The record before under another name recorded nothing more; taken away, nothing fails.
    let renamed = HoleBefore { record: "a.csv".to_owned(), ..hole() };
    assert_eq!(plant.reviewed(&subject(), Some(&renamed)).stage, Stage::Signed);
    assert_eq!(plant.reviewed(&subject(), None).stage, Stage::Signed);
    Ok(())
}

/// A record before is added, or grows, after the later one was signed.
#[test]
fn a_hole_that_comes_after_signing_is_told_and_mended() -> Result<(), Error> {
    let plant = plant();
    plant.sign(&mut open(&plant, subject(), None), [stamp(0), stamp(1)])?;
    assert_eq!(plant.reviewed(&subject(), None).stage, Stage::Signed);
    let Reviewed { stage, verification, .. } = plant.reviewed(&subject(), Some(&hole()));
    assert_eq!(stage, Stage::ChangedSinceSigning);
    let failing: Vec<_> = verification.links.iter().filter(|link| !link.holds).collect();
    let [link] = failing.as_slice() else { panic!("{failing:?}") };
    assert!(link.found.contains("the record before was added or changed since"), "{link}");
    // Who looks at the record alone knows nothing of it.
    assert!(plant.reviewed(&subject(), None).verification.holds());
    assert!(!verification.holds());

    let mut desk = open(&plant, subject(), Some(hole()));
    let anna = id("anna");
    assert!(refused(desk.decide(&anna, stamp(2), &closed(hole(), "x"))).contains("reopen"));
    let reason = "a record was added".to_owned();
    let reopened = Decision::Reopened { scope: Scope::DAY, reason };
    let by_name = desk.decide(&anna, stamp(2), &reopened);
    assert!(matches!(by_name, Err(Error::NeedsKey { .. })), "{by_name:?}");
    let by_anna = desk.decide_signed(&plant.anna, stamp(2), &reopened);
    assert!(matches!(by_anna, Err(Error::NotEntitled { .. })), "it is approved: {by_anna:?}");
    desk.decide_signed(&plant.ben, stamp(2), &reopened)?;
    desk.decide(&anna, stamp(3), &closed(hole(), "logger off, timing pump locked out"))?;
    plant.sign(&mut desk, [stamp(4), stamp(5)])?;
    assert_eq!(plant.reviewed(&subject(), Some(&hole())).stage, Stage::Signed);
    // It is another hole once the record before ends otherwise.
    let other = HoleBefore { position_before: "unknown".to_owned(), ..hole() };
    assert_eq!(plant.reviewed(&subject(), Some(&other)).stage, Stage::ChangedSinceSigning);
    Ok(())
}

/// A new audit of the same record keeps the closing, one of a record that begins otherwise does not.
#[test]
fn a_new_audit_keeps_the_closing_of_the_same_hole() -> Result<(), Error> {
    let plant = plant();
    let mut desk = open(&plant, subject(), Some(hole()));
    desk.decide(&id("anna"), stamp(0), &closed(hole(), "logger restarted"))?;
    drop(desk);
    let again = Subject { audit: "ef".repeat(32), ..subject() };
    let mut desk = open(&plant, again.clone(), Some(hole()));
    desk.re_audit(&id("anna"), stamp(1))?;
    assert_eq!(desk.open_hole(), None);
    drop(desk);
    let longer = Subject { start: "2026-03-14T15:30:00.000-05:00".to_owned(), ..again };
    let shorter_hole = HoleBefore { to: longer.start.clone(), length_ms: 5_400_000, ..hole() };
    let mut desk = open(&plant, longer, Some(shorter_hole.clone()));
    desk.re_audit(&id("anna"), stamp(2))?;
    assert_eq!(desk.open_hole(), Some(&shorter_hole));
    assert_eq!(desk.state().hole(), None);
    Ok(())
}

/// While it is not signed, the closing can be withdrawn.
#[test]
fn a_closing_is_withdrawn() -> Result<(), Error> {
    let plant = plant();
    let mut desk = open(&plant, subject(), Some(hole()));
    let withdrawn = Decision::Withdrawn { of: ItemKind::Hole, item: hole().to };
    assert!(refused(desk.decide(&id("anna"), stamp(0), &withdrawn)).contains("nothing"));
    desk.decide(&id("anna"), stamp(0), &closed(hole(), "logger restarted"))?;
    desk.decide(&id("anna"), stamp(1), &withdrawn)?;
    assert_eq!(desk.open_hole(), Some(&hole()));
    let Reviewed { stage, .. } = plant.reviewed(&subject(), Some(&hole()));
    assert_eq!(stage, Stage::BeingReviewed);
    Ok(())
}
