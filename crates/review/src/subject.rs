//! What is reviewed: which bytes, audited how, with which result, and what there is to resolve, to
//! close, to acknowledge and to enter. It stands in the journal, so that the state of a review
//! follows from the journal alone.

use crate::error::Error;
use crate::observed::closing_ids;
use crate::tube::{TubeOnDay, TubeUsed};
use analysis::{Cause, DivertReason, Exception, METHOD, Presence, Rule};
use case::Case;
use chrono::NaiveDate;
use journal::Digest;
use plant::{Plant, Zone};
use serde::{Deserialize, Serialize};
use signers::Register;
use std::collections::BTreeMap;
use trace::{Interval, Rank, SourceFile, file_name};

/// A record and its audit, as a journal names them. The members are described in `docs/review.md`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[expect(clippy::struct_excessive_bools, reason = "each is a switch of the plant file")]
pub struct Subject {
    /// The plant's name.
    pub plant: String,
    /// The pasteurizer's name.
    pub unit: String,
    /// The first sample, RFC 3339.
    pub start: String,
    /// The last sample, RFC 3339.
    pub end: String,
    /// The logger files in order.
    pub sources: Vec<Source>,
    /// The run sheet.
    pub run_sheet: Option<Source>,
    /// The operators' entries.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub operator_entries: Option<Source>,
    /// The plant file; `None` when the plant was assumed.
    pub plant_file: Option<PlantSource>,
    /// The holding tube by which it was audited; `None` where the plant file has none. Older programs wrote none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tube: Option<TubeUsed>,
    /// The SHA-256 of the audit's result, hexadecimal.
    pub audit: String,
    /// The program that audited.
    pub program: String,
    /// The version of the method that it followed; version 1 wrote none.
    #[serde(default = "first_method", skip_serializing_if = "is_first_method")]
    pub method: u64,
    /// The shifts that the record touches, in order of their first touch.
    pub shifts: Vec<String>,
    /// The exceptions, in the audit's order.
    pub exceptions: Vec<ExceptionItem>,
    /// The observations that are closed one by one, in the audit's order. An audit by version 1 of
    /// the method has none: it had all observations acknowledged by kind.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub to_close: Vec<ClosingItem>,
    /// The diverts of which the record shows the cause, in the audit's order: a reason may be entered
    /// beside it. A divert without a cause is an observation to close.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub diverts: Vec<DivertItem>,
    /// The observations that are acknowledged by kind, in the audit's order.
    pub observations: Vec<ObservationItem>,
    /// What the plant's list asks somebody to enter, each once.
    pub entries: Vec<String>,
    /// Whether the person who reviewed may approve as well.
    pub same_person_may_approve: bool,
    /// Whether a technician may end a hold; else only a supervisor may.
    #[serde(default, skip_serializing_if = "is_not")]
    pub technician_ends_holds: bool,
    /// Whether product is released from a hold only once the record is approved.
    #[serde(default, skip_serializing_if = "is_not")]
    pub release_after_approval: bool,
    /// Whether a corrective action is entered in its parts.
    #[serde(default, skip_serializing_if = "is_not")]
    pub corrective_action_in_parts: bool,
}

/// A file that the record was read from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Source {
    /// Its name without folder.
    pub name: String,
    /// Its length.
    pub bytes: u64,
    /// The SHA-256 of its bytes, hexadecimal.
    pub sha256: String,
}

/// The plant file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlantSource {
    /// Its name without folder.
    pub name: String,
    /// The SHA-256 of its bytes, hexadecimal.
    pub sha256: String,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde hands over a reference")]
const fn is_not(yes: &bool) -> bool {
    !*yes
}

const fn first_method() -> u64 {
    1
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde hands over a reference")]
const fn is_first_method(method: &u64) -> bool {
    *method == first_method()
}

/// An exception that is to be resolved.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ExceptionItem {
    /// The audit's stable identifier.
    pub id: String,
    /// The key of the rule.
    pub rule: String,
    /// The keys of the causes where they say more than that a reading was short.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub causes: Vec<String>,
    /// The estimate's start, RFC 3339.
    pub start: String,
    /// The estimate's end, RFC 3339.
    pub end: String,
    /// Every shift that its outer interval touches.
    pub shifts: Vec<String>,
    /// The episode, from 1.
    pub episode: usize,
    /// The cleaning, from 1, of an exception outside production.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cleaning: Option<usize>,
    /// The product that passed at most, rounded up, with its unit; `None` when unknown.
    pub quantity: Option<String>,
    /// The lots that it touched.
    pub lots: Vec<String>,
    /// The tanks that the run sheet names for its time.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub tanks: Vec<String>,
}

