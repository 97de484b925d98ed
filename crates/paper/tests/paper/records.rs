//! Records to be summed up: the sample days, a hostile one, one without exceptions. Plants, people
//! and lots are invented.

use case::Case;
use ingest::{Input, Progress};
use journal::{Digest, Stamp};
use plant::{Plant, Shift};
use review::{
    Decision, Kind, Link, Meaning, Reviewed, Role, Scope, Settlement, Stage, Subject, Verification,
};
use signers::{Register, UnlockedKey};
use std::path::{Path, PathBuf};
use std::sync::LazyLock;
use tests::good;
use tests::people::{Hand, begin_as, reviewed};
use trace::{
    Channel, Decimal, Differential, FlowUnit, Instant, PressureUnit, Reading, RunRecord,
    RunRecordParts, TemperatureUnit, TextChannel, Toward, ValveState,
};

pub const SAMPLES: [&str; 7] = [
    "2026-03-03-clean.csv",
    "2026-03-04-stuck-valve.csv",
    "2026-03-13-booster-interlock.csv",
    "2026-03-17-dropouts-and-gaps.csv",
    "2026-03-19-frequent-diverts.csv",
    "2026-03-24-flow-surge.csv",
    "2026-11-01-clock-change.csv",
];

pub fn sample(name: &str) -> Case {
    static FOLDER: LazyLock<PathBuf> =
        LazyLock::new(|| good(simulate::write_sample_runs(Path::new(env!("CARGO_TARGET_TMPDIR")))));
    read(&FOLDER, name)
}

/// A day of `simulate::proof`.
pub fn proof(name: &str) -> Case {
    let day = good(simulate::proof::proof_day(name));
    let folder = good(tempfile::tempdir());
    for file in &day.files {
        assert!(std::fs::write(folder.path().join(file.name), &file.text).is_ok(), "{}", file.name);
    }
    read(folder.path(), day.files[0].name)
}

fn read(folder: &Path, name: &str) -> Case {
    let plant = good(Plant::read(&folder.join("plant.toml")));
    let bytes = match std::fs::read(folder.join(name)) {
        Ok(bytes) => bytes,
        Err(error) => panic!("{name}: {error}"),
    };
    let input = Input::Bytes { name: name.to_owned(), bytes };
    match ingest::read(&[input], &plant, &Progress::default()) {
        Ok(ingest::Ingested { record, observations, assumptions }) => {
            Case::new(record, plant, observations, assumptions)
        }
        Err(error) => panic!("{name}: {error}"),
    }
}

pub fn subject(day: &Case) -> Subject {
    good(Subject::new(day))
}

const fn at(seconds: i64) -> Instant {
    Instant::from_unix_milliseconds(seconds * 1000)
}

/// 2026-03-05 06:00:00 in Chicago.
const MORNING: i64 = 1_772_712_000;
const TECHNICIAN: &str = "T. Example (invented)";
const SUPERVISOR: &str = "Q. Example (invented)";

/// So many seconds before or after the morning.
pub fn stamp(seconds: i64) -> Stamp {
    let stamp = Stamp::new(at(MORNING + seconds), -6 * 3600);
    stamp.unwrap_or_else(|| panic!("six hours are an offset"))
}

/// The register of the technician Anna and the supervisor Ben, and their keys.
pub fn people() -> &'static (Register, [UnlockedKey; 2]) {
    static PEOPLE: LazyLock<(Register, [UnlockedKey; 2])> = LazyLock::new(|| {
        let folder = good(tempfile::tempdir());
        let dates = [stamp(-2000), stamp(-1900)];
        let (file, keys) = begin_as(folder.path(), [TECHNICIAN, SUPERVISOR], dates);
        (file.register().clone(), keys)
    });
    &PEOPLE
}

