//! Whether the record holds what the plant's list says it must (method, section 8).

use crate::context::Context;
use crate::entries::{self, CheckedEntry};
use crate::product_account::ProductRun;
use crate::rules::Rule;
use crate::transitions::{Side, Transition};
use plant::Evidence;
use trace::{ChannelView, Duration, EntryKind, Interval, Role, ValveState};

/// What was found of an item.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Presence {
    /// The record holds it.
    Present,
    /// The record does not hold it, or not throughout.
    Missing,
    /// No sensor can give it; somebody must enter it.
    NeedsEntry,
}

impl Presence {
    /// The key in JSON.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Present => "present",
            Self::Missing => "missing",
            Self::NeedsEntry => "needs_entry",
        }
    }

    /// A word or two for a person.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Present => "present",
            Self::Missing => "missing",
            Self::NeedsEntry => "needs an entry",
        }
    }
}

/// One item of the plant's list, looked for in the record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CompletenessItem {
    /// The item.
    pub item: String,
    /// Who asks for it.
    pub source: String,
    /// What was found.
    pub presence: Presence,
    /// Where it was found, or what is missing.
    pub detail: String,
}

/// What people wrote down, and the runs of the day.
type Made<'a> = (&'a [CheckedEntry], &'a [ProductRun]);

/// How long after a run went forward its indicating thermometer must have been read (30 min, ours).
const START_OF_RUN: Duration = Duration::from_seconds(30 * 60);

pub(crate) fn completeness(
    context: &Context<'_>,
    transitions: &[Transition],
    made: Made<'_>,
) -> Vec<CompletenessItem> {
    context
        .plant
        .required
        .iter()
        .map(|required| {
            let (presence, detail) = look(context, transitions, made, required.evidence);
            CompletenessItem {
                item: required.item.clone(),
                source: required.source.in_words(),
                presence,
                detail,
            }
        })
        .collect()
}

fn look(
    context: &Context<'_>,
    transitions: &[Transition],
    made: Made<'_>,
    evidence: Evidence,
) -> (Presence, String) {
    let plant = context.plant;
    match evidence {
        Evidence::Date => {
            let interval = context.record.interval();
            let (from, to) = (plant.zone.date(interval.start()), plant.zone.date(interval.end()));
            let days = if from == to { from } else { format!("{from} to {to}") };
            match context.record.unplaced().iter().map(|group| group.rows.len()).sum::<usize>() {
                0 => (Presence::Present, format!("{days}, in the time stamp of every sample")),
                rows => (Presence::Missing, format!("{days}; {rows} rows have no usable stamp")),
            }
        }
        Evidence::PlantName => {
            if plant.is_assumed() {
                (Presence::Missing, "no plant file was given".to_owned())
            } else {
                (Presence::Present, format!("{}, {}", plant.name, plant.unit))
            }
        }
        Evidence::RecorderPlace => match &plant.recorder {
            Some(place) => (Presence::Present, place.clone()),
            None => (Presence::Missing, "name it as `recorder` in the plant file".to_owned()),
        },
        Evidence::ContinuousTemperature => {
            let channel = context.record.holding_temperature().mantissas();
            let unusable = |sample: usize| {
                let doubtful = context.verdicts.is_exposed(sample)
                    && !context.verdicts.is_short(sample, Rule::TEMPERATURE)
                    && !context.verdicts.is_legal_for(sample, Rule::TEMPERATURE);
                !ChannelView::is_valid(channel[sample]) || doubtful
            };
            continuous(context, "a usable holding temperature", unusable)
        }
        Evidence::ForwardFlow => continuous(context, "a known position of the FDD", |sample| {
            context.verdicts.valve(sample) == ValveState::Unknown
        }),
        Evidence::ContinuousFlow => match context.record.flow_rate() {
            None => (Presence::Missing, "the record has no flow".to_owned()),
            Some(_) => continuous(context, "a usable flow", |sample| {
                !context.verdicts.is_flow_usable(sample)
            }),
        },
        Evidence::ContinuousAlarms => {
            let alarm = |role| context.record.switch(role);
            match (alarm(Role::HighFlowAlarm), alarm(Role::LowFlowAlarm)) {
                (None, None) => (
                    Presence::Missing,
                    "the record has no channel of the flow alarms; an entry does not stand for it"
                        .to_owned(),
                ),
                (Some(high), Some(low)) => {
                    continuous(context, "a known state of both flow alarms", |sample| {
                        high[sample].is_none() || low[sample].is_none()
                    })
                }
                _ => (Presence::Missing, "the record has only one of the flow alarms".to_owned()),
            }
        }
        Evidence::CutInAndOut => tests(context, transitions, made.0),
        Evidence::IndicatingReadings => indicating(context, made),
        Evidence::Occurrences => occurrences(made.0),
        Evidence::ProductAndQuantity => {
            if context.record.flow_rate().is_none() {
                return (
                    Presence::NeedsEntry,
                    "the record has no flow; enter product and quantity of each run".to_owned(),
                );
            }
            named(context, "a product", &[context.record.product()])
        }
        Evidence::ProductAndLot => {
            named(context, "a product and a lot", &[context.record.product(), context.record.lot()])
        }
        Evidence::Entry => to_be_entered(),
    }
}

