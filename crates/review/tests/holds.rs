//! Product on hold, on disk and with real keys: put on hold, signed, ended with evidence, and what is
//! seen when the evidence changes.

use journal::Stamp;
use review::{
    Decision, Ending, Error, ItemKind, LaboratoryResult, Outcome, Reviewed, Settlement, Shown,
    Stage, Subject,
};
use tests::good;
use tests::people::{id, minutes_after};
use tests::site::{self, Site, exception};

fn stamp(minutes: i64) -> Stamp {
    minutes_after(1_773_486_000_000, minutes)
}

fn subject() -> Subject {
    Subject {
        end: "2026-03-14T05:30:00.000-05:00".to_owned(),
        exceptions: vec![exception("a1", "early")],
        ..site::subject()
    }
}

fn held(tag: &str) -> Decision {
    Decision::Settled(Settlement {
        exception: "a1".to_owned(),
        cause: "steam valve stuck".to_owned(),
        action: "valve freed".to_owned(),
        disposition: "held".to_owned(),
        quantity: "140 gal".to_owned(),
        lot: "L-1".to_owned(),
        tank: "T4".to_owned(),
        hold_tag: tag.to_owned(),
        ..Settlement::default()
    })
}

fn released(evidence: Shown) -> Decision {
    let (hold, reason) = ("2026-03-14-H1".to_owned(), "the laboratory found nothing".to_owned());
    Decision::HoldEnded(Ending { hold, outcome: Outcome::Released, reason, evidence })
}

fn found() -> Shown {
    Shown::Laboratory(LaboratoryResult {
        test: "alkaline phosphatase".to_owned(),
        method: "fluorometric".to_owned(),
        value: "40".to_owned(),
        limit: "350".to_owned(),
        unit: "mU/L".to_owned(),
        laboratory: "Example Laboratory (invented)".to_owned(),
        date: "2026-03-15".to_owned(),
    })
}

fn plant() -> Site {
    Site::new([stamp(-20), stamp(-10)])
}

fn reviewed(plant: &Site) -> Reviewed {
    plant.reviewed(&subject(), None)
}

#[test]
fn from_an_exception_to_a_release_by_a_supervisor() {
    let plant = plant();
    let mut desk = plant.open(subject(), "anna");
    let untagged = desk.decide(&id("anna"), stamp(0), &held(" "));
    assert!(
        matches!(&untagged, Err(Error::Refused(why)) if why.to_string().contains("the tag")),
        "{untagged:?}"
    );
    assert_eq!(desk.next_hold_tag(), "2026-03-14-H1");
    good(desk.decide(&id("anna"), stamp(0), &held("2026-03-14-H1")));
    assert_eq!(desk.next_hold_tag(), "2026-03-14-H2");
    good(plant.sign(&mut desk, [stamp(1), stamp(2)]));
    let on_hold = reviewed(&plant);
    assert_eq!(on_hold.stage, Stage::Signed);
    assert_eq!(on_hold.holds()[0].what(), "140 gal; lot L-1; tank T4");
    assert!(on_hold.holds()[0].is_open());

    // A name is not enough, nor is a technician's key.
    let by_name = desk.decide(&id("ben"), stamp(3), &released(found()));
    assert!(matches!(by_name, Err(Error::NeedsKey { .. })), "{by_name:?}");
    let technician = desk.decide_signed(&plant.anna, stamp(3), &released(found()));
    assert!(matches!(technician, Err(Error::NotEntitled { .. })), "{technician:?}");
    good(desk.decide_signed(&plant.ben, stamp(4), &released(found())));
    let ended = reviewed(&plant);
    assert_eq!((ended.stage, ended.faults.as_slice()), (Stage::Signed, &[][..]));
    assert!(!ended.holds()[0].is_open());

    let back = Decision::Withdrawn { of: ItemKind::HoldEnd, item: "2026-03-14-H1".to_owned() };
    good(desk.decide_signed(&plant.ben, stamp(5), &back));
    assert!(reviewed(&plant).holds()[0].is_open());
}

#[test]
fn a_file_that_is_evidence_must_stay_as_it_was() {
    let plant = plant();
    let mut desk = plant.open(subject(), "anna");
    good(desk.decide(&id("anna"), stamp(0), &held("2026-03-14-H1")));
    good(plant.sign(&mut desk, [stamp(1), stamp(2)]));
    let file = plant.folder.path().join("result.pdf");
    assert!(matches!(desk.evidence(&file), Err(Error::Evidence { .. })), "it is not there");
    let elsewhere = good(tempfile::NamedTempFile::new());
    let refused = desk.evidence(elsewhere.path());
    assert!(matches!(refused, Err(Error::Refused(_))), "{refused:?}");
    good(std::fs::write(&file, "nothing found"));
    let evidence = Shown::File(good(desk.evidence(&file)));
    good(desk.decide_signed(&plant.ben, stamp(3), &released(evidence)));
    assert_eq!(reviewed(&plant).stage, Stage::Signed);
    good(std::fs::write(&file, "nothing found!"));
    let changed = reviewed(&plant);
    assert_eq!(changed.stage, Stage::ChangedSinceSigning);
    assert!(changed.faults[0].contains("result.pdf, hold 2026-03-14-H1"), "{:?}", changed.faults);
    good(std::fs::remove_file(&file));
    assert_eq!(reviewed(&plant).stage, Stage::ChangedSinceSigning);
}