/// An observation that is to be closed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ClosingItem {
    /// Its stable identifier, see [`closing_ids`].
    pub id: String,
    /// The key of its kind.
    pub kind: String,
    /// When it began, RFC 3339; `None` where that is not known.
    pub start: Option<String>,
    /// When it ended, RFC 3339; `None` where that is not known.
    pub end: Option<String>,
    /// Every shift that it touches; none where the time is not known.
    pub shifts: Vec<String>,
    /// How many rows or samples it speaks of.
    pub count: u64,
}

/// A divert of which a reason may be entered.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DivertItem {
    /// The audit's stable identifier.
    pub id: String,
    /// The first diverted sample, RFC 3339.
    pub start: String,
    /// What the record shows of the reason, by its key.
    pub cause: String,
    /// Every shift in which it began.
    pub shifts: Vec<String>,
}

/// The observations of one kind that are acknowledged together.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ObservationItem {
    /// The key of the kind.
    pub kind: String,
    /// How many there are.
    pub count: u64,
}

impl Subject {
    /// What a case puts up for review.
    ///
    /// # Errors
    /// When the audit's result can't be written as JSON; none that an audit gives.
    pub fn new(case: &Case) -> Result<Self, Error> {
        let (record, plant, audit) = (case.record(), case.plant(), case.audit());
        let zone = plant.zone;
        let result = case.result_json()?;
        let interval = record.interval();
        let shifts = Shifts::over(plant, interval);
        let exceptions = audit.exceptions.iter();
        let ids = closing_ids(audit).into_iter().zip(&audit.observations);
        let to_close = ids.filter_map(|(id, observation)| {
            let when = observation.interval;
            Some(ClosingItem {
                id: id?,
                kind: observation.kind.key().to_owned(),
                start: when.map(|when| zone.rfc3339(when.start())),
                end: when.map(|when| zone.rfc3339(when.end())),
                shifts: when.map_or_else(Vec::new, |when| shifts.touched(when)),
                count: observation.count,
            })
        });
        let diverts = audit.diverts.iter().filter(|one| one.reason != DivertReason::NotInRecord);
        let diverts = diverts.map(|one| DivertItem {
            id: one.id.clone(),
            start: zone.rfc3339(one.observed.start()),
            cause: one.reason.key().to_owned(),
            shifts: shifts.touched(Interval::at(one.observed.start())),
        });
        let mut observations: Vec<ObservationItem> = Vec::new();
        for observation in audit.observations.iter().filter(|one| one.kind.rank() == Rank::Note) {
            let kind = observation.kind.key();
            match observations.iter_mut().find(|item| item.kind == kind) {
                Some(item) => item.count += observation.count,
                None => observations
                    .push(ObservationItem { kind: kind.to_owned(), count: observation.count }),
            }
        }
        let mut entries: Vec<String> = Vec::new();
        for item in &audit.completeness {
            // What is missing from the record can still be accounted for by a person.
            if item.presence != Presence::Present && !entries.contains(&item.item) {
                entries.push(item.item.clone());
            }
        }
        Ok(Self {
            plant: plant.name.clone(),
            unit: record.unit().to_owned(),
            start: zone.rfc3339(interval.start()),
            end: zone.rfc3339(interval.end()),
            sources: record.sources().iter().map(source).collect(),
            run_sheet: record.run_sheet().map(|sheet| source(sheet.source())),
            operator_entries: record.operator_entries().map(|entries| source(entries.source())),
            plant_file: plant.file.as_ref().map(|file| PlantSource {
                name: file_name(&file.name).to_owned(),
                sha256: Digest(file.sha256).to_string(),
            }),
            tube: TubeUsed::of(plant),
            audit: Digest::of(result.as_bytes()).to_string(),
            program: format!("holdtrace {}", env!("CARGO_PKG_VERSION")),
            method: METHOD,
            exceptions: exceptions.map(|one| exception_item(one, zone, &shifts)).collect(),
            to_close: to_close.collect(),
            diverts: diverts.collect(),
            shifts: shifts.names,
            observations,
            entries,
            same_person_may_approve: plant.review.same_person_may_approve,
            technician_ends_holds: plant.review.technician_ends_holds,
            release_after_approval: plant.review.release_after_approval,
            corrective_action_in_parts: plant.review.corrective_action_in_parts,
        })
    }

    /// The files that it was read from, but for the plant file.
    pub fn files(&self) -> impl Iterator<Item = &Source> {
        self.sources.iter().chain(&self.run_sheet).chain(&self.operator_entries)
    }

    /// How the holding tube stood on the record's day, as the plant's register says.
    pub fn tube_on_day(&self, register: &Register) -> Option<TubeOnDay> {
        // No audit gives a subject without a date; its signatures are checked elsewhere.
        let on = self.start.get(..10)?.parse().ok()?;
        TubeOnDay::of(register.equipment(), (&self.unit, on), self.tube.as_ref())
    }

