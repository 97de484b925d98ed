//! Records to be summed up: the sample days, a hostile one, one without exceptions. Plants, people
//! and lots are invented.

use case::Case;
use ingest::{Input, Progress};
use paper::{
    Acknowledgement, Closing, Decided, Decision, Digest, Entry, Scope, Signature, Verdict,
    Verification,
};
use plant::{Plant, Shift};
use review::{Settlement, Stage};
use std::path::{Path, PathBuf};
use std::sync::LazyLock;
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
    static FOLDER: LazyLock<PathBuf> = LazyLock::new(|| {
        match simulate::write_sample_runs(Path::new(env!("CARGO_TARGET_TMPDIR"))) {
            Ok(folder) => folder,
            Err(error) => panic!("{error}"),
        }
    });
    let folder = &*FOLDER;
    let plant = match Plant::read(&folder.join("plant.toml")) {
        Ok(plant) => plant,
        Err(error) => panic!("{error}"),
    };
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

const fn at(seconds: i64) -> Instant {
    Instant::from_unix_milliseconds(seconds * 1000)
}

/// 2026-03-05 06:00:00 in Chicago.
const MORNING: i64 = 1_772_712_000;

/// A day reviewed and signed by invented people.
pub fn decided(day: &Case) -> Decided {
    let decision = |lot: &str| Decision {
        settlement: Settlement {
            cause: "Stuck plunger of the flow diversion device".to_owned(),
            action: "Device taken apart, O-rings renewed, leak test of the device passed"
                .to_owned(),
            disposition: "Held, then dumped".to_owned(),
            lot: lot.to_owned(),
            quantity: "1200 gal".to_owned(),
            note: "Silo S-2 emptied to the drain in the presence of the supervisor.".to_owned(),
            ..Settlement::default()
        },
        by: "T. Example (invented)".to_owned(),
        at: Some(at(MORNING - 600)),
    };
    let signature = |name: &str, role: &str, meaning: &str, seconds, scope| Signature {
        name: name.to_owned(),
        role: role.to_owned(),
        meaning: meaning.to_owned(),
        at: at(seconds),
        scope,
        verdict: Verdict::Holds,
        superseded: false,
    };
    let mut first = signature(
        "T. Example (invented)",
        "quality technician",
        "reviewed",
        MORNING - 900,
        Scope::Shift("early".to_owned()),
    );
    first.superseded = true;
    let line = |line: &str| Verification { holds: true, line: line.to_owned() };
    let digest = |of: &str, byte: &str| Digest { of: of.to_owned(), sha256: byte.repeat(32) };
    Decided {
        record: None,
        stage: Stage::Signed,
        exceptions: day
            .audit()
            .exceptions
            .iter()
            .map(|one| (one.id.clone(), decision(&one.lots.join(" + "))))
            .collect(),
        closed: review::closing_ids(day.audit())
            .into_iter()
            .flatten()
            .map(|id| {
                let closing = Closing {
                    reason: "Read on the recorder's paper: the readings are there.".to_owned(),
                    note: String::new(),
                    by: "T. Example (invented)".to_owned(),
                    at: at(MORNING - 400),
                };
                (id, closing)
            })
            .collect(),
        hole: None,
        acknowledged: vec![Acknowledgement {
            observation: "recorder above indicating thermometer".to_owned(),
            note: "Known since the calibration in January; work order 118.".to_owned(),
            by: "T. Example (invented)".to_owned(),
            at: at(MORNING - 500),
        }],
        entries: vec![Entry {
            what: "reading of the indicating thermometer at start".to_owned(),
            value: "162.4 °F".to_owned(),
            by: "O. Example (invented)".to_owned(),
            at: at(MORNING - 86_000),
        }],
        signatures: vec![
            first,
            signature(
                "T. Example (invented)",
                "quality technician",
                "reviewed",
                MORNING,
                Scope::Day,
            ),
            signature(
                "Q. Example (invented)",
                "quality supervisor",
                "reviewed and approved",
                MORNING + 131,
                Scope::Day,
            ),
        ],
        verification: vec![
            line("The logger's files are those that were signed."),
            line("The chain of the journal holds from its first entry to its last."),
        ],
        digests: vec![
            digest("another file", "ab"),
            digest("audit", "cd"),
            digest("head of the journal", "ef"),
        ],
        unapproved: None,
    }
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
    let record = match RunRecord::new(parts) {
        Ok(record) => record,
        Err(error) => panic!("{error}"),
    };
    let mut plant = Plant::assumed();
    "= Dairy $made up$ #1".clone_into(&mut plant.name);
    let time = |hour| chrono::NaiveTime::from_hms_opt(hour, 0, 0).unwrap_or_default();
    plant.shifts = vec![Shift { name: "_night_".to_owned(), start: time(18), end: time(6) }];
    Case::new(record, plant, Vec::new(), vec!["columns by their names".to_owned()])
}

pub fn without_exceptions() -> Case {
    hostile(0)
}
