//! What the operators wrote down on the day, from the file beside the record to exit status, JSON, paper and the
//! digests that are signed.

use std::path::{Path, PathBuf};
use tests::good;
use tests::place::Place;
use tests::program::{Told, command};

/// The stuck valve of the demo dairy (invented), with entries beside it.
fn day(entries: &str) -> (tempfile::TempDir, PathBuf) {
    let folder = good(tempfile::tempdir());
    let samples = Path::new(env!("CARGO_MANIFEST_DIR")).join("../sample-runs");
    for file in ["plant.toml", "2026-03-04-stuck-valve.csv"] {
        good(std::fs::copy(samples.join(file), folder.path().join(file)));
    }
    let name = "2026-03-04-stuck-valve.entries.csv";
    good(std::fs::write(folder.path().join(name), entries));
    let record = folder.path().join("2026-03-04-stuck-valve.csv");
    (folder, record)
}

fn run(arguments: &[&str], record: &Path) -> (String, String) {
    let mut program = command(arguments);
    let told = Told::from(good(program.arg(record).output()));
    (told.output, told.complaint)
}

/// At 05:15 the indicating thermometer shows 163.4 °F, and at 06:10:35 the device leaves forward flow at 161.9 °F,
/// falling; the plant's decimal mark is a comma.
const ENTRIES: &str = "time;entry;reading (degF);by;note\n\
    2026-03-04 05:15;indicating;163,4;R. Vale (invented);\n\
    2026-03-04 05:15;recorder;150,0;R. Vale (invented);\n\
    2026-03-04 06:10;cut_out;161,9;R. Vale (invented);\n\
    2026-03-04 08:00;occurrence;;R. Vale (invented);steam pressure low\n";

#[test]
fn entries_beside_a_record_are_held_to_it_everywhere() {
    let (_folder, record) = day(ENTRIES);
    let (text, _) = run(&["audit"], &record);
    assert!(text.contains("2026-03-04-stuck-valve.entries.csv are used"), "{text}");
    assert!(text.contains("OPERATORS' ENTRIES (4)"), "{text}");
    for line in [
        "2026-03-04 05:15  indicating thermometer 163.4 °F, R. Vale (invented); agrees: the record shows",
        "2026-03-04 05:15  recorder 150.0 °F, R. Vale (invented); does not agree: the record shows",
        "2026-03-04 06:10  cut-out test 161.9 °F, R. Vale (invented); agrees: the passage to divert was at 161.9 °F",
        "2026-03-04 08:00  unusual occurrence: steam pressure low, R. Vale (invented)",
        "present        unusual circumstances: steam pressure low",
    ] {
        assert!(text.contains(line), "{line}: {text}");
    }
    let (json, _) = run(&["audit", "--format", "json"], &record);
    let json: serde_json::Value = good(serde_json::from_str(&json));
    let checks: Vec<_> = json["operator_entries"]["entries"]
        .as_array()
        .into_iter()
        .flatten()
        .map(|one| one["check"].as_str().unwrap_or_default().to_owned())
        .collect();
    assert_eq!(checks, ["agrees", "disagrees", "agrees", "words"]);
    let closes = json["observations"].as_array().into_iter().flatten();
    let closes = closes.filter(|one| one["kind"] == "entry_disagrees" && one["rank"] == "close");
    assert_eq!(closes.count(), 1);
}

#[test]
fn a_mistake_in_the_entries_says_where_and_nothing_is_audited_without_them() {
    let (_folder, record) = day("time,entry,by,note\n2026-03-04 05:15,seal,R. Vale,fine\n");
    let (text, told) = run(&["audit"], &record);
    assert!(told.contains("entries.csv:2:2: \"seal\" is none of indicating, recorder"), "{told}");
    assert_eq!(text, "");
}

