//! The sample runs: an invented plant and seven days of one pasteurizer, each in a logger dialect
//! of its own.
//!
//! Two of the days lie in the folder `sample-runs/`, for a person to open; a test compares them
//! byte for byte. All of them are written when tests run ([`crate::write_sample_runs`]).

use crate::dialect::{Dialect, Encoding, Newline, Quotes, Stamps, write_csv};
use crate::error::Error;
use crate::record::Run;
use crate::script::{Fault, FaultKind, Script, Step};
use crate::simulate::simulate;
use crate::truth::{Harmless, Truth, Unsafe, truth_json};
use chrono::NaiveDate;
use plant::{Plant, Zone};
use std::fmt::Write;
use trace::{DecimalMark, Duration, Role};

/// The plant file of the sample runs.
pub const fn plant_file() -> &'static str {
    include_str!("plant.toml")
}

/// The plant of the sample runs, read from [`plant_file`].
///
/// # Errors
/// Never, unless the built-in file is damaged; a test holds it.
pub fn sample_plant() -> Result<Plant, Error> {
    Plant::parse("plant.toml", plant_file()).map_err(Error::Plant)
}

/// The days that lie in the folder `sample-runs/`: the demo of the window.
const IN_THE_FOLDER: [&str; 2] = ["2026-03-04-stuck-valve", "2026-03-17-dropouts-and-gaps"];

/// A day as a file with its truth.
#[derive(Debug, Clone)]
pub struct SampleDay {
    /// The name of the CSV file.
    pub file_name: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
    /// The rows that it was written from.
    pub run: Run,
    /// What really happened.
    pub truth: Truth,
    /// What happens that day, for the folder's page.
    story: &'static str,
    /// How the logger wrote it.
    format: &'static str,
}

/// A day before it is played.
struct Plan {
    name: &'static str,
    story: &'static str,
    format: &'static str,
    seed: u64,
    script: Script,
    dialect: Dialect,
}

/// `h:mm:ss` after the start.
pub(crate) const fn at(hours: i64, minutes: i64, seconds: i64) -> Duration {
    Duration::from_seconds((hours * 60 + minutes) * 60 + seconds)
}

pub(crate) const fn seconds(seconds: i64) -> Duration {
    Duration::from_seconds(seconds)
}

pub(crate) const fn fault(from: Duration, lasts: i64, kind: FaultKind) -> Fault {
    Fault { from, lasts: seconds(lasts), kind }
}

pub(crate) fn product(name: &str, lot: &str) -> Step {
    Step::Product { name: name.to_owned(), lot: lot.to_owned() }
}

fn heat_for(product: &str) -> Step {
    Step::HeatFor { product: product.to_owned() }
}

pub(crate) const MILK: &str = "whole milk";
pub(crate) const CREAM: &str = "cream, 36 %";

/// A day with the start-up, the flush, the cleaning and the end that all days share; production
/// from 20 minutes after the start to 30 minutes before the end.
fn script(
    date: (i32, u32, u32),
    (hour, minute): (u32, u32),
    duration: Duration,
    production: Vec<(Duration, Step)>,
    faults: Vec<Fault>,
) -> Script {
    let (year, month, day) = date;
    let start = NaiveDate::from_ymd_opt(year, month, day)
        .and_then(|date| date.and_hms_opt(hour, minute, 0))
        .unwrap_or_default();
    let before_end =
        |minutes: i64| Duration::from_milliseconds(duration.milliseconds() - minutes * 60_000);
    let mut steps = vec![(at(0, 2, 0), Step::Start)];
    steps.extend(production);
    steps.extend([
        (before_end(30), Step::Water),
        (before_end(25), Step::Cleaning),
        (before_end(4), Step::Stop),
    ]);
    Script { start, duration, sample_interval: seconds(1), steps, faults, fouling_per_hour: 0.06 }
}

fn clean() -> Plan {
    Plan {
        name: "2026-03-03-clean.csv",
        story: "A day without a fault: water start-up, whole milk, cream with its higher limit \
                (the heating is raised before the change-over), whole milk again, flush and \
                cleaning. No forward-flow exception; the water that runs forward before and after \
                the milk is told apart.",
        format: "commas, ISO stamps, UTF-8; the product with a comma in its name stands in quotes",
        seed: 303,
        script: script(
            (2026, 3, 3),
            (5, 0),
            at(5, 20, 0),
            vec![
                (at(0, 20, 0), product(MILK, "0303-A")),
                (at(2, 5, 0), heat_for(CREAM)),
                (at(2, 15, 0), product(CREAM, "0303-B")),
                (at(3, 30, 0), product(MILK, "0303-C")),
            ],
            vec![],
        ),
        dialect: Dialect::default(),
    }
}

