//! Decisions that are made in one go: each in a line of its own, all of them or none, and a state that is
//! told where the disk broke off.

use review::{Decision, Error, ItemKind, Settlement, Subject};
use signers::{Books, SignerId};
use std::path::PathBuf;
use tests::people::{id, minutes_after};
use tests::site::{Site, exception, subject};

/// Before the record, and after it.
const BEGUN: i64 = 1_773_400_000_000;
const AFTER: i64 = 1_773_560_000_000;

const COUNT: usize = 200;

fn plant() -> Site {
    let begun = minutes_after(BEGUN, 0);
    Site::new([begun, begun])
}

/// A record with many exceptions, each with a quantity and a lot of its own.
fn many() -> Subject {
    let exceptions = (0..COUNT).map(|number| {
        let mut item = exception(&format!("{number:04x}"), "early");
        item.quantity = Some(format!("{number} gal"));
        item.lots = vec![format!("L-{}", number % 3)];
        item
    });
    Subject { shifts: vec!["early".to_owned()], exceptions: exceptions.collect(), ..subject() }
}

fn decisions(subject: &Subject, disposition: &str) -> Vec<Decision> {
    let settled = subject.exceptions.iter().map(|item| {
        Decision::Settled(Settlement {
            exception: item.id.clone(),
            cause: "steam valve stuck".to_owned(),
            action: "valve freed".to_owned(),
            disposition: disposition.to_owned(),
            disposition_reason: "why (invented)".to_owned(),
            quantity: item.quantity.clone().unwrap_or_default(),
            lot: item.lots.join(", "),
            ..Settlement::default()
        })
    });
    settled.collect()
}

fn anna() -> SignerId {
    id("anna")
}

fn bytes(path: &PathBuf) -> Vec<u8> {
    std::fs::read(path).unwrap_or_default()
}

#[test]
fn two_hundred_are_a_line_each_with_their_own_quantity_and_lot() {
    let (plant, subject) = (plant(), many());
    let mut desk = plant.open(subject.clone(), "anna");
    let made = desk.decide_all(&anna(), minutes_after(AFTER, 0), &decisions(&subject, "destroyed"));
    assert!(made.is_ok(), "{made:?}");
    assert_eq!(desk.lines().len(), COUNT + 1, "and the line that opens the review");
    let sequences: Vec<u64> = desk.lines().iter().map(journal::Line::sequence).collect();
    assert_eq!(sequences, (1..=COUNT as u64 + 1).collect::<Vec<_>>());
    for item in &subject.exceptions {
        let Some((settlement, mark)) = desk.state().resolution(&item.id) else {
            panic!("{item:?}")
        };
        assert_eq!(Some(&settlement.quantity), item.quantity.as_ref());
        assert_eq!((settlement.lot.as_str(), mark.by.as_str()), (item.lots[0].as_str(), "anna"));
    }
    // Whoever reads it sees the same.
    assert_eq!(plant.open(subject.clone(), "ben").state(), desk.state());
    assert!(desk.verification().is_intact(), "{:#?}", desk.verification());
    // And all of them are taken back in one go.
    let back = subject.exceptions.iter();
    let back = back.map(|item| (ItemKind::Exception, item.id.clone()));
    let back: Vec<_> = back.map(|(of, item)| Decision::Withdrawn { of, item }).collect();
    assert!(desk.decide_all(&anna(), minutes_after(AFTER, 1), &back).is_ok());
    assert_eq!(desk.state().progress().exceptions, (0, COUNT));
}

