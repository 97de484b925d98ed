//! Names that would command a terminal: escape sequences, line feeds, marks of direction, invisible
//! letters, in every place that text comes in by. Whatever command prints them shows them.

use serde_json::Value;
use std::path::Path;
use tests::good;
use tests::place::Place;
use tests::program::Told;
use trace::is_hidden;

/// Clears the screen, begins a line that looks like the program's, turns the direction of writing,
/// ends a line as some programs count lines, and hides letters.
const HOSTILE: &str = "x\u{1b}[2J\n  holds  FORGED: yes\u{202e}\u{2028}\u{200b}\u{9b}31m\u{7f}y";
/// The same where a line feed can't be: in a line of a logger's file.
const IN_A_LINE: &str = "x\u{1b}[2J\u{202e}\u{2028}\u{200b}\u{9b}31m\u{7f}y";
const FILE: &str = "2026-03-14\u{1b}[2J\n  holds  FORGED: yes\u{202e}.csv";

/// Nothing that a terminal would obey, and no line that a name began.
fn is_plain(arguments: &[&str], told: &Told) {
    for (what, text) in [("output", &told.output), ("complaint", &told.complaint)] {
        let ends = text.replace("\r\n", "\n");
        let raw = ends.chars().find(|&one| one != '\n' && is_hidden(one));
        assert_eq!(raw, None, "{what} of {arguments:?}: {ends:?}");
        let forged = ends.lines().find(|line| line.starts_with("  holds  FORGED"));
        assert_eq!(forged, None, "{what} of {arguments:?}: {ends}");
    }
}

/// Runs the program, which may succeed or refuse, but must print plain text.
fn plain(place: &Place, arguments: &[&str]) -> Told {
    let told = place.run(arguments);
    assert!(matches!(told.status, Some(0..=2)), "{arguments:?}: {told:#?}");
    is_plain(arguments, &told);
    told
}

fn hostile_place() -> Place {
    let mut place = Place::with_signers();
    let text = |name: &str| Value::String(format!("{name} {HOSTILE}")).to_string();
    // TOML takes the escapes of JSON but no raw control character.
    let escaped = |name: &str| {
        let quoted = text(name);
        let raw = |one: char| match one {
            '\u{7f}'..='\u{9f}' => format!("\\u{:04x}", u32::from(one)),
            other => other.to_string(),
        };
        quoted.chars().map(raw).collect::<String>()
    };
    place.write(
        "plant.toml",
        &format!(
            "schema = 1\nplant = {}\nunit = {}\nzone = \"America/Chicago\"\n\
             nominal_flow = \"50 gal/min\"\n[completeness]\nlist = \"none\"\nextra = [{}]\n\
             [review]\ncauses = [{}]\n",
            escaped("plant"),
            escaped("unit"),
            escaped("entry"),
            escaped("cause"),
        ),
    );
    place.approve();
    let mut text = "time,valve,holding temperature (°F),raw pressure (psi),pasteurized pressure \
                    (psi),product,lot\n"
        .to_owned();
    for second in 0..120 {
        let temperature = if matches!(second, 30..=34 | 90..=92) { "159.8" } else { "162.4" };
        let (minute, second) = (second / 60, second % 60);
        let row = format!(
            "2026-03-14T06:{minute:02}:{second:02}-05:00,forward,{temperature},10.0,14.0,\
             milk {IN_A_LINE},lot {IN_A_LINE}\n"
        );
        text.push_str(&row);
    }
    place.write(FILE, &text);
    assert!(std::fs::remove_file(place.path("2026-03-14.csv")).is_ok());
    FILE.clone_into(&mut place.record);
    place
}

