//! Whether the record holds what the plant's list says it must (method, section 8).

use crate::exception::{Cause, Exception};
use crate::exceptions::Context;
use crate::transitions::{Side, Transition};
use plant::Evidence;

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

pub(crate) fn completeness(
    context: &Context<'_>,
    exceptions: &[Exception],
    transitions: &[Transition],
) -> Vec<CompletenessItem> {
    context
        .plant
        .required
        .iter()
        .map(|required| {
            let (presence, detail) = look(context, exceptions, transitions, required.evidence);
            CompletenessItem {
                item: required.item.clone(),
                source: required.source.citation.clone(),
                presence,
                detail,
            }
        })
        .collect()
}

fn look(
    context: &Context<'_>,
    exceptions: &[Exception],
    transitions: &[Transition],
    evidence: Evidence,
) -> (Presence, String) {
    let record = context.record;
    let plant = context.plant;
    let unless = |missing: Option<String>, found: &str| match missing {
        None => (Presence::Present, found.to_owned()),
        Some(missing) => (Presence::Missing, missing),
    };
    let holes = |causes: &[Cause]| {
        let count = exceptions.iter().filter(|one| causes.contains(&one.cause)).count();
        (count > 0).then_some(count)
    };
    match evidence {
        Evidence::Date => (Presence::Present, "in every time stamp".to_owned()),
        Evidence::PlantName => unless(
            plant.is_assumed().then(|| "no plant file was given".to_owned()),
            &format!("{}, {}", plant.name, plant.unit),
        ),
        Evidence::RecorderPlace => match &plant.recorder {
            Some(place) => (Presence::Present, place.clone()),
            None => (Presence::Missing, "name it as `recorder` in the plant file".to_owned()),
        },
        Evidence::ContinuousTemperature => unless(
            holes(&[Cause::Gap, Cause::InvalidReading]).map(|count| {
                format!("{count} gaps or unusable readings in forward flow; see the exceptions")
            }),
            "no gap and no unusable reading in forward flow",
        ),
        Evidence::ForwardFlow => unless(
            holes(&[Cause::Gap, Cause::ValveUnknown, Cause::Travel]).map(|count| {
                format!("the valve's position is not known {count} times; see the exceptions")
            }),
            "the valve's position is known throughout",
        ),
        Evidence::CutInAndOut => {
            let find = |side: Side| transitions.iter().find(|one| one.to == side);
            let read = |one: Option<&Transition>, side: Side| {
                one.and_then(|one| match side {
                    Side::Forward => one.temperature_after,
                    Side::Divert => one.temperature_before,
                })
            };
            let cut_in = read(find(Side::Forward), Side::Forward);
            let cut_out = read(find(Side::Divert), Side::Divert);
            match (cut_in, cut_out) {
                (Some(cut_in), Some(cut_out)) => (
                    Presence::Present,
                    format!("first cut-in at {cut_in}, first cut-out at {cut_out}"),
                ),
                _ => (
                    Presence::NeedsEntry,
                    "the record shows no cut-in or no cut-out; enter the check".to_owned(),
                ),
            }
        }
        Evidence::ProductAndQuantity => {
            if record.product().is_none() {
                (Presence::NeedsEntry, "the record names no product".to_owned())
            } else if record.flow_rate().is_none() {
                (Presence::NeedsEntry, "the record has no flow; enter the quantities".to_owned())
            } else {
                (Presence::Present, "see the product account".to_owned())
            }
        }
        Evidence::ContinuousFlow => match record.flow_rate() {
            None => (Presence::Missing, "the record has no flow".to_owned()),
            Some(flow) => {
                let invalid = flow
                    .mantissas()
                    .iter()
                    .filter(|&&mantissa| !trace::ChannelView::is_valid(mantissa))
                    .count();
                unless(
                    (invalid > 0).then(|| format!("{invalid} samples without a usable flow")),
                    "a usable flow at every sample",
                )
            }
        },
        Evidence::Entry => (Presence::NeedsEntry, "to be entered at the review".to_owned()),
    }
}