#[test]
fn one_that_breaks_a_rule_keeps_all_of_them_out_and_is_named() {
    let (plant, subject) = (plant(), many());
    let mut desk = plant.open(subject.clone(), "anna");
    let mut wrong = decisions(&subject, "destroyed");
    let Some(Decision::Settled(settlement)) = wrong.get_mut(117) else { panic!("a settlement") };
    settlement.cause.clear();
    let refused = desk.decide_all(&anna(), minutes_after(AFTER, 0), &wrong);
    let Err(error @ Error::Refused(_)) = refused else { panic!("{refused:?}") };
    let told = error.to_string();
    assert!(told.contains("required: cause; none of the 200 was entered"), "{told}");
    assert_eq!((bytes(&plant.journal()).len(), desk.lines().len()), (0, 0));
    // Each is made on what those before it have left: what is withdrawn twice is not there any more.
    assert!(
        desk.decide_all(&anna(), minutes_after(AFTER, 0), &decisions(&subject, "destroyed"))
            .is_ok()
    );
    let back = Decision::Withdrawn { of: ItemKind::Exception, item: "0000".to_owned() };
    let twice = desk.decide_all(&anna(), minutes_after(AFTER, 1), &[back.clone(), back]);
    assert!(matches!(twice, Err(Error::Refused(_))), "{twice:?}");
    assert_eq!(desk.lines().len(), COUNT + 1);
}

/// Releasing product is signed: each line by itself, and the ledger knows the last of them.
#[test]
fn what_is_signed_is_signed_line_by_line_and_entered_in_the_ledger_once() {
    let (plant, subject) = (plant(), many());
    let mut desk = plant.open(subject.clone(), "anna");
    let released = decisions(&subject, "released");
    let refused = desk.decide_all(&anna(), minutes_after(AFTER, 0), &released);
    assert!(matches!(refused, Err(Error::NeedsKey { .. })), "{refused:?}");
    let Books { ledger: before, .. } = plant.books();
    let before = before.ok().flatten().map_or(0, |ledger| ledger.len());
    assert!(desk.decide_all_signed(&plant.anna, minutes_after(AFTER, 0), &released).is_ok());
    assert_eq!(desk.lines().iter().filter(|line| line.signature().is_some()).count(), COUNT);
    assert_eq!(desk.state().failing().count(), 0);
    let after = plant.books().ledger.ok().flatten().map_or(0, |ledger| ledger.len());
    assert_eq!(after, before + 1);
    assert!(desk.verification().is_intact(), "{:#?}", desk.verification());
}

/// A machine that stops while the lines are written leaves the first of them, and the rest is open.
#[test]
fn where_writing_stopped_what_is_there_counts_and_the_rest_is_open() {
    let (plant, subject) = (plant(), many());
    let mut desk = plant.open(subject.clone(), "anna");
    let made = decisions(&subject, "destroyed");
    assert!(desk.decide_all(&anna(), minutes_after(AFTER, 0), &made).is_ok());
    let whole = bytes(&plant.journal());
    drop(desk);
    for length in (1..whole.len()).step_by(997) {
        assert!(std::fs::write(plant.journal(), &whole[..length]).is_ok());
        let register = plant.paths().register;
        let holder = review::Holder("anna".to_owned());
        let (books, now) = (move || Books::read(&register), tests::people::NOW);
        let opened = review::Desk::open(plant.paths(), books, subject.clone(), holder, now);
        let Ok((mut desk, torn)) = opened else { panic!("{length}: {opened:?}") };
        let lines = whole[..length].split(|byte| *byte == b'\n').count() - 1;
        assert_eq!(desk.state().progress().exceptions.0, lines.saturating_sub(1), "{length}");
        assert_eq!(torn.is_some(), whole[length - 1] != b'\n', "{length}: it is told");
        // Whoever makes the rest makes nothing twice.
        let rest: Vec<Decision> = made.iter().skip(lines.saturating_sub(1)).cloned().collect();
        assert!(desk.decide_all(&anna(), minutes_after(AFTER, 1), &rest).is_ok(), "{length}");
        assert_eq!(desk.state().progress().exceptions, (COUNT, COUNT), "{length}");
        assert_eq!(desk.lines().len(), COUNT + 1, "{length}");
    }
}