fn stuck_valve() -> Plan {
    Plan {
        name: "2026-03-04-stuck-valve.csv",
        story: "First a lack of steam that the device answers as it should: it diverts while the \
                milk is still legal. Then the hot water pump trips while the device is stuck \
                forward, and milk far below 161 °F goes on; the device stays forward until the \
                heat is back. Later the same in cream, below 166 °F yet above 161 °F, until the \
                device comes free and diverts.",
        format: "semicolons, decimal commas, UTF-8 with a byte order mark, CR LF",
        seed: 304,
        script: script(
            (2026, 3, 4),
            (5, 0),
            at(5, 20, 0),
            vec![
                (at(0, 20, 0), product(MILK, "0304-A")),
                (at(3, 5, 0), heat_for(CREAM)),
                (at(3, 15, 0), product(CREAM, "0304-B")),
            ],
            vec![
                fault(at(1, 10, 0), 90, FaultKind::SteamLost),
                fault(at(2, 9, 30), 300, FaultKind::ValveStuckForward),
                fault(at(2, 10, 0), 30, FaultKind::HeatingWaterLost),
                fault(at(3, 58, 0), 151, FaultKind::ValveStuckForward),
                fault(at(4, 0, 0), 8, FaultKind::HeatingWaterLost),
            ],
        ),
        dialect: Dialect {
            delimiter: ';',
            decimal_mark: DecimalMark::Comma,
            encoding: Encoding::Utf8WithMark,
            newline: Newline::CarriageReturnLineFeed,
            ..Dialect::default()
        },
    }
}

fn booster_interlock() -> Plan {
    Plan {
        name: "2026-03-13-booster-interlock.csv",
        story: "Product behind the cooler is drawn too fast three times, and the pressure on the \
                pasteurized side falls. The first time the interlock stops the booster pump and \
                the differential stays good. The second and the third time the interlock is \
                bypassed: the booster runs on, and raw milk stands at a higher pressure than \
                pasteurized milk while the device is forward.",
        format: "tabs, four lines before the header, a row of units, US dates with AM and PM, CR LF",
        seed: 313,
        script: script(
            (2026, 3, 13),
            (5, 0),
            at(5, 0, 0),
            vec![(at(0, 20, 0), product(MILK, "0313-A")), (at(2, 30, 0), product(MILK, "0313-B"))],
            vec![
                fault(at(1, 0, 0), 45, FaultKind::BackPressureLost),
                fault(at(1, 50, 0), 2400, FaultKind::BoosterInterlockBypassed),
                fault(at(2, 1, 30), 95, FaultKind::BackPressureLost),
                fault(at(2, 20, 0), 20, FaultKind::BackPressureLost),
            ],
        ),
        dialect: Dialect {
            delimiter: '\t',
            newline: Newline::CarriageReturnLineFeed,
            stamps: Stamps::UnitedStates,
            preamble: vec![
                "Run log (invented data)".to_owned(),
                "Unit:\tHTST-1".to_owned(),
                "Exported:\t3/13/2026 11:02:10 AM".to_owned(),
                String::new(),
            ],
            units_row: true,
            ..Dialect::default()
        },
    }
}

fn dropouts_and_gaps() -> Plan {
    let dropout = |role, text| FaultKind::Dropout { role, text };
    Plan {
        name: "2026-03-17-dropouts-and-gaps.csv",
        story: "The process is good all day but for a lack of steam that the device answers; the \
                record is not. In forward flow the thermometer and both pressures fail for a \
                while, each with another text in its place, and the logger stops for two minutes: \
                none of that can be vouched for, nor \
                the time that the milk behind the gap was in the holding tube. While the device is diverted for want of heat, \
                its position is not written: nobody can tell where the cold milk went. At the end the \
                logger stops for three minutes while diverted, long enough to go forward and \
                divert again unseen. Harmless are a thermometer and a logger that fail for less \
                than a minute while diverted, a cooler thermometer, and a position that is not \
                written while the milk is good anyway.",
        format: "commas, UTF-16 with its low byte first, one row every two seconds",
        seed: 317,
        script: Script {
            sample_interval: seconds(2),
            ..script(
                (2026, 3, 17),
                (5, 0),
                at(5, 0, 0),
                vec![
                    (at(0, 20, 0), product(MILK, "0317-A")),
                    (at(2, 0, 0), product(MILK, "0317-B")),
                ],
                vec![
                    fault(at(0, 3, 10), 40, dropout(Role::HoldingTemperature, "")),
                    fault(at(0, 4, 20), 50, FaultKind::LoggerStopped),
                    fault(at(0, 50, 0), 30, dropout(Role::HoldingTemperature, "")),
                    fault(at(1, 15, 0), 12, dropout(Role::RawPressure, "BAD")),
                    fault(at(1, 40, 0), 44, dropout(Role::Valve, "")),
                    fault(at(2, 10, 0), 120, FaultKind::LoggerStopped),
                    fault(at(2, 40, 0), 26, dropout(Role::PasteurizedPressure, "-999.9")),
                    fault(at(3, 0, 0), 90, FaultKind::SteamLost),
                    fault(at(3, 2, 30), 40, dropout(Role::Valve, "?")),
                    fault(at(3, 40, 0), 300, dropout(Role::CooledTemperature, "NaN")),
                    fault(at(4, 0, 0), 8, dropout(Role::HoldingTemperature, "#N/A")),
                    fault(at(4, 45, 0), 180, FaultKind::LoggerStopped),
                ],
            )
        },
        dialect: Dialect { encoding: Encoding::Utf16LittleEndian, ..Dialect::default() },
    }
}

