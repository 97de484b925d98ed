//! Product on hold with the real program: from an exception to its release, and what is seen when
//! something is wrong with it.

use serde_json::Value;
use tests::place::{Place, record};

const TAG: &str = "2026-03-14-H1";

/// A record whose two exceptions are on hold under one tag, signed twice.
fn on_hold() -> Place {
    let place = Place::with_signers();
    hold(&place);
    place.sign_twice();
    place
}

/// Puts both exceptions on hold, and does all that comes before signing.
fn hold(place: &Place) {
    let resolve = ["review", "resolve", "2026-03-14.csv", "--by", "anna", "--all-open"];
    let why = ["--cause", "steam valve stuck", "--action", "valve freed", "--disposition", "held"];
    place.expect(0, &[&resolve[..], &why, &["--tank", "T4", "--lot", "A-01"]].concat());
    place.close_all();
    place.complete();
}

/// A place whose plant says something of its reviews.
fn whose_plant_says(setting: &str) -> Place {
    let place = Place::with_signers();
    let plant = tests::good(String::from_utf8(place.read("plant.toml")));
    place.write("plant.toml", &format!("{plant}{setting} = true\n"));
    place.approve();
    hold(&place);
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
fn days_with_tanks() -> Place {
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
    place
}

#[test]
fn a_tank_is_followed_over_the_days() {
    let place = days_with_tanks();
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

/// What a person reads on the paper of a record.
fn on_paper(place: &Place, report: &[&str]) -> String {
    place.expect(0, &[&["report"], report, &["--output", "day.pdf"]].concat());
    let mut command = place.command(std::path::Path::new("pdftotext"));
    command.args(["-layout", "day.pdf", "-"]);
    let told = Place::told(command).output;
    told.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn json_of(place: &Place, report: &[&str]) -> Value {
    let told = place.expect(0, &[&["report"], report, &["--format", "json"]].concat());
    tests::good(serde_json::from_str(&told.output))
}

/// Before anything is on hold, the paper of a record says what else is in the tanks that took what passed, and
/// from which run sheets that is known.
#[test]
fn a_tank_is_on_the_paper_of_a_record_with_the_days_before_and_after() {
    let place = days_with_tanks();
    let paper = on_paper(&place, &["2026-03-14.csv"]);
    let brief = "tank T4: lots A-13, A-14, A-15; emptied 2026-03-15 07:30";
    assert!(paper.contains(brief), "on the first page: {paper}");
    for words in [
        "T4: lots A-13, A-14, A-15; emptied 2026-03-15 07:30",
        "Tanks that took what passed",
        "Tank T4, exceptions 1, 2. Emptied 2026-03-15 07:30.",
        "2026-03-13 06:00 to 06:01 HTST-1 milk A-13 40 gal 2026-03-13.csv",
        "2026-03-14 06:00 to 06:02 HTST-1 milk A-14 80 gal this record",
        "2026-03-15 06:00 to 06:02 HTST-1 milk A-15 2026-03-15.csv",
        "By the run sheets of the 5 records in the folder from 2026-03-12 to 2026-03-16.",
    ] {
        assert!(paper.contains(words), "{words:?}: {paper}");
    }
    for words in ["A-12", "A-16", "B-13", "on other days is not known"] {
        assert!(!paper.contains(words), "{words:?}: {paper}");
    }
    let json = json_of(&place, &["2026-03-14.csv"]);
    let [account] = json["tanks"]["accounts"].as_array().map_or(&[][..], Vec::as_slice) else {
        panic!("{:#}", json["tanks"])
    };
    assert_eq!(account["runs"].as_array().map(Vec::len), Some(3), "{account:#}");
    assert_eq!(account["exceptions"].as_array().map(Vec::len), Some(2), "{account:#}");
    assert_eq!(json["tanks"]["records_looked_at"], 5);
}

/// What was not looked at is not left out in silence, and no account where no tank is known.
#[test]
fn a_tank_of_a_record_alone_says_that_other_days_were_not_looked_at() {
    let place = days_with_tanks();
    for folder in ["unit-1", "unit-2"] {
        tests::good(std::fs::create_dir(place.path(folder)));
    }
    for name in ["2026-03-14.csv", "2026-03-14.run-sheet.csv"] {
        tests::good(std::fs::rename(place.path(name), place.path("unit-1").join(name)));
    }
    let alone = ["unit-1/2026-03-14.csv", "--plant", "plant.toml"];
    let paper = on_paper(&place, &alone);
    let not_known = "There is no other record in the folder: what went into the tanks on other days is not known.";
    assert_eq!(paper.matches(not_known).count(), 2, "first page and account: {paper}");
    assert!(paper.contains("tank T4: lot A-14; when it was emptied is in no run sheet"), "{paper}");
    assert!(json_of(&place, &alone)["tanks"]["looked_at"] == not_known);
    // Another pasteurizer's, in a folder beside, once it is named; a record that can't be read is told.
    place.write("unit-2/2026-03-14.csv", "no trace\n");
    let both = [&alone[..], &["--folder", "."]].concat();
    let paper = on_paper(&place, &both);
    assert!(paper.contains("tank T4: lots A-13, A-14, A-15; emptied"), "{paper}");
    assert!(
        paper.contains("1 record that can't be read: what went into the tanks there is not known."),
        "{paper}"
    );

    let without = Place::new();
    assert!(json_of(&without, &["2026-03-14.csv"]).get("tanks").is_none());
    assert!(!on_paper(&without, &["2026-03-14.csv"]).contains("Tanks that took"));
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

/// The release of what was tested.
fn release(by: &str) -> Vec<&str> {
    end_hold(by, &[&RESULT[..], &["--outcome", "released", "--lab-value", "<40"]].concat())
}

#[test]
fn a_plant_may_release_only_what_is_approved() {
    let place = whose_plant_says("release_after_approval");
    for signed in ["nothing", "reviewed"] {
        if signed != "nothing" {
            assert_eq!(place.sign("anna", signed).status, Some(0));
        }
        let early = place.run(&release("ben"));
        assert_eq!(early.status, Some(2), "{signed}: {early:#?}");
        let why = "the plant releases product only once its record is approved";
        assert!(early.complaint.contains(why), "{signed}: {early:#?}");
    }
    assert_eq!(place.sign("ben", "approved").status, Some(0));
    place.expect(0, &release("ben"));
}

/// Who may release: supervisors, unless the plant says otherwise.
#[test]
fn a_plant_may_let_technicians_release() {
    let place = whose_plant_says("technician_ends_holds");
    place.expect(0, &release("anna"));
    assert!(place.expect(0, &["holds", "."]).output.contains("Nothing is on hold."));
}
