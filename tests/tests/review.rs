//! A whole round with the real program: set up signers, settle, sign, verify; then everything that
//! can go wrong on a disk.

use serde_json::Value;
use std::path::Path;
use tests::place::Place;
use tests::program::program;

#[test]
fn from_unread_to_signed_and_every_change_seen() {
    let place = Place::with_signers();
    let unread = place.expect(1, &["review", "list", "2026-03-14.csv"]);
    assert!(unread.output.contains("0 of 2 exceptions settled"), "{unread:#?}");
    assert_eq!(place.verify().status, Some(1), "an unsigned record does not verify");
    let early = place.sign("anna", "reviewed");
    assert_eq!(early.status, Some(2));
    assert!(early.complaint.contains("2 exceptions are not settled"), "{early:#?}");

    place.round();
    let verified = place.verify();
    assert_eq!(verified.status, Some(0), "{verified:#?}");
    assert!(!verified.output.contains("FAILS"), "{verified:#?}");
    assert!(verified.output.contains("by Ben Example (invented) (supervisor)"), "{verified:#?}");
    // The journal by its own name, from another folder.
    let journal = place.path("2026-03-14.review.jsonl");
    let told = place.run(&["verify", &journal.display().to_string()]);
    assert_eq!(told.status, Some(0), "{told:#?}");
    // The audit's digest is that of what the program prints.
    let result = place.run(&["audit", "2026-03-14.csv", "--format", "result"]);
    place.write("result.json", &result.output);
    let mut command = place.command(Path::new("sha256sum"));
    command.arg("result.json");
    let digest = Place::told(command).output;
    let digest = digest.split(' ').next().unwrap_or_default();
    assert!(String::from_utf8_lossy(&place.read("2026-03-14.review.jsonl")).contains(digest));

    // One byte anywhere, and it fails; put back, it holds.
    for name in ["2026-03-14.csv", "plant.toml", "2026-03-14.review.jsonl", "signers.jsonl"] {
        let original = place.read(name);
        for place_in_file in [10, original.len() / 2, original.len() - 2] {
            let mut changed = original.clone();
            changed[place_in_file] ^= 1;
            assert!(std::fs::write(place.path(name), &changed).is_ok());
            let told = place.verify();
            assert_eq!(told.status, Some(1), "byte {place_in_file} of {name}: {told:#?}");
            assert!(told.output.contains("FAILS"), "{told:#?}");
        }
        assert!(std::fs::write(place.path(name), &original).is_ok());
    }
    assert_eq!(place.verify().status, Some(0));
}

/// `docs/review.md`, "Checking without Holdtrace", run as it is printed, with the real `openssl`.
#[test]
fn the_documented_check_without_the_program() {
    let place = Place::with_signers();
    place.round();
    let document = std::fs::read_to_string(tests::program::root().join("docs/review.md"));
    let document = document.unwrap_or_default();
    let script = document.split("```sh\n").nth(1).and_then(|rest| rest.split("```").next());
    let Some(script) = script else { panic!("docs/review.md has the script") };
    place.write("check.sh", script);
    let check = || {
        let mut command = place.command(Path::new("sh"));
        command.arg("check.sh");
        Place::told(command)
    };
    let told = check();
    assert_eq!(told.status, Some(0), "{told:#?}");
    // The register's two lines, and two signatures under the record.
    assert_eq!(told.output.matches("Signature Verified Successfully").count(), 4, "{told:#?}");
    // A signer's name changed in the signed line: the chain may be made to fit, the signature not.
    let journal = String::from_utf8_lossy(&place.read("2026-03-14.review.jsonl")).into_owned();
    let forged = journal.replace("\"name\":\"Ben Example", "\"name\":\"Bob Example");
    assert_ne!(forged, journal);
    place.write("2026-03-14.review.jsonl", &forged);
    assert_ne!(check().status, Some(0));
}