fn frequent_diverts() -> Plan {
    let minutes = [42, 58, 74, 95, 111, 127, 165, 181, 220];
    let mut faults: Vec<Fault> = minutes
        .into_iter()
        .enumerate()
        .map(|(index, minute)| {
            fault(at(0, minute, 0), 60 + 8 * (index as i64 % 4), FaultKind::SteamLost)
        })
        .collect();
    faults.push(fault(at(3, 20, 0), 30, FaultKind::FlowSurge { gallons_per_minute: 58 }));
    Plan {
        name: "2026-03-19-frequent-diverts.csv",
        story: "The boiler is short of steam and the device diverts again and again, each time \
                before the milk is short; once the flow alarm diverts. Not one exception: a busy \
                day is not an unsafe day.",
        format: "commas, text in quotes, stamps with a T",
        seed: 319,
        script: script(
            (2026, 3, 19),
            (5, 0),
            at(4, 50, 0),
            vec![(at(0, 20, 0), product(MILK, "0319-A")), (at(2, 25, 0), product(MILK, "0319-B"))],
            faults,
        ),
        dialect: Dialect { quotes: Quotes::Text, stamps: Stamps::IsoWithT, ..Dialect::default() },
    }
}

fn flow_surge() -> Plan {
    Plan {
        name: "2026-03-24-flow-surge.csv",
        story: "The plates foul more than on other days: the hot water creeps up and the \
                regeneration falls, and the operators heat more. Then the timing pump runs away for half a minute with the flow \
                alarm out of order: milk is in the holding tube for less than 15 seconds, while \
                temperature and differential stay good.",
        format: "commas, Windows-1252 with its one-byte degree sign, CR LF",
        seed: 324,
        script: Script {
            fouling_per_hour: 0.18,
            ..script(
                (2026, 3, 24),
                (5, 0),
                at(5, 20, 0),
                vec![
                    (at(0, 20, 0), product(MILK, "0324-A")),
                    (at(2, 40, 0), product(MILK, "0324-B")),
                    (at(2, 55, 0), heat_for(CREAM)),
                ],
                vec![
                    fault(at(3, 19, 0), 180, FaultKind::FlowAlarmFailed),
                    fault(at(3, 20, 0), 35, FaultKind::FlowSurge { gallons_per_minute: 58 }),
                ],
            )
        },
        dialect: Dialect {
            encoding: Encoding::Windows1252,
            newline: Newline::CarriageReturnLineFeed,
            ..Dialect::default()
        },
    }
}

fn clock_change() -> Plan {
    Plan {
        name: "2026-11-01-clock-change.csv",
        story: "The night on which the clock is set back, with local stamps: from 01:00 to 02:00 \
                every stamp comes twice. In the second pass the hot water pump trips and the \
                device is stuck forward for a moment.",
        format: "commas, ISO stamps, UTF-8",
        seed: 401,
        script: script(
            (2026, 10, 31),
            (23, 0),
            at(5, 0, 0),
            vec![(at(0, 20, 0), product(MILK, "1031-A")), (at(1, 30, 0), product(MILK, "1101-A"))],
            vec![
                // 01:20 CST, the second time that the clock shows it.
                fault(at(3, 19, 0), 180, FaultKind::ValveStuckForward),
                fault(at(3, 20, 0), 12, FaultKind::HeatingWaterLost),
            ],
        ),
        dialect: Dialect::default(),
    }
}

