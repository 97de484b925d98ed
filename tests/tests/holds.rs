//! Product on hold with the real program: from an exception to its release, and what is seen when
//! something is wrong with it.

use serde_json::Value;
use tests::place::{Place, record};

const TAG: &str = "2026-03-14-H1";

/// A record whose two exceptions are on hold under one tag, signed twice.
fn on_hold() -> Place {
    let place = Place::with_signers();
    let resolve = ["review", "resolve", "2026-03-14.csv", "--by", "anna", "--all-open"];
    let why = ["--cause", "steam valve stuck", "--action", "valve freed", "--disposition", "held"];
    place.expect(0, &[&resolve[..], &why, &["--tank", "T4", "--lot", "A-01"]].concat());
    place.close_all();
    place.complete();
    place.sign_twice();
    place
}

fn end_hold<'a>(by: &'a str, more: &[&'a str]) -> Vec<&'a str> {
    let fixed = ["review", "end-hold", "2026-03-14.csv", "--by", by, "--hold", TAG];
    [&fixed[..], &["--passphrase-fd", "0"], more].concat()
}

const RESULT: [&str; 14] = [
    "--lab-test",
    "alkaline phosphatase",
    "--lab-method",
    "fluorometric",
    "--lab-limit",
    "350",
    "--lab-unit",
    "mU/L",
    "--laboratory",
    "Example Laboratory (invented)",
    "--lab-date",
    "2026-03-16",
    "--reason",
    "nothing found",
];

/// T4 was filled on the day before and not emptied, and once more on the day after; T5 is another tank, and what went into T4
/// before it was emptied is not in it.
#[test]
fn a_tank_is_followed_over_the_days() {
    let place = Place::with_signers();
    let head = "start,end,product,lot,tank,quantity (gal),emptied\n";
    for (date, sheet) in [
        ("2026-03-12", "2026-03-12 06:00,2026-03-12 06:02,milk,A-12,T4,5,2026-03-12 20:00\n"),
        (
            "2026-03-13",
            "2026-03-13 06:00,2026-03-13 06:01,milk,A-13,tank t4,40,\n\
                        2026-03-13 06:01,2026-03-13 06:02,milk,B-13,T5,40,\n",
        ),
        ("2026-03-14", "2026-03-14 06:00,2026-03-14 06:02,milk,A-14,T4,80,\n"),
        ("2026-03-15", "2026-03-15 06:00,2026-03-15 06:02,milk,A-15,T4,,2026-03-15 07:30\n"),
        ("2026-03-16", "2026-03-16 06:00,2026-03-16 06:02,milk,A-16,T4,,\n"),
    ] {
        place.write(&format!("{date}.csv"), &record(date));
        place.write(&format!("{date}.run-sheet.csv"), &format!("{head}{sheet}"));
    }
    let resolve = ["review", "resolve", "2026-03-14.csv", "--by", "anna", "--all-open"];
    let why = ["--cause", "steam valve stuck", "--action", "valve freed", "--disposition", "held"];
    place.expect(0, &[&resolve[..], &why, &["--tank", "T4"]].concat());
    let held = place.expect(1, &["holds", "."]).output;
    let account = "    tank T4, all of it: lot A-13 (milk, 2026-03-13 06:00 to 2026-03-13 06:01, 40 gal stated), \
                   lot A-14 (milk, 2026-03-14 06:00 to 2026-03-14 06:02, 80 gal stated), \
                   lot A-15 (milk, 2026-03-15 06:00 to 2026-03-15 06:02); emptied 2026-03-15 07:30\n";
    assert!(held.contains(account), "{held}");
    let json = place.expect(1, &["holds", ".", "--format", "json"]).output;
    let json: Value = tests::good(serde_json::from_str(&json));
    assert_eq!(json["tanks"].as_array().map(Vec::len), Some(1), "{json}");
    assert_eq!(json["tanks"][0]["hold"], TAG);
}

#[test]
fn a_hold_from_exception_to_release() {
    let place = on_hold();
    assert_eq!(place.verify().status, Some(0), "a signed record may have product on hold");
    let held = place.expect(1, &["holds", "."]);
    assert!(
        held.output.contains(&format!("{TAG}: 5 gal + 3.4 gal; lot A-01; tank T4")),
        "{held:#?}"
    );
    assert!(held.output.contains("by Anna Example (invented)"), "{held:#?}");
    let log = place.run(&["days", "."]);
    assert!(log.output.contains("; 1 hold open"), "{log:#?}");
    let summary = place.expect(0, &["summary", "."]);
    assert!(summary.output.contains("On hold"), "{summary:#?}");

    // A result above its limit releases nothing, nor does a technician, nor does a name alone.
    let released = ["--outcome", "released"];
    let high =
        place.run(&end_hold("ben", &[&RESULT[..], &released, &["--lab-value", "351"]].concat()));
    assert_eq!(high.status, Some(2), "{high:#?}");
    assert!(high.complaint.contains("product is not released on this result"), "{high:#?}");
    let good = [&RESULT[..], &released, &["--lab-value", "<40"]].concat();
    let technician = place.run(&end_hold("anna", &good));
    assert_eq!(technician.status, Some(2), "{technician:#?}");
    let unknown = place.run(
        &end_hold("ben", &good)
            .iter()
            .map(|one| if *one == TAG { "no such tag" } else { one })
            .collect::<Vec<_>>(),
    );
    assert!(unknown.complaint.contains("nothing is on hold as"), "{unknown:#?}");
    place.expect(0, &end_hold("ben", &good));

    assert_eq!(place.verify().status, Some(0), "the signatures stand");
    let none = place.expect(0, &["holds", "."]);
    assert!(none.output.contains("Nothing is on hold."), "{none:#?}");
    let all = place.expect(0, &["holds", ".", "--all"]);
    for words in ["by Ben Example (invented)", "nothing found", "<40 mU/L (at most 350 mU/L)"] {
        assert!(all.output.contains(words), "{words}: {all:#?}");
    }
    let json: Value =
        serde_json::from_str(&place.expect(0, &["holds", ".", "--format", "json"]).output)
            .unwrap_or_default();
    assert_eq!(json["holds"][0]["outcome"], "released", "{json:#}");
    let csv = place.expect(0, &["holds", ".", "--format", "csv"]).output;
    assert_eq!(csv.lines().count(), 2, "{csv}");

    // Taken back, it is on hold again.
    let withdraw = ["review", "withdraw", "2026-03-14.csv", "--by", "ben", "--hold", TAG];
    place.expect(0, &[&withdraw[..], &["--passphrase-fd", "0"]].concat());
    place.expect(1, &["holds", "."]);
}

#[test]
fn the_file_that_ended_a_hold_is_verified() {
    let place = on_hold();
    place.write("result.txt", "nothing found\n");
    let why = ["--outcome", "destroyed", "--reason", "poured away", "--file"];
    place.write("config/elsewhere.txt", "x");
    let elsewhere = place.run(&end_hold("ben", &[&why[..], &["config/elsewhere.txt"]].concat()));
    assert!(elsewhere.complaint.contains("evidence is kept with the record"), "{elsewhere:#?}");
    place.expect(0, &end_hold("ben", &[&why[..], &["result.txt"]].concat()));
    let verified = place.verify();
    assert_eq!(verified.status, Some(0), "{verified:#?}");
    assert!(verified.output.contains(&format!("evidence result.txt, hold {TAG}")), "{verified:#?}");
    place.write("result.txt", "nothing found.\n");
    let changed = place.verify();
    assert_eq!(changed.status, Some(1), "{changed:#?}");
    assert!(changed.output.contains("it was changed"), "{changed:#?}");
}

/// What is on hold says so on paper, in the head of every page, and what ended it afterwards.
#[test]
fn a_hold_is_on_paper() {
    let place = on_hold();
    let text = || {
        place.expect(0, &["report", "2026-03-14.csv", "--format", "pdf", "--output", "day.pdf"]);
        let mut command = place.command(std::path::Path::new("pdftotext"));
        command.args(["-layout", "day.pdf", "-"]);
        Place::told(command).output
    };
    let open = text();
    let head = format!("product on hold: {}", TAG.to_lowercase());
    assert!(open.to_lowercase().matches(&head).count() >= 2, "{open}");
    assert!(open.contains("1 hold is open."), "{open}");
    let good = [&RESULT[..], &["--outcome", "released", "--lab-value", "40"]].concat();
    place.expect(0, &end_hold("ben", &good));
    let ended = text();
    assert!(!ended.to_lowercase().contains(&head), "{ended}");
    assert!(ended.contains("by Ben Example (invented): nothing found"), "{ended}");
}