#[test]
fn no_name_reaches_the_terminal_as_it_is() {
    let place = hostile_place();
    for format in ["text", "json", "result", "csv"] {
        plain(&place, &["audit", FILE, "--format", format]);
    }
    let audited = plain(&place, &["audit", FILE, "--format", "json"]);
    assert_eq!(audited.status, Some(1), "{audited:#?}");
    let json: Value = serde_json::from_str(&audited.output)
        .unwrap_or_else(|error| panic!("{error}: {audited:#?}"));
    assert_eq!(
        json["plant"]["name"],
        format!("plant {HOSTILE}"),
        "the document says what is there"
    );
    let told = plain(&place, &["audit", FILE]);
    assert!(told.output.contains("\\u{1b}[2J\\u{a}  holds  FORGED"), "{told:#?}");

    // A review, every text of it hostile.
    let cause = format!("cause {HOSTILE}");
    let shown = plain(&place, &["review", "list", FILE, "--json"]);
    let listed: Value = serde_json::from_str(&shown.output).unwrap_or_default();
    let id = listed["exceptions"][0]["item"]["id"].as_str().unwrap_or_default().to_owned();
    assert!(!id.is_empty(), "{shown:#?}");
    let by = ["--by", "anna"];
    let resolve = ["review", "resolve", FILE, "--cause", &cause, "--action", HOSTILE];
    let rest =
        ["--disposition", "re_pasteurized", "--note", HOSTILE, "--lot", HOSTILE, "--all-open"];
    let told = plain(&place, &[&resolve[..], &rest[..], &by[..]].concat());
    assert_eq!(told.status, Some(0), "{told:#?}");
    let sent =
        ["review", "send-back", FILE, "--exception", &id, "--remark", HOSTILE, "--by", "ben"];
    let told = plain(&place, &[&sent[..], &["--passphrase-fd", "0"]].concat());
    assert_eq!(told.status, Some(0), "{told:#?}");
    plain(&place, &["review", "list", FILE]);
    plain(&place, &[&resolve[..], &rest[..], &by[..]].concat());
    for id in place.to_close() {
        let close = ["review", "close", FILE, "--observation", &id, "--reason", HOSTILE];
        plain(&place, &[&close[..], &by[..]].concat());
    }
    plain(
        &place,
        &[&["review", "acknowledge", FILE, "--all-open", "--note", HOSTILE][..], &by].concat(),
    );
    for entry in place.entries() {
        let enter = ["review", "enter", FILE, "--entry", &entry, "--value", HOSTILE];
        plain(&place, &[&enter[..], &by[..]].concat());
    }
    for (by, meaning) in [("anna", "reviewed"), ("ben", "approved")] {
        let told = place.sign(by, meaning);
        is_plain(&["sign", by], &told);
        assert_eq!(told.status, Some(0), "{told:#?}");
    }
    let verified = plain(&place, &["verify", FILE]);
    assert_eq!(verified.status, Some(0), "{verified:#?}");
    for arguments in [
        &["review", "list", FILE][..],
        &["review", "list", FILE, "--json"],
        &["report", FILE, "--format", "csv"],
        &["report", FILE, "--format", "json"],
        &["days", "."],
        &["days", ".", "--format", "json"],
        &["lot", ".", &format!("lot {IN_A_LINE}")],
        &["lot", ".", &format!("lot {IN_A_LINE}"), "--format", "json"],
        &["lot", ".", HOSTILE],
        &["summary", "."],
        &["summary", ".", "--format", "csv"],
        &["summary", ".", "--format", "csv", "--rows", "exceptions"],
        &["summary", ".", "--format", "json"],
        &["signer", "list"],
    ] {
        plain(&place, arguments);
    }

    // A changed record, on which `verify` says more.
    place.write(FILE, &String::from_utf8_lossy(&place.read(FILE)).replacen("162.4", "162.5", 1));
    let changed = plain(&place, &["verify", FILE]);
    assert_eq!(changed.status, Some(1), "{changed:#?}");
    for arguments in [
        &["review", "list", FILE][..],
        &["review", "re-audit", FILE, "--by", "anna"],
        &["review", "reopen", FILE, "--by", "ben", "--reason", HOSTILE, "--shift", HOSTILE],
        &["review", "withdraw", FILE, "--by", "anna", "--exception", HOSTILE],
        &["report", FILE, "--format", "json"],
        &["days", "."],
    ] {
        plain(&place, arguments);
    }
}

