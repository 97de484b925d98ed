//! What the operator wrote down, held to what the record shows at that time (method, section 8).

use crate::context::Context;
use crate::transitions::{Side, Transition};
use plant::Thermometer;
use trace::{
    Channel, ChannelView, Decimal, Duration, EntryKind, Instant, Interval, OperatorEntry, Ratio,
    Role, TemperatureUnit, Unit, ValveState,
};

/// How far from its time a test or an alarm may stand in the record (60 s, ours): clocks on the wall differ.
const NEAR: Duration = Duration::from_seconds(60);

/// Over how long the temperature of a test must have risen or fallen (10 s, ours).
const MOVING: Duration = Duration::from_seconds(10);

/// What became of one entry.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Check {
    /// The record shows it.
    Agrees(String),
    /// The record shows something else, or nothing where it should.
    Disagrees(String),
    /// No channel of the record could show it.
    NotComparable(String),
    /// It is nothing that a trace shows.
    Words,
}

/// One entry and what became of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CheckedEntry {
    /// The entry.
    pub entry: OperatorEntry,
    /// What the record says of it.
    pub check: Check,
}

impl CheckedEntry {
    /// The time that it means: the minute, or the second.
    pub fn meant(&self) -> Interval {
        meant(&self.entry)
    }

    /// What was entered, without when and by whom.
    pub fn in_words(&self) -> String {
        let OperatorEntry { kind, note, .. } = &self.entry;
        let words = [Some(kind.name().to_owned()), self.entry.in_figures()];
        let words = words.into_iter().flatten().collect::<Vec<_>>().join(" ");
        if note.is_empty() { words } else { format!("{words}: {note}") }
    }
}

/// Every entry, in order.
pub(crate) fn checked(context: &Context<'_>, transitions: &[Transition]) -> Vec<CheckedEntry> {
    let entries = context.record.operator_entries().map_or(&[][..], |entries| entries.entries());
    let checked = |entry: &OperatorEntry| CheckedEntry {
        entry: entry.clone(),
        check: check(context, transitions, entry),
    };
    entries.iter().map(checked).collect()
}

/// The time that an entry means: the minute, or the second.
fn meant(entry: &OperatorEntry) -> Interval {
    let length = Duration::from_seconds(if entry.to_the_minute { 60 } else { 1 });
    Interval::between(entry.at, entry.at + length)
}

fn check(context: &Context<'_>, transitions: &[Transition], entry: &OperatorEntry) -> Check {
    let holding = context.record.holding_temperature();
    let is_recorders = context.plant.thermometer == Thermometer::Recorder;
    match entry.kind {
        EntryKind::Seals | EntryKind::Occurrence => Check::Words,
        EntryKind::Alarm => alarm(context, entry),
        EntryKind::CutIn => test(context, transitions, entry, Side::Forward),
        EntryKind::CutOut => test(context, transitions, entry, Side::Divert),
        EntryKind::Indicating => reading(context, entry, holding),
        EntryKind::Recorder => match context.record.recorder_temperature() {
            Some(recorder) => reading(context, entry, recorder),
            None if is_recorders => reading(context, entry, holding),
            None => Check::NotComparable("the recorder's temperature is not recorded".to_owned()),
        },
    }
}

/// How far a reading may lie from the record's: what the plant allows between the two thermometers.
fn allowed(context: &Context<'_>, unit: TemperatureUnit) -> Ratio {
    context.plant.limits.recorder_difference.figure(unit)
}

/// The samples of a span of time; of a record slower than that, the nearest one within the sampling interval.
fn samples(context: &Context<'_>, over: Interval) -> Vec<usize> {
    let instants = context.record.instants();
    let first = instants.partition_point(|&at| at < over.start());
    let end = instants.partition_point(|&at| at < over.end());
    if first < end {
        return (first..end).collect();
    }
    let step = context.record.sampling_interval();
    let near = |sample: &usize| {
        let at = instants[*sample];
        at.since(over.end()).milliseconds() <= step.milliseconds()
            && over.start().since(at).milliseconds() <= step.milliseconds()
    };
    let around = first.checked_sub(1).into_iter().chain((first < instants.len()).then_some(first));
    around.filter(near).collect()
}

/// A reading holds when it lies between the least and the greatest of its time, give or take what is allowed.
fn reading(
    context: &Context<'_>,
    entry: &OperatorEntry,
    channel: &Channel<TemperatureUnit>,
) -> Check {
    let Some((value, own)) = entry.reading else { return Check::Words };
    let unit = channel.unit();
    let read = samples(context, meant(entry)).into_iter().map(|sample| channel.mantissas()[sample]);
    let valid: Vec<i64> = read.filter(|&one| ChannelView::is_valid(one)).collect();
    let (Some(&least), Some(&most)) = (valid.iter().min(), valid.iter().max()) else {
        return Check::Disagrees("the record has no usable reading at that time".to_owned());
    };
    let (least, most) = (Decimal::new(least, channel.scale()), Decimal::new(most, channel.scale()));
    let shown = if least == most {
        format!("the record shows {least} {}", unit.symbol())
    } else {
        format!("the record shows {least} to {most} {}", unit.symbol())
    };
    let (value, allowed) = (own.convert_exactly(value.into(), unit), allowed(context, unit));
    if is_within(value, (least.into(), most.into()), allowed) {
        Check::Agrees(shown)
    } else {
        Check::Disagrees(shown)
    }
}