/// A continuous record of something: no hole, and no sample at which it is not usable.
fn continuous(
    context: &Context<'_>,
    what: &str,
    unusable: impl Fn(usize) -> bool,
) -> (Presence, String) {
    let record = context.record;
    let zone = context.plant.zone;
    let interval = record.interval();
    let over = format!(
        "from {} to {}, one sample every {}",
        zone.clock(interval.start()),
        zone.clock(interval.end()),
        record.sampling_interval()
    );
    let without: Vec<usize> = (0..record.samples()).filter(|&sample| unusable(sample)).collect();
    let mut missing = Vec::new();
    if let Some(&first) = without.first() {
        missing.push(format!(
            "{} of {} samples are without {what}, the first at {}",
            without.len(),
            record.samples(),
            zone.clock(record.instants()[first])
        ));
    }
    if let Some(first) = context.holes.first() {
        let time =
            context.holes.iter().fold(Duration::ZERO, |sum, hole| sum + hole.interval.duration());
        missing.push(format!(
            "{} {} of {time} in all, the first at {}",
            context.holes.len(),
            if context.holes.len() == 1 { "hole" } else { "holes" },
            zone.clock(first.interval.start())
        ));
    }
    if missing.is_empty() {
        (Presence::Present, format!("{what} at every sample, no hole, {over}"))
    } else {
        (Presence::Missing, format!("{} ({over})", missing.join("; ")))
    }
}

fn to_be_entered() -> (Presence, String) {
    (Presence::NeedsEntry, "to be entered at the review".to_owned())
}

/// For each run that went forward, an entry that the record bears out within its first half hour.
fn indicating(context: &Context<'_>, (entries, runs): Made<'_>) -> (Presence, String) {
    if !entries.iter().any(|one| one.entry.kind == EntryKind::Indicating) {
        return to_be_entered();
    }
    let record = context.record;
    let (instants, zone) = (record.instants(), context.plant.zone);
    let runs: Vec<Interval> = match runs {
        [] => vec![record.interval()],
        runs => runs.iter().map(|run| run.interval).collect(),
    };
    let mut read = Vec::new();
    for run in runs {
        let first = instants.partition_point(|&at| at < run.start());
        let mut samples = (first..record.samples()).take_while(|&one| instants[one] <= run.end());
        let forward = samples.find(|&sample| context.verdicts.is_forward(sample));
        let Some(start) = forward.map(|sample| instants[sample]) else { continue };
        // One to the minute may begin before the device went forward in it.
        let within = Interval::between(start - Duration::from_seconds(60), start + START_OF_RUN);
        let Some(entry) = entries::first_of(entries, EntryKind::Indicating, within) else {
            let at = zone.clock(start);
            let told = format!("no entry that agrees with the record for the run from {at}");
            return (Presence::NeedsEntry, told);
        };
        read.push(zone.clock(entry.at));
    }
    (Presence::Present, format!("entered at {}", read.join(", ")))
}

fn occurrences(entries: &[CheckedEntry]) -> (Presence, String) {
    let told = entries.iter().filter(|one| one.entry.kind == EntryKind::Occurrence);
    let told: Vec<&str> = told.map(|one| one.entry.note.as_str()).collect();
    if told.is_empty() { to_be_entered() } else { (Presence::Present, told.join("; ")) }
}