#[test]
fn a_wrong_passphrase_does_not_sign_and_slows_down() {
    let place = Place::with_signers();
    let settle = place.settle(&["--all-open"]);
    place.expect(0, &settle.iter().map(String::as_str).collect::<Vec<_>>());
    place.expect(0, &["review", "acknowledge", "2026-03-14.csv", "--by", "anna", "--all-open"]);
    let enter = ["review", "enter", "2026-03-14.csv", "--by", "anna", "--entry"];
    place.expect(0, &[&enter[..], &["unusual circumstances", "--value", "none"]].concat());
    let lines = place.read("2026-03-14.review.jsonl");
    place.write("wrong", "something else entirely\n");
    let script = "exec \"$0\" review sign 2026-03-14.csv --by anna --meaning reviewed \
                  --passphrase-fd 3 3< wrong";
    let attempt = || {
        let mut command = place.command(Path::new("sh"));
        command.arg("-c").arg(script).arg(program());
        Place::told(command)
    };
    for (pause, wait) in [("wait 1 s", 1200), ("wait 2 s", 2200), ("wait 4 s", 0)] {
        let told = attempt();
        assert_eq!(told.status, Some(2), "{told:#?}");
        assert!(told.complaint.contains(pause), "{told:#?}");
        std::thread::sleep(std::time::Duration::from_millis(wait));
    }
    assert_eq!(place.read("2026-03-14.review.jsonl"), lines, "nothing was entered");
}

/// The signed record on paper, for a spreadsheet and for a program: all three say the same.
#[test]
fn the_record_with_its_review_in_three_formats() {
    let place = Place::with_signers();
    let report = |format: &str, name: &str| {
        let arguments = ["report", "2026-03-14.csv", "--format", format, "--output", name];
        place.expect(0, &arguments);
        place.read(name)
    };
    let text_of = |name: &str| {
        let mut command = place.command(Path::new("pdftotext"));
        command.args(["-layout", name, "-"]);
        let told = Place::told(command);
        assert_eq!(told.status, Some(0), "{told:#?}");
        told.output
    };
    report("pdf", "unread.pdf");
    assert!(text_of("unread.pdf").to_lowercase().contains("not reviewed"));

    place.round();
    let pdf = report("pdf", "signed.pdf");
    assert!(pdf.starts_with(b"%PDF-"));
    let text = text_of("signed.pdf");
    for words in ["Ben Example (invented)", "approved", "steam valve stuck", "re-pasteurized"] {
        assert!(text.contains(words), "{words:?} is on paper: {text}");
    }
    let json: Value = match serde_json::from_slice(&report("json", "signed.json")) {
        Ok(json) => json,
        Err(error) => panic!("{error}"),
    };
    assert_eq!(json["verification"]["holds"], true);
    let csv = String::from_utf8_lossy(&report("csv", "signed.csv")).into_owned();
    let mut rows = csv.lines();
    let header: Vec<&str> = rows.next().unwrap_or_default().split(',').collect();
    let column = |name: &str| header.iter().position(|one| *one == name).unwrap_or(usize::MAX);
    let exceptions = json["review"]["exceptions"].as_array().cloned().unwrap_or_default();
    assert_eq!((rows.clone().count(), exceptions.len()), (2, 2));
    for (row, exception) in rows.zip(exceptions) {
        let cells: Vec<&str> = row.split(',').collect();
        let cell = |name: &str| cells.get(column(name)).copied().unwrap_or_default();
        assert_eq!(exception["item"]["id"], cell("id"));
        assert_eq!(exception["standing"], cell("standing"));
        assert_eq!(exception["settlement"]["disposition"], cell("disposition"));
        assert_eq!(exception["settlement"]["quantity"], cell("decided_quantity"));
        assert_eq!(exception["at"], cell("decided_at"));
    }

    // After a change the paper says so.
    let record = place.read("2026-03-14.csv");
    let changed = String::from_utf8_lossy(&record).replacen("162.4", "162.5", 1);
    place.write("2026-03-14.csv", &changed);
    report("pdf", "changed.pdf");
    assert!(text_of("changed.pdf").to_lowercase().contains("changed since signing"));
}