/// Whether a figure lies no further from a span than is allowed.
fn is_within(value: Ratio, (least, most): (Ratio, Ratio), allowed: Ratio) -> bool {
    !least.is_above(value.plus(allowed)) && !value.is_above(most.plus(allowed))
}

/// A test holds when the record shows one near its time, at about that temperature.
fn test(
    context: &Context<'_>,
    transitions: &[Transition],
    entry: &OperatorEntry,
    side: Side,
) -> Check {
    let Some((value, own)) = entry.reading else { return Check::Words };
    let holding = context.record.holding_temperature();
    let unit = holding.unit();
    let over = meant(entry);
    let near = |at: Instant| at >= over.start() - NEAR && at <= over.end() + NEAR;
    let what = match side {
        Side::Forward => "passage into forward flow",
        Side::Divert => "passage to divert",
    };
    let (value, allowed) = (own.convert_exactly(value.into(), unit), allowed(context, unit));
    let mut told = None;
    for passage in transitions.iter().filter(|one| one.to == side && near(one.at)) {
        let read = match side {
            Side::Forward => passage.temperature_after,
            Side::Divert => passage.temperature_before,
        };
        let Some(read) = read else {
            told.get_or_insert(format!("the {what} has no usable temperature"));
            continue;
        };
        let shown = format!("the {what} was at {read} {}", unit.symbol());
        if !is_within(value, (read.into(), read.into()), allowed) {
            told.get_or_insert(shown);
        } else if !moves(context, passage) {
            let way = match side {
                Side::Forward => "rise",
                Side::Divert => "fall",
            };
            told.get_or_insert(format!("{shown}, and the temperature did not {way}"));
        } else {
            return Check::Agrees(shown);
        }
    }
    Check::Disagrees(
        told.unwrap_or_else(|| format!("the record shows no {what} within a minute of it")),
    )
}

/// Whether the temperature rose to a passage into forward flow, or fell to one out of it: over the ten seconds
/// before, and with no gap in them.
fn moves(context: &Context<'_>, passage: &Transition) -> bool {
    let (instants, holding) =
        (context.record.instants(), context.record.holding_temperature().mantissas());
    let at = match passage.to {
        Side::Forward => passage.samples.1,
        Side::Divert => passage.samples.0,
    };
    let before = instants.partition_point(|&one| one <= instants[at] - MOVING);
    let Some(before) = before.checked_sub(1) else { return false };
    let is_whole = (before..at).all(|sample| !context.verdicts.gap_after(sample));
    let (then, now) = (holding[before], holding[at]);
    let is_shown = is_whole && ChannelView::is_valid(then) && ChannelView::is_valid(now);
    is_shown
        && match passage.to {
            Side::Forward => then < now,
            Side::Divert => then > now,
        }
}

/// An alarm holds when the record shows one near its time, or a divert.
fn alarm(context: &Context<'_>, entry: &OperatorEntry) -> Check {
    let over = meant(entry);
    let around = samples(context, Interval::between(over.start() - NEAR, over.end() + NEAR));
    let on = [Role::HighFlowAlarm, Role::LowFlowAlarm].into_iter().find(|&role| {
        let alarm = context.record.switch(role);
        alarm.is_some_and(|alarm| around.iter().any(|&sample| alarm[sample] == Some(true)))
    });
    let diverted =
        around.iter().any(|&sample| context.verdicts.valve(sample) == ValveState::Divert);
    match on {
        Some(role) => Check::Agrees(format!("the {} was on", role.name())),
        None if diverted => Check::Agrees("the device was diverted".to_owned()),
        None if around.is_empty() => {
            Check::Disagrees("the record has no sample at that time".to_owned())
        }
        None => Check::Disagrees("the record shows neither an alarm nor a divert".to_owned()),
    }
}

/// The first agreeing entry of a kind within an interval.
pub(crate) fn first_of(
    checked: &[CheckedEntry],
    kind: EntryKind,
    within: Interval,
) -> Option<&OperatorEntry> {
    let holds = |one: &&CheckedEntry| {
        let at = one.entry.at;
        one.entry.kind == kind
            && within.start() <= at
            && at <= within.end()
            && matches!(one.check, Check::Agrees(_) | Check::Words)
    };
    checked.iter().find(holds).map(|one| &one.entry)
}
