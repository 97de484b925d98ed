//! Tests of the equipment and seals with the real program: entered in the plant's register, told on the
//! days after, and a day with a broken seal that is approved only when somebody has said what that means.

use tests::place::Place;

fn test<'a>(test: &'a str, on: &'a str, more: &[&'a str]) -> Vec<&'a str> {
    let fixed = ["equipment", "test", "--by", "ben", "--passphrase-fd", "0", "--unit", "HTST-1"];
    let said = ["--figure", "0.8 s", "--limit", "1 s", "--tested-by", "C. Example (invented)"];
    [&fixed[..], &["--test", test, "--on", on], &said, more].concat()
}

fn seal<'a>(command: &'a str, number: &'a str, at: &'a str, more: &[&'a str]) -> Vec<&'a str> {
    let fixed = ["equipment", command, "--by", "ben", "--passphrase-fd", "0", "--unit", "HTST-1"];
    [&fixed[..], &["--seal", number, "--at", at], more].concat()
}

const BROKEN: [&str; 4] = ["--broken-by", "maintenance", "--reason", "belt changed"];

#[test]
fn a_test_is_in_time_and_then_overdue() {
    let place = Place::with_signers();
    let list =
        |status: i32, on: &str| place.expect(status, &["equipment", "list", "--on", on]).output;
    assert!(list(1, "2026-03-14").contains("no test is entered"));
    let unknown = place.run(&test("valve", "2026-01-14", &["--passed"]));
    assert!(unknown.complaint.contains("flow_diversion_device"), "{unknown:#?}");
    let early = place.run(&test("holding_time", "2126-01-14", &["--passed"]));
    assert!(early.complaint.contains("later than today"), "{early:#?}");
    place.expect(0, &test("flow_diversion_device", "2026-01-14", &["--passed"]));
    let in_time = list(0, "2026-04-14");
    assert!(
        in_time.contains("0.8 s against 1 s, on 2026-01-14 by C. Example (invented)"),
        "{in_time}"
    );
    let overdue = list(1, "2026-04-15");
    assert!(overdue.contains("WANTING  flow diversion device"), "{overdue}");
    // The day of the record: in time, so silent; the plant that asks for more is told what it lacks.
    let log = |place: &Place| place.run(&["days", "."]).output;
    assert!(!log(&place).contains("flow diversion device"), "{}", log(&place));
    let plant = String::from_utf8_lossy(&place.read("plant.toml")).into_owned();
    place.write("plant.toml", &format!("{plant}\n[equipment]\ntests = [\"holding_time\"]\n"));
    assert!(log(&place).contains("holding time: no test is entered"), "{}", log(&place));
    // A failed test is no test in time.
    place.expect(0, &test("flow_diversion_device", "2026-03-13", &["--failed"]));
    assert!(log(&place).contains("failed on 2026-03-13"), "{}", log(&place));
    // A technician keeps no register.
    let mut by_anna = test("holding_time", "2026-01-14", &["--passed"]);
    by_anna[3] = "anna";
    assert_eq!(place.run(&by_anna).status, Some(2));
}

#[test]
fn a_day_with_a_broken_seal_is_approved_with_a_word_about_it() {
    let place = Place::with_signers();
    let applied = ["--part", "timing pump", "--applied-by", "C. Example (invented)"];
    place.expect(0, &seal("seal", "4711", "2026-01-14 09:00", &applied));
    let none = place.run(&seal("seal-broken", "4712", "2026-03-14 06:01", &BROKEN));
    assert!(none.complaint.contains("no seal 4712"), "{none:#?}");
    place.expect(0, &seal("seal-broken", "4711", "2026-03-14 06:01", &BROKEN));
    place.resolve_all();
    assert_eq!(place.sign("anna", "reviewed").status, Some(0), "a review is no approval");
    let refused = place.sign("ben", "approved");
    assert_eq!(refused.status, Some(2), "{refused:#?}");
    assert!(refused.complaint.contains("a seal was broken"), "{refused:#?}");
    let note = |number: &str| {
        let fixed = ["review", "note-seal", "2026-03-14.csv", "--by", "anna", "--seal", number];
        place.run(&[&fixed[..], &["--reason", "the pump's speed was not touched"]].concat())
    };
    assert!(note("1").complaint.contains("no seal"), "{:#?}", note("1"));
    assert_eq!(note("4711").status, Some(0));
    assert_eq!(place.sign("ben", "approved").status, Some(0));
    let verified = place.verify();
    assert_eq!(verified.status, Some(0), "{verified:#?}");
    assert!(verified.output.contains("seal 4711"), "{verified:#?}");
    place.expect(0, &["report", "2026-03-14.csv", "--format", "pdf", "--output", "day.pdf"]);
    let mut command = place.command(std::path::Path::new("pdftotext"));
    command.args(["-layout", "day.pdf", "-"]);
    let paper = Place::told(command).output;
    let paper = paper.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(paper.contains("Tests of the equipment and seals"), "{paper}");
    assert!(paper.contains("the pump's speed was not touched"), "{paper}");
    // A seal that is entered as broken after the approval changes nothing that was signed.
    place.expect(0, &seal("seal", "4713", "2026-03-14 05:00", &applied));
    place.expect(0, &seal("seal-broken", "4713", "2026-03-14 06:01", &BROKEN));
    let later = place.verify();
    assert_eq!(later.status, Some(0), "{later:#?}");
    assert!(later.output.contains("entered after the approval"), "{later:#?}");
}

/// A holding time test is shorter than the certificate in the plant file: told from its day on, and nothing is
/// approved until the plant file has it.
#[test]
fn a_holding_time_test_feeds_the_tube() {
    let place = Place::with_signers();
    let plant = String::from_utf8_lossy(&place.read("plant.toml")).into_owned();
    let with = |figure: &str, on: &str| {
        let (time, flow) = figure.split_once(" at ").unwrap_or_default();
        let tube = format!("test_time = \"{time}\"\ntest_flow = \"{flow}\"\ntested_on = \"{on}\"");
        place.write("plant.toml", &format!("{plant}\n[tube]\n{tube}\n"));
        place.approve();
    };
    let certificate = "16.2 s at 50 gal/min";
    with(certificate, "2026-01-14");
    let held = |on: &str, figure: &str, result: &str| {
        let fixed =
            ["equipment", "test", "--by", "ben", "--passphrase-fd", "0", "--unit", "HTST-1"];
        let said = ["--test", "holding_time", "--on", on, "--figure", figure, "--limit", "15 s"];
        place.run(&[&fixed[..], &said, &["--tested-by", "C. Example (invented)", result]].concat())
    };
    let refused = held("2026-01-14", "16.2 s", "--passed");
    assert!(refused.complaint.contains("the time with the flow of the test"), "{refused:#?}");
    assert_eq!(held("2026-01-14", certificate, "--passed").status, Some(0));
    let list = |status, on: &str| place.expect(status, &["equipment", "list", "--on", on]).output;
    assert!(list(0, "2026-03-14").contains("as in the register"), "{}", list(0, "2026-03-14"));
    let log = || place.run(&["days", "."]).output;
    assert!(!log().contains("holding tube"), "{}", log());
    let result = || place.run(&["audit", "--format", "result", "2026-03-14.csv"]).output;
    let before = result();

    // Made after the day: nothing to that day. Made before it: told, and the result stays what it was.
    assert_eq!(held("2026-03-15", "15.1 s at 50 gal/min", "--passed").status, Some(0));
    assert!(!log().contains("holding tube"), "{}", log());
    assert_eq!(held("2026-03-10", "15.8 s at 50 gal/min", "--passed").status, Some(0));
    let less = "the test of 2026-03-10 (15.8 s at 50 gal/min) shows a shorter holding time than the certificate of 2026-01-14 (16.2 s at 50 gal/min), which the audit used";
    assert!(log().contains(less), "{}", log());
    assert!(list(1, "2026-03-14").contains(&format!("WANTING  holding tube: {less}")));
    assert_eq!(result(), before);

    place.resolve_all();
    assert_eq!(place.sign("anna", "reviewed").status, Some(0), "a review is no approval");
    let open = place.run(&["review", "list", "2026-03-14.csv"]).output;
    assert!(open.contains(&format!("holding tube  {less}  before the approval")), "{open}");
    let refused = place.sign("ben", "approved");
    assert_eq!(refused.status, Some(2), "{refused:#?}");
    assert!(refused.complaint.contains("take the test over into the plant file"), "{refused:#?}");

    // The plant file takes it over; the journal says by which certificate the record was audited.
    with("15.8 s at 50 gal/min", "2026-03-10");
    place.expect(0, &["review", "re-audit", "2026-03-14.csv", "--by", "anna"]);
    place.resolve_all();
    place.sign_twice();
    let verified = place.verify();
    assert_eq!(verified.status, Some(0), "{verified:#?}");
    let link = "holds  holding tube: the audit used the certificate of 2026-03-10 (15.8 s at 50 gal/min), as in the register";
    assert!(verified.output.contains(link), "{verified:#?}");
    let journal = String::from_utf8_lossy(&place.read("2026-03-14.review.jsonl")).into_owned();
    for tube in [
        r#""tube":{"certificate":"16.2 s at 50 gal/min","tested_on":"2026-01-14"}"#,
        r#""tube":{"certificate":"15.8 s at 50 gal/min","tested_on":"2026-03-10"}"#,
    ] {
        assert!(journal.contains(tube), "{journal}");
    }
    assert!(!log().contains("holding tube"), "{}", log());

    // What is entered after the approval changes nothing that was signed, and is told.
    assert_eq!(held("2026-03-12", "15.0 s at 50 gal/min", "--passed").status, Some(0));
    let later = place.verify();
    assert_eq!(later.status, Some(0), "{later:#?}");
    assert!(later.output.contains("entered after the approval"), "{later:#?}");
    assert!(log().contains("the test of 2026-03-12"), "{}", log());
    place.expect(0, &["report", "2026-03-14.csv", "--format", "pdf", "--output", "day.pdf"]);
    let mut command = place.command(std::path::Path::new("pdftotext"));
    command.args(["-layout", "day.pdf", "-"]);
    let paper = Place::told(command).output;
    let paper = paper.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        paper.contains("Holding tube: the test of 2026-03-12 (15.0 s at 50 gal/min) shows a shorter holding time"),
        "{paper}"
    );
}

#[test]
fn a_qualification_is_in_the_register() {
    let place = Place::with_signers();
    let qualify = ["signer", "qualify", "--by", "ben", "--signer", "anna", "--on", "2025-06-01"];
    let what = ["--qualification", "preventive controls qualified individual"];
    place.expect(0, &[&qualify[..], &what, &["--passphrase-fd", "0"]].concat());
    let list = place.expect(0, &["signer", "list"]);
    assert!(
        list.output.contains("preventive controls qualified individual, 2025-06-01"),
        "{list:#?}"
    );
    let nobody = ["signer", "qualify", "--by", "ben", "--signer", "nobody", "--on", "2025-06-01"];
    let told = place.run(&[&nobody[..], &what, &["--passphrase-fd", "0"]].concat());
    assert_eq!(told.status, Some(2), "{told:#?}");
}