/// An entry made on the command line, whose note says what was seen.
fn add<'a>(kind: &'a str, more: &[&'a str]) -> Vec<&'a str> {
    let fixed = ["entries", "add", "2026-03-14.csv", "--by", "Robin Vale (invented)", "--entry"];
    [&fixed[..], &[kind, "--time", "2026-03-14 06:00"], more].concat()
}

const SIGN: [&str; 7] =
    ["entries", "sign", "2026-03-14.csv", "--by", "vale", "--passphrase-fd", "0"];

/// The operator's day on the command line: entries, signature, the item of the plant's list that is taken from
/// it, the link of the verification; and what was changed behind the signature.
#[test]
fn an_operator_enters_and_signs_and_the_signature_is_taken_over() {
    let place = Place::with_signers();
    let plant = String::from_utf8_lossy(&place.read("plant.toml")).into_owned();
    let asked = plant.replace("extra = [", "extra = [\"signature or initials\", ");
    place.write("plant.toml", &asked);
    place.approve();
    place.operator();
    // In which unit a thermometer was read is never assumed.
    let unit = place.run(&add("indicating", &["--reading", "162.4"]));
    assert!(unit.complaint.contains("--unit degF or --unit degC"), "{unit:#?}");
    assert!(!place.path("2026-03-14.entries.csv").exists());
    place.expect(0, &add("indicating", &["--reading", "162.4", "--unit", "degF"]));
    let refused = place.run(&add("seals", &[]));
    assert!(refused.complaint.contains("needs a note"), "{refused:#?}");
    place.expect(0, &add("seals", &["--note", "all intact"]));
    let text = String::from_utf8_lossy(&place.read("2026-03-14.entries.csv")).into_owned();
    assert_eq!(text.lines().count(), 3, "{text}");

    let paper = |status| {
        place.expect(status, &["report", "2026-03-14.csv", "--output", "day.pdf"]);
        let mut command = place.command(Path::new("pdftotext"));
        command.args(["-layout", "day.pdf", "-"]);
        let paper = Place::told(command).output;
        paper.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let taken = || {
        let enter = ["review", "enter", "2026-03-14.csv", "--by", "anna"];
        place.run(&[&enter[..], &["--entry", "signature or initials"]].concat())
    };
    assert!(taken().complaint.contains("nobody has signed"), "{:#?}", taken());
    let printed = paper(0);
    assert!(printed.contains("Not signed: nobody has signed these entries."), "{printed}");
    let signed = place.expect(0, &SIGN);
    assert!(signed.output.contains("2 entries of "), "{signed:#?}");
    place.expect(0, &place.settle(&["--all-open"]));
    place.close_all();
    place.expect(0, &["review", "acknowledge", "2026-03-14.csv", "--by", "anna", "--all-open"]);
    place.expect(0, &place.entry("unusual circumstances", "none"));
    assert_eq!(taken().status, Some(0), "{:#?}", taken());
    let listed = place.run(&["review", "list", "2026-03-14.csv"]).output;
    assert!(
        listed.contains("entry  signature or initials  Robin Vale (invented) (operator), "),
        "{listed}"
    );
    // An operator reviews nothing.
    let settle = ["review", "enter", "2026-03-14.csv", "--by", "vale", "--value", "none"];
    let told = place.run(&[&settle[..], &["--entry", "unusual circumstances"]].concat());
    assert!(
        told.complaint.contains("an operator, who signs operators\u{2019} entries"),
        "{told:#?}"
    );
    place.sign_twice();
    let verified = place.verify();
    assert_eq!(verified.status, Some(0), "{verified:#?}");
    let link = "holds  operators\u{2019} entries: signed by Robin Vale (invented) (operator), ";
    assert!(verified.output.contains(link), "{verified:#?}");

    let printed = paper(0);
    assert!(printed.contains("Signed by Robin Vale (invented) (operator), "), "{printed}");
    assert!(
        printed.contains("The signature was checked and holds for these entries."),
        "{printed}"
    );

    // One more entry: what was signed is not what is there, in the record's files and under the operator's name.
    place.expect(0, &add("occurrence", &["--note", "steam low"]));
    let changed = place.verify();
    assert_eq!(changed.status, Some(1), "{changed:#?}");
    assert!(changed.output.contains("FAILS  file 2026-03-14.entries.csv"), "{changed:#?}");
    place.expect(0, &["review", "re-audit", "2026-03-14.csv", "--by", "anna"]);
    let link = "FAILS  operators\u{2019} entries: signed by Robin Vale (invented) (operator), ";
    assert!(place.verify().output.contains(link), "{:#?}", place.verify());
    assert!(taken().complaint.contains("changed since"), "{:#?}", taken());
    let printed = paper(1);
    assert!(printed.contains("CHANGED since they were signed by Robin Vale"), "{printed}");
    assert!(!printed.contains("holds for these entries."), "{printed}");
    place.expect(0, &SIGN);
    assert!(!place.verify().output.contains(link), "{:#?}", place.verify());
}
