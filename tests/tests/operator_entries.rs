//! What the operators wrote down on the day, from the file beside the record to exit status, JSON, paper and the
//! digests that are signed.

use std::path::{Path, PathBuf};
use tests::good;
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
