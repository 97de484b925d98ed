//! A program that is killed while it signs, a thousand times: no acknowledged line is lost, journal and
//! ledger never contradict each other, and what a kill leaves between the two is told, and mended by
//! the next signature.

use journal::Stamp;
use review::{
    Books, Decision, Desk, Evidence, Holder, Kind, Meaning, Paths, Reviewed, Scope, Stage,
};
use signers::{KeyFolder, UnlockedKey};
use std::io::{BufRead as _, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Duration;
use tests::good;
use tests::people::{NOW, begin, id, minutes_after, passphrase};
use tests::site::{RECORD, subject};

/// In how many plants, one after the other, and how often in each: a journal of thousands of signatures
/// would take its time to check.
const PLANTS: u64 = 50;
const KILLS: u64 = 20;
/// Where the program that is to be killed finds the plant; set for it alone.
const FOLDER: &str = "HOLDTRACE_TEST_SIGN_IN";

fn now() -> Stamp {
    minutes_after(NOW.unix_milliseconds(), 0)
}

fn paths(folder: &Path) -> Paths {
    Paths::of(&folder.join(RECORD), None)
}

fn open(folder: &Path) -> Desk {
    let paths = paths(folder);
    match Desk::open(
        paths.clone(),
        move || Books::read(&paths.register),
        subject(),
        Holder("somebody".to_owned()),
        NOW,
    ) {
        Ok((desk, _torn)) => desk,
        Err(error) => panic!("{error}"),
    }
}

fn keys(folder: &Path) -> [UnlockedKey; 2] {
    let keys = KeyFolder::under(&folder.join("config"));
    ["anna", "ben"].map(|who| good(keys.unlock(&id(who), &passphrase(), NOW)))
}

/// The next of a round that never ends: reviewed, approved, reopened.
fn next(desk: &mut Desk, [anna, ben]: &[UnlockedKey; 2]) -> Result<(), review::Error> {
    let is_signed = |meaning| desk.state().is_signed(meaning, &Scope::DAY);
    if is_signed(Meaning::Approved) {
        let reopened = Decision::Reopened { scope: Scope::DAY, reason: "again".to_owned() };
        desk.decide_signed(ben, now(), &reopened)
    } else if is_signed(Meaning::Reviewed) {
        desk.sign(ben, now(), Meaning::Approved, &Scope::DAY)
    } else {
        desk.sign(anna, now(), Meaning::Reviewed, &Scope::DAY)
    }
}

/// The program that is killed. As a test of its own it has nothing to do.
#[test]
#[expect(clippy::print_stdout, reason = "the other program waits for it")]
fn sign_until_killed() {
    let Some(folder) = std::env::var_os(FOLDER).map(PathBuf::from) else { return };
    let keys = keys(&folder);
    let mut desk = open(&folder);
    loop {
        match next(&mut desk, &keys) {
            Ok(()) => println!("line {}", desk.lines().len()),
            Err(error) => panic!("{error}"),
        }
    }
}

/// Starts a program that signs, kills it after it acknowledged a line and so many microseconds more,
/// and gives the last line that it acknowledged.
fn kill(folder: &Path, microseconds: u64) -> usize {
    let program = good(std::env::current_exe());
    let child = Command::new(&program)
        .args(["--exact", "sign_until_killed", "--nocapture"])
        .env(FOLDER, folder)
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn();
    let mut child = good(child);
    let Some(output) = child.stdout.take() else { panic!("a pipe") };
    let mut lines = BufReader::new(output).lines().map_while(Result::ok);
    let mut said = lines.by_ref().filter_map(|line| line.strip_prefix("line ")?.parse().ok());
    let Some(first) = said.next() else { panic!("it could not sign") };
    std::thread::sleep(Duration::from_micros(microseconds));
    assert!(child.kill().is_ok() && child.wait().is_ok());
    said.last().unwrap_or(first)
}

#[test]
fn a_thousand_kills_while_signing_leave_journal_and_ledger_agreed() {
    let (mut gaps, mut signed) = (0, 0);
    for plant in 0..PLANTS {
        let folder = good(tempfile::tempdir());
        let folder = folder.path();
        let begun = minutes_after(1_773_400_000_000, 0);
        let (_file, keys) = begin(folder, [begun, begun]);
        for number in 0..KILLS {
            let told = format!("plant {plant}, kill {number}");
            // Spread over the some milliseconds that a signature takes, from write to write.
            let acknowledged = kill(folder, (plant * KILLS + number) * 7919 % 5000);
            let paths = paths(folder);
            let (books, fresh) = (Books::read(&paths.register), subject());
            let journal = good(journal::read(&paths.journal));
            assert!(journal.lines.len() >= acknowledged, "{told}: a line is lost");
            let evidence = Evidence::new((&journal, &paths.journal), &books, Ok(&fresh), None, NOW);
            let Reviewed { stage, verification, .. } = Reviewed::of(&evidence);
            assert!(!verification.is_contradicted, "{told}: {verification:#?}");
            let fails = verification.links.iter().filter(|link| !link.holds);
            let fails: Vec<_> = fails.map(|link| link.kind).collect();
            let only = [Kind::Chain, Kind::Ledger, Kind::SignOff];
            assert!(fails.iter().all(|kind| only.contains(kind)), "{told}: {verification:#?}");
            if fails.contains(&Kind::Ledger) {
                // Told, and mended by the next signature under the record.
                gaps += 1;
                let mut desk = open(folder);
                let made = next(&mut desk, &keys);
                assert!(made.is_ok(), "{told}: {made:?}");
                let links = &desk.verification().links;
                let ledger = links.iter().find(|link| link.kind == Kind::Ledger);
                assert!(ledger.is_some_and(|link| link.holds), "{told}: {ledger:?}");
            }
            signed += u64::from(stage == Stage::Signed);
        }
    }
    assert!(signed > 0, "the round went on");
    assert!(gaps > 0, "no kill fell between journal and ledger, so nothing was shown");
}