/// Cut-in and cut-out temperatures, found by a test and not by any passage.
fn tests(
    context: &Context<'_>,
    transitions: &[Transition],
    entries: &[CheckedEntry],
) -> (Presence, String) {
    let zone = context.plant.zone;
    let unit = trace::Unit::symbol(context.record.holding_temperature().unit());
    let test = |side: Side| {
        let one = transitions.iter().find(|one| one.to == side && one.is_test)?;
        let (at, reading) = match side {
            Side::Forward => (one.at, one.temperature_after?),
            Side::Divert => (one.at, one.temperature_before?),
        };
        Some(format!("{reading} {unit} at {}", zone.clock(at)))
    };
    let entered = |kind| {
        let entry = entries::first_of(entries, kind, context.record.interval())?;
        Some(format!("{} {} at {}", kind.name(), entry.in_figures()?, zone.clock(entry.at)))
    };
    if let (Some(cut_in), Some(cut_out)) = (entered(EntryKind::CutIn), entered(EntryKind::CutOut)) {
        return (Presence::Present, format!("entered: {cut_in}, {cut_out}"));
    }
    match (test(Side::Forward), test(Side::Divert)) {
        (Some(cut_in), Some(cut_out)) => {
            (Presence::Present, format!("first cut-in test {cut_in}, first cut-out test {cut_out}"))
        }
        (cut_in, cut_out) => {
            let of = |found: Option<String>, name: &str| match found {
                Some(found) => format!("first {name} test {found}"),
                None => format!("no {name} test"),
            };
            let detail = format!(
                "{}, {} among {} passages: a test is a passage at which the temperature goes \
                 through the limit with flow and differential in order; enter the check",
                of(cut_in, "cut-in"),
                of(cut_out, "cut-out"),
                transitions.len()
            );
            (Presence::NeedsEntry, detail)
        }
    }
}