#[test]
fn no_argument_reaches_the_terminal_as_it_is() {
    let place = hostile_place();
    let missing = format!("{HOSTILE}.csv");
    let option = format!("--{HOSTILE}");
    let path = format!("missing/{HOSTILE}");
    for arguments in [
        &[HOSTILE][..],
        &[&option],
        &["audit", &option],
        &["audit", FILE, "--format", HOSTILE],
        &["audit", &missing],
        &["audit", FILE, "--plant", &missing],
        &["audit", FILE, "--run-sheet", &missing],
        &["audit", FILE, "--output", &path],
        &["tables", FILE, "--record", &path],
        &["report", FILE, "--template", &missing],
        &["report", &missing],
        &["days", &path],
        &["summary", &path],
        &["summary", ".", "--from", HOSTILE],
        &["lot", &path, HOSTILE],
        &["verify", &missing],
        &["verify", FILE, "--register", &missing],
        &["review", HOSTILE],
        &["review", "list", &missing],
        &["review", "resolve", FILE, "--by", HOSTILE, "--all-open", "--cause", "x"],
        &["review", "close", FILE, "--by", "anna", "--observation", HOSTILE, "--reason", "x"],
        &["signer", "key", "--signer", HOSTILE, "--passphrase-fd", "0"],
        &["signer", "list", "--register", &missing],
        &["signer", "enrol", "--signer", "c", "--name", HOSTILE, "--role", "technician"],
        &[
            "signer",
            "enrol",
            "--public-key",
            &missing,
            "--by",
            "ben",
            "--signer",
            "c",
            "--name",
            "C",
            "--role",
            "technician",
            "--passphrase-fd",
            "0",
        ],
    ] {
        plain(&place, arguments);
    }
    // No register takes such a name.
    let empty = Place::new();
    let set_up = ["signer", "set-up", "--signer", "ben", "--name", HOSTILE, "--passphrase-fd", "0"];
    assert_eq!(plain(&empty, &set_up).status, Some(2));
}

/// `verify` of a journal that is there and can't be read names the reason, and no command takes it
/// for a record that nobody has reviewed.
#[test]
fn a_journal_that_cannot_be_read_is_not_no_journal() {
    let place = Place::with_signers();
    assert!(std::fs::create_dir(place.path("2026-03-14.review.jsonl")).is_ok());
    let verified = place.verify();
    assert_eq!(verified.status, Some(1), "{verified:#?}");
    assert!(verified.output.contains("FAILS  chain: "), "{verified:#?}");
    assert!(!verified.output.contains("there is no journal"), "{verified:#?}");
    assert!(verified.output.contains("can't be read"), "{verified:#?}");
    for arguments in [
        &["report", "2026-03-14.csv", "--output", "paper.pdf"][..],
        &["review", "list", "2026-03-14.csv"],
        &["days", "."],
    ] {
        let told = place.run(arguments);
        assert_ne!(told.status, Some(0), "{arguments:?}: {told:#?}");
        let said = format!("{}{}", told.output, told.complaint);
        assert!(said.contains("can't be read"), "{arguments:?}: {told:#?}");
    }
    assert!(!place.path("paper.pdf").exists());
}

/// Sixty-four bytes of 0xab in the place of each signature, the chain made to fit.
fn with_forged_signatures(journal: &[u8]) -> String {
    let mut previous = "0".repeat(64);
    let mut forged = String::new();
    for line in String::from_utf8_lossy(journal).lines() {
        let Ok(mut value) = serde_json::from_str::<Value>(line) else { panic!("{line}") };
        let Some(object) = value.as_object_mut() else { panic!("{line}") };
        object.insert("previous".to_owned(), Value::String(previous.clone()));
        let sum = object.remove("sum").is_some();
        let signed = object.remove("signature").is_some();
        assert!(sum != signed, "{line}");
        let bare = canonical(object);
        if signed {
            object.insert("signature".to_owned(), Value::String("ab".repeat(64)));
        } else {
            object.insert(
                "sum".to_owned(),
                Value::String(journal::Digest::of(bare.as_bytes()).to_string()),
            );
        }
        let whole = canonical(object) + "\n";
        previous = journal::Digest::of(whole.as_bytes()).to_string();
        forged.push_str(&whole);
    }
    forged
}

/// The form that the program asks for.
fn canonical(object: &serde_json::Map<String, Value>) -> String {
    good(serde_json_canonicalizer::to_string(object))
}