    /// Whether two subjects differ in nothing but the program that audited, in the diverts and the tube that an
    /// older one did not write, which follow from the record and the plant file and ask for nothing, and in
    /// the dates of shifts, which an older one did not tell apart.
    pub fn is_same_but_for_the_program(&self, other: &Self) -> bool {
        let asked = |one: &Self| {
            let mut one =
                Self { program: String::new(), diverts: Vec::new(), tube: None, ..one.clone() };
            let of_items = one.exceptions.iter_mut().map(|item| &mut item.shifts);
            let of_items = of_items.chain(one.to_close.iter_mut().map(|item| &mut item.shifts));
            of_items.chain([&mut one.shifts]).for_each(without_dates);
            one
        };
        asked(self) == asked(other)
    }

    /// Whether the corrective action of an exception is entered in its parts: one of temperature, time or
    /// differential, where the plant asks for it.
    pub fn asks_for_parts(&self, item: &ExceptionItem) -> bool {
        let rules = [Rule::TEMPERATURE, Rule::HOLDING_TIME, Rule::DIFFERENTIAL];
        self.corrective_action_in_parts && rules.iter().any(|rule| rule.key() == item.rule)
    }

    /// Whether it was audited by an older version of the method than this program's.
    pub const fn is_of_older_method(&self) -> bool {
        self.method < METHOD
    }

    /// The exceptions by identifier.
    pub(crate) fn by_id(&self) -> BTreeMap<&str, &ExceptionItem> {
        self.exceptions.iter().map(|item| (item.id.as_str(), item)).collect()
    }
}

/// Takes the dates from what shifts are called, each name once.
fn without_dates(shifts: &mut Vec<String>) {
    let mut names: Vec<String> = Vec::new();
    for called in &*shifts {
        let date = called.split_once(' ').filter(|(date, _)| date.parse::<NaiveDate>().is_ok());
        let name = date.map_or(called.as_str(), |(_, name)| name);
        if !names.iter().any(|known| known == name) {
            names.push(name.to_owned());
        }
    }
    *shifts = names;
}

/// The shifts that a record touches.
struct Shifts {
    /// Their spans over the record, each with its name.
    spans: Vec<(Interval, String)>,
    /// Their names, in order of the first touch.
    names: Vec<String>,
}

impl Shifts {
    fn over(plant: &Plant, interval: Interval) -> Self {
        let spans = plant.named_shifts_over(interval);
        let mut names: Vec<String> = Vec::new();
        for (_, name) in &spans {
            if !names.contains(name) {
                names.push(name.clone());
            }
        }
        Self { spans, names }
    }

    /// Every shift that an interval touches.
    fn touched(&self, interval: Interval) -> Vec<String> {
        let touches = |name: &&String| {
            self.spans.iter().any(|(span, shift)| {
                shift == *name && span.start() <= interval.end() && interval.start() <= span.end()
            })
        };
        self.names.iter().filter(touches).cloned().collect()
    }
}

fn exception_item(exception: &Exception, zone: Zone, shifts: &Shifts) -> ExceptionItem {
    let causes: &[Cause] = match exception.causes.as_slice() {
        [Cause::Short] => &[],
        causes => causes,
    };
    ExceptionItem {
        id: exception.id.clone(),
        rule: exception.rule.key().to_owned(),
        causes: causes.iter().map(|cause| cause.key().to_owned()).collect(),
        start: zone.rfc3339(exception.estimate.start()),
        end: zone.rfc3339(exception.estimate.end()),
        shifts: shifts.touched(exception.outer),
        episode: exception.episode,
        cleaning: exception.cleaning,
        quantity: exception.volume.outer_value.map(|value| {
            format!("{} {}", (value.max(0.0) * 10.0).ceil() / 10.0, exception.volume.unit.symbol())
        }),
        lots: exception.lots.clone(),
        tanks: exception.tanks.clone(),
    }
}

fn source(file: &SourceFile) -> Source {
    Source { name: file_name(&file.name).to_owned(), bytes: file.bytes, sha256: file.sha256_hex() }
}

#[cfg(test)]
mod tests {
    use super::without_dates;

    /// A journal from before shifts had dates is about the same record.
    #[test]
    fn shifts_are_the_same_without_their_dates() {
        let mut shifts: Vec<String> =
            ["2026-03-03 night", "day", "2026-03-04 night"].map(str::to_owned).into();
        without_dates(&mut shifts);
        assert_eq!(shifts, ["night", "day"]);
        let mut shifts = vec!["late 2".to_owned()];
        without_dates(&mut shifts);
        assert_eq!(shifts, ["late 2"]);
    }
}