/// Words beside every forward sample.
fn named(
    context: &Context<'_>,
    what: &str,
    channels: &[Option<&trace::TextChannel>],
) -> (Presence, String) {
    let Some(channels) = channels.iter().copied().collect::<Option<Vec<_>>>() else {
        return (Presence::NeedsEntry, format!("the record does not name {what}"));
    };
    let forward =
        || (0..context.record.samples()).filter(|&sample| context.verdicts.is_forward(sample));
    let blank = |&sample: &usize| channels.iter().any(|text| text.word(sample).is_empty());
    let all = forward().count();
    match forward().filter(blank).count() {
        _ if all == 0 => (Presence::Present, format!("no sample in forward flow needs {what}")),
        0 => (Presence::Present, format!("{what} at all {all} samples in forward flow")),
        some => (
            Presence::NeedsEntry,
            format!("{some} of {all} samples in forward flow do not name {what}"),
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::specimen::{Specimen, day, span};
    use plant::{Provenance, RequiredItem, Source};

    fn look_for(evidence: Evidence, specimen: Specimen) -> (Presence, String) {
        let audit = specimen
            .set(|plant| {
                plant.required = vec![RequiredItem {
                    item: "item".to_owned(),
                    evidence,
                    source: Source::new("ATCP 65.66(3)", Provenance::Seen),
                }];
            })
            .audit();
        match audit.completeness.as_slice() {
            [one] => (one.presence, one.detail.clone()),
            others => panic!("{others:#?}"),
        }
    }

    fn told(presence: Presence, detail: &str) -> (Presence, String) {
        (presence, detail.to_owned())
    }

    #[test]
    fn items_come_in_the_order_of_the_list_with_their_source() {
        let audit = day("F")
            .set(|plant| {
                let item = |item: &str, evidence| RequiredItem {
                    item: item.to_owned(),
                    evidence,
                    source: Source::new("ATCP 65.66(3)(k)", Provenance::Seen),
                };
                plant.file = None;
                plant.required = vec![
                    item("signature", Evidence::Entry),
                    item("plant name", Evidence::PlantName),
                ];
            })
            .audit();
        let found: Vec<_> =
            audit.completeness.iter().map(|one| (one.item.as_str(), one.presence)).collect();
        assert_eq!(found, [("signature", Presence::NeedsEntry), ("plant name", Presence::Missing)]);
        assert_eq!(audit.completeness[0].source, "ATCP 65.66(3)(k) (built in; text read)");
    }

    #[test]
    fn the_date_is_in_the_stamps_unless_rows_have_none() {
        assert_eq!(
            look_for(Evidence::Date, day("F*3")),
            told(Presence::Present, "1970-01-01, in the time stamp of every sample")
        );
        let rows = [("F", "165", "5", ""), ("D", "165", "5", "")];
        assert_eq!(
            look_for(Evidence::Date, day("F*3").unplaced(span(0, 1000), &rows)),
            told(Presence::Missing, "1970-01-01; 2 rows have no usable stamp")
        );
        // Past midnight.
        let (_, detail) = look_for(Evidence::Date, day("F*2").step(0, 86_400_000));
        assert_eq!(detail, "1970-01-01 to 1970-01-02, in the time stamp of every sample");
    }

    #[test]
    fn what_the_plant_file_says_is_taken_from_it() {
        let named = |day: Specimen| {
            day.set(|plant| {
                plant.file =
                    Some(plant::PlantFile { name: "plant.toml".to_owned(), sha256: [0; 32] });
                plant.name = "Brookfield".to_owned();
                plant.unit = "HTST 1".to_owned();
                plant.recorder = Some("TR-2".to_owned());
            })
        };
        assert_eq!(
            look_for(Evidence::PlantName, named(day("F"))),
            told(Presence::Present, "Brookfield, HTST 1")
        );
        let assumed = day("F").set(|plant| plant.file = None);
        assert_eq!(look_for(Evidence::PlantName, assumed).0, Presence::Missing);
        assert_eq!(
            look_for(Evidence::RecorderPlace, named(day("F"))),
            told(Presence::Present, "TR-2")
        );
        assert_eq!(look_for(Evidence::RecorderPlace, day("F")).0, Presence::Missing);
    }

    #[test]
    fn a_continuous_record_says_over_which_part_of_the_day() {
        assert_eq!(
            look_for(Evidence::ContinuousTemperature, day("F*11")),
            told(
                Presence::Present,
                "a usable holding temperature at every sample, no hole, from 00:00:00 to 00:00:10, \
                 one sample every 1 s"
            )
        );
        assert_eq!(
            look_for(Evidence::ContinuousTemperature, day("F*11").holding("165*3 BAD*2 165")),
            told(
                Presence::Missing,
                "2 of 11 samples are without a usable holding temperature, the first at 00:00:03 \
                 (from 00:00:00 to 00:00:10, one sample every 1 s)"
            )
        );
    }

    /// The logger hung for nine hours while diverted: that is no continuous record.
    #[test]
    fn a_hole_is_no_continuous_record_whatever_the_device_did() {
        let hung = || day("D*4").step(1, 9 * 3_600_000).flow("20");
        let holes = "1 hole of 9 h 00 min in all, the first at 00:00:01 (from 00:00:00 to 09:00:02, \
                     one sample every 1 s)";
        for evidence in
            [Evidence::ContinuousTemperature, Evidence::ForwardFlow, Evidence::ContinuousFlow]
        {
            assert_eq!(look_for(evidence, hung()), told(Presence::Missing, holes), "{evidence:?}");
        }
        let two = day("D*8").step(1, 9000).step(5, 9000);
        assert!(look_for(Evidence::ForwardFlow, two).1.starts_with("2 holes of 18 s in all"));
    }

    /// Frozen, contradicted and repeated readings in exposed flow are not usable; while diverted
    /// nothing has to be shown.
    #[test]
    fn a_doubtful_reading_is_no_usable_one() {
        let of = |specimen| look_for(Evidence::ContinuousTemperature, specimen).0;
        assert_eq!(of(day("F*30").recorder("150")), Presence::Missing);
        assert_eq!(of(day("D*30").recorder("150")), Presence::Present);
        // Short, and usable as what it is.
        assert_eq!(of(day("F*30").holding("150").recorder("140")), Presence::Present);
    }

    #[test]
    fn a_position_that_is_unknown_is_no_record_of_forward_flow() {
        let (presence, detail) = look_for(Evidence::ForwardFlow, day("F*2 U F"));
        assert_eq!(presence, Presence::Missing);
        assert!(detail.starts_with("1 of 4 samples are without a known position of the FDD"));
        assert_eq!(look_for(Evidence::ForwardFlow, day("F V D")).0, Presence::Present);
    }

    #[test]
    fn a_flow_that_proves_nothing_is_no_usable_one() {
        let of = |specimen| look_for(Evidence::ContinuousFlow, specimen).0;
        assert_eq!(of(day("F*3")), Presence::Missing);
        assert_eq!(of(day("F*3").tube(20, 16_000).flow("20")), Presence::Present);
        assert_eq!(of(day("F*3").tube(20, 16_000).flow("20 0.0 20")), Presence::Missing);
        // The pump may stand while the device is diverted.
        assert_eq!(of(day("D*3").tube(20, 16_000).flow("0.0")), Presence::Present);
    }

    #[test]
    fn an_entry_does_not_stand_for_a_continuous_record_of_the_alarms() {
        assert_eq!(
            look_for(Evidence::ContinuousAlarms, day("F*3").flow("20")).0,
            Presence::Missing
        );
        assert_eq!(look_for(Evidence::Entry, day("F*3")).0, Presence::NeedsEntry);
        let of = |high: &str, low: &str| {
            look_for(Evidence::ContinuousAlarms, day("F*3").alarms(high, low)).0
        };
        assert_eq!(of("off", "off"), Presence::Present);
        assert_eq!(of("off", "off _"), Presence::Missing);
    }

    /// Each run that went forward needs a reading of its first half hour that the record bears out.
    #[test]
    fn indicating_readings_are_asked_for_each_run() {
        let of = |specimen| look_for(Evidence::IndicatingReadings, specimen).0;
        let entry =
            |specimen: Specimen, at, reading| specimen.entry(at, EntryKind::Indicating, reading);
        assert_eq!(of(day("F*3")), Presence::NeedsEntry);
        assert_eq!(of(entry(day("D*10 F*60"), 0, "165.0")), Presence::Present);
        assert_eq!(of(entry(day("D*10 F*60"), 0, "150.0")), Presence::NeedsEntry, "it disagrees");
        let long = || day("D*10 F*4000");
        assert_eq!(of(entry(long(), 1800, "165.0")), Presence::Present);
        assert_eq!(of(entry(long(), 1860, "165.0")), Presence::NeedsEntry, "too late");
        let two = || day("F*4000").product("milk*2000 cream");
        assert_eq!(of(entry(two(), 0, "165.0")), Presence::NeedsEntry, "one of two runs");
        assert_eq!(of(entry(entry(two(), 0, "165.0"), 2040, "165.0")), Presence::Present);
    }

    /// Entries that the record bears out, which a test above the legal limit needs.
    #[test]
    fn tests_may_be_entered() {
        let line = || day("F*60 D*30 F*60").holding("165.0*55 164.0 163.0 162.0*3 162.1*30 163.0");
        let of = |specimen| look_for(Evidence::CutInAndOut, specimen).0;
        assert_eq!(of(line()), Presence::NeedsEntry);
        let cut_out = || line().entry(0, EntryKind::CutOut, "162.0");
        assert_eq!(of(cut_out()), Presence::NeedsEntry);
        assert_eq!(of(cut_out().entry(60, EntryKind::CutIn, "163.0")), Presence::Present);
        assert_eq!(of(cut_out().entry(60, EntryKind::CutIn, "166.0")), Presence::NeedsEntry);
    }

    #[test]
    fn an_occurrence_is_what_somebody_wrote_down() {
        let of = |specimen| look_for(Evidence::Occurrences, specimen);
        assert_eq!(of(day("F*3")).0, Presence::NeedsEntry);
        let told = of(day("F*3").entry(0, EntryKind::Occurrence, ""));
        assert_eq!(told, (Presence::Present, "as seen".to_owned()));
    }

    #[test]
    fn only_tests_show_the_cut_in_and_cut_out_temperatures() {
        let of = |holding: &str| look_for(Evidence::CutInAndOut, day("D F*2 D").holding(holding));
        assert_eq!(
            of("160 161.5 161.2 160"),
            told(
                Presence::Present,
                "first cut-in test 161.5 °F at 00:00:01, first cut-out test 161.2 °F at 00:00:03"
            )
        );
        // Two passages, and none of them shows where the device acts.
        let (presence, detail) = of("165");
        assert_eq!(presence, Presence::NeedsEntry);
        assert!(detail.starts_with("no cut-in test, no cut-out test among 2 passages"), "{detail}");
        let (presence, detail) = of("160 161.5 165 165");
        assert_eq!(presence, Presence::NeedsEntry);
        let expected = "first cut-in test 161.5 °F at 00:00:01, no cut-out test among 2 passages";
        assert!(detail.starts_with(expected), "{detail}");
    }

    #[test]
    fn product_and_lot_are_looked_for_in_forward_flow() {
        let of = |specimen| look_for(Evidence::ProductAndLot, specimen);
        assert_eq!(
            of(day("D F*3").product("_ milk").lot("_ A")),
            told(Presence::Present, "a product and a lot at all 3 samples in forward flow")
        );
        assert_eq!(
            of(day("D F*3").product("_ milk").lot("_ A _")),
            told(
                Presence::NeedsEntry,
                "2 of 3 samples in forward flow do not name a product and a lot"
            )
        );
        assert_eq!(of(day("F").product("milk")).0, Presence::NeedsEntry);
        assert_eq!(
            of(day("D*3").product("_").lot("_")),
            told(Presence::Present, "no sample in forward flow needs a product and a lot")
        );
    }

    #[test]
    fn a_quantity_needs_a_flow() {
        let of = |specimen| look_for(Evidence::ProductAndQuantity, specimen).0;
        assert_eq!(of(day("F").product("milk")), Presence::NeedsEntry);
        assert_eq!(of(day("F").product("milk").flow("20")), Presence::Present);
        assert_eq!(of(day("F").product("_").flow("20")), Presence::NeedsEntry);
    }
}