/// SIGKILL at a thousand points of scripted rounds: what was acknowledged is there.
#[test]
fn a_thousand_kills_lose_no_acknowledged_entry() {
    let place = Place::with_signers();
    let enter = |value: &str| {
        let mut command = place.command(&program());
        command.args([
            "review",
            "enter",
            "2026-03-14.csv",
            "--by",
            "anna",
            "--entry",
            "unusual circumstances",
            "--value",
            value,
        ]);
        command
    };
    // How long an entry takes when nobody kills it, to aim at every part of it.
    let begun = std::time::Instant::now();
    for round in 0..5 {
        assert_eq!(Place::told(enter(&format!("warm {round}"))).status, Some(0));
    }
    let usual = begun.elapsed() / 5;
    let mut acknowledged = Vec::new();
    for round in 0..1000_u32 {
        let value = format!("round {round}");
        let mut command = enter(&value);
        let mut child = match command.spawn() {
            Ok(child) => child,
            Err(error) => panic!("{error}"),
        };
        // From the start to a little beyond the usual end, in an order that looks random.
        std::thread::sleep(usual * (round * 617 % 1000) / 800);
        assert!(child.kill().is_ok());
        let Ok(output) = child.wait_with_output() else { panic!("it ended") };
        if String::from_utf8_lossy(&output.stdout).contains("entered") {
            acknowledged.push(value);
        }
    }
    // One more opening sets aside what may be torn; everything acknowledged is in the chain.
    assert_eq!(Place::told(enter("last")).status, Some(0));
    let journal = String::from_utf8_lossy(&place.read("2026-03-14.review.jsonl")).into_owned();
    assert!(!acknowledged.is_empty() && acknowledged.len() < 1000, "{}", acknowledged.len());
    for value in &acknowledged {
        assert!(journal.contains(&format!("\"value\":\"{value}\"")), "{value} is lost");
    }
    let told = place.verify();
    let chain = told.output.lines().find(|line| line.contains("chain:"));
    assert!(chain.is_some_and(|line| line.contains("holds")), "{told:#?}");
}

/// Four programs at once: the chain never forks, and each entry that was acknowledged is there.
#[test]
fn programs_at_once_never_fork_the_chain() {
    let place = Place::with_signers();
    let acknowledged: Vec<String> = std::thread::scope(|scope| {
        let threads: Vec<_> = (0..4)
            .map(|thread| {
                let place = &place;
                scope.spawn(move || {
                    let mut made = Vec::new();
                    for entry in 0..25 {
                        let value = format!("{thread}.{entry}");
                        let told = place.run(&[
                            "review",
                            "enter",
                            "2026-03-14.csv",
                            "--by",
                            "anna",
                            "--entry",
                            "unusual circumstances",
                            "--value",
                            &value,
                        ]);
                        match told.status {
                            Some(0) => made.push(value),
                            _ => assert!(
                                told.complaint.contains("is being reviewed by")
                                    || told.complaint.contains("in the meantime"),
                                "{told:#?}"
                            ),
                        }
                    }
                    made
                })
            })
            .collect();
        threads.into_iter().flat_map(|thread| thread.join().unwrap_or_default()).collect()
    });
    assert!(!acknowledged.is_empty());
    let journal = String::from_utf8_lossy(&place.read("2026-03-14.review.jsonl")).into_owned();
    for value in &acknowledged {
        assert!(journal.contains(&format!("\"value\":\"{value}\"")), "{value} is lost");
    }
    assert_eq!(journal.matches("\"kind\":\"entered\"").count(), acknowledged.len());
    assert!(place.verify().output.contains("holds  chain"), "{:#?}", place.verify());
}

