//! What happens on each day, and what follows from it.

use super::asked::{HOT, LONGEST_RUN, PLANT};
use super::day::{Told, WeekDay};
use super::written::{Entry, SheetLine};
use crate::days::{CREAM, MILK, at, fault, product, seconds};
use crate::error::Error;
use crate::events::{Cleaned, DivertCause, Events};
use crate::script::{Fault, FaultKind, Medium, Script, Step};
use crate::simulate::simulate;
use chrono::NaiveDate;
use plant::Plant;
use trace::{Duration, Instant, Interval};

/// A day before it is played: times of the sheet and of entries are minutes after five in the morning.
struct Plan {
    date: &'static str,
    story: &'static str,
    steps: Vec<(Duration, Step)>,
    /// From the first sample to the last.
    minutes: i64,
    faults: Vec<Fault>,
    /// From, to, the words, and how much too much is stated, in percent.
    sheet: Vec<(i64, i64, [&'static str; 3], i64)>,
    /// Minute, kind, how much too high it was read in tenths of a °F, note.
    entries: Vec<(i64, &'static str, i64, &'static str)>,
    entries_are_a_file: bool,
}

/// A reading that is further off than the plant allows was not what the thermometer showed, in tenths of a °F.
const ALLOWED: i64 = 10;
/// Metered and stated may differ by so many percent.
const TOLERANCE: f64 = 3.0;
/// The response allowance.
const RESPONSE: Duration = Duration::from_seconds(1);

pub(super) fn days(plant: &str) -> Result<Vec<WeekDay>, Error> {
    let line = Plant::parse(PLANT, plant)?;
    let plans = [monday(), tuesday(), wednesday(), thursday(), friday(), saturday(), sunday()];
    let played = plans.into_iter().zip(1301..).map(|(plan, seed)| played(plan, &line, seed));
    played.collect()
}

/// Start-up, production from the 15th minute on, flush, and a cleaning of twenty minutes before the end.
fn morning(minutes: i64, production: Vec<(Duration, Step)>) -> Vec<(Duration, Step)> {
    let end = |before: i64| at(0, minutes - before, 0);
    let mut steps = vec![(at(0, 2, 0), Step::Start)];
    steps.extend(production);
    steps.extend([(end(30), Step::Water), (end(25), Step::Cleaning), (end(4), Step::Stop)]);
    steps
}

fn monday() -> Plan {
    Plan {
        date: "2026-03-09",
        story: "Nothing is wrong: a cut-out test, a stop for lunch, a change to cream by hand, a cleaning; the \
                chilled water is throttled for a while and stays below the product; the operator's entries are \
                true and the run sheet adds up.",
        minutes: 170,
        steps: morning(
            170,
            vec![
                (at(0, 15, 0), product(MILK, "0309-A")),
                (at(0, 65, 0), Step::Stop),
                (at(0, 85, 0), Step::Start),
                (at(0, 105, 0), Step::HeatFor { product: CREAM.to_owned() }),
                // Nobody does it on the second.
                (at(0, 112, 0) + Duration::from_milliseconds(400), Step::DivertByHand),
                (at(0, 112, 30), product(CREAM, "0309-B")),
                (at(0, 114, 0), Step::Automatic),
            ],
        ),
        faults: vec![
            fault(at(0, 40, 0), 12, FaultKind::HeatingWaterLost),
            fault(
                at(0, 50, 0),
                30,
                FaultKind::MediumThrottled { medium: Medium::Cooling, psi: 12 },
            ),
        ],
        sheet: vec![(15, 112, [MILK, "0309-A", "T-1"], 0), (113, 140, [CREAM, "0309-B", "T-3"], 1)],
        entries: vec![
            (25, "indicating", 0, ""),
            (25, "recorder", -4, ""),
            (100, "indicating", 3, ""),
            (125, "indicating", -2, ""),
            (126, "seals", 0, "all intact"),
            (66, "occurrence", 0, "lunch; the line stands"),
        ],
        entries_are_a_file: true,
    }
}

fn tuesday() -> Plan {
    Plan {
        date: "2026-03-10",
        story: "The hot water pump trips while the device is stuck forward: cold milk goes into tank T-2, and \
                on hold. Later a valve behind the heater closes, and the hot water stands above the product.",
        minutes: 130,
        steps: morning(130, vec![(at(0, 15, 0), product(MILK, "0310-A"))]),
        faults: vec![
            fault(at(0, 59, 30), 300, FaultKind::ValveStuckForward),
            fault(at(0, 60, 0), 30, FaultKind::HeatingWaterLost),
            fault(
                at(0, 80, 0),
                25,
                FaultKind::MediumThrottled { medium: Medium::Heating, psi: 26 },
            ),
        ],
        sheet: vec![(15, 100, [MILK, "0310-A", "T-2"], 0)],
        entries: vec![(25, "indicating", 0, ""), (66, "occurrence", 0, "hot water pump tripped")],
        entries_are_a_file: true,
    }
}

fn wednesday() -> Plan {
    Plan {
        date: "2026-03-11",
        story: "The device diverts for a quarter of a minute, and nothing in the record shows why.",
        minutes: 130,
        steps: morning(130, vec![(at(0, 15, 0), product(MILK, "0311-A"))]),
        faults: vec![fault(at(0, 60, 0), 15, FaultKind::DivertsUnasked)],
        sheet: vec![(15, 100, [MILK, "0311-A", "T-1"], -1)],
        entries: vec![(25, "indicating", 0, "")],
        entries_are_a_file: true,
    }
}

fn thursday() -> Plan {
    Plan {
        date: "2026-03-12",
        story: "The timing pump runs too fast, and later too slowly; each time the alarm diverts. Its seal was broken \
                and it was sealed anew. The operator's entries are made by hand.",
        minutes: 130,
        steps: morning(130, vec![(at(0, 15, 0), product(MILK, "0312-A"))]),
        faults: vec![
            fault(at(0, 60, 0), 30, FaultKind::FlowSurge { gallons_per_minute: 58 }),
            fault(at(0, 75, 0), 20, FaultKind::PumpSlow { gallons_per_minute: 34 }),
        ],
        sheet: vec![(15, 100, [MILK, "0312-A", "T-2"], 0)],
        entries: vec![
            (25, "indicating", 0, ""),
            (60, "alarm", 0, "high flow, the device diverted"),
            (75, "alarm", 0, "low flow, the device diverted"),
            (80, "seals", 0, "4711 broken, 4712 applied"),
        ],
        entries_are_a_file: false,
    }
}

fn friday() -> Plan {
    Plan {
        date: "2026-03-13",
        story: "The pump runs too fast again, and too slowly, and the alarms divert nothing; the run sheet states a \
                twelfth too much, and one of the operator's readings is not what the thermometer showed.",
        minutes: 130,
        steps: morning(130, vec![(at(0, 15, 0), product(MILK, "0313-A"))]),
        faults: vec![
            fault(at(0, 59, 0), 180, FaultKind::FlowAlarmFailed),
            fault(at(0, 60, 0), 35, FaultKind::FlowSurge { gallons_per_minute: 58 }),
            fault(at(0, 74, 0), 180, FaultKind::FlowAlarmFailed),
            fault(at(0, 75, 0), 20, FaultKind::PumpSlow { gallons_per_minute: 34 }),
        ],
        sheet: vec![(15, 100, [MILK, "0313-A", "T-3"], 8)],
        entries: vec![
            (25, "indicating", 0, ""),
            (50, "indicating", 40, ""),
            (61, "alarm", 0, "high flow"),
        ],
        entries_are_a_file: true,
    }
}

fn saturday() -> Plan {
    let steps = vec![
        (at(0, 2, 0), Step::Start),
        (at(0, 15, 0), product(MILK, "0314-A")),
        (at(0, 75, 0), Step::Water),
        (at(0, 80, 0), Step::Cleaning),
        (at(0, 100, 0), Step::Water),
        (at(0, 115, 0), product(MILK, "0314-B")),
        (at(0, 190, 0), Step::Water),
        (at(0, 195, 0), Step::Cleaning),
        (at(0, 216, 0), Step::Stop),
    ];
    Plan {
        date: "2026-03-14",
        story: "Between two productions the line is cleaned, and cold water leaks into the solution on its way \
                back: hot at the tube, cold at the end of the loop. It counts as none, so that product ran for \
                longer than the plant allows. In the morning the chilled water stood above the product.",
        minutes: 220,
        steps,
        faults: vec![
            fault(
                at(0, 40, 0),
                25,
                FaultKind::MediumThrottled { medium: Medium::Cooling, psi: 26 },
            ),
            fault(at(0, 78, 0), 1500, FaultKind::ReturnLeaks),
        ],
        sheet: vec![(15, 75, [MILK, "0314-A", "T-1"], 0), (115, 190, [MILK, "0314-B", "T-2"], 0)],
        entries: vec![(25, "indicating", 0, ""), (130, "indicating", 0, "")],
        entries_are_a_file: true,
    }
}

fn sunday() -> Plan {
    Plan {
        date: "2026-03-15",
        story: "A quiet night: the line stands, the pumps are off, and the logger writes.",
        minutes: 90,
        steps: Vec::new(),
        faults: Vec::new(),
        sheet: Vec::new(),
        entries: Vec::new(),
        entries_are_a_file: true,
    }
}

/// Plays a day, and says what follows from it.
fn played(plan: Plan, line: &Plant, seed: u64) -> Result<WeekDay, Error> {
    let Plan { date, story, steps, minutes, faults, sheet, entries, entries_are_a_file } = plan;
    let script = Script {
        start: date
            .parse::<NaiveDate>()
            .ok()
            .and_then(|day| day.and_hms_opt(5, 0, 0))
            .unwrap_or_default(),
        duration: at(0, minutes, 0),
        sample_interval: seconds(1),
        steps,
        faults,
        fouling_per_hour: 0.05,
    };
    let run = simulate(&script, line, seed)?;
    let start = run.rows.first().map(|row| row.instant);
    let start = start.ok_or(Error::Proof { missing: "a row".to_owned() })?;
    let events = &run.truth.events;
    let minute = |after: i64| start + at(0, after, 0);
    let clock = |after: i64| format!("{date} {:02}:{:02}", 5 + after / 60, after % 60);
    let mut to_close = of_events(events);
    let mut lines = Vec::new();
    for (from, to, words, percent) in sheet {
        let metered = events.forward_between(minute(from), minute(to)).unwrap_or_default();
        let gallons = (metered * (1.0 + percent as f64 / 100.0)).round() as i64;
        lines.push(SheetLine { times: [clock(from), clock(to)], words, gallons });
        let stated = gallons as f64;
        if 100.0 * (metered - stated).abs() > TOLERANCE * stated {
            let interval = Interval::between(minute(from), minute(to));
            to_close.push(Told { kind: "amount_disagrees", channel: "", interval });
        }
    }
    let mut made = Vec::new();
    for (after, kind, tenths, note) in entries {
        let at = minute(after);
        let is_true = match kind {
            // What the recorder reads below the tube is not the operator's doing.
            "recorder" => true,
            "alarm" => events.alarms.iter().any(|one| near(at, one.interval)),
            _ => tenths.abs() <= ALLOWED,
        };
        let is_reading = matches!(kind, "indicating" | "recorder");
        let reading = is_reading.then(|| reading(events, at, tenths)).transpose()?;
        made.push(Entry { time: clock(after), kind, reading, note, is_true });
        if !is_true {
            let interval = Interval::between(at, minute(after + 1));
            to_close.push(Told { kind: "entry_disagrees", channel: "", interval });
        }
    }
    to_close.sort_by_key(|one| (one.kind, one.interval));
    Ok(WeekDay { date, story, run, sheet: lines, entries: made, entries_are_a_file, to_close })
}

/// Whether an alarm was on within a minute of an entry.
fn near(at: Instant, alarm: Interval) -> bool {
    let minute = Duration::from_seconds(60);
    alarm.start() - minute <= at + minute && at - minute <= alarm.end()
}

/// The thermometer at a whole minute, read with an error: `163.4`.
fn reading(events: &Events, at: Instant, tenths: i64) -> Result<String, Error> {
    let minute = events.minutes.iter().find(|minute| minute.at == at);
    let minute = minute.ok_or(Error::Proof { missing: "a minute".to_owned() })?;
    let read = (minute.holding_f * 10.0).round() as i64 + tenths;
    Ok(format!("{}.{}", read / 10, read % 10))
}

/// What follows from what the line did.
fn of_events(events: &Events) -> Vec<Told> {
    let mut told = Vec::new();
    let mut tell = |kind, channel, interval| told.push(Told { kind, channel, interval });
    for one in events.diverts.iter().filter(|one| one.cause == DivertCause::Unasked) {
        tell("divert_without_cause", "", one.interval);
    }
    for one in events.alarms.iter().filter(|one| one.forward > RESPONSE) {
        tell("alarm_without_divert", one.alarm.role().name(), one.interval);
    }
    for one in &events.risen {
        tell("medium_above_product", one.medium.role().name(), one.interval);
    }
    let counts = |one: &&Cleaned| one.return_hot >= HOT.1;
    for one in events.cleanings.iter().filter(|one| !counts(one)) {
        tell("cleaning_too_short", "", one.interval);
    }
    // From the first product forward to the last before a cleaning that counts.
    let mut run: Option<Interval> = None;
    let mut cleanings = events.cleanings.iter().filter(counts).peekable();
    let too_long = |run: &Interval| run.duration() > LONGEST_RUN;
    for product in &events.productions {
        while cleanings.next_if(|one| one.interval.start() < product.start()).is_some() {
            if let Some(run) = run.take().filter(too_long) {
                tell("production_without_cleaning", "", run);
            }
        }
        run = Some(run.map_or(*product, |run| run.hull(*product)));
    }
    if let Some(run) = run.filter(too_long) {
        tell("production_without_cleaning", "", run);
    }
    told
}