/// A day reviewed by invented people, and signed by `hand` with their keys.
pub fn signed(day: &Case, hand: fn(&'static UnlockedKey) -> Hand<'static>) -> Reviewed {
    let subject = subject(day);
    let (register, [anna, ben]) = people();
    let mut made = Vec::new();
    for entry in &subject.entries {
        let (entry, value, note) = (entry.clone(), "162.4 °F".to_owned(), String::new());
        let entered = Decision::Entered { entry, value, note };
        made.push((Hand::Name("O. Example (invented)"), -900, entered));
    }
    let technician = Hand::Name(TECHNICIAN);
    for item in &subject.exceptions {
        let settlement = Settlement {
            exception: item.id.clone(),
            cause: "Stuck plunger of the flow diversion device".to_owned(),
            action: "Device taken apart, O-rings renewed, leak test of the device passed"
                .to_owned(),
            disposition: "Held, then dumped".to_owned(),
            lot: item.lots.join(" + "),
            quantity: "1200 gal".to_owned(),
            note: "Silo S-2 emptied to the drain in the presence of the supervisor.".to_owned(),
            ..Settlement::default()
        };
        made.push((technician, -600, Decision::Settled(settlement)));
    }
    for item in &subject.observations {
        let note = "Known since the calibration in January; work order 118.".to_owned();
        let observation = item.kind.clone();
        made.push((technician, -500, Decision::Acknowledged { observation, note }));
    }
    for item in &subject.to_close {
        let reason = "Read on the recorder's paper: the readings are there.".to_owned();
        let (observation, note) = (item.id.clone(), String::new());
        made.push((technician, -400, Decision::Closed { observation, reason, note }));
    }
    let sign = |(name, role): (&str, Role), meaning, scope| {
        let (name, register) = (name.to_owned(), String::new());
        Decision::Signed { meaning, scope, name, role, register }
    };
    let technician = (TECHNICIAN, Role::Technician);
    let (early, reason) = (Scope::shift("early"), "the late shift is signed with it".to_owned());
    made.push((hand(anna), -300, sign(technician, Meaning::Reviewed, early.clone())));
    made.push((hand(anna), -200, Decision::Reopened { scope: early, reason }));
    made.push((hand(anna), 0, sign(technician, Meaning::Reviewed, Scope::DAY)));
    let supervisor = (SUPERVISOR, Role::Supervisor);
    made.push((hand(ben), 131, sign(supervisor, Meaning::Approved, Scope::DAY)));
    let lines = made.len() + 1;
    let made = made.into_iter().map(|(hand, seconds, made)| (hand, stamp(seconds), made));
    let state = reviewed(&subject, Some(register), made);
    let signatures_hold = state.signatures().iter().all(|one| one.verdict.holds());
    let link = |kind, what: &str, holds, found: &str| Link {
        kind,
        what: what.to_owned(),
        holds,
        found: found.to_owned(),
    };
    let links = vec![
        link(Kind::Chain, "chain", true, "every line follows the one above"),
        link(Kind::Signature, "signature", signatures_hold, "stands beside it"),
    ];
    let verification = Verification { links, ..Reviewed::unread().verification };
    let verification = Verification { head: Digest([0xef; 32]), lines, ..verification };
    Reviewed { stage: Stage::Signed, state: Some(state), verification, ..Reviewed::unread() }
}

/// Lots that a spreadsheet, a typesetter or a terminal might take for more than words.
const LOTS: [&str; 10] = [
    "#import \"x\": *",
    "=1+1",
    "*bold* _it_ `raw` $x$ \\ ~",
    "@SUM(A1)",
    "lot חלב 7",
    "حليب 7",
    "牛乳 7",
    "lot\u{202E}evil",
    "<script>ALERT(\"W\")</a>",
    "averyveryverylongwordthatneverendsandgoesonandonbeyondtheedgeofthepageforever0123456789",
];

/// A record at 1 Hz in which the temperature falls short for 3 s once in every 100 s, `dips`
/// times, each time in a lot of another name.
pub fn hostile(dips: usize) -> Case {
    let seconds = 100 * dips.max(6) as i64;
    let range = (Decimal::whole(-50), Decimal::whole(300));
    let mut temperature = Channel::new(TemperatureUnit::Fahrenheit, range, Toward::Down);
    let mut differential = Channel::new(PressureUnit::Psi, range, Toward::Down);
    let mut flow = Channel::new(FlowUnit::GallonPerMinute, range, Toward::Up);
    let (mut product, mut lot) = (TextChannel::new(), TextChannel::new());
    for second in 0..seconds {
        let (dip, phase) = (second / 100, second % 100);
        let is_short = (50..53).contains(&phase) && (dip as usize) < dips;
        // "whole milk" is not in the plant file: the strictest limit, 166 °F. Between 166.9 and
        // 168.9 °F, or between 164.9 and 165.9 °F.
        let tenths = if is_short { 1659 - dip % 11 } else { 1669 + second * 7 % 21 };
        temperature.push(Reading::Valid(Decimal::new(tenths, 1)));
        differential.push(Reading::Valid(Decimal::new(45 + second * 3 % 11, 1)));
        flow.push(Reading::Valid(Decimal::new(498 + second % 5, 1)));
        product.push("whole milk");
        lot.push(LOTS[dip as usize % LOTS.len()]);
    }
    let start = 1_772_600_000;
    let mut parts = RunRecordParts::needed(
        "HTST #1 [*]",
        (0..seconds).map(|second| at(start + second)).collect(),
        vec![ValveState::Forward; seconds as usize],
        temperature,
        Differential::Direct(differential),
    );
    parts.flow_rate = Some(flow);
    parts.product = Some(product);
    parts.lot = Some(lot);
    let record = good(RunRecord::new(parts));
    let mut plant = Plant::assumed();
    "= Dairy $made up$ #1".clone_into(&mut plant.name);
    let time = |hour| chrono::NaiveTime::from_hms_opt(hour, 0, 0).unwrap_or_default();
    plant.shifts = vec![Shift { name: "_night_".to_owned(), start: time(18), end: time(6) }];
    Case::new(record, plant, Vec::new(), vec!["columns by their names".to_owned()])
}

pub fn without_exceptions() -> Case {
    hostile(0)
}