/// A disk that is full in the middle of a line, by the shell's limit on the size of files.
#[cfg(unix)]
#[test]
fn a_full_disk_is_told_and_loses_nothing() {
    let place = Place::with_signers();
    let settle = place.settle(&["--all-open"]);
    place.expect(0, &settle.iter().map(String::as_str).collect::<Vec<_>>());
    let before = place.read("2026-03-14.review.jsonl");
    // The limit counts blocks of 512 bytes; the next line ends beyond the last whole block.
    let blocks = before.len() / 512 + 1;
    let note = "x".repeat(2000);
    let script = format!(
        "trap '' XFSZ; ulimit -f {blocks}; exec \"$0\" review enter 2026-03-14.csv --by anna \
         --entry 'unusual circumstances' --value none --note {note}"
    );
    let mut command = place.command(Path::new("sh"));
    command.arg("-c").arg(script).arg(program());
    let told = Place::told(command);
    assert_eq!(told.status, Some(2), "{told:#?}");
    assert!(told.complaint.contains("NOT made") && told.complaint.contains("room"), "{told:#?}");
    assert_eq!(place.read("2026-03-14.review.jsonl"), before);
    let enter = ["review", "enter", "2026-03-14.csv", "--by", "anna", "--entry"];
    place.expect(0, &[&enter[..], &["unusual circumstances", "--value", "none"]].concat());
}

/// A line that a power loss cut short is set aside, said, and gone on after.
#[test]
fn a_torn_line_is_set_aside_and_said() {
    let place = Place::with_signers();
    let settle = place.settle(&["--all-open"]);
    place.expect(0, &settle.iter().map(String::as_str).collect::<Vec<_>>());
    let whole = place.read("2026-03-14.review.jsonl");
    assert!(
        std::fs::write(place.path("2026-03-14.review.jsonl"), &whole[..whole.len() - 9]).is_ok()
    );
    let told = place.verify();
    assert!(told.output.contains("torn"), "verifying says it and changes nothing: {told:#?}");
    assert_eq!(place.read("2026-03-14.review.jsonl").len(), whole.len() - 9);
    let told = place.run(&["review", "list", "2026-03-14.csv"]);
    assert!(told.complaint.contains("set aside as 2026-03-14.review.jsonl.torn-1"), "{told:#?}");
    assert!(told.output.contains("1 of 2 exceptions settled"), "{told:#?}");
    assert!(whole.starts_with(&place.read("2026-03-14.review.jsonl")));
}

/// A folder that can't be written, and one that went away.
#[cfg(unix)]
#[test]
fn a_folder_that_can_not_be_written_is_told() {
    use std::os::unix::fs::PermissionsExt as _;
    let place = Place::with_signers();
    // Nobody, the administrator included, makes files where a name can't be resolved to a folder.
    let hold = place.path("2026-03-14.review.hold");
    assert!(std::os::unix::fs::symlink("/nowhere/at/all", &hold).is_ok());
    let settle = place.settle(&["--all-open"]);
    let settle: Vec<&str> = settle.iter().map(String::as_str).collect();
    let told = place.expect(2, &settle);
    assert!(told.complaint.contains("writable and has room"), "{told:#?}");
    assert!(!place.path("2026-03-14.review.jsonl").exists());
    assert!(std::fs::remove_file(&hold).is_ok());
    // A key that others can read is refused.
    place.expect(0, &settle);
    let key = place.path("config/holdtrace/keys/anna.pem");
    assert!(std::fs::set_permissions(&key, std::fs::Permissions::from_mode(0o644)).is_ok());
    place.expect(0, &["review", "acknowledge", "2026-03-14.csv", "--by", "anna", "--all-open"]);
    let enter = ["review", "enter", "2026-03-14.csv", "--by", "anna", "--entry"];
    place.expect(0, &[&enter[..], &["unusual circumstances", "--value", "none"]].concat());
    let told = place.sign("anna", "reviewed");
    assert_eq!(told.status, Some(2), "{told:#?}");
    assert!(told.complaint.contains("chmod"), "{told:#?}");
}