/// All days, in order.
///
/// # Errors
/// As [`simulate`] and [`write_csv`].
pub fn sample_days() -> Result<Vec<SampleDay>, Error> {
    let plant = sample_plant()?;
    [
        clean(),
        stuck_valve(),
        booster_interlock(),
        dropouts_and_gaps(),
        frequent_diverts(),
        flow_surge(),
        clock_change(),
    ]
    .into_iter()
    .map(|plan| {
        let Plan { name, story, format, seed, script, dialect } = plan;
        let run = simulate(&script, &plant, seed)?;
        Ok(SampleDay {
            file_name: name.to_owned(),
            bytes: write_csv(&run, &dialect)?,
            truth: run.truth.clone(),
            run,
            story,
            format,
        })
    })
    .collect()
}

/// All sample runs as files: the path in their folder, with `/`, and the bytes.
///
/// # Errors
/// As [`sample_days`].
pub fn sample_runs() -> Result<Vec<(String, Vec<u8>)>, Error> {
    let plant = sample_plant()?;
    let days = sample_days()?;
    let mut files = vec![
        ("README.md".to_owned(), readme(&days, plant.zone).into_bytes()),
        // The bytes are the point of these files: no tool may change their line ends.
        (".gitattributes".to_owned(), b"* -text\n".to_vec()),
        ("plant.toml".to_owned(), plant_file().as_bytes().to_vec()),
    ];
    for day in days {
        let stem = day.file_name.trim_end_matches(".csv");
        let truth = truth_json(&day.truth, &day.file_name, &plant.unit, plant.zone)?;
        files.push((format!("truth/{stem}.json"), truth.into_bytes()));
        files.push((day.file_name, day.bytes));
    }
    files.sort();
    Ok(files)
}

/// Those of [`sample_runs`] that lie in the folder `sample-runs/`.
///
/// # Errors
/// As [`sample_days`].
pub fn demo() -> Result<Vec<(String, Vec<u8>)>, Error> {
    let mut files = sample_runs()?;
    files.retain(|(name, _)| {
        // A day's files begin with its date.
        let is_of_a_day =
            name.trim_start_matches("truth/").starts_with(|c: char| c.is_ascii_digit());
        !is_of_a_day || IN_THE_FOLDER.iter().any(|day| name.contains(day))
    });
    Ok(files)
}

fn readme(days: &[SampleDay], zone: Zone) -> String {
    let mut text = String::from(
        "# Sample runs\n\n\
         Seven days of one pasteurizer, HTST-1 of a plant in the zone America/Chicago. **Plant, \
         people, products, lots and readings are invented**; the readings come from the model in \
         `crates/simulate`. `plant.toml` is the plant file for all of them.\n\n\
         Each file is written in another logger dialect. Every day begins and ends with the pumps \
         off and the device diverted, so the files can also be read together as one record.\n\n\
         `truth/` holds, for each file, what really happened in the model: `unsafe` are the \
         intervals that an audit must find: forward flow that was not safe, and what the record \
         can't show to be safe. `harmless` are holes in the record that it must not count. A sampled record can show an interval only to one sample at \
         either end.\n\n\
         The first two days told here lie in this folder. The other five are made when tests run; \
         `cargo run -p simulate --example sample_runs -- FOLDER` writes all seven to look at.\n\n\
         Nothing here is edited by hand: `cargo run -p simulate --example sample_runs` writes the \
         folder, and a test compares it byte for byte.\n",
    );
    let lies_here =
        |day: &&SampleDay| IN_THE_FOLDER.contains(&day.file_name.trim_end_matches(".csv"));
    let (here, elsewhere): (Vec<_>, Vec<_>) = days.iter().partition(lies_here);
    for day in here.into_iter().chain(elsewhere) {
        // Writing to a String can't fail.
        let _written: std::fmt::Result = write!(
            text,
            "\n## {}\n\n{}\n\nWritten with {}.\n\n",
            day.file_name, day.story, day.format
        );
        if day.truth.unsafe_flow.is_empty() {
            text.push_str("Must be found: nothing.\n");
        } else {
            text.push_str("Must be found:\n\n");
            for Unsafe { rule, interval } in &day.truth.unsafe_flow {
                text.push_str(&line(rule.key(), *interval, zone));
            }
        }
        if !day.truth.harmless.is_empty() {
            text.push_str("\nMust not be counted as unsafe:\n\n");
            for Harmless { what, interval } in &day.truth.harmless {
                text.push_str(&line(what, *interval, zone));
            }
        }
    }
    text
}

fn line(what: &str, interval: trace::Interval, zone: Zone) -> String {
    format!(
        "- `{what}` from {} to {} ({})\n",
        zone.clock(interval.start()),
        zone.clock(interval.end()),
        interval.duration()
    )
}
