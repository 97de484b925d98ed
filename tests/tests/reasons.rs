//! What a reviewer writes beside the record with the real program: why the device diverted, and a corrective action
//! in its parts.

use std::path::Path;
use tests::good;
use tests::place::{Place, reversed_twice};

/// What a person reads on the paper of the record at hand.
fn on_paper(place: &Place) -> String {
    place.expect(0, &["report", &place.record, "--output", "day.pdf"]);
    let mut command = place.command(Path::new("pdftotext"));
    command.args(["-layout", "day.pdf", "-"]);
    let told = Place::told(command).output;
    told.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A divert of which the record shows the cause may get a reason as well: it stands in the review, in the list for a
/// spreadsheet and on paper, until it is withdrawn.
#[test]
fn a_divert_gets_a_reason() {
    let place = Place::with_signers();
    place.write("2026-03-14.csv", &reversed_twice());
    let listed = place.list();
    let id = listed["diverts"][0]["item"]["id"].as_str().unwrap_or_default().to_owned();
    assert!(!id.is_empty(), "{listed:#}");
    let divert = ["review", "divert", &place.record, "--by", "anna", "--divert"];
    let why = "cut-out test by Anna Example (invented)";
    let unknown = place.run(&[&divert[..], &["no such divert", "--reason", why]].concat());
    assert_eq!(unknown.status, Some(2), "{unknown:#?}");
    let blank = place.run(&[&divert[..], &[&id, "--reason", " "]].concat());
    assert_eq!(blank.status, Some(2), "{blank:#?}");
    place.expect(0, &[&divert[..], &[&id, "--reason", why]].concat());
    let csv = || {
        let rows = ["report", &place.record, "--format", "csv", "--rows", "diverts"];
        place.expect(0, &rows).output
    };
    assert!(csv().contains(why) && on_paper(&place).contains(why), "{}", csv());
    let withdraw = ["review", "withdraw", &place.record, "--by", "anna", "--divert", &id];
    place.expect(0, &withdraw);
    assert!(!csv().contains(why) && !on_paper(&place).contains(why), "{}", csv());
}

/// Where the plant asks for it, a corrective action is not entered without each of its parts, and paper has all four.
#[test]
fn a_corrective_action_in_its_four_parts() {
    let place = Place::with_signers();
    let plant = good(String::from_utf8(place.read("plant.toml")));
    place.write("plant.toml", &format!("{plant}corrective_action_in_parts = true\n"));
    place.approve();
    let resolve = ["review", "resolve", &place.record, "--by", "anna", "--all-open"];
    let why = ["--cause", "steam valve stuck", "--action", "valve freed"];
    let done = ["--disposition", "re_pasteurized"];
    let parts = [
        ("--under-control", "06:00:36, by the record", "since when it was under control again"),
        ("--recurrence", "the plunger was replaced", "what prevents it from happening again"),
        ("--product-safe", "tank T4 was held", "why no unsafe product went out"),
    ];
    let mut arguments = [&resolve[..], &why, &done].concat();
    for (name, text, asked) in parts {
        let refused = place.run(&arguments);
        assert_eq!(refused.status, Some(2), "{refused:#?}");
        assert!(refused.complaint.contains(asked), "{asked}: {refused:#?}");
        arguments.extend([name, text]);
    }
    place.expect(0, &arguments);
    let paper = on_paper(&place);
    for text in ["valve freed"].into_iter().chain(parts.map(|(_, text, _)| text)) {
        assert!(paper.contains(text), "{text}: {paper}");
    }
}
