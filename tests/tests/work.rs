//! `holdtrace work`: what waits for whom, with the real program, from a record that nobody has opened to
//! its approval.

use serde_json::Value;
use tests::place::Place;

fn list(place: &Place, by: &str) -> Value {
    let told = place.run(&["work", ".", "--by", by, "--format", "json"]);
    serde_json::from_str(&told.output).unwrap_or_else(|error| panic!("{error}: {told:#?}"))
}

#[test]
fn a_record_waits_for_the_technician_then_for_the_supervisor_then_for_nobody() {
    let place = Place::with_signers();
    let unread = place.expect(1, &["work", ".", "--by", "anna"]);
    assert!(unread.output.starts_with("For Anna Example (invented): 1 item\n"), "{unread:#?}");
    let line = "2026-03-14  HTST-1  2026-03-14.csv  to review";
    for words in [line, "(technician, review due 2026-03-24)", "For others: 0 items", "1 to review"]
    {
        assert!(unread.output.contains(words), "{words}: {unread:#?}");
    }
    place.expect(0, &["work", ".", "--by", "ben"]);
    place.expect(1, &["work", "."]);
    let resolve = ["review", "resolve", "2026-03-14.csv", "--by", "anna", "--all-open"];
    let why = ["--cause", "steam valve stuck", "--action", "valve freed", "--disposition", "held"];
    place.expect(0, &[&resolve[..], &why, &["--tank", "T4", "--lot", "A-01"]].concat());
    let json = list(&place, "ben");
    assert_eq!(json["items"][0]["waits_for"], "hold_end", "{json:#}");
    assert_eq!(json["items"][0]["mine"], true, "{json:#}");
    place.close_all();
    place.complete();
    place.sign_twice();
    let json = list(&place, "anna");
    assert_eq!(json["items"].as_array().map(Vec::len), Some(1), "{json:#}");
    assert_eq!(json["items"][0]["role"], "supervisor", "{json:#}");
    assert_eq!(json["items"][0]["before"][0]["what"], "put on hold", "{json:#}");
    place.expect(0, &["work", ".", "--by", "anna"]);

    // Somebody whom no register knows has no list.
    let unknown = place.expect(2, &["work", ".", "--by", "eve"]);
    assert!(unknown.complaint.contains("knows \"eve\""), "{unknown:#?}");
}

#[test]
fn who_reviewed_does_not_approve() {
    let place = Place::with_signers();
    place.resolve_all();
    let sign = |by: &str, meaning: &str| {
        let told = place.sign(by, meaning);
        assert_eq!(told.status, Some(0), "{told:#?}");
    };
    sign("ben", "reviewed");
    let json = list(&place, "ben");
    assert_eq!(json["items"][0]["waits_for"], "approval", "{json:#}");
    assert_eq!(json["items"][0]["mine"], false, "{json:#}");
    assert_eq!(json["items"][0]["before"][0]["name"], "Ben Example (invented)", "{json:#}");
    place.second_supervisor();
    assert_eq!(list(&place, "cleo")["items"][0]["mine"], true);
    sign("cleo", "approved");
    assert_eq!(list(&place, "cleo")["items"], serde_json::json!([]));
}