#[test]
fn a_forged_or_changed_record_is_no_success() {
    let place = Place::with_signers();
    place.round();
    let statuses = || {
        [
            &["report", "2026-03-14.csv", "--format", "json"][..],
            &["report", "2026-03-14.csv", "--output", "paper.pdf"],
            &["review", "list", "2026-03-14.csv"],
            &["review", "list", "2026-03-14.csv", "--json"],
            &["verify", "2026-03-14.csv"],
        ]
        .map(|arguments| place.run(arguments).status)
    };
    assert_eq!(statuses(), [Some(0); 5]);
    let journal = place.read("2026-03-14.review.jsonl");
    let forged = with_forged_signatures(&journal);
    assert!(forged.contains(&"ab".repeat(64)));
    place.write("2026-03-14.review.jsonl", &forged);
    assert_eq!(statuses(), [Some(1); 5], "forged");
    let told = place.run(&["review", "list", "2026-03-14.csv"]);
    assert!(told.output.contains("FAILS  signature, line"), "{told:#?}");
    let told = place.run(&["report", "2026-03-14.csv", "--output", "paper.pdf"]);
    assert!(told.complaint.contains("FAILS  signature, line"), "{told:#?}");
    place.write("2026-03-14.review.jsonl", &String::from_utf8_lossy(&journal));
    assert_eq!(statuses(), [Some(0); 5], "put back");
    let record = String::from_utf8_lossy(&place.read("2026-03-14.csv")).into_owned();
    place.write("2026-03-14.csv", &record.replacen("162.4", "162.5", 1));
    assert_eq!(statuses(), [Some(1); 5], "changed");
}

/// What is filed names files, not the folders in which somebody had them, and says by what template
/// it was set.
#[test]
fn paper_has_no_typed_path_and_names_a_template_on_every_page() {
    let place = Place::with_signers();
    let folder = place.path("");
    let record = place.path("2026-03-14.csv").display().to_string();
    let pages = |name: &str| {
        let mut command = place.command(Path::new("pdftotext"));
        command.args(["-layout", name, "-"]);
        let text = Place::told(command).output;
        text.split_terminator('\u{c}').map(str::to_owned).collect::<Vec<_>>()
    };
    let folder_name = folder.components().next_back().map(|name| name.as_os_str().to_owned());
    let folder_name = folder_name.unwrap_or_default().to_string_lossy().into_owned();
    let settle = ["review", "resolve", &record, "--by", "anna", "--all-open", "--cause"];
    let rest = ["steam valve stuck", "--action", "freed", "--disposition", "re_pasteurized"];
    place.expect(0, &[&settle[..], &rest[..]].concat());
    // Without a register, which is named too.
    assert!(std::fs::rename(place.path("signers.jsonl"), place.path("moved")).is_ok());
    place.expect(1, &["report", &record, "--output", "plain.pdf"]);
    let plain = pages("plain.pdf").join("\n");
    assert!(plain.contains("2026-03-14.csv") && plain.contains("signers.jsonl"), "{plain}");
    assert!(!plain.contains(&folder_name), "{plain}");
    let bytes = place.read("plain.pdf");
    let text = String::from_utf8_lossy(&bytes);
    assert!(!text.contains(&folder_name), "the metadata name no folder");

    place.write(
        "ours.typ",
        "#let data = json(\"data.json\")\n#set document(title: \"Ours\")\n\
         #set page(paper: \"a4\")\n= Ours\n#data.verdict\n#pagebreak()\nMore\n",
    );
    let template = place.path("ours.typ").display().to_string();
    place.expect(1, &["report", &record, "--template", &template, "--output", "ours.pdf"]);
    let set = pages("ours.pdf");
    assert_eq!(set.len(), 2, "{set:?}");
    for page in &set {
        assert!(page.contains("own template ours.typ, SHA-256 "), "{page}");
        assert!(!page.contains(&folder_name), "{page}");
    }
    // A template can't hide that.
    place.write("sly.typ", "#set document(title: \"x\")\n#set page(foreground: none)\n= Ours\n");
    let told =
        place.expect(2, &["report", &record, "--template", "sly.typ", "--output", "sly.pdf"]);
    assert!(told.complaint.contains("page 1 does not name the template"), "{told:#?}");
}
